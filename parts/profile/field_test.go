package profile

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// bruteDistance looks at every edge through its centre and angles, which is
// another way than the field goes.
func bruteDistance(r Region, p r2.Vec) float64 {
	d := math.Inf(1)
	r.Edges(func(_, _ int, e Edge) {
		d = min(d, dist(p, e.A), dist(p, e.B))
		if e.IsLine() {
			u := r2.Sub(e.B, e.A)
			t := r2.Dot(r2.Sub(p, e.A), u) / r2.Norm2(u)
			if t > 0 && t < 1 {
				d = min(d, dist(p, r2.Add(e.A, r2.Scale(t, u))))
			}
			return
		}
		c, rad, start, sweep := e.Arc()
		a := math.Atan2(p.Y-c.Y, p.X-c.X) - start
		if sweep < 0 {
			a = -a
		}
		a = math.Mod(math.Mod(a, 2*math.Pi)+2*math.Pi, 2*math.Pi)
		if a < math.Abs(sweep) {
			d = min(d, math.Abs(dist(p, c)-rad))
		}
	})
	// Sign by a polygon of points on the boundary, even-odd.
	in := false
	for _, l := range r {
		var pts []r2.Vec
		for i := range l {
			e := l.Edge(i)
			n := 1
			if !e.IsLine() {
				n = 400
			}
			for k := range n {
				q, _ := e.At(float64(k) / float64(n))
				pts = append(pts, q)
			}
		}
		for i, a := range pts {
			b := pts[(i+1)%len(pts)]
			if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
				in = !in
			}
		}
	}
	if in {
		return -d
	}
	return d
}

func TestDistanceAgainstBruteForce(t *testing.T) {
	n := 120
	if testing.Short() {
		n = 60
	}
	for seed := range n {
		rng := rand.New(rand.NewPCG(uint64(seed), 11))
		r, err := randomRegion(rng, 1+rng.IntN(6), 1)
		if err != nil {
			t.Fatal(err)
		}
		f := NewField(r)
		for range 60 {
			p := vec(24*rng.Float64()-12, 24*rng.Float64()-12)
			got, want := f.Distance(p), bruteDistance(r, p)
			if math.Abs(got-want) > 1e-9 && math.Abs(want) > 1e-3 || math.Abs(math.Abs(got)-math.Abs(want)) > 1e-9 {
				t.Fatalf("seed %d at %v: %.12g, want %.12g", seed, p, got, want)
			}
			if len(r) == 0 {
				continue
			}
			nr := f.Nearest(p)
			if math.Abs(dist(nr.Foot, p)-math.Abs(got)) > 1e-9 || math.Abs(bruteDistance(r, nr.Foot)) > 1e-9 {
				t.Fatalf("seed %d at %v: foot %v", seed, p, nr.Foot)
			}
			if nr.Edge < 0 || nr.Edge >= len(r[nr.Loop]) {
				t.Fatalf("seed %d: edge %d.%d", seed, nr.Loop, nr.Edge)
			}
			if f.Winding(p) != r.Winding(p) {
				t.Fatalf("seed %d at %v: winding %d, want %d", seed, p, f.Winding(p), r.Winding(p))
			}
		}
	}
}

// link100 is a plate like those of the trade, of about 100 edges: holes, a slot with a ramp, a relief
// slit, a comb of arms.
func link100(t testing.TB) Region {
	must := must1[Region](t)
	r := must(Rect(vec(0, 0), vec(80, 16), 1))
	for i := range 6 {
		r = must(Subtract(r, must(Circle(vec(6+4.5*float64(i), 8), 1.6, 2))))
	}
	path := must1[[]Vertex](t)(FilletedPath([]Corner{
		{P: vec(40, 6)}, {P: vec(50, 6), Radius: 0.3}, {P: vec(51, 7), Radius: 0.3}, {P: vec(54.7, 6), Radius: 0.3}, {P: vec(62, 6)},
	}))
	r = must(Subtract(r, must(Thicken(path, 3.2))))
	for i := range 8 {
		x := 38 + 4*float64(i)
		r = must(Subtract(r, must(Bar(vec(x, 12), vec(x, 17), 1, 3))))
	}
	return must(Round(r, 0.25, 0.25))
}

func TestFieldDoesNotAllocate(t *testing.T) {
	f := NewField(link100(t))
	p := vec(31, 5)
	if n := testing.AllocsPerRun(100, func() { f.Distance(p); f.Nearest(p); f.Winding(p); f.Ray(p, vec(0, 1), 0, 100) }); n != 0 {
		t.Errorf("%v allocations per query", n)
	}
}

func BenchmarkDistance(b *testing.B) {
	r := link100(b)
	f := NewField(r)
	rng := rand.New(rand.NewPCG(1, 1))
	pts := make([]r2.Vec, 4096)
	for i := range pts {
		pts[i] = vec(100*rng.Float64()-10, 36*rng.Float64()-10)
	}
	sum := 0.0
	i := 0
	for b.Loop() {
		sum += f.Distance(pts[i%len(pts)])
		i++
	}
	_ = sum
	b.ReportMetric(float64(r.NumEdges()), "edges")
}

func BenchmarkNewField(b *testing.B) {
	r := link100(b)
	for b.Loop() {
		NewField(r)
	}
}

func BenchmarkBoolean(b *testing.B) {
	r := link100(b)
	c := must1[Region](b)(Circle(vec(40, 8), 7, 5))
	for b.Loop() {
		if _, err := Subtract(r, c); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkInset(b *testing.B) {
	r := link100(b)
	for b.Loop() {
		if _, err := Offset(r, -0.4); err != nil {
			b.Fatal(err)
		}
	}
}

// Near the centre of an arc the distance keeps its digits: r less the way from the
// centre.
func TestDistanceNearTheCentreOfAnArc(t *testing.T) {
	const r = 2.8409603196705286
	c := vec(-7.8, 2.4)
	f := NewField(must1[Region](t)(Circle(c, r, 1)))
	for _, way := range []float64{0, 1e-12, 1e-10, 2e-9, 1e-8, 1e-7, 1e-5} {
		for _, p := range []r2.Vec{vec(c.X+way, c.Y), vec(c.X, c.Y+way), vec(c.X-way, c.Y), vec(c.X, c.Y-way)} {
			near(t, "distance", f.Distance(p), dist(p, c)-r, 2e-15)
			near(t, "distance of the foot", dist(p, f.Nearest(p).Foot), r-dist(p, c), 2e-15)
		}
	}
}

// Beside a cusp both edges are as near, and one of them has the point on its inner
// side. The region is a square less a disc that touches its left side.
func TestSideBesideACusp(t *testing.T) {
	const r = 1.5
	for _, turn := range []float64{0, 0.7, 2, 3, 4.5} {
		m := Rigid(turn, vec(-2.6, -4))
		square := must1[Region](t)(Rect(vec(0, -3), vec(3, 0), 1))
		disc := must1[Region](t)(Circle(vec(r, 0), r, 2))
		f := NewField(must1[Region](t)(Subtract(square, disc)).Transform(m))
		for _, x := range []float64{0.2, 0.75, 1.4} {
			for _, y := range []float64{0, 1e-12, 1e-9, 1e-8} {
				// In the disc, the cusp at (0, 0) being nearest to rounding.
				near(t, "distance", f.Distance(m.Apply(vec(x, -y))), x, 1e-9)
			}
		}
	}
}
