package solid

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// point returns the index of a contour vertex. Vertices within a few tolerances
// are one: repeated imprinting may move them by one tolerance each.
func (m *mesher) point(p r2.Vec) int32 {
	const cell = 64 * profile.Tol
	const same = 8 * profile.Tol
	ix, iy := math.Floor(p.X/cell), math.Floor(p.Y/cell)
	kx, ky := int64(ix), int64(iy)
	x0, x1, y0, y1 := kx, kx, ky, ky
	if p.X-ix*cell < same {
		x0--
	} else if (ix+1)*cell-p.X < same {
		x1++
	}
	if p.Y-iy*cell < same {
		y0--
	} else if (iy+1)*cell-p.Y < same {
		y1++
	}
	for x := x0; x <= x1; x++ {
		for y := y0; y <= y1; y++ {
			for _, i := range m.near[[2]int64{x, y}] {
				if math.Abs(m.at[i].X-p.X) <= same && math.Abs(m.at[i].Y-p.Y) <= same {
					return i
				}
			}
		}
	}
	i := m.fresh(p)
	m.near[[2]int64{kx, ky}] = append(m.near[[2]int64{kx, ky}], i)
	return i
}

func (m *mesher) fresh(p r2.Vec) int32 {
	m.at = append(m.at, p)
	return int32(len(m.at) - 1)
}

// bend notes the arcs of loops that have two edges only: without an inner point
// nothing would be left of them.
func (m *mesher) bend(regions []imprinted) {
	m.bent = map[[2]int32]bool{}
	for _, p := range regions {
		for _, r := range []*profile.Region{p.region, p.lower, p.upper} {
			for _, l := range *r {
				if len(l) == 2 {
					a, b := m.point(l[0].P), m.point(l[1].P)
					m.bent[[2]int32{min(a, b), max(a, b)}] = true
				}
			}
		}
	}
}

// flatten turns a region into chords. An arc gets as many as it, or the arc in
// the border of a chamfer that is at most grow wider or narrower, needs, so
// that both edges of a chamfer have the same number.
func (m *mesher) flatten(r *profile.Region, convex, concave float64) *contour {
	c := &contour{}
	for _, l := range *r {
		loop := make([]int32, 0, 4*len(l))
		for i := range l {
			e := l.Edge(i)
			a, b := m.point(e.A), m.point(e.B)
			if a == b && math.Abs(e.Bulge) < 0.1 {
				continue // shorter than the tolerance
			}
			loop = append(loop, a)
			if !e.IsLine() {
				loop = m.arc(loop, a, b, e, convex, concave)
			}
		}
		if len(loop) >= 3 {
			c.loops = append(c.loops, loop)
		}
	}
	return c
}

// arc appends the inner points of an arc. A stretch that two regions share has
// the same points in both.
func (m *mesher) arc(loop []int32, a, b int32, e profile.Edge, convex, concave float64) []int32 {
	key, bulge := [2]int32{a, b}, e.Bulge
	if a > b {
		key, bulge = [2]int32{b, a}, -e.Bulge
	}
	for _, r := range m.arcs[key] {
		if math.Abs(r.bulge-bulge) <= 1e-6*(1+math.Abs(bulge)) {
			if a > b {
				for i := len(r.mid) - 1; i >= 0; i-- {
					loop = append(loop, r.mid[i])
				}
				return loop
			}
			return append(loop, r.mid...)
		}
	}
	mid := m.chords(e, convex, concave, m.bent[key])
	loop = append(loop, mid...)
	if a > b {
		slices.Reverse(mid)
	}
	m.arcs[key] = append(m.arcs[key], arcRun{bulge, mid})
	return loop
}

// chords places the inner points of an arc. They lie outside it, so far that the
// area is right where the deviation allows it, and the middles of the chords
// inside: fewer points than on the arc itself are needed. With half turns φ per
// chord of an arc of radius r, points rφ²/4 outside lie as far off as the middles
// (φ = √(4δ/r) for a deviation δ) and points rφ²/3 outside keep the area
// (φ = √(3δ/r)); 3.3 is near the latter. The two chords that start on the arc
// turn √¾ as far, for the same deviation. With bent set there is at least one.
func (m *mesher) chords(e profile.Edge, convex, concave float64, bent bool) []int32 {
	fine := 0.998 * m.fine // the angles are good to second order
	centre, r, start, sweep := e.Arc()
	wide := r + concave
	if sweep > 0 {
		wide = r + convex
	}
	turn := math.Abs(sweep)
	// Never more than an eighth of a turn each, so that tiny holes stay holes.
	most, one := math.Pi/8, math.Pi/8
	if fine < wide {
		most = min(most, math.Sqrt(3.3*fine/wide))
		one = min(one, math.Acos(1-fine/wide))
	}
	// Nor so little that three points in a row make a sliver, where the other arc of the
	// border is much larger: the three of chords of half turns φ are 2r·sin²φ high.
	if least := math.Sqrt(min(0.75*slimmest, fine) / r); least > most {
		most = min(math.Pi/8, least)
		one = max(one, most)
	}
	if turn <= 2*one && !bent {
		return nil
	}
	outer := math.Sqrt(0.75)
	if m.inner {
		most, outer = one, 1
	}
	n := max(2, int(math.Ceil(turn/(2*most)+2*(1-outer)-1e-6)))
	half := turn / 2 / (float64(n) - 2*(1-outer))
	rho := r
	if !m.inner {
		// The radius at which triangles over the chords have the sector's area.
		a, b := float64(n-2)*math.Sin(2*half), math.Sin(2*half*outer)
		rho = r * turn / (b + math.Sqrt(b*b+a*turn))
		rho = min(rho, r+fine)
	}
	mid := make([]int32, n-1)
	for i := range mid {
		a := start + math.Copysign(2*half*(outer+float64(i)), sweep)
		s, c := math.Sincos(a)
		mid[i] = m.fresh(r2.Vec{X: centre.X + rho*c, Y: centre.Y + rho*s})
	}
	return mid
}
