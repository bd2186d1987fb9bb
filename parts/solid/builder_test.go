package solid

import (
	"bytes"
	"math"
	"testing"

	"github.com/deadsy/sdfx/sdf"
	"github.com/hschendel/stl"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
	"tuckfinger/parts/profile"
)

// bossed is a plate with a boss on it and a hole through both.
func bossed(t testing.TB, hole float64) *Builder {
	reg := must[profile.Region](t)
	b := NewBuilder()
	for _, err := range []error{
		b.Add(reg(profile.Rect(v2(0, 0), v2(30, 14), 1)), 0, 4),
		b.Add(reg(profile.Circle(v2(8, 7), 4, 2)), 4, 7),
		b.Cut(reg(profile.Circle(v2(8, 7), hole, 3)), -1, 8),
		b.Cut(reg(profile.Circle(v2(22, 7), 2, 4)), -1, 8),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	return b
}

func TestChamfersGoToFreeEdges(t *testing.T) {
	l := must[*Layered](t)(bossed(t, 1.5).Build(0.4, 0.5))
	s := l.Slabs()
	if len(s) != 2 {
		t.Fatalf("%d slabs", len(s))
	}
	plate, boss := s[0], s[1]
	if plate.ChamferBottom != 0.4 || plate.ChamferTop != 0.5 || len(plate.SharpTop) != 1 {
		t.Errorf("plate: bottom %g, top %g, %d sharp holes; want 0.4, 0.5 and the boss's hole", plate.ChamferBottom, plate.ChamferTop, len(plate.SharpTop))
	}
	if boss.ChamferBottom != 0 || boss.ChamferTop != 0.5 || len(boss.SharpTop) != 0 {
		t.Errorf("boss: bottom %g, top %g", boss.ChamferBottom, boss.ChamferTop)
	}
	// The free hole is widened at the plate's top, the boss's hole is not.
	for _, c := range []struct {
		x, y, z float64
		in      bool
	}{
		{22, 9.3, 3.9, false}, {22, 9.3, 3.4, true}, {8, 8.6, 3.95, true}, {8, 8.6, 6.95, false}, {8, 8.6, 0.1, false},
		{0.2, 7, 3.9, false}, {0.2, 7, 3.4, true}, {8, 10.9, 4.05, true},
	} {
		if got := l.Evaluate(sdf.V3{X: c.x, Y: c.y, Z: c.z}) < 0; got != c.in {
			t.Errorf("inside is %v at (%g, %g, %g)", got, c.x, c.y, c.z)
		}
	}
	m, _, err := l.Mesh(0.01)
	if err != nil {
		t.Fatal(err)
	}
	mass := must[mesh.Mass](t)(l.Mass())
	near(t, "mesh volume", m.Volume(), mass.Volume, 5e-4*mass.Volume)
	near(t, "mesh surface", m.Area(), mass.Area, 1e-3*mass.Area)
	if x := m.SelfIntersections(); len(x) > 0 {
		t.Errorf("%d self-intersections: %v", len(x), x[0])
	}
	if top, err := m.Topology(); err != nil || top.Genus != 2 || top.Components != 1 {
		t.Errorf("topology %+v %v, want two through holes", top, err)
	}
}

// A boss flush with the plate's edge covers half an edge: that face stays sharp.
func TestCoveredEdgeStaysSharp(t *testing.T) {
	reg := must[profile.Region](t)
	b := NewBuilder()
	for _, err := range []error{
		b.Add(reg(profile.Rect(v2(0, 0), v2(30, 14), 1)), 0, 4),
		b.Add(reg(profile.Rect(v2(0, 0), v2(8, 14), 2)), 4, 7),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	s := must[*Layered](t)(b.Build(0, 0.5)).Slabs()
	if len(s) != 2 || s[0].ChamferTop != 0 || s[1].ChamferTop != 0.5 {
		t.Errorf("slabs %+v", s)
	}
}

// Equal neighbours become one slab, whatever the order of the steps.
func TestLayersAreCanonical(t *testing.T) {
	reg := must[profile.Region](t)
	plate := reg(profile.Rect(v2(0, 0), v2(10, 10), 1))
	a, b := NewBuilder(), NewBuilder()
	for _, err := range []error{
		a.Add(plate, 0, 2), a.Add(plate, 2, 5), a.Add(plate, 4, 6),
		b.Add(plate, 0, 6),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	la, lb := must[*Layered](t)(a.Build(0, 0)), must[*Layered](t)(b.Build(0, 0))
	if len(la.Slabs()) != 1 || len(lb.Slabs()) != 1 || !sameRegion(la.Slabs()[0].Region, lb.Slabs()[0].Region) {
		t.Errorf("%+v and %+v", la.Slabs(), lb.Slabs())
	}
	if m, _, err := la.Mesh(0.01); err != nil || len(m.Triangles) != 12 {
		t.Errorf("a box has %d triangles, %v", len(m.Triangles), err)
	}
}

func TestBadSlabs(t *testing.T) {
	reg := must[profile.Region](t)
	plate := reg(profile.Rect(v2(0, 0), v2(10, 10), 1))
	hole := reg(profile.Circle(v2(5, 5), 2, 1))
	holed := reg(profile.Subtract(plate, hole))
	for name, s := range map[string][]Slab{
		"no height":                 {{Z0: 1, Z1: 1, Region: plate}},
		"upside down":               {{Z0: 2, Z1: 1, Region: plate}},
		"NaN":                       {{Z0: math.NaN(), Z1: 1, Region: plate}},
		"negative chamfer":          {{Z0: 0, Z1: 1, Region: plate, ChamferTop: -0.1}},
		"overlap":                   {{Z0: 0, Z1: 2, Region: plate}, {Z0: 1, Z1: 3, Region: hole}},
		"sharp hole missing":        {{Z0: 0, Z1: 2, Region: plate, ChamferTop: 0.5, SharpTop: hole}},
		"sharp hole at edge":        {{Z0: 0, Z1: 4, Region: holed, ChamferTop: 3.5, SharpTop: hole}},
		"sharp hole, chamfers meet": {{Z0: 0, Z1: 1, Region: holed, ChamferTop: 0.8, ChamferBottom: 0.8, SharpTop: hole}},
	} {
		if _, err := NewLayered(s...); err == nil {
			t.Errorf("%s was accepted", name)
		}
	}
	b := NewBuilder()
	if err := b.Add(plate, 3, 2); err == nil {
		t.Error("a layer upside down was accepted")
	}
	if _, err := b.Build(-1, 0); err == nil {
		t.Error("a negative chamfer was accepted")
	}
	l := must[*Layered](t)(NewLayered(Slab{Z0: 0, Z1: 1, Region: plate}))
	for _, dev := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, _, err := l.Mesh(dev); err == nil {
			t.Errorf("deviation %g was accepted", dev)
		}
	}
}

// Turning over twice is the identity, and mirrors z and x once.
func TestFlip(t *testing.T) {
	l := must[*Layered](t)(bossed(t, 1.5).Build(0.4, 0.5))
	f := l.Flip().Lift(7)
	back := f.Flip().Lift(7)
	for _, p := range []sdf.V3{{X: 8, Y: 7, Z: 1}, {X: 20, Y: 1, Z: 3.8}, {X: -3, Y: 5, Z: 9}, {X: 8, Y: 10.5, Z: 6.8}, {X: 1, Y: 1, Z: 1}} {
		want := l.Evaluate(p)
		near(t, "flipped field", f.Evaluate(sdf.V3{X: -p.X, Y: p.Y, Z: 7 - p.Z}), want, 1e-9)
		near(t, "field flipped back", back.Evaluate(p), want, 1e-9)
	}
	v := must[float64](t)(l.Volume())
	near(t, "flipped volume", must[float64](t)(f.Volume()), v, 1e-9*v)
	m, _, err := f.Mesh(0.01)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "flipped mesh volume", m.Volume(), v, 5e-4*v)
	lo, hi := f.ZRange()
	near(t, "foot", lo, 0, 1e-12)
	near(t, "head", hi, 7, 1e-12)
}

// What another library reads from the mesh as binary STL has the same triangles
// and, in single precision, the same volume.
func TestMeshSurvivesSTL(t *testing.T) {
	l := must[*Layered](t)(NewLayered(Slab{Z0: 0, Z1: 4, Region: link(t), ChamferBottom: 0.4, ChamferTop: 0.4}))
	m, _, err := l.Mesh(0.01)
	if err != nil {
		t.Fatal(err)
	}
	s := stl.Solid{}
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		v := func(p r3.Vec) stl.Vec3 { return stl.Vec3{float32(p.X), float32(p.Y), float32(p.Z)} }
		s.Triangles = append(s.Triangles, stl.Triangle{Vertices: [3]stl.Vec3{v(a), v(b), v(c)}})
	}
	s.RecalculateNormals()
	var buf bytes.Buffer
	if err := s.WriteAll(&buf); err != nil {
		t.Fatal(err)
	}
	back, err := stl.ReadAll(bytes.NewReader(buf.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	// Joined by equal single-precision coordinates it is still closed.
	w := &mesh.Mesh{}
	at := map[stl.Vec3]int32{}
	for _, t := range back.Triangles {
		var k [3]int32
		for i, p := range t.Vertices {
			id, ok := at[p]
			if !ok {
				id = int32(len(w.Vertices))
				at[p] = id
				w.Vertices = append(w.Vertices, r3.Vec{X: float64(p[0]), Y: float64(p[1]), Z: float64(p[2])})
			}
			k[i] = id
		}
		w.Triangles = append(w.Triangles, k)
	}
	if err := w.Validate(); err != nil {
		t.Error(err)
	}
	if len(w.Triangles) != len(m.Triangles) || len(w.Vertices) != len(m.Vertices) {
		t.Errorf("%d triangles and %d vertices became %d and %d", len(m.Triangles), len(m.Vertices), len(w.Triangles), len(w.Vertices))
	}
	near(t, "volume", w.Volume(), m.Volume(), 1e-5*m.Volume())
}

// A body drawn in the x–z plane: the field and the mesh move alike.
func TestPlaneXZ(t *testing.T) {
	l := must[*Layered](t)(bossed(t, 1.5).Build(0, 0))
	s := must[Solid](t)(Turned(l, PlaneXZ(), r3.Vec{X: 1, Y: 2, Z: 3}))
	// Drawn (x, y, z) is finger (x, z, −y).
	near(t, "field", s.Evaluate(sdf.V3{X: 20 + 1, Y: 1 + 2, Z: -3 + 3}), l.Evaluate(sdf.V3{X: 20, Y: 3, Z: 1}), 1e-12)
	m, _, err := s.Mesh(0.01)
	if err != nil {
		t.Fatal(err)
	}
	if err := m.Validate(); err != nil {
		t.Error(err)
	}
	b := s.BoundingBox()
	want := sdf.Box3{Min: sdf.V3{X: 1, Y: 2, Z: -11}, Max: sdf.V3{X: 31, Y: 9, Z: 3}}
	if b != want || r3.Norm(r3.Sub(m.Box().Min, r3.Vec(want.Min))) > 1e-9 {
		t.Errorf("box %v, of the mesh %v, want %v", b, m.Box(), want)
	}
	d, err := mesh.MeasureDeviation(m, s, 1000)
	if err != nil || d.Max > 0.01 {
		t.Errorf("deviation %+v, %v", d, err)
	}
	mirror := r3.NewMat([]float64{-1, 0, 0, 0, 1, 0, 0, 0, 1})
	skew := r3.NewMat([]float64{1, 0.1, 0, 0, 1, 0, 0, 0, 1})
	for name, a := range map[string]*r3.Mat{"mirror": mirror, "skew": skew} {
		if _, err := Turned(l, a, r3.Vec{}); err == nil {
			t.Errorf("%s was accepted", name)
		}
	}
}
