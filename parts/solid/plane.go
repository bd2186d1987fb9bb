package solid

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/mesh/exact"
)

// A plane is a constrained Delaunay triangulation that two sets of contours
// share: the boundary of what lies below a level and of what lies above it, or
// the two ends of a chamfer. Unlike a triangulation of one region, contours of
// the two sets may touch, cross in a vertex or run along each other, and points
// may be added later. Each triangle knows how often either set winds round it.
type plane struct {
	at    []r2.Vec // the points given, points added, then the frame
	tri   []tri
	of    []int32 // a triangle at each point, -1 before it is inserted
	last  int32
	stack []int32
	cross [][2]int32
	sort  []uint64
	frame int32 // index of the first of the four frame points
}

// tri is counter-clockwise; edge i lies opposite v[i], runs from v[i+1] to
// v[i+2] and has the triangle n[i] beyond it, or -1.
type tri struct {
	v, n  [3]int32
	fixed [3]bool
	// step[i][s] is how much set s winds round this triangle more than round
	// the one beyond edge i.
	step [3][2]int8
	wind [2]int8
}

var succ = [3]int{1, 2, 0}
var pred = [3]int{2, 0, 1}

func (t *tri) corner(v int32) int {
	for i := range 3 {
		if t.v[i] == v {
			return i
		}
	}
	return -1
}

func (t *tri) beyond(n int32) int {
	for i := range 3 {
		if t.n[i] == n {
			return i
		}
	}
	return -1
}

