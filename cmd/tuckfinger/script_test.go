package main

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"tuckfinger": main})
}

// TestScripts runs the command lines in testdata, each in a folder of its own.
// $EXAMPLES is the folder of the example finger files.
func TestScripts(t *testing.T) {
	examples, err := filepath.Abs(filepath.Join("..", "..", "examples"))
	if err != nil {
		t.Fatal(err)
	}
	cases, err := filepath.Abs(filepath.Join("..", "..", "params", "testdata"))
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata",
		UpdateScripts:       os.Getenv("TUCKFINGER_UPDATE") != "",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "replace": replace, "broken": broken, "section": section, "differ": differ, "await": await},
		Setup: func(e *testscript.Env) error {
			e.Setenv("EXAMPLES", examples)
			e.Setenv("CASES", cases)
			return nil
		},
	})
}

// exits runs a command and wants one exit code: exits 1 tuckfinger check f.yaml
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND [ARG ...]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// replace changes a text that stands exactly once in a file: replace FILE OLD NEW
func replace(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: replace FILE OLD NEW")
	}
	text := ts.ReadFile(args[0])
	if n := strings.Count(text, args[1]); n != 1 {
		ts.Fatalf("%q stands %d times in %s", args[1], n, args[0])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.Replace(text, args[1], args[2], 1)), 0o666))
}

// broken runs check on every case of a table of broken files: each edits a good
// file ("-" lines become "+" lines) and lists all the errors ("!" lines) that
// must come, exactly, with exit code 2: broken TABLE BASE LEAST
func broken(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: broken TABLE BASE LEAST")
	}
	good := ts.ReadFile(args[1])
	least, err := strconv.Atoi(args[2])
	ts.Check(err)
	cases := strings.Split(ts.ReadFile(args[0]), "\n== ")[1:]
	if len(cases) < least {
		ts.Fatalf("%d cases, want at least %d", len(cases), least)
	}
	for _, c := range cases {
		name, rest, _ := strings.Cut(c, "\n")
		var old, edit, want []string
		for _, l := range strings.Split(rest, "\n") {
			switch {
			case strings.HasPrefix(l, "- "):
				old = append(old, l[2:])
			case strings.HasPrefix(l, "+ "):
				edit = append(edit, l[2:])
			case strings.HasPrefix(l, "! "):
				want = append(want, "finger.yaml:"+l[2:])
			}
		}
		if want == nil {
			continue // the table has good cases too
		}
		text := strings.Replace(good, strings.Join(old, "\n"), strings.Join(edit, "\n"), 1)
		ts.Check(os.WriteFile(ts.MkAbs("finger.yaml"), []byte(text), 0o666))
		exits(ts, false, []string{"2", "tuckfinger", "check", "finger.yaml"})
		if got := strings.TrimSuffix(ts.ReadFile("stderr"), "\n"); got != strings.Join(want, "\n") {
			ts.Fatalf("%s:\ngot\n%s\nwant\n%s", name, got, strings.Join(want, "\n"))
		}
	}
}
