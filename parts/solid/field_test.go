package solid

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
	"tuckfinger/parts/profile"
)

// toTriangle is the distance from p to a triangle, by its plane, edges and
// corners (C. Ericson, Real-Time Collision Detection, 2005, section 5.1.5, from memory).
func toTriangle(p, a, b, c r3.Vec) float64 {
	ab, ac, bc := r3.Sub(b, a), r3.Sub(c, a), r3.Sub(c, b)
	n := r3.Cross(ab, ac)
	inside := r3.Dot(r3.Cross(ab, r3.Sub(p, a)), n) >= 0 &&
		r3.Dot(r3.Cross(bc, r3.Sub(p, b)), n) >= 0 &&
		r3.Dot(r3.Cross(r3.Scale(-1, ac), r3.Sub(p, c)), n) >= 0
	if inside {
		return math.Abs(r3.Dot(r3.Sub(p, a), n)) / r3.Norm(n)
	}
	seg := func(a, d r3.Vec) float64 {
		t := max(0, min(1, r3.Dot(r3.Sub(p, a), d)/r3.Norm2(d)))
		return r3.Norm(r3.Sub(p, r3.Add(a, r3.Scale(t, d))))
	}
	return min(seg(a, ab), seg(a, ac), seg(b, bc))
}

func toMesh(m *mesh.Mesh, p r3.Vec) float64 {
	d := math.Inf(1)
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		d = min(d, toTriangle(p, a, b, c))
	}
	return d
}

// straight makes a stack of random boxes and triangles less boxes: a solid whose
// mesh is its very surface.
func straight(rng *rand.Rand, bottom, top float64) (*Layered, error) {
	b := NewBuilder()
	poly := func(size float64) profile.Region {
		c := v2(20*rng.Float64(), 12*rng.Float64())
		var pts []r2.Vec
		n := 3 + rng.IntN(3)
		for i := range n {
			s, co := math.Sincos(2 * math.Pi * (float64(i) + 0.6*rng.Float64()) / float64(n))
			pts = append(pts, v2(c.X+size*co, c.Y+size*s))
		}
		r, err := profile.Polygon(pts, 1)
		if err != nil {
			panic(err)
		}
		return r
	}
	z := func() (float64, float64) { i := rng.IntN(3); return 2 * float64(i), 2 * float64(i+1+rng.IntN(3-i)) }
	for range 4 {
		z0, z1 := z()
		if err := b.Add(poly(7), z0, z1); err != nil {
			return nil, err
		}
	}
	for range 3 {
		z0, z1 := z()
		if err := b.Cut(poly(3), z0, z1); err != nil {
			return nil, err
		}
	}
	return b.Build(bottom, top)
}

// The field of stacks of polygons against the distance to every triangle of
// their surface, in 40 random stacks at 200 places each.
func TestFieldIsExact(t *testing.T) {
	for seed := range uint64(40) {
		rng := rand.New(rand.NewPCG(seed, 3))
		l := must[*Layered](t)(straight(rng, 0, 0))
		m, _, err := l.Mesh(0.01)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		box := l.Box()
		size := r3.Sub(box.Max, box.Min)
		inside := 0
		for range 200 {
			p := r3.Vec{
				X: box.Min.X + (1.4*rng.Float64()-0.2)*size.X,
				Y: box.Min.Y + (1.4*rng.Float64()-0.2)*size.Y,
				Z: box.Min.Z + (1.8*rng.Float64()-0.4)*size.Z,
			}
			got, want := l.Evaluate(sdf.V3(p)), toMesh(m, p)
			s, err := l.Section(p.Z)
			if err != nil {
				t.Fatal(err)
			}
			if s.Contains(r2.Vec{X: p.X, Y: p.Y}) {
				inside++
				want = -want
			}
			if math.Abs(got-want) > 1e-6 {
				t.Errorf("seed %d: %g at %v, want %g", seed, got, p, want)
			}
		}
		if inside == 0 {
			t.Errorf("seed %d tests no inside point", seed)
		}
	}
}

// With chamfers the surface of a box is its mesh still, also where chamfers leave
// no face or no wall. (Chamfers that cut each other's ridges are meshed within the
// deviation only; the half-spaces of convex prisms are their reference.)
func TestChamferedBoxIsExact(t *testing.T) {
	square := must[profile.Region](t)(profile.Rect(v2(0, 0), v2(9, 6), 1))
	for _, c := range [][2]float64{{0.4, 0}, {0, 1}, {2, 2}, {3, 0.5}, {2.5, 2.5}} {
		l := must[*Layered](t)(NewLayered(Slab{Z0: 0, Z1: 4, Region: square, ChamferBottom: c[0], ChamferTop: c[1]}))
		m, _, err := l.Mesh(0.01)
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(9, 9))
		in := 0
		for range 2000 {
			p := r3.Vec{X: 13*rng.Float64() - 2, Y: 10*rng.Float64() - 2, Z: 6*rng.Float64() - 1}
			got, want := l.Evaluate(sdf.V3(p)), toMesh(m, p)
			if got < 0 {
				in++
			}
			if math.Abs(math.Abs(got)-want) > 1e-6 {
				t.Errorf("chamfers %v: %g at %v, distance %g", c, got, p, want)
			}
		}
		if in < 50 {
			t.Errorf("chamfers %v: %d inside points", c, in)
		}
	}
}

// Two discs on each other against the distance to their outline in the half
// plane (radius, height); the inner one chamfered up to its rim.
func TestFieldOfRevolution(t *testing.T) {
	big := must[profile.Region](t)(profile.Circle(v2(1, 2), 6, 1))
	small := must[profile.Region](t)(profile.Circle(v2(1, 2), 2.5, 1))
	l := must[*Layered](t)(NewLayered(
		Slab{Z0: 0, Z1: 2, Region: big, ChamferBottom: 0.7},
		Slab{Z0: 2, Z1: 5, Region: small, ChamferTop: 1}))
	outline := []r2.Vec{v2(0, 0), v2(5.3, 0), v2(6, 0.7), v2(6, 2), v2(2.5, 2), v2(2.5, 4), v2(1.5, 5), v2(0, 5)}
	half := must[profile.Region](t)(profile.Polygon(append(outline, v2(-9, 5), v2(-9, 0)), 1)) // mirrored far away
	f := profile.NewField(half)
	rng := rand.New(rand.NewPCG(5, 5))
	for range 5000 {
		p := sdf.V3{X: 20*rng.Float64() - 9, Y: 20*rng.Float64() - 8, Z: 8*rng.Float64() - 1.5}
		got, want := l.Evaluate(p), f.Distance(v2(math.Hypot(p.X-1, p.Y-2), p.Z))
		if math.Abs(got-want) > 1e-9 {
			t.Fatalf("%g at %v, want %g", got, p, want)
		}
	}
}
