package mesh

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// Triangulate divides the plane region bounded by loops into counter-clockwise
// triangles over the given points; it adds none. Loops index points: those
// around material run counter-clockwise, those around holes clockwise, and
// islands may lie in holes to any depth. Points that no loop names are ignored.
//
// The result is the constrained Delaunay triangulation: among all divisions of
// the region it makes the smallest angle largest. (Four points on one circle
// to within rounding may be divided either way.) Predicates are exact, so any
// region with loops that neither touch nor cross comes out with all triangles
// of positive area. The order of the triangles depends on the input alone.
//
// It returns an error that names the points concerned when a loop has fewer
// than three points, an index or coordinate is bad, two points coincide, a
// point lies on an edge, edges cross, or a loop runs the wrong way round.
func Triangulate(points []r2.Vec, loops [][]int32) ([][3]int32, error) {
	n := 0
	for _, l := range loops {
		n += len(l)
	}
	if n == 0 && len(loops) == 0 {
		return nil, nil
	}
	c := &cdt{at: make([]r2.Vec, 0, n+4), id: make([]int32, 0, n+4)}
	if err := c.read(points, loops); err != nil {
		return nil, err
	}
	if err := c.insertAll(); err != nil {
		return nil, err
	}
	first := 0
	for _, l := range loops {
		for i := range l {
			j := i + 1
			if j == len(l) {
				j = 0
			}
			if err := c.constrain(int32(first+i), int32(first+j)); err != nil {
				return nil, err
			}
		}
		first += len(l)
	}
	inside, err := c.label(loops)
	if err != nil {
		return nil, err
	}
	c.settle(inside)
	out := make([][3]int32, 0, n+2*len(loops))
	for i, in := range inside {
		if in > 0 {
			v := c.tri[i].v
			out = append(out, [3]int32{c.id[v[0]], c.id[v[1]], c.id[v[2]]})
		}
	}
	return out, nil
}

// cdt is a triangulation under construction. Its vertices are the loops'
// points in order, then four corners of a frame around them; the frame never
// takes part in the result because every triangle of the region lies within
// the constrained loops.
type cdt struct {
	at    []r2.Vec
	id    []int32 // caller's index of each vertex
	tri   []cdtTri
	of    []int32 // a triangle at each vertex
	last  int32   // where the previous search ended
	stack []int32 // triangles whose edge 0 may need a flip
	cross [][2]int32
	fresh [][2]int32
}

// cdtTri is counter-clockwise; n[i] is the neighbour across the edge opposite
// v[i], from v[i+1] to v[i+2], or -1, and fixed[i] that edge is a constraint.
type cdtTri struct {
	v, n  [3]int32
	fixed [3]bool
}

var next3 = [3]int{1, 2, 0}
var prev3 = [3]int{2, 0, 1}

func (t *cdtTri) vertex(v int32) int {
	if t.v[0] == v {
		return 0
	}
	if t.v[1] == v {
		return 1
	}
	return 2
}

func (t *cdtTri) neighbour(n int32) int {
	if t.n[0] == n {
		return 0
	}
	if t.n[1] == n {
		return 1
	}
	return 2
}

