package profile

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
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
