package profile

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

func TestConstructors(t *testing.T) {
	must := must1[Region](t)
	near(t, "circle", must(Circle(vec(3, 4), 2, 1)).Area(), 4*math.Pi, 1e-12)
	near(t, "annulus", must(Annulus(vec(3, 4), 2, 3, 1)).Area(), 5*math.Pi, 1e-12)
	bar := must(Bar(vec(1, 1), vec(4, 5), 2, 1))
	near(t, "stadium", bar.Area(), 10+math.Pi, 1e-12)
	near(t, "stadium perimeter", bar.Perimeter(), 10+2*math.Pi, 1e-12)
	// A tapered bar is the union of two discs and the quadrilateral of the tangent points.
	tb := must(TaperedBar(vec(0, 0), 3, vec(10, 0), 1, 1))
	g := math.Asin(0.2)
	near(t, "tapered bar", tb.Area(), 9*(math.Pi/2+g)+1*(math.Pi/2-g)+(3+1)*10*math.Cos(g), 1e-12)
	tri := must(Polygon([]r2.Vec{vec(0, 3), vec(4, 0), vec(0, 0)}, 1)) // clockwise
	near(t, "triangle", tri.Area(), 6, 1e-12)
	sq := []Corner{{P: vec(0, 0), Radius: 1}, {P: vec(10, 0), Radius: 2}, {P: vec(10, 10)}, {P: vec(0, 10), Radius: 3}}
	near(t, "filleted square", must(Filleted(sq)).Area(), 100-(1-math.Pi/4)*(1+4+9), 1e-12)
	for _, r := range []Region{bar, tb, tri, must(Filleted(sq))} {
		if err := valid(r); err != nil {
			t.Error(err)
		}
	}
	// Fillets that just meet fit; a little more does not.
	full := []Corner{{P: vec(0, 0), Radius: 5}, {P: vec(10, 0), Radius: 5}, {P: vec(10, 10), Radius: 5}, {P: vec(0, 10), Radius: 5}}
	near(t, "square rounded to a disc", must(Filleted(full)).Area(), 25*math.Pi, 1e-9)
	full[2].Radius = 5.001
	if _, err := Filleted(full); err == nil {
		t.Error("fillets of 5 and 5.001 on an edge of 10: no error")
	}
	bow := []r2.Vec{vec(0, 0), vec(4, 4), vec(4, 0), vec(0, 5)}
	if _, err := Polygon(bow, 1); !errors.Is(err, ErrSelfCrossing) {
		t.Errorf("crossing polygon: %v", err)
	}
	for name, err := range map[string]error{
		"radius 0":   second(Circle(vec(0, 0), 0, 1)),
		"radius NaN": second(Circle(vec(0, 0), math.NaN(), 1)),
		"rect":       second(Rect(vec(0, 0), vec(-1, 1), 1)),
		"ring":       second(Annulus(vec(0, 0), 2, 2, 1)),
		"bar":        second(Bar(vec(1, 1), vec(1, 1), 2, 1)),
		"NaN":        second(Polygon([]r2.Vec{vec(0, 0), vec(math.NaN(), 0), vec(1, 1)}, 1)),
		"flat":       second(Polygon([]r2.Vec{vec(0, 0), vec(1, 0), vec(2, 0)}, 1)),
		"swallowed":  second(TaperedBar(vec(0, 0), 5, vec(1, 0), 1, 1)),
		"union NaN":  second(Union(Region{{{P: vec(math.NaN(), 0)}, {P: vec(1, 1)}}}, nil)),
		"offset Inf": second(Offset(nil, math.Inf(1))),
	} {
		if err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func second[T any](_ T, err error) error { return err }

func TestMoments(t *testing.T) {
	must := must1[Region](t)
	// Closed forms of any table of sections.
	m := must(Rect(vec(1, 2), vec(5, 8), 1)).Moments()
	near(t, "bh³/12", m.Ixx, 4*216/12.0, 1e-11)
	near(t, "hb³/12", m.Iyy, 6*64/12.0, 1e-11)
	near(t, "Ixy", m.Ixy, 0, 1e-11)
	m = must(Annulus(vec(100, -50), 2, 3, 1)).Moments()
	near(t, "π(R⁴−r⁴)/4", m.Ixx, math.Pi*(81-16)/4, 1e-9)
	near(t, "polar", m.Polar(), math.Pi*(81-16)/2, 1e-9)
	near(t, "cx", m.Centroid.X, 100, 1e-11)
	near(t, "cy", m.Centroid.Y, -50, 1e-11)
	// Half disc: centroid 4r/3π, Ixx about it r⁴(π/8 − 8/9π), Iyy πr⁴/8.
	half := must(FromLoop(Loop{{P: vec(-2, 0)}, {P: vec(2, 0), Bulge: 1}}))
	m = half.Moments()
	near(t, "half disc area", m.Area, 2*math.Pi, 1e-12)
	near(t, "half disc centroid", m.Centroid.Y, 8/(3*math.Pi), 1e-12)
	near(t, "half disc Ixx", m.Ixx, 16*(math.Pi/8-8/(9*math.Pi)), 1e-12)
	near(t, "half disc Iyy", m.Iyy, 2*math.Pi, 1e-12)
	// Right triangle b×h: Ixy = −b²h²/72.
	m = must(Polygon([]r2.Vec{vec(0, 0), vec(3, 0), vec(0, 4)}, 1)).Moments()
	near(t, "triangle Ixx", m.Ixx, 3*64/36.0, 1e-12)
	near(t, "triangle Ixy", m.Ixy, -144/72.0, 1e-12)
	// An arc so flat that its circle is 10 km wide is as good as its chord plus 2/3·s·c.
	flat := must(FromLoop(Loop{{P: vec(0, 0), Bulge: 2e-6}, {P: vec(10, 0)}, {P: vec(10, 5)}, {P: vec(0, 5)}}))
	near(t, "flat arc", flat.Area(), 50+2.0/3*1e-5*10, 1e-12)
	near(t, "flat arc by moments", flat.Moments().Area, flat.Area(), 1e-12)
}

func TestTransforms(t *testing.T) {
	r := link100(t)
	fr := NewField(r)
	rapid.Check(t, func(rt *rapid.T) {
		f := rapid.Float64Range(-10, 10)
		draw := func() Transform {
			x := Rigid(f.Draw(rt, "angle"), vec(f.Draw(rt, "x"), f.Draw(rt, "y")))
			x.Mirror = rapid.Bool().Draw(rt, "mirror")
			return x
		}
		a, b, p := draw(), draw(), vec(f.Draw(rt, "px"), f.Draw(rt, "py"))
		if d := dist(a.Then(b).Apply(p), b.Apply(a.Apply(p))); d > 1e-12 {
			rt.Errorf("Then is off by %g", d)
		}
		if d := dist(a.Inverse().Apply(a.Apply(p)), p); d > 1e-12 {
			rt.Errorf("Inverse is off by %g", d)
		}
		m := r.Transform(a)
		if math.Abs(m.Area()-r.Area()) > 1e-9 {
			rt.Errorf("area %g became %g", r.Area(), m.Area())
		}
		if d, e := NewField(m).Distance(a.Apply(p)), fr.Distance(p); math.Abs(d-e) > 1e-10 {
			rt.Errorf("distance %g became %g", e, d)
		}
	})
	q := MirrorLine(vec(1, 1), vec(1, 1)).Apply(vec(5, 2))
	near(t, "mirror x", q.X, 2, 1e-12)
	near(t, "mirror y", q.Y, 5, 1e-12)
}

func TestReverseKeepsTags(t *testing.T) {
	l := Loop{{P: vec(0, 0), Tag: 1}, {P: vec(4, 0), Bulge: 0.5, Tag: 2}, {P: vec(4, 4), Tag: 3}}
	r := l.Reverse()
	for i := range l {
		e := l.Edge(i)
		found := false
		for j := range r {
			if r.Edge(j) == e.Reverse() {
				found = true
			}
		}
		if !found {
			t.Errorf("edge %v is not in %v", e, r)
		}
	}
}

func TestBoxOfArcs(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 2000 {
		e := Edge{A: vec(rng.NormFloat64(), rng.NormFloat64()), B: vec(rng.NormFloat64(), rng.NormFloat64()), Bulge: math.Tan(1.5 * (2*rng.Float64() - 1))}
		if rng.IntN(3) == 0 {
			e.Bulge = math.Copysign(math.Pow(10, -8*rng.Float64()), e.Bulge)
		}
		lo, hi := e.A, e.A
		for k := range 2001 {
			p, _ := e.At(float64(k) / 2000)
			lo, hi = minVec(lo, p), maxVec(hi, p)
		}
		blo, bhi := vec(math.Inf(1), math.Inf(1)), vec(math.Inf(-1), math.Inf(-1))
		for _, s := range e.segs() {
			l, h := s.box()
			blo, bhi = minVec(blo, l), maxVec(bhi, h)
		}
		// 2,000 points miss an extreme by less than r/8·(sweep/2000)².
		_, r, _, _ := e.Arc()
		tol := 1e-12 + r/8*math.Pow(4*math.Atan(e.Bulge)/1000, 2)
		if d := math.Max(dist(lo, blo), dist(hi, bhi)); d > 2*tol {
			t.Fatalf("%+v: box %v %v, sampled %v %v", e, blo, bhi, lo, hi)
		}
	}
}

func TestFlattenIsTheSameBackwards(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := rapid.Float64Range(-100, 100)
		e := Edge{
			A: vec(f.Draw(rt, "ax"), f.Draw(rt, "ay")), B: vec(f.Draw(rt, "bx"), f.Draw(rt, "by")),
			Bulge: rapid.Float64Range(-3, 3).Draw(rt, "bulge"),
		}
		if dist(e.A, e.B) < 1e-3 {
			return
		}
		dev := math.Pow(10, rapid.Float64Range(-4, 0).Draw(rt, "log dev"))
		p := append(e.Flatten(dev), e.B)
		q := append(e.Reverse().Flatten(dev), e.A)
		if len(p) != len(q) {
			rt.Fatalf("%d points, %d backwards", len(p), len(q))
		}
		ss := e.segs()
		for i := range p {
			if p[i] != q[len(q)-1-i] {
				rt.Fatalf("point %d: %v and %v", i, p[i], q[len(q)-1-i])
			}
			if i == 0 {
				continue
			}
			m := r2.Scale(0.5, r2.Add(p[i], p[i-1]))
			d := math.Inf(1)
			for k := range ss {
				d = min(d, ss[k].dist(m))
			}
			if d > dev*(1+1e-6)+1e-12 {
				rt.Fatalf("chord %d deviates by %g, allowed %g", i, d, dev)
			}
		}
	})
}

