package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestKilledSweep kills the sweep command with SIGKILL at 20 random moments and
// starts it again each time: in the end every result is, byte for byte, that of
// a sweep that was left alone, and no finished variant was lost on the way.
func TestKilledSweep(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program and runs it many times")
	}
	tmp := t.TempDir()
	tool := filepath.Join(tmp, "tuckfinger")
	if out, err := exec.Command("go", "build", "-o", tool, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	finger, err := filepath.Abs(filepath.Join("..", "..", "examples", "ring-hook", "finger.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(finger)
	if err != nil {
		t.Fatal(err)
	}
	// The longest rods do not close, and are errors.
	plan := "tuckfinger_sweep: 1\nfinger: finger.yaml\nchecks: stroke\nlatin: {count: 240, over: {crank: {low: 6, high: 8}, reach: {low: 25, high: 45}, rod: {low: 40, high: 50}}}\n"
	for name, data := range map[string]string{"finger.yaml": string(text), "sweep.yaml": plan} {
		if err := os.WriteFile(filepath.Join(tmp, name), []byte(data), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	run := func(out string) *exec.Cmd {
		c := exec.Command(tool, "sweep", filepath.Join(tmp, "sweep.yaml"), "-o", out)
		c.Stderr = os.Stderr
		return c
	}
	calm, out := filepath.Join(tmp, "calm"), filepath.Join(tmp, "out")
	start := time.Now()
	if b, err := run(calm).Output(); err != nil {
		t.Fatalf("%v\n%s", err, b)
	}
	whole := time.Since(start)
	finished := func() int {
		b, err := os.ReadFile(filepath.Join(out, "journal-1-of-1"))
		if err != nil && !os.IsNotExist(err) {
			t.Fatal(err)
		}
		return max(0, bytes.Count(b, []byte("\n"))-1)
	}
	before, amid := 0, 0
	for kill := range 20 {
		c := run(out)
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(rand.Float64() * 0.16 * float64(whole)))
		if err := c.Process.Kill(); err != nil && !strings.Contains(err.Error(), "finished") {
			t.Fatal(err)
		}
		_ = c.Wait() // killed, or just done
		n := finished()
		if n < before {
			t.Fatalf("after kill %d %d variants are recorded, before it were %d", kill, n, before)
		}
		if n > 0 && n < 240 {
			amid++
		}
		before = n
	}
	if amid < 5 {
		t.Errorf("only %d of 20 kills came between the first and the last variant", amid)
	}
	b, err := run(out).Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, b)
	}
	if want := fmt.Sprintf("%d variants had been finished before", before); before > 0 && !strings.Contains(string(b), want) {
		t.Errorf("%q, want %q: finished variants are repeated", b, want)
	}
	sameFiles(t, filepath.Join(calm, "results"), filepath.Join(out, "results"))
}

// sameFiles compares folders byte for byte.
func sameFiles(t *testing.T, a, b string) {
	t.Helper()
	entries, err := os.ReadDir(a)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) < 4 {
		t.Errorf("%s holds %d files", a, len(entries))
	}
	for _, e := range entries {
		x, err := os.ReadFile(filepath.Join(a, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		y, err := os.ReadFile(filepath.Join(b, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(x, y) {
			t.Errorf("%s differs", e.Name())
		}
	}
}

// section gives a finger file another section at its end, in place of the one of
// that name: section FILE NEW, where NEW holds the section.
func section(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: section FILE NEW")
	}
	add := strings.TrimLeft(ts.ReadFile(args[1]), "\n")
	name, _, _ := strings.Cut(add, ":")
	text, _, _ := strings.Cut(ts.ReadFile(args[0]), "\n"+name+":\n")
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.TrimRight(text, "\n")+"\n\n"+add), 0o666))
}

// differ wants two files to differ in so many lines: differ FILE FILE COUNT
func differ(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: differ FILE FILE COUNT")
	}
	a, b := strings.Split(ts.ReadFile(args[0]), "\n"), strings.Split(ts.ReadFile(args[1]), "\n")
	if len(a) != len(b) {
		ts.Fatalf("%d and %d lines", len(a), len(b))
	}
	n := 0
	for i := range a {
		if a[i] != b[i] {
			n++
		}
	}
	if fmt.Sprint(n) != args[2] {
		ts.Fatalf("%d lines differ, want %s", n, args[2])
	}
}

// await waits until a file has so many lines: await FILE COUNT
func await(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: await FILE COUNT")
	}
	want, err := strconv.Atoi(args[1])
	ts.Check(err)
	for limit := time.Now().Add(20 * time.Second); ; time.Sleep(5 * time.Millisecond) {
		b, err := os.ReadFile(ts.MkAbs(args[0]))
		if err == nil && bytes.Count(b, []byte("\n")) >= want {
			return
		}
		if time.Now().After(limit) {
			ts.Fatalf("after 20 s %s has %d lines, %v", args[0], bytes.Count(b, []byte("\n")), err)
		}
	}
}
