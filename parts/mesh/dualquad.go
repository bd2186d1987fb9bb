package mesh

import (
	"fmt"
	"math"
	"math/bits"

	"gonum.org/v1/gonum/spatial/r3"
)

// quadSink gathers what one block adds to the mesh. Triangles name fan points
// by −1 − their number.
type quadSink struct {
	tris [][3]int32
	fan  []r3.Vec
}

// connect makes the triangles: two, or four about a point on the edge, for
// each crossed lattice edge, over the vertices of the four cells around it.
func (g *lattice) connect() (*Mesh, error) {
	sinks := make([]quadSink, len(g.blocks))
	parallel(len(g.blocks), 1, func(lo, _ int) {
		b := g.blocks[lo]
		p := prober{g: g}
		p.quads(b, &sinks[lo])
		g.evals.Add(p.evals)
		b.err, b.fans = p.err, len(sinks[lo].fan)
	})
	m := &Mesh{}
	nv, nt := 0, 0
	for i, b := range g.blocks {
		if b.err != nil {
			return nil, b.err
		}
		nv += len(b.pos) + len(sinks[i].fan)
		nt += len(sinks[i].tris)
	}
	if nv > math.MaxInt32 {
		return nil, fmt.Errorf("mesh: %d vertices at a cell of %g mm exceed what one mesh can hold", nv, g.cell)
	}
	m.Vertices = make([]r3.Vec, nv)
	m.Triangles = make([][3]int32, nt)
	fans := int32(0)
	if n := len(g.blocks); n > 0 {
		fans = g.blocks[n-1].first + int32(len(g.blocks[n-1].pos))
	}
	at, base := 0, make([]int32, len(g.blocks))
	for i, b := range g.blocks {
		base[i] = fans
		fans += int32(len(sinks[i].fan))
		b.tris = [2]int{at, at + len(sinks[i].tris)}
		at = b.tris[1]
	}
	parallel(len(g.blocks), 1, func(i, _ int) {
		b := g.blocks[i]
		copy(m.Vertices[b.first:], b.pos)
		copy(m.Vertices[base[i]:], sinks[i].fan)
		tris := m.Triangles[b.tris[0]:b.tris[1]]
		copy(tris, sinks[i].tris)
		if len(sinks[i].fan) == 0 {
			return
		}
		for t := range tris {
			for k, v := range tris[t] {
				if v < 0 {
					tris[t][k] = base[i] - 1 - v
				}
			}
		}
	})
	return m, nil
}

// quads visits the crossed edges at the low corner of every cell of b.
func (s *prober) quads(b *dualBlock, out *quadSink) {
	out.tris = make([][3]int32, 0, 2*len(b.cell)+len(b.cell)/8)
	n := 0
	for k := range blockCells {
		for j := range blockCells {
			for row := b.row[k*blockCells+j]; row != 0; row &= row - 1 {
				i := bits.TrailingZeros32(row)
				mask := b.cell[n]
				for a := range 3 {
					if (mask^mask>>(1<<a))&1 != 0 {
						s.quad(b, n, [3]int{i, j, k}, a, out)
					}
				}
				if s.err != nil {
					return
				}
				n++
			}
		}
	}
}

// around lists the cells about an edge along axis a, counter-clockwise seen
// against the axis, as steps along the next two axes u, v, the third being the
// cell with the edge at its low corner; edge is the number, within its group of
// four, that the edge has in that cell.
var around = [3][4]struct {
	u, v int
	edge int8
}{
	{{-1, -1, 3}, {0, -1, 2}, {0, 0, 0}, {-1, 0, 1}},
	{{-1, -1, 3}, {0, -1, 1}, {0, 0, 0}, {-1, 0, 2}},
	{{-1, -1, 3}, {0, -1, 2}, {0, 0, 0}, {-1, 0, 1}},
}

