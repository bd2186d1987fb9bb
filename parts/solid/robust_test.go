package solid

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/mesh/exact"
	"tuckfinger/parts/profile"
)

// Bodies beside each other whose outlines touch, or nearly, have no face in common
// that would give them common vertices: a corner on a wall or an arc, a corner so
// near an arc that chords with ends outside it would cross it, a disc on a wall.
func TestBodiesBesideEachOtherStayApart(t *testing.T) {
	reg := must[profile.Region](t)
	box := reg(profile.Rect(v2(0, 0), v2(8, 10), 1))
	disc := reg(profile.Circle(v2(4, 5), 4, 1))
	wedge := func(tip r2.Vec) profile.Region {
		return reg(profile.Polygon([]r2.Vec{tip, v2(12, 4), v2(12, 9)}, 2))
	}
	off := func(gap float64) profile.Region {
		s, c := math.Sincos(0.339)
		return wedge(v2(4+(4+gap)*c, 5+(4+gap)*s))
	}
	for name, c := range map[string]struct{ a, b profile.Region }{
		"corner on a wall":       {box, wedge(v2(8, 6))},
		"corner on an arc":       {disc, off(0)},
		"corner 1 µm off an arc": {disc, off(1e-3)},
		"corner 5 µm off an arc": {disc, off(5e-3)},
		"disc on a wall":         {box, reg(profile.Circle(v2(10, 5), 2, 2))},
	} {
		for _, chamfer := range []float64{0, 0.4} {
			a := Slab{Z0: 0, Z1: 5, Region: c.a, ChamferBottom: chamfer, ChamferTop: chamfer}
			b := Slab{Z0: 2, Z1: 3.5, Region: c.b}
			high := Slab{Z0: 3.5, Z1: 8, Region: c.b, ChamferTop: chamfer}
			for _, slabs := range [][]Slab{{a, b}, {a, b, high}, {a, high}} {
				l := must[*Layered](t)(NewLayered(slabs...))
				m, _, err := l.Mesh(0.01)
				if err != nil {
					t.Errorf("%s: %v", name, err)
					continue
				}
				if x := m.SelfIntersections(); len(x) > 0 {
					t.Errorf("%s, chamfer %g, %d slabs: %v", name, chamfer, len(slabs), x[0])
				}
				v := must[float64](t)(l.Volume())
				near(t, name, m.Volume(), v, 5e-4*v)
			}
		}
	}
}

// A hip roof whose ridge is so short that one point does for it: heights are wrong
// by less than the deviation, and right in the middle of every edge. The stated
// bias is the volume's against that of the roof, b²(a−b)/4 + b³/6 for a × b mm.
func TestBiasOfAShortRidge(t *testing.T) {
	const a, b, wall = 12.02, 12., 8.
	l := must[*Layered](t)(NewLayered(Slab{
		Z0: 0, Z1: wall + 7, Region: must[profile.Region](t)(profile.Rect(v2(0, 0), v2(a, b), 1)), ChamferTop: 7,
	}))
	m, rep, err := l.Mesh(0.01)
	if err != nil {
		t.Fatal(err)
	}
	bias := m.Volume() - (a*b*wall + b*b*(a-b)/4 + b*b*b/6)
	if math.Abs(bias) < 0.1 {
		t.Errorf("the mesh is off by %g mm³, which tests nothing", bias)
	}
	near(t, "stated bias", rep.Bias, bias, 0.05*math.Abs(bias))
}

// The tip of a cone, at whose foot the outline ends in its own centre.
func TestFieldAtTheTipOfACone(t *testing.T) {
	const r = 2.8409603196705286
	l := must[*Layered](t)(NewLayered(Slab{
		Z0: 0, Z1: 3, Region: must[profile.Region](t)(profile.Circle(v2(-7.8, 2.4), r, 1)), ChamferTop: 3,
	}))
	for _, way := range []float64{0, 1e-12, 1e-10, 1.7e-9, 1e-8, 1e-6, 1e-3} {
		for _, up := range []float64{0, 1e-9, 1e-3} {
			got := l.Evaluate(sdf.V3{X: -7.8 + way, Y: 2.4, Z: r + up})
			// Over the slope, or where the tip is nearer.
			want := (way + up) / math.Sqrt2
			if way < up {
				want = math.Hypot(way, up)
			}
			near(t, "distance", got, want, 1e-9)
		}
	}
}