func (c *cdt) read(points []r2.Vec, loops [][]int32) error {
	lo := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}
	hi := r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for k, l := range loops {
		if len(l) < 3 {
			return fmt.Errorf("triangulate: loop %d has %d points, at least 3 are needed", k, len(l))
		}
		for _, i := range l {
			if i < 0 || int(i) >= len(points) {
				return fmt.Errorf("triangulate: loop %d names point %d of %d", k, i, len(points))
			}
			p := points[i]
			if p.X-p.X != 0 || p.Y-p.Y != 0 {
				return fmt.Errorf("triangulate: loop %d: point %d is (%g, %g)", k, i, p.X, p.Y)
			}
			lo.X, hi.X = min(lo.X, p.X), max(hi.X, p.X)
			lo.Y, hi.Y = min(lo.Y, p.Y), max(hi.Y, p.Y)
			c.at = append(c.at, p)
			c.id = append(c.id, i)
		}
	}
	n := int32(len(c.at))
	s := max(hi.X-lo.X, hi.Y-lo.Y)
	lo, hi = r2.Vec{X: lo.X - s, Y: lo.Y - s}, r2.Vec{X: hi.X + s, Y: hi.Y + s}
	if !(lo.X < hi.X && lo.Y < hi.Y) || math.IsInf(s, 0) {
		return fmt.Errorf("triangulate: the loops span %g × %g mm", hi.X-lo.X, hi.Y-lo.Y)
	}
	c.at = append(c.at, lo, r2.Vec{X: hi.X, Y: lo.Y}, hi, r2.Vec{X: lo.X, Y: hi.Y})
	c.id = append(c.id, -1, -1, -1, -1)
	c.of = make([]int32, n+4)
	c.tri = make([]cdtTri, 0, 2*n+8)
	c.tri = append(c.tri,
		cdtTri{v: [3]int32{n, n + 1, n + 2}, n: [3]int32{-1, 1, -1}},
		cdtTri{v: [3]int32{n, n + 2, n + 3}, n: [3]int32{-1, -1, 0}})
	c.of[n], c.of[n+1], c.of[n+2], c.of[n+3] = 0, 0, 0, 1
	return nil
}

// insertAll adds the points along a space-filling curve, which keeps each
// search short.
func (c *cdt) insertAll() error {
	n := len(c.at) - 4
	o := c.at[n]
	scale := 65535 / max(c.at[n+2].X-o.X, c.at[n+2].Y-o.Y)
	order := make([]uint64, n)
	for i := range order {
		p := c.at[i]
		order[i] = uint64(hilbert(uint32((p.X-o.X)*scale), uint32((p.Y-o.Y)*scale)))<<32 | uint64(i)
	}
	slices.Sort(order)
	for _, k := range order {
		if err := c.insert(int32(k & math.MaxUint32)); err != nil {
			return err
		}
	}
	return nil
}

// hilbert returns the position of a cell of the 2¹⁶ × 2¹⁶ grid along Hilbert's curve.
func hilbert(x, y uint32) uint32 {
	var d uint32
	for s := uint32(1 << 15); s > 0; s >>= 1 {
		var rx, ry uint32
		if x&s != 0 {
			rx = 1
		}
		if y&s != 0 {
			ry = 1
		}
		d = d<<2 | (3*rx ^ ry)
		if ry == 0 {
			if rx == 1 {
				x, y = ^x, ^y
			}
			x, y = y, x
		}
	}
	return d
}

// locate returns a triangle that holds p and, when p lies on its edge e
// (opposite corner e), on = e, else -1.
func (c *cdt) locate(p r2.Vec) (t int32, on int) {
	t = c.last
	from := int32(-1)
walk:
	for step := 0; ; step++ {
		tr := &c.tri[t]
		on = -1
		for j := range 3 {
			// Turning the first edge tried keeps a walk from circling.
			i := (j + step) % 3
			if from >= 0 && tr.n[i] == from {
				continue // p is strictly on this side of the edge come through
			}
			s := orient2(c.at[tr.v[next3[i]]], c.at[tr.v[prev3[i]]], p)
			if s < 0 {
				from, t = t, tr.n[i]
				continue walk
			}
			if s == 0 {
				on = i
			}
		}
		return t, on
	}
}

func (c *cdt) insert(p int32) error {
	at := c.at[p]
	t, on := c.locate(at)
	for _, v := range c.tri[t].v {
		if c.at[v] == at {
			return fmt.Errorf("triangulate: points %d and %d coincide at (%g, %g)", c.id[v], c.id[p], at.X, at.Y)
		}
	}
	if on >= 0 {
		c.splitEdge(t, on, p)
	} else {
		c.splitFace(t, p)
	}
	c.last = c.of[p]
	c.legalise()
	return nil
}

func (c *cdt) relink(t, from, to int32) {
	if t >= 0 {
		tr := &c.tri[t]
		tr.n[tr.neighbour(from)] = to
	}
}

