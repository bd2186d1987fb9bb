package solid_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
	"tuckfinger/parts/solid"
	"tuckfinger/parts/solid/internal/random"
)

// level is a section of a slab: what is left where a chamfer's border is t wide.
type level struct {
	z float64
	f *profile.Field
}

// levels are sections of the chamfers of a slab, close enough together to find near
// which height the nearest point is.
func levels(s solid.Slab, n int) ([]level, error) {
	var out []level
	for i := range n + 1 {
		l, err := section(s, s.Z0+(s.Z1-s.Z0)*float64(i)/float64(n))
		if err != nil {
			return nil, err
		}
		out = append(out, l)
	}
	return out, nil
}

// section cuts a slab by moving the outline of its region: what the distance is
// measured by knows nothing of planes and cones.
func section(s solid.Slab, z float64) (level, error) {
	r, t, sharp := s.Region, s.ChamferBottom-(z-s.Z0), s.SharpBottom
	if top := s.ChamferTop - (s.Z1 - z); top > t {
		t, sharp = top, s.SharpTop
	}
	if t > 0 {
		var err error
		if len(sharp) > 0 {
			if r, err = profile.UnionAll(r, sharp); err != nil {
				return level{}, err
			}
		}
		if r, err = profile.Offset(r, -t); err != nil {
			return level{}, err
		}
		if len(sharp) > 0 {
			if r, err = profile.Subtract(r, sharp); err != nil {
				return level{}, err
			}
		}
	}
	return level{z, profile.NewField(r)}, nil
}

func (l level) distance(q r2.Vec, z float64) float64 {
	return math.Hypot(max(0, l.f.Distance(q)), z-l.z)
}

// toSlab is the distance from outside to a slab: the least over all heights of
// the distance to the section there. It looks at the sections, then ever closer
// near the best of them.
func toSlab(t *testing.T, s solid.Slab, ls []level, q r2.Vec, z, enough float64) float64 {
	step := ls[1].z - ls[0].z
	best := math.Inf(1)
	ds := make([]float64, len(ls))
	for i, l := range ls {
		ds[i] = l.distance(q, z)
		best = min(best, ds[i])
	}
	if best-step > enough {
		return best // farther than another slab
	}
	at := func(z0 float64) float64 {
		l, err := section(s, z0)
		if err != nil {
			t.Fatal(err)
		}
		return l.distance(q, z)
	}
	const g = 0.6180339887498949
	for i := range ls {
		// Sections shrink and grow with height, so nothing between two is nearer
		// than their nearer one by more than a step.
		if ds[i] > best+step || i > 0 && ds[i-1] < ds[i] || i+1 < len(ls) && ds[i+1] < ds[i] {
			continue
		}
		a, b := max(s.Z0, ls[i].z-step), min(s.Z1, ls[i].z+step)
		x, y := b-g*(b-a), a+g*(b-a)
		fx, fy := at(x), at(y)
		for b-a > 1e-8 {
			if fx < fy {
				b, y, fy = y, x, fx
				x = b - g*(b-a)
				fx = at(x)
			} else {
				a, x, fx = x, y, fy
				y = a + g*(b-a)
				fy = at(y)
			}
			best = min(best, fx, fy)
		}
	}
	return best
}

