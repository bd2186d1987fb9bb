package solid

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
	"tuckfinger/parts/mesh/exact"
)

// errTouch says that two surfaces touch without crossing, or nearly so.
var errTouch = errors.New("solid: surfaces touch without crossing")

// carver cuts two closed surfaces at each other. Each crossing of an edge of one
// with a triangle of the other is one point, computed once and known by number to
// all triangles there, so that nothing is welded and nothing gapes.
type carver struct {
	m   [2]*mesh.Mesh
	tri [2][][3]int32 // corners, numbered through both
	at  []r3.Vec      // vertices of both, then crossings
	// The points on an edge, in no order, and of each pair of triangles that cross.
	on   map[[2]int32][]int32
	ends map[[2]int32][]int32
}

// carve returns the surface of the points of a that are not in b. Both must be
// closed and oriented. The signs that decide are exact. errTouch says that the
// two are not in general position: move b a little. The triangles from first on are
// those of b.
func carve(a, b *mesh.Mesh) (out *mesh.Mesh, first int, err error) {
	c := &carver{m: [2]*mesh.Mesh{a, b}, on: map[[2]int32][]int32{}, ends: map[[2]int32][]int32{}}
	c.at = append(append(c.at, a.Vertices...), b.Vertices...)
	for s, shift := range [2]int32{0, int32(len(a.Vertices))} {
		for _, t := range c.m[s].Triangles {
			c.tri[s] = append(c.tri[s], [3]int32{t[0] + shift, t[1] + shift, t[2] + shift})
		}
	}
	for s := range 2 {
		if err := c.meet(s); err != nil {
			return nil, 0, err
		}
	}
	cuts, walls, err := c.segments()
	if err != nil {
		return nil, 0, err
	}
	out = &mesh.Mesh{Vertices: c.at}
	for s := range 2 {
		first = len(out.Triangles)
		pieces, err := c.split(s, cuts[s])
		if err != nil {
			return nil, 0, err
		}
		for _, part := range patches(pieces, walls) {
			if c.inside(part, 1-s) != (s == 1) {
				continue
			}
			for _, t := range part {
				if s == 1 {
					t[1], t[2] = t[2], t[1]
				}
				out.Triangles = append(out.Triangles, t)
			}
		}
	}
	return out.Compact(), first, nil
}

func undirected(u, v int32) [2]int32 { return [2]int32{min(u, v), max(u, v)} }

// meet finds where the edges of surface s cross the triangles of the other.
func (c *carver) meet(s int) error {
	around := map[[2]int32][]int32{}
	var edges [][2]int32
	whole := c.m[1-s].Box()
	for t, v := range c.tri[s] {
		for k := range 3 {
			e := undirected(v[k], v[succ[k]])
			if around[e] == nil && overlap(c.box(e[0], e[1]), whole) {
				edges = append(edges, e)
			}
			around[e] = append(around[e], int32(t))
		}
	}
	boxes := make([]r3.Box, len(c.tri[1-s]))
	for i, t := range c.tri[1-s] {
		boxes[i] = c.box(t[0], t[1], t[2])
	}
	for _, e := range edges {
		box := c.box(e[0], e[1])
		for i, t := range c.tri[1-s] {
			if !overlap(box, boxes[i]) {
				continue
			}
			hit, p, err := c.cross(e, t)
			if err != nil {
				return err
			}
			if !hit {
				continue
			}
			id := int32(len(c.at))
			c.at = append(c.at, p)
			c.on[e] = append(c.on[e], id)
			for _, own := range around[e] {
				pair := [2]int32{own, int32(i)}
				if s == 1 {
					pair = [2]int32{int32(i), own}
				}
				c.ends[pair] = append(c.ends[pair], id)
			}
		}
	}
	return nil
}

// box is the box of some points.
func (c *carver) box(ids ...int32) r3.Box {
	b := r3.Box{Min: c.at[ids[0]], Max: c.at[ids[0]]}
	for _, i := range ids[1:] {
		p := c.at[i]
		b.Min = r3.Vec{X: min(b.Min.X, p.X), Y: min(b.Min.Y, p.Y), Z: min(b.Min.Z, p.Z)}
		b.Max = r3.Vec{X: max(b.Max.X, p.X), Y: max(b.Max.Y, p.Y), Z: max(b.Max.Z, p.Z)}
	}
	return b
}

