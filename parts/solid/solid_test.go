package solid

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/mesh"
	"tuckfinger/parts/profile"
)

func v2(x, y float64) r2.Vec { return r2.Vec{X: x, Y: y} }

func must[T any](t testing.TB) func(T, error) T {
	return func(x T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
}

// link returns the outline of the link that the measurements were made
// on: a plate of 80 × 16 mm with two 3.2 mm holes, a slot of 22 mm with a ramp
// of 45° and 15°, the relief slit that frees its rail, and a snap arm of
// 12 × 1.4 mm.
func link(t testing.TB) profile.Region {
	reg := must[profile.Region](t)
	plate := reg(profile.Bar(v2(8, 0), v2(72, 0), 16, 1))
	h1 := reg(profile.Circle(v2(8, 0), 1.6, 2))
	h2 := reg(profile.Circle(v2(72, 0), 1.6, 2))
	slot := reg(profile.Bar(v2(26, 0), v2(48, 0), 3.4, 3))
	ramp := reg(profile.Polygon([]r2.Vec{v2(34, 1.8), v2(38.1, 0.7), v2(39.2, 1.8)}, 4))
	slot = reg(profile.Subtract(slot, ramp))
	slot = reg(profile.Round(slot, 0, 0.3))
	slit := reg(profile.Bar(v2(28, 3.7), v2(46, 3.7), 0.8, 5))
	pocket := reg(profile.Rect(v2(54, 2), v2(68.2, 8.5), 6))
	arm := reg(profile.Rect(v2(55, 5.2), v2(67.5, 6.6), 7))
	hook := reg(profile.Polygon([]r2.Vec{v2(55, 6.4), v2(58.2, 6.5), v2(55.9, 7.5), v2(55, 7.5)}, 8))
	root := reg(profile.Rect(v2(67, 4), v2(69, 7), 7))
	armAll := reg(profile.UnionAll(arm, hook, root))
	pocket = reg(profile.Subtract(pocket, armAll))
	r := reg(profile.Subtract(plate, h1, h2, slot, slit, pocket))
	return r
}

// The link's mesh: few triangles, all within 0.01 mm of the field, its volume and
// its four through holes (pins, slot and slit).
func TestLinkMesh(t *testing.T) {
	l := must[*Layered](t)(NewLayered(Slab{Z0: 0, Z1: 4, Region: link(t), ChamferBottom: 0.4, ChamferTop: 0.4}))
	m, rep, err := l.Mesh(0.01)
	if err != nil {
		t.Fatal(err)
	}
	if err := m.Validate(); err != nil {
		t.Error(err)
	}
	if x := m.SelfIntersections(); len(x) > 0 {
		t.Errorf("%d self-intersections: %v", len(x), x[0])
	}
	d, err := mesh.MeasureDeviation(m, l, 20000)
	if err != nil || d.Max > 0.01 || rep.Deviation > 0.01 {
		t.Errorf("deviation %+v, stated %g mm, %v", d, rep.Deviation, err)
	}
	if rep.Triangles > 1500 || rep.Triangles != len(m.Triangles) || rep.MinHeight < 1e-3 {
		t.Errorf("report %+v", rep)
	}
	if top, err := m.Topology(); err != nil || top.Components != 1 || top.Genus != 4 {
		t.Errorf("topology %+v, %v", top, err)
	}
	v := must[float64](t)(l.Volume())
	near(t, "mesh volume", m.Volume(), v, 5e-4*v)
}

func BenchmarkLink(b *testing.B) {
	r := link(b)
	l := must[*Layered](b)(NewLayered(Slab{Z0: 0, Z1: 4, Region: r, ChamferBottom: 0.4, ChamferTop: 0.4}))
	b.Run("mesh", func(b *testing.B) {
		for b.Loop() {
			l.Mesh(0.01)
		}
	})
	b.Run("new", func(b *testing.B) {
		for b.Loop() {
			NewLayered(Slab{Z0: 0, Z1: 4, Region: r, ChamferBottom: 0.4, ChamferTop: 0.4})
		}
	})
}
