package main

import (
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tuckfinger/export/folder"
)

// TestKilledBuild kills builds at random moments: the folder always holds one
// whole output, the earlier or the later one, and nothing else is left that
// looks like one.
func TestKilledBuild(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program and runs it many times")
	}
	tmp := t.TempDir()
	tool := filepath.Join(tmp, "tuckfinger")
	if out, err := exec.Command("go", "build", "-o", tool, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	text, err := os.ReadFile(filepath.Join("..", "..", "examples", "ring-hook", "finger.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	// Two versions of one finger, so that old and new output can be told apart.
	files := []string{filepath.Join(tmp, "a.yaml"), filepath.Join(tmp, "b.yaml")}
	longer := strings.Replace(string(text), "reach: {value: 30", "reach: {value: 33", 1)
	for i, s := range []string{string(text), longer} {
		if err := os.WriteFile(files[i], []byte(s), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	work := filepath.Join(tmp, "work")
	out := filepath.Join(work, "out")
	start := time.Now()
	if b, err := exec.Command(tool, "build", files[0], "-o", out).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, b)
	}
	whole := time.Since(start)
	random := rand.New(rand.NewPCG(7, 7))
	for i := range 25 {
		cmd := exec.Command(tool, "build", files[(i+1)%2], "-o", out)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(random.Float64() * 1.1 * float64(whole)))
		if err := cmd.Process.Kill(); err != nil && !strings.Contains(err.Error(), "finished") {
			t.Fatal(err)
		}
		_ = cmd.Wait() // killed, or just done
		diff, err := folder.Compare(out)
		if err != nil {
			t.Fatalf("after kill %d: %v", i, err)
		}
		if len(diff.Added)+len(diff.Changed)+len(diff.Missing) > 0 {
			t.Fatalf("after kill %d the output is not whole: %+v", i, diff)
		}
		entries, err := os.ReadDir(work)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			if e.Name() != "out" && !strings.HasPrefix(e.Name(), ".tuckfinger-") {
				t.Fatalf("after kill %d %s is left", i, e.Name())
			}
		}
	}
	// The next build clears up and works.
	if b, err := exec.Command(tool, "build", files[0], "-o", out).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, b)
	}
}
