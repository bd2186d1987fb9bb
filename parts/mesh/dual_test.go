package mesh

import (
	"crypto/sha256"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r3"
)

// must unwraps sdfx's constructors in tests.
func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func boxOf(f sdf.SDF3) r3.Box {
	b := f.BoundingBox()
	return r3.Box{Min: r3.Vec(b.Min), Max: r3.Vec(b.Max)}
}

func at3(f sdf.SDF3, x, y, z float64) sdf.SDF3 {
	return sdf.Transform3D(f, sdf.Translate3d(sdf.V3{X: x, Y: y, Z: z}))
}

// checkMesh fails unless m is a valid, vertex-manifold surface free of
// crossings and contacts.
func checkMesh(t testing.TB, what string, m *Mesh) Topology {
	t.Helper()
	if err := m.Validate(); err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	top, err := m.Topology()
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	if len(top.Pinched) > 0 {
		t.Fatalf("%s: pinched at %v", what, m.Vertices[top.Pinched[0]])
	}
	if x := m.SelfIntersections(); len(x) > 0 {
		t.Fatalf("%s: %d self-intersections, %v", what, len(x), x[0])
	}
	return top
}

func TestDualClosedForms(t *testing.T) {
	r, h := 3.0, 0.25
	ball := must(sdf.Sphere3D(r))
	block := must(sdf.Box3D(sdf.V3{X: 5, Y: 3, Z: 2}, 0))
	ring := must(sdf.Revolve3D(sdf.Transform2D(must(sdf.Circle2D(1)), sdf.Translate2d(sdf.V2{X: 4}))))
	holed := block
	for i := range 3 {
		holed = sdf.Difference3D(holed, at3(must(sdf.Cylinder3D(4, 0.5, 0)), 1.5*float64(i-1), 0, 0))
	}
	hollow := sdf.Difference3D(ball, must(sdf.Sphere3D(2)))
	third := 4. / 3 * math.Pi
	// Vertices lie on the surface; between them a chord of √3 cells over the
	// smallest radius sags by 3h²/8r.
	sag := func(r float64) float64 { return 3 * h * h / 8 / r }
	cases := []struct {
		name   string
		f      sdf.SDF3
		volume float64 // closed form
		within float64 // relative
		dev    float64 // mm
		genus  int
		comps  int
	}{
		{"sphere", ball, third * 27, 3e-3, sag(3), 0, 1},
		{"box", block, 30, 1e-7, 2e-6, 0, 1},
		{"torus", ring, 2 * math.Pi * math.Pi * 4, 8e-3, sag(1), 1, 1},
		{"box with three holes", holed, 30 - 3*2*math.Pi/4, 5e-3, sag(0.5), 3, 1},
		{"hollow sphere", hollow, third * 19, 3e-3, sag(2), 0, 2},
	}
	for _, c := range cases {
		m, rep, err := Dual(c.f, 1, boxOf(c.f), h, DualOptions{})
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		top := checkMesh(t, c.name, m)
		if top.Genus != c.genus || top.Components != c.comps {
			t.Errorf("%s: genus %d of %d surfaces, want %d of %d", c.name, top.Genus, top.Components, c.genus, c.comps)
		}
		if v := m.Volume(); math.Abs(v/c.volume-1) > c.within {
			t.Errorf("%s: volume %.9g, want %.9g", c.name, v, c.volume)
		}
		if rep.Deviation.Max > c.dev {
			t.Errorf("%s: deviation %.3g at %v", c.name, rep.Deviation.Max, rep.Deviation.At)
		}
		t.Logf("%s: %+v", c.name, rep)
	}
}

// bracket is a general body such as a mount: a flange with four bolt holes, a
// bored boss on it, crossed ribs, and a slot through the boss. 24 × 24 × 12 mm.
func bracket() sdf.SDF3 {
	flange := must(sdf.Cylinder3D(3, 12, 0.5))
	boss := at3(must(sdf.Cylinder3D(11, 5, 0.5)), 0, 0, 5.5)
	rib := at3(must(sdf.Box3D(sdf.V3{X: 20, Y: 1.6, Z: 7}, 0)), 0, 0, 3.5)
	body := sdf.Union3D(flange, boss, rib, sdf.Transform3D(rib, sdf.RotateZ(sdf.DtoR(90))))
	bore := must(sdf.Cylinder3D(40, 3, 0))
	slot := at3(must(sdf.Box3D(sdf.V3{X: 16, Y: 2, Z: 5}, 0)), 0, 0, 10)
	cut := []sdf.SDF3{bore, slot}
	for i := range 4 {
		cut = append(cut, at3(must(sdf.Cylinder3D(20, 1.1, 0)), float64(i&1)*13-6.5, float64(i>>1)*13-6.5, 0))
	}
	return sdf.Difference3D(body, sdf.Union3D(cut...))
}