// look finds the cell at block coordinates c, up to one step outside b.
func (g *lattice) look(b *dualBlock, c [3]int) (*dualBlock, int) {
	at := b.at
	for a := range 3 {
		switch {
		case c[a] < 0:
			c[a] += blockCells
			at[a]--
		case c[a] >= blockCells:
			c[a] -= blockCells
			at[a]++
		}
	}
	if at != b.at {
		i, ok := g.index[at]
		if !ok {
			return nil, -1
		}
		b = g.blocks[i]
	}
	return b, b.find(c[0], c[1], c[2])
}

// cellAt returns the low corner of the cell at block coordinates c.
func (g *lattice) cellAt(b *dualBlock, c [3]int) r3.Vec {
	return g.at(b.at[0]*blockCells+c[0], b.at[1]*blockCells+c[1], b.at[2]*blockCells+c[2])
}

func (g *lattice) unsettled(p r3.Vec) error {
	return fmt.Errorf("mesh: near %s mm the field's sign depends on from where it is inferred: it changes faster than the stated bound of %g per mm", place(p), g.lip)
}

// sheetAt returns the sheet of an edge, -1 when it is not crossed.
func sheetAt(code uint16, edge int) int8 {
	if !openMask[uint8(code)] {
		e := cellEdge[edge]
		return -int8(1 ^ (code>>e[0]^code>>e[1])&1)
	}
	sh := sheetsOf(code)
	return sh.of[edge]
}

func (s *prober) quad(b *dualBlock, n int, c [3]int, axis int, out *quadSink) {
	u, v := next3[axis], prev3[axis]
	var id [4]int32
	var p [4]r3.Vec
	forced, loose := false, false
	local := c[u] > 0 && c[v] > 0
	for k := range id {
		w := &around[axis][k]
		o, m := b, n
		if k != 2 {
			d := c
			d[u] += w.u
			d[v] += w.v
			if local {
				m = b.find(d[0], d[1], d[2])
			} else {
				o, m = s.g.look(b, d)
			}
		}
		sheet := int8(-1)
		code := uint16(0)
		if m >= 0 {
			code = o.cell[m]
			sheet = sheetAt(code, 4*axis+int(w.edge))
		}
		if sheet < 0 {
			s.err = s.g.unsettled(s.g.cellAt(b, c))
			return
		}
		i := o.vert[m] + int32(sheet)
		id[k], p[k] = o.first+i, o.pos[i]
		forced = forced || code&fanBit != 0
		loose = loose || code&looseBit != 0
	}
	e0 := s.g.cellAt(b, c)
	how := fan
	if !forced {
		how = s.choose(&p, e0, axis, loose)
	}
	if b.cell[n]&1 == 0 {
		// The edge starts outside: the normal goes against the axis. Turned
		// about corner 0, the diagonals keep their ends.
		id[1], id[3] = id[3], id[1]
	}
	switch how {
	case along02:
		out.tris = append(out.tris, [3]int32{id[0], id[1], id[2]}, [3]int32{id[0], id[2], id[3]})
	case along13:
		out.tris = append(out.tris, [3]int32{id[1], id[2], id[3]}, [3]int32{id[1], id[3], id[0]})
	default:
		e1 := e0
		set(&e1, axis, get(e0, axis)+s.g.cell)
		x, _ := s.root(e0, e1, s.eval(e0), s.eval(e1))
		set(&x, axis, min(max(get(x, axis), get(e0, axis)+cellMargin*s.g.cell), get(e1, axis)-cellMargin*s.g.cell))
		out.fan = append(out.fan, x)
		f := int32(-len(out.fan))
		for k := range 4 {
			out.tris = append(out.tris, [3]int32{id[k], id[(k+1)%4], f})
		}
	}
}

func get(p r3.Vec, axis int) float64 {
	switch axis {
	case 0:
		return p.X
	case 1:
		return p.Y
	}
	return p.Z
}

func set(p *r3.Vec, axis int, x float64) {
	switch axis {
	case 0:
		p.X = x
	case 1:
		p.Y = x
	default:
		p.Z = x
	}
}

// division says how a quadrilateral becomes triangles.
type division int

const (
	along02 division = iota // the values of these two are the first corner
	along13
	fan
)

// skewWithin is how far apart the diagonals of a quadrilateral may pass, in
// cells, for it to count as flat.
const skewWithin = 2e-3

