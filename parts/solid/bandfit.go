package solid

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/mesh/exact"
)

// lift does away with slivers, and with triangles whose three corners are on the
// outline at the chamfer's foot: if one is so small that its height is right, it
// would still lie flat in the face there. It reports whether it has added points.
func (b *band) lift(dist *outline, c, tol float64) (added bool, err error) {
	const sliver = 2e-4
	high := func(p, q, r int32) float64 { return height(b.at[p], b.at[q], b.at[r]) }
	foot := func(p, q, r int32) bool { return b.side[p] == 1 && b.side[q] == 1 && b.side[r] == 1 }
	for i := 0; i < len(b.tri); i++ {
		t := b.tri[i]
		if !t.inBand() {
			continue
		}
		flat, was := foot(t.v[0], t.v[1], t.v[2]), high(t.v[0], t.v[1], t.v[2])
		if !flat && was > sliver {
			continue
		}
		done := false
		for k := range 3 {
			e := [2]int32{t.v[succ[k]], t.v[pred[k]]}
			done = done || b.turn(e, func(p, q int32) bool {
				return !foot(p, q, e[0]) && !foot(p, q, e[1]) && b.wrong(p, q, dist, c) <= 1.15*tol &&
					min(high(p, q, e[0]), high(p, q, e[1])) > min(was, sliver)
			})
		}
		if !done && !flat {
			added = b.drop(t.v, was, dist, c, tol) || added
		} else if !done {
			m := r2.Scale(1./3, r2.Add(b.at[t.v[0]], r2.Add(b.at[t.v[1]], b.at[t.v[2]])))
			q, h := dist.ridge(m, c)
			ok, err := b.tryAdd(q, h, sliver, 0)
			added = added || ok
			if err == nil && b.tri[i].v == t.v { // the ridge is elsewhere
				ok, err = b.tryAdd(m, min(c, max(sliver, -dist.signed(m))), 0, 0)
				added = added || ok
			}
			if err != nil {
				return added, err
			}
		}
	}
	return added, nil
}

// drop takes one of the points that were added at a sliver out again, if that leaves
// no other sliver and no wrong height.
func (b *band) drop(corners [3]int32, was float64, dist *outline, c, tol float64) bool {
	for _, v := range corners {
		if _, ok := b.height[v]; !ok {
			continue
		}
		tri, of, last := slices.Clone(b.tri), slices.Clone(b.of), b.last
		fresh := b.remove(v)
		good := fresh != nil
		for _, i := range fresh {
			t := b.tri[i].v
			_, _, e := b.error(i, true, dist, c)
			good = good && e <= 1.15*tol && height(b.at[t[0]], b.at[t[1]], b.at[t[2]]) > was &&
				!(b.side[t[0]] == 1 && b.side[t[1]] == 1 && b.side[t[2]] == 1)
		}
		if good {
			delete(b.height, v)
			return true
		}
		b.tri, b.of, b.last = tri, of, last
	}
	return false
}

// replace puts a point on an edge in the place of one that was added so near to it
// that there is no room for another, though the edge passes by it.
func (b *band) replace(q r2.Vec, on [2]int32, apart float64, dist *outline, c float64) bool {
	t, k := b.edge(on[0], on[1])
	if k < 0 {
		return false
	}
	u := b.tri[t].n[k]
	for _, v := range [2]int32{b.tri[t].v[k], b.tri[u].v[b.tri[u].beyond(t)]} {
		if _, ok := b.height[v]; !ok || r2.Norm(r2.Sub(b.at[v], q)) >= apart {
			continue
		}
		tri, of, last := slices.Clone(b.tri), slices.Clone(b.of), b.last
		if b.remove(v) != nil {
			if ok, err := b.tryAdd(q, min(c, max(0, -dist.signed(q))), apart, 0); ok && err == nil {
				delete(b.height, v)
				return true
			}
		}
		b.tri, b.of, b.last = tri, of, last
	}
	return false
}