func overlap(a, b r3.Box) bool {
	return a.Min.X <= b.Max.X && b.Min.X <= a.Max.X && a.Min.Y <= b.Max.Y && b.Min.Y <= a.Max.Y && a.Min.Z <= b.Max.Z && b.Min.Z <= a.Max.Z
}

// cross reports whether an edge crosses a triangle, and where.
func (c *carver) cross(e [2]int32, t [3]int32) (hit bool, p r3.Vec, err error) {
	u, v := c.at[e[0]], c.at[e[1]]
	q := [3]r3.Vec{c.at[t[0]], c.at[t[1]], c.at[t[2]]}
	su, sv := exact.Side3(q[0], q[1], q[2], u), exact.Side3(q[0], q[1], q[2], v)
	if su == sv && su != 0 {
		return false, p, nil
	}
	var around [3]int
	for k := range 3 {
		around[k] = exact.Side3(u, v, q[k], q[succ[k]])
	}
	lo, hi := min(around[0], around[1], around[2]), max(around[0], around[1], around[2])
	if lo < 0 && hi > 0 {
		return false, p, nil
	}
	if su == 0 || sv == 0 || lo == 0 || hi == 0 {
		return false, p, errTouch
	}
	n := r3.Cross(r3.Sub(q[1], q[0]), r3.Sub(q[2], q[0]))
	du, dv := r3.Dot(n, r3.Sub(u, q[0])), r3.Dot(n, r3.Sub(v, q[0]))
	f := 0.5
	if du != dv {
		f = min(max(du/(du-dv), 0), 1)
	}
	return true, r3.Add(u, r3.Scale(f, r3.Sub(v, u))), nil
}

// cut is a line that another surface leaves on a triangle.
type cut struct{ tri, a, b int32 }

// segments returns what each surface has cut into it, by triangle, and all lines as
// a set.
func (c *carver) segments() (cuts [2][]cut, walls map[[2]int32]bool, err error) {
	walls = map[[2]int32]bool{}
	for pair, ends := range c.ends {
		if len(ends) != 2 {
			return cuts, nil, errTouch
		}
		e := undirected(ends[0], ends[1])
		walls[e] = true
		for s := range 2 {
			cuts[s] = append(cuts[s], cut{pair[s], e[0], e[1]})
		}
	}
	for s := range 2 {
		slices.SortFunc(cuts[s], func(x, y cut) int {
			return cmp.Or(cmp.Compare(x.tri, y.tri), cmp.Compare(x.a, y.a), cmp.Compare(x.b, y.b))
		})
	}
	return cuts, walls, nil
}

// split returns the triangles of surface s, those that are cut in pieces.
func (c *carver) split(s int, cuts []cut) ([][3]int32, error) {
	var out [][3]int32
	for t, v := range c.tri[s] {
		n := 0
		for n < len(cuts) && cuts[n].tri == int32(t) {
			n++
		}
		mine := cuts[:n]
		cuts = cuts[n:]
		whole := n == 0
		for k := range 3 {
			whole = whole && len(c.on[undirected(v[k], v[succ[k]])]) == 0
		}
		if whole {
			out = append(out, v)
			continue
		}
		pieces, err := c.pieces(v, mine)
		if err != nil {
			return nil, err
		}
		out = append(out, pieces...)
	}
	return out, nil
}

