package mesh

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"
)

// fanBit marks a cell whose quadrilaterals are all divided about a fifth point.
const fanBit = 1 << 9

// separate removes crossings around cells with several sheets, where envelopes
// do not exclude them: the vertices at fault go back to the mean of the points
// where their sheet crosses the cell's edges, which lies well inside the
// sheet, and the quadrilaterals there become fans. Each round also draws back
// what the round before left crossing. It returns an error when four rounds
// do not suffice.
func (g *lattice) separate(m *Mesh) (*Mesh, error) {
	for round := 0; ; round++ {
		bad := g.sharedCrossings(m)
		if len(bad) == 0 {
			return m, nil
		}
		if round == 4 {
			return nil, fmt.Errorf("mesh: the surface crosses itself at %s mm and could not be parted at a cell of %g mm; use a smaller cell",
				place(bad[0].Place), g.cell)
		}
		owner := g.owners()
		done := map[int32]bool{}
		s := prober{g: g}
		for _, x := range bad {
			for _, t := range [2]int{x.A, x.B} {
				for _, v := range m.Triangles[t] {
					if int(v) < len(owner) && !done[v] {
						done[v] = true
						s.retreat(g.blocks[owner[v]], v)
						g.retreats++
					}
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

// owners gives the block of each vertex that belongs to a cell.
func (g *lattice) owners() []int32 {
	var out []int32
	for i, b := range g.blocks {
		for range b.pos {
			out = append(out, int32(i))
		}
	}
	return out
}

// sharedCrossings finds the crossings and contacts that involve a vertex of a
// cell with several sheets or one drawn back.
func (g *lattice) sharedCrossings(m *Mesh) []Crossing {
	mark := make([]bool, len(m.Vertices))
	var near []r3.Box
	for _, b := range g.blocks {
		for n, mask := range b.cell {
			end := int32(len(b.pos))
			if n+1 < len(b.cell) {
				end = b.vert[n+1]
			}
			if end-b.vert[n] == 1 && mask&fanBit == 0 {
				continue
			}
			for v := b.vert[n]; v < end; v++ {
				mark[b.first+v] = true
			}
		}
	}
	wanted := make([]bool, len(m.Triangles))
	for i, t := range m.Triangles {
		if mark[t[0]] || mark[t[1]] || mark[t[2]] {
			wanted[i] = true
			near = append(near, m.triangleBox(int32(i)))
		}
	}
	if near == nil {
		return nil
	}
	all := make([]int32, len(near))
	for i := range all {
		all[i] = int32(i)
	}
	tree := newBoxTree(all, func(i int32) r3.Box { return near[i] })
	var items, stack []int32
	for i := range m.Triangles {
		hit := wanted[i]
		if !hit {
			stack = tree.query(m.triangleBox(int32(i)), stack, func(int) { hit = true })
		}
		if hit {
			items = append(items, int32(i))
		}
	}
	return m.crossings(items, wanted)
}

// retreat moves a vertex to the mean of its sheet's crossings.
func (s *prober) retreat(b *dualBlock, v int32) {
	v -= b.first
	n := 0
	for n+1 < len(b.vert) && b.vert[n+1] <= v {
		n++
	}
	sheet := int8(v - b.vert[n])
	sh := &sheetTable[b.cell[n]/tableBit&1][uint8(b.cell[n])]
	c := b.where(n)
	var sum r3.Vec
	k := 0.0
	for e := range sh.of {
		if sh.of[e] != sheet {
			continue
		}
		var end [2]r3.Vec
		for i, w := range cellEdge[e] {
			end[i] = s.g.at(b.at[0]*blockCells+c[0]+int(w&1), b.at[1]*blockCells+c[1]+int(w>>1&1), b.at[2]*blockCells+c[2]+int(w>>2))
		}
		p, _ := s.root(end[0], end[1], s.eval(end[0]), s.eval(end[1]))
		sum = r3.Add(sum, p)
		k++
	}
	lo := s.g.at(b.at[0]*blockCells+c[0], b.at[1]*blockCells+c[1], b.at[2]*blockCells+c[2])
	b.pos[v] = s.g.clamp(lo, r3.Scale(1/k, sum))
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
