package solid

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

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
// the chamfer is of second degree over a triangle. Where that is not so, on
// ridges, the four parts of a triangle say something else than the whole; then
// they are divided likewise. What chords leave out of the outline counts as
// chamfer below its foot; that is of second order.
func (b *band) weigh(dist *outline, c, tol float64) {
	type corner struct {
		p r2.Vec
		h float64 // of the triangle over the chamfer
		z float64 // of the triangle
	}
	off := func(p r2.Vec, z float64) float64 { return z - min(c, -dist.signed(p)) }
	between := func(p, q corner) corner {
		m := corner{p: r2.Scale(0.5, r2.Add(p.p, q.p)), z: (p.z + q.z) / 2}
		m.h = off(m.p, m.z)
		return m
	}
	// even is what may be wrong in the mean height of a triangle.
	even := tol / 100
	type trio = [3]corner
	var over func(t, mid trio, depth int) float64
	over = func(t, mid trio, depth int) float64 {
		area := r2.Cross(r2.Sub(t[1].p, t[0].p), r2.Sub(t[2].p, t[0].p)) / 2
		sum := area * (mid[0].h + mid[1].h + mid[2].h) / 3
		centre := off(r2.Scale(1./3, r2.Add(t[0].p, r2.Add(t[1].p, t[2].p))), (t[0].z+t[1].z+t[2].z)/3)
		if depth == 0 || max(math.Abs(centre), math.Abs(mid[0].h), math.Abs(mid[1].h), math.Abs(mid[2].h)) <= even {
			return sum
		}
		parts := [4]trio{{t[0], mid[2], mid[1]}, {t[1], mid[0], mid[2]}, {t[2], mid[1], mid[0]}, mid}
		var mids [4]trio
		fine := 0.0
		for i, p := range parts {
			if i < 3 {
				mids[i] = trio{between(p[1], p[2]), between(p[2], p[0]), between(p[0], p[1])}
				mids[3][i] = mids[i][0]
			}
			fine += area / 4 * (mids[i][0].h + mids[i][1].h + mids[i][2].h) / 3
		}
		if math.Abs(fine-sum) <= even*area {
			return fine
		}
		fine = 0
		for i, p := range parts {
			fine += over(p, mids[i], depth-1)
		}
		return fine
	}
	for i := range b.tri {
		if t := &b.tri[i]; t.inBand() {
			var at trio
			for k, v := range t.v {
				at[k] = corner{p: b.at[v], z: b.rise[v]}
			}
			b.bias += over(at, trio{between(at[1], at[2]), between(at[2], at[0]), between(at[0], at[1])}, 5)
		}
	}
}

// in reports whether a triangle is part of the band.
func (t *tri) inBand() bool { return t.wind[0] > 0 && t.wind[1] <= 0 }

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
