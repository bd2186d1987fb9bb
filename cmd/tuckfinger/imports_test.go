package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// TestImportDirection keeps the one direction of the project: params → parts →
// assembly → export → cmd. A package imports from its own room or from one
// before it, tests included.
func TestImportDirection(t *testing.T) {
	order := map[string]int{"params": 0, "parts": 1, "assembly": 2, "export": 3, "cmd": 4}
	root := filepath.Join("..", "..")
	files := 0
	for room, level := range order {
		err := filepath.WalkDir(filepath.Join(root, room), func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") {
				return err
			}
			files++
			f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
			if err != nil {
				return err
			}
			for _, imp := range f.Imports {
				p, err := strconv.Unquote(imp.Path.Value)
				if err != nil {
					return err
				}
				rest, ours := strings.CutPrefix(p, "tuckfinger/")
				if !ours {
					continue
				}
				to, _, _ := strings.Cut(rest, "/")
				if l, known := order[to]; !known || l > level {
					t.Errorf("%s imports %s, against the direction params → parts → assembly → export → cmd", path, p)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if files < 50 {
		t.Errorf("looked at %d files only; is the test still run in cmd/tuckfinger?", files)
	}
}

// TestTopLevel keeps the top of the repository to its agreed entries.
func TestTopLevel(t *testing.T) {
	want := map[string]bool{"cmd": true, "params": true, "parts": true, "assembly": true, "export": true, "examples": true,
		"README.md": true, "DEVELOPERS.md": true, "go.mod": true, "go.sum": true, "LICENSE": true}
	names, err := filepath.Glob(filepath.Join("..", "..", "*"))
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		if base := filepath.Base(n); !want[base] && !strings.HasPrefix(base, ".") {
			t.Errorf("%s does not belong at the top of the repository", base)
		}
	}
}
