package profile

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// PenetrationTol is the accuracy, in mm, of depths where outlines overlap.
const PenetrationTol = 1e-5

// Gap is the clearance between two outlines.
type Gap struct {
	// Distance in mm. Positive: the least distance between the two. Negative: they
	// overlap, and this is minus the penetration depth: the largest distance,
	// over all boundary points of one inside the other, to that other's boundary (within
	// PenetrationTol, never overstated). Zero: they touch. (An outline laid on itself
	// has no boundary point inside, and counts as touching.)
	Distance float64
	// PA and PB are the places on a and b, in a's frame. When they overlap, one is the deepest
	// boundary point and the other the boundary place nearest to it.
	PA, PB       r2.Vec
	LoopA, EdgeA int
	LoopB, EdgeB int
	TagA, TagB   int32
}

// Pair measures the clearance of two regions at changing relative poses. It keeps
// scratch memory, so a Pair is for one goroutine at a time; the fields may be shared.
type Pair struct {
	a, b   *Field
	segs   []seg  // of b, in a's frame
	nodes  []node // of b, in a's frame
	boxes  [2][][2]r2.Vec
	stack  []nodePair
	pieces []segPart
}

type nodePair struct {
	a, b int32
	d2   float64
}

type segPart struct {
	node   bool
	seg    int32
	t0, t1 float64
	bound  float64
}

// NewPair prepares two fields.
func NewPair(a, b *Field) *Pair {
	p := &Pair{a: a, b: b, segs: make([]seg, len(b.segs)), nodes: append([]node(nil), b.nodes...)}
	p.boxes[0] = make([][2]r2.Vec, len(a.segs))
	p.boxes[1] = make([][2]r2.Vec, len(b.segs))
	for i := range a.segs {
		lo, hi := a.segs[i].box()
		p.boxes[0][i] = [2]r2.Vec{lo, hi}
	}
	p.stack = make([]nodePair, 0, 64)
	p.pieces = make([]segPart, 0, 64)
	return p
}

// Clearance returns the clearance when pose takes b's frame to a's. If either
// region is empty the distance is +Inf.
func (p *Pair) Clearance(pose Transform) Gap { return p.Within(pose, math.Inf(1)) }

// Within is Clearance, but looks only for distances below limit: if the outlines
// are limit mm or more apart, Distance is +Inf and nothing else is set. It is faster the
// smaller limit is.
func (p *Pair) Within(pose Transform, limit float64) Gap {
	g := Gap{Distance: math.Inf(1), EdgeA: -1, EdgeB: -1, LoopA: -1, LoopB: -1}
	if len(p.a.segs) == 0 || len(p.b.segs) == 0 {
		return g
	}
	p.move(pose)
	sa, sb, d, pa, pb := p.nearest(limit)
	if d == 0 || p.contained(pose) {
		if deep := p.penetration(pose); deep.Distance < 0 {
			return deep
		}
	}
	if sa < 0 {
		return g
	}
	g.Distance, g.PA, g.PB = d, pa, pb
	p.name(&g, sa, sb)
	return g
}

func (p *Pair) name(g *Gap, sa, sb int32) {
	ea, eb := p.a.segs[sa].edge, p.b.segs[sb].edge
	wa, wb := p.a.where[ea], p.b.where[eb]
	g.LoopA, g.EdgeA, g.TagA = int(wa.loop), int(wa.edge), p.a.edges[ea].Tag
	g.LoopB, g.EdgeB, g.TagB = int(wb.loop), int(wb.edge), p.b.edges[eb].Tag
}

// move takes b's segs and boxes to a's frame.
func (p *Pair) move(t Transform) {
	for i := range p.segs {
		s := &p.b.segs[i]
		m := seg{a: t.Apply(s.a), b: t.Apply(s.b), ta: t.Vector(s.ta), tb: t.Vector(s.tb), k: s.k, sweep: s.sweep}
		if t.Mirror {
			m.k, m.sweep = -m.k, -m.sweep
		}
		p.segs[i] = m
		lo, hi := m.box()
		p.boxes[1][i] = [2]r2.Vec{lo, hi}
	}
	// Children come after their parents.
	for i := len(p.nodes) - 1; i >= 0; i-- {
		n := &p.nodes[i]
		if n.right != 0 {
			l, r := &p.nodes[i+1], &p.nodes[n.right]
			n.lo, n.hi = minVec(l.lo, r.lo), maxVec(l.hi, r.hi)
			continue
		}
		bx := p.boxes[1]
		n.lo, n.hi = bx[n.from][0], bx[n.from][1]
		for j := n.from + 1; j < n.to; j++ {
			n.lo, n.hi = minVec(n.lo, bx[j][0]), maxVec(n.hi, bx[j][1])
		}
	}
}

