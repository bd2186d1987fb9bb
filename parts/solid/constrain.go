package solid

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/mesh/exact"
)

// edge finds the triangle with the directed edge a→b and its edge number, -1
// when the triangulation has no such edge, or no longer.
func (p *plane) edge(a, b int32) (t int32, i int) {
	start := p.of[a]
	if start < 0 {
		return start, -1
	}
	for t = start; ; {
		tr := &p.tri[t]
		k := tr.corner(a)
		if tr.v[succ[k]] == b {
			return t, pred[k]
		}
		if t = tr.n[succ[k]]; t == start {
			return t, -1
		} else if t < 0 {
			break
		}
	}
	// About a point of the frame, the other way round too.
	for t = start; t >= 0; {
		tr := &p.tri[t]
		k := tr.corner(a)
		if tr.v[succ[k]] == b {
			return t, pred[k]
		}
		t = tr.n[pred[k]]
	}
	return t, -1
}

// constrain makes a–b an edge, or a chain of edges where points lie on it, and
// notes that set (0 or 1) winds once more to the left of a→b; set < 0 fixes
// the edge alone.
func (p *plane) constrain(a, b int32, set int) error {
	t, i := p.edge(a, b)
	if i < 0 {
		mid, err := p.clear(a, b)
		if err != nil {
			return err
		}
		if mid >= 0 {
			if err := p.constrain(a, mid, set); err != nil {
				return err
			}
			return p.constrain(mid, b, set)
		}
		if t, i = p.edge(a, b); i < 0 {
			return fmt.Errorf("solid: contour edge %d–%d could not be formed", a, b)
		}
	}
	tr := &p.tri[t]
	u := tr.n[i]
	w := &p.tri[u]
	j := w.beyond(t)
	tr.fixed[i], w.fixed[j] = true, true
	if set >= 0 {
		tr.step[i][set]++
		w.step[j][set]--
	}
	return nil
}

// clear flips away the edges that a–b crosses (S. W. Sloan, A fast algorithm
// for generating constrained Delaunay triangulations, 1993). It returns the
// first point that lies on a–b instead, if there is one, else -1.
func (p *plane) clear(a, b int32) (on int32, err error) {
	pa, pb := p.at[a], p.at[b]
	t := p.of[a]
	var k int
	// The triangle at a into which a–b leaves.
	for {
		tr := &p.tri[t]
		k = tr.corner(a)
		l, r := tr.v[pred[k]], tr.v[succ[k]]
		sr := exact.Orient2(pa, pb, p.at[r])
		sl := exact.Orient2(pa, pb, p.at[l])
		if sr == 0 && ahead(pa, pb, p.at[r]) {
			return r, nil
		}
		if sl == 0 && ahead(pa, pb, p.at[l]) {
			return l, nil
		}
		if sr < 0 && sl > 0 {
			break
		}
		if t = tr.n[succ[k]]; t == p.of[a] || t < 0 {
			return -1, fmt.Errorf("solid: no triangle at contour point %d faces point %d", a, b)
		}
	}
	p.cross = p.cross[:0]
	for {
		tr := &p.tri[t]
		r, l := tr.v[succ[k]], tr.v[pred[k]]
		if tr.fixed[k] {
			return -1, &crossing{a, b, r, l}
		}
		p.cross = append(p.cross, [2]int32{r, l})
		u := tr.n[k]
		w := &p.tri[u]
		q := w.v[w.beyond(t)]
		if q == b {
			break
		}
		s := exact.Orient2(pa, pb, p.at[q])
		if s == 0 {
			return q, nil
		}
		if s > 0 {
			k = w.corner(l)
		} else {
			k = w.corner(r)
		}
		t = u
	}
	var fresh [][2]int32
	for i := 0; i < len(p.cross); i++ {
		e := p.cross[i]
		t, k := p.edge(e[0], e[1])
		tr := &p.tri[t]
		w := &p.tri[tr.n[k]]
		c, q := tr.v[k], w.v[w.beyond(t)]
		if exact.Orient2(p.at[c], p.at[e[0]], p.at[q]) <= 0 || exact.Orient2(p.at[q], p.at[e[1]], p.at[c]) <= 0 {
			p.cross = append(p.cross, e) // convex once its neighbours have turned
			continue
		}
		p.flip(t, k)
		sc, sq := exact.Orient2(pa, pb, p.at[c]), exact.Orient2(pa, pb, p.at[q])
		if c != a && c != b && q != a && q != b && (sc > 0) != (sq > 0) {
			p.cross = append(p.cross, [2]int32{c, q})
		} else {
			fresh = append(fresh, [2]int32{c, q})
		}
	}
	for again := true; again; {
		again = false
		for i, e := range fresh {
			if e[0] == a && e[1] == b || e[0] == b && e[1] == a {
				continue
			}
			t, k := p.edge(e[0], e[1])
			tr := &p.tri[t]
			if tr.fixed[k] {
				continue
			}
			w := &p.tri[tr.n[k]]
			c, q := tr.v[k], w.v[w.beyond(t)]
			if exact.InCircle(p.at[tr.v[0]], p.at[tr.v[1]], p.at[tr.v[2]], p.at[q]) {
				p.flip(t, k)
				fresh[i], again = [2]int32{c, q}, true
			}
		}
	}
	return -1, nil
}

func ahead(a, b, q r2.Vec) bool {
	return (b.X-a.X)*(q.X-a.X)+(b.Y-a.Y)*(q.Y-a.Y) > 0
}

// crossing is the error of two contour edges that cross.
type crossing struct{ a, b, c, d int32 }

func (e *crossing) Error() string {
	return fmt.Sprintf("solid: contour edge %d–%d crosses edge %d–%d", e.a, e.b, e.c, e.d)
}
