package solid

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
)

// half is an edge of a triangle.
type half struct {
	lo, hi int32 // its vertices
	tri    int32
	from   int8 // the corner it starts from
}

// couples puts the triangles around one edge into pairs that have material
// between them.
func couples(m *mesh.Mesh, hs []half) {
	type face struct {
		half
		angle float64
		next  bool // its material lies in the direction of growing angles
	}
	o := m.Vertices[hs[0].lo]
	d := r3.Unit(r3.Sub(m.Vertices[hs[0].hi], o))
	x := r3.Unit(r3.Cross(d, r3.Vec{X: d.Y, Y: d.Z, Z: d.X + 1}))
	y := r3.Cross(d, x)
	fs := make([]face, len(hs))
	for i, h := range hs {
		t := m.Triangles[h.tri]
		e := r3.Sub(m.Vertices[t[(h.from+2)%3]], o)
		a, b, c := m.Corners(int(h.tri))
		n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		fs[i] = face{h, math.Atan2(r3.Dot(y, e), r3.Dot(x, e)), r3.Dot(r3.Cross(d, e), n) < 0}
	}
	slices.SortStableFunc(fs, func(a, b face) int { return cmp.Compare(a.angle, b.angle) })
	first := slices.IndexFunc(fs, func(f face) bool { return f.next })
	for i := range fs {
		hs[i] = fs[(max(first, 0)+i)%len(fs)].half
	}
}

// openSeams gives bodies that touch only along an edge their own vertices
// there, so that every edge has two triangles.
func openSeams(m *mesh.Mesh) *mesh.Mesh {
	hs := make([]half, 0, 3*len(m.Triangles))
	for i, t := range m.Triangles {
		for k := range 3 {
			u, v := t[k], t[(k+1)%3]
			hs = append(hs, half{min(u, v), max(u, v), int32(i), int8(k)})
		}
	}
	slices.SortFunc(hs, func(a, b half) int {
		return cmp.Or(cmp.Compare(a.lo, b.lo), cmp.Compare(a.hi, b.hi), cmp.Compare(a.tri, b.tri))
	})
	type couple struct{ p, q half }
	var doubled []couple                      // at edges with more than two triangles
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
		first := i
		if j-i > 2 {
			couples(m, hs[i:j])
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
			if j-first > 2 {
				doubled = append(doubled, couple{p, q})
			}
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
	// Where both ends of a seam are joined round its ends, the bodies get a point
	// of their own in its middle.
	busy := map[[2]int32]int{}
	key := func(h half) [2]int32 {
		t := out.Triangles[h.tri]
		u, v := t[h.from], t[(h.from+1)%3]
		return [2]int32{min(u, v), max(u, v)}
	}
	for _, c := range doubled {
		busy[key(c.p)]++
	}
	done := map[int32]bool{}
	for _, c := range doubled {
		k := key(c.p)
		if busy[k] < 2 || key(c.q) != k || done[c.p.tri] || done[c.q.tri] {
			continue // a triangle is divided once; Validate tells if that was not enough
		}
		mid := int32(len(out.Vertices))
		out.Vertices = append(out.Vertices, r3.Scale(0.5, r3.Add(out.Vertices[k[0]], out.Vertices[k[1]])))
		for _, h := range [2]half{c.p, c.q} {
			t := out.Triangles[h.tri]
			u, v, w := t[h.from], t[(h.from+1)%3], t[(h.from+2)%3]
			out.Triangles[h.tri] = [3]int32{u, mid, w}
			out.Triangles = append(out.Triangles, [3]int32{mid, v, w})
			done[h.tri] = true
		}
	}
	return out
}

// partSeams moves vertices where bodies only touch by d mm into their own
// material, so that they are apart in a file of coordinates too: vertices that
// openSeams has made of one, and ends of vertical edges that lie on each other.
func partSeams(m *mesh.Mesh, d float64) {
	order := make([]int32, len(m.Vertices))
	for i := range order {
		order[i] = int32(i)
	}
	less := func(a, b r3.Vec) int {
		return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y), cmp.Compare(a.Z, b.Z))
	}
	slices.SortFunc(order, func(i, j int32) int { return cmp.Or(less(m.Vertices[i], m.Vertices[j]), cmp.Compare(i, j)) })
	move := make([]bool, len(m.Vertices))
	for k, i := range order[1:] {
		if j := order[k]; m.Vertices[i] == m.Vertices[j] {
			move[i], move[j] = true, true
		}
	}
	type post struct{ lo, hi int32 }
	var posts []post
	for _, t := range m.Triangles {
		for k := range 3 {
			u, v := t[k], t[(k+1)%3]
			if p, q := m.Vertices[u], m.Vertices[v]; p.X == q.X && p.Y == q.Y && p.Z < q.Z {
				posts = append(posts, post{u, v})
			}
		}
	}
	slices.SortFunc(posts, func(a, b post) int {
		return cmp.Or(less(m.Vertices[a.lo], m.Vertices[b.lo]), cmp.Compare(a.lo, b.lo), cmp.Compare(a.hi, b.hi))
	})
	for i, a := range posts {
		p, top := m.Vertices[a.lo], m.Vertices[a.hi].Z
		for _, b := range posts[i+1:] {
			if q := m.Vertices[b.lo]; q.X != p.X || q.Y != p.Y || q.Z >= top {
				break
			}
			if a.lo != b.lo {
				move[a.lo], move[b.lo] = true, true
			}
			if a.hi != b.hi {
				move[a.hi], move[b.hi] = true, true
			}
		}
	}
	out := make([]r3.Vec, len(m.Vertices)) // mean outward normals by angle
	for i, t := range m.Triangles {
		if !move[t[0]] && !move[t[1]] && !move[t[2]] {
			continue
		}
		a, b, c := m.Corners(i)
		n := r3.Unit(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)))
		for k, p := range [3]r3.Vec{a, b, c} {
			q, r := m.Vertices[t[(k+1)%3]], m.Vertices[t[(k+2)%3]]
			w := math.Acos(max(-1, min(1, r3.Cos(r3.Sub(q, p), r3.Sub(r, p)))))
			out[t[k]] = r3.Add(out[t[k]], r3.Scale(w, n))
		}
	}
	for i := range move {
		if l := r3.Norm(out[i]); move[i] && l > 1e-9 {
			m.Vertices[i] = r3.Sub(m.Vertices[i], r3.Scale(d/l, out[i]))
		}
	}
}