// wrong returns by how much an edge is off the chamfer, at most.
func (b *band) wrong(i, j int32, dist *outline, c float64) float64 {
	worst := 0.0
	const n = 6
	for k := range n - 1 {
		f := float64(k+1) / n
		worst = max(worst, b.off(r2.Add(r2.Scale(1-f, b.at[i]), r2.Scale(f, b.at[j])), (1-f)*b.rise[i]+f*b.rise[j], dist, c))
	}
	return worst
}

// off returns by how much height w over p is off the chamfer, times √2 where that
// is more than allowed: across a slope it is √½ as far, but over a ridge as far.
func (b *band) off(p r2.Vec, w float64, dist *outline, c float64) float64 {
	u := dist.signed(p)
	e := w - min(c, -u)
	if e > b.tol {
		e = math.Sqrt2 * b.distance(p, u, w)
	}
	return math.Abs(e)
}

// height returns the smallest height of a triangle.
func height(a, b, c r2.Vec) float64 {
	u, v, w := r2.Sub(b, a), r2.Sub(c, a), r2.Sub(c, b)
	return math.Abs(r2.Cross(u, v)) / math.Sqrt(max(r2.Norm2(u), r2.Norm2(v), r2.Norm2(w)))
}

// outline reports whether an edge is part of an outline, and not kept for its
// height.
func (t *tri) outline(edge int) bool { return t.step[edge] != [2]int8{} }

// fit adds points on ridges. A height may be wrong by 1.15 tol, which is 0.81 tol
// across the 45° surface; the rest is left for what lies between samples. With
// fine set it samples densely from the first.
func (b *band) fit(dist *outline, c, tol float64, fine bool) error {
	type spot struct {
		p  r2.Vec
		on [2]int32 // the edge it is on, or -1
		e  float64
	}
	checked := map[[3]int32]bool{}
	var wrong []spot
	const rounds = 60
	apart := min(tol, c/8)
	for round := range rounds {
		wrong = wrong[:0]
		worst := 0.0
		for i := range b.tri {
			t := &b.tri[i]
			if !t.inBand() || checked[t.v] {
				continue
			}
			p, on, e := b.error(int32(i), fine || round > 0, dist, c)
			if e > 1.15*tol {
				wrong = append(wrong, spot{p, on, e})
			} else if fine || round > 0 {
				checked[t.v] = true
			}
			worst = max(worst, e)
		}
		added := 0
		if round == 0 && worst <= 1.02*tol {
			break
		} else if round == 0 {
			added = -1 // look at the edges from both sides
		} else if round < rounds-1 {
			slices.SortStableFunc(wrong, func(a, b spot) int { return cmp.Compare(b.e, a.e) })
			// Points on ridges serve best, then the place where the height is
			// wrong; where a point would make slivers, an edge along the ridge.
			for _, s := range wrong {
				q, h := dist.ridge(s.p, c)
				ok, err := b.tryAdd(q, h, apart, tol/8)
				if err == nil && !ok && round > 2 {
					ok, err = b.tryAdd(s.p, min(c, max(0, -dist.signed(s.p))), apart, tol)
				}
				if err != nil {
					return err
				}
				if !ok && apart <= tol/32 && s.on[0] >= 0 {
					ok = b.turn(s.on, func(p, q int32) bool { return b.wrong(p, q, dist, c) < b.wrong(s.on[0], s.on[1], dist, c) }) ||
						b.replace(s.p, s.on, apart, dist, c)
				}
				if ok {
					added++
				}
			}
		}
		if added == 0 && round > 2 && round < rounds-1 && len(wrong) > 0 && apart > tol/32 {
			apart /= 4 // rather close points than a wrong height
			continue
		}
		if added == 0 && round > 2 {
			b.worst = max(b.worst, worst*math.Sqrt2/2)
			break
		}
	}
	return nil
}

