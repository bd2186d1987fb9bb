package solid

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/profile"
)

// byLevels is the distance of an outside point from a chamfered slab by another
// way: a chamfer is the stack of its levels, each the profile set back by its
// depth, so that the distance is the least over the depths, each exact in the
// plane. The search looks at every interval between n depths closely.
func byLevels(t *testing.T, s Slab, p r3.Vec) float64 {
	at := func(inset, z float64) float64 {
		r, err := profile.Offset(s.Region, -inset)
		if err != nil {
			t.Fatal(err)
		}
		if r.IsEmpty() {
			return math.Inf(1)
		}
		return math.Hypot(max(0, profile.NewField(r).Distance(r2.Vec{X: p.X, Y: p.Y})), p.Z-z)
	}
	best := at(0, max(s.Z0+s.ChamferBottom, min(s.Z1-s.ChamferTop, p.Z)))
	for _, c := range [...]struct{ depth, z, way float64 }{{s.ChamferBottom, s.Z0 + s.ChamferBottom, -1}, {s.ChamferTop, s.Z1 - s.ChamferTop, 1}} {
		f := func(d float64) float64 { return at(d, c.z+c.way*d) }
		const n = 24
		low, where := math.Inf(1), 0.0
		for i := 0; i <= n && c.depth > 0; i++ {
			d := c.depth * float64(i) / n
			if v := f(d); v < low {
				low, where = v, d
			}
		}
		a, b := max(0, where-c.depth/n), min(c.depth, where+c.depth/n)
		for b-a > 1e-9 && c.depth > 0 { // golden section
			const g = 0.381966011250105
			x, y := a+g*(b-a), b-g*(b-a)
			if f(x) < f(y) {
				b = y
			} else {
				a = x
			}
		}
		if c.depth > 0 {
			best = min(best, low, f((a+b)/2))
		}
	}
	return best
}

// Outside chamfers along lines, arcs, re-entrant corners, holes and necks that
// close on the way, the field is the distance to the stack of levels.
func TestChamferedFieldOutside(t *testing.T) {
	rect := func(x0, y0, x1, y1 float64) profile.Region {
		return must[profile.Region](t)(profile.Rect(v2(x0, y0), v2(x1, y1), 1))
	}
	disc := func(x, y, r float64) profile.Region { return must[profile.Region](t)(profile.Circle(v2(x, y), r, 1)) }
	cut := func(a profile.Region, b ...profile.Region) profile.Region {
		return must[profile.Region](t)(profile.Subtract(a, b...))
	}
	join := func(a ...profile.Region) profile.Region { return must[profile.Region](t)(profile.UnionAll(a...)) }
	shapes := []profile.Region{
		cut(rect(0, 0, 9, 7), rect(4, 3, 9, 7)),                     // re-entrant corner
		cut(rect(0, 0, 9, 7), disc(4.5, 3.5, 2)),                    // hole
		cut(disc(4, 4, 4), rect(3.4, 3, 4.6, 9)),                    // slot into a disc
		join(disc(2, 3, 2), disc(7, 3, 2), rect(2, 2.6, 7, 3.4)),    // neck that a chamfer closes
		join(rect(0, 0, 8, 2.2), rect(0, 0, 2.2, 8), disc(7, 7, 1)), // arms that chamfers leave no face, and a peg
	}
	rng := rand.New(rand.NewPCG(4, 2))
	for i, r := range shapes {
		s := Slab{Z0: 0, Z1: 3, Region: r, ChamferBottom: 0.3 + 0.9*rng.Float64(), ChamferTop: 0.3 + 0.9*rng.Float64()}
		l := must[*Layered](t)(NewLayered(s))
		for tried := 0; tried < 40; {
			p := r3.Vec{X: 13*rng.Float64() - 2, Y: 12*rng.Float64() - 2, Z: 7*rng.Float64() - 2}
			got := l.Evaluate(sdf.V3(p))
			if got <= 0 {
				continue
			}
			tried++
			if want := byLevels(t, s, p); math.Abs(got-want) > 1e-6 {
				t.Errorf("shape %d, chamfers %.3f and %.3f: %.9f at %v, want %.9f", i, s.ChamferBottom, s.ChamferTop, got, p, want)
			}
		}
	}
}
