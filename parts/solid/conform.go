package solid

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/mesh"
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
			var out []int32
			for _, i := range l {
				i = find(i)
				switch n := len(out); {
				case n > 0 && out[n-1] == i:
				case n > 1 && out[n-2] == i:
					out = out[:n-1] // there and back
				default:
					out = append(out, i)
				}
			}
			for len(out) > 2 && (out[0] == out[len(out)-1] || out[1] == out[len(out)-1] || out[0] == out[len(out)-2]) {
				if out[0] == out[len(out)-1] {
					out = out[1:]
				} else if out[1] == out[len(out)-1] {
					out = out[1:]
				} else {
					out = out[:len(out)-1]
				}
			}
			if len(out) > 2 {
				loops = append(loops, out)
			}
		}
		c.loops = loops
	}
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

// cutChords splits chords of outlines that meet in a face where they cross or
// pass through a vertex of the other. Imprinting has cut the curves, but chords
// of curves that only come near may still cross.
func (m *mesher) cutChords(below, above []*contour) {
	type chord struct {
		a, b   int32
		lo, hi r2.Vec
		set    int8
	}
	const touch = 2 * slimmest
	for pass := 0; pass < 8; pass++ {
		var es []chord
		for s, cs := range [2][]*contour{below, above} {
			for _, c := range cs {
				for _, l := range c.loops {
					a := l[len(l)-1]
					for _, b := range l {
						m.walk(a, b, func(u, v int32) {
							p, q := m.at[u], m.at[v]
							es = append(es, chord{u, v,
								r2.Vec{X: min(p.X, q.X) - touch, Y: min(p.Y, q.Y) - touch},
								r2.Vec{X: max(p.X, q.X) + touch, Y: max(p.Y, q.Y) + touch}, int8(s)})
						})
						a = b
					}
				}
			}
		}
		slices.SortStableFunc(es, func(a, b chord) int { return cmp.Compare(a.lo.X, b.lo.X) })
		cut := false
		put := func(a, b, x int32) {
			k := [2]int32{min(a, b), max(a, b)}
			if _, ok := m.split[k]; !ok {
				m.split[k], cut = x, true
			}
		}
		for i := range es {
			e := &es[i]
			for j := i + 1; j < len(es) && es[j].lo.X <= e.hi.X; j++ {
				f := &es[j]
				if e.set == f.set || f.lo.Y > e.hi.Y || e.lo.Y > f.hi.Y || e.a == f.a && e.b == f.b || e.a == f.b && e.b == f.a {
					continue
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
				if on || e.a == f.a || e.a == f.b || e.b == f.a || e.b == f.b {
					continue
				}
				p, q, r, s := m.at[e.a], m.at[e.b], m.at[f.a], m.at[f.b]
				s1, s2 := orient(p, q, r), orient(p, q, s)
				s3, s4 := orient(r, s, p), orient(r, s, q)
				if s1*s2 < 0 && s3*s4 < 0 {
					x := m.fresh(r2.Add(r, r2.Scale(s1/(s1-s2), r2.Sub(s, r))))
					put(e.a, e.b, x)
					put(f.a, f.b, x)
				}
			}
		}
		if !cut {
			return
		}
	}
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
	for i, l := range c.loops {
		var out []int32
		for j, a := range l {
			m.walk(a, l[(j+1)%len(l)], func(u, _ int32) { out = append(out, u) })
		}
		c.loops[i] = out
	}
}

// openSeams gives bodies that touch only along an edge their own vertices
// there, so that every edge has two triangles. At such an edge the material
// below, with a wall and an upward face, meets the material above, with a wall
// and a downward face.
func openSeams(m *mesh.Mesh) *mesh.Mesh {
	type half struct {
		lo, hi int32
		tri    int32
		from   int8
		upper  bool // belongs to the material above the edge
	}
	hs := make([]half, 0, 3*len(m.Triangles))
	for i, t := range m.Triangles {
		a, b, c := m.Corners(i)
		up := (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)
		top := max(a.Z, b.Z, c.Z)
		for k := range 3 {
			u, v := t[k], t[(k+1)%3]
			z := max(m.Vertices[u].Z, m.Vertices[v].Z)
			bottom := min(a.Z, b.Z, c.Z)
			// A wall or chamfer lies above or below its edge; a face looks the
			// way its material is not.
			upper := top > z || (bottom == z && up < 0)
			hs = append(hs, half{min(u, v), max(u, v), int32(i), int8(k), upper})
		}
	}
	slices.SortFunc(hs, func(a, b half) int {
		u := cmp.Or(cmp.Compare(a.lo, b.lo), cmp.Compare(a.hi, b.hi))
		if u == 0 && a.upper != b.upper {
			if b.upper {
				return -1
			}
			return 1
		}
		return cmp.Or(u, cmp.Compare(a.tri, b.tri))
	})
	link := make([]int32, 3*len(m.Triangles)) // corners that are one vertex
	for i := range link {
		link[i] = int32(i)
	}
	find := func(i int32) int32 {
		for link[i] != i {
			link[i] = link[link[i]]
			i = link[i]
		}
		return i
	}
	join := func(a, b int32) {
		if a, b = find(a), find(b); a != b {
			link[max(a, b)] = min(a, b)
		}
	}
	for i := 0; i < len(hs); {
		j := i
		for j < len(hs) && hs[j].lo == hs[i].lo && hs[j].hi == hs[i].hi {
			j++
		}
		for ; i+1 < j; i += 2 {
			p, q := hs[i], hs[i+1]
			pu, pv := 3*p.tri+int32(p.from), 3*p.tri+int32(p.from+1)%3
			qu, qv := 3*q.tri+int32(q.from), 3*q.tri+int32(q.from+1)%3
			if m.Triangles[p.tri][p.from] == m.Triangles[q.tri][q.from] {
				qu, qv = qv, qu // wrongly oriented; Validate will say so
			}
			join(pu, qv)
			join(pv, qu)
		}
		i = j
	}
	out := &mesh.Mesh{Triangles: make([][3]int32, len(m.Triangles))}
	named := make([]int32, len(link))
	for i := range named {
		named[i] = -1
	}
	for i, t := range m.Triangles {
		for k := range 3 {
			r := find(int32(3*i + k))
			if named[r] < 0 {
				named[r] = int32(len(out.Vertices))
				out.Vertices = append(out.Vertices, m.Vertices[t[k]])
			}
			out.Triangles[i][k] = named[r]
		}
	}
	return out
}