// The field outside random chamfered parts against the least distance to their
// sections, to 1e-6 mm. Half of the places lie close to a chamfer. TUCKFINGER_LONG=1
// tests more of them.
func TestFieldOutsideChamfers(t *testing.T) {
	parts, places := 25, 12
	if os.Getenv("TUCKFINGER_LONG") != "" {
		parts, places = 200, 60
	}
	tested, beyondBound := 0, 0
	for seed := uint64(0); parts > 0; seed++ {
		l, err := random.Part(seed)
		if err != nil || l.IsEmpty() {
			continue
		}
		chamfered := false
		for _, s := range l.Slabs() {
			chamfered = chamfered || s.ChamferBottom+s.ChamferTop > 0
		}
		if !chamfered {
			continue
		}
		parts--
		outsideChamfers(t, fmt.Sprintf("seed %d", seed), l, rand.New(rand.NewPCG(seed, 4)), places, &tested, &beyondBound)
	}
	// Holes that stay sharp, beside and within what the chamfer leaves.
	plate := must(profile.Rect(r2.Vec{}, r2.Vec{X: 12, Y: 8}, 1))
	hole := must(profile.Circle(r2.Vec{X: 4, Y: 4}, 2, 2))
	slot := must(profile.Bar(r2.Vec{X: 9, Y: 3}, r2.Vec{X: 9, Y: 5}, 1, 3))
	l := must(solid.NewLayered(solid.Slab{Z0: 0, Z1: 3, Region: must(profile.Subtract(plate, hole, slot)),
		ChamferBottom: 0.5, ChamferTop: 1.2, SharpTop: hole}))
	outsideChamfers(t, "plate with a sharp hole", l, rand.New(rand.NewPCG(1, 4)), 10*places, &tested, &beyondBound)
	// A re-entrant corner, a hole, a slot into a disc, a neck that a chamfer closes, and
	// arms that chamfers leave no face of, with a peg beside.
	rect := func(x0, y0, x1, y1 float64) profile.Region {
		return must(profile.Rect(r2.Vec{X: x0, Y: y0}, r2.Vec{X: x1, Y: y1}, 1))
	}
	disc := func(x, y, r float64) profile.Region { return must(profile.Circle(r2.Vec{X: x, Y: y}, r, 1)) }
	for i, r := range []profile.Region{
		must(profile.Subtract(rect(0, 0, 9, 7), rect(4, 3, 9, 7))),
		must(profile.Subtract(rect(0, 0, 9, 7), disc(4.5, 3.5, 2))),
		must(profile.Subtract(disc(4, 4, 4), rect(3.4, 3, 4.6, 9))),
		must(profile.UnionAll(disc(2, 3, 2), disc(7, 3, 2), rect(2, 2.6, 7, 3.4))),
		must(profile.UnionAll(rect(0, 0, 8, 2.2), rect(0, 0, 2.2, 8), disc(7, 7, 1))),
	} {
		rng := rand.New(rand.NewPCG(4, uint64(i)))
		l := must(solid.NewLayered(solid.Slab{Z0: 0, Z1: 3, Region: r, ChamferBottom: 0.3 + 0.9*rng.Float64(), ChamferTop: 0.3 + 0.9*rng.Float64()}))
		outsideChamfers(t, fmt.Sprintf("shape %d", i), l, rng, 40, &tested, &beyondBound)
	}
	if beyondBound < tested/10 {
		t.Errorf("chamfers matter at %d of %d places", beyondBound, tested)
	}
	t.Logf("%d places, %d of them nearer to the solid with sharp edges", tested, beyondBound)
}

// outsideChamfers compares the field at places outside a solid. It counts them, and
// those that are nearer to the solid with sharp edges.
func outsideChamfers(t *testing.T, name string, l *solid.Layered, rng *rand.Rand, places int, tested, beyondBound *int) {
	var ls [][]level
	for _, s := range l.Slabs() {
		k, err := levels(s, 60)
		if err != nil {
			t.Fatal(err)
		}
		ls = append(ls, k)
	}
	box := l.Box()
	for n := 0; n < places; {
		p := sdf.V3{
			X: box.Min.X - 2 + (box.Max.X-box.Min.X+4)*rng.Float64(),
			Y: box.Min.Y - 2 + (box.Max.Y-box.Min.Y+4)*rng.Float64(),
			Z: box.Min.Z - 2 + (box.Max.Z-box.Min.Z+4)*rng.Float64(),
		}
		got := l.Evaluate(p)
		if got <= 0 || n%2 == 0 && got > 1 {
			continue
		}
		n++
		q := r2.Vec{X: p.X, Y: p.Y}
		want := math.Inf(1)
		for i, s := range l.Slabs() {
			want = min(want, toSlab(t, s, ls[i], q, p.Z, want))
		}
		*tested++
		if math.Abs(got-want) > 1e-6 {
			t.Errorf("%s: %.9g at %v, distance %.9g (%.2g)", name, got, p, want, got-want)
		}
		u := math.Inf(1)
		for _, s := range l.Slabs() {
			d := profile.NewField(s.Region).Distance(q)
			u = min(u, math.Hypot(max(0, d), max(0, s.Z0-p.Z, p.Z-s.Z1)))
		}
		if got > u+1e-6 {
			*beyondBound++
		}
	}
}

func must[T any](x T, err error) T {
	if err != nil {
		panic(err)
	}
	return x
}
