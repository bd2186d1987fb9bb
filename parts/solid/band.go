package solid

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh/exact"
	"tuckfinger/parts/profile"
)

// band is the triangulation of a chamfer seen from above: the border of a
// region between its outline, at height 0, and the section that the chamfer
// leaves, at height c. Over a point of the border the chamfer is as high as the
// point is far from the outline.
type band struct {
	*plane
	*chamfer
	tol    float64         // mm
	rise   []float64       // of every point, mm above the outline's level
	side   []int8          // of every contour point: 1 outline, 2 section
	height map[int32]int32 // points added; the value is their vertex
	worst  float64         // largest deviation seen, mm
	bias   float64         // by how much the volume under the triangles is too large, mm³
}

// band triangulates the border between a region's outline and the section left
// by a chamfer of c. Where triangles would bridge a ridge, at which chamfers of
// different edges meet, points on the ridge are added until no triangle deviates
// by more than tol from the chamfer. layer is the volume in mm³ of the layer that is
// chamfered, where no edge vanishes; NaN if it is not known.
func (m *mesher) band(base, top *contour, k *chamfer, tol, layer float64) (*band, error) {
	dist, c := k.dist, k.c
	var ids []int32
	for _, k := range []*contour{base, top} {
		for _, l := range k.loops {
			ids = append(ids, l...)
		}
	}
	p, err := m.triangulate(ids, []*contour{base}, []*contour{top})
	if err != nil {
		return nil, err
	}
	b := &band{plane: p, chamfer: k, tol: tol, rise: make([]float64, len(p.at)), side: make([]int8, len(p.at)), height: map[int32]int32{}}
	for _, l := range base.loops {
		for _, i := range l {
			b.side[i] = 1
		}
	}
	for _, l := range top.loops {
		for _, i := range l {
			if b.side[i] == 0 { // else the edge of a sharp hole, not part of the band
				b.side[i], b.rise[i] = 2, c
			}
		}
	}
	// Points that lift adds may turn edges that fit chose.
	for again, n := true, 0; again && n < 4; n++ {
		b.worst = m.fine
		if err := b.fit(dist, c, tol, n > 0); err != nil {
			return nil, err
		}
		if again, err = b.lift(dist, c, tol); err != nil {
			return nil, err
		}
	}
	if len(b.height) == 0 && !math.IsNaN(layer) {
		b.bias = m.area(top.loops)*c - layer
		for i := range b.tri {
			if t := &b.tri[i]; t.inBand() {
				o, p, q := t.v[0], t.v[1], t.v[2]
				b.bias += r2.Cross(r2.Sub(b.at[p], b.at[o]), r2.Sub(b.at[q], b.at[o])) * (b.rise[o] + b.rise[p] + b.rise[q]) / 6
			}
		}
		return b, nil
	}
	b.weigh(dist, c, tol)
	return b, nil
}

// layerVolume is the volume in mm³ of a layer that a chamfer of c narrows from one
// region to another. While no edge vanishes, an inset by t has the area
// A₀ − P·t + k·t²; this is its integral. NaN with sharp holes, which stay as wide.
func layerVolume(from, to, sharp profile.Region, c float64) float64 {
	if len(sharp) > 0 {
		return math.NaN()
	}
	return c*(2*from.Area()+to.Area())/3 - from.Perimeter()*c*c/6
}

// weigh finds the bias from the middles of all edges, a rule that is exact where
// the chamfer is of second degree over a triangle; where that is not so, on
// ridges, of the triangle's parts. What chords leave out of the outline counts as
// chamfer below its foot; that is of second order.
func (b *band) weigh(dist *outline, c, tol float64) {
	type corner struct {
		p r2.Vec
		h float64
	}
	var over func(t [3]corner, depth int) float64
	over = func(t [3]corner, depth int) float64 {
		var mid [3]corner
		sum, worst := 0.0, 0.0
		for k := range 3 {
			p, q := t[succ[k]], t[pred[k]]
			mid[k] = corner{r2.Scale(0.5, r2.Add(p.p, q.p)), (p.h + q.h) / 2}
			e := mid[k].h - min(c, -dist.signed(mid[k].p))
			sum, worst = sum+e, max(worst, math.Abs(e))
		}
		if depth > 0 && worst > tol/4 {
			return over([3]corner{t[0], mid[2], mid[1]}, depth-1) + over([3]corner{t[1], mid[0], mid[2]}, depth-1) +
				over([3]corner{t[2], mid[1], mid[0]}, depth-1) + over(mid, depth-1)
		}
		return sum / 6 * r2.Cross(r2.Sub(t[1].p, t[0].p), r2.Sub(t[2].p, t[0].p))
	}
	for i := range b.tri {
		if t := &b.tri[i]; t.inBand() {
			var at [3]corner
			for k, v := range t.v {
				at[k] = corner{b.at[v], b.rise[v]}
			}
			b.bias += over(at, 3)
		}
	}
}

// in reports whether a triangle is part of the band.
func (t *tri) inBand() bool { return t.wind[0] > 0 && t.wind[1] <= 0 }

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
		if !done && flat {
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

// wrong returns by how much the middle of an edge is off the chamfer.
func (b *band) wrong(i, j int32, dist *outline, c float64) float64 {
	m := r2.Scale(0.5, r2.Add(b.at[i], b.at[j]))
	return math.Abs((b.rise[i]+b.rise[j])/2 - min(c, -dist.signed(m)))
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
				if ok || apart <= tol/32 && b.turn(s.on, func(p, q int32) bool { return b.wrong(p, q, dist, c) < b.wrong(s.on[0], s.on[1], dist, c) }) {
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
		u, w := dist.signed(p), f*h0+g*h1+h*h2
		e := w - min(c, -u)
		if e > b.tol {
			// Across a slope this is √½ as far, but over a ridge it is as far.
			e = math.Sqrt2 * b.distance(p, u, w)
		}
		if e = math.Abs(e); e > worst {
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
	if e[0] < 0 {
		return false
	}
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

// emitBand adds a chamfer that rises from level lo, at height z, to level hi
// (up = 1), or falls (up = −1).
func (m *mesher) emitBand(b *band, lo, hi int, z float64, up float64) {
	for i := range b.height {
		b.height[i] = -1
	}
	vertex := func(i int32) int32 {
		if s := b.side[i]; s == 1 {
			return m.vertex(lo, i)
		} else if s == 2 {
			return m.vertex(hi, i)
		}
		if b.height[i] < 0 {
			b.height[i] = int32(len(m.out.Vertices))
			m.out.Vertices = append(m.out.Vertices, r3.Vec{X: b.at[i].X, Y: b.at[i].Y, Z: z + up*b.rise[i]})
		}
		return b.height[i]
	}
	for i := range b.tri {
		t := &b.tri[i]
		if !t.inBand() {
			continue
		}
		u, v, w := vertex(t.v[0]), vertex(t.v[1]), vertex(t.v[2])
		if up > 0 {
			m.triangle(u, v, w)
		} else {
			m.triangle(u, w, v)
		}
	}
}
