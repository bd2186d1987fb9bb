// Package solids makes small closed meshes of known volume for the tests of the
// writers.
package solids

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
)

// Box is the box from lo to hi: 8 vertices, 12 triangles.
func Box(lo, hi r3.Vec) *mesh.Mesh {
	m := &mesh.Mesh{}
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

// Tube is a prism over the ring between two regular n-gons with corners at the
// radii inner and outer (mm) around the z axis, from z = 0 to height: genus 1,
// 4n vertices, 8n triangles.
func Tube(inner, outer, height float64, n int) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		m.Vertices = append(m.Vertices,
			r3.Vec{X: outer * c, Y: outer * s}, r3.Vec{X: outer * c, Y: outer * s, Z: height},
			r3.Vec{X: inner * c, Y: inner * s, Z: height}, r3.Vec{X: inner * c, Y: inner * s})
	}
	for i := range n {
		a, b := int32(4*i), int32(4*((i+1)%n))
		for k := range int32(4) {
			l := (k + 1) % 4
			m.Triangles = append(m.Triangles, [3]int32{a + k, b + k, b + l}, [3]int32{a + k, b + l, a + l})
		}
	}
	return m
}

// TubeVolume is the volume of Tube in mm³: a regular n-gon of radius r has the
// area n/2·r²·sin(2π/n).
func TubeVolume(inner, outer, height float64, n int) float64 {
	return height * float64(n) / 2 * (outer*outer - inner*inner) * math.Sin(2*math.Pi/float64(n))
}
