package mesh

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// resolve decides about the ambiguous faces and places the vertices of the
// open cells. Inside corners are joined across a face when the field
// is negative at the saddle point between its corners.
func (g *lattice) resolve() error {
	s := prober{g: g}
	for _, b := range g.blocks {
		for _, o := range b.open {
			mask := uint8(b.cell[o.n])
			for f := range 6 {
				if ambiguousFace[mask]>>f&1 != 0 && s.joined(b, o.at, f) {
					b.cell[o.n] |= joinBit << f
				}
			}
		}
	}
	for _, b := range g.blocks {
		for _, o := range b.open {
			for f := 1; f < 6; f += 2 {
				if ambiguousFace[uint8(b.cell[o.n])]>>f&1 == 0 {
					continue
				}
				d := o.at
				d[f/2]++
				c, m := g.look(b, d)
				if m < 0 || ambiguousFace[uint8(c.cell[m])]>>(f^1)&1 == 0 {
					return g.unsettled(g.cellAt(b, d))
				}
				if doubled(b.cell[o.n], f) && doubled(c.cell[m], f^1) {
					b.cell[o.n] ^= joinBit << f
					c.cell[m] ^= joinBit << (f ^ 1)
				}
			}
		}
	}
	first := int32(0)
	for _, b := range g.blocks {
		for _, o := range b.open {
			b.vert[o.n] = int32(len(b.pos))
			sh := sheetsOf(b.cell[o.n])
			for t := range sh.n {
				var at [12]hermite
				n := s.sheet(b, o.at, &sh, t, &at)
				p, loose := s.fit(g.cellAt(b, o.at), at[:n], sh.n == 1)
				b.pos = append(b.pos, p)
				if loose {
					b.cell[o.n] |= looseBit
				}
			}
		}
		b.first = first
		first += int32(len(b.pos))
	}
	g.evals.Add(s.evals)
	return s.err
}

// joined evaluates the field at the saddle point of the bilinear function
// through the corner values of a face. Cells on both sides do the same sums.
func (s *prober) joined(b *dualBlock, c [3]int, face int) bool {
	axis := face / 2
	c[axis] += face & 1
	u, v := next3[axis], prev3[axis]
	var f [4]float64
	p := s.g.cellAt(b, c)
	for k := range f {
		d := c
		d[u] += k & 1
		d[v] += k >> 1
		f[k] = s.eval(s.g.cellAt(b, d))
	}
	// Opposite signs alternate, so the denominator is not zero and the saddle
	// lies in the face.
	den := f[0] - f[1] - f[2] + f[3]
	set(&p, u, get(p, u)+s.g.cell*(f[0]-f[2])/den)
	set(&p, v, get(p, v)+s.g.cell*(f[0]-f[1])/den)
	return s.eval(p) < 0
}

// sheet fills at with the crossings of sheet t of a cell and returns their number.
func (s *prober) sheet(b *dualBlock, c [3]int, sh *sheets, t int8, at *[12]hermite) int {
	n := 0
	for e := range sh.of {
		if sh.of[e] != t {
			continue
		}
		var p [2]r3.Vec
		for i, w := range cellEdge[e] {
			p[i] = s.g.cellAt(b, [3]int{c[0] + int(w&1), c[1] + int(w>>1&1), c[2] + int(w>>2)})
		}
		at[n] = s.meet(p[0], p[1], s.eval(p[0]), s.eval(p[1]), r3.Vec{})
		n++
	}
	return n
}