// pieces triangulates a triangle with its cuts.
func (c *carver) pieces(v [3]int32, cuts []cut) ([][3]int32, error) {
	n := r3.Cross(r3.Sub(c.at[v[1]], c.at[v[0]]), r3.Sub(c.at[v[2]], c.at[v[0]]))
	flat := func(p r3.Vec) r2.Vec { // seen from outside, along the axis nearest to the normal
		switch x, y, z := math.Abs(n.X), math.Abs(n.Y), math.Abs(n.Z); {
		case x >= y && x >= z && n.X > 0:
			return r2.Vec{X: p.Y, Y: p.Z}
		case x >= y && x >= z:
			return r2.Vec{X: p.Z, Y: p.Y}
		case y >= z && n.Y > 0:
			return r2.Vec{X: p.Z, Y: p.X}
		case y >= z:
			return r2.Vec{X: p.X, Y: p.Z}
		case n.Z > 0:
			return r2.Vec{X: p.X, Y: p.Y}
		}
		return r2.Vec{X: p.Y, Y: p.X}
	}
	var ids []int32 // of the points of the triangulation
	var points []r2.Vec
	local := map[int32]int32{}
	index := func(id int32) int32 {
		i, ok := local[id]
		if !ok {
			i = int32(len(ids))
			local[id] = i
			ids, points = append(ids, id), append(points, flat(c.at[id]))
		}
		return i
	}
	var rim [][2]int32
	for k := range 3 {
		from, to := v[k], v[succ[k]]
		chain := slices.Clone(c.on[undirected(from, to)])
		slices.SortFunc(chain, func(a, b int32) int {
			return cmp.Compare(r3.Norm2(r3.Sub(c.at[a], c.at[from])), r3.Norm2(r3.Sub(c.at[b], c.at[from])))
		})
		for _, id := range append(chain, to) {
			rim = append(rim, [2]int32{index(from), index(id)})
			from = id
		}
	}
	var inner [][2]int32
	for _, s := range cuts {
		inner = append(inner, [2]int32{index(s.a), index(s.b)})
	}
	all := make([]int32, len(ids))
	for i := range all {
		all[i] = int32(i)
	}
	p, err := newPlane(points, all)
	if err != nil {
		return nil, err
	}
	for _, e := range rim {
		if err := p.constrain(e[0], e[1], 0); err != nil {
			return nil, err
		}
	}
	for _, e := range inner {
		if err := p.constrain(e[0], e[1], -1); err != nil {
			return nil, err
		}
	}
	p.label()
	var out [][3]int32
	for i := range p.tri {
		t := &p.tri[i]
		if t.wind[0] == 1 && max(t.v[0], t.v[1], t.v[2]) < p.frame {
			out = append(out, [3]int32{ids[t.v[0]], ids[t.v[1]], ids[t.v[2]]})
		}
	}
	if len(out) != len(rim)-2+2*(len(ids)-len(rim)) {
		return nil, fmt.Errorf("solid: %d pieces of a triangle with %d points on its rim and %d within", len(out), len(rim), len(ids)-len(rim))
	}
	return out, nil
}

// patches groups triangles that hang together without crossing walls.
func patches(tris [][3]int32, walls map[[2]int32]bool) [][][3]int32 {
	beside := map[[2]int32][]int32{}
	for i, t := range tris {
		for k := range 3 {
			e := undirected(t[k], t[succ[k]])
			beside[e] = append(beside[e], int32(i))
		}
	}
	seen := make([]bool, len(tris))
	var out [][][3]int32
	for i := range tris {
		if seen[i] {
			continue
		}
		seen[i] = true
		queue := []int32{int32(i)}
		for n := 0; n < len(queue); n++ {
			t := tris[queue[n]]
			for k := range 3 {
				e := undirected(t[k], t[succ[k]])
				if walls[e] {
					continue
				}
				for _, j := range beside[e] {
					if !seen[j] {
						seen[j] = true
						queue = append(queue, j)
					}
				}
			}
		}
		part := make([][3]int32, len(queue))
		for n, j := range queue {
			part[n] = tris[j]
		}
		out = append(out, part)
	}
	return out
}

// inside reports whether a patch lies inside surface s: the sum of the solid angles
// of its triangles (A. van Oosterom, J. Strackee, The solid angle of a plane
// triangle, 1983) about the middle of the patch's largest triangle.
func (c *carver) inside(part [][3]int32, s int) bool {
	var p r3.Vec
	largest := -1.0
	for _, t := range part {
		a, b, d := c.at[t[0]], c.at[t[1]], c.at[t[2]]
		if area := r3.Norm(r3.Cross(r3.Sub(b, a), r3.Sub(d, a))); area > largest {
			largest, p = area, r3.Scale(1./3, r3.Add(a, r3.Add(b, d)))
		}
	}
	angle := 0.0
	for _, t := range c.tri[s] {
		x, y, z := r3.Sub(c.at[t[0]], p), r3.Sub(c.at[t[1]], p), r3.Sub(c.at[t[2]], p)
		lx, ly, lz := r3.Norm(x), r3.Norm(y), r3.Norm(z)
		angle += 2 * math.Atan2(r3.Dot(x, r3.Cross(y, z)), lx*ly*lz+r3.Dot(x, y)*lz+r3.Dot(y, z)*lx+r3.Dot(z, x)*ly)
	}
	return angle > 2*math.Pi
}
