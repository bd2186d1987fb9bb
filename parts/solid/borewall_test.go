package solid

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// Walls around bores in a block of 20 × 20 × 6 mm, by plain geometry.
func TestBoreWall(t *testing.T) {
	block := must[profile.Region](t)(profile.Rect(v2(-10, -10), v2(10, 10), 1))
	cut := func(r profile.Region) profile.Region { return must[profile.Region](t)(profile.Subtract(block, r)) }
	hole := must[profile.Region](t)(profile.Circle(v2(3, 1), 1, 2))
	tip := must[profile.Region](t)(profile.Polygon([]r2.Vec{v2(2, 0), v2(5, -3), v2(5, 3)}, 3))
	slit := must[profile.Region](t)(profile.Rect(v2(1.95, 3.1), v2(6, 3.5), 4))
	boss := must[profile.Region](t)(profile.Circle(v2(0, 0), 3, 5))
	slab := func(r profile.Region) Slab { return Slab{Z0: 0, Z1: 6, Region: r} }
	along := func(x, z, d float64) Bore { return Bore{From: v2(x, -11), To: v2(x, 11), Z: z, Diameter: d} }
	for _, c := range []struct {
		name  string
		slabs []Slab
		bores []Bore
		want  float64 // 0: none
		tag   int32
		other int
	}{
		{"in the middle", []Slab{slab(block)}, []Bore{along(0, 3, 2.5)}, 3 - 1.25, 0, -1},
		{"near the floor", []Slab{slab(block)}, []Bore{along(0, 2, 2.5)}, 2 - 1.25, 0, -1},
		{"near a side", []Slab{slab(block)}, []Bore{along(8.2, 3, 2.5)}, 1.8 - 1.25, 1, -1},
		{"beside a hole", []Slab{slab(cut(hole))}, []Bore{along(0, 3, 2.5)}, 3 - 1 - 1.25, 2, -1},
		{"beside an edge that points to it", []Slab{slab(cut(tip))}, []Bore{along(0, 3, 2.5)}, 2 - 1.25, 3, -1},
		{"beside the end of a slit", []Slab{slab(cut(slit))}, []Bore{along(0, 3, 2.5)}, 1.95 - 1.25, 4, -1},
		{"two in a row", []Slab{slab(block)}, []Bore{along(0, 3, 2.5), along(2.7, 3, 1)}, 2.7 - 1.25 - 0.5, 0, 1},
		{"two across", []Slab{slab(block)}, []Bore{along(0, 1.8, 1), {From: v2(-11, 4), To: v2(11, 4), Z: 3.9, Diameter: 2}}, 2.1 - 0.5 - 1, 0, 1},
		{"blind", []Slab{slab(block)}, []Bore{{From: v2(0, -11), To: v2(0, 9.4), Z: 3, Diameter: 2.5}}, 0.6, 1, -1},
		// At its end the axis is 2 mm from the side, along a normal turned by atan(3/20).
		{"blind and oblique", []Slab{slab(block)}, []Bore{{From: v2(5, -11), To: v2(8, 9), Z: 3, Diameter: 2.5}}, 2*math.Hypot(3, 20)/20 - 1.25, 1, -1},
		// The rim of the other's flat end is 2 mm up and 2 mm aside from the axis.
		{"beside the end of another", []Slab{slab(block)}, []Bore{along(0, 1.5, 2), {From: v2(2, 0), To: v2(11, 0), Z: 4.5, Diameter: 2}}, 0.5, 0, -1},
		{"below a step", []Slab{{Z0: 0, Z1: 3, Region: block}, {Z0: 3, Z1: 6, Region: boss}}, []Bore{along(0, 1.5, 1.4)}, 0.8, 5, -1},
		// A chamfer of 1.2 mm leaves (1.5 + 1.5 - 1.2)/√2 of the corner.
		{"beside a chamfer", []Slab{{Z0: 0, Z1: 6, Region: block, ChamferBottom: 1.2}}, []Bore{along(8.5, 1.5, 1.4)}, 1.8/math.Sqrt2 - 0.7, 0, -1},
		// It breaks out of the roof, where its wall makes an angle of 60°.
		{"open along its side", []Slab{slab(block)}, []Bore{along(0, 5, 2*2)}, 3, 0, -1},
		// A wedge of 18° is a knife edge: the bore's depth below the roof is 0.95 radii.
		{"open with knife edges", []Slab{slab(block)}, []Bore{along(0, 6-1.9, 2*2)}, 1e-12, 0, -1},
	} {
		l := must[*Layered](t)(NewLayered(c.slabs...))
		w, ok := l.BoreWall(c.bores, 0, 5)
		if ok != (c.want > 0) || ok && (math.Abs(w.Width-c.want) > 2e-6 || w.Tag != c.tag || w.Other != c.other) {
			t.Errorf("%s: %v, %+v, want %.6f mm", c.name, ok, w, c.want)
		}
	}
}

// No wall on a fine lattice is thinner than the one found, for bores that run any
// way through blocks with windows and holes.
func TestBoreWallMissesNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	in := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	walls := 0
	for try := range 40 {
		var layers [2]profile.Region
		for k := range layers {
			r := must[profile.Region](t)(profile.Rect(v2(-10, -10), v2(10, 10), 1))
			for range 3 {
				c := must[profile.Region](t)(profile.Circle(v2(in(-8, 8), in(-8, 8)), in(0.4, 2), 2))
				p := must[profile.Region](t)(profile.Polygon([]r2.Vec{v2(in(-8, 0), in(-8, 0)), v2(in(0, 8), in(-8, 0)), v2(in(0, 8), in(0, 8))}, 3))
				r = must[profile.Region](t)(profile.Subtract(r, c))
				if k > 0 && rng.IntN(3) == 0 {
					r = must[profile.Region](t)(profile.Subtract(r, p))
				}
			}
			layers[k] = r
		}
		mid := in(2, 4)
		l := must[*Layered](t)(NewLayered(Slab{Z0: 0, Z1: mid, Region: layers[0]}, Slab{Z0: mid, Z1: 6, Region: layers[1]}))
		var bores []Bore
		for range 2 {
			bores = append(bores, Bore{From: v2(in(-12, 12), in(-12, 0)), To: v2(in(-12, 12), in(4, 12)), Z: in(1.5, 4.5), Diameter: in(0.8, 2.4)})
		}
		w, _ := l.BoreWall(bores, 0, 3)
		s := &boreSearch{l: l, i: 0, bores: []tube{newTube(bores[0]), newTube(bores[1])}}
		own := &s.bores[0]
		least := math.Inf(1)
		const step = 0.15
		for a := step / 2; a < own.l; a += step {
			for b := 0.0; b < 2*math.Pi*own.r; b += step {
				if r, ok := s.ray(place{0, a, b}, 3); ok && r.facing {
					least = min(least, r.width)
				}
			}
		}
		if least < w.Width-0.01 {
			t.Errorf("%d: a wall of %.4f mm, found %.4f", try, least, w.Width)
		}
		if w.Width < 3 {
			walls++
		}
	}
	if walls < 20 {
		t.Errorf("only %d of 40 have walls", walls)
	}
}
