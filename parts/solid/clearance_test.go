package solid

import (
	"math"
	"testing"

	"tuckfinger/parts/profile"
)

// Two plates of a stack: beside, above and into each other.
func TestClearanceOfPlates(t *testing.T) {
	reg := must[profile.Region](t)
	disc := reg(profile.Circle(v2(0, 0), 5, 1))
	bar := reg(profile.Rect(v2(-2, -2), v2(2, 2), 2))
	a := must[*Layered](t)(NewLayered(Slab{Z0: 0, Z1: 4, Region: disc}))
	for _, c := range []struct{ z0, z1, x, want float64 }{
		{1, 3, 10, 3},                  // 3 mm beside
		{8, 9, 10, 5},                  // 3 mm beside, 4 mm above
		{5.5, 9, 0, 1.5},               // right above
		{-3, -0.25, 1, 0.25},           // right below
		{3.5, 9, 0, -0.5},              // half a millimetre into it from above
		{4, 9, 0, 0},                   // on it
		{0, 4, 10 - 3 - 0.125, -0.125}, // an edge in the rim by 0.125
	} {
		b := must[*Layered](t)(NewLayered(Slab{Z0: c.z0, Z1: c.z1, Region: bar}))
		p := NewPair(a, b)
		pose := profile.Rigid(0, v2(c.x, 0))
		// The flat side of the square meets the disc's rim at (5, 0).
		if got := p.Clearance(pose).Distance; math.Abs(got-c.want) > 2e-5 && c.want >= 0 || c.want < 0 && math.Abs(got-c.want) > 1e-4 {
			t.Errorf("z %g to %g, x %g: clearance %g, want %g", c.z0, c.z1, c.x, got, c.want)
		}
	}
}