// error returns where in triangle i its height is most wrong and by how much, and
// the free edge (on) which that place is on. It looks at the middles of the
// triangle and of its free edges, with fine set at a lattice of 25 points.
func (b *band) error(i int32, fine bool, dist *outline, c float64) (at r2.Vec, on [2]int32, worst float64) {
	t := &b.tri[i]
	p0, p1, p2 := b.at[t.v[0]], b.at[t.v[1]], b.at[t.v[2]]
	h0, h1, h2 := b.rise[t.v[0]], b.rise[t.v[1]], b.rise[t.v[2]]
	check := func(f, g, h float64, edge int) {
		p := r2.Vec{X: f*p0.X + g*p1.X + h*p2.X, Y: f*p0.Y + g*p1.Y + h*p2.Y}
		if e := b.off(p, f*h0+g*h1+h*h2, dist, c); e > worst {
			at, on, worst = p, [2]int32{-1, -1}, e
			if edge >= 0 {
				on = [2]int32{t.v[succ[edge]], t.v[pred[edge]]}
			}
		}
	}
	if !fine {
		check(1./3, 1./3, 1./3, -1)
		for k := range 3 {
			if !t.outline(k) && t.n[k] > i { // the triangle beyond need not look again
				w := [3]float64{0.5, 0.5, 0.5}
				w[k] = 0
				check(w[0], w[1], w[2], k)
			}
		}
		return at, on, worst
	}
	const n = 6
	for f := range n {
		for g := range n + 1 - f {
			h := n - f - g
			edge := -1
			switch {
			case g == n || h == n:
				continue
			case f == 0:
				edge = 0
			case g == 0:
				edge = 1
			case h == 0:
				edge = 2
			}
			if edge < 0 || !t.outline(edge) {
				check(float64(f)/n, float64(g)/n, float64(h)/n, edge)
			}
		}
	}
	return at, on, worst
}

// turn replaces an edge by the other one over its two triangles, if those form
// a convex figure and better says so of the new edge's ends, and keeps it.
func (b *band) turn(e [2]int32, better func(p, q int32) bool) bool {
	t, k := b.edge(e[0], e[1])
	if k < 0 || b.tri[t].fixed[k] {
		return false
	}
	tr := &b.tri[t]
	u := tr.n[k]
	w := &b.tri[u]
	p, q := tr.v[k], w.v[w.beyond(t)]
	if exact.Orient2(b.at[p], b.at[e[0]], b.at[q]) <= 0 || exact.Orient2(b.at[q], b.at[e[1]], b.at[p]) <= 0 || !better(p, q) {
		return false
	}
	b.flip(t, k)
	if t, k = b.edge(p, q); k >= 0 {
		o := &b.tri[b.tri[t].n[k]]
		b.tri[t].fixed[k], o.fixed[o.beyond(t)] = true, true
	}
	return true
}

// tryAdd puts a point into the band unless it lies outside, or so near to a
// point or fixed edge that triangles would become slivers, or its height is
// within slack of the triangle there.
func (b *band) tryAdd(q r2.Vec, h, apart, slack float64) (bool, error) {
	t, _ := b.locate(q)
	b.last = t
	tr := &b.tri[t]
	if !tr.inBand() {
		return false, nil
	}
	for i := range 3 {
		u, v := b.at[tr.v[i]], b.at[tr.v[succ[i]]]
		if r2.Norm(r2.Sub(q, u)) < apart {
			return false, nil
		}
		if tr.outline(pred[i]) {
			w := r2.Sub(v, u)
			if math.Abs(r2.Cross(w, r2.Sub(q, u))) < apart/4*r2.Norm(w) {
				return false, nil
			}
		}
	}
	p0, p1, p2 := b.at[tr.v[0]], b.at[tr.v[1]], b.at[tr.v[2]]
	w0 := r2.Cross(r2.Sub(p1, q), r2.Sub(p2, q))
	w1 := r2.Cross(r2.Sub(p2, q), r2.Sub(p0, q))
	w2 := r2.Cross(r2.Sub(p0, q), r2.Sub(p1, q))
	flat := (w0*b.rise[tr.v[0]] + w1*b.rise[tr.v[1]] + w2*b.rise[tr.v[2]]) / (w0 + w1 + w2)
	if math.Abs(flat-h) < slack {
		return false, nil
	}
	i, err := b.add(q)
	b.rise = append(b.rise, h)
	b.side = append(b.side, 0)
	b.height[i] = -1
	return true, err
}
