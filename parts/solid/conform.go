package solid

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh/exact"
)

// joinClose makes one point of the ends of chords so short that triangles on
// them would be slivers. Whatever runs through either runs through the joint
// point, so that contours stay the same where they were.
func (m *mesher) joinClose(cs []layerContours) {
	into := map[int32]int32{}
	find := func(i int32) int32 {
		for {
			j, ok := into[i]
			if !ok {
				return i
			}
			i = j
		}
	}
	all := m.contours(cs)
	for _, c := range all {
		for _, l := range c.loops {
			a := l[len(l)-1]
			for _, b := range l {
				p, q := find(a), find(b)
				if p != q && r2.Norm(r2.Sub(m.at[p], m.at[q])) < 2*slimmest {
					into[max(p, q)] = min(p, q)
				}
				a = b
			}
		}
	}
	if len(into) == 0 {
		return
	}
	for _, c := range all {
		loops := c.loops[:0]
		for _, l := range c.loops {
			out := make([]int32, len(l))
			for k, i := range l {
				out[k] = find(i)
			}
			out = tidy(out)
			if len(out) > 2 {
				loops = append(loops, out)
			}
		}
		c.loops = loops
	}
}

// nudged returns where a point goes.
func (m *mesher) nudged(p r2.Vec) r2.Vec {
	if to, ok := m.nudges[p]; ok {
		return to
	}
	return p
}

// nudge has the corner at the wide angle of the slimmest triangle moved so far
// off the opposite edge in plan that the triangle is no sliver: less than 2e-4 mm.
// Outlines that meet in a face may force such triangles on any division into
// chords. It returns false where that is of no use.
func (m *mesher) nudge() bool {
	h, i := m.out.MinHeight()
	a, b, c := m.out.Corners(i)
	ab, bc, ca := r3.Norm2(r3.Sub(b, a)), r3.Norm2(r3.Sub(c, b)), r3.Norm2(r3.Sub(a, c))
	switch max(ab, bc, ca) { // c becomes the corner
	case bc:
		a, b, c = b, c, a
	case ca:
		a, b, c = c, a, b
	}
	p := r2.Vec{X: c.X, Y: c.Y}
	d := r2.Vec{X: a.Y - b.Y, Y: b.X - a.X}
	n := r2.Norm(d)
	if n < h || math.Abs(a.Z-b.Z) > n {
		return false
	}
	d = r2.Scale(1/n, d)
	off := r2.Dot(d, r2.Sub(p, r2.Vec{X: a.X, Y: a.Y}))
	from := p
	for k, to := range m.nudges {
		if to == p {
			from = k
		}
	}
	to := r2.Add(p, r2.Scale(math.Copysign(1.5*slimmest, off)-off, d))
	if math.Abs(off) > 2*slimmest || r2.Norm(r2.Sub(to, from)) > 2*slimmest {
		return false
	}
	if m.nudges == nil {
		m.nudges = map[r2.Vec]r2.Vec{}
	}
	m.nudges[from] = to
	return true
}

// straighten drops points that lie on the line between their neighbours to
// within what makes a sliver, where no other contour turns or ends.
func (m *mesher) straighten(cs []layerContours) {
	// The two neighbours, 0 twice where the point is not used, or −1 where they
	// differ.
	between := make([][2]int32, len(m.at))
	all := m.contours(cs)
	for _, c := range all {
		for _, l := range c.loops {
			a := l[len(l)-1]
			for j, x := range l {
				b := l[(j+1)%len(l)]
				n := [2]int32{min(a, b), max(a, b)}
				if was := between[x]; was != [2]int32{} && was != n {
					n = [2]int32{-1, -1}
				}
				between[x] = n
				a = x
			}
		}
	}
	gone, some := make([]bool, len(m.at)), false
	for _, c := range all {
		for _, l := range c.loops {
			left := len(l)
			for _, x := range l {
				n := between[x]
				// Neighbours stay, so that the line does.
				if left > 3 && n[0] >= 0 && !gone[x] && !gone[n[0]] && !gone[n[1]] && m.onChord(n[0], n[1], x, slimmest) {
					gone[x], some = true, true
				}
				if gone[x] {
					left--
				}
			}
		}
	}
	if !some {
		return
	}
	for _, c := range all {
		for i, l := range c.loops {
			c.loops[i] = slices.DeleteFunc(l, func(x int32) bool { return gone[x] })
		}
	}
}

