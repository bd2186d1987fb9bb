package params

import (
	"fmt"
	"sort"
	"strings"
)

// Error is one thing that is wrong in a file, with its place.
type Error struct {
	Pos
	Path string // "ramps.detent.rail.thickness"; "" for the file as a whole
	Msg  string // what is wrong, what is allowed, how to fix it
}

// Error prints "file:line:col: path: message".
func (e Error) Error() string {
	if e.Path == "" {
		return fmt.Sprintf("%s: %s", e.Pos, e.Msg)
	}
	return fmt.Sprintf("%s: %s: %s", e.Pos, e.Path, e.Msg)
}

// String prints "file:line:col"; a place without a line is the file alone.
func (p Pos) String() string {
	if p.Line == 0 {
		return p.File
	}
	return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Col)
}

// Errors is everything that is wrong, sorted by file, line and column.
type Errors []Error

// Error prints one error a line.
func (es Errors) Error() string {
	lines := make([]string, len(es))
	for i, e := range es {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap gives errors.Is and errors.As every single Error.
func (es Errors) Unwrap() []error {
	out := make([]error, len(es))
	for i := range es {
		out[i] = es[i]
	}
	return out
}

// Sort orders errors by file, line, column, path and message.
func (es Errors) Sort() {
	sort.SliceStable(es, func(i, j int) bool {
		a, b := es[i], es[j]
		switch {
		case a.File != b.File:
			return a.File < b.File
		case a.Line != b.Line:
			return a.Line < b.Line
		case a.Col != b.Col:
			return a.Col < b.Col
		case a.Path != b.Path:
			return a.Path < b.Path
		}
		return a.Msg < b.Msg
	})
}

// sink gathers errors and warnings, and remembers which values are bad so that
// one mistake is reported once.
type sink struct {
	errs     Errors
	warnings Errors
	bad      map[string]bool // path, and every path above it
}

func newSink() *sink { return &sink{bad: map[string]bool{}} }

func (s *sink) errorf(pos Pos, path, format string, args ...any) {
	s.errs = append(s.errs, Error{pos, path, fmt.Sprintf(format, args...)})
	s.poison(path)
}

func (s *sink) warnf(pos Pos, path, format string, args ...any) {
	s.warnings = append(s.warnings, Error{pos, path, fmt.Sprintf(format, args...)})
}

// poison marks a value as unusable without a further error.
func (s *sink) poison(path string) {
	for path != "" {
		s.bad[path] = true
		path = parentPath(path)
	}
	s.bad[""] = true
}

// parentPath drops the last key or index of a path.
func parentPath(path string) string {
	return path[:max(0, strings.LastIndexAny(path, ".["))]
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func index(path string, i int) string { return fmt.Sprintf("%s[%d]", path, i) }