func BenchmarkDualBracket(b *testing.B) {
	f := bracket()
	var rep DualReport
	for b.Loop() {
		var err error
		if _, rep, err = Dual(f, 1, boxOf(f), 0.125, DualOptions{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(rep.Triangles), "tris")
	b.ReportMetric(float64(rep.Evaluations)/float64(rep.SurfaceCells), "evals/cell")
}

// randomField joins, cuts and intersects a few random bodies near the origin.
func randomField(rnd *rand.Rand) sdf.SDF3 {
	body := func() sdf.SDF3 {
		u := func(lo, hi float64) float64 { return lo + (hi-lo)*rnd.Float64() }
		var f sdf.SDF3
		switch rnd.IntN(5) {
		case 0:
			f = must(sdf.Sphere3D(u(0.6, 2)))
		case 1:
			f = must(sdf.Box3D(sdf.V3{X: u(0.5, 3), Y: u(0.5, 3), Z: u(0.5, 3)}, 0))
		case 2:
			f = must(sdf.Box3D(sdf.V3{X: u(1, 3), Y: u(1, 3), Z: u(1, 3)}, u(0.05, 0.45)))
		case 3:
			f = must(sdf.Cylinder3D(u(0.5, 4), u(0.3, 1.5), 0))
		default:
			f = must(sdf.Cone3D(u(0.8, 3), u(0.5, 1.2), u(0.2, 1.2), 0))
		}
		m := sdf.Translate3d(sdf.V3{X: u(-1.2, 1.2), Y: u(-1.2, 1.2), Z: u(-1.2, 1.2)})
		if rnd.IntN(3) > 0 {
			m = m.Mul(sdf.RotateX(u(-3, 3))).Mul(sdf.RotateY(u(-3, 3))).Mul(sdf.RotateZ(u(-3, 3)))
		}
		return sdf.Transform3D(f, m)
	}
	f := body()
	for range 1 + rnd.IntN(6) {
		switch rnd.IntN(5) {
		case 0, 1:
			f = sdf.Union3D(f, body())
		case 2, 3:
			f = sdf.Difference3D(f, body())
		default:
			f = sdf.Intersect3D(f, sdf.Union3D(body(), body()))
		}
	}
	return f
}

// Every random body meshes closed, manifold and free of crossings, with
// vertices near the surface.
func TestDualRandomFields(t *testing.T) {
	n := 200
	if testing.Short() {
		n = 40
	}
	empty, shared, fans, retreats, hidden := 0, 0, 0, 0, 0
	for seed := range n {
		rnd := rand.New(rand.NewPCG(uint64(seed), 11))
		f := randomField(rnd)
		cell := 0.14 + 0.2*rnd.Float64()
		box := r3.Box{Min: r3.Vec{X: -5, Y: -5, Z: -5}, Max: r3.Vec{X: 5, Y: 5, Z: 5}}
		m, rep, err := Dual(f, 1, box, cell, DualOptions{})
		if err != nil {
			if !strings.Contains(err.Error(), "no surface") && !strings.Contains(err.Error(), "thinner than a cell") {
				t.Errorf("seed %d, cell %g: %v", seed, cell, err)
			}
			empty++
			continue
		}
		if err := m.Validate(); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		if top, err := m.Topology(); err != nil || len(top.Pinched) > 0 {
			t.Errorf("seed %d: %v, pinched %v", seed, err, top.Pinched)
		}
		if x := m.SelfIntersections(); len(x) > 0 {
			t.Errorf("seed %d, cell %g: %d self-intersections, %v", seed, cell, len(x), x[0])
		}
		// A cell's diagonal bounds what any feature can be cut by.
		if rep.Deviation.Max > cell*math.Sqrt(3) {
			t.Errorf("seed %d: deviation %g at a cell of %g", seed, rep.Deviation.Max, cell)
		}
		if rep.Lost > cell/2 {
			hidden++
		}
		shared, fans, retreats = shared+rep.OpenCells, fans+rep.Fans, retreats+rep.Retreats
	}
	t.Logf("%d empty, %d cells with ambiguous faces, %d fans, %d retreats, %d lose something", empty, shared, fans, retreats, hidden)
	if empty > n/4 || shared == 0 || fans == 0 {
		t.Error("the random bodies no longer test what they should")
	}
}

// fieldFunc makes a field of a function, with an arbitrary box.
type fieldFunc func(p sdf.V3) float64

func (f fieldFunc) Evaluate(p sdf.V3) float64 { return f(p) }
func (f fieldFunc) BoundingBox() sdf.Box3     { return sdf.NewBox3(sdf.V3{}, sdf.V3{X: 4, Y: 4, Z: 4}) }

func TestDualRefuses(t *testing.T) {
	box := func(s float64) r3.Box {
		return r3.Box{Min: r3.Vec{X: -s, Y: -s, Z: -s}, Max: r3.Vec{X: s, Y: s, Z: s}}
	}
	ball := must(sdf.Sphere3D(1))
	nan, inf := math.NaN(), math.Inf(1)
	square := sdf.Box2D(sdf.V2{X: 1, Y: 1}, 0)
	cases := []struct {
		name  string
		f     sdf.SDF3
		lip   float64
		box   r3.Box
		cell  float64
		opt   DualOptions
		wants string
	}{
		{"no field", nil, 1, box(2), 0.1, DualOptions{}, "field is nil"},
		{"zero cell", ball, 1, box(2), 0, DualOptions{}, "a cell of 0 mm"},
		{"negative cell", ball, 1, box(2), -1, DualOptions{}, "a cell of -1 mm"},
		{"NaN cell", ball, 1, box(2), nan, DualOptions{}, "a cell of NaN mm"},
		{"tiny cell", ball, 1, box(2), 1e-9, DualOptions{}, "along one side of the box"},
		{"cell below rounding", ball, 1, r3.Box{Min: r3.Vec{X: 1e9, Y: -1, Z: -1}, Max: r3.Vec{X: 1e9 + 1, Y: 1, Z: 1}}, 0.1, DualOptions{}, "too small for coordinates"},
		{"no volume", ball, 1, box(0), 0.1, DualOptions{}, "has no volume"},
		{"inside-out box", ball, 1, box(-2), 0.1, DualOptions{}, "has no volume"},
		{"NaN box", ball, 1, box(nan), 0.1, DualOptions{}, "has no volume"},
		{"no bound", ball, 0, box(2), 0.1, DualOptions{}, "Lipschitz bound of 0"},
		{"infinite bound", ball, inf, box(2), 0.1, DualOptions{}, "Lipschitz bound of +Inf"},
		{"empty", fieldFunc(func(sdf.V3) float64 { return 3 }), 1, box(2), 0.1, DualOptions{}, "no surface found"},
		{"infinite", fieldFunc(func(sdf.V3) float64 { return inf }), 1, box(2), 0.1, DualOptions{}, "the field is +Inf at ("},
		{"NaN", nanField{must(sdf.Sphere3D(7))}, 1, box(8), 0.5, DualOptions{}, "the field is NaN at ("},
		{"NaN in a speck", fieldFunc(func(p sdf.V3) float64 {
			if d := ball.Evaluate(p); math.Abs(d) > 0.02 || p.X < 0.9 {
				return d
			}
			return nan
		}), 1, box(1), 0.05, DualOptions{}, "the field is NaN at ("},
		{"all inside", fieldFunc(func(sdf.V3) float64 { return -50 }), 1, box(2), 0.1, DualOptions{}, "reaches past the box"},
		{"deviation below what the cell can do", ball, 1, box(1), 0.3, DualOptions{MaxDeviation: 1e-4}, "use a smaller cell"},
		{"negative deviation", ball, 1, box(1), 0.3, DualOptions{MaxDeviation: -1}, "a deviation of -1 mm"},
		{"past the box", ball, 1, box(0.7), 0.05, DualOptions{}, "reaches past the box"},
		{"too many cells", ball, 1, box(1), 0.05, DualOptions{MaxCells: 100}, "more than 100 cells"},
		{"scaled field", fieldFunc(func(p sdf.V3) float64 { return 1.2 * ball.Evaluate(p) }), 1, box(1), 0.1, DualOptions{}, "more than the stated bound of 1"},
		{"jump", fieldFunc(func(p sdf.V3) float64 {
			if p.X > 0.31 {
				return 0.8
			}
			return ball.Evaluate(p)
		}), 1, box(1), 0.1, DualOptions{}, "stated bound of 1"},
		{"twisted", sdf.TwistExtrude3D(square, 2, 6), 1, box(1.2), 0.05, DualOptions{}, "stated bound of 1"},
		{"tapered", sdf.ScaleExtrude3D(square, 2, sdf.V2{X: 0.25, Y: 0.25}), 1, box(1.2), 0.05, DualOptions{}, "stated bound of 1"},
	}
	for _, c := range cases {
		m, _, err := Dual(c.f, c.lip, c.box, c.cell, c.opt)
		if err == nil || !strings.Contains(err.Error(), c.wants) || m != nil {
			t.Errorf("%s: %v, want %q", c.name, err, c.wants)
		}
	}
	// With an honest bound the same bodies mesh.
	for _, c := range cases[len(cases)-2:] {
		m, _, err := Dual(c.f, 6, c.box, c.cell, DualOptions{})
		if err != nil {
			t.Errorf("%s with bound 6: %v", c.name, err)
			continue
		}
		checkMesh(t, c.name, m)
	}
}

// hash is a digest of the bits of a mesh.
func hash(m *Mesh) [32]byte {
	h := sha256.New()
	_ = binary.Write(h, binary.LittleEndian, m.Vertices) // a hash takes every write
	_ = binary.Write(h, binary.LittleEndian, m.Triangles)
	return [32]byte(h.Sum(nil))
}

func TestDualIsTheSameAtAnyThreadCount(t *testing.T) {
	old := runtime.GOMAXPROCS(0)
	defer runtime.GOMAXPROCS(old)
	f := bracket()
	var want [32]byte
	for i, n := range []int{1, 2, 5, 16} {
		runtime.GOMAXPROCS(n)
		m, _, err := Dual(f, 1, boxOf(f), 0.3, DualOptions{})
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
