package mesh

import (
	"fmt"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh/exact"
)

// Crossing is a pair of triangles that share a point which is not a vertex or
// edge common to both.
type Crossing struct {
	A, B int // triangles, A < B
	// Touch is true when the two only touch: a corner or edge of one lies in
	// the other, and none passes through. The decision is exact.
	Touch bool
	Place r3.Vec // a point near both, mm
}

func (c Crossing) String() string {
	how := "cross"
	if c.Touch {
		how = "touch"
	}
	return fmt.Sprintf("triangles %d and %d %s at (%.4g, %.4g, %.4g) mm", c.A, c.B, how, c.Place.X, c.Place.Y, c.Place.Z)
}

// SelfIntersections returns every pair of triangles that cross or touch away
// from what they share by index, ordered by A, then B. Signs are exact, so
// nothing is missed or made up by rounding; two triangles folded flat upon
// each other over a common edge count as crossing. Indices must be valid and
// coordinates finite (see Validate). Work is shared among GOMAXPROCS
// goroutines and the result does not depend on their number.
func (m *Mesh) SelfIntersections() []Crossing {
	all := make([]int32, len(m.Triangles))
	for i := range all {
		all[i] = int32(i)
	}
	return m.crossings(all, nil)
}

// crossings finds the crossings between two of items, at least one of them
// wanted; wanted nil means all.
func (m *Mesh) crossings(items []int32, wanted []bool) []Crossing {
	if len(items) == 0 {
		return nil
	}
	t := newBoxTree(items, m.triangleBox)
	var out []Crossing
	var mu sync.Mutex
	parallel(len(t.item), 256, func(lo, hi int) {
		var mine []Crossing
		var stack []int32
		for k := lo; k < hi; k++ {
			i := t.item[k]
			if wanted != nil && !wanted[i] {
				continue
			}
			stack = t.query(t.box[k], stack, func(pos int) {
				j := t.item[pos]
				if both := wanted == nil || wanted[j]; j == i || both && j < i {
					return
				}
				if c, ok := m.cross(min(i, j), max(i, j)); ok {
					mine = append(mine, c)
				}
			})
		}
		if mine != nil {
			mu.Lock()
			out = append(out, mine...)
			mu.Unlock()
		}
	})
	slices.SortFunc(out, func(a, b Crossing) int {
		if a.A != b.A {
			return a.A - b.A
		}
		return a.B - b.B
	})
	return out
}

// cross tests one pair of triangles.
func (m *Mesh) cross(i, j int32) (Crossing, bool) {
	s, t := m.Triangles[i], m.Triangles[j]
	// Rotate shared corners to the front.
	shared := 0
	for a := range 3 {
		for b := range 3 {
			if s[a] == t[b] {
				shared++
			}
		}
	}
	p := [3]r3.Vec{m.Vertices[s[0]], m.Vertices[s[1]], m.Vertices[s[2]]}
	q := [3]r3.Vec{m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]}
	var hit contact
	var at r3.Vec
	switch shared {
	case 0:
		hit, at = crossApart(&p, &q)
	case 1:
		a, b := 0, 0
		for s[a] != t[0] && s[a] != t[1] && s[a] != t[2] {
			a++
		}
		for t[b] != s[a] {
			b++
		}
		// The side opposite the common corner of one must miss the other.
		for range a {
			p = [3]r3.Vec{p[1], p[2], p[0]}
		}
		for range b {
			q = [3]r3.Vec{q[1], q[2], q[0]}
		}
		hit, at = crossCorner(&p, &q)
	case 2:
		hit, at = foldedFlat(s, t, m.Vertices)
	default:
		hit, at = crosses, p[0]
	}
	return Crossing{int(i), int(j), hit&crosses == 0, at}, hit != 0
}

// contact says how two things meet.
type contact uint8

const (
	touches contact = 1 << iota
	crosses
)

// crossApart tests two triangles without a common vertex.
func crossApart(p, q *[3]r3.Vec) (contact, r3.Vec) {
	var sp, sq [3]int
	if sameSide(q, p, &sp) || sameSide(p, q, &sq) {
		return 0, r3.Vec{}
	}
	if split(sp) && split(sq) {
		// Each cuts a stretch from the line common to both planes, between
		// the two sides that leave its lone corner. How the lines of a side of
		// p and a side of q pass each other orders the ends of the stretches.
		a, b := lone(sp), lone(sq)
		lo, hi := 1, -1
		for _, i := range [2]int{next3[a], prev3[a]} {
			for _, j := range [2]int{next3[b], prev3[b]} {
				s := exact.Side3(p[a], p[i], q[b], q[j])
				lo, hi = min(lo, s), max(hi, s)
			}
		}
		if lo == hi && lo != 0 {
			return 0, r3.Vec{}
		}
		_, at := anySide(p, q)
		if lo < 0 && hi > 0 {
			return crosses, at
		}
		return touches, at
	}
	hit, at := anySide(p, q)
	if hit != 0 && sp == [3]int{} && flatOverlap(p, q) {
		hit = crosses
	}
	return hit, at
}

