package fingers

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tuckfinger/assembly/study/sample"
	"tuckfinger/params"
)

// points are the values that a plan in a sweep file of the rack lifter asks for.
func points(t *testing.T, plan string) ([]string, [][]float64) {
	t.Helper()
	s, err := params.ParseSweep("sweep.yaml", []byte("tuckfinger_sweep: 1\nfinger: finger.yaml\nchecks: stroke\n"+plan), func(string) ([]byte, error) {
		return os.ReadFile(filepath.Join(examples, "rack-lifter", "finger.yaml"))
	})
	if err != nil {
		t.Fatal(err)
	}
	p, names, err := Plan(s)
	if err != nil {
		t.Fatal(err)
	}
	out := make([][]float64, p.Len())
	for i := range out {
		out[i] = slices.Clone(sample.Point(p, i))
	}
	return names, out
}

// A sweep file's points: every combination of a grid, the rows of a list, the Sobol
// points that SciPy's test data have (Joe and Kuo's numbers, Gray order) and Latin
// hypercube samples, stretched over the bounds.
func TestPlansOfSweepFiles(t *testing.T) {
	near := func(what string, got, want [][]float64) {
		t.Helper()
		if d := cmp.Diff(want, got, cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) < 1e-12 })); d != "" {
			t.Errorf("%s (-want +got):\n%s", what, d)
		}
	}
	names, got := points(t, "grid: {rail: {values: [1, 1.2]}, arm: {from: 1.1, to: 1.5, count: 3}}\n")
	near("grid", got, [][]float64{{1, 1.1}, {1, 1.3}, {1, 1.5}, {1.2, 1.1}, {1.2, 1.3}, {1.2, 1.5}})
	if !slices.Equal(names, []string{"rail", "arm"}) {
		t.Errorf("names %v", names)
	}
	_, got = points(t, "list: {rail: [1, 1.2, 1.1], arm: [1.5, 1.4, 1.2]}\n")
	near("list", got, [][]float64{{1, 1.5}, {1.2, 1.4}, {1.1, 1.2}})

	unit := [][]float64{{0, 0}, {.5, .5}, {.75, .25}, {.25, .75}, {.375, .375}, {.875, .875}, {.625, .125}, {.125, .625}}
	for _, u := range unit {
		u[0], u[1] = 1+0.4*u[0], 1.1+0.5*u[1]
	}
	_, got = points(t, "sobol: {count: 8, over: {rail: {low: 1, high: 1.4}, arm: {low: 1.1, high: 1.6}}}\n")
	near("Sobol", got, unit)

	const n = 40
	latin := "latin: {count: 40, over: {rail: {low: 1, high: 1.4}, arm: {low: 1.1, high: 1.6}}"
	_, got = points(t, latin+"}\n")
	for k, b := range [][2]float64{{1, 1.4}, {1.1, 1.6}} {
		seen := make([]bool, n)
		for _, p := range got {
			seen[int(n*(p[k]-b[0])/(b[1]-b[0]))] = true
		}
		if slices.Contains(seen, false) {
			t.Errorf("dimension %d: a cell of %d has no sample", k, n)
		}
	}
	if _, other := points(t, latin+", seed: 2}\n"); cmp.Equal(got, other) {
		t.Error("another seed gives the same samples")
	}
}
