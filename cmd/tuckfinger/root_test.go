package main

import (
	"errors"
	"io"
	"strings"
	"testing"
)

// full is a disk that takes nothing.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left") }

// What can't be printed is an I/O error of every command, of those too that
// print without looking at what became of it.
func TestNothingPrinted(t *testing.T) {
	file := "../../examples/ring-hook/finger.yaml"
	for _, args := range [][]string{
		{"--help"}, {"--version"}, {"params"}, {"params", "--json"}, {"params", "--page"}, {"check", file}, {"check", file, "--json"},
		{"stroke", file, "-o", t.TempDir() + "/s.csv"}, {"new", t.TempDir() + "/other"},
	} {
		var e strings.Builder
		if code := run(args, full{}, &e); code != exitBad || !strings.Contains(e.String(), "no space left") {
			t.Errorf("%s: exit code %d, %q", args, code, e.String())
		}
		if code := run(args, io.Discard, &e); args[0] == "check" && code != exitGood {
			t.Errorf("%s: exit code %d", args, code)
		}
	}
}
