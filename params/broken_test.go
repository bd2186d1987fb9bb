package params

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "rewrite the expected errors in testdata/broken.txt")

// brokenCase is an edit of the base file and all the errors it must give.
type brokenCase struct {
	name     string
	old, new string
	want     []string
}

func base(t testing.TB) string {
	t.Helper()
	data, err := os.ReadFile("testdata/base.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func brokenCases(t *testing.T) (head string, cases []brokenCase) {
	t.Helper()
	data, err := os.ReadFile("testdata/broken.txt")
	if err != nil {
		t.Fatal(err)
	}
	parts := strings.Split(string(data), "\n== ")
	for _, part := range parts[1:] {
		lines := strings.Split(part, "\n")
		c := brokenCase{name: lines[0]}
		var old, new []string
		for _, l := range lines[1:] {
			switch {
			case strings.HasPrefix(l, "- "):
				old = append(old, l[2:])
			case strings.HasPrefix(l, "+ "):
				new = append(new, l[2:])
			case strings.HasPrefix(l, "! "):
				c.want = append(c.want, l[2:])
			case l != "":
				t.Fatalf("broken.txt: case %q: line %q starts with none of - + !", c.name, l)
			}
		}
		c.old, c.new = strings.Join(old, "\n"), strings.Join(new, "\n")
		cases = append(cases, c)
	}
	return parts[0], cases
}

// noTables stands for a directory without table files.
func noTables(string) ([]byte, error) { return nil, os.ErrNotExist }

// The base file is good, so every error in a case comes from its edit.
func TestBaseFile(t *testing.T) {
	d, err := Parse("finger.yaml", []byte(base(t)), noTables)
	if err != nil {
		t.Fatal(err)
	}
	if len(d.Warnings) > 0 {
		t.Errorf("warnings: %v", d.Warnings)
	}
}

func TestBrokenFiles(t *testing.T) {
	good := base(t)
	head, cases := brokenCases(t)
	if len(cases) < 60 {
		t.Errorf("%d cases, want at least 60", len(cases))
	}
	var out strings.Builder
	out.WriteString(head)
	for _, c := range cases {
		fmt.Fprintf(&out, "\n== %s\n- %s\n+ %s\n", c.name, strings.ReplaceAll(c.old, "\n", "\n- "), strings.ReplaceAll(c.new, "\n", "\n+ "))
		t.Run(c.name, func(t *testing.T) {
			if n := strings.Count(good, c.old); n != 1 {
				t.Fatalf("the text to replace is in base.yaml %d times", n)
			}
			_, err := Parse("finger.yaml", []byte(strings.Replace(good, c.old, c.new, 1)), noTables)
			var errs Errors
			if err != nil && !errors.As(err, &errs) {
				t.Fatalf("error is a %T, want Errors", err)
			}
			var got []string
			for _, e := range errs {
				if line := e.Error(); strings.HasPrefix(line, "finger.yaml:") {
					got = append(got, strings.TrimPrefix(line, "finger.yaml:"))
				} else {
					t.Errorf("no place in %q", line)
				}
			}
			for _, g := range got {
				fmt.Fprintf(&out, "! %s\n", g)
			}
			if *update {
				return
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("errors (-want +got):\n%s", diff)
			}
		})
	}
	if *update {
		if err := os.WriteFile("testdata/broken.txt", []byte(out.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
