package glb

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
)

// crease is the angle in rad between two faces from which their edge is sharp:
// far above what neighbouring chords of a round wall make, below the 45° of
// chamfers.
const crease = 30 * math.Pi / 180

// shaded is a mesh with a normal at every vertex; vertices are doubled at sharp
// edges. Positions are in metres.
type shaded struct {
	positions, normals [][3]float32
	corners            []uint32 // three a triangle
}

// shade gives every corner of a closed mesh the mean normal, weighted by angle,
// of the faces that it is smoothly joined to around its vertex: from face to
// face over edges that bend by less than sharp (rad).
func shade(m *mesh.Mesh, sharp float64) shaded {
	faces := make([]r3.Vec, len(m.Triangles))
	angles := make([][3]float64, len(m.Triangles))
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		faces[i] = r3.Scale(1/r3.Norm(n), n)
		p := [3]r3.Vec{a, b, c}
		for k := range p {
			u, v := r3.Sub(p[(k+1)%3], p[k]), r3.Sub(p[(k+2)%3], p[k])
			angles[i][k] = math.Atan2(r3.Norm(r3.Cross(u, v)), r3.Dot(u, v))
		}
	}
	group := smooth(m, faces, math.Cos(sharp))

	var out shaded
	out.corners = make([]uint32, 3*len(m.Triangles))
	index := make([]int32, len(group))
	for i := range index {
		index[i] = -1
	}
	var sums []r3.Vec
	for c := range group {
		g := group[c]
		t, k := c/3, c%3
		if index[g] < 0 {
			index[g] = int32(len(out.positions))
			v := m.Vertices[m.Triangles[t][k]]
			out.positions = append(out.positions, [3]float32{float32(v.X * mm), float32(v.Y * mm), float32(v.Z * mm)})
			sums = append(sums, r3.Vec{})
		}
		at := index[g]
		out.corners[c] = uint32(at)
		sums[at] = r3.Add(sums[at], r3.Scale(angles[t][k], faces[t]))
	}
	out.normals = make([][3]float32, len(sums))
	for i, n := range sums {
		if l := r3.Norm(n); l > 1e-9 {
			n = r3.Scale(1/l, n)
		} else {
			n = r3.Vec{Z: 1} // faces all round that cancel: any direction is as good
		}
		out.normals[i] = [3]float32{float32(n.X), float32(n.Y), float32(n.Z)}
	}
	return out
}

// smooth joins the corners (three a triangle) that share a vertex and a smooth
// edge, and returns the first corner of each corner's group.
func smooth(m *mesh.Mesh, faces []r3.Vec, least float64) []int32 {
	root := make([]int32, 3*len(m.Triangles))
	for i := range root {
		root[i] = int32(i)
	}
	var find func(i int32) int32
	find = func(i int32) int32 {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	join := func(a, b int32) {
		a, b = find(a), find(b)
		root[max(a, b)] = min(a, b)
	}
	edges := make(map[[2]int32]int32, 3*len(m.Triangles)) // from, to -> corner at from
	for t, tri := range m.Triangles {
		for k := range tri {
			edges[[2]int32{tri[k], tri[(k+1)%3]}] = int32(3*t + k)
		}
	}
	next := func(c int32) int32 { return c - c%3 + (c%3+1)%3 }
	for t, tri := range m.Triangles {
		for k := range tri {
			here := int32(3*t + k)
			there, ok := edges[[2]int32{tri[(k+1)%3], tri[k]}]
			if ok && r3.Dot(faces[t], faces[there/3]) >= least {
				join(here, next(there))
				join(next(here), there)
			}
		}
	}
	for i := range root {
		root[i] = find(int32(i))
	}
	return root
}

// cylinder is a pin on z = 0 around the z axis, in mm.
func cylinder(p pinShape) *mesh.Mesh {
	m := &mesh.Mesh{Vertices: []r3.Vec{{}, {Z: p.length}}}
	for i := range int32(pinSides) {
		s, c := math.Sincos(2 * math.Pi * float64(i) / pinSides)
		m.Vertices = append(m.Vertices, r3.Vec{X: p.radius * c, Y: p.radius * s}, r3.Vec{X: p.radius * c, Y: p.radius * s, Z: p.length})
		a, b := 2+2*i, 2+2*((i+1)%pinSides)
		m.Triangles = append(m.Triangles, [3]int32{0, b, a}, [3]int32{1, a + 1, b + 1}, [3]int32{a, b, b + 1}, [3]int32{a, b + 1, a + 1})
	}
	return m
}
