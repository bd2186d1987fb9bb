package mesh

import (
	"fmt"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// FaultKind says in which way a mesh fails to bound a solid.
type FaultKind int

const (
	// FaultEmpty: the mesh has no triangles.
	FaultEmpty FaultKind = iota
	// FaultIndex: a triangle names a vertex that does not exist.
	FaultIndex
	// FaultNotFinite: a vertex has a NaN or infinite coordinate.
	FaultNotFinite
	// FaultUnused: a vertex that no triangle names.
	FaultUnused
	// FaultDegenerate: a triangle names a vertex twice or has no area.
	FaultDegenerate
	// FaultOpen: an edge with a triangle on one side only.
	FaultOpen
	// FaultOrientation: two triangles run along their edge in the same direction.
	FaultOrientation
	// FaultOvershared: an edge with more than two triangles.
	FaultOvershared
	// FaultDuplicate: two triangles over the same three vertices.
	FaultDuplicate
	// FaultVolume: the surface is closed but encloses no positive volume.
	FaultVolume
	faultKinds
)

var faultText = [faultKinds]string{
	"no triangles", "vertex index out of range", "vertex not finite", "vertex not used",
	"degenerate triangle", "open edge", "edge run twice in one direction",
	"edge with more than two triangles", "duplicate triangle", "volume not positive",
}

func (k FaultKind) String() string { return faultText[k] }

// Fault is one way in which a mesh is not valid, with the first place.
type Fault struct {
	Kind FaultKind
	// Count is how often it occurs: edges, triangles or vertices.
	Count int
	// Triangle is the first triangle concerned, -1 where none is.
	Triangle int
	// Edge holds the vertices of the first edge, or the vertex twice, or -1.
	Edge [2]int32
	// Place is the middle of that edge or triangle, or the vertex, in mm.
	Place r3.Vec
}

func (f Fault) Error() string {
	var b strings.Builder
	b.WriteString(f.Kind.String())
	if f.Triangle >= 0 {
		fmt.Fprintf(&b, ": triangle %d", f.Triangle)
	}
	switch {
	case f.Edge[0] >= 0 && f.Edge[0] == f.Edge[1]:
		fmt.Fprintf(&b, ", vertex %d", f.Edge[0])
	case f.Edge[0] >= 0:
		fmt.Fprintf(&b, ", edge %d–%d", f.Edge[0], f.Edge[1])
	}
	if f.Kind != FaultEmpty && f.Kind != FaultVolume {
		fmt.Fprintf(&b, " at (%.4g, %.4g, %.4g) mm", f.Place.X, f.Place.Y, f.Place.Z)
	}
	if f.Count > 1 {
		fmt.Fprintf(&b, " (%d in all)", f.Count)
	}
	return b.String()
}

// Invalid is the error of Validate: one fault per kind, in the order of kinds.
type Invalid []Fault

func (e Invalid) Error() string {
	s := make([]string, len(e))
	for i, f := range e {
		s[i] = f.Error()
	}
	return "mesh: " + strings.Join(s, "; ")
}

// Validate returns nil when m bounds a solid: indices and coordinates are
// sound, every vertex is used, no triangle is degenerate or repeated, every
// edge belongs to exactly two triangles that run along it in opposite
// directions, and the enclosed volume is positive. Otherwise it returns an
// Invalid that counts every kind of fault and names the first of each.
//
// It does not look for triangles that pass through each other
// (SelfIntersections) nor for vertices where two sheets touch (Topology).
func (m *Mesh) Validate() error {
	_, err := m.validate()
	return err
}

// validate is Validate; it returns the twins of half-edges too.
func (m *Mesh) validate() (twin []int32, err error) {
	var first [faultKinds]Fault
	add := func(k FaultKind, tri int, e [2]int32, at r3.Vec) {
		f := &first[k]
		if f.Count++; f.Count == 1 {
			*f = Fault{k, 1, tri, e, at}
		}
	}
	none := [2]int32{-1, -1}
	if len(m.Triangles) == 0 {
		add(FaultEmpty, -1, none, r3.Vec{})
	}
	used := make([]bool, len(m.Vertices))
	for i, t := range m.Triangles {
		for _, v := range t {
			if v < 0 || int(v) >= len(m.Vertices) {
				add(FaultIndex, i, [2]int32{v, v}, r3.Vec{})
			} else {
				used[v] = true
			}
		}
	}
	for i, p := range m.Vertices {
		v := int32(i)
		if !finite(p) {
			add(FaultNotFinite, -1, [2]int32{v, v}, p)
		}
		if !used[i] {
			add(FaultUnused, -1, [2]int32{v, v}, p)
		}
	}
	// The rest needs indices and coordinates that can be followed.
	if first[FaultEmpty].Count+first[FaultIndex].Count+first[FaultNotFinite].Count > 0 {
		return nil, collect(first)
	}
	for i, t := range m.Triangles {
		a, b, c := m.Corners(i)
		if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] || degenerate(a, b, c) {
			add(FaultDegenerate, i, none, r3.Scale(1./3, r3.Add(a, r3.Add(b, c))))
		}
	}
	twin, bad := m.twins()
	for _, b := range bad {
		i := int(b.h / 3)
		u, v := m.halfEdge(b.h)
		add(b.kind, i, [2]int32{u, v}, r3.Scale(0.5, r3.Add(m.Vertices[u], m.Vertices[v])))
	}
	for i := range m.Triangles {
		a, b, c := twin[3*i], twin[3*i+1], twin[3*i+2]
		if a >= 0 && b >= 0 && c >= 0 && a/3 == b/3 && b/3 == c/3 && int(a/3) > i {
			p, q, r := m.Corners(i)
			add(FaultDuplicate, int(a/3), none, r3.Scale(1./3, r3.Add(p, r3.Add(q, r))))
		}
	}
	if len(bad) == 0 && m.Volume() <= 0 {
		add(FaultVolume, -1, none, r3.Vec{})
	}
	return twin, collect(first)
}

