package mesh

import (
	"fmt"
	"math"
	"math/bits"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	blockCells  = 32
	blockPoints = blockCells + 1
)

// dualBlock is what is kept of 32³ cells that the surface may pass through.
// Cells are ordered by z, y, x.
type dualBlock struct {
	at     [3]int                          // in blocks
	row    [blockCells * blockCells]uint32 // bit i of row 32k+j: cell (i, j, k) is crossed
	before [blockCells * blockCells]uint16 // crossed cells in earlier rows
	cell   []uint16                        // code of each crossed cell
	vert   []int32                         // first vertex of each crossed cell
	pos    []r3.Vec                        // vertices
	open   []openCell                      // cells whose mask is open
	first  int32                           // number of vertex 0 in the mesh
	tris   [2]int                          // range of its triangles in the mesh
	fans   int
	hidden []r3.Vec // see sampler.hidden
	err    error
}

// openCell is a cell with an open mask: its vertices wait for decisions about
// its faces.
type openCell struct {
	n  int    // among the block's crossed cells
	at [3]int // in the block
}

// find returns the position of a cell among the block's crossed cells, -1 when
// it is not crossed.
func (b *dualBlock) find(i, j, k int) int {
	r := k*blockCells + j
	if b.row[r]>>i&1 == 0 {
		return -1
	}
	return int(b.before[r]) + bits.OnesCount32(b.row[r]&(1<<i-1))
}

// sampler is a worker's scratch for one block: what is known of its 33³
// lattice points. Bit i of row 33k+j is point (i, j, k).
type sampler struct {
	b      *dualBlock
	base   [3]int // lattice coordinates of the block's point (0, 0, 0)
	known  [blockPoints * blockPoints]uint64
	inside [blockPoints * blockPoints]uint64 // where known
	have   [blockPoints * blockPoints]uint64 // val is set
	val    [blockPoints * blockPoints * blockPoints]float64
	edges  []hermite                                          // met so far
	slot   [3 * blockPoints * blockPoints * blockPoints]int32 // 1 + index in edges, by 3·point + axis
	used   []int32                                            // of slot
	planes []plane
	column [blockCells * blockCells]plane // of the last cell placed at (i, j)
	prober
}

const allPoints = 1<<blockPoints - 1

func (s *sampler) point(i, j, k int) r3.Vec { return s.g.at(s.base[0]+i, s.base[1]+j, s.base[2]+k) }

// value returns the field at a lattice point, evaluating it at most once.
func (s *sampler) value(i, j, k int) float64 {
	r := k*blockPoints + j
	n := r*blockPoints + i
	if s.have[r]>>i&1 != 0 {
		return s.val[n]
	}
	v := s.eval(s.point(i, j, k))
	s.have[r] |= 1 << i
	s.val[n] = v
	if s.known[r]>>i&1 != 0 && (s.inside[r]>>i&1 != 0) != (v < 0) && s.err == nil {
		s.err = fmt.Errorf("mesh: the field is %.4g at %s mm, where its values nearby and the stated bound of %g per mm leave only the other sign",
			v, place(s.point(i, j, k)), s.g.lip)
	}
	return v
}

// learn evaluates a lattice point and marks every point that the Lipschitz
// bound gives the same sign.
func (s *sampler) learn(i, j, k int) {
	v := s.value(i, j, k)
	s.mark(i, j, k, 0, v)
	// Points nearer than |v|/L have the sign of v, in cells:
	reach := math.Abs(v) / (s.g.lip * s.g.cell) * (1 - 1e-9)
	if reach <= 1 {
		return
	}
	n := int(min(reach, blockPoints))
	r2 := reach * reach
	for dz := max(-n, -k); dz <= min(n, blockCells-k); dz++ {
		for dy := max(-n, -j); dy <= min(n, blockCells-j); dy++ {
			if w2 := r2 - float64(dz*dz+dy*dy); w2 > 0 {
				s.mark(i, j+dy, k+dz, int(min(math.Sqrt(w2), blockPoints)), v)
			}
		}
	}
}

