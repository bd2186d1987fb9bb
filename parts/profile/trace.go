package profile

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// rule says from the winding numbers of the two channels whether a place is inside.
type rule func(w0, w1 int) bool

// half is a bundle that bounds the result, in the direction that has material on
// its left.
type half struct {
	from, to int32
	geo      seg
	src      int32 // shape: the part s0..s1 of the source, s0 > s1 when reversed
	s0, s1   float64
	sweep    float64 // of that part; geo may be straightened
	tag      int32
}

// evaluate returns the region where the rule holds.
func (ar *arrangement) evaluate(in rule) (Region, error) {
	if err := ar.split(); err != nil {
		return nil, err
	}
	bs, _ := ar.bundles()
	bs = slices.DeleteFunc(bs, func(b bundle) bool { return b.n == [2]int32{} })
	halves := ar.classify(bs, in)
	loops, err := ar.trace(halves)
	if err != nil {
		return nil, err
	}
	return canonical(loops), nil
}

// classify keeps the bundles with the rule true on one side only.
func (ar *arrangement) classify(bs []bundle, in rule) []half {
	type span struct{ loY, hiY, hiX float64 }
	boxes := make([]span, len(bs))
	for i := range bs {
		lo, hi := bs[i].geo.box()
		boxes[i] = span{lo.Y, hi.Y, hi.X}
	}
	halves := make([]half, 0, len(bs))
	for i := range bs {
		b := &bs[i]
		m := b.geo.mid()
		var w [2]int // winding to the right, without b
		for j := range bs {
			x := &boxes[j]
			if m.Y < x.loY || m.Y > x.hiY || m.X > x.hiX || i == j {
				continue
			}
			o := &bs[j]
			if c := crossings(o.geo.a, o.geo.b, o.bulge, m); c != 0 {
				w[0] += c * int(o.n[0])
				w[1] += c * int(o.n[1])
			}
		}
		// The share of b itself, just right of its middle; the left has one more.
		own := 0
		g := &b.geo
		up, down := g.a.Y <= m.Y && m.Y < g.b.Y, g.b.Y <= m.Y && m.Y < g.a.Y
		switch {
		case up:
		case down:
			own = -1
		case b.bulge < 0:
			own = -1
		case b.bulge > 0:
		case g.b.X > g.a.X: // level: the count without b is that of the upper side
			own = -1
		}
		r0, r1 := w[0]+own*int(b.n[0]), w[1]+own*int(b.n[1])
		rgt := in(r0, r1)
		lft := in(r0+int(b.n[0]), r1+int(b.n[1]))
		switch {
		case lft && !rgt:
			halves = append(halves, ar.half(b, false))
		case rgt && !lft:
			halves = append(halves, ar.half(b, true))
		}
	}
	return halves
}

// half directs a bundle and gives it the tag of the first source that runs that
// way, or else of the first that runs the other way.
func (ar *arrangement) half(b *bundle, reverse bool) half {
	first, second := b.fwd, b.back
	h := half{from: b.a, to: b.b, geo: b.geo, src: b.src, s0: b.s0, s1: b.s1}
	if reverse {
		first, second = second, first
		h = half{from: b.b, to: b.a, geo: b.geo.reversed(), src: b.src, s0: b.s1, s1: b.s0}
	}
	if first < 0 {
		first = second
	}
	h.sweep = ar.src[h.src].edge.sweep * math.Abs(h.s1-h.s0)
	if reverse {
		h.sweep = -h.sweep
	}
	h.tag = ar.src[first].tag
	return h
}

var errOpen = errors.New("the boundary of the result does not close")

// trace chains halves into loops that touch no vertex twice.
func (ar *arrangement) trace(hs []half) ([][]half, error) {
	starts := make(map[int32][]int32, len(hs))
	ends := make(map[int32][]int32, len(hs))
	for i, h := range hs {
		starts[h.from] = append(starts[h.from], int32(i))
		ends[h.to] = append(ends[h.to], int32(i))
	}
	next := make([]int32, len(hs))
	for i, h := range hs {
		v := h.to
		out, in := starts[v], ends[v]
		if len(out) != len(in) || len(starts[h.from]) != len(ends[h.from]) {
			p := ar.pos[v]
			return nil, fmt.Errorf("%w: %d edges come to (%.9g, %.9g) mm and %d leave", errOpen, len(in), p.X, p.Y, len(out))
		}
		if len(out) == 1 {
			next[i] = out[0]
			continue
		}
		if in[0] != int32(i) {
			continue // done with the first that comes here
		}
		if err := ar.pair(hs, in, out, next); err != nil {
			return nil, err
		}
	}
	var loops [][]half
	used := make([]bool, len(hs))
	for i := range hs {
		if used[i] {
			continue
		}
		// Walk; whenever a vertex comes again, what lies between is a loop.
		var stack []half
		seen := map[int32]int{}
		for k := int32(i); !used[k]; k = next[k] {
			used[k] = true
			seen[hs[k].from] = len(stack)
			stack = append(stack, hs[k])
			if at, ok := seen[hs[k].to]; ok {
				loop := slices.Clone(stack[at:])
				loops = append(loops, loop)
				stack = stack[:at]
				for _, h := range loop {
					delete(seen, h.from)
				}
			}
		}
		if len(stack) != 0 {
			return nil, errOpen
		}
	}
	return loops, nil
}

