// Package admesh lets tests have STL files judged by the program of that name,
// an independent reader and repairer of meshes.
package admesh

import (
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"testing"
)

// Report is what the program says of a file that it found nothing to repair in.
type Report struct {
	Parts  int
	Volume float64 // mm³
}

// Find returns the program. Where it is missing, the test is skipped, or fails
// if TUCKFINGER_NEED_TOOLS=1.
func Find(t *testing.T) (tool string) {
	t.Helper()
	tool, err := exec.LookPath("admesh")
	if err != nil {
		if os.Getenv("TUCKFINGER_NEED_TOOLS") == "1" {
			t.Fatal(err)
		}
		t.Skip("admesh is not installed; the meshes are not read by a second program")
	}
	return tool
}

// Check has a file read; anything that the program would repair fails the test.
func Check(t *testing.T, tool, file string) Report {
	t.Helper()
	out, err := exec.Command(tool, file).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	number := func(label string) float64 {
		m := regexp.MustCompile(regexp.QuoteMeta(label) + `\s*:\s*([-0-9.e+]+)`).FindSubmatch(out)
		if m == nil {
			t.Fatalf("no %q in\n%s", label, out)
		}
		v, err := strconv.ParseFloat(string(m[1]), 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, label := range []string{"Total disconnected facets", "Degenerate facets", "Edges fixed", "Facets removed",
		"Facets added", "Facets reversed", "Backwards edges", "Normals fixed"} {
		if v := number(label); v != 0 {
			t.Errorf("%s: %s %g", file, label, v)
		}
	}
	return Report{Parts: int(number("Number of parts")), Volume: number("Volume")}
}
