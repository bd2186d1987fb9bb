package profile

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// Field evaluates the exact signed distance to a region, with a bounding-volume
// tree over its edges. It is immutable and safe for concurrent use; queries
// allocate nothing.
type Field struct {
	segs  []fieldSeg
	nodes []node
	edges []Edge // original edges, by fieldSeg.edge
	where []place
	box   r2.Box
	// starts holds a point of each outer loop.
	starts []r2.Vec
}

type place struct{ loop, edge int32 }

type fieldSeg struct {
	seg
	bulge float64
	edge  int32
	// pseudo-normals at the ends: the sum of the outward normals of the edges that meet
	// there. plain means that a side can be told from it.
	na, nb         r2.Vec
	plainA, plainB bool
}

// node is a box over segs[from:to] of a leaf, or over two nodes: the next one
// and right.
type node struct {
	lo, hi   r2.Vec
	from, to int32
	right    int32 // 0 for a leaf
}

const leafSize = 2

// maxDepth bounds the traversal stack: halving keeps depth below log2(n)+1.
const maxDepth = 48

// NewField indexes a region. The distance to an empty region is +Inf.
func NewField(r Region) *Field {
	f := &Field{}
	type owner struct{ next, prev int }
	r.Edges(func(i, j int, e Edge) {
		f.edges = append(f.edges, e)
		f.where = append(f.where, place{int32(i), int32(j)})
	})
	var own []owner
	k := 0
	for _, l := range r {
		first := len(f.segs)
		if l.Area() > 0 {
			f.starts = append(f.starts, l[0].P)
		}
		for range l {
			for _, s := range f.edges[k].segs() {
				f.segs = append(f.segs, fieldSeg{seg: s, bulge: math.Tan(s.sweep / 4), edge: int32(k)})
				own = append(own, owner{len(f.segs), len(f.segs) - 2})
			}
			k++
		}
		own[first].prev, own[len(own)-1].next = len(f.segs)-1, first
	}
	for i := range f.segs {
		s := &f.segs[i]
		s.nb = r2.Add(right(s.tb), right(f.segs[own[i].next].ta))
		s.na = r2.Add(right(s.ta), right(f.segs[own[i].prev].tb))
		// A cusp has opposite normals, whose sum says nothing.
		s.plainA, s.plainB = r2.Norm2(s.na) > 1e-4, r2.Norm2(s.nb) > 1e-4
	}
	f.markShared()
	if len(f.segs) > 0 {
		f.build(0, len(f.segs))
		f.box = r2.Box{Min: f.nodes[0].lo, Max: f.nodes[0].hi}
	}
	return f
}

// markShared clears plain at vertices that more than two edges share.
func (f *Field) markShared() {
	order := make([]int32, len(f.segs))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(i, j int32) int {
		switch x, y := f.segs[i].a.X, f.segs[j].a.X; {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return int(i - j)
	})
	bad := map[r2.Vec]bool{}
	for k, i := range order {
		for _, j := range order[k+1:] {
			p, q := f.segs[i].a, f.segs[j].a
			if q.X-p.X > 2*Tol {
				break
			}
			if dist2(p, q) <= 4*Tol*Tol {
				bad[p], bad[q] = true, true
			}
		}
	}
	for i := range f.segs {
		s := &f.segs[i]
		s.plainA = s.plainA && !bad[s.a]
		s.plainB = s.plainB && !bad[s.b]
	}
}

