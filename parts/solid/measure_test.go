package solid

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/profile"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.12g, want %.12g ± %g", what, got, want, tol)
	}
}

// A stadium plate with two holes: elementary formulas for rectangle, half disc
// and disc (half disc: centroid 4r/3π, second moments πr⁴/8 about the diameter).
func TestStadiumMass(t *testing.T) {
	const a, r, h, hole = 32.0, 8.0, 4.0, 1.6 // half distance of centres, radius, height, hole radius
	plate := must[profile.Region](t)(profile.Bar(v2(-a, 0), v2(a, 0), 2*r, 1))
	for _, x := range []float64{-a, a} {
		c := must[profile.Region](t)(profile.Circle(v2(x, 0), hole, 2))
		plate = must[profile.Region](t)(profile.Subtract(plate, c))
	}
	l := must[*Layered](t)(NewLayered(Slab{Z0: 1, Z1: 1 + h, Region: plate}))
	m, err := l.Mass()
	if err != nil {
		t.Fatal(err)
	}
	area := 4*a*r + math.Pi*r*r - 2*math.Pi*hole*hole
	near(t, "volume", m.Volume, area*h, 1e-9*area*h)
	near(t, "surface", m.Area, 2*area+h*(4*a+2*math.Pi*r+4*math.Pi*hole), 1e-9*m.Area)
	near(t, "centroid z", m.Centroid.Z, 1+h/2, 1e-12)
	// ∫y² and ∫x² over the plate.
	yy := 2*a*math.Pow(2*r, 3)/12 + math.Pi*math.Pow(r, 4)/4 - 2*math.Pi*math.Pow(hole, 4)/4
	half := math.Pi * r * r / 2
	e := 4 * r / (3 * math.Pi)
	own := math.Pi*math.Pow(r, 4)/8 - half*e*e
	xx := 2*r*math.Pow(2*a, 3)/12 + 2*(own+half*(a+e)*(a+e)) - 2*(math.Pi*math.Pow(hole, 4)/4+math.Pi*hole*hole*a*a)
	zz := area * h * h * h / 12
	near(t, "Ixx", m.Inertia.At(0, 0), yy*h+zz, 1e-9*m.Inertia.At(0, 0))
	near(t, "Iyy", m.Inertia.At(1, 1), xx*h+zz, 1e-9*m.Inertia.At(1, 1))
	near(t, "Izz", m.Inertia.At(2, 2), (xx+yy)*h, 1e-9*m.Inertia.At(2, 2))

	mm, _, err := l.Mesh(0.001)
	if err != nil {
		t.Fatal(err)
	}
	mass := mm.Mass()
	near(t, "mesh volume", mass.Volume, m.Volume, 1e-5*m.Volume)
	for i := range 3 {
		near(t, "mesh inertia", mass.Inertia.At(i, i), m.Inertia.At(i, i), 4e-5*m.Inertia.At(i, i))
	}
}

// A disc with a chamfer is a cylinder and the frustum of a cone; a square with
// one is a prism and the frustum of a pyramid: V = h/3·(A + √(AB) + B).
func TestChamferVolume(t *testing.T) {
	frustum := func(h, a, b float64) float64 { return h / 3 * (a + math.Sqrt(a*b) + b) }
	disc := must[profile.Region](t)(profile.Circle(v2(3, -2), 5, 1))
	sq := must[profile.Region](t)(profile.Rect(v2(0, 0), v2(10, 10), 1))
	for _, c := range []struct {
		name        string
		r           profile.Region
		cb, ct      float64
		volume, tol float64
	}{
		{"disc, bottom 2", disc, 2, 0, 25*math.Pi*4 + frustum(2, 25*math.Pi, 9*math.Pi), 1e-9},
		{"disc to a point", disc, 0, 5, 25*math.Pi*1 + frustum(5, 25*math.Pi, 0), 1e-6},
		{"square, both 1", sq, 1, 1, 100*4 + 2*frustum(1, 100, 64), 1e-9},
		// Chamfers of 4 at both ends of a height of 6 leave 1 mm at mid height.
		{"square, chamfers meet", sq, 4, 4, 2 * frustum(3, 64, 4), 1e-6},
		// Beyond half the width: a pyramid of height 5 on a prism of height 1.
		{"square to a point", sq, 0, 6, 100.0 / 3 * 5 * math.Pow(1, 1), 1e-6},
	} {
		l, err := NewLayered(Slab{Z0: 0, Z1: 6, Region: c.r, ChamferBottom: c.cb, ChamferTop: c.ct})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		v, err := l.Volume()
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.name, v, c.volume, c.tol*c.volume)
		m, rep, err := l.Mesh(0.002)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if err := m.Validate(); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		near(t, c.name+", mesh", m.Volume(), c.volume, 5e-4*c.volume)
		mass, _ := l.Mass()
		near(t, c.name+", by Mass", mass.Volume, v, 1e-9*v)
		near(t, c.name+", mesh surface", m.Area(), mass.Area, 1e-3*mass.Area)
		if b := m.Box(); r3.Norm(r3.Sub(b.Max, l.Box().Max)) > 0.003 || r3.Norm(r3.Sub(b.Min, l.Box().Min)) > 0.003 {
			t.Errorf("%s: box %v, of the mesh %v", c.name, l.Box(), b)
		}
		t.Logf("%s: %d triangles, deviation %.4g", c.name, rep.Triangles, rep.Deviation)
	}
}