// tidy removes repeated points and ways there and back from a loop.
func tidy(l []int32) []int32 {
	out := l[:0]
	for _, i := range l {
		switch n := len(out); {
		case n > 0 && out[n-1] == i:
		case n > 1 && out[n-2] == i:
			out = out[:n-1]
		default:
			out = append(out, i)
		}
	}
	for n := len(out); n > 2; n = len(out) {
		switch {
		case out[0] == out[n-1], out[0] == out[n-2]:
			out = out[:n-1]
		case out[1] == out[n-1]:
			out = out[1:]
		default:
			return out
		}
	}
	return out
}

// contours returns every contour once.
func (m *mesher) contours(cs []layerContours) []*contour {
	var out []*contour
	done := map[*contour]bool{}
	for i := range cs {
		for _, c := range []*contour{cs[i].region, cs[i].lower, cs[i].upper} {
			if !done[c] {
				done[c] = true
				out = append(out, c)
			}
		}
	}
	return out
}

// chord is a chord of a contour between two points, with its box.
type chord struct {
	a, b   int32
	lo, hi r2.Vec
	set    int
}

// pieces returns the chords of sets of contours in the order of their left ends,
// each with a box that is wider by margin.
func (m *mesher) pieces(margin float64, sets ...[]*contour) []chord {
	var es []chord
	for s, cs := range sets {
		for _, c := range cs {
			for _, l := range c.loops {
				a := l[len(l)-1]
				for _, b := range l {
					m.walk(a, b, func(u, v int32) {
						p, q := m.at[u], m.at[v]
						es = append(es, chord{u, v,
							r2.Vec{X: min(p.X, q.X) - margin, Y: min(p.Y, q.Y) - margin},
							r2.Vec{X: max(p.X, q.X) + margin, Y: max(p.Y, q.Y) + margin}, s})
					})
					a = b
				}
			}
		}
	}
	slices.SortStableFunc(es, func(a, b chord) int { return cmp.Compare(a.lo.X, b.lo.X) })
	return es
}

// meetings calls f for all pairs of chords whose boxes meet, but for equal ones.
func meetings(es []chord, f func(e, f *chord)) {
	for i := range es {
		e := &es[i]
		for j := i + 1; j < len(es) && es[j].lo.X <= e.hi.X; j++ {
			g := &es[j]
			if g.lo.Y <= e.hi.Y && e.lo.Y <= g.hi.Y && !(e.a == g.a && e.b == g.b || e.a == g.b && e.b == g.a) {
				f(e, g)
			}
		}
	}
}