func TestImprint(t *testing.T) {
	for seed := range 400 {
		rng := rand.New(rand.NewPCG(uint64(seed), 9))
		a, err1 := randomRegion(rng, 1+rng.IntN(4), 1)
		b, err2 := randomRegion(rng, 1+rng.IntN(4), 2)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		ia, ib, err := Imprint(a, b)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		tol := 4 * Tol * (a.Perimeter() + b.Perimeter() + 1)
		if math.Abs(ia.Area()-a.Area()) > tol || math.Abs(ib.Area()-b.Area()) > tol {
			t.Errorf("seed %d: areas %g %g became %g %g", seed, a.Area(), b.Area(), ia.Area(), ib.Area())
		}
		// Shared stretches must be shared edges: no edge's middle lies on another
		// region's edge that is not the same edge.
		fa, fb := NewField(ia), NewField(ib)
		same := map[Edge]bool{}
		key := func(e Edge) Edge {
			e.Tag = 0
			if e.A.X > e.B.X || e.A.X == e.B.X && e.A.Y > e.B.Y {
				e = e.Reverse()
			}
			return e
		}
		ib.Edges(func(_, _ int, e Edge) { same[key(e)] = true })
		ia.Edges(func(i, j int, e Edge) {
			m, _ := e.At(0.5)
			if on := math.Abs(fb.Distance(m)) < Tol/4; on && e.Length() > 1e-3 && !same[key(e)] {
				t.Errorf("seed %d: edge %d.%d %v lies on the other region, but is not one of its edges", seed, i, j, e)
			}
		})
		ib.Edges(func(_, _ int, e Edge) {
			if d := math.Abs(fa.Distance(e.A)); d < Tol/2 {
				found := false
				ia.Edges(func(_, _ int, o Edge) { found = found || o.A == e.A })
				if !found {
					t.Errorf("seed %d: vertex %v of b lies on a, but is none of its vertices", seed, e.A)
				}
			}
		})
	}
}
