// Package stl writes meshes as binary STL: an 80-byte header, the number of
// triangles as a little-endian 32-bit integer, and 50 bytes for each triangle
// (normal and corners as 32-bit floats, an attribute word of 0). The form has no
// unit; coordinates are the mesh's, in mm.
package stl

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
)

const headerSize = 80

// Size returns the bytes of a file with n triangles.
func Size(n int) int64 { return headerSize + 4 + 50*int64(n) }

// Write writes m. The header says that the unit is mm and gives the name, cut
// to what fits, characters outside ASCII as "?". Coordinates are rounded to
// 32-bit floats (to 4 nm at 100 mm) and the normals are those of the rounded
// corners, zero where these span no area. Errors: no triangles or more than
// fit, an index that is out of range, a coordinate that is not finite as a
// 32-bit float, or w's.
func Write(w io.Writer, name string, m *mesh.Mesh) error {
	n := len(m.Triangles)
	if n == 0 || uint64(n) > math.MaxUint32 {
		return fmt.Errorf("stl: %s: %d triangles", name, n)
	}
	points := make([][3]float32, len(m.Vertices))
	for i, v := range m.Vertices {
		points[i] = [3]float32{float32(v.X), float32(v.Y), float32(v.Z)}
		for _, c := range points[i] {
			if c-c != 0 {
				return fmt.Errorf("stl: %s: vertex %d is at (%g, %g, %g) mm", name, i, v.X, v.Y, v.Z)
			}
		}
	}
	b := bufio.NewWriterSize(w, 1<<16)
	b.Write(header(name))
	var rec [50]byte
	binary.LittleEndian.PutUint32(rec[:], uint32(n))
	b.Write(rec[:4])
	for i, t := range m.Triangles {
		var corner [3]r3.Vec
		for k, v := range t {
			if v < 0 || int(v) >= len(points) {
				return fmt.Errorf("stl: %s: triangle %d names vertex %d of %d", name, i, v, len(points))
			}
			p := points[v]
			put(rec[12+12*k:], p)
			corner[k] = r3.Vec{X: float64(p[0]), Y: float64(p[1]), Z: float64(p[2])}
		}
		put(rec[:], normal(corner))
		rec[48], rec[49] = 0, 0
		if _, err := b.Write(rec[:]); err != nil {
			return fmt.Errorf("stl: %s: %w", name, err)
		}
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("stl: %s: %w", name, err)
	}
	return nil
}

// header never starts with "solid": readers take that for the text form.
func header(name string) []byte {
	text := strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' {
			return '?'
		}
		return r
	}, "tuckfinger part, unit mm: "+name)
	h := make([]byte, headerSize)
	for i := copy(h, text); i < headerSize; i++ {
		h[i] = ' '
	}
	return h
}

func put(b []byte, p [3]float32) {
	for i, c := range p {
		binary.LittleEndian.PutUint32(b[4*i:], math.Float32bits(c))
	}
}

func normal(c [3]r3.Vec) [3]float32 {
	n := r3.Cross(r3.Sub(c[1], c[0]), r3.Sub(c[2], c[0]))
	l := r3.Norm(n)
	if l == 0 {
		return [3]float32{}
	}
	// Adding zero turns a negative zero into zero.
	return [3]float32{float32(n.X/l) + 0, float32(n.Y/l) + 0, float32(n.Z/l) + 0}
}