// splitFace puts p inside triangle t. New triangles have p as corner 0.
func (c *cdt) splitFace(t, p int32) {
	o := c.tri[t]
	k := int32(len(c.tri))
	c.tri[t] = cdtTri{v: [3]int32{p, o.v[1], o.v[2]}, n: [3]int32{o.n[0], k, k + 1}}
	c.tri = append(c.tri,
		cdtTri{v: [3]int32{p, o.v[2], o.v[0]}, n: [3]int32{o.n[1], k + 1, t}},
		cdtTri{v: [3]int32{p, o.v[0], o.v[1]}, n: [3]int32{o.n[2], t, k}})
	c.relink(o.n[1], t, k)
	c.relink(o.n[2], t, k+1)
	c.of[p], c.of[o.v[0]], c.of[o.v[1]], c.of[o.v[2]] = t, k, t, t
	c.stack = append(c.stack, t, k, k+1)
}

// splitEdge puts p on edge e of triangle t.
func (c *cdt) splitEdge(t int32, e int, p int32) {
	o := c.tri[t]
	a, b, d := o.v[e], o.v[next3[e]], o.v[prev3[e]]
	u := o.n[e]
	k := int32(len(c.tri))
	// t keeps a, b; k takes d, a. Only the frame has an edge without a far side.
	c.tri[t] = cdtTri{v: [3]int32{p, a, b}, n: [3]int32{o.n[prev3[e]], -1, k}}
	c.tri = append(c.tri, cdtTri{v: [3]int32{p, d, a}, n: [3]int32{o.n[next3[e]], t, -1}})
	c.relink(o.n[next3[e]], t, k)
	c.of[p], c.of[a], c.of[b], c.of[d] = t, t, t, k
	c.stack = append(c.stack, t, k)
	if u < 0 {
		return
	}
	w := c.tri[u]
	j := w.neighbour(t)
	q := w.v[j] // w.v[j+1] == d, w.v[j+2] == b
	c.tri[u] = cdtTri{v: [3]int32{p, b, q}, n: [3]int32{w.n[next3[j]], k + 1, t}}
	c.tri = append(c.tri, cdtTri{v: [3]int32{p, q, d}, n: [3]int32{w.n[prev3[j]], k, u}})
	c.relink(w.n[prev3[j]], u, k+1)
	c.tri[t].n[1], c.tri[k].n[2] = u, k+1
	c.of[q] = u
	c.stack = append(c.stack, u, k+1)
}

// legalise flips edges opposite corner 0 of the stacked triangles until every
// circle about them is empty as far as constraints allow.
func (c *cdt) legalise() {
	for len(c.stack) > 0 {
		t := c.stack[len(c.stack)-1]
		c.stack = c.stack[:len(c.stack)-1]
		tr := &c.tri[t]
		u := tr.n[0]
		if u < 0 || tr.fixed[0] {
			continue
		}
		w := &c.tri[u]
		q := w.v[w.neighbour(t)]
		if insideCircle(c.at[tr.v[0]], c.at[tr.v[1]], c.at[tr.v[2]], c.at[q]) {
			c.flip(t, 0)
			c.stack = append(c.stack, t, u)
		}
	}
}

// flip turns edge i of triangle t within the quadrilateral of its two
// triangles. Both then have the former corner i of t as corner 0, and the
// other end of the new edge as corner 2 of t.
func (c *cdt) flip(t int32, i int) {
	a := c.tri[t]
	u := a.n[i]
	b := c.tri[u]
	j := b.neighbour(t)
	i1, i2, j1, j2 := next3[i], prev3[i], next3[j], prev3[j]
	p, v1, v2, q := a.v[i], a.v[i1], a.v[i2], b.v[j]
	c.tri[t] = cdtTri{
		v:     [3]int32{p, v1, q},
		n:     [3]int32{b.n[j1], u, a.n[i2]},
		fixed: [3]bool{b.fixed[j1], false, a.fixed[i2]},
	}
	c.tri[u] = cdtTri{
		v:     [3]int32{p, q, v2},
		n:     [3]int32{b.n[j2], a.n[i1], t},
		fixed: [3]bool{b.fixed[j2], a.fixed[i1], false},
	}
	c.relink(b.n[j1], u, t)
	c.relink(a.n[i1], t, u)
	c.of[p], c.of[v1], c.of[q], c.of[v2] = t, t, t, u
}
