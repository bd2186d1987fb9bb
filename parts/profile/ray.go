package profile

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Hit is where a ray meets the boundary.
type Hit struct {
	T          float64 // distance along the ray, mm
	P          r2.Vec
	Normal     r2.Vec // unit outward normal of the edge
	Loop, Edge int
	Tag        int32
}

// Ray returns the first meeting of the ray from p along the unit vector dir with
// the boundary, farther than from and nearer than to (mm).
func (f *Field) Ray(p, dir r2.Vec, from, to float64) (Hit, bool) {
	best, t := int32(-1), to
	if len(f.nodes) == 0 {
		return Hit{}, false
	}
	inv := r2.Vec{X: 1 / dir.X, Y: 1 / dir.Y}
	var stack [maxDepth]int32
	top := 0
	for top >= 0 {
		i := stack[top]
		top--
		n := &f.nodes[i]
		if !n.ray(p, dir, inv, from, t) {
			continue
		}
		if n.right != 0 {
			stack[top+1], stack[top+2] = n.right, i+1
			top += 2
			continue
		}
		for j := n.from; j < n.to; j++ {
			for _, x := range f.segs[j].rayMeets(p, dir) {
				if x > from && x < t {
					best, t = j, x
				}
			}
		}
	}
	if best < 0 {
		return Hit{}, false
	}
	s := &f.segs[best]
	w := f.where[s.edge]
	at := r2.Add(p, r2.Scale(t, dir))
	return Hit{T: t, P: at, Normal: s.normal(at), Loop: int(w.loop), Edge: int(w.edge), Tag: f.edges[s.edge].Tag}, true
}

// ray reports whether the ray passes the box between from and to; rounding is
// covered by a margin.
func (n *node) ray(p, dir, inv r2.Vec, from, to float64) bool {
	const m = 1e-9
	lo, hi := from, to
	for k := range 2 {
		a, b, o, d, v := n.lo.X, n.hi.X, p.X, dir.X, inv.X
		if k == 1 {
			a, b, o, d, v = n.lo.Y, n.hi.Y, p.Y, dir.Y, inv.Y
		}
		if d == 0 {
			if o < a-m || o > b+m {
				return false
			}
			continue
		}
		t0, t1 := (a-m-o)*v, (b+m-o)*v
		if t0 > t1 {
			t0, t1 = t1, t0
		}
		lo, hi = max(lo, t0), min(hi, t1)
	}
	return lo <= hi
}

// rayMeets returns the distances along the line p + t·dir at which it meets the
// seg, NaN for none.
func (s *seg) rayMeets(p, dir r2.Vec) (t [2]float64) {
	t = [2]float64{math.NaN(), math.NaN()}
	h, w, c := s.about(p)
	b := w.X*dir.X + w.Y*dir.Y
	n := 0
	put := func(x float64) {
		q := r2.Add(p, r2.Scale(x, dir))
		const m = 1e-12 // joints must not leak
		if s.ta.X*(q.X-s.a.X)+s.ta.Y*(q.Y-s.a.Y) >= -m && s.tb.X*(q.X-s.b.X)+s.tb.Y*(q.Y-s.b.Y) <= m {
			t[n] = x
			n++
		}
	}
	if h == 0 {
		if b != 0 {
			put(-c / b)
		}
		return t
	}
	disc := b*b - 4*h*c
	if disc < 0 {
		return t
	}
	q := -0.5 * (b + math.Copysign(math.Sqrt(disc), b))
	put(q / h)
	if q != 0 {
		put(c / q)
	}
	return t
}