// crossCorner tests two triangles whose corners 0 are one vertex: the side
// opposite it in one must miss the other.
func crossCorner(p, q *[3]r3.Vec) (contact, r3.Vec) {
	hit, at := segmentHits(p[1], p[2], q)
	if hit == 0 {
		hit, at = segmentHits(q[1], q[2], p)
	}
	if hit == 0 {
		return 0, at
	}
	p1, p2 := exact.Side3(q[0], q[1], q[2], p[1]), exact.Side3(q[0], q[1], q[2], p[2])
	q1, q2 := exact.Side3(p[0], p[1], p[2], q[1]), exact.Side3(p[0], p[1], p[2], q[2])
	if p1*p2 < 0 && q1*q2 < 0 || p1 == 0 && p2 == 0 && flatOverlap(p, q) {
		return crosses, at
	}
	return touches, at
}

// anySide looks for a contact of a side of one with the other.
func anySide(p, q *[3]r3.Vec) (contact, r3.Vec) {
	for e := range 3 {
		if h, at := segmentHits(p[e], p[next3[e]], q); h != 0 {
			return touches, at
		}
		if h, at := segmentHits(q[e], q[next3[e]], p); h != 0 {
			return touches, at
		}
	}
	return 0, p[0]
}

// split reports whether corners lie strictly on both sides.
func split(s [3]int) bool { return min(s[0], s[1], s[2]) < 0 && max(s[0], s[1], s[2]) > 0 }

// lone returns the corner that is alone on its side; one on the plane counts
// with the lower side.
func lone(s [3]int) int {
	up, k, l := 0, 0, 0
	for i, v := range s {
		if v > 0 {
			up, k = up+1, i
		} else {
			l = i
		}
	}
	if up == 1 {
		return k
	}
	return l
}

// sameSide fills in on which side of t each corner of p lies and reports
// whether all lie strictly on the same one.
func sameSide(t, p *[3]r3.Vec, s *[3]int) bool {
	for i := range 3 {
		s[i] = exact.Side3(t[0], t[1], t[2], p[i])
		if s[i] == 0 || s[i] != s[0] {
			// The rest is needed only by callers that go on.
			for k := i + 1; k < 3; k++ {
				s[k] = exact.Side3(t[0], t[1], t[2], p[k])
			}
			return s[0] != 0 && s[0] == s[1] && s[1] == s[2]
		}
	}
	return true
}

// segmentHits tests the closed segment a–b against the closed triangle t and
// gives a point near the contact.
func segmentHits(a, b r3.Vec, t *[3]r3.Vec) (contact, r3.Vec) {
	sa, sb := exact.Side3(t[0], t[1], t[2], a), exact.Side3(t[0], t[1], t[2], b)
	if sa == 0 && sb == 0 {
		return flatSegmentHits(a, b, t)
	}
	if sa*sb > 0 {
		return 0, r3.Vec{}
	}
	u := exact.Side3(a, b, t[0], t[1])
	v := exact.Side3(a, b, t[1], t[2])
	w := exact.Side3(a, b, t[2], t[0])
	if min(u, v, w) < 0 && max(u, v, w) > 0 {
		return 0, r3.Vec{}
	}
	n := r3.Cross(r3.Sub(t[1], t[0]), r3.Sub(t[2], t[0]))
	da, db := r3.Dot(n, r3.Sub(a, t[0])), r3.Dot(n, r3.Sub(b, t[0]))
	f := 0.5
	if da != db {
		f = min(max(da/(da-db), 0), 1)
	}
	at := r3.Add(a, r3.Scale(f, r3.Sub(b, a)))
	return touches, at
}

