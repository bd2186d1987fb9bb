package solid

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// Room about axes in a block of 20 × 10 × 6 mm with a round hole of radius 2 at
// (5, 0) through its lower half, by plain geometry.
func TestRoom(t *testing.T) {
	block := must[profile.Region](t)(profile.Rect(v2(-10, -5), v2(10, 5), 1))
	hole := must[profile.Region](t)(profile.Circle(v2(5, 0), 2, 2))
	lower := must[profile.Region](t)(profile.Subtract(block, hole))
	l := must[*Layered](t)(NewLayered(Slab{Z0: 0, Z1: 3, Region: lower}, Slab{Z0: 3, Z1: 6, Region: block}))

	across := Bore{From: v2(0, -6), To: v2(0, 6), Z: 3, Diameter: 4} // along y
	half := Bore{From: v2(-10, 1), To: v2(-5, 1), Z: 4, Diameter: 2} // blind, along x
	for _, c := range []struct {
		name   string
		p      r2.Vec
		z0, z1 float64
		bores  []Bore
		want   float64
	}{
		{"in the middle of the hole", v2(5, 0), 0, 3, nil, 2},
		{"beside its middle", v2(5, 0.5), 0.5, 2.5, nil, 1.5},
		{"up to the roof", v2(5, 0), -4, 3, nil, 2},
		{"into the roof", v2(5, 0), 0, 3.01, nil, 0},
		{"in solid material", v2(-5, 0), 1, 2, nil, 0},
		{"beside the block", v2(13, 9), 0, 6, nil, 5},
		{"above the block", v2(0, 0), 6, 9, nil, math.Inf(1)},
		// At 1 mm off its axis a bore of radius 2 is √3 mm wide to either side.
		{"in the bore", v2(0, 0), 2, 3.5, []Bore{across}, math.Sqrt(3)},
		{"beside its axis", v2(0.4, 1), 3, 4, []Bore{half, across}, math.Sqrt(3) - 0.4},
		{"beyond the bore", v2(0, 0), 0.5, 3, []Bore{across}, 0},
	} {
		r := must[Room](t)(l.RoomUpright(c.p, c.z0, c.z1, math.Inf(1), c.bores...))
		if r.Radius != c.want && math.Abs(r.Radius-c.want) > 1e-9 {
			t.Errorf("upright, %s: %.9g mm, want %.9g", c.name, r.Radius, c.want)
		}
	}
	if r := must[Room](t)(l.RoomUpright(v2(5, 0), 1, 5, 1)); r.Radius != 0 || r.Z0 != 3 || r.Z1 != 5 || r.Tag != 1 {
		t.Errorf("blocked by %+v, want z 3 to 5 and tag 1", r)
	}
	for _, c := range []struct {
		name     string
		from, to r2.Vec
		z        float64
		bores    []Bore
		want     float64
	}{
		{"across the hole", v2(5, -1), v2(5, 1), 1, nil, math.Sqrt(3)}, // the hole's wall beside its ends; the roof is 2 mm away
		{"above", v2(-20, 0), v2(20, 0), 8, nil, 2},
		{"beside and above", v2(-20, 9), v2(20, 9), 9, nil, 5},
		{"beyond the end", v2(10, 0), v2(20, 0), 3, nil, math.Inf(1)},
		{"into the end", v2(20, 0), v2(9.9, 0), 3, nil, 0},
		{"in the bore", v2(0, -9), v2(0, 9), 3, []Bore{across}, 2},
		{"off its axis", v2(0.3, 2), v2(0.3, -2), 2.6, []Bore{across}, 1.5},
		{"in the blind bore", v2(-12, 1), v2(-6, 1), 4, []Bore{half}, 1},
		{"beyond the blind bore", v2(-12, 1), v2(-4, 1), 4, []Bore{half}, 0},
		{"across the bore", v2(-5, 0), v2(5, 0), 3, []Bore{across}, 0},
	} {
		r := must[Room](t)(l.RoomLying(c.from, c.to, c.z, math.Inf(1), c.bores...))
		if r.Radius != c.want && math.Abs(r.Radius-c.want) > 1e-5 {
			t.Errorf("lying, %s: %.9g mm, want %.9g", c.name, r.Radius, c.want)
		}
	}
	// A round boss of radius 3 whose middle is 5 mm beside the axis.
	boss := must[profile.Region](t)(profile.Circle(v2(2, 5), 3, 3))
	round := must[*Layered](t)(NewLayered(Slab{Z0: 0, Z1: 1, Region: boss}))
	if r := must[Room](t)(round.RoomLying(v2(0, 0), v2(10, 0), 0.5, 2.1)); math.Abs(r.Radius-2) > 1e-9 || r.Tag != 3 {
		t.Errorf("beside a boss %+v, want 2 mm and tag 3", r)
	}
	for within, want := range map[float64]float64{1.9: math.Inf(1), 2.1: 2} {
		a := must[Room](t)(l.RoomUpright(v2(5, 0), 0, 3, within))
		b := must[Room](t)(l.RoomLying(v2(-20, 0), v2(20, 0), 8, within))
		if a.Radius != want && math.Abs(a.Radius-want) > 1e-9 || b.Radius != want {
			t.Errorf("within %g mm: %g and %g mm, want %g", within, a.Radius, b.Radius, want)
		}
	}
}
