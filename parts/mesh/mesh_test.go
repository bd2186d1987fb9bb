package mesh

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// brick returns the closed box from lo to hi.
func brick(lo, hi r3.Vec) *Mesh {
	m := &Mesh{}
	for i := range 8 {
		p := lo
		if i&1 != 0 {
			p.X = hi.X
		}
		if i&2 != 0 {
			p.Y = hi.Y
		}
		if i&4 != 0 {
			p.Z = hi.Z
		}
		m.Vertices = append(m.Vertices, p)
	}
	for _, q := range [][4]int32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.Triangles = append(m.Triangles, [3]int32{q[0], q[1], q[2]}, [3]int32{q[0], q[2], q[3]})
	}
	return m
}

// torus returns a faceted torus about z, ring radius R, tube radius r.
func torus(R, r float64, n, k int) *Mesh {
	m := &Mesh{}
	for i := range n {
		su, cu := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		for j := range k {
			sv, cv := math.Sincos(2 * math.Pi * float64(j) / float64(k))
			m.Vertices = append(m.Vertices, r3.Vec{X: (R + r*cv) * cu, Y: (R + r*cv) * su, Z: r * sv})
		}
	}
	at := func(i, j int) int32 { return int32(i%n*k + j%k) }
	for i := range n {
		for j := range k {
			a, b, c, d := at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)
			m.Triangles = append(m.Triangles, [3]int32{a, b, c}, [3]int32{a, c, d})
		}
	}
	return m
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.12g, want %.12g ± %.3g", what, got, want, tol)
	}
}

func TestBrickMass(t *testing.T) {
	// Closed form of the solid cuboid: I = m(b²+c²)/12 about its centre.
	lo, hi := r3.Vec{X: 100, Y: -7, Z: 3}, r3.Vec{X: 103, Y: 1, Z: 8.5}
	m := brick(lo, hi)
	if err := m.Validate(); err != nil {
		t.Fatal(err)
	}
	a, b, c := 3.0, 8.0, 5.5
	v := a * b * c
	g := m.Mass()
	near(t, "volume", g.Volume, v, 1e-12*v)
	near(t, "Volume()", m.Volume(), v, 1e-12*v)
	near(t, "area", g.Area, 2*(a*b+b*c+c*a), 1e-11)
	near(t, "Area()", m.Area(), g.Area, 1e-11)
	near(t, "centroid x", g.Centroid.X, 101.5, 1e-12)
	near(t, "centroid y", g.Centroid.Y, -3, 1e-12)
	near(t, "centroid z", g.Centroid.Z, 5.75, 1e-12)
	near(t, "Ixx", g.Inertia.At(0, 0), v*(b*b+c*c)/12, 1e-9)
	near(t, "Iyy", g.Inertia.At(1, 1), v*(a*a+c*c)/12, 1e-9)
	near(t, "Izz", g.Inertia.At(2, 2), v*(a*a+b*b)/12, 1e-9)
	near(t, "Ixy", g.Inertia.At(0, 1), 0, 1e-9)

	// Turning the body turns the tensor: I' = R I Rᵀ.
	rot := r3.NewRotation(0.7, r3.Vec{X: 1, Y: 2, Z: -0.5}).Mat()
	turned, err := m.Transform(rot, r3.Vec{X: 5, Y: 6, Z: 7})
	if err != nil {
		t.Fatal(err)
	}
	want := r3.NewMat(nil)
	want.Mul(rot, g.Inertia)
	full := r3.NewMat(nil)
	full.Mul(want, rot.T())
	for i := range 3 {
		for j := range 3 {
			near(t, "turned inertia", turned.Inertia().At(i, j), full.At(i, j), 1e-9)
		}
	}
	h, _ := m.MinHeight()
	near(t, "height", h, 3*5.5/math.Hypot(3, 5.5), 1e-12)
}

func TestTetrahedronInertia(t *testing.T) {
	// The corner tetrahedron of side a has ∫x² dV = a⁵/60 and ∫xy dV = a⁵/120
	// (Dirichlet's integral 2!/5! and 1/5!); shifted to its centroid a/4.
	a := 2.0
	m := &Mesh{
		Vertices:  []r3.Vec{{}, {X: a}, {Y: a}, {Z: a}},
		Triangles: [][3]int32{{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}},
	}
	if err := m.Validate(); err != nil {
		t.Fatal(err)
	}
	v, a5 := a*a*a/6, math.Pow(a, 5)
	near(t, "Ixx", m.Inertia().At(0, 0), 2*(a5/60-v*a*a/16), 1e-12)
	near(t, "Ixy", m.Inertia().At(0, 1), -(a5/120 - v*a*a/16), 1e-12)
	near(t, "centroid", m.Centroid().Y, a/4, 1e-14)
}

func TestTorusMassAndGenus(t *testing.T) {
	R, r := 10.0, 3.0
	m := torus(R, r, 720, 360)
	if err := m.Validate(); err != nil {
		t.Fatal(err)
	}
	// Pappus: V = 2π²Rr², A = 4π²Rr; solid torus Izz = m(R² + 3r²/4),
	// Ixx = m(R²/2 + 5r²/8) (standard tables, from memory).
	v := 2 * math.Pi * math.Pi * R * r * r
	g := m.Mass()
	near(t, "volume", g.Volume, v, 2e-4*v)
	near(t, "area", g.Area, 4*math.Pi*math.Pi*R*r, 0.1)
	near(t, "Izz", g.Inertia.At(2, 2)/(v*(R*R+0.75*r*r)), 1, 3e-4)
	near(t, "Ixx", g.Inertia.At(0, 0)/(v*(R*R/2+5*r*r/8)), 1, 3e-4)
	top, err := m.Topology()
	if err != nil {
		t.Fatal(err)
	}
	if top.Genus != 1 || top.Euler != 0 || top.Components != 1 || len(top.Pinched) != 0 {
		t.Errorf("torus topology %+v", top)
	}
}