func collect(first [faultKinds]Fault) error {
	var e Invalid
	for _, f := range first {
		if f.Count > 0 {
			e = append(e, f)
		}
	}
	if e == nil {
		return nil
	}
	return e
}

// degenerate reports whether the area of a triangle is not distinguishable
// from zero: below the rounding error of the cross product that measures it.
func degenerate(a, b, c r3.Vec) bool {
	e, f := r3.Sub(b, a), r3.Sub(c, a)
	const eps = 1.0 / (1 << 50)
	return r3.Norm2(r3.Cross(e, f)) <= eps*eps*r3.Norm2(e)*r3.Norm2(f)
}

// halfEdge returns start and end of half-edge h = 3·triangle + corner.
func (m *Mesh) halfEdge(h int32) (u, v int32) {
	t := &m.Triangles[h/3]
	switch h % 3 {
	case 0:
		return t[0], t[1]
	case 1:
		return t[1], t[2]
	}
	return t[2], t[0]
}

// badEdge is an edge that is not shared by exactly two opposite half-edges; h
// is its first half-edge.
type badEdge struct {
	h    int32
	kind FaultKind
}

// twins pairs the half-edges: twin[h] is the half-edge that runs along the
// same edge the other way, or -1. bad lists the edges that do not pair, by
// their first half-edge in triangle order. Indices must be in range.
func (m *Mesh) twins() (twin []int32, bad []badEdge) {
	n := int32(3 * len(m.Triangles))
	twin = make([]int32, n)
	// Half-edges are sorted into buckets by their lower vertex; a bucket is
	// the fan of one vertex and so is short.
	start := make([]int32, len(m.Vertices)+1)
	for h := range n {
		u, v := m.halfEdge(h)
		start[min(u, v)+1]++
	}
	for i := range m.Vertices {
		start[i+1] += start[i]
	}
	type entry struct{ other, h int32 }
	bucket := make([]entry, n)
	fill := slices.Clone(start)
	for h := range n {
		u, v := m.halfEdge(h)
		lo, hi := min(u, v), max(u, v)
		bucket[fill[lo]] = entry{hi, h}
		fill[lo]++
		twin[h] = -1
	}
	for i := range m.Vertices {
		fan := bucket[start[i]:start[i+1]]
		slices.SortFunc(fan, func(a, b entry) int {
			if a.other != b.other {
				return int(a.other) - int(b.other)
			}
			return int(a.h) - int(b.h)
		})
		for len(fan) > 0 {
			k := 1
			for k < len(fan) && fan[k].other == fan[0].other {
				k++
			}
			kind := FaultOvershared
			switch k {
			case 1:
				kind = FaultOpen
			case 2:
				u0, v0 := m.halfEdge(fan[0].h)
				u1, v1 := m.halfEdge(fan[1].h)
				if kind = FaultOrientation; u0 == v1 && v0 == u1 {
					kind = FaultEmpty
					twin[fan[0].h], twin[fan[1].h] = fan[1].h, fan[0].h
				}
			}
			if kind != FaultEmpty {
				bad = append(bad, badEdge{fan[0].h, kind})
			}
			fan = fan[k:]
		}
	}
	slices.SortFunc(bad, func(a, b badEdge) int { return int(a.h) - int(b.h) })
	return twin, bad
}