// A plate with a pocket, a boss over part of it and a cross hole of layers.
func TestColumnsAndVoids(t *testing.T) {
	reg := must[profile.Region](t)
	b := NewBuilder()
	for _, err := range []error{
		b.Add(reg(profile.Rect(v2(0, 0), v2(20, 10), 1)), 0, 6),
		b.Cut(reg(profile.Rect(v2(2, 2), v2(8, 8), 2)), 0.8, 6),   // pocket on a floor of 0.8
		b.Cut(reg(profile.Rect(v2(12, -1), v2(18, 11), 3)), 2, 5), // tunnel of 3 below a roof of 1
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	l := must[*Layered](t)(b.Build(0, 0))
	cs := must[[]Column](t)(l.Columns())
	if c, h := MinHeight(cs); math.Abs(h-0.8) > 1e-9 || math.Abs(c.Region.Area()-36) > 1e-9 {
		t.Errorf("thinnest column %g mm, %g mm²", h, c.Region.Area())
	}
	v := 0.0
	for _, c := range cs {
		v += c.Region.Area() * (c.Z1 - c.Z0)
	}
	vol := must[float64](t)(l.Volume())
	near(t, "columns' volume", v, vol, 1e-9*vol)
	near(t, "volume", vol, 20*10*6-36*5.2-6*10*3, 1e-9)
	vs := must[[]Column](t)(l.Voids())
	if len(vs) != 1 || math.Abs(vs[0].Z1-vs[0].Z0-3) > 1e-9 || math.Abs(vs[0].Region.Area()-60) > 1e-9 {
		t.Errorf("voids: %+v", vs)
	}
	if w, ok, err := l.MinThickness(1); err != nil || !ok || math.Abs(w.Width-2) > 1e-6 {
		t.Errorf("thinnest wall %+v %v %v", w, ok, err)
	}
	if w, ok, err := l.MinGap(1); err != nil || !ok || math.Abs(w.Width-6) > 1e-6 {
		t.Errorf("narrowest gap %+v %v %v", w, ok, err)
	}
}

// A disc chamfered to a point is a cylinder and a cone. About its own centroid a
// cylinder has Izz = mr²/2, Ixx = m(3r² + h²)/12; a cone, whose centroid is at
// h/4, Izz = 3mr²/10, Ixx = 3m(r² + h²/4)/20.
func TestChamferedDiscMass(t *testing.T) {
	const r, h = 5.0, 1.0 // mm; the cone is as high as wide
	disc := must[profile.Region](t)(profile.Circle(v2(3, -2), r, 1))
	l := must[*Layered](t)(NewLayered(Slab{Z0: 0, Z1: h + r, Region: disc, ChamferTop: r}))
	got, err := l.Mass()
	if err != nil {
		t.Fatal(err)
	}
	cyl, cone := math.Pi*r*r*h, math.Pi*r*r*r/3
	v := cyl + cone
	z := (cyl*h/2 + cone*(h+r/4)) / v
	near(t, "surface", got.Area, math.Pi*r*(r+2*h+math.Sqrt2*r), 1e-6*got.Area)
	near(t, "centroid x", got.Centroid.X, 3, 1e-9)
	near(t, "centroid y", got.Centroid.Y, -2, 1e-9)
	near(t, "centroid z", got.Centroid.Z, z, 1e-6)
	zz := cyl*r*r/2 + 3*cone*r*r/10
	xx := cyl*((3*r*r+h*h)/12+(z-h/2)*(z-h/2)) + cone*(3*(r*r+r*r/4)/20+(h+r/4-z)*(h+r/4-z))
	near(t, "Izz", got.Inertia.At(2, 2), zz, 1e-6*zz)
	near(t, "Ixx", got.Inertia.At(0, 0), xx, 1e-6*xx)
	near(t, "Ixy", got.Inertia.At(0, 1), 0, 1e-6*xx)
}
