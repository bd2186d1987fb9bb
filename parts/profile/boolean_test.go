package profile

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func vec(x, y float64) r2.Vec { return r2.Vec{X: x, Y: y} }

// must1 fails the test on an error.
func must1[T any](t testing.TB) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.12g, want %.12g ± %g", what, got, want, tol)
	}
}

// valid reports what is wrong with a region.
func valid(r Region) error {
	for i, l := range r {
		if len(l) < 2 {
			return fmt.Errorf("loop %d has %d vertices", i, len(l))
		}
		for j := range l {
			e := l.Edge(j)
			if e.Length() <= Tol {
				return fmt.Errorf("edge %d.%d has length %g", i, j, e.Length())
			}
			if math.Abs(e.Bulge) > 1+1e-6 {
				return fmt.Errorf("edge %d.%d has bulge %g", i, j, e.Bulge)
			}
		}
		if p, ok := selfMeeting(l, Tol/2); ok {
			return fmt.Errorf("loop %d meets itself at %v", i, p)
		}
	}
	// Just left of the longest edge of each loop is inside once, just right outside.
	for i, l := range r {
		best := 0
		for j := range l {
			if l.Edge(j).Length() > l.Edge(best).Length() {
				best = j
			}
		}
		p, tan := l.Edge(best).At(0.5)
		n := r2.Scale(20*Tol, right(tan))
		if w := r.Winding(r2.Sub(p, n)); w != 1 {
			if near := shortGap(r, p, 60*Tol); !near {
				return fmt.Errorf("loop %d: winding %d inside", i, w)
			}
		}
		if w := r.Winding(r2.Add(p, n)); w != 0 {
			if near := shortGap(r, p, 60*Tol); !near {
				return fmt.Errorf("loop %d: winding %d outside", i, w)
			}
		}
	}
	return nil
}

// shortGap reports whether more than one edge is within d of p.
func shortGap(r Region, p r2.Vec, d float64) bool {
	n := 0
	r.Edges(func(_, _ int, e Edge) {
		for _, s := range e.segs() {
			if s.dist(p) < d {
				n++
			}
		}
	})
	return n > 1
}

func TestLensOfTwoCircles(t *testing.T) {
	must := must1[Region](t)
	// Closed form of the lens: 2r²·acos(d/2r) − d/2·√(4r²−d²).
	const r, d = 5.0, 6.0
	a, b := must(Circle(vec(0, 0), r, 1)), must(Circle(vec(d, 0), r, 2))
	lens := 2*r*r*math.Acos(d/(2*r)) - d/2*math.Sqrt(4*r*r-d*d)
	x := must(Intersect(a, b))
	near(t, "lens", x.Area(), lens, 1e-12)
	u := must(Union(a, b))
	near(t, "union", u.Area(), 2*math.Pi*r*r-lens, 1e-11)
	s := must(Subtract(a, b))
	near(t, "moon", s.Area(), math.Pi*r*r-lens, 1e-11)
	if len(x) != 1 || len(x[0]) != 2 || len(u) != 1 || len(u[0]) != 4 || len(s) != 1 {
		t.Errorf("edges: lens %v, union %v, moon %v", x, u, s)
	}
	tags := map[int32]int{}
	s.Edges(func(_, _ int, e Edge) { tags[e.Tag]++ })
	if tags[1] != 2 || tags[2] != 1 {
		t.Errorf("tags of the moon: %v", tags)
	}
}

func TestOffsetBasics(t *testing.T) {
	must := must1[Region](t)
	sq := must(Rect(vec(0, 0), vec(10, 6), 1))
	o := must(Offset(sq, 2))
	near(t, "offset area", o.Area(), 60+2*32+math.Pi*4, 1e-11)
	i := must(Offset(sq, -2))
	near(t, "inset area", i.Area(), 6*2, 1e-11)
	if e := must(Offset(sq, -3.001)); !e.IsEmpty() {
		t.Errorf("inset past the middle: %v", e)
	}
	back := must(Offset(i, 2))
	near(t, "opening area", back.Area(), 60-(4-math.Pi)*4, 1e-11)
	bar := must(Thicken([]Vertex{{P: vec(0, 0)}, {P: vec(20, 0)}}, 3))
	near(t, "slot", bar.Area(), 60+math.Pi*2.25, 1e-11)
	hook := must(Thicken([]Vertex{{P: vec(0, 0)}, {P: vec(20, 0), Bulge: 1}, {P: vec(20, 10)}}, 3))
	near(t, "hook", hook.Area(), 60+math.Pi*2.25+math.Pi/2*(6.5*6.5-3.5*3.5), 1e-11)
	for _, r := range []Region{o, i, back, bar, hook} {
		if err := valid(r); err != nil {
			t.Error(err)
		}
	}
}