// Topology is the connectivity of a closed, edge-manifold mesh.
type Topology struct {
	Vertices, Edges, Triangles int
	// Components is the number of closed surfaces, a cavity's wall being one.
	Components int
	// Euler is vertices − edges + triangles, a pinched vertex counted once
	// for each sheet that meets there.
	Euler int
	// Genus is the number of handles, summed over components:
	// Components − Euler/2.
	Genus int
	// Pinched lists the vertices where two or more sheets touch: the mesh is
	// edge-manifold there but not vertex-manifold.
	Pinched []int32
}

// Topology counts components and handles and lists the pinched vertices. It
// returns an error when an edge is not shared by exactly two opposite
// triangles, for then the numbers mean nothing.
func (m *Mesh) Topology() (Topology, error) {
	for i, t := range m.Triangles {
		for _, v := range t {
			if v < 0 || int(v) >= len(m.Vertices) {
				return Topology{}, Invalid{{FaultIndex, 1, i, [2]int32{v, v}, r3.Vec{}}}
			}
		}
	}
	twin, bad := m.twins()
	if len(bad) > 0 {
		u, v := m.halfEdge(bad[0].h)
		at := r3.Scale(0.5, r3.Add(m.Vertices[u], m.Vertices[v]))
		return Topology{}, Invalid{{bad[0].kind, 1, int(bad[0].h / 3), [2]int32{u, v}, at}}
	}
	t := Topology{Edges: len(twin) / 2, Triangles: len(m.Triangles)}
	// Each orbit of half-edges around a vertex is one sheet.
	sheets := make([]int32, len(m.Vertices))
	seen := make([]bool, len(twin))
	total := 0
	for h := range int32(len(twin)) {
		if seen[h] {
			continue
		}
		u, _ := m.halfEdge(h)
		total++
		sheets[u]++
		for g := h; !seen[g]; {
			seen[g] = true
			g = twin[g]
			g = g - g%3 + (g+1)%3
		}
	}
	for v, s := range sheets {
		if s > 0 {
			t.Vertices++
		}
		if s > 1 {
			t.Pinched = append(t.Pinched, int32(v))
		}
	}
	t.Euler = total - t.Edges + t.Triangles
	_, t.Components = m.components(twin)
	t.Genus = t.Components - t.Euler/2
	return t, nil
}

// components labels each triangle with the number of its connected surface,
// numbered by first triangle; triangles are connected through their edges.
func (m *Mesh) components(twin []int32) (label []int32, n int) {
	label = make([]int32, len(m.Triangles))
	for i := range label {
		label[i] = -1
	}
	var stack []int32
	for i := range label {
		if label[i] >= 0 {
			continue
		}
		label[i] = int32(n)
		stack = append(stack[:0], int32(i))
		for len(stack) > 0 {
			t := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			for k := range int32(3) {
				if g := twin[3*t+k]; g >= 0 && label[g/3] < 0 {
					label[g/3] = int32(n)
					stack = append(stack, g/3)
				}
			}
		}
		n++
	}
	return label, n
}
