// Package mesh holds triangle surfaces: what they are, whether they bound a
// solid, what that solid measures, and the meshers that make them.
//
// A map of the package:
//
//   - Mesh, its transforms and joins: this file
//   - Validate, Topology: closed, oriented, manifold; validate.go
//   - Volume, Centroid, Inertia, slivers: measure.go
//   - SelfIntersections: exact triangle-triangle tests over a tree of boxes;
//     intersect.go, bvh.go; the signs: package exact
//   - MeasureDeviation: how far the surface lies from a field; deviation.go
//   - Dual: any signed-distance field, dual contouring on a pruned lattice;
//     dual.go
//   - Simplify: fewer triangles within a stated deviation; simplify.go, collapse.go,
//     pulls.go; parts of a mesh at once: partition.go
//
// Lengths are millimetres. A triangle's normal, by the right-hand rule on its
// three corners, points out of the solid. Fields are negative inside.
package mesh

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Mesh is a set of triangles over shared vertices. Two triangles meet only
// where they name the same vertex: equal coordinates do not join anything.
type Mesh struct {
	Vertices  []r3.Vec
	Triangles [][3]int32
}

// Corners returns the three corners of triangle i.
func (m *Mesh) Corners(i int) (a, b, c r3.Vec) {
	t := m.Triangles[i]
	return m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]
}

// Clone returns a copy that shares no memory with m.
func (m *Mesh) Clone() *Mesh {
	return &Mesh{
		Vertices:  append([]r3.Vec(nil), m.Vertices...),
		Triangles: append([][3]int32(nil), m.Triangles...),
	}
}

// Append adds the vertices and triangles of o to m. Nothing is welded: the two
// surfaces stay apart even where they touch. It returns an error, and leaves m
// as it was, when the sum has more vertices than an index can name.
func (m *Mesh) Append(o *Mesh) error {
	if len(m.Vertices)+len(o.Vertices) > math.MaxInt32 {
		return fmt.Errorf("mesh: %d + %d vertices exceed the limit of %d in one mesh",
			len(m.Vertices), len(o.Vertices), math.MaxInt32)
	}
	base := int32(len(m.Vertices))
	m.Vertices = append(m.Vertices, o.Vertices...)
	for _, t := range o.Triangles {
		m.Triangles = append(m.Triangles, [3]int32{t[0] + base, t[1] + base, t[2] + base})
	}
	return nil
}

// Transform returns m with every vertex p moved to a·p + t. The triangles are
// turned round when a mirrors, so that normals stay outward. It returns an
// error when a is singular or not finite, for the result would bound nothing.
func (m *Mesh) Transform(a *r3.Mat, t r3.Vec) (*Mesh, error) {
	det := a.Det()
	if det == 0 || math.IsNaN(det) || math.IsInf(det, 0) || !finite(t) {
		return nil, fmt.Errorf("mesh: transform with determinant %g and shift %v is not a placement", det, t)
	}
	out := m.Clone()
	for i, p := range m.Vertices {
		out.Vertices[i] = r3.Add(a.MulVec(p), t)
	}
	if det < 0 {
		for i, tr := range out.Triangles {
			out.Triangles[i] = [3]int32{tr[0], tr[2], tr[1]}
		}
	}
	return out, nil
}

// Box returns the smallest axis-aligned box that holds every vertex. The box
// of a mesh without vertices is the zero box.
func (m *Mesh) Box() r3.Box {
	if len(m.Vertices) == 0 {
		return r3.Box{}
	}
	b := r3.Box{Min: m.Vertices[0], Max: m.Vertices[0]}
	for _, p := range m.Vertices[1:] {
		b.Min.X, b.Max.X = min(b.Min.X, p.X), max(b.Max.X, p.X)
		b.Min.Y, b.Max.Y = min(b.Min.Y, p.Y), max(b.Max.Y, p.Y)
		b.Min.Z, b.Max.Z = min(b.Min.Z, p.Z), max(b.Max.Z, p.Z)
	}
	return b
}

// Weld returns m with every vertex i replaced by vertex into[i], triangles
// that lose a corner dropped and vertices no longer named removed. Vertices
// are joined because the caller knows them to be one point; coordinates are
// never compared. len(into) must be len(m.Vertices), and every target must be
// its own target.
func (m *Mesh) Weld(into []int32) (*Mesh, error) {
	if len(into) != len(m.Vertices) {
		return nil, fmt.Errorf("mesh: weld names %d vertices, the mesh has %d", len(into), len(m.Vertices))
	}
	for i, j := range into {
		if j < 0 || int(j) >= len(into) || into[j] != j {
			return nil, fmt.Errorf("mesh: weld sends vertex %d to %d, which is not kept", i, j)
		}
	}
	out := &Mesh{Vertices: m.Vertices}
	for _, t := range m.Triangles {
		u := [3]int32{into[t[0]], into[t[1]], into[t[2]]}
		if u[0] != u[1] && u[1] != u[2] && u[2] != u[0] {
			out.Triangles = append(out.Triangles, u)
		}
	}
	return out.Compact(), nil
}

// Compact returns m without the vertices that no triangle names, the others in
// their order.
func (m *Mesh) Compact() *Mesh {
	used := make([]int32, len(m.Vertices))
	for _, t := range m.Triangles {
		used[t[0]], used[t[1]], used[t[2]] = 1, 1, 1
	}
	out := &Mesh{Triangles: make([][3]int32, len(m.Triangles))}
	for i, u := range used {
		used[i] = int32(len(out.Vertices))
		if u != 0 {
			out.Vertices = append(out.Vertices, m.Vertices[i])
		}
	}
	for i, t := range m.Triangles {
		out.Triangles[i] = [3]int32{used[t[0]], used[t[1]], used[t[2]]}
	}
	return out
}

func finite(p r3.Vec) bool {
	// A difference with itself is zero exactly for finite numbers.
	return p.X-p.X == 0 && p.Y-p.Y == 0 && p.Z-p.Z == 0
}