// separate removes crossings where envelopes do not exclude them: around open
// cells and vertices outside their cells. The vertices at fault
// go back into their cell; those that are in it, to the mean of the points
// where their sheet crosses the cell's edges, which lies well inside the
// sheet, and the quadrilaterals there become fans. It returns an error when
// that does not suffice.
func (g *lattice) separate(m *Mesh) (*Mesh, error) {
	for round := 0; ; round++ {
		bad := g.sharedCrossings(m)
		if len(bad) == 0 {
			return m, nil
		}
		if round == 8 {
			return nil, fmt.Errorf("mesh: the surface crosses itself at %s mm and could not be parted at a cell of %g mm; use a smaller cell",
				place(bad[0].Place), g.cell)
		}
		owner := g.owners()
		done := map[int32]bool{}
		s := prober{g: g}
		for _, x := range bad {
			// Loose vertices go back first; others only if none was to blame.
			for _, all := range [2]bool{false, true} {
				moved := false
				for _, t := range [2]int{x.A, x.B} {
					for _, v := range m.Triangles[t] {
						if int(v) >= len(owner) {
							continue
						}
						b, n := g.blocks[owner[v][0]], int(owner[v][1])
						if done[v] {
							moved = true
						} else if all || b.cell[n]&looseBit != 0 {
							done[v], moved = true, true
							s.retreat(b, n, v)
							g.retreats++
						}
					}
				}
				if moved {
					break
				}
			}
		}
		g.evals.Add(s.evals)
		if s.err != nil {
			return nil, s.err
		}
		var err error
		if m, err = g.connect(); err != nil {
			return nil, err
		}
	}
}

// owners gives the block and crossed cell of each vertex that belongs to a cell.
func (g *lattice) owners() [][2]int32 {
	var out [][2]int32
	for i, b := range g.blocks {
		at := len(out)
		out = append(out, make([][2]int32, len(b.pos))...)
		for n, code := range b.cell {
			sh := sheetsOf(code)
			for t := range int32(sh.n) {
				out[at+int(b.vert[n]+t)] = [2]int32{int32(i), int32(n)}
			}
		}
	}
	return out
}

// sharedCrossings finds the crossings and contacts that involve a vertex of an
// open cell, of one drawn back, or outside its cell; and the
// triangles at the latter that have no height or face the wrong way, as
// crossings with themselves.
func (g *lattice) sharedCrossings(m *Mesh) []Crossing {
	const marked, outside = 1, 2
	mark := make([]uint8, len(m.Vertices))
	suspect := make([]bool, len(g.blocks))
	parallel(len(g.blocks), 1, func(i, _ int) {
		b := g.blocks[i]
		for n, code := range b.cell {
			if !openMask[uint8(code)] && code&(fanBit|looseBit) == 0 {
				continue
			}
			v := uint8(marked)
			if code&looseBit != 0 {
				v |= outside
			}
			sh := sheetsOf(code)
			for t := range int32(sh.n) {
				mark[b.first+b.vert[n]+t] = v
			}
			suspect[i] = true
		}
	})
	if !slices.Contains(suspect, true) {
		return nil
	}
	// A block's triangles reach one cell outside it and a loose vertex one
	// more, so all that matters lies in the suspect blocks and their neighbours.
	var blocks []*dualBlock
	for _, b := range g.blocks {
		hit := false
		for k := range 27 {
			i, ok := g.index[[3]int{b.at[0] + k%3 - 1, b.at[1] + k/3%3 - 1, b.at[2] + k/9 - 1}]
			hit = hit || ok && suspect[i]
		}
		if hit {
			blocks = append(blocks, b)
		}
	}
	wanted := make([]bool, len(m.Triangles))
	type part struct {
		near   []r3.Box
		turned []Crossing
		found  []int32
	}
	parts := make([]part, len(blocks))
	parallel(len(blocks), 1, func(k, _ int) {
		w := &parts[k]
		for i := blocks[k].tris[0]; i < blocks[k].tris[1]; i++ {
			t := m.Triangles[i]
			v := mark[t[0]] | mark[t[1]] | mark[t[2]]
			if v == 0 {
				continue
			}
			wanted[i] = true
			w.near = append(w.near, m.triangleBox(int32(i)))
			if v&outside != 0 && g.turned(m, i) {
				w.turned = append(w.turned, Crossing{A: i, B: i, Place: m.Vertices[t[0]]})
			}
		}
	})
	var near []r3.Box
	var out []Crossing
	for k := range parts {
		near = append(near, parts[k].near...)
		out = append(out, parts[k].turned...)
	}
	all := make([]int32, len(near))
	for i := range all {
		all[i] = int32(i)
	}
	tree := newBoxTree(all, func(i int32) r3.Box { return near[i] })
	closeTo := g.closeTo(near)
	parallel(len(blocks), 1, func(k, _ int) {
		b, w := blocks[k], &parts[k]
		o := g.cellAt(b, [3]int{})
		near := closeTo[b]
		var stack []int32
		for i := b.tris[0]; i < b.tris[1]; i++ {
			hit := wanted[i]
			if !hit && near>>g.part(r3.Sub(m.Vertices[m.Triangles[i][0]], o))&1 != 0 {
				stack = tree.query(m.triangleBox(int32(i)), stack, func(int) { hit = true })
			}
			if hit {
				w.found = append(w.found, int32(i))
			}
		}
	})
	var items []int32
	for k := range parts {
		items = append(items, parts[k].found...)
	}
	return append(out, m.crossings(items, wanted)...)
}

