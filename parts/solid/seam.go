package solid

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
)

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
	type couple struct{ p, q half }
	var couples []couple                      // at edges with more than two triangles
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
				couples = append(couples, couple{p, q})
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
	for _, c := range couples {
		busy[key(c.p)]++
	}
	done := map[int32]bool{}
	for _, c := range couples {
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