// choose picks a diagonal that keeps the two triangles in the envelope of the
// edge; of two, the one nearer the surface if the corners are not flat, else
// the shorter. Without one it takes the fan, which always is in the envelope.
// With a corner outside its cell there is no envelope and that test is left out.
func (s *prober) choose(p *[4]r3.Vec, e0 r3.Vec, axis int, loose bool) division {
	d02, d13 := r3.Sub(p[2], p[0]), r3.Sub(p[3], p[1])
	first, second := along02, along13
	if r3.Norm2(d13) < r3.Norm2(d02)*(1-1e-9) {
		first, second = along13, along02
	}
	n := r3.Cross(d02, d13)
	if gap := math.Abs(r3.Dot(n, r3.Sub(p[1], p[0]))); gap > skewWithin*s.g.cell*math.Sqrt(r3.Norm2(n)) {
		f02 := math.Abs(s.eval(r3.Scale(0.5, r3.Add(p[0], p[2]))))
		f13 := math.Abs(s.eval(r3.Scale(0.5, r3.Add(p[1], p[3]))))
		if f02 < 0.8*f13 {
			first, second = along02, along13
		}
		if f13 < 0.8*f02 {
			first, second = along13, along02
		}
	}
	h := 1 / s.g.cell
	var l [4][3]float64 // u, v, w from e0, in cells
	for k := range 4 {
		switch d := r3.Scale(h, r3.Sub(p[k], e0)); axis {
		case 0:
			l[k] = [3]float64{d.Y, d.Z, d.X}
		case 1:
			l[k] = [3]float64{d.Z, d.X, d.Y}
		default:
			l[k] = [3]float64{d.X, d.Y, d.Z}
		}
	}
	for _, d := range [2]division{first, second} {
		i := int(d) // the diagonal runs from corner i to corner i+2
		j, k, m := i+1, i+2, (i+3)&3
		if (loose || inEnvelope(&l[i], &l[j], &l[k], &l[m])) &&
			higher(p[i], p[j], p[k], 1e-5*s.g.cell) && higher(p[i], p[k], p[m], 1e-5*s.g.cell) {
			return d
		}
	}
	return fan
}

// inEnvelope reports whether the triangles P, Q, R and P, R, S stay within the
// envelope of the lattice edge u = v = 0, 0 ≤ w ≤ 1: the tetrahedra over the
// edge, a corner, and the point where a side of the quadrilateral passes from
// that corner's cell into the next. The envelopes of different edges share
// only their walls. P, Q, R, S lie in consecutive quadrants of the u–v plane.
func inEnvelope(p, q, r, s *[3]float64) bool {
	const eps = 1e-9
	// The diagonal passes the edge on the side of x; the triangle with y meets it.
	x, y := q, s
	pr := p[0]*r[1] - p[1]*r[0]
	if pr < 0 {
		x, y, pr = s, q, -pr
	}
	ap, ar := math.Abs(r[0]*y[1]-r[1]*y[0]), math.Abs(y[0]*p[1]-y[1]*p[0])
	w, all := ap*p[2]+ar*r[2]+pr*y[2], ap+ar+pr
	if !(w > eps*all && w < (1-eps)*all) {
		return false
	}
	return inWall(p, r, x, eps) && inWall(r, p, x, eps)
}

// inWall reports whether the diagonal a–b passes the wall between the cells of
// a and x within the triangle of the envelope there.
func inWall(a, b, x *[3]float64, eps float64) bool {
	d := 0 // the coordinate that is zero on the wall
	if (a[0] < 0) == (x[0] < 0) {
		d = 1
	}
	t := a[d] / (a[d] - b[d])
	m := a[d] / (a[d] - x[d])
	o, ow := a[1-d]+t*(b[1-d]-a[1-d]), a[2]+t*(b[2]-a[2])
	f, fw := a[1-d]+m*(x[1-d]-a[1-d]), a[2]+m*(x[2]-a[2])
	l := o / f
	return l <= 1-eps && ow >= l*fw+(1-l)*eps && ow <= l*fw+(1-l)*(1-eps)
}