// A block has 4³ parts of 8³ cells; they are numbered by x, y, z.
const partCells = blockCells / 4

// part returns the part of a block that holds the point d from the block's low
// corner; one outside counts as where it would leave.
func (g *lattice) part(d r3.Vec) int {
	inv := 1 / (partCells * g.cell)
	at := func(x float64) int { return int(min(max(x*inv, 0), 3)) }
	return at(d.X) | at(d.Y)<<2 | at(d.Z)<<4
}

// closeTo returns, for each block, which of its parts hold a corner of a
// triangle of the block that may meet one of the boxes: a triangle reaches at
// most four cells from its corner, and two out of its block.
func (g *lattice) closeTo(boxes []r3.Box) map[*dualBlock]uint64 {
	out := make(map[*dualBlock]uint64)
	inv := 1 / (partCells * g.cell)
	grow := r3.Scale(6.5*g.cell, r3.Vec{X: 1, Y: 1, Z: 1})
	for _, b := range boxes {
		lo := r3.Scale(inv, r3.Sub(r3.Sub(b.Min, grow), g.org))
		hi := r3.Scale(inv, r3.Sub(r3.Add(b.Max, grow), g.org))
		for z := int(math.Floor(lo.Z)); z <= int(math.Floor(hi.Z)); z++ {
			for y := int(math.Floor(lo.Y)); y <= int(math.Floor(hi.Y)); y++ {
				for x := int(math.Floor(lo.X)); x <= int(math.Floor(hi.X)); x++ {
					if i, ok := g.index[[3]int{x >> 2, y >> 2, z >> 2}]; ok {
						out[g.blocks[i]] |= 1 << (x&3 | y&3<<2 | z&3<<4)
					}
				}
			}
		}
	}
	return out
}

// turned reports whether a triangle is a sliver or looks against the gradient
// of the field at its middle.
func (g *lattice) turned(m *Mesh, i int) bool {
	a, b, c := m.Corners(i)
	if triangleHeight(a, b, c) < 1e-3*g.cell {
		return true
	}
	s := prober{g: g}
	p := r3.Scale(1./3, r3.Add(a, r3.Add(b, c)))
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	d := s.gradient(p, s.eval(p))
	g.evals.Add(s.evals)
	return r3.Dot(n, d) < 0.2*r3.Norm(n)*r3.Norm(d)
}

// retreat moves a vertex of the n-th crossed cell of b back: from outside its
// cell into it, else to the mean of its sheet's crossings.
func (s *prober) retreat(b *dualBlock, n int, v int32) {
	v -= b.first
	sh := sheetsOf(b.cell[n])
	c := b.where(n)
	lo := s.g.cellAt(b, c)
	var at [12]hermite
	k := s.sheet(b, c, &sh, int8(v-b.vert[n]), &at)
	if b.cell[n]&looseBit != 0 {
		b.cell[n] &^= looseBit
		b.pos[v], _ = s.fit(lo, at[:k], false)
		return
	}
	var sum r3.Vec
	for _, h := range at[:k] {
		sum = r3.Add(sum, h.p)
	}
	b.pos[v] = s.g.clamp(lo, r3.Scale(1/float64(k), sum))
	b.cell[n] |= fanBit
}

// where returns the block coordinates of the n-th crossed cell.
func (b *dualBlock) where(n int) [3]int {
	r := len(b.before) - 1
	for r > 0 && (int(b.before[r]) > n || b.row[r] == 0) {
		r--
	}
	row := b.row[r]
	for k := n - int(b.before[r]); k > 0; k-- {
		row &= row - 1
	}
	i := 0
	for row>>i&1 == 0 {
		i++
	}
	return [3]int{i, r % blockCells, r / blockCells}
}
