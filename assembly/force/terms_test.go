package force

import (
	"math"
	"math/bits"
	"testing"
)

// termNames are those of all corrections, in the order of their bits.
var termNames = []string{"offset", "opposite wall", "ends", "root fillet", "shear", "ramp stiffening",
	"rail slope", "tip rotation", "off axis", "turning", "column"}

// Every correction can be switched by itself, and is felt: it moves a force of the
// reference ramp or clip, out or back, by more than rounding. A correction that is
// added later has no name here and fails.
func TestEveryTermIsFelt(t *testing.T) {
	if n := bits.OnesCount32(uint32(AllTerms)); n != len(termNames) {
		t.Fatalf("%d terms, %d of them are tested", n, len(termNames))
	}
	measure := func(terms Terms) map[string]float64 {
		r := referenceRamp(t, terms)
		m := map[string]float64{"ramp out": r.Pass(true).Peak, "ramp back": r.Pass(false).Peak}
		for _, d := range []Direction{RootFirst, TipFirst} {
			s := mustSnap(t, referenceClip(d), terms, .8)
			m["clip entry "+[]string{"root first", "tip first"}[d]] = s.Entry
			m["clip release "+[]string{"root first", "tip first"}[d]] = s.Release
		}
		return m
	}
	all := measure(AllTerms)
	for i, name := range termNames {
		most, where := 0.0, ""
		for what, f := range measure(AllTerms &^ (1 << i)) {
			if math.IsNaN(f) || math.IsInf(f, 0) || f <= 0 {
				t.Errorf("without %s: %s is %g N", name, what, f)
			}
			if d := math.Abs(all[what]/f - 1); d > most {
				most, where = d, what
			}
		}
		t.Logf("%s: up to %.1f %%, of %s", name, 100*most, where)
		if most < 1e-4 {
			t.Errorf("without %s nothing changes", name)
		}
	}
	// The plain formulas of handbooks, all corrections off, are another result
	// altogether.
	for what, f := range measure(0) {
		if math.Abs(all[what]/f-1) < .02 {
			t.Errorf("%s: %.3f N by handbook formulas, %.3f N with all corrections", what, f, all[what])
		}
	}
}