// drop projects along the axis in which t's plane is seen largest. The
// projection of a plane that is not parallel to the axis keeps incidences.
func drop(t *[3]r3.Vec) func(r3.Vec) r2.Vec {
	n := r3.Cross(r3.Sub(t[1], t[0]), r3.Sub(t[2], t[0]))
	x, y, z := n.X*n.X, n.Y*n.Y, n.Z*n.Z
	switch {
	case x >= y && x >= z:
		return func(p r3.Vec) r2.Vec { return r2.Vec{X: p.Y, Y: p.Z} }
	case y >= z:
		return func(p r3.Vec) r2.Vec { return r2.Vec{X: p.Z, Y: p.X} }
	}
	return func(p r3.Vec) r2.Vec { return r2.Vec{X: p.X, Y: p.Y} }
}

// flatSegmentHits tests a segment in the plane of t.
func flatSegmentHits(a, b r3.Vec, t *[3]r3.Vec) (contact, r3.Vec) {
	to := drop(t)
	p, q := to(a), to(b)
	c := [3]r2.Vec{to(t[0]), to(t[1]), to(t[2])}
	turn := exact.Side2(c[0], c[1], c[2])
	if turn == 0 {
		return 0, r3.Vec{} // no area: Validate's matter
	}
	for _, e := range [2]struct {
		in r2.Vec
		at r3.Vec
	}{{p, a}, {q, b}} {
		lo := 1
		for i := range 3 {
			lo = min(lo, turn*exact.Side2(c[i], c[next3[i]], e.in))
		}
		if lo >= 0 {
			return touches, e.at
		}
	}
	for i := range 3 {
		u, v := c[i], c[next3[i]]
		if exact.Side2(p, q, u)*exact.Side2(p, q, v) <= 0 && exact.Side2(u, v, p)*exact.Side2(u, v, q) <= 0 &&
			(exact.Side2(p, q, u) != 0 || exact.Side2(p, q, v) != 0) {
			return touches, r3.Scale(0.5, r3.Add(t[i], t[next3[i]]))
		}
	}
	return 0, r3.Vec{}
}

// flatOverlap reports whether two triangles in one plane share area: no side
// of either has the other wholly on its outer side.
func flatOverlap(p, q *[3]r3.Vec) bool {
	to := drop(p)
	var c [2][3]r2.Vec
	for i := range 3 {
		c[0][i], c[1][i] = to(p[i]), to(q[i])
	}
	for k := range 2 {
		a, b := &c[k], &c[1-k]
		turn := exact.Side2(a[0], a[1], a[2])
		for i := range 3 {
			out := true
			for _, r := range b {
				out = out && turn*exact.Side2(a[i], a[next3[i]], r) <= 0
			}
			if out {
				return false
			}
		}
	}
	return true
}

// foldedFlat tests two triangles that share an edge: they meet elsewhere only
// when both lie in one plane on the same side of the edge.
func foldedFlat(s, t [3]int32, at []r3.Vec) (contact, r3.Vec) {
	k := 0
	for s[k] == t[0] || s[k] == t[1] || s[k] == t[2] {
		k++
	}
	j := 0
	for t[j] == s[0] || t[j] == s[1] || t[j] == s[2] {
		j++
	}
	a, b, c, d := at[s[next3[k]]], at[s[prev3[k]]], at[s[k]], at[t[j]]
	e := r3.Sub(b, a)
	m, n := r3.Cross(e, r3.Sub(c, a)), r3.Cross(e, r3.Sub(d, a))
	// Only a sharp fold needs the exact test.
	if r3.Dot(m, n) <= 0.99*r3.Norm(m)*r3.Norm(n) || exact.Side3(a, b, c, d) != 0 {
		return 0, r3.Vec{}
	}
	to := drop(&[3]r3.Vec{a, b, c})
	if exact.Side2(to(a), to(b), to(c))*exact.Side2(to(a), to(b), to(d)) <= 0 {
		return 0, r3.Vec{}
	}
	return crosses, r3.Scale(0.5, r3.Add(a, b))
}

// parallel runs f over consecutive ranges of 0..n, at most size long, on
// GOMAXPROCS goroutines.
func parallel(n, size int, f func(lo, hi int)) {
	chunks := (n + size - 1) / size
	workers := min(runtime.GOMAXPROCS(0), chunks)
	if workers <= 1 {
		for lo := 0; lo < n; lo += size {
			f(lo, min(lo+size, n))
		}
		return
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for {
				lo := (int(next.Add(1)) - 1) * size
				if lo >= n {
					return
				}
				f(lo, min(lo+size, n))
			}
		})
	}
	wg.Wait()
}

// next3 and prev3 go round the corners of a triangle.
var (
	next3 = [3]int{1, 2, 0}
	prev3 = [3]int{2, 0, 1}
)