// randomShape makes one of the shapes of the trade, on a coarse grid so that
// tangent and coincident edges are common; jitter moves it by a little.
func randomShape(rng *rand.Rand, tag int32) Region {
	grid := func() float64 { return float64(rng.IntN(13) - 6) }
	jitter := 0.0
	if rng.IntN(2) == 0 {
		jitter = math.Pow(10, -9+4*rng.Float64()) // 1e-9..1e-5
	}
	at := func() r2.Vec { return vec(grid()+jitter*rng.NormFloat64(), grid()+jitter*rng.NormFloat64()) }
	if rng.IntN(4) == 0 {
		at = func() r2.Vec { return vec(12*rng.Float64()-6, 12*rng.Float64()-6) }
	}
	for {
		var r Region
		var err error
		switch rng.IntN(6) {
		case 0, 1:
			r, err = Circle(at(), float64(1+rng.IntN(4))+jitter*rng.NormFloat64(), tag)
		case 2:
			r, err = Bar(at(), at(), float64(1+rng.IntN(4))+jitter*rng.NormFloat64(), tag)
		case 3:
			p := at()
			r, err = Rect(p, r2.Add(p, vec(float64(1+rng.IntN(5)), float64(1+rng.IntN(5)))), tag)
		case 4:
			pts := make([]r2.Vec, 3+rng.IntN(4))
			for i := range pts {
				pts[i] = at()
			}
			r, err = Polygon(pts, tag)
		case 5:
			ri := float64(1 + rng.IntN(3))
			r, err = Annulus(at(), ri, ri+float64(1+rng.IntN(3)), tag)
		}
		if err == nil {
			return r
		}
	}
}

func randomRegion(rng *rand.Rand, n int, tag int32) (Region, error) {
	r := randomShape(rng, tag)
	for range n - 1 {
		var err error
		s := randomShape(rng, tag)
		switch rng.IntN(3) {
		case 0, 1:
			r, err = Union(r, s)
		default:
			r, err = Subtract(r, s)
		}
		if err != nil {
			return nil, err
		}
	}
	return r, nil
}

func TestRandomBooleans(t *testing.T) {
	n := 3000
	if testing.Short() {
		n = 1000
	}
	bad := 0
	for seed := range n {
		if bad > 10 {
			break
		}
		rng := rand.New(rand.NewPCG(uint64(seed), 7))
		fail := func(f string, args ...any) { bad++; t.Errorf("seed %d: "+f, append([]any{seed}, args...)...) }
		a, err := randomRegion(rng, 1+rng.IntN(4), 1)
		if err != nil {
			fail("%v", err)
			continue
		}
		b, err := randomRegion(rng, 1+rng.IntN(4), 2)
		if err != nil {
			fail("%v", err)
			continue
		}
		u, err1 := Union(a, b)
		x, err2 := Intersect(a, b)
		d, err3 := Subtract(a, b)
		e, err4 := Subtract(b, a)
		if err1 != nil || err2 != nil || err3 != nil || err4 != nil {
			fail("%v %v %v %v", err1, err2, err3, err4)
			continue
		}
		for k, r := range []Region{a, b, u, x, d, e} {
			if err := valid(r); err != nil {
				fail("result %d: %v", k, err)
			}
		}
		tol := 4 * Tol * (a.Perimeter() + b.Perimeter() + 1)
		if s := u.Area() + x.Area() - a.Area() - b.Area(); math.Abs(s) > tol {
			fail("|A∪B|+|A∩B|−|A|−|B| = %g", s)
		}
		if s := d.Area() + x.Area() - a.Area(); math.Abs(s) > tol {
			fail("|A\\B|+|A∩B|−|A| = %g", s)
		}
		if s := e.Area() + x.Area() - b.Area(); math.Abs(s) > tol {
			fail("|B\\A|+|A∩B|−|B| = %g", s)
		}
		uu, err := Union(u, u)
		if err != nil || math.Abs(uu.Area()-u.Area()) > tol || len(uu) != len(u) {
			fail("union with itself: %v, area %g of %g, loops %d of %d", err, uu.Area(), u.Area(), len(uu), len(u))
		}
		if z, err := Subtract(u, u); err != nil || len(z) != 0 {
			fail("difference with itself: %v %v", err, z)
		}
	}
}
