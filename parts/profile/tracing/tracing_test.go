package tracing_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
	"tuckfinger/parts/profile/tracing"
	"tuckfinger/parts/solid"
)

func must[T any](x T, err error) T {
	if err != nil {
		panic(err)
	}
	return x
}

func v(x, y float64) r2.Vec { return r2.Vec{X: x, Y: y} }

// agree checks a traced region against the one whose field it came from: area,
// number of loops and edges, and the distance of its outline.
func agree(t *testing.T, name string, got, want profile.Region, dev float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d loops, want %d", name, len(got), len(want))
	}
	perimeter := want.Perimeter()
	if d := math.Abs(got.Area() - want.Area()); d > dev*perimeter/4 {
		t.Errorf("%s: area differs by %g mm²", name, d)
	}
	f := profile.NewField(want)
	got.Edges(func(_, _ int, e profile.Edge) {
		for i := range 9 {
			p, _ := e.At(float64(i) / 8)
			if d := math.Abs(f.Distance(p)); d > dev {
				t.Errorf("%s: the outline is %g mm off at %v", name, d, p)
			}
		}
	})
}

func TestClosedForms(t *testing.T) {
	corner := must(profile.Subtract(must(profile.Rect(v(0, 0), v(20, 12), 0)), must(profile.Polygon([]r2.Vec{v(8, 12), v(10, 7), v(13, 12)}, 0))))
	for name, c := range map[string]struct {
		r     profile.Region
		edges int // 0: any
	}{
		"disc":    {must(profile.Circle(v(1, 2), 5, 0)), 0},
		"square":  {must(profile.Rect(v(-3, -2), v(7, 8), 0)), 4},
		"turned":  {must(profile.Rect(v(-3, -2), v(7, 8), 0)).Turn(0.3, v(0, 0)), 4},
		"stadium": {must(profile.Bar(v(0, 0), v(30, 4), 8, 0)), 0},
		"ring":    {must(profile.Annulus(v(0, 0), 3, 9, 0)), 0},
		"notch":   {corner, 7},
		"fillets": {must(profile.Round(corner, 0.4, 0.3)), 0},
	} {
		f := must(solid.NewPlane(c.r))
		got, err := tracing.Region(f, 1, 0.4, 0.01)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		agree(t, name, got, c.r, 0.01)
		if c.edges > 0 && got.NumEdges() != c.edges {
			t.Errorf("%s: %d edges, want %d", name, got.NumEdges(), c.edges)
		}
		// Lines and arcs come out as such: few more than went in.
		if n := got.NumEdges(); n > 2*c.r.NumEdges()+4 {
			t.Errorf("%s: %d edges from %d", name, n, c.r.NumEdges())
		}
	}
}

// A field of another library, without a profile behind it: sdfx's own box with
// round corners and its circle, whose area is πr².
func TestForeignFields(t *testing.T) {
	c := must(sdf.Circle2D(4))
	r := must(tracing.Region(c, 1, 0.5, 0.005))
	if d := math.Abs(r.Area() - 16*math.Pi); d > 1e-4 {
		t.Errorf("circle: area differs by %g mm²", d)
	}
	b := sdf.Box2D(sdf.V2{X: 20, Y: 10}, 2)
	r = must(tracing.Region(sdf.Difference2D(b, c), 1, 0.5, 0.005))
	want := 200 - (4-math.Pi)*4 - 16*math.Pi
	if d := math.Abs(r.Area() - want); d > 2e-3 || len(r) != 2 {
		t.Errorf("box less circle: area differs by %g mm², %d loops", d, len(r))
	}
}

// Random plates with holes, slots and arms come back with the same topology.
func TestRandomRegions(t *testing.T) {
	n := 120
	if testing.Short() {
		n = 30
	}
	for seed := range n {
		rng := rand.New(rand.NewPCG(uint64(seed), 3))
		u := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
		r := must(profile.Bar(v(0, 0), v(u(30, 60), u(-8, 8)), u(12, 18), 0))
		for range 1 + rng.IntN(5) {
			p := v(u(0, 50), u(-6, 6))
			var cut profile.Region
			switch rng.IntN(3) {
			case 0:
				cut = must(profile.Circle(p, u(0.8, 3), 0))
			case 1:
				cut = must(profile.Bar(p, r2.Add(p, v(u(3, 12), u(-3, 3))), u(0.9, 3), 0))
			default:
				cut = must(profile.Rect(p, r2.Add(p, v(u(2, 9), u(1, 5))), 0)).Turn(u(0, 3), p)
			}
			r = must(profile.Subtract(r, cut))
		}
		w, ok, err := profile.MinThickness(r, 0.3)
		if err != nil {
			t.Fatal(err)
		}
		if g, has, err := profile.MinGap(r, 0.3); err != nil || ok && w.Width < 0.5 || has && g.Width < 0.5 {
			continue // finer than the cells may be
		}
		got, err := tracing.Region(must(solid.NewPlane(r)), 1, 0.25, 0.01)
		if errors.Is(err, tracing.ErrFine) {
			continue // tips of wedges are finer than any cell
		}
		if err != nil {
			t.Errorf("seed %d: %v", seed, err)
			continue
		}
		if len(got) != len(r) {
			continue // crumbs between cuts, thinner than a cell
		}
		agree(t, "seed", got, r, 0.01)
	}
}

type field struct {
	f func(sdf.V2) float64
	b float64
}

func (f field) Evaluate(p sdf.V2) float64 { return f.f(p) }
func (f field) BoundingBox() sdf.Box2 {
	return sdf.Box2{Min: sdf.V2{X: -f.b, Y: -f.b}, Max: sdf.V2{X: f.b, Y: f.b}}
}

func TestFaults(t *testing.T) {
	disc := func(r float64) func(sdf.V2) float64 {
		return func(p sdf.V2) float64 { return math.Hypot(p.X, p.Y) - r }
	}
	for name, c := range map[string]struct {
		f              sdf.SDF2
		lip, cell, dev float64
		is             error
	}{
		"not finite":     {field{func(sdf.V2) float64 { return math.NaN() }, 5}, 1, 0.5, 0.01, nil},
		"no deviation":   {field{disc(3), 5}, 1, 0.5, 0, nil},
		"no box":         {field{disc(3), 0}, 1, 0.5, 0.01, nil},
		"too fine":       {field{disc(0.2), 2}, 1, 1, 0.01, tracing.ErrFine},
		"box too small":  {field{disc(9), 5}, 1, 0.5, 0.01, nil},
		"grid too large": {field{disc(3), 5}, 1, 1e-5, 0.01, nil},
	} {
		_, err := tracing.Region(c.f, c.lip, c.cell, c.dev)
		if err == nil || c.is != nil && !errors.Is(err, c.is) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if r, err := tracing.Region(field{disc(-1), 5}, 1, 0.5, 0.01); err != nil || len(r) != 0 {
		t.Errorf("an empty field gives %v, %v", r, err)
	}
}

func TestTraceIsDeterministic(t *testing.T) {
	f := must(solid.NewPlane(must(profile.Bar(v(0, 0), v(30, 4), 8, 0))))
	a, b := must(tracing.Region(f, 1, 0.4, 0.01)), must(tracing.Region(f, 1, 0.4, 0.01))
	if len(a) != len(b) || len(a[0]) != len(b[0]) {
		t.Fatal("two traces differ")
	}
	for i := range a[0] {
		if a[0][i] != b[0][i] {
			t.Fatal("two traces differ")
		}
	}
}
