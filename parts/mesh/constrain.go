package mesh

import "fmt"

// edge finds the triangle with corners u, v in that order; i is its edge, -1
// when there is none.
func (c *cdt) edge(u, v int32) (t int32, i int) {
	start := c.of[u]
	for t = start; t >= 0; {
		tr := &c.tri[t]
		k := tr.vertex(u)
		if tr.v[next3[k]] == v {
			return t, prev3[k]
		}
		// Counter-clockwise about u, across the edge from v[k+2] to u.
		if t = tr.n[next3[k]]; t == start {
			return t, -1
		}
	}
	// u is a corner of the frame: look the other way round as well.
	for t = start; t >= 0; {
		tr := &c.tri[t]
		k := tr.vertex(u)
		if tr.v[next3[k]] == v {
			return t, prev3[k]
		}
		t = tr.n[prev3[k]]
	}
	return -1, -1
}

// fix marks edge i of t as a constraint, on both sides.
func (c *cdt) fix(t int32, i int) {
	tr := &c.tri[t]
	tr.fixed[i] = true
	if u := tr.n[i]; u >= 0 {
		w := &c.tri[u]
		w.fixed[w.neighbour(t)] = true
	}
}

// constrain makes the segment from a to b an edge, by flips, and fixes it.
func (c *cdt) constrain(a, b int32) error {
	if t, i := c.edge(a, b); i >= 0 {
		c.fix(t, i)
		return nil
	}
	if err := c.crossed(a, b); err != nil {
		return err
	}
	// Flip crossed edges wherever their quadrilateral is convex until none
	// crosses (S. W. Sloan, A fast algorithm for generating constrained
	// Delaunay triangulations, 1993).
	pa, pb := c.at[a], c.at[b]
	c.fresh = c.fresh[:0]
	for k := 0; k < len(c.cross); k++ {
		e := c.cross[k]
		t, i := c.edge(e[0], e[1])
		tr := &c.tri[t]
		w := &c.tri[tr.n[i]]
		p, q := tr.v[i], w.v[w.neighbour(t)]
		if orient2(c.at[p], c.at[e[0]], c.at[q]) <= 0 || orient2(c.at[q], c.at[e[1]], c.at[p]) <= 0 {
			c.cross = append(c.cross, e) // comes free once its neighbours have turned
			continue
		}
		c.flip(t, i)
		if p != a && p != b && q != a && q != b && orient2(pa, pb, c.at[p])*orient2(pa, pb, c.at[q]) < 0 {
			c.cross = append(c.cross, [2]int32{p, q})
		} else {
			c.fresh = append(c.fresh, [2]int32{p, q})
		}
	}
	c.cross = c.cross[:0]
	t, i := c.edge(a, b)
	if i < 0 {
		return fmt.Errorf("triangulate: edge %d–%d could not be formed", c.id[a], c.id[b])
	}
	c.fix(t, i)
	c.relax()
	return nil
}

// crossed collects in c.cross the edges that the open segment from a to b
// crosses, in order from a.
func (c *cdt) crossed(a, b int32) error {
	pa, pb := c.at[a], c.at[b]
	touch := func(v int32) error {
		p := c.at[v]
		return fmt.Errorf("triangulate: point %d at (%g, %g) lies on the edge %d–%d",
			c.id[v], p.X, p.Y, c.id[a], c.id[b])
	}
	// The triangle at a through which the segment leaves.
	t, k := c.of[a], 0
	for {
		tr := &c.tri[t]
		k = tr.vertex(a)
		u, v := tr.v[next3[k]], tr.v[prev3[k]]
		su, sv := orient2(pa, pb, c.at[u]), orient2(pa, pb, c.at[v])
		if su == 0 && ahead(pa.X, pa.Y, pb.X, pb.Y, c.at[u].X, c.at[u].Y) {
			return touch(u)
		}
		if su < 0 && sv > 0 {
			break
		}
		t = tr.n[next3[k]]
	}
	for {
		tr := &c.tri[t]
		u, v := tr.v[next3[k]], tr.v[prev3[k]] // u right of the segment, v left
		if tr.fixed[k] {
			return fmt.Errorf("triangulate: edges %d–%d and %d–%d cross near (%g, %g)",
				c.id[a], c.id[b], c.id[u], c.id[v], (c.at[u].X+c.at[v].X)/2, (c.at[u].Y+c.at[v].Y)/2)
		}
		c.cross = append(c.cross, [2]int32{u, v})
		w := tr.n[k]
		j := c.tri[w].neighbour(t)
		q := c.tri[w].v[j]
		if q == b {
			return nil
		}
		// In w the edge runs v, u after q.
		switch s := orient2(pa, pb, c.at[q]); {
		case s == 0:
			return touch(q)
		case s > 0:
			t, k = w, c.tri[w].vertex(v)
		default:
			t, k = w, c.tri[w].vertex(u)
		}
	}
}