// build makes the subtree over segs[from:to] and returns its index.
func (f *Field) build(from, to int) int32 {
	at := int32(len(f.nodes))
	lo, hi := f.segs[from].box()
	for i := from + 1; i < to; i++ {
		l, h := f.segs[i].box()
		lo, hi = minVec(lo, l), maxVec(hi, h)
	}
	f.nodes = append(f.nodes, node{lo: lo, hi: hi, from: int32(from), to: int32(to)})
	if to-from <= leafSize {
		return at
	}
	mid := (from + to) / 2
	wide := hi.X-lo.X >= hi.Y-lo.Y
	slices.SortStableFunc(f.segs[from:to], func(s, t fieldSeg) int {
		x, y := s.a.Y+s.b.Y, t.a.Y+t.b.Y
		if wide {
			x, y = s.a.X+s.b.X, t.a.X+t.b.X
		}
		switch {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	f.build(from, mid)
	right := f.build(mid, to)
	f.nodes[at].right = right
	return at
}

// Box returns the bounds of the region.
func (f *Field) Box() r2.Box { return f.box }

// NumEdges returns the number of edges of the region.
func (f *Field) NumEdges() int { return len(f.edges) }

func (n *node) dist2(p r2.Vec) float64 {
	dx := max(n.lo.X-p.X, p.X-n.hi.X, 0)
	dy := max(n.lo.Y-p.Y, p.Y-n.hi.Y, 0)
	return dx*dx + dy*dy
}

// near returns the nearest seg, its distance, and where its foot is: 0 between
// the ends, −1 at a, +1 at b. limit bounds the search; −1 says none is nearer.
func (f *Field) near(p r2.Vec, limit float64) (best int32, d float64, end int8) {
	best, d = -1, limit
	if len(f.nodes) == 0 {
		return best, d, 0
	}
	d2 := d * d
	type entry struct {
		n int32
		d float64
	}
	var stack [maxDepth]entry
	top := 0
	stack[0] = entry{0, f.nodes[0].dist2(p)}
	for top >= 0 {
		e := stack[top]
		top--
		if e.d >= d2 {
			continue
		}
		n := &f.nodes[e.n]
		for n.right != 0 {
			l, r := e.n+1, n.right
			dl, dr := f.nodes[l].dist2(p), f.nodes[r].dist2(p)
			if dr < dl {
				l, r, dl, dr = r, l, dr, dl
			}
			if dr < d2 {
				top++
				stack[top] = entry{r, dr}
			}
			e.n = l
			n = &f.nodes[l]
			if dl >= d2 {
				n = nil
				break
			}
		}
		if n == nil {
			continue
		}
		for i := n.from; i < n.to; i++ {
			s := &f.segs[i]
			ax, ay, bx, by := p.X-s.a.X, p.Y-s.a.Y, p.X-s.b.X, p.Y-s.b.Y
			if s.ta.X*ax+s.ta.Y*ay >= 0 && s.tb.X*bx+s.tb.Y*by <= 0 {
				g := math.Abs(0.5*s.k*(ax*ax+ay*ay) - (s.ta.X*ay - s.ta.Y*ax))
				if s.k != 0 {
					g = math.Abs(s.dist(p))
				}
				if g < d {
					best, d, d2, end = i, g, g*g, 0
				}
				continue
			}
			a2, b2 := ax*ax+ay*ay, bx*bx+by*by
			switch {
			case a2 < b2 && a2 < d2:
				best, d, d2, end = i, math.Sqrt(a2), a2, -1
			case b2 <= a2 && b2 < d2:
				best, d, d2, end = i, math.Sqrt(b2), b2, 1
			}
		}
	}
	return best, d, end
}

// besideCusp is how far in mm from a cusp the foot of a point must be for its edge to
// tell the side: the distances to the two differ by the square of that.
const besideCusp = 1e-6

// inside says on which side of its nearest seg p lies.
func (f *Field) inside(p r2.Vec, s *fieldSeg, end int8) bool {
	switch {
	case end == 0:
		// Beside a cusp both of its edges are as near, to rounding, and p lies on
		// different sides of them.
		if !s.plainA && r2.Dot(s.ta, r2.Sub(p, s.a)) < besideCusp || !s.plainB && r2.Dot(s.tb, r2.Sub(s.b, p)) < besideCusp {
			break
		}
		return s.implicit(p) < 0
	case end < 0 && s.plainA:
		return r2.Dot(s.na, r2.Sub(p, s.a)) < 0
	case end > 0 && s.plainB:
		return r2.Dot(s.nb, r2.Sub(p, s.b)) < 0
	}
	return f.Winding(p) > 0
}

// Distance returns the signed distance from p to the boundary in mm, negative
// inside, exact to rounding.
func (f *Field) Distance(p r2.Vec) float64 {
	i, d, end := f.near(p, math.Inf(1))
	if i >= 0 && f.inside(p, &f.segs[i], end) {
		return -d
	}
	return d
}

// Nearest is the place of the boundary nearest to a point.
type Nearest struct {
	Distance   float64 // signed, mm, negative inside
	Foot       r2.Vec
	Normal     r2.Vec // unit outward normal of the edge at the foot
	Loop, Edge int    // −1 for an empty region
	Tag        int32
}

// Nearest returns the nearest place of the boundary. Of several the choice is
// fixed by the order of the edges.
func (f *Field) Nearest(p r2.Vec) Nearest {
	i, d, end := f.near(p, math.Inf(1))
	if i < 0 {
		return Nearest{Distance: d, Loop: -1, Edge: -1}
	}
	s := &f.segs[i]
	if f.inside(p, s, end) {
		d = -d
	}
	out := Nearest{Distance: d, Loop: int(f.where[s.edge].loop), Edge: int(f.where[s.edge].edge), Tag: f.edges[s.edge].Tag}
	switch end {
	case -1:
		out.Foot, out.Normal = s.a, right(s.ta)
	case 1:
		out.Foot, out.Normal = s.b, right(s.tb)
	default:
		out.Foot = s.foot(p)
		out.Normal = s.normal(out.Foot)
	}
	return out
}

// normal returns the unit normal to the right at a point on the seg.
func (s *seg) normal(p r2.Vec) r2.Vec {
	if s.k == 0 {
		return right(s.ta)
	}
	n := s.gradient(p)
	return r2.Scale(1/math.Sqrt(r2.Norm2(n)), n)
}

// Winding is Region.Winding, with the index.
func (f *Field) Winding(p r2.Vec) int {
	if len(f.nodes) == 0 {
		return 0
	}
	w := 0
	var stack [maxDepth]int32
	top := 0
	for top >= 0 {
		i := stack[top]
		top--
		n := &f.nodes[i]
		if p.Y < n.lo.Y || p.Y > n.hi.Y || p.X > n.hi.X {
			continue
		}
		if n.right != 0 {
			stack[top+1], stack[top+2] = n.right, i+1
			top += 2
			continue
		}
		for j := n.from; j < n.to; j++ {
			s := &f.segs[j]
			w += crossings(s.a, s.b, s.bulge, p)
		}
	}
	return w
}

// Contains reports whether p is inside. On the boundary, to rounding, it is either.
func (f *Field) Contains(p r2.Vec) bool { return f.Winding(p) > 0 }