// mark gives the points of a row from i−w to i+w the sign of v.
func (s *sampler) mark(i, j, k, w int, v float64) {
	lo, hi := max(i-w, 0), min(i+w, blockCells)
	m := uint64(1)<<(hi+1) - uint64(1)<<lo
	r := k*blockPoints + j
	var sign uint64
	if v < 0 {
		sign = m
	}
	if clash := s.known[r] & m & (s.inside[r] ^ sign); clash != 0 && s.err == nil {
		s.err = fmt.Errorf("mesh: near %s mm two values of the field leave no room for its zero between them at the stated bound of %g per mm",
			place(s.point(bits.TrailingZeros64(clash), j, k)), s.g.lip)
	}
	s.inside[r] |= sign &^ s.known[r]
	s.known[r] |= m
}

// run samples block b and places its vertices.
func (s *sampler) run(b *dualBlock) {
	s.b = b
	s.err = nil
	for a := range 3 {
		s.base[a] = b.at[a] * blockCells
	}
	clear(s.known[:])
	clear(s.inside[:])
	clear(s.have[:])
	for _, k := range s.used {
		s.slot[k] = 0
	}
	s.used, s.edges = s.used[:0], s.edges[:0]
	s.planes = s.planes[:0]
	clear(s.column[:])
	s.evals = 0
	s.signs()
	if s.err == nil {
		s.border()
	}
	if s.err == nil {
		s.findCells()
		s.hidden()
	}
	if s.err == nil {
		s.placeAll()
	}
	b.err = s.err
	s.g.evals.Add(s.evals)
}

// signs settles the sign of every lattice point, from the coarsest points to
// the finest; near a plane the balls of the coarse ones cover most of the rest.
func (s *sampler) signs() {
	s.learn(blockCells/2, blockCells/2, blockCells/2)
	for step := blockCells / 2; step > 0 && s.err == nil; step /= 2 {
		var grid uint64
		for i := 0; i <= blockCells; i += step {
			grid |= 1 << i
		}
		for k := 0; k <= blockCells; k += step {
			for j := 0; j <= blockCells; j += step {
				r := k*blockPoints + j
				for left := grid &^ s.known[r]; left != 0; left = grid &^ s.known[r] {
					s.learn(bits.TrailingZeros64(left), j, k)
					if s.err != nil {
						return
					}
				}
			}
		}
	}
}

// border refuses a solid that reaches the outside of the lattice.
func (s *sampler) border() {
	for k := range blockPoints {
		for j := range blockPoints {
			var m uint64
			end := func(a, at int) bool {
				return at == 0 && s.b.at[a] == 0 || at == blockCells && s.b.at[a] == s.g.size[a]-1
			}
			if end(1, j) || end(2, k) {
				m = allPoints
			}
			if s.b.at[0] == 0 {
				m |= 1
			}
			if s.b.at[0] == s.g.size[0]-1 {
				m |= 1 << blockCells
			}
			if out := s.inside[k*blockPoints+j] & m; out != 0 {
				s.err = s.g.past(s.point(bits.TrailingZeros64(out), j, k))
				return
			}
		}
	}
}

func (g *lattice) past(p r3.Vec) error {
	return fmt.Errorf("mesh: the solid reaches past the box: the field is negative at %s mm", place(p))
}

// findCells lists the crossed cells and their masks.
func (s *sampler) findCells() {
	b := s.b
	n := 0
	for k := range blockCells {
		for j := range blockCells {
			r := k*blockPoints + j
			r00, r10 := s.inside[r], s.inside[r+1]
			r01, r11 := s.inside[r+blockPoints], s.inside[r+blockPoints+1]
			and, or := r00&r10&r01&r11, r00|r10|r01|r11
			row := uint32((or | or>>1) &^ (and & (and >> 1)))
			b.row[k*blockCells+j] = row
			b.before[k*blockCells+j] = uint16(n)
			n += bits.OnesCount32(row)
		}
	}
	b.cell = make([]uint16, 0, n)
	for k := range blockCells {
		for j := range blockCells {
			r := k*blockPoints + j
			r00, r10 := s.inside[r], s.inside[r+1]
			r01, r11 := s.inside[r+blockPoints], s.inside[r+blockPoints+1]
			for row := b.row[k*blockCells+j]; row != 0; row &= row - 1 {
				i := bits.TrailingZeros32(row)
				m := uint16(r00>>i&3 | r10>>i&3<<2 | r01>>i&3<<4 | r11>>i&3<<6)
				if openMask[m] {
					b.open = append(b.open, openCell{len(b.cell), [3]int{i, j, k}})
				}
				b.cell = append(b.cell, m)
			}
		}
	}
}
