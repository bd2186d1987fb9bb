package profile

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Shapes shifted by 1e-9 to 3e-7 mm, which is around Tol, in a turned frame: every
// way of nearly meeting, and every fourth time a region and nearly itself.
func TestOutlinesAToleranceApart(t *testing.T) {
	n := 3000
	if testing.Short() {
		n = 800
	}
	bad := 0
	for seed := range n {
		if bad > 12 {
			break
		}
		rng := rand.New(rand.NewPCG(uint64(seed), 99))
		fail := func(f string, args ...any) { bad++; t.Errorf("seed %d: "+f, append([]any{seed}, args...)...) }
		ang := 6 * rng.Float64()
		eps := math.Pow(10, -9+2.5*rng.Float64()) // around Tol
		mk := func(tag int32) (Region, error) {
			var out Region
			n := 1 + rng.IntN(5)
			for k := range n {
				s := randomShape(rng, tag)
				s = s.Transform(Rigid(ang, vec(eps*rng.NormFloat64(), eps*rng.NormFloat64())))
				var err error
				if k == 0 {
					out = s
				} else if rng.IntN(3) == 0 {
					out, err = Subtract(out, s)
				} else {
					out, err = Union(out, s)
				}
				if err != nil {
					return nil, err
				}
			}
			return out, nil
		}
		a, err := mk(1)
		if err != nil {
			fail("%v", err)
			continue
		}
		b, err := mk(2)
		if err != nil {
			fail("%v", err)
			continue
		}
		if rng.IntN(4) == 0 { // the same region, nearly
			b = a.Transform(Rigid(eps*0.1*rng.NormFloat64(), vec(eps*rng.NormFloat64(), eps*rng.NormFloat64())))
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
		tol := 6 * Tol * (a.Perimeter() + b.Perimeter() + 1)
		for k, s := range []float64{u.Area() + x.Area() - a.Area() - b.Area(), d.Area() + x.Area() - a.Area(), e.Area() + x.Area() - b.Area()} {
			if math.Abs(s) > tol {
				fail("identity %d off by %g (tol %g)", k, s, tol)
			}
		}
		if seed%3 == 0 {
			dd := 0.5 * float64(1+rng.IntN(3))
			if rng.IntN(2) == 0 {
				dd = -dd
			}
			o, err := Offset(u, dd)
			if err != nil {
				fail("offset %g: %v", dd, err)
				continue
			}
			if err := valid(o); err != nil {
				fail("offset %g: %v", dd, err)
			}
			f := NewField(u)
			for _, p := range samples(o, 3) {
				if got := f.Distance(p); math.Abs(math.Abs(got)-math.Abs(dd)) > 1e-7 {
					fail("offset %g: point %v at %.9g", dd, p, got)
					break
				}
			}
		}
	}
}

// A plate of about 90 edges, far from the origin, with discs, bars and polygons
// added and cut out, then inset in steps as for a chamfer.
func TestLinksWithRandomCuts(t *testing.T) {
	n := 200
	if testing.Short() {
		n = 50
	}
	bad := 0
	link := link100(t)
	for seed := range n {
		if bad > 12 {
			break
		}
		rng := rand.New(rand.NewPCG(uint64(seed), 1234))
		fail := func(f string, args ...any) { bad++; t.Errorf("seed %d: "+f, append([]any{seed}, args...)...) }
		ang := 6 * rng.Float64()
		if rng.IntN(3) == 0 {
			ang = math.Pi / 2 * float64(rng.IntN(4))
		}
		r := link.Transform(Rigid(ang, vec(100*rng.NormFloat64(), 100*rng.NormFloat64())))
		var all []Region
		for range 1 + rng.IntN(12) {
			s := randomShape(rng, 5).Transform(Rigid(ang, r.Centroid()))
			s = s.Move(vec(20*rng.NormFloat64(), 3*rng.NormFloat64()))
			all = append(all, s)
		}
		u, err := UnionAll(all...)
		if err != nil {
			fail("%v", err)
			continue
		}
		a, err1 := Union(r, u)
		b, err2 := Subtract(r, u)
		c, err3 := Intersect(r, u)
		if err1 != nil || err2 != nil || err3 != nil {
			fail("%v %v %v", err1, err2, err3)
			continue
		}
		if x := a.Area() + c.Area() - r.Area() - u.Area(); math.Abs(x) > 1e-5 {
			fail("identity %g", x)
		}
		for k, x := range []Region{a, b, c, u} {
			if err := valid(x); err != nil {
				fail("result %d %v", k, err)
			}
		}
		// Chamfer levels one after another are the inset at once.
		x := b
		ok := true
		for k := range 6 {
			x, err = Offset(x, -0.07)
			if err != nil {
				fail("level %d %v", k, err)
				ok = false
				break
			}
			if err := valid(x); err != nil {
				fail("level %d %v", k, err)
			}
		}
		if !ok {
			continue
		}
		y, err := Offset(b, -0.42)
		if err != nil {
			fail("%v", err)
			continue
		}
		if math.Abs(x.Area()-y.Area()) > 1e-5 {
			fail("levels %g, at once %g", x.Area(), y.Area())
		}
		d := 2 * rng.NormFloat64()
		o, err := Offset(b, d)
		if err != nil {
			fail("%v", err)
			continue
		}
		f := NewField(b)
		for _, p := range samples(o, 2) {
			if got := f.Distance(p); math.Abs(math.Abs(got)-math.Abs(d)) > 1e-7 {
				fail("offset %g: point %v at %.9g", d, p, got)
				break
			}
		}
	}
}

func TestResultsDoNotDependOnTheRun(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 100 {
		a, b := randomShape(rng, 1), randomShape(rng, 2)
		u := must1[Region](t)(Union(a, b))
		for range 3 {
			v := must1[Region](t)(Union(a, b))
			if !slices.EqualFunc(u, v, func(x, y Loop) bool { return slices.Equal(x, y) }) {
				t.Fatalf("%v, then %v", u, v)
			}
		}
		// A canonical result stays as it is.
		w := must1[Region](t)(Clean(u...))
		if len(w) != len(u) || w.NumEdges() != u.NumEdges() || math.Abs(w.Area()-u.Area()) > 1e-9 {
			t.Errorf("%v cleaned is %v", u, w)
		}
	}
}