func TestValidateNamesFaults(t *testing.T) {
	lo, hi := r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1}
	cases := []struct {
		name  string
		spoil func(*Mesh)
		kinds []FaultKind
		tri   int
	}{
		{"empty", func(m *Mesh) { *m = Mesh{} }, []FaultKind{FaultEmpty}, -1},
		{"index", func(m *Mesh) { m.Triangles[4][1] = 8 }, []FaultKind{FaultIndex}, 4},
		{"NaN", func(m *Mesh) { m.Vertices[3].Y = math.NaN() }, []FaultKind{FaultNotFinite}, -1},
		{"unused", func(m *Mesh) { m.Vertices = append(m.Vertices, hi) }, []FaultKind{FaultUnused}, -1},
		{"hole", func(m *Mesh) { m.Triangles = m.Triangles[:11] }, []FaultKind{FaultOpen}, 2},
		{"flipped", func(m *Mesh) { t := &m.Triangles[6]; t[0], t[1] = t[1], t[0] }, []FaultKind{FaultOrientation}, 3},
		{"repeated", func(m *Mesh) { m.Triangles = append(m.Triangles, m.Triangles[2]) }, []FaultKind{FaultOvershared}, 2},
		{"flat", func(m *Mesh) { m.Vertices[1] = m.Vertices[0] }, []FaultKind{FaultDegenerate}, 1},
		{"inside out", func(m *Mesh) {
			for i := range m.Triangles {
				t := &m.Triangles[i]
				t[0], t[1] = t[1], t[0]
			}
		}, []FaultKind{FaultVolume}, -1},
		{"two sides of nothing", func(m *Mesh) {
			m.Triangles = append(m.Triangles, [3]int32{8, 9, 10}, [3]int32{8, 10, 9})
			m.Vertices = append(m.Vertices, r3.Vec{X: 5}, r3.Vec{X: 6}, r3.Vec{X: 5, Y: 1})
		}, []FaultKind{FaultDuplicate}, 13},
	}
	for _, c := range cases {
		m := brick(lo, hi)
		c.spoil(m)
		var bad Invalid
		if !errors.As(m.Validate(), &bad) {
			t.Errorf("%s: accepted", c.name)
			continue
		}
		var kinds []FaultKind
		for _, f := range bad {
			kinds = append(kinds, f.Kind)
		}
		if len(kinds) != len(c.kinds) || kinds[0] != c.kinds[0] || bad[0].Triangle != c.tri {
			t.Errorf("%s: %v (triangle %d), want %v (triangle %d)", c.name, bad, bad[0].Triangle, c.kinds, c.tri)
		}
	}
	m := brick(lo, hi)
	m.Triangles = m.Triangles[:11]
	const want = "mesh: open edge: triangle 2, edge 5–7 at (1, 0.5, 1) mm (3 in all)"
	if got := m.Validate().Error(); got != want {
		t.Errorf("message %q, want %q", got, want)
	}
}

func TestTransformMirrorsAndRefuses(t *testing.T) {
	m := brick(r3.Vec{}, r3.Vec{X: 1, Y: 2, Z: 3})
	mirror := r3.NewMat([]float64{-1, 0, 0, 0, 1, 0, 0, 0, 1})
	o, err := m.Transform(mirror, r3.Vec{})
	if err != nil || o.Validate() != nil {
		t.Fatal(err, o.Validate())
	}
	if b := o.Box(); b.Min.X != -1 || b.Max.X != 0 {
		t.Errorf("box %v", b)
	}
	if _, err := m.Transform(r3.NewMat(make([]float64, 9)), r3.Vec{}); err == nil {
		t.Error("a singular transform was accepted")
	}
	if _, err := m.Transform(mirror, r3.Vec{X: math.NaN()}); err == nil {
		t.Error("a NaN shift was accepted")
	}
}

func TestAppendWeldAndPinch(t *testing.T) {
	m := brick(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})
	o := brick(r3.Vec{X: 1, Y: 1, Z: 1}, r3.Vec{X: 2, Y: 2, Z: 2})
	if err := m.Append(o); err != nil {
		t.Fatal(err)
	}
	top, err := m.Topology()
	if err != nil || top.Components != 2 || len(top.Pinched) != 0 || top.Genus != 0 {
		t.Fatalf("%+v %v", top, err)
	}
	// Vertex 7 of the first brick and 0 of the second are the same corner.
	into := make([]int32, 16)
	for i := range into {
		into[i] = int32(i)
	}
	into[8] = 7
	w, err := m.Weld(into)
	if err != nil || w.Validate() != nil || len(w.Vertices) != 15 {
		t.Fatal(err, w.Validate(), len(w.Vertices))
	}
	top, err = w.Topology()
	if err != nil || len(top.Pinched) != 1 || top.Pinched[0] != 7 || top.Genus != 0 || top.Components != 2 {
		t.Errorf("pinch: %+v %v", top, err)
	}
	into[8] = 3
	into[3] = 2
	if _, err := m.Weld(into); err == nil {
		t.Error("a weld to a vertex that is not kept was accepted")
	}
}