func boxDist2(alo, ahi, blo, bhi r2.Vec) float64 {
	dx := max(blo.X-ahi.X, alo.X-bhi.X, 0)
	dy := max(blo.Y-ahi.Y, alo.Y-bhi.Y, 0)
	return dx*dx + dy*dy
}

// nearest finds the two nearest segs by branch and bound.
func (p *Pair) nearest(limit float64) (sa, sb int32, d float64, pa, pb r2.Vec) {
	sa, sb, d = -1, -1, limit
	d2 := d * d
	an, bn := p.a.nodes, p.nodes
	st := append(p.stack[:0], nodePair{0, 0, boxDist2(an[0].lo, an[0].hi, bn[0].lo, bn[0].hi)})
	push := func(x, y nodePair) {
		if x.d2 < y.d2 {
			x, y = y, x
		}
		if x.d2 < d2 {
			st = append(st, x)
		}
		if y.d2 < d2 {
			st = append(st, y)
		}
	}
	at := func(i, j int32) nodePair {
		return nodePair{i, j, boxDist2(an[i].lo, an[i].hi, bn[j].lo, bn[j].hi)}
	}
	for len(st) > 0 && d > 0 {
		e := st[len(st)-1]
		st = st[:len(st)-1]
		if e.d2 >= d2 {
			continue
		}
		na, nb := &an[e.a], &bn[e.b]
		switch {
		case na.right == 0 && nb.right == 0:
			for i := na.from; i < na.to; i++ {
				for j := nb.from; j < nb.to; j++ {
					ba, bb := &p.boxes[0][i], &p.boxes[1][j]
					bd := boxDist2(ba[0], ba[1], bb[0], bb[1])
					if bd >= d2 {
						continue
					}
					if x, q, r := segGap(&p.a.segs[i].seg, &p.segs[j], bd == 0); x < d {
						sa, sb, d, pa, pb = i, j, x, q, r
						d2 = d * d
					}
				}
			}
		case nb.right == 0 || na.right != 0 && size(na) >= size(nb):
			push(at(e.a+1, e.b), at(na.right, e.b))
		default:
			push(at(e.a, e.b+1), at(e.a, nb.right))
		}
	}
	p.stack = st[:0]
	return sa, sb, d, pa, pb
}

func size(n *node) float64 { return n.hi.X - n.lo.X + n.hi.Y - n.lo.Y }

// segGap returns the distance of two segs and where it is.
func segGap(s, t *seg, mayCross bool) (d float64, ps, pt r2.Vec) {
	d = math.Inf(1)
	try := func(q r2.Vec, on *seg, swap bool) {
		x := on.dist(q)
		if x >= d {
			return
		}
		d = x
		if f := on.foot(q); swap {
			ps, pt = f, q
		} else {
			ps, pt = q, f
		}
	}
	try(s.a, t, false)
	try(s.b, t, false)
	try(t.a, s, true)
	try(t.b, s, true)
	if mayCross {
		pts, n := meet(s, t, 0)
		for _, q := range pts[:n] {
			const m = 1e-11
			if s.dist(q) <= m && t.dist(q) <= m {
				return 0, q, q
			}
		}
	}
	// Between the ends of both, the distance is least on a common normal.
	swap := s.k == 0
	if swap {
		s, t = t, s
	}
	if s.k == 0 {
		return d, ps, pt
	}
	c := r2.Vec{X: s.a.X - s.ta.Y/s.k, Y: s.a.Y + s.ta.X/s.k}
	u := right(t.ta)
	if t.k != 0 {
		u = r2.Vec{X: t.a.X - t.ta.Y/t.k - c.X, Y: t.a.Y + t.ta.X/t.k - c.Y}
		l := math.Sqrt(r2.Norm2(u))
		if l == 0 {
			return d, ps, pt // concentric: seen from the ends
		}
		u = r2.Scale(1/l, u)
	}
	for _, r := range [2]float64{1 / s.k, -1 / s.k} {
		if q := r2.Add(c, r2.Scale(r, u)); s.beside(q) {
			try(q, t, swap)
		}
	}
	return d, ps, pt
}

