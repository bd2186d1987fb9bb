package mesh

import (
	"math"
	"math/bits"

	"gonum.org/v1/gonum/spatial/r3"
)

// hidden looks for surface that the lattice signs do not show: from points
// nearer to it than a cell, with no crossed cell about them, it goes down to
// the surface and a twentieth of a cell on, where the sign must be the other
// one. A plane through a cell always separates the cell's corners; where the
// cell of the surface point is not crossed, a thin part, a gap or the tip of
// a wedge slips between the corners, and may be lost.
func (s *sampler) hidden() {
	h := s.g.cell
	for k := 1; k < blockCells; k++ {
		for j := 1; j < blockCells; j++ {
			r := k*blockPoints + j
			if s.have[r] == 0 {
				continue
			}
			n := k*blockCells + j
			c := uint64(s.b.row[n] | s.b.row[n-1] | s.b.row[n-blockCells] | s.b.row[n-blockCells-1])
			left := s.have[r] &^ (c | c<<1) &^ (1 | 1<<blockCells)
			for ; left != 0; left &= left - 1 {
				i := bits.TrailingZeros64(left)
				v := s.val[r*blockPoints+i]
				if math.Abs(v) > 0.9*h*s.g.lip {
					continue
				}
				x := s.point(i, j, k)
				g := s.gradient(x, v)
				slope := math.Sqrt(r3.Norm2(g))
				if !(math.Abs(v) <= 0.9*h*slope) {
					continue
				}
				down := r3.Scale(-1/slope, g)
				if v < 0 {
					down = r3.Scale(-1, down)
				}
				p := r3.Add(x, r3.Scale(math.Abs(v)/slope, down))
				d := r3.Scale(1/h, r3.Sub(p, s.point(0, 0, 0)))
				x0, y0, z0 := int(math.Floor(d.X)), int(math.Floor(d.Y)), int(math.Floor(d.Z))
				if min(x0, y0, z0) < 0 || max(x0, y0, z0) >= blockCells || s.b.row[z0*blockCells+y0]>>x0&1 != 0 {
					continue // in another block, or shown
				}
				if math.Abs(s.eval(p)) > 0.05*h*slope || s.eval(r3.Add(p, r3.Scale(0.05*h, down)))*v >= 0 {
					continue
				}
				s.b.hidden = append(s.b.hidden, p)
			}
		}
	}
}

// lost returns the largest distance from a hidden surface point to the mesh,
// at most two cells, and the point.
func (g *lattice) lost(m *Mesh) (far float64, at r3.Vec) {
	reach := 2 * g.cell
	r := r3.Vec{X: reach, Y: reach, Z: reach}
	var tree *boxTree
	var stack []int32
	for k, p := range g.hidden {
		if k == 0 || g.blockOf(p) != g.blockOf(g.hidden[k-1]) {
			var near []int32
			c := g.blockOf(p)
			for n := range 27 {
				i, ok := g.index[[3]int{c[0] + n%3 - 1, c[1] + n/3%3 - 1, c[2] + n/9 - 1}]
				if !ok {
					continue
				}
				for t := g.blocks[i].tris[0]; t < g.blocks[i].tris[1]; t++ {
					near = append(near, int32(t))
				}
			}
			tree = newBoxTree(near, m.triangleBox)
		}
		d2 := reach * reach
		stack = tree.query(r3.Box{Min: r3.Sub(p, r), Max: r3.Add(p, r)}, stack, func(pos int) {
			a, b, c := m.Corners(int(tree.item[pos]))
			d2 = min(d2, distance2(p, a, b, c))
		})
		if d := math.Sqrt(d2); d > far {
			far, at = d, p
		}
	}
	return far, at
}

// blockOf returns the coordinates of the block that holds p.
func (g *lattice) blockOf(p r3.Vec) [3]int {
	d := r3.Scale(1/(g.cell*blockCells), r3.Sub(p, g.org))
	return [3]int{int(math.Floor(d.X)), int(math.Floor(d.Y)), int(math.Floor(d.Z))}
}
