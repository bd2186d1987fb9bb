package mesh

import (
	"fmt"
	"math"
	"math/bits"

	"gonum.org/v1/gonum/spatial/r3"
)

// corner is one of the four cells around a crossed lattice edge: its block,
// its place among the block's crossed cells, and the vertex of the sheet that
// the edge belongs to.
type corner struct {
	b    *dualBlock
	cell int
	vert int32 // in b
}

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
	m.Vertices = make([]r3.Vec, 0, nv)
	m.Triangles = make([][3]int32, 0, nt)
	for _, b := range g.blocks {
		m.Vertices = append(m.Vertices, b.pos...)
	}
	for i := range sinks {
		base := int32(len(m.Vertices))
		m.Vertices = append(m.Vertices, sinks[i].fan...)
		at := len(m.Triangles)
		g.blocks[i].tris = [2]int{at, at + len(sinks[i].tris)}
		m.Triangles = append(m.Triangles, sinks[i].tris...)
		if len(sinks[i].fan) == 0 {
			continue
		}
		for t := at; t < len(m.Triangles); t++ {
			for k, v := range m.Triangles[t] {
				if v < 0 {
					m.Triangles[t][k] = base - 1 - v
				}
			}
		}
	}
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
// against the axis, as steps along the next two axes u, v; edge is the
// number, within its group of four, that the edge has in that cell.
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
	var q [4]corner
	var p [4]r3.Vec
	forced, loose := false, false
	for k, w := range around[axis] {
		d := c
		d[u] += w.u
		d[v] += w.v
		o, m := b, n
		if w.u != 0 || w.v != 0 {
			o, m = s.g.look(b, d)
		}
		sheet := int8(-1)
		if m >= 0 {
			sheet = sheetAt(o.cell[m], 4*axis+int(w.edge))
		}
		if sheet < 0 {
			s.err = s.g.unsettled(s.g.cellAt(b, c))
			return
		}
		q[k] = corner{o, m, o.vert[m] + int32(sheet)}
		p[k] = o.pos[q[k].vert]
		forced = forced || o.cell[m]&fanBit != 0
		loose = loose || o.cell[m]&looseBit != 0
	}
	e0 := s.g.cellAt(b, c)
	id := func(k int) int32 { return q[k].b.first + q[k].vert }
	ids := [4]int32{id(0), id(1), id(2), id(3)}
	how := fan
	if !forced {
		how = s.choose(&p, e0, axis, loose)
	}
	low := b.cell[n]&1 != 0 // the edge starts inside: the normal goes along the axis
	add := func(x, y, z int32) {
		if !low {
			y, z = z, y
		}
		out.tris = append(out.tris, [3]int32{x, y, z})
	}
	switch how {
	case along02:
		add(ids[0], ids[1], ids[2])
		add(ids[0], ids[2], ids[3])
	case along13:
		add(ids[1], ids[2], ids[3])
		add(ids[1], ids[3], ids[0])
	default:
		e1 := e0
		set(&e1, axis, get(e0, axis)+s.g.cell)
		x, _ := s.root(e0, e1, s.eval(e0), s.eval(e1))
		set(&x, axis, min(max(get(x, axis), get(e0, axis)+cellMargin*s.g.cell), get(e1, axis)-cellMargin*s.g.cell))
		out.fan = append(out.fan, x)
		f := int32(-len(out.fan))
		for k := range 4 {
			add(ids[k], ids[(k+1)%4], f)
		}
	}
}

func get(p r3.Vec, axis int) float64 { return [3]float64{p.X, p.Y, p.Z}[axis] }

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
// the shorter. Without one it takes the fan,
// which always is in the envelope. With a corner outside its cell there is no
// envelope and that test is left out.
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
		d := r3.Sub(p[k], e0)
		x := [3]float64{d.X * h, d.Y * h, d.Z * h}
		l[k] = [3]float64{x[next3[axis]], x[prev3[axis]], x[axis]}
	}
	for _, d := range [2]division{first, second} {
		i := int(d) // the diagonal runs from corner i to corner i+2
		j, k, m := i+1, i+2, (i+3)&3
		if (loose || inEnvelope(&l[i], &l[j], &l[k], &l[m])) &&
			min(triangleHeight(p[i], p[j], p[k]), triangleHeight(p[i], p[k], p[m])) > 1e-5*s.g.cell {
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
	cross := func(a, b *[3]float64) float64 { return a[0]*b[1] - a[1]*b[0] }
	// The diagonal passes the edge on the side of x; the triangle with y meets it.
	x, y := q, s
	if cross(p, r) < 0 {
		x, y = s, q
	}
	ap, ar, ay := math.Abs(cross(r, y)), math.Abs(cross(y, p)), math.Abs(cross(p, r))
	w := (ap*p[2] + ar*r[2] + ay*y[2]) / (ap + ar + ay)
	if !(w > eps && w < 1-eps) {
		return false
	}
	for _, e := range [2][2]*[3]float64{{p, r}, {r, p}} {
		a, b := e[0], e[1]
		// The wall between the cells of a and x, where coordinate d is zero.
		d := 0
		if (a[0] < 0) == (x[0] < 0) {
			d = 1
		}
		t := a[d] / (a[d] - b[d])
		m := a[d] / (a[d] - x[d])
		o, ow := a[1-d]+t*(b[1-d]-a[1-d]), a[2]+t*(b[2]-a[2])
		f, fw := a[1-d]+m*(x[1-d]-a[1-d]), a[2]+m*(x[2]-a[2])
		l := o / f
		if !(l <= 1-eps && ow >= l*fw+(1-l)*eps && ow <= l*fw+(1-l)*(1-eps)) {
			return false
		}
	}
	return true
}
