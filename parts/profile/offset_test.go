package profile

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// samples returns points on every edge.
func samples(r Region, perEdge int) []r2.Vec {
	var out []r2.Vec
	r.Edges(func(_, _ int, e Edge) {
		for k := range perEdge {
			p, _ := e.At((float64(k) + 0.5) / float64(perEdge))
			out = append(out, p)
		}
	})
	return out
}

func TestOffsetsOfRandomRegions(t *testing.T) {
	n := 600
	if testing.Short() {
		n = 150
	}
	bad := 0
	for seed := range n {
		if bad > 10 {
			break
		}
		rng := rand.New(rand.NewPCG(uint64(seed), 3))
		fail := func(f string, args ...any) { bad++; t.Errorf("seed %d: "+f, append([]any{seed}, args...)...) }
		r, err := randomRegion(rng, 1+rng.IntN(6), 1)
		if err != nil {
			fail("%v", err)
			continue
		}
		d := math.Pow(10, -2+2.3*rng.Float64())
		if rng.IntN(3) == 0 {
			d = float64(1+rng.IntN(4)) / 2 // events on the grid
		}
		f := NewField(r)
		for _, d := range []float64{d, -d} {
			o, err := Offset(r, d)
			if err != nil {
				fail("offset %g: %v", d, err)
				continue
			}
			if err := valid(o); err != nil {
				fail("offset %g: %v", d, err)
			}
			// Every boundary point of the offset is at distance d.
			for _, p := range samples(o, 7) {
				if got := f.Distance(p); math.Abs(got-d) > 1e-7 {
					fail("offset %g: point %v at %.9g", d, p, got)
					break
				}
			}
			// Every point farther inside than d is inside the offset, and the reverse.
			of := NewField(o)
			for range 40 {
				p := vec(24*rng.Float64()-12, 24*rng.Float64()-12)
				g := f.Distance(p) - d
				if math.Abs(g) > 1e-6 && (g < 0) != of.Contains(p) {
					fail("offset %g: point %v at %.9g is inside %v", d, p, g+d, of.Contains(p))
					break
				}
			}
			// There and back: an opening only loses, a closing only gains.
			back, err := Offset(o, -d)
			if err != nil {
				fail("offset %g and back: %v", d, err)
				continue
			}
			if err := valid(back); err != nil {
				fail("offset %g and back: %v", d, err)
			}
			a, b := r, back
			if d < 0 {
				a, b = back, r
			}
			x, err := Subtract(a, b)
			if err != nil || x.Area() > 10*Tol*(r.Perimeter()+1) {
				fail("offset %g and back is not monotone: %v, %g mm²", d, err, x.Area())
			}
			// Opening and closing are idempotent.
			o2, err := Offset(back, d)
			if err != nil || math.Abs(o2.Area()-o.Area()) > 10*Tol*(o.Perimeter()+1) {
				fail("offset %g thrice: %v, %.12g mm², want %.12g", d, err, o2.Area(), o.Area())
			}
		}
	}
}

func TestOffsetEventsClosedForm(t *testing.T) {
	must := must1[Region](t)
	events := func(r Region, dmax float64, want ...float64) {
		t.Helper()
		got, err := OffsetEvents(r, dmax)
		if err != nil {
			t.Fatal(err)
		}
		if len(got) != len(want) {
			t.Fatalf("events %v, want %v", got, want)
		}
		for i := range got {
			near(t, "event", got[i], want[i], 1e-6)
		}
	}
	// A square ends at half its width.
	events(must(Rect(vec(0, 0), vec(6, 6), 1)), 5, 3)
	events(must(Rect(vec(0, 0), vec(6, 6), 1)), 2.9)
	// 3-4-5 triangle: inradius 1.
	events(must(Polygon([]r2.Vec{vec(0, 0), vec(4, 0), vec(0, 3)}, 1)), 2, 1)
	// A plate with a hole 1 mm from one side and wider elsewhere: splits at 0.5.
	plate := must(Subtract(must(Rect(vec(0, 0), vec(20, 10), 1)), must(Circle(vec(4, 5), 3, 2))))
	events(plate, 0.9, 0.5)
	// A fillet of radius 0.5 vanishes at that depth.
	f := must(Filleted([]Corner{{P: vec(0, 0), Radius: 0.5}, {P: vec(10, 0)}, {P: vec(10, 10)}, {P: vec(0, 10)}}))
	events(f, 2, 0.5)
	// A dumbbell: two discs and a neck, which parts at half its width.
	d := must(UnionAll(must(Circle(vec(0, 0), 4, 1)), must(Circle(vec(14, 0), 4, 2)), must(Rect(vec(0, -1), vec(14, 1), 3))))
	events(d, 3, 1)
}

func TestRound(t *testing.T) {
	must := must1[Region](t)
	ell := must(Polygon([]r2.Vec{vec(0, 0), vec(10, 0), vec(10, 4), vec(4, 4), vec(4, 10), vec(0, 10)}, 1))
	const ri, ro = 1.5, 0.5
	r := must(Round(ell, ri, ro))
	// Each square corner loses (1 − π/4)·r², the inner one gains it.
	near(t, "area", r.Area(), 64-(1-math.Pi/4)*(5*ro*ro-ri*ri), 1e-6)
	if n := r.NumEdges(); n != 12 {
		t.Errorf("%d edges, want 12", n)
	}
	if _, err := Round(ell, 0, 2.1); err == nil {
		t.Error("a disc of radius 2.1 in arms of width 4: no error")
	}
}

func TestMiterOffset(t *testing.T) {
	must := must1[Region](t)
	sq := must(Rect(vec(0, 0), vec(10, 6), 1))
	near(t, "square", must(MiterOffset(sq, 1, 2)).Area(), 12*8, 1e-10)
	near(t, "square, limit below √2", must(MiterOffset(sq, 1, 1.3)).Area(), 60+32+math.Pi, 1e-10)
	in := must(MiterOffset(must(Subtract(must(Rect(vec(-5, -5), vec(15, 11), 1)), sq)), -1, 2))
	near(t, "hole", in.Area(), 18*14-12*8, 1e-10)
}

func BenchmarkOffsetEvents(b *testing.B) {
	r := link100(b)
	n := 0
	for b.Loop() {
		ev, err := OffsetEvents(r, 0.4)
		if err != nil {
			b.Fatal(err)
		}
		n = len(ev)
	}
	b.ReportMetric(float64(n), "events")
}

// At an inset of a disc's radius its two halves end in points about as far apart as
// the tolerance, near a third edge. What is left of the disc is a dot at most.
func TestInsetByTheRadius(t *testing.T) {
	r := Region{{
		{P: vec(6, -6.3)},
		{P: vec(13.247836324135708, -6.3), Bulge: 0.84848920646183346},
		{P: vec(15.498673536253817, -11.471473861758598), Bulge: 0.84848920646183346},
		{P: vec(15.028918912032344, -5.8509987349271881)},
		{P: vec(15.028918912032344, -3.4740718851770414)},
		{P: vec(6, -3.4740718851770414)},
	}}
	_, radius, _, _ := r[0].Edge(1).Arc()
	for k := -100; k <= 100; k++ {
		d := radius + 1e-9*float64(k)
		o, err := Offset(r, -d)
		if err != nil {
			t.Errorf("inset by %.10f: %v", d, err)
		}
		if b, ok := o.Box(); ok && max(b.Max.X-b.Min.X, b.Max.Y-b.Min.Y) > 2*(radius-d)+2*Tol {
			t.Errorf("inset by %.10f leaves %v", d, b)
		}
	}
}
