package mesh

import (
	"math"
	"testing"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r3"
)

// pairOf joins two triangles that share the given vertices.
func pairOf(p, q [3]r3.Vec) *Mesh {
	m := &Mesh{}
	for _, t := range [2][3]r3.Vec{p, q} {
		var tr [3]int32
	corner:
		for i, v := range t {
			for j, w := range m.Vertices {
				if v == w {
					tr[i] = int32(j)
					continue corner
				}
			}
			tr[i] = int32(len(m.Vertices))
			m.Vertices = append(m.Vertices, v)
		}
		m.Triangles = append(m.Triangles, tr)
	}
	return m
}

func TestCrossKnownPairs(t *testing.T) {
	v := func(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }
	base := [3]r3.Vec{v(0, 0, 0), v(4, 0, 0), v(0, 4, 0)}
	cases := []struct {
		name string
		q    [3]r3.Vec
		want string
	}{
		{"through", [3]r3.Vec{v(1, 1, -1), v(1, 1, 1), v(3, 3, 2)}, "cross"},
		{"above", [3]r3.Vec{v(1, 1, 1), v(2, 1, 1), v(1, 2, 2)}, ""},
		{"plane cut, beside", [3]r3.Vec{v(5, 5, -1), v(5, 5, 1), v(6, 6, 0)}, ""},
		{"corner on face", [3]r3.Vec{v(1, 1, 0), v(1, 1, 1), v(2, 2, 1)}, "touch"},
		{"side on face", [3]r3.Vec{v(1, 1, 0), v(2, 1, 0), v(2, 2, 1)}, "touch"},
		{"sides cross", [3]r3.Vec{v(1, -1, 0), v(1, 1, 0), v(1, 0, 5)}, "touch"},
		{"flat overlap", [3]r3.Vec{v(1, 1, 0), v(5, 1, 0), v(1, 5, 0)}, "cross"},
		{"flat apart", [3]r3.Vec{v(5, 1, 0), v(6, 1, 0), v(5, 5, 0)}, ""},
		{"flat corner on side", [3]r3.Vec{v(2, 2, 0), v(6, 2, 0), v(2, 6, 0)}, "touch"},
		{"corner through corner line", [3]r3.Vec{v(1, 1, -1), v(1, 1, 1), v(-3, -3, 0)}, "cross"},
		{"one corner on plane, pierced", [3]r3.Vec{v(1, 1, 0), v(6, 6, 5), v(6, 6, -5)}, "cross"},
		{"line end at side", [3]r3.Vec{v(2, 2, -1), v(2, 2, 1), v(5, 5, 0)}, "touch"},
		{"common corner, apart", [3]r3.Vec{v(0, 0, 0), v(-1, 0, 1), v(-1, 0, -1)}, ""},
		{"common corner, through", [3]r3.Vec{v(0, 0, 0), v(1, 1, 1), v(1, 1, -1)}, "cross"},
		{"common corner, through to the far side", [3]r3.Vec{v(0, 0, 0), v(2, 2, 1), v(2, 2, -1)}, "cross"},
		{"common corner, flat overlap", [3]r3.Vec{v(0, 0, 0), v(1, 2, 0), v(2, 1, 0)}, "cross"},
		{"common corner, flat apart", [3]r3.Vec{v(0, 0, 0), v(-1, 2, 0), v(-2, -1, 0)}, ""},
		{"common corner, side on face", [3]r3.Vec{v(0, 0, 0), v(1, 1, 0), v(1, 1, 1)}, "touch"},
		{"common side, open", [3]r3.Vec{v(4, 0, 0), v(0, 0, 0), v(0, 0, 3)}, ""},
		{"common side, flat", [3]r3.Vec{v(4, 0, 0), v(0, 0, 0), v(1, -3, 0)}, ""},
		{"common side, folded", [3]r3.Vec{v(4, 0, 0), v(0, 0, 0), v(1, 3, 0)}, "cross"},
	}
	for _, c := range cases {
		for swap := range 2 {
			for turn := range 3 {
				p, q := base, c.q
				for range turn {
					q = [3]r3.Vec{q[1], q[2], q[0]}
				}
				if swap == 1 {
					p, q = q, p
				}
				got := ""
				for _, x := range pairOf(p, q).SelfIntersections() {
					got = map[bool]string{false: "cross", true: "touch"}[x.Touch]
				}
				if got != c.want {
					t.Errorf("%s (swap %d, turn %d): %q, want %q", c.name, swap, turn, got, c.want)
				}
			}
		}
	}
}

func TestSelfIntersectionsOfBodies(t *testing.T) {
	m := torus(10, 3, 200, 60)
	if x := m.SelfIntersections(); len(x) != 0 {
		t.Errorf("torus: %v", x[0])
	}
	// A spindle torus (tube wider than the ring) passes through itself.
	if x := torus(2, 3, 100, 60).SelfIntersections(); len(x) == 0 {
		t.Error("spindle torus: no crossing found")
	}
	// Against every pair by the same exact test: the tree loses none.
	s := torus(2.9, 3, 24, 18)
	n := 0
	for i := range s.Triangles {
		for j := range i {
			if _, ok := s.cross(int32(j), int32(i)); ok {
				n++
			}
		}
	}
	if x := s.SelfIntersections(); len(x) != n || n == 0 {
		t.Errorf("tree finds %d crossings, all pairs %d", len(x), n)
	}
	b := brick(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})
	if err := b.Append(brick(r3.Vec{X: 1}, r3.Vec{X: 2, Y: 1, Z: 1})); err != nil {
		t.Fatal(err)
	}
	x := b.SelfIntersections()
	flat := 0
	for _, c := range x {
		if !c.Touch {
			flat++
		}
	}
	if flat == 0 {
		t.Error("two bricks against each other: their common face was not found")
	}
}

func TestDeviationOfSphere(t *testing.T) {
	// A torus of n × k facets deviates from the true one by r(1−cos π/k)
	// across the tube and (R+r)(1−cos π/n) along the outer rim, to first order.
	R, r, n, k := 10.0, 3.0, 400, 40
	ring, err := sdf.Circle2D(r)
	if err != nil {
		t.Fatal(err)
	}
	f, err := sdf.Revolve3D(sdf.Transform2D(ring, sdf.Translate2d(sdf.V2{X: R})))
	if err != nil {
		t.Fatal(err)
	}
	d, err := MeasureDeviation(torus(R, r, n, k), f, 100000)
	if err != nil {
		t.Fatal(err)
	}
	want := r*(1-math.Cos(math.Pi/float64(k))) + (R+r)*(1-math.Cos(math.Pi/float64(n)))
	if d.Max > want*1.001 || d.Max < 0.9*want || d.Samples < 100000 || d.RMS >= d.Max {
		t.Errorf("deviation %+v, want about %g", d, want)
	}
	if _, err := MeasureDeviation(torus(R, r, 8, 8), nanField{f}, 0); err == nil {
		t.Error("a NaN field was accepted")
	}
}

// nanField is NaN for x > 5.
type nanField struct{ sdf.SDF3 }

func (f nanField) Evaluate(p sdf.V3) float64 {
	if p.X > 5 {
		return math.NaN()
	}
	return f.SDF3.Evaluate(p)
}

func BenchmarkSelfIntersections(b *testing.B) {
	m := torus(10, 3, 500, 200)
	for b.Loop() {
		if len(m.SelfIntersections()) > 0 {
			b.Fatal("crossing")
		}
	}
	b.ReportMetric(float64(len(m.Triangles)), "tris")
}