// pair sets next for a vertex where several boundaries touch: every edge that
// comes is followed by the first that leaves clockwise from it, so that the two
// enclose material.
func (ar *arrangement) pair(hs []half, in, out, next []int32) error {
	type ray struct {
		g     seg // leaves the vertex
		angle float64
		i     int32
		comes bool
	}
	rays := make([]ray, 0, 2*len(in))
	add := func(g seg, i int32, comes bool) {
		// At a tenth of the edge the direction is less touched by snapping.
		rays = append(rays, ray{g: g, angle: math.Atan2(g.ta.Y, g.ta.X), i: i, comes: comes})
	}
	for _, i := range in {
		add(hs[i].geo.reversed(), i, true)
	}
	for _, i := range out {
		add(hs[i].geo, i, false)
	}
	slices.SortFunc(rays, func(x, y ray) int { return cmp.Or(cmp.Compare(x.angle, y.angle), cmp.Compare(x.i, y.i)) })
	// Put the branch cut into the widest gap, so that near ties do not straddle it.
	n, widest, cutAt := len(rays), -1.0, 0
	for k := range rays {
		gap := rays[k].angle - rays[(k+n-1)%n].angle
		if k == 0 {
			gap += 2 * math.Pi
		}
		if gap > widest {
			widest, cutAt = gap, k
		}
	}
	for k := range cutAt {
		rays[k].angle += 2 * math.Pi
	}
	slices.SortFunc(rays, func(x, y ray) int {
		if math.Abs(x.angle-y.angle) > 0.2 {
			return cmp.Compare(x.angle, y.angle)
		}
		return -ccwSide(&x.g, &y.g)
	})
	for k := range rays {
		if !rays[k].comes {
			continue
		}
		o := rays[(k+n-1)%n]
		if o.comes {
			p := rays[k].g.a
			return fmt.Errorf("%w: edges at (%.9g, %.9g) mm do not alternate", errOpen, p.X, p.Y)
		}
		next[rays[k].i] = o.i
	}
	return nil
}

// ccwSide returns +1 if y leaves their common start to the left of x, −1 to the
// right. The middle of the shorter one is looked at, since they do not cross.
func ccwSide(x, y *seg) int {
	var g float64
	if y.length() <= x.length() {
		g = -x.implicit(y.mid())
	} else {
		g = y.implicit(x.mid())
	}
	switch {
	case g > 0:
		return 1
	case g < 0:
		return -1
	}
	return 0
}

// canonical turns traced loops into a region: neighbours on one line or circle
// with equal tags joined, slivers dropped, in a fixed order.
func canonical(loops [][]half) Region {
	var r Region
	for _, hs := range loops {
		l := join(hs)
		if len(l) < 2 {
			continue
		}
		area, per := l.Area(), l.Perimeter()
		if math.Abs(area) <= Tol*per {
			continue
		}
		r = append(r, l)
	}
	return order(r)
}

// join merges runs of halves on the same curve, and makes a loop that starts at
// its leftmost (then lowest) vertex.
func join(hs []half) Loop {
	n := len(hs)
	// Start where two edges do not continue one another.
	start := -1
	for i := range hs {
		if _, ok := fuse(hs, (i+n-1)%n, 2); !ok {
			start = i
			break
		}
	}
	if start < 0 {
		if l, ok := circleLoop(hs); ok {
			return l
		}
		start = leftmost(hs)
	}
	var l Loop
	for i := 0; i < n; {
		k := 1
		e, _ := fuse(hs, (start+i)%n, 1)
		for i+k < n {
			f, ok := fuse(hs, (start+i)%n, k+1)
			if !ok {
				break
			}
			e, k = f, k+1
		}
		i += k
		l = append(l, Vertex{P: e.A, Bulge: e.Bulge, Tag: e.Tag})
	}
	return l.halveLarge().rotateToStart()
}

// halveLarge splits arcs over half a turn into two equal ones.
func (l Loop) halveLarge() Loop {
	out := make(Loop, 0, len(l))
	for i, v := range l {
		if math.Abs(v.Bulge) > 1+1e-9 {
			m, b := l.Edge(i).halve()
			v.Bulge = b
			out = append(out, v, Vertex{P: m, Bulge: b, Tag: v.Tag})
			continue
		}
		out = append(out, v)
	}
	return out
}

// joinTol is how far joining neighbours may move the boundary: little enough to
// leave intact what the arrangement has kept apart.
const joinTol = Tol / 10

