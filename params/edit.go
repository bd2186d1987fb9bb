package params

import (
	"bytes"
	"fmt"
	"math"
	"unicode/utf8"

	"gopkg.in/yaml.v3"

	"tuckfinger/params/tables"
)

// SetDimension returns the finger file with another number as the value of a
// dimension, in the dimension's unit as the file has it. Nothing but the bytes
// of that number changes: comments, order, spacing and a unit behind the number
// stay. The result is not checked against the dimension's range; Parse does.
//
// The error says why the value cannot be set: it is not finite, the file is not
// YAML, there is no such dimension (the nearest name is suggested), or it is
// computed from others, which would be lost.
func SetDimension(data []byte, name string, value float64) ([]byte, error) {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return nil, fmt.Errorf("dimensions.%s: %v is not a finite number", name, value)
	}
	out := newSink()
	src := readSource("file", data, out)
	if len(out.errs) > 0 {
		return nil, out.errs
	}
	section := child(src.root, "dimensions")
	entry := child(section, name)
	if entry == nil {
		return nil, fmt.Errorf("%s", noDimension(section, name))
	}
	n := child(entry, "value")
	if n == nil || n.Kind != yaml.ScalarNode || n.Style != 0 || n.Anchor != "" || isEmpty(n) {
		return nil, fmt.Errorf("dimensions.%s.value: is not a plain number in the file", name)
	}
	e, bad := parseExpr(n.Value, "")
	if bad != nil {
		return nil, fmt.Errorf("dimensions.%s.value: %s", name, bad.msg)
	}
	used := map[string]bool{}
	if e.names(used); len(used) > 0 {
		return nil, fmt.Errorf("dimensions.%s.value: is computed (%s); set the dimensions in it, or write a number there first", name, n.Value)
	}
	start, ok := offset(data, n.Line, n.Column)
	if !ok || !bytes.HasPrefix(data[start:], []byte(n.Value)) {
		return nil, fmt.Errorf("dimensions.%s.value: is not written on one line, so it cannot be replaced", name)
	}
	size := len(n.Value)
	if end := trailingUnit(e); end > 0 {
		size = len(string([]rune(n.Value)[:end]))
	}
	text := exactNum(value)
	var b bytes.Buffer
	b.Grow(len(data) + len(text))
	b.Write(data[:start])
	b.WriteString(text)
	b.Write(data[start+size:])
	return b.Bytes(), nil
}

// trailingUnit returns how many characters come before the unit of a single number
// with a unit behind it, 0 otherwise.
func trailingUnit(e *expr) int {
	for e.op == 'n' {
		e = e.l
	}
	if e.op != '#' || e.unit == "" {
		return 0
	}
	return e.end
}

func noDimension(section *yaml.Node, name string) string {
	var names []string
	if section != nil && section.Kind == yaml.MappingNode {
		for i := 0; i+1 < len(section.Content); i += 2 {
			names = append(names, section.Content[i].Value)
		}
	}
	msg := fmt.Sprintf("the file has no dimension %q", name)
	if near := tables.Nearest(name, names); near != "" {
		return msg + fmt.Sprintf("; did you mean %q?", near)
	}
	return msg + "; it has " + wordList(names, "and")
}

// offset returns the byte offset of a line and column (both from 1, columns in
// characters). Lines end with \n, \r or \r\n; a byte order mark does not count.
func offset(data []byte, line, col int) (int, bool) {
	i := 0
	if bytes.HasPrefix(data, []byte("\ufeff")) {
		i = len("\ufeff")
	}
	for ; line > 1; line-- {
		n := bytes.IndexAny(data[i:], "\r\n")
		if n < 0 {
			return 0, false
		}
		i += n + 1
		if data[i-1] == '\r' && i < len(data) && data[i] == '\n' {
			i++
		}
	}
	for ; col > 1 && i < len(data); col-- {
		_, n := utf8.DecodeRune(data[i:])
		i += n
	}
	return i, i < len(data)
}