// ahead reports whether p, on the line from a to b, lies on b's side of a.
func ahead(ax, ay, bx, by, px, py float64) bool {
	if ax != bx {
		return px > ax == (bx > ax)
	}
	return py > ay == (by > ay)
}

// relax flips the fresh edges, and what they disturb, back to Delaunay.
func (c *cdt) relax() {
	for len(c.fresh) > 0 {
		e := c.fresh[len(c.fresh)-1]
		c.fresh = c.fresh[:len(c.fresh)-1]
		t, i := c.edge(e[0], e[1])
		if i < 0 {
			continue // flipped away meanwhile
		}
		tr := &c.tri[t]
		u := tr.n[i]
		if u < 0 || tr.fixed[i] {
			continue
		}
		w := &c.tri[u]
		p, q := tr.v[i], w.v[w.neighbour(t)]
		v1, v2 := tr.v[next3[i]], tr.v[prev3[i]]
		if insideCircle(c.at[p], c.at[v1], c.at[v2], c.at[q]) {
			c.flip(t, i)
			c.fresh = append(c.fresh, [2]int32{p, v1}, [2]int32{v1, q}, [2]int32{q, v2}, [2]int32{v2, p})
		}
	}
}

// settle tests every edge inside the region once more: where rounding left
// circles undecided during insertion, an edge may have been passed over that
// is certain now.
func (c *cdt) settle(side []int8) {
	for t := range c.tri {
		if side[t] < 0 {
			continue
		}
		for i := range 3 {
			tr := &c.tri[t]
			u := tr.n[i]
			if u < int32(t) || tr.fixed[i] {
				continue
			}
			w := &c.tri[u]
			v1, v2 := tr.v[next3[i]], tr.v[prev3[i]]
			if insideCircle(c.at[tr.v[i]], c.at[v1], c.at[v2], c.at[w.v[w.neighbour(int32(t))]]) {
				c.fresh = append(c.fresh, [2]int32{v1, v2})
				c.relax()
			}
		}
	}
}

// label finds the triangles of the region: +1 inside, -1 outside. Left of a
// loop's edge is inside, right of it outside, and the frame is outside.
func (c *cdt) label(loops [][]int32) ([]int8, error) {
	side := make([]int8, len(c.tri))
	var stack []int32
	flood := func(t int32, s int8) bool {
		if side[t] != 0 {
			return side[t] == s
		}
		side[t] = s
		stack = append(stack[:0], t)
		for len(stack) > 0 {
			tr := &c.tri[stack[len(stack)-1]]
			stack = stack[:len(stack)-1]
			for i, u := range tr.n {
				if u >= 0 && !tr.fixed[i] && side[u] == 0 {
					side[u] = s
					stack = append(stack, u)
				}
			}
		}
		return true
	}
	flood(c.of[len(c.at)-1], -1)
	first := int32(0)
	for k, l := range loops {
		n := int32(len(l))
		t, i := c.edge(first, first+1)
		ok := flood(t, 1)
		if u := c.tri[t].n[i]; !ok || !flood(u, -1) {
			return nil, fmt.Errorf("triangulate: loop %d, from point %d, runs the wrong way round for where it lies", k, l[0])
		}
		first += n
	}
	return side, nil
}
