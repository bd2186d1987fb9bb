package mesh

import (
	"cmp"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r3"
)

// A box comes back as its eight corners, turned or not.
func TestSimplifyBox(t *testing.T) {
	box := must(sdf.Box3D(sdf.V3{X: 5, Y: 3, Z: 2}, 0))
	for _, f := range []sdf.SDF3{box, sdf.Transform3D(box, sdf.RotateX(0.4).Mul(sdf.RotateY(1)).Mul(sdf.RotateZ(2)))} {
		m, rep, err := Dual(f, 1, boxOf(f), 0.2, DualOptions{MaxDeviation: 0.001})
		if err != nil {
			t.Fatal(err)
		}
		checkMesh(t, "box", m)
		if len(m.Triangles) != 12 || len(m.Vertices) != 8 {
			t.Errorf("%d triangles over %d vertices, want 12 over 8", len(m.Triangles), len(m.Vertices))
		}
		near(t, "volume", m.Volume(), 30, 1e-3)
		if rep.Deviation.Max > 1e-4 || rep.DualTriangles < 1000 {
			t.Errorf("%+v", rep)
		}
	}
}

// Moments of a solid sphere and a hollow cylinder: I = 2mr²/5, and
// m(3(R²+r²)+h²)/12 across, m(R²+r²)/2 about the axis.
func TestSimplifiedMoments(t *testing.T) {
	ball := must(sdf.Sphere3D(3))
	tube := sdf.Difference3D(must(sdf.Cylinder3D(4, 3, 0)), must(sdf.Cylinder3D(5, 2, 0)))
	vb, vt := 36*math.Pi, 20*math.Pi
	for _, c := range []struct {
		name        string
		f           sdf.SDF3
		v, ixx, izz float64
		genus       int
	}{
		{"sphere", ball, vb, vb * 18 / 5, vb * 18 / 5, 0},
		{"tube", tube, vt, vt * (3*13 + 16) / 12, vt * 13 / 2, 1},
	} {
		m, rep, err := Dual(c.f, 1, boxOf(c.f), 0.1, DualOptions{MaxDeviation: 0.01})
		if err != nil {
			t.Fatal(err)
		}
		top := checkMesh(t, c.name, m)
		g := m.Mass()
		near(t, c.name+" volume", g.Volume/c.v, 1, 0.01)
		near(t, c.name+" Ixx", g.Inertia.At(0, 0)/c.ixx, 1, 0.015)
		near(t, c.name+" Izz", g.Inertia.At(2, 2)/c.izz, 1, 0.015)
		if top.Genus != c.genus || rep.Deviation.Max > 0.01 || rep.Triangles*4 > rep.DualTriangles {
			t.Errorf("%s: genus %d, %+v", c.name, top.Genus, rep)
		}
	}
}

// Simplified random bodies stay valid, keep their topology and come to the
// stated deviation, or Dual says that they do not.
func TestSimplifyRandomFields(t *testing.T) {
	n := 60
	if testing.Short() {
		n = 15
	}
	box := r3.Box{Min: r3.Vec{X: -5, Y: -5, Z: -5}, Max: r3.Vec{X: 5, Y: 5, Z: 5}}
	met := 0
	var raws []float64
	for seed := range n {
		rnd := rand.New(rand.NewPCG(uint64(seed), 23))
		f := randomField(rnd)
		raw, _, err := Dual(f, 1, box, 0.15, DualOptions{})
		if err != nil {
			continue
		}
		m, err := Simplify(raw, f, 0.02)
		if err != nil {
			t.Errorf("seed %d: %v", seed, err)
			continue
		}
		a, b := checkMesh(t, "raw", raw), checkMesh(t, "simplified", m)
		if a.Genus != b.Genus || a.Components != b.Components {
			t.Errorf("seed %d: topology %+v became %+v", seed, a, b)
		}
		before, err := MeasureDeviation(raw, f, 0)
		if err != nil {
			t.Fatal(err)
		}
		raws = append(raws, before.Max)
		after, err := MeasureDeviation(m, f, 20000)
		if err != nil {
			t.Fatal(err)
		}
		if after.Max > before.Max+0.02 {
			t.Errorf("seed %d: deviation %.4g at %v, before %.4g", seed, after.Max, after.At, before.Max)
		}
		switch _, rep, err := Dual(f, 1, box, 0.15, DualOptions{MaxDeviation: 0.05}); {
		case err == nil && rep.Deviation.Max > 0.05:
			t.Errorf("seed %d: deviation %g was let pass", seed, rep.Deviation.Max)
		case err == nil:
			met++
		case !strings.Contains(err.Error(), "use a smaller cell"):
			t.Errorf("seed %d: %v", seed, err)
		}
	}
	t.Logf("%d of %d meet 0.05 mm at a cell of 0.15 mm", met, n)
	slices.Sort(raws)
	t.Logf("before: median %.3g, upper tenth %.3g, worst %.3g mm", raws[len(raws)/2], raws[len(raws)*9/10], raws[len(raws)-1])
	if met < n/4 {
		t.Error("too few bodies meet the deviation to test anything")
	}
}

func TestSimplifyIsTheSameAtAnyThreadCount(t *testing.T) {
	old := runtime.GOMAXPROCS(0)
	defer runtime.GOMAXPROCS(old)
	f := bracket()
	var want [32]byte
	for i, n := range []int{1, 3} {
		runtime.GOMAXPROCS(n)
		m, _, err := Dual(f, 1, boxOf(f), 0.2, DualOptions{MaxDeviation: 0.05})
		if err != nil {
			t.Fatal(err)
		}
		if h := hash(m); i == 0 {
			want = h
		} else if h != want {
			t.Errorf("the mesh differs at %d threads", n)
		}
	}
}

func TestDistanceToTriangle(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	v := func() r3.Vec { return r3.Vec{X: rnd.NormFloat64(), Y: rnd.NormFloat64(), Z: rnd.NormFloat64()} }
	for range 300 {
		p, a, b, c := v(), v(), v(), v()
		got, best := math.Sqrt(distance2(p, a, b, c)), math.Inf(1)
		const n = 60
		for i := range n + 1 {
			for j := range n + 1 - i {
				x := r3.Add(a, r3.Add(r3.Scale(float64(i)/n, r3.Sub(b, a)), r3.Scale(float64(j)/n, r3.Sub(c, a))))
				best = min(best, r3.Norm(r3.Sub(p, x)))
			}
		}
		if got > best+1e-12 || got < best-0.15 {
			t.Fatalf("distance %g, nearest of a grid %g", got, best)
		}
	}
}

func TestPullsComeLeastFirst(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	var q pulls
	var want []pull
	for i := range int32(500) {
		p := pull{float64(rnd.IntN(40)), i} // many of one cost
		q.push(p)
		want = append(want, p)
		if rnd.IntN(3) == 0 {
			least := slices.MinFunc(want, func(a, b pull) int { return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.vertex, b.vertex)) })
			if got := q.pop(); got != least {
				t.Fatalf("%v came, want %v", got, least)
			}
			want = slices.DeleteFunc(want, func(p pull) bool { return p == least })
		}
	}
	if len(q) != len(want) {
		t.Errorf("%d are left, want %d", len(q), len(want))
	}
}