// contained reports whether an outer loop of one starts inside the other: with
// boundaries apart, the only way to overlap.
func (p *Pair) contained(t Transform) bool {
	for _, s := range p.b.starts {
		if p.a.Contains(t.Apply(s)) {
			return true
		}
	}
	inv := t.Inverse()
	for _, s := range p.a.starts {
		if p.b.Contains(inv.Apply(s)) {
			return true
		}
	}
	return false
}

// penetration finds the deepest boundary point of either in the other.
func (p *Pair) penetration(t Transform) Gap {
	g := Gap{EdgeA: -1, EdgeB: -1, LoopA: -1, LoopB: -1}
	inv := t.Inverse()
	// b's boundary in a, then a's in b; each in the frame of the field asked.
	if i, q, d := p.deepest(p.a, p.b, t, 0); i >= 0 {
		j, _, _ := p.a.near(q, math.Inf(1))
		g.Distance, g.PB, g.PA = -d, q, p.a.segs[j].foot(q)
		p.name(&g, j, i)
	}
	if i, q, d := p.deepest(p.b, p.a, inv, -g.Distance); i >= 0 {
		j, _, _ := p.b.near(q, math.Inf(1))
		g.Distance, g.PA, g.PB = -d, t.Apply(q), t.Apply(p.b.segs[j].foot(q))
		p.name(&g, i, j)
	}
	return g
}

// deepest returns the point of other's boundary, moved by t to f's frame, that is
// deepest in f, if deeper than floor. Distance changes by at most the way
// gone, which bounds the depth on a box or an edge from that at its middle.
func (p *Pair) deepest(f, other *Field, t Transform, floor float64) (best int32, at r2.Vec, depth float64) {
	best, depth = -1, floor
	st := append(p.pieces[:0], segPart{node: true, bound: math.Inf(1)})
	for len(st) > 0 {
		e := st[len(st)-1]
		st = st[:len(st)-1]
		if e.bound <= depth+PenetrationTol {
			continue
		}
		if e.node {
			n := &other.nodes[e.seg]
			d := -f.Distance(t.Apply(r2.Scale(0.5, r2.Add(n.lo, n.hi))))
			e.bound = d + 0.5*dist(n.lo, n.hi)
			if e.bound <= depth+PenetrationTol {
				continue
			}
			if n.right != 0 {
				st = append(st, segPart{node: true, seg: n.right, bound: e.bound}, segPart{node: true, seg: e.seg + 1, bound: e.bound})
				continue
			}
			for i := n.from; i < n.to; i++ {
				st = append(st, segPart{seg: i, t1: 1, bound: e.bound})
			}
			continue
		}
		s := &other.segs[e.seg].seg
		m := 0.5 * (e.t0 + e.t1)
		q := t.Apply(s.at(m))
		k, x, end := f.near(q, math.Inf(1))
		d := -x
		if f.inside(q, &f.segs[k], end) {
			d = x
		}
		if d > depth {
			best, at, depth = e.seg, q, d
		}
		half := 0.5 * (e.t1 - e.t0) * s.length()
		bound := d + half
		if d > 0 && bound > depth+PenetrationTol {
			// The distance to the boundary is at most that to its one edge k.
			u := f.segs[k].farthest(t.Apply(s.at(e.t0)), t.Apply(s.at(e.t1)), q)
			sag := 0.5 * math.Abs(s.k) * half * half
			bound = min(bound, u+sag)
		}
		if bound > depth+PenetrationTol {
			st = append(st, segPart{seg: e.seg, t0: m, t1: e.t1, bound: bound}, segPart{seg: e.seg, t0: e.t0, t1: m, bound: bound})
		}
	}
	p.pieces = st[:0]
	return best, at, depth
}

// farthest returns a bound on the distance from the points of the line p–q, of
// which m is about the middle, to the seg.
func (s *seg) farthest(p, q, m r2.Vec) float64 {
	if s.k == 0 { // a convex set: the distance is convex along a line
		return max(s.dist(p), s.dist(q))
	}
	if s.beside(p) && s.beside(q) { // so is all between; what counts is the distance to the centre
		r := 1 / math.Abs(s.k)
		c := r2.Vec{X: s.a.X - s.ta.Y/s.k, Y: s.a.Y + s.ta.X/s.k}
		chord := newSeg(p, q, 0)
		return max(math.Sqrt(max(dist2(p, c), dist2(q, c)))-r, r-chord.dist(c))
	}
	f := s.foot(m)
	return math.Sqrt(max(dist2(p, f), dist2(q, f)))
}