// fuse returns the one edge that k halves from i on make, if there is one.
func fuse(hs []half, i, k int) (Edge, bool) {
	n := len(hs)
	first, last := &hs[i], &hs[(i+k-1)%n]
	e := Edge{A: first.geo.a, B: last.geo.b, Tag: first.tag}
	sweep, oneSource := first.sweep, true
	for j := 1; j < k; j++ {
		p, q := &hs[(i+j-1)%n], &hs[(i+j)%n]
		if q.tag != first.tag || (q.sweep == 0) != (first.sweep == 0) || q.sweep*first.sweep < 0 {
			return e, false
		}
		sweep += q.sweep
		oneSource = oneSource && q.src == p.src && q.s0 == p.s1
	}
	if k == 1 {
		e.Bulge = math.Tan(sweep / 4)
		return e, true
	}
	if e.A == e.B || math.Abs(sweep) > 1.9*math.Pi {
		return e, false
	}
	e.Bulge = math.Tan(sweep / 4)
	if oneSource {
		return e, true
	}
	// All of it must lie on the one edge.
	parts := e.segs()
	near := func(p r2.Vec) bool {
		d := math.Inf(1)
		for i := range parts {
			d = min(d, parts[i].dist(p))
		}
		return d <= joinTol
	}
	at := 0.0
	total := e.Length()
	for j := range k {
		h := &hs[(i+j)%n]
		if !near(h.geo.mid()) || j > 0 && !near(h.geo.a) {
			return e, false
		}
		at += h.geo.length()
	}
	return e, math.Abs(at-total) <= Tol
}

// circleLoop makes two halves of a loop whose edges all lie on one circle.
func circleLoop(hs []half) (Loop, bool) {
	best := 0 // the longest edge knows the circle best
	for i := range hs {
		if hs[i].geo.k == 0 {
			return nil, false
		}
		if hs[i].geo.length() > hs[best].geo.length() {
			best = i
		}
	}
	g := &hs[best].geo
	r := 1 / math.Abs(g.k)
	c := r2.Vec{X: g.a.X - g.ta.Y/g.k, Y: g.a.Y + g.ta.X/g.k}
	for i := range hs {
		if math.Abs(dist(hs[i].geo.a, c)-r) > joinTol || math.Abs(dist(hs[i].geo.mid(), c)-r) > joinTol {
			return nil, false
		}
	}
	b := math.Copysign(1, g.k)
	return Loop{
		{P: r2.Vec{X: c.X - r, Y: c.Y}, Bulge: b, Tag: hs[0].tag},
		{P: r2.Vec{X: c.X + r, Y: c.Y}, Bulge: b, Tag: hs[0].tag},
	}, true
}

// leftmost returns the index of the half that starts leftmost, then lowest.
func leftmost(hs []half) int {
	best := 0
	for i := range hs {
		p, q := hs[i].geo.a, hs[best].geo.a
		if p.X < q.X || p.X == q.X && p.Y < q.Y {
			best = i
		}
	}
	return best
}

// rotateToStart puts the leftmost vertex first, the lowest of those within Tol.
func (l Loop) rotateToStart() Loop {
	if len(l) == 0 {
		return l
	}
	x := math.Inf(1)
	for _, v := range l {
		x = math.Min(x, v.P.X)
	}
	best := -1
	for i, v := range l {
		if v.P.X <= x+Tol && (best < 0 || v.P.Y < l[best].P.Y) {
			best = i
		}
	}
	return append(append(make(Loop, 0, len(l)), l[best:]...), l[:best]...)
}

// order sorts loops: outer loops by their first vertex, each followed by its
// holes in the same order.
func order(r Region) Region {
	byStart := func(a, b Loop) int {
		if d := a[0].P.X - b[0].P.X; math.Abs(d) > Tol {
			return cmp.Compare(a[0].P.X, b[0].P.X)
		}
		return cmp.Or(cmp.Compare(a[0].P.Y, b[0].P.Y), cmp.Compare(len(a), len(b)))
	}
	var outer, holes []Loop
	for _, l := range r {
		if l.Area() > 0 {
			outer = append(outer, l)
		} else {
			holes = append(holes, l)
		}
	}
	slices.SortStableFunc(outer, byStart)
	slices.SortStableFunc(holes, byStart)
	if len(holes) == 0 {
		return outer
	}
	owner := make([]int, len(holes))
	for i, h := range holes {
		owner[i] = -1
		g := h.Edge(0).segs()[0]
		p := g.mid()
		for j, o := range outer {
			if o.winding(p) > 0 && (owner[i] < 0 || o.Area() < outer[owner[i]].Area()) {
				owner[i] = j
			}
		}
	}
	out := make(Region, 0, len(r))
	for j, o := range outer {
		out = append(out, o)
		for i, h := range holes {
			if owner[i] == j {
				out = append(out, h)
			}
		}
	}
	for i, h := range holes { // a hole in nothing can only come from bad input
		if owner[i] < 0 {
			out = append(out, h)
		}
	}
	return out
}
