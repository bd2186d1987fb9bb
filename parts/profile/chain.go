package profile

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/spatial/r2"
)

// Chain is an open run of edges, each starting where the one before ends.
// Material lies on its left, as on a loop's.
type Chain []Edge

// Reverse returns the chain travelled the other way.
func (c Chain) Reverse() Chain {
	out := make(Chain, len(c))
	for i, e := range c {
		out[len(c)-1-i] = e.Reverse()
	}
	return out
}

// Length returns the length of the chain in mm.
func (c Chain) Length() float64 {
	sum := 0.0
	for _, e := range c {
		sum += e.Length()
	}
	return sum
}

// Chain returns the part of the boundary, in the direction of travel, from the
// place nearest to from to the place nearest to to. Both must be on one loop.
func (r Region) Chain(from, to r2.Vec) (Chain, error) {
	f := NewField(r)
	a, b := f.Nearest(from), f.Nearest(to)
	if a.Loop < 0 {
		return nil, errors.New("an empty region has no boundary")
	}
	if a.Loop != b.Loop {
		return nil, fmt.Errorf("(%.6g, %.6g) and (%.6g, %.6g) mm are on different loops", from.X, from.Y, to.X, to.Y)
	}
	l := r[a.Loop]
	ta, tb := l.Edge(a.Edge).param(a.Foot), l.Edge(b.Edge).param(b.Foot)
	if a.Edge == b.Edge && ta < tb {
		return Chain{l.Edge(a.Edge).part(ta, tb)}, nil
	}
	var out Chain
	add := func(e Edge) {
		if dist(e.A, e.B) > Tol {
			out = append(out, e)
		}
	}
	add(l.Edge(a.Edge).part(ta, 1))
	for i := (a.Edge + 1) % len(l); i != b.Edge; i = (i + 1) % len(l) {
		add(l.Edge(i))
	}
	add(l.Edge(b.Edge).part(0, tb))
	if len(out) == 0 {
		return nil, errors.New("the chain has no length")
	}
	return out, nil
}

// param returns the fraction of the edge's length at a point on it.
func (e Edge) param(p r2.Vec) float64 {
	ss := e.segs()
	best, d := 0, math.Inf(1)
	for i := range ss {
		if x := ss[i].dist(p); x < d {
			best, d = i, x
		}
	}
	t := min(max(ss[best].param(p), 0), 1)
	return (float64(best) + t) / float64(len(ss))
}

// part returns the edge between two fractions of its length.
func (e Edge) part(t0, t1 float64) Edge {
	if t0 == 0 && t1 == 1 {
		return e
	}
	at := func(t float64) r2.Vec {
		switch {
		case t <= 0:
			return e.A
		case t >= 1:
			return e.B
		}
		p, _ := e.At(t)
		return p
	}
	return Edge{A: at(t0), B: at(t1), Bulge: math.Tan(math.Atan(e.Bulge) * (t1 - t0)), Tag: e.Tag}
}

// Offset returns the path of the centre of a disc of radius d mm that rolls along
// the chain outside the material (d > 0) or inside (d < 0), from the normal at
// its start to the normal at its end. Places that the disc cannot reach without
// cutting into the chain are left out; other parts of the outline are
// not looked at, so the opposite wall of a slot may be nearer. An arc around a
// corner has the tag of the edge that ends there.
func (c Chain) Offset(d float64) (Chain, error) {
	if d < 0 {
		o, err := c.Reverse().Offset(-d)
		if err != nil {
			return nil, err
		}
		return o.Reverse(), nil
	}
	if len(c) == 0 {
		return nil, errors.New("a chain without edges has no offset")
	}
	if !(d > Tol) || math.IsInf(d, 0) {
		return nil, fmt.Errorf("chain offset by %g mm", d)
	}
	// The strips and sectors of the edges, closed along the chain itself. The part of the
	// boundary that comes from their outer sides is the path; private tags (1 + index
	// of the edge, 0 for the rest) tell it from the other sides.
	var es []taggedSeg
	for i, e := range c {
		e.Tag = int32(i + 1)
		es = appendSegs(es, e)
	}
	var raw Loop
	for i := range es {
		raw = appendStrip(raw, &es[i], d)
		if i+1 < len(es) {
			raw = appendJoin(raw, &es[i], &es[i+1], d, 1)
		}
	}
	start, last := raw[0].P, &es[len(es)-1]
	end := r2.Add(last.b, r2.Scale(d, right(last.tb)))
	raw = append(raw, Vertex{P: end})
	for i := len(es) - 1; i >= 0; i-- {
		raw = append(raw, Vertex{P: es[i].b, Bulge: -math.Tan(es[i].sweep / 4)})
	}
	raw = append(raw, Vertex{P: es[0].a})
	r, err := combine(fmt.Sprintf("chain offset by %g mm", d), func(w, _ int) bool { return w > 0 }, []Region{{raw}}, nil)
	if err != nil {
		return nil, err
	}
	for _, l := range r {
		n := len(l)
		for i := range l {
			if l[i].Tag == 0 || l[(i+n-1)%n].Tag != 0 {
				continue
			}
			var out Chain
			for k := range n {
				e := l.Edge((i + k) % n)
				if e.Tag == 0 {
					break
				}
				e.Tag = c[e.Tag-1].Tag
				out = append(out, e)
			}
			if dist(out[0].A, start) <= 10*Tol && dist(out[len(out)-1].B, end) <= 10*Tol {
				return out, nil
			}
		}
	}
	return nil, fmt.Errorf("a disc of radius %g mm cannot roll along the chain from end to end", d)
}

