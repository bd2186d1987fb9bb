package profile

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

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
