package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// band is the triangulation of a chamfer seen from above: the border of a
// region between its outline, at height 0, and the section that the chamfer
// leaves, at height c. Over a point of the border the chamfer is as high as the
// point is far from the outline.
type band struct {
	*plane
	rise   []float64       // of every point, mm above the outline's level
	side   []int8          // of every contour point: 1 outline, 2 section
	height map[int32]int32 // points added; the value is their vertex
	worst  float64         // largest deviation seen, mm
}

// band triangulates the border between a region's outline and the section left
// by a chamfer of c. Where triangles would bridge a ridge, at which chamfers of
// different edges meet, points on the ridge are added until no triangle deviates
// by more than tol from the chamfer.
func (m *mesher) band(base, top *contour, dist *outline, c, tol float64) (*band, error) {
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
	b := &band{plane: p, rise: make([]float64, len(p.at)), side: make([]int8, len(p.at)), height: map[int32]int32{}, worst: m.fine}
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
	return b, b.fit(dist, c, tol)
}

// in reports whether a triangle is part of the band.
func (t *tri) inBand() bool { return t.wind[0] > 0 && t.wind[1] <= 0 }

// fit adds points on ridges. A height may be wrong by 1.35 tol, which is 0.95 tol
// across the 45° surface; the rest is left for what lies between samples.
func (b *band) fit(dist *outline, c, tol float64) error {
	type spot struct {
		p r2.Vec
		e float64
	}
	checked := map[[3]int32]bool{}
	var todo []spot
	const rounds = 40
	apart := min(tol, c/8)
	for round := range rounds {
		todo = todo[:0]
		worst := 0.0
		for i := range b.tri {
			t := &b.tri[i]
			if !t.inBand() || checked[t.v] {
				continue
			}
			p, e := b.error(int32(i), round == 0, dist, c)
			if e > 1.35*tol {
				todo = append(todo, spot{p, e})
			} else if round > 0 {
				checked[t.v] = true
			}
			worst = max(worst, e)
		}
		added := 0
		if round == 0 && len(todo) > 0 {
			added = -1 // look at the edges from both sides
		} else if round < rounds-1 {
			for _, s := range todo {
				q, h := dist.ridge(s.p, c)
				ok, err := b.tryAdd(q, h, apart)
				if err == nil && !ok {
					if d, _ := dist.distance(s.p); d < 0 {
						ok, err = b.tryAdd(s.p, min(c, -d), apart)
					}
				}
				if err != nil {
					return err
				}
				if ok {
					added++
				}
			}
		}
		if added == 0 {
			b.worst = max(b.worst, worst*math.Sqrt2/2)
			break
		}
	}
	return nil
}

// error returns where in triangle i its height is most wrong, of its middle and
// the middles of its free edges, and by how much. With once set, an edge is
// looked at for one of its two triangles only.
func (b *band) error(i int32, once bool, dist *outline, c float64) (at r2.Vec, worst float64) {
	t := &b.tri[i]
	hint := int32(0)
	check := func(p r2.Vec, h float64) {
		if e := math.Abs(h - min(c, dist.away(p, &hint))); e > worst {
			at, worst = p, e
		}
	}
	p0, p1, p2 := b.at[t.v[0]], b.at[t.v[1]], b.at[t.v[2]]
	h0, h1, h2 := b.rise[t.v[0]], b.rise[t.v[1]], b.rise[t.v[2]]
	check(r2.Vec{X: (p0.X + p1.X + p2.X) / 3, Y: (p0.Y + p1.Y + p2.Y) / 3}, (h0+h1+h2)/3)
	for k := range 3 {
		if !t.fixed[k] && (!once || t.n[k] > i) {
			u, v := t.v[succ[k]], t.v[pred[k]]
			p, q := b.at[u], b.at[v]
			check(r2.Vec{X: (p.X + q.X) / 2, Y: (p.Y + q.Y) / 2}, (b.rise[u]+b.rise[v])/2)
		}
	}
	return at, worst
}

// tryAdd puts a point into the band unless it lies outside or so near to a
// point or fixed edge that triangles would become slivers.
func (b *band) tryAdd(q r2.Vec, h, apart float64) (bool, error) {
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
		if tr.fixed[pred[i]] {
			w := r2.Sub(v, u)
			if math.Abs(r2.Cross(w, r2.Sub(q, u))) < apart/4*r2.Norm(w) {
				return false, nil
			}
		}
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
