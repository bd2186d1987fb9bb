package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// everywhere is the number of the part that is all of a mesh.
const everywhere = -1

// partSize is about how many vertices a part of a mesh has.
const partSize = 2048

// works reports whether u is there and may be removed by the part at work. What that
// changes lies in triangles at u or at its neighbours, and of the latter nothing that
// another part looks at.
func (s *collapser) works(u int32) bool {
	return s.out[u] >= 0 && (s.part == everywhere || s.home[u] == s.part)
}

// onParts has all parts of the mesh worked on at once, by a collapser each, then
// parts half a part further on, and then what lies between those by s. Parts are
// cubes, the same for any number of threads.
func (s *collapser) onParts(work func(*collapser)) {
	if len(s.at) > partSize {
		for _, shift := range [2]float64{0, 0.5} {
			parts := s.settle(shift)
			errs := make([]error, len(parts))
			parallel(len(parts), 1, func(lo, hi int) {
				for k := lo; k < hi; k++ {
					p := *s
					p.part, p.mine, p.ring, p.queue = int32(k), parts[k], nil, nil
					work(&p)
					errs[k] = p.err
				}
			})
			for _, err := range errs {
				if s.err == nil {
					s.err = err
				}
			}
		}
	}
	if s.err == nil {
		s.mine = s.mine[:0]
		for u := range int32(len(s.at)) {
			if s.out[u] >= 0 {
				s.mine = append(s.mine, u)
			}
		}
		work(s)
	}
}

// settle finds the home of every vertex that is there, the part which holds it and
// all of its neighbours, and returns the vertices at home in each part. The cubes lie
// shift edges further on than their lattice.
func (s *halfMesh) settle(shift float64) [][]int32 {
	m := Mesh{Vertices: s.at}
	b := m.Box()
	size := r3.Sub(b.Max, b.Min)
	// A surface through a cube has about the area of a side there.
	edge := 0.0
	for _, t := range s.tri {
		if t[0] >= 0 {
			edge += r3.Norm(r3.Cross(r3.Sub(s.at[t[1]], s.at[t[0]]), r3.Sub(s.at[t[2]], s.at[t[0]]))) / 2
		}
	}
	edge = max(math.Sqrt(edge*partSize/float64(len(s.at))), max(size.X, size.Y, size.Z)/64)
	nx, ny, nz := int32(size.X/edge)+2, int32(size.Y/edge)+2, int32(size.Z/edge)+2
	cube := func(v int32) int32 {
		p := r3.Add(r3.Scale(1/edge, r3.Sub(s.at[v], b.Min)), r3.Vec{X: shift, Y: shift, Z: shift})
		return (int32(p.X)*ny+int32(p.Y))*nz + int32(p.Z)
	}
	number := make([]int32, nx*ny*nz) // of a cube with vertices, from 1
	n := int32(0)
	for v := range s.home {
		s.home[v] = -1
		if s.out[v] >= 0 {
			c := cube(int32(v))
			if number[c] == 0 {
				n++
				number[c] = n
			}
			s.home[v] = number[c] - 1
		}
	}
	border := make([]bool, len(s.home))
	for _, t := range s.tri {
		if t[0] >= 0 && (s.home[t[0]] != s.home[t[1]] || s.home[t[0]] != s.home[t[2]]) {
			border[t[0]], border[t[1]], border[t[2]] = true, true, true
		}
	}
	parts := make([][]int32, n)
	for v, h := range s.home {
		if border[v] {
			s.home[v] = -1
		} else if h >= 0 {
			parts[h] = append(parts[h], int32(v))
		}
	}
	return parts
}
