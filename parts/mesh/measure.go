package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Mass holds the volume integrals of the solid inside a mesh at unit density.
type Mass struct {
	Volume   float64 // mm³
	Area     float64 // of the surface, mm²
	Centroid r3.Vec  // mm
	// Inertia is the tensor about the centroid along x, y, z in mm⁵; times the
	// density in g/mm³ it is in g·mm². Off-diagonal entries are −∫xy dV.
	Inertia *r3.Mat
}

// Mass returns volume, area, centroid and inertia of the solid inside a closed
// mesh, exact for the polyhedron up to rounding. With zero volume the centroid
// is the middle of the box and the inertia zero.
//
// The solid is summed from signed tetrahedra over the triangles. For one with
// corners 0, a, b, c: V = det/6, ∫x dV = V·s/4 and ∫x xᵀ dV = V·(aaᵀ + bbᵀ +
// ccᵀ + ssᵀ)/20, where s = a+b+c: moments of a simplex, e.g. A. H. Stroud,
// Approximate Calculation of Multiple Integrals, 1971 (from memory).
func (m *Mesh) Mass() Mass {
	b := m.Box()
	// About the middle of the box nothing large cancels.
	o := r3.Scale(0.5, r3.Add(b.Min, b.Max))
	var v6, area2 float64
	var s1 r3.Vec
	var xx, yy, zz, xy, yz, zx float64
	for i := range m.Triangles {
		p, q, r := m.Corners(i)
		p, q, r = r3.Sub(p, o), r3.Sub(q, o), r3.Sub(r, o)
		n := r3.Cross(r3.Sub(q, p), r3.Sub(r, p))
		area2 += math.Sqrt(r3.Norm2(n))
		d := r3.Dot(p, n)
		s := r3.Add(p, r3.Add(q, r))
		v6 += d
		s1 = r3.Add(s1, r3.Scale(d, s))
		xx += d * (p.X*p.X + q.X*q.X + r.X*r.X + s.X*s.X)
		yy += d * (p.Y*p.Y + q.Y*q.Y + r.Y*r.Y + s.Y*s.Y)
		zz += d * (p.Z*p.Z + q.Z*q.Z + r.Z*r.Z + s.Z*s.Z)
		xy += d * (p.X*p.Y + q.X*q.Y + r.X*r.Y + s.X*s.Y)
		yz += d * (p.Y*p.Z + q.Y*q.Z + r.Y*r.Z + s.Y*s.Z)
		zx += d * (p.Z*p.X + q.Z*q.X + r.Z*r.X + s.Z*s.X)
	}
	out := Mass{Volume: v6 / 6, Area: area2 / 2, Centroid: o, Inertia: r3.NewMat(make([]float64, 9))}
	if out.Volume == 0 {
		return out
	}
	c := r3.Scale(1/(4*v6), s1)
	out.Centroid = r3.Add(o, c)
	v := out.Volume
	xx, yy, zz = xx/120-v*c.X*c.X, yy/120-v*c.Y*c.Y, zz/120-v*c.Z*c.Z
	xy, yz, zx = xy/120-v*c.X*c.Y, yz/120-v*c.Y*c.Z, zx/120-v*c.Z*c.X
	out.Inertia = r3.NewMat([]float64{
		yy + zz, -xy, -zx,
		-xy, zz + xx, -yz,
		-zx, -yz, xx + yy,
	})
	return out
}

// Volume returns the enclosed volume in mm³, negative when normals point in.
func (m *Mesh) Volume() float64 {
	if len(m.Vertices) == 0 {
		return 0
	}
	b := m.Box()
	o := r3.Scale(0.5, r3.Add(b.Min, b.Max))
	v := 0.0
	for i := range m.Triangles {
		p, q, r := m.Corners(i)
		p = r3.Sub(p, o)
		v += r3.Dot(p, r3.Cross(r3.Sub(q, o), r3.Sub(r, o)))
	}
	return v / 6
}

// Area returns the area of the surface in mm².
func (m *Mesh) Area() float64 {
	s := 0.0
	for i := range m.Triangles {
		p, q, r := m.Corners(i)
		s += math.Sqrt(r3.Norm2(r3.Cross(r3.Sub(q, p), r3.Sub(r, p))))
	}
	return s / 2
}

// Centroid returns the centre of mass of the enclosed solid at uniform density.
func (m *Mesh) Centroid() r3.Vec { return m.Mass().Centroid }

// Inertia returns the inertia tensor about the centroid; see Mass.
func (m *Mesh) Inertia() *r3.Mat { return m.Mass().Inertia }

// MinHeight returns the smallest height over all triangles, in mm, and the
// triangle that has it: a measure of the worst sliver, the distance by which a
// corner may move before the triangle turns over. It is +Inf and -1 for a mesh
// without triangles.
func (m *Mesh) MinHeight() (height float64, triangle int) {
	height, triangle = math.Inf(1), -1
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		if h := triangleHeight(a, b, c); h < height {
			height, triangle = h, i
		}
	}
	return height, triangle
}

// triangleHeight returns the smallest height: twice the area over the longest side.
func triangleHeight(a, b, c r3.Vec) float64 {
	e, f, g := r3.Sub(b, a), r3.Sub(c, a), r3.Sub(c, b)
	l2 := max(r3.Norm2(e), r3.Norm2(f), r3.Norm2(g))
	if l2 == 0 {
		return 0
	}
	return math.Sqrt(r3.Norm2(r3.Cross(e, f)) / l2)
}

// higher reports whether the smallest height of a triangle exceeds h.
func higher(a, b, c r3.Vec, h float64) bool {
	e, f, g := r3.Sub(b, a), r3.Sub(c, a), r3.Sub(c, b)
	return r3.Norm2(r3.Cross(e, f)) > h*h*max(r3.Norm2(e), r3.Norm2(f), r3.Norm2(g))
}