// Height is a chain seen as a curve y(x) over an axis: the position of a pin
// centre across a slot against its position along it.
type Height struct {
	origin, axis r2.Vec
	segs         []seg // in the axis frame, x increasing
	tags         []int32
	x            []float64 // segs[i] spans x[i]..x[i+1]
}

// NewHeight measures a chain from origin along the axis (any length); y is to
// the left of the axis. It is an error if the chain turns back along the axis: then y has
// no single value there.
func NewHeight(c Chain, origin, axis r2.Vec) (*Height, error) {
	l := math.Sqrt(r2.Norm2(axis))
	if !(l > 0) || len(c) == 0 {
		return nil, errors.New("a height needs a chain and an axis")
	}
	h := &Height{origin: origin, axis: r2.Scale(1/l, axis)}
	first, last := h.local(c[0].A), h.local(c[len(c)-1].B)
	if first.X > last.X {
		c = c.Reverse()
	}
	for _, e := range c {
		a, b := h.local(e.A), h.local(e.B)
		for _, s := range (Edge{A: a, B: b, Bulge: e.Bulge}).segs() {
			if s.ta.X < -1e-9 || s.tb.X < -1e-9 {
				p := e.A
				return nil, fmt.Errorf("the chain turns back along the axis at (%.6g, %.6g) mm", p.X, p.Y)
			}
			if s.b.X-s.a.X <= Tol {
				continue // a step up; y jumps
			}
			h.segs = append(h.segs, s)
			h.tags = append(h.tags, e.Tag)
			h.x = append(h.x, s.a.X)
		}
	}
	if len(h.segs) == 0 {
		return nil, errors.New("the chain has no extent along the axis")
	}
	h.x = append(h.x, h.segs[len(h.segs)-1].b.X)
	return h, nil
}

func (h *Height) local(p r2.Vec) r2.Vec {
	d := r2.Sub(p, h.origin)
	return r2.Vec{X: r2.Dot(d, h.axis), Y: r2.Cross(h.axis, d)}
}

// Span returns the range of x in mm.
func (h *Height) Span() (from, to float64) { return h.x[0], h.x[len(h.x)-1] }

// Breaks returns the x at which edges meet, from end to end; between two of them y is
// smooth.
func (h *Height) Breaks() []float64 { return append([]float64(nil), h.x...) }

// At returns y in mm, the slope dy/dx and the tag of the edge at x. At a break it
// is the edge to the right. ok is false outside of the span.
func (h *Height) At(x float64) (y, slope float64, tag int32, ok bool) {
	n := len(h.segs)
	if !(x >= h.x[0] && x <= h.x[n]) {
		return 0, 0, 0, false
	}
	i := min(sort.Search(n, func(i int) bool { return h.x[i] > x }), n) - 1
	s := &h.segs[i]
	u := x - s.a.X
	if s.k == 0 {
		slope = s.ta.Y / s.ta.X
		return s.a.Y + slope*u, slope, h.tags[i], true
	}
	// On a circle the sine of the tangent's angle grows with x: d(sin ψ) = k dx.
	s0, c0 := s.ta.Y, s.ta.X
	s1 := min(max(s0+s.k*u, -1), 1)
	c1 := math.Sqrt(1 - s1*s1)
	v := 0.0
	if u > 0 {
		v = u * (s0 + s1) / (c0 + c1)
	}
	return s.a.Y + v, s1 / c1, h.tags[i], true
}