// newPlane triangulates a frame around all of points; ids are inserted.
func newPlane(points []r2.Vec, ids []int32) (*plane, error) {
	n := int32(len(points))
	p := &plane{frame: n}
	p.at = make([]r2.Vec, n, int(n)+4+len(ids)/8)
	copy(p.at, points)
	lo := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}
	hi := r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, i := range ids {
		q := points[i]
		lo.X, hi.X = min(lo.X, q.X), max(hi.X, q.X)
		lo.Y, hi.Y = min(lo.Y, q.Y), max(hi.Y, q.Y)
	}
	s := max(hi.X-lo.X, hi.Y-lo.Y)
	if !(s > 0) || math.IsInf(s, 0) {
		return nil, fmt.Errorf("solid: contours span %g mm", s)
	}
	lo, hi = r2.Vec{X: lo.X - s, Y: lo.Y - s}, r2.Vec{X: hi.X + s, Y: hi.Y + s}
	p.at = append(p.at, lo, r2.Vec{X: hi.X, Y: lo.Y}, hi, r2.Vec{X: lo.X, Y: hi.Y})
	p.of = make([]int32, len(p.at), cap(p.at))
	for i := range p.of {
		p.of[i] = -1
	}
	p.tri = make([]tri, 0, 2*len(ids)+16)
	p.tri = append(p.tri,
		tri{v: [3]int32{n, n + 1, n + 2}, n: [3]int32{-1, 1, -1}},
		tri{v: [3]int32{n, n + 2, n + 3}, n: [3]int32{-1, -1, 0}})
	p.of[n], p.of[n+1], p.of[n+2], p.of[n+3] = 0, 0, 0, 1
	// Along a space-filling curve each search is short.
	scale := 65535 / (hi.X - lo.X)
	scale = min(scale, 65535/(hi.Y-lo.Y))
	p.sort = make([]uint64, 0, len(ids))
	for _, i := range ids {
		q := p.at[i]
		p.sort = append(p.sort, uint64(curveKey(uint32((q.X-lo.X)*scale), uint32((q.Y-lo.Y)*scale)))<<32|uint64(i))
	}
	slices.Sort(p.sort)
	for _, k := range p.sort {
		i := int32(k & math.MaxUint32)
		if p.of[i] >= 0 {
			continue
		}
		if err := p.insert(i); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// curveKey is the position of a cell of a 2¹⁶ grid along Hilbert's curve.
func curveKey(x, y uint32) (d uint32) {
	for s := uint32(1 << 15); s > 0; s >>= 1 {
		rx, ry := min(x&s, 1), min(y&s, 1)
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

// locate returns the triangle that holds q, and the edge of it that q lies on
// or -1.
func (p *plane) locate(q r2.Vec) (t int32, on int) {
	t = p.last
walk:
	for step := 0; step < 4*len(p.tri)+64; step++ {
		tr := &p.tri[t]
		on = -1
		for j := range 3 {
			i := (j + step) % 3 // a turning start keeps a walk from circling
			s := exact.Orient2(p.at[tr.v[succ[i]]], p.at[tr.v[pred[i]]], q)
			if s < 0 {
				t = tr.n[i]
				continue walk
			}
			if s == 0 {
				on = i
			}
		}
		return t, on
	}
	return -1, -1 // not reached: a Delaunay triangulation has no circular walks
}

// insert adds point i, which must lie within the frame.
func (p *plane) insert(i int32) error {
	q := p.at[i]
	t, on := p.locate(q)
	for _, v := range p.tri[t].v {
		if p.at[v] == q {
			return fmt.Errorf("solid: contour points %d and %d coincide at (%g, %g)", v, i, q.X, q.Y)
		}
	}
	if on >= 0 {
		p.splitEdge(t, on, i)
	} else {
		p.splitFace(t, i)
	}
	p.last = p.of[i]
	p.legalise()
	return nil
}

func (p *plane) relink(t, from, to int32) {
	if t >= 0 {
		tr := &p.tri[t]
		tr.n[tr.beyond(from)] = to
	}
}

func (p *plane) splitFace(t, i int32) {
	o := p.tri[t]
	k := int32(len(p.tri))
	for c := range 3 {
		n := tri{v: [3]int32{i, o.v[succ[c]], o.v[pred[c]]}, wind: o.wind}
		self := [3]int32{t, k, k + 1}
		n.n = [3]int32{o.n[c], self[succ[c]], self[pred[c]]}
		n.fixed[0], n.step[0] = o.fixed[c], o.step[c]
		if c == 0 {
			p.tri[t] = n
		} else {
			p.tri = append(p.tri, n)
			p.relink(o.n[c], t, self[c])
		}
		p.stack = append(p.stack, self[c])
	}
	p.of[i], p.of[o.v[0]], p.of[o.v[1]], p.of[o.v[2]] = t, k, t, t
}

// splitEdge puts point i on edge e of triangle t. The halves of a fixed edge
// stay fixed.
func (p *plane) splitEdge(t int32, e int, i int32) {
	o := p.tri[t]
	a, b, d := o.v[e], o.v[succ[e]], o.v[pred[e]]
	u := o.n[e]
	k := int32(len(p.tri))
	nt := tri{v: [3]int32{i, a, b}, n: [3]int32{o.n[pred[e]], u, k}, wind: o.wind}
	nk := tri{v: [3]int32{i, d, a}, n: [3]int32{o.n[succ[e]], t, k + 1}, wind: o.wind}
	nt.fixed = [3]bool{o.fixed[pred[e]], o.fixed[e], false}
	nk.fixed = [3]bool{o.fixed[succ[e]], false, o.fixed[e]}
	nt.step[0], nt.step[1] = o.step[pred[e]], o.step[e]
	nk.step[0], nk.step[2] = o.step[succ[e]], o.step[e]
	p.of[i], p.of[a], p.of[b], p.of[d] = t, t, t, k
	p.stack = append(p.stack, t, k)
	p.relink(o.n[succ[e]], t, k)
	if u < 0 {
		nk.n[2] = -1
		p.tri[t] = nt
		p.tri = append(p.tri, nk)
		return
	}
	w := p.tri[u]
	j := w.beyond(t)
	q := w.v[j] // beyond q: w.v[j+1] == d, w.v[j+2] == b
	nu := tri{v: [3]int32{i, b, q}, n: [3]int32{w.n[succ[j]], k + 1, t}, wind: w.wind}
	nv := tri{v: [3]int32{i, q, d}, n: [3]int32{w.n[pred[j]], k, u}, wind: w.wind}
	nu.fixed = [3]bool{w.fixed[succ[j]], false, w.fixed[j]}
	nv.fixed = [3]bool{w.fixed[pred[j]], w.fixed[j], false}
	nu.step[0], nu.step[2] = w.step[succ[j]], w.step[j]
	nv.step[0], nv.step[1] = w.step[pred[j]], w.step[j]
	p.relink(w.n[pred[j]], u, k+1)
	p.tri[t], p.tri[u] = nt, nu
	p.tri = append(p.tri, nk, nv)
	p.of[q] = u
	p.stack = append(p.stack, u, k+1)
}

// legalise flips edges opposite corner 0 of the stacked triangles until all
// circles are empty as far as fixed edges allow.
func (p *plane) legalise() {
	for len(p.stack) > 0 {
		t := p.stack[len(p.stack)-1]
		p.stack = p.stack[:len(p.stack)-1]
		tr := &p.tri[t]
		u := tr.n[0]
		if u < 0 || tr.fixed[0] {
			continue
		}
		w := &p.tri[u]
		q := w.v[w.beyond(t)]
		if exact.InCircle(p.at[tr.v[0]], p.at[tr.v[1]], p.at[tr.v[2]], p.at[q]) {
			p.flip(t, 0)
			p.stack = append(p.stack, t, u)
		}
	}
}

// flip turns edge i of t. The former corner i of t is then corner 0 of both,
// and the new edge ends in corner 2 of t.
func (p *plane) flip(t int32, i int) {
	a := p.tri[t]
	u := a.n[i]
	b := p.tri[u]
	j := b.beyond(t)
	i1, i2, j1, j2 := succ[i], pred[i], succ[j], pred[j]
	c, v1, v2, q := a.v[i], a.v[i1], a.v[i2], b.v[j]
	p.tri[t] = tri{
		v: [3]int32{c, v1, q}, n: [3]int32{b.n[j1], u, a.n[i2]}, wind: a.wind,
		fixed: [3]bool{b.fixed[j1], false, a.fixed[i2]},
		step:  [3][2]int8{b.step[j1], {}, a.step[i2]},
	}
	p.tri[u] = tri{
		v: [3]int32{c, q, v2}, n: [3]int32{b.n[j2], a.n[i1], t}, wind: a.wind,
		fixed: [3]bool{b.fixed[j2], a.fixed[i1], false},
		step:  [3][2]int8{b.step[j2], a.step[i1], {}},
	}
	p.relink(b.n[j1], u, t)
	p.relink(a.n[i1], t, u)
	p.of[c], p.of[v1], p.of[q], p.of[v2] = t, t, t, u
}

// label works out how often either set winds round every triangle.
func (p *plane) label() {
	seen := make([]bool, len(p.tri))
	start := p.of[p.frame]
	seen[start] = true
	p.tri[start].wind = [2]int8{}
	p.stack = append(p.stack[:0], start)
	for len(p.stack) > 0 {
		t := p.stack[len(p.stack)-1]
		p.stack = p.stack[:len(p.stack)-1]
		for i, u := range p.tri[t].n {
			if u >= 0 && !seen[u] {
				seen[u] = true
				w, s := p.tri[t].wind, p.tri[t].step[i]
				p.tri[u].wind = [2]int8{w[0] - s[0], w[1] - s[1]}
				p.stack = append(p.stack, u)
			}
		}
	}
}

// add puts a new point into the triangulation and returns its index. A point that
// is meant to lie on an edge is beside it by rounding; it divides the edge, as the
// sliver between them could not be turned away where more points lie in line.
func (p *plane) add(q r2.Vec) (int32, error) {
	i := int32(len(p.at))
	p.at = append(p.at, q)
	p.of = append(p.of, -1)
	if t, on := p.locate(q); on < 0 {
		for e := range 3 {
			if p.beside(t, e, q) {
				p.splitEdge(t, e, i)
				p.last = p.of[i]
				p.legalise()
				return i, nil
			}
		}
	}
	return i, p.insert(i)
}

// beside reports whether q, in triangle t, is so near to its edge e that it may as well
// lie on it: no contour has the edge, and the triangles beyond stay as they are turned.
func (p *plane) beside(t int32, e int, q r2.Vec) bool {
	const near = 1e-6 // mm
	tr := &p.tri[t]
	a, b := p.at[tr.v[succ[e]]], p.at[tr.v[pred[e]]]
	if u := tr.n[e]; u >= 0 && tr.step[e] == [2]int8{} && math.Abs(r2.Cross(r2.Sub(b, a), r2.Sub(q, a))) < near*r2.Norm(r2.Sub(b, a)) {
		w := p.at[p.tri[u].v[p.tri[u].beyond(t)]]
		return exact.Orient2(a, w, q) > 0 && exact.Orient2(w, b, q) > 0
	}
	return false
}

// star returns the triangles around point v, which is not of the frame, in order.
func (p *plane) star(v int32) []int32 {
	out := []int32{p.of[v]}
	for t := p.tri[p.of[v]].n[succ[p.tri[p.of[v]].corner(v)]]; t != out[0]; {
		out = append(out, t)
		t = p.tri[t].n[succ[p.tri[t].corner(v)]]
	}
	return out
}

// remove takes a point that no contour has out of the triangulation: edges at it
// are turned away until three are left (after O. Devillers, On deletion in Delaunay
// triangulations, 1999). It returns the triangles that take the place of the star;
// two become empty. It returns nil if the point has to stay, on a line between others.
func (p *plane) remove(v int32) (fresh []int32) {
	ring := p.star(v)
	var near []int32
	for _, t := range ring {
		tr := &p.tri[t]
		k := tr.corner(v)
		if tr.step[succ[k]] != [2]int8{} {
			return nil
		}
		near = append(near, tr.v[succ[k]])
	}
	for len(near) > 3 {
		ear := -1
		for i, n := 0, len(near); i < n && ear < 0; i++ {
			before, w, after := p.at[near[(i+n-1)%n]], p.at[near[i]], p.at[near[(i+1)%n]]
			rest := exact.Orient2(before, after, p.at[v])
			// Of four the last may lie in line with the point: nothing stays of that.
			if exact.Orient2(before, w, after) > 0 && (rest > 0 || n == 4 && rest == 0 && exact.Orient2(before, after, p.at[near[(i+2)%n]]) > 0) {
				ear = i
			}
		}
		if ear < 0 {
			return nil
		}
		p.flip(p.edge(v, near[ear]))
		near = slices.Delete(near, ear, ear+1)
	}
	// Triangle i of the last three has the edge that leaves corner i of the one left.
	ts := p.star(v)
	one := tri{wind: p.tri[ts[0]].wind}
	for i, t := range ts {
		tr := &p.tri[t]
		k, e := tr.corner(v), pred[i]
		one.v[i], one.n[e], one.fixed[e], one.step[e] = tr.v[succ[k]], tr.n[k], tr.fixed[k], tr.step[k]
	}
	for i, t := range ts {
		p.relink(one.n[pred[i]], t, ts[0])
		p.tri[t] = tri{v: [3]int32{-1, -1, -1}, n: [3]int32{-1, -1, -1}}
	}
	p.tri[ts[0]] = one
	for _, w := range one.v {
		p.of[w] = ts[0]
	}
	p.of[v], p.last = -1, ts[0]
	return slices.DeleteFunc(ring, func(t int32) bool { return p.tri[t].v[0] < 0 })
}