// cutChords splits chords of outlines that meet in a face where they cross or
// pass through a vertex of the other. Imprinting has cut the curves, but chords
// of curves that only come near may still cross, and walls of one layer may meet
// in an edge.
func (m *mesher) cutChords(below, above []*contour) {
	const touch = 2 * slimmest
	for range 8 {
		cut := false
		put := func(a, b, x int32) {
			k := [2]int32{min(a, b), max(a, b)}
			if _, ok := m.split[k]; !ok {
				m.split[k], cut = x, true
			}
		}
		meetings(m.pieces(touch, below, above), func(e, f *chord) {
			// Outlines of one set are apart, but may touch in a vertex.
			touch := touch
			if e.set == f.set {
				touch = 1e-7
			}
			on := false
			for _, x := range [2]int32{f.a, f.b} {
				if x != e.a && x != e.b && m.onChord(e.a, e.b, x, touch) {
					put(e.a, e.b, x)
					on = true
				}
			}
			for _, x := range [2]int32{e.a, e.b} {
				if x != f.a && x != f.b && m.onChord(f.a, f.b, x, touch) {
					put(f.a, f.b, x)
					on = true
				}
			}
			if on || e.set == f.set || e.a == f.a || e.a == f.b || e.b == f.a || e.b == f.b {
				return
			}
			p, q, r, s := m.at[e.a], m.at[e.b], m.at[f.a], m.at[f.b]
			s1, s2 := exact.Orient2(p, q, r), exact.Orient2(p, q, s)
			s3, s4 := exact.Orient2(r, s, p), exact.Orient2(r, s, q)
			if s1*s2 < 0 && s3*s4 < 0 {
				x := m.fresh(m.nudged(r2.Add(r, r2.Scale(s1/(s1-s2), r2.Sub(s, r)))))
				put(e.a, e.b, x)
				put(f.a, f.b, x)
			}
		})
		if !cut {
			return
		}
	}
}

// beside returns for every layer the outlines of the bodies that lie beside each
// other in it, where there are several.
func (l *Layered) beside(cs []layerContours) [][]*contour {
	var out [][]*contour
	for _, z := range l.cuts {
		var in []*contour
		begins := false
		for i := range l.bodies {
			if b := &l.bodies[i]; b.Z0 <= z+zTol && b.Z1 > z+zTol {
				in = append(in, cs[i].region)
				begins = begins || b.Z0 >= z-zTol
			}
		}
		if begins && len(in) > 1 {
			out = append(out, in)
		}
	}
	return out
}

// crossed returns an error if the chords of two contours of a layer cross. In a
// common face the triangulation would tell, but they need not have one.
func (m *mesher) crossed(cs []*contour) (err error) {
	sets := make([][]*contour, len(cs))
	for i := range cs {
		sets[i] = cs[i : i+1]
	}
	meetings(m.pieces(0, sets...), func(e, f *chord) {
		if err != nil || e.set == f.set || e.a == f.a || e.a == f.b || e.b == f.a || e.b == f.b {
			return
		}
		p, q, r, s := m.at[e.a], m.at[e.b], m.at[f.a], m.at[f.b]
		if exact.Orient2(p, q, r)*exact.Orient2(p, q, s) <= 0 && exact.Orient2(r, s, p)*exact.Orient2(r, s, q) <= 0 {
			err = &crossing{e.a, e.b, f.a, f.b}
		}
	})
	return err
}

// onChord reports whether point x lies within touch of the inside of chord a–b.
func (m *mesher) onChord(a, b, x int32, touch float64) bool {
	p, d, w := m.at[a], r2.Sub(m.at[b], m.at[a]), r2.Sub(m.at[x], m.at[a])
	n := r2.Norm2(d)
	t := r2.Dot(w, d)
	if t <= 0 || t >= n {
		return false
	}
	foot := r2.Add(p, r2.Scale(t/n, d))
	return r2.Norm(r2.Sub(m.at[x], foot)) <= touch
}

// walk calls f for the pieces into which a chord has been split, in order.
func (m *mesher) walk(a, b int32, f func(a, b int32)) {
	if x, ok := m.split[[2]int32{min(a, b), max(a, b)}]; ok {
		m.walk(a, x, f)
		m.walk(x, b, f)
		return
	}
	f(a, b)
}

// refine puts the points of split chords into a contour.
func (m *mesher) refine(c *contour) {
	loops := c.loops[:0]
	for _, l := range c.loops {
		var out []int32
		for j, a := range l {
			m.walk(a, l[(j+1)%len(l)], func(u, _ int32) { out = append(out, u) })
		}
		if out = tidy(out); len(out) > 2 {
			loops = append(loops, out)
		}
	}
	c.loops = loops
}
