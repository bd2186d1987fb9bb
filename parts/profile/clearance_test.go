package profile

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func TestClearanceClosedForms(t *testing.T) {
	must := must1[Region](t)
	disc := NewField(must(Circle(vec(0, 0), 3, 1)))
	other := NewField(must(Circle(vec(0, 0), 2, 2)))
	p := NewPair(disc, other)
	for _, d := range []float64{9, 6, 5.001, 5, 4.999, 4, 3} {
		g := p.Clearance(Rigid(0.7, vec(d*0.6, d*0.8)))
		near(t, "two discs", g.Distance, d-5, PenetrationTol)
		if d > 5 {
			near(t, "two discs apart", g.Distance, d-5, 1e-12)
			near(t, "witnesses", dist(g.PA, g.PB), d-5, 1e-12)
		}
		if g.TagA != 1 || g.TagB != 2 {
			t.Errorf("tags %d %d", g.TagA, g.TagB)
		}
	}
	// A pin in a hole: clearance inside a ring.
	ring := NewField(must(Annulus(vec(0, 0), 2.1, 5, 1)))
	g := NewPair(ring, other).Clearance(Rigid(0, vec(0.03, 0.04)))
	near(t, "pin in a hole", g.Distance, 0.05, 1e-12)
	// A disc swallowed: the deepest boundary point of either.
	g = NewPair(NewField(must(Circle(vec(0, 0), 10, 1))), other).Clearance(Rigid(0, vec(1, 0)))
	near(t, "disc in a disc", g.Distance, -9, PenetrationTol)
	// Crossing bars of width 2: the deepest boundary points lie on the midlines.
	bar := NewField(must(Bar(vec(-10, 0), vec(10, 0), 2, 1)))
	g = NewPair(bar, bar).Clearance(Rigid(math.Pi/2, vec(0, 0)))
	near(t, "crossing bars", g.Distance, -1, PenetrationTol)
	// Half a turn apart, mirrored.
	m := MirrorLine(vec(0, 3), vec(1, 0))
	g = NewPair(bar, bar).Clearance(m)
	near(t, "mirrored bar", g.Distance, 4, 1e-12)
	if x := NewPair(bar, NewField(nil)).Clearance(Identity()); !math.IsInf(x.Distance, 1) {
		t.Errorf("empty region: %v", x.Distance)
	}
}

// The dense-sampling bound: with boundary points at most h apart, the least
// sampled distance is at most h/2 above the true one.
func TestClearanceAgainstSampling(t *testing.T) {
	n := 200
	if testing.Short() {
		n = 40
	}
	for seed := range n {
		rng := rand.New(rand.NewPCG(uint64(seed), 5))
		a, err1 := randomRegion(rng, 1+rng.IntN(4), 1)
		b, err2 := randomRegion(rng, 1+rng.IntN(4), 2)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if a.IsEmpty() || b.IsEmpty() {
			continue
		}
		fa, fb := NewField(a), NewField(b)
		p := NewPair(fa, fb)
		pose := Rigid(6*rng.Float64(), vec(30*rng.Float64()-15, 30*rng.Float64()-15))
		pose.Mirror = rng.IntN(2) == 0
		g := p.Clearance(pose)
		moved := b.Transform(pose)
		fm := NewField(moved)
		low, deep := math.Inf(1), 0.0
		const per = 200
		h := 0.0
		visit := func(r Region, f *Field) {
			r.Edges(func(_, _ int, e Edge) { h = max(h, e.Length()/per) })
			for _, q := range samples(r, per) {
				d := f.Distance(q)
				low = min(low, math.Abs(d))
				deep = max(deep, -d)
			}
		}
		visit(a, fm)
		visit(moved, fa)
		x, err := Intersect(a, moved)
		if err != nil {
			t.Fatal(err)
		}
		overlap := x.Area() > 1e-6
		switch {
		case overlap && (g.Distance > -deep+PenetrationTol || g.Distance < -deep-h-PenetrationTol):
			t.Errorf("seed %d: depth %.9g, sampled %.9g ± %.3g", seed, -g.Distance, deep, h)
		case !overlap && g.Distance < -1e-6:
			t.Errorf("seed %d: %.9g without overlap", seed, g.Distance)
		case !overlap && (g.Distance > low+1e-9 || g.Distance < low-h):
			t.Errorf("seed %d: distance %.9g, sampled %.9g", seed, g.Distance, low)
		}
		if g.Distance > 0 {
			if e := math.Abs(dist(g.PA, g.PB) - g.Distance); e > 1e-9 {
				t.Errorf("seed %d: witnesses %v %v are %.9g apart, not %.9g", seed, g.PA, g.PB, dist(g.PA, g.PB), g.Distance)
			}
			if d := math.Abs(fa.Distance(g.PA)); d > 1e-9 {
				t.Errorf("seed %d: witness %.3g off a", seed, d)
			}
			if d := math.Abs(fm.Distance(g.PB)); d > 1e-9 {
				t.Errorf("seed %d: witness %.3g off b", seed, d)
			}
			// The other way round it is the same.
			if k := NewPair(fb, fa).Clearance(pose.Inverse()); math.Abs(k.Distance-g.Distance) > 1e-9 {
				t.Errorf("seed %d: swapped %.12g, %.12g", seed, k.Distance, g.Distance)
			}
			if w := p.Within(pose, g.Distance*0.99); !math.IsInf(w.Distance, 1) {
				t.Errorf("seed %d: within less: %g", seed, w.Distance)
			}
			if w := p.Within(pose, g.Distance*1.01); w.Distance != g.Distance {
				t.Errorf("seed %d: within more: %g, want %g", seed, w.Distance, g.Distance)
			}
		}
	}
}

func TestClearanceDoesNotAllocate(t *testing.T) {
	f := NewField(link100(t))
	p := NewPair(f, f)
	for _, at := range []r2.Vec{vec(0, 30), vec(3, 15)} {
		pose := Rigid(0.2, at)
		if n := testing.AllocsPerRun(50, func() { p.Clearance(pose) }); n != 0 {
			t.Errorf("%v allocations at %v", n, at)
		}
	}
}

func benchClearance(b *testing.B, poses []Transform) {
	f := NewField(link100(b))
	p := NewPair(f, f)
	i := 0
	for b.Loop() {
		p.Clearance(poses[i%len(poses)])
		i++
	}
}

func BenchmarkClearanceApart(b *testing.B) {
	var ps []Transform
	for i := range 64 {
		ps = append(ps, Rigid(0.1*float64(i), vec(130+0.5*float64(i), 60)))
	}
	benchClearance(b, ps)
}

// Plates side by side, some hundredths apart: the hard case of a stack.
func BenchmarkClearanceClose(b *testing.B) {
	var ps []Transform
	for i := range 64 {
		ps = append(ps, Rigid(0.001*float64(i), vec(0.5*float64(i), 17.6)))
	}
	benchClearance(b, ps)
}

func BenchmarkClearanceOverlap(b *testing.B) {
	var ps []Transform
	for i := range 64 {
		ps = append(ps, Rigid(0.05*float64(i), vec(0.5*float64(i), 9)))
	}
	benchClearance(b, ps)
}