// Points taken out leave a triangulation of the rest.
func TestPointsTakenOut(t *testing.T) {
	for seed := range uint64(20) {
		rng := rand.New(rand.NewPCG(seed, 5))
		pts := []r2.Vec{v2(0, 0), v2(10, 0), v2(10, 10), v2(0, 10)}
		p := must[*plane](t)(newPlane(pts, []int32{0, 1, 2, 3}))
		for k := range int32(4) {
			if err := p.constrain(k, (k+1)%4, 0); err != nil {
				t.Fatal(err)
			}
		}
		p.label()
		var added []int32
		for range 60 {
			// On a grid, so that many lie on lines between others.
			q := v2(float64(1+rng.IntN(9)), float64(1+rng.IntN(9)))
			if tr := &p.tri[must2(p.locate(q))]; p.at[tr.v[0]] != q && p.at[tr.v[1]] != q && p.at[tr.v[2]] != q {
				added = append(added, must[int32](t)(p.add(q)))
			}
		}
		left := len(added)
		for _, v := range added {
			before := len(p.star(v))
			if fresh := p.remove(v); fresh == nil {
				continue
			} else if len(fresh) != before-2 {
				t.Errorf("seed %d: %d triangles in the place of %d", seed, len(fresh), before)
			}
			left--
		}
		area, n := 0.0, 0
		for i := range p.tri {
			tr := &p.tri[i]
			if tr.wind[0] < 1 {
				continue
			}
			o := exact.Orient2(p.at[tr.v[0]], p.at[tr.v[1]], p.at[tr.v[2]])
			if o <= 0 {
				t.Errorf("seed %d: triangle %v is turned over", seed, tr.v)
			}
			area, n = area+o/2, n+1
			for k, u := range tr.n {
				if w := &p.tri[u]; w.v[succ[w.beyond(int32(i))]] != tr.v[pred[k]] {
					t.Errorf("seed %d: triangles %v and %v are no neighbours", seed, tr.v, w.v)
				}
			}
		}
		near(t, "area", area, 100, 1e-9)
		// Euler: two triangles for the square and two for every point in it.
		if n != 2+2*left || left > len(added)/4 {
			t.Errorf("seed %d: %d triangles, %d of %d points are left", seed, n, left, len(added))
		}
	}
}

// Points computed to lie on edges are beside them by rounding; they divide them all the
// same, and leave no sliver between, also with more points in the same line.
func TestPointsOnEdgesDivideThem(t *testing.T) {
	for seed := range uint64(50) {
		rng := rand.New(rand.NewPCG(seed, 6))
		m := profile.Rigid(6*rng.Float64(), v2(rng.Float64(), rng.Float64()))
		var pts []r2.Vec
		for _, q := range []r2.Vec{v2(0, 0), v2(10, 0), v2(5, 8), v2(5, -8)} {
			pts = append(pts, m.Apply(q))
		}
		p := must[*plane](t)(newPlane(pts, []int32{0, 1, 2, 3}))
		if err := p.constrain(0, 1, -1); err != nil { // kept for its height
			t.Fatal(err)
		}
		ends := []int32{0, 1}
		for range 12 {
			k := rng.IntN(len(ends) - 1)
			f := 0.2 + 0.6*rng.Float64()
			q := r2.Add(r2.Scale(1-f, p.at[ends[k]]), r2.Scale(f, p.at[ends[k+1]]))
			ends = slices.Insert(ends, k+1, must[int32](t)(p.add(q)))
		}
		for k, a := range ends[1:] {
			if _, e := p.edge(ends[k], a); e < 0 {
				t.Errorf("seed %d: no edge from point %d to %d in the line", seed, ends[k], a)
			}
		}
		for i := range p.tri {
			v := p.tri[i].v
			if h := height(p.at[v[0]], p.at[v[1]], p.at[v[2]]); h < 1e-6 {
				t.Errorf("seed %d: triangle %v is %g mm high", seed, v, h)
			}
		}
	}
}

func must2[T, U any](x T, _ U) T { return x }
