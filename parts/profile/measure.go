package profile

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/spatial/r2"
)

// Area returns the enclosed area in mm², positive for counter-clockwise travel.
func (l Loop) Area() float64 {
	if len(l) == 0 {
		return 0
	}
	// Polygon of chords (about the first vertex, against cancellation) plus the
	// circular segments, Green's theorem.
	o := l[0].P
	sum := 0.0
	for i := range l {
		e := l.Edge(i)
		a, b := r2.Sub(e.A, o), r2.Sub(e.B, o)
		sum += 0.5*(a.X*b.Y-a.Y*b.X) + e.segmentArea()
	}
	return sum
}

// segmentArea is the signed area between the arc and its chord:
// r²/2·(θ − sin θ), with r = chord/(2 sin θ/2).
func (e Edge) segmentArea() float64 {
	if e.Bulge == 0 {
		return 0
	}
	t := 4 * math.Atan(e.Bulge)
	c2 := dist2(e.A, e.B)
	var f float64 // (θ − sin θ)/(1 − cos θ)
	if math.Abs(t) < 0.02 {
		t2 := t * t
		f = t / 3 * (1 + t2/30 + t2*t2/840)
	} else {
		s := math.Sin(t / 2)
		f = (t - math.Sin(t)) / (2 * s * s)
	}
	return c2 / 4 * f
}

// Area returns the area of the region in mm².
func (r Region) Area() float64 {
	sum := 0.0
	for _, l := range r {
		sum += l.Area()
	}
	return sum
}

// Perimeter returns the length of the loop in mm.
func (l Loop) Perimeter() float64 {
	sum := 0.0
	for i := range l {
		sum += l.Edge(i).Length()
	}
	return sum
}

// Perimeter returns the length of all loops in mm.
func (r Region) Perimeter() float64 {
	sum := 0.0
	for _, l := range r {
		sum += l.Perimeter()
	}
	return sum
}

func (l Loop) winding(p r2.Vec) int {
	n := 0
	for i := range l {
		e := l.Edge(i)
		n += crossings(e.A, e.B, e.Bulge, p)
	}
	return n
}

// Winding returns how many times the loops run counter-clockwise around p: 1 in
// the material of a valid region and 0 outside. On the boundary it is either.
func (r Region) Winding(p r2.Vec) int {
	n := 0
	for _, l := range r {
		n += l.winding(p)
	}
	return n
}

// Contains reports whether p is inside. On the boundary, to rounding, it is either.
func (r Region) Contains(p r2.Vec) bool { return r.Winding(p) > 0 }

// Moments are the moments of area of a region.
type Moments struct {
	Area          float64 // mm²
	Centroid      r2.Vec  // mm
	Ixx, Iyy, Ixy float64 // mm⁴ about the centroid: ∫y², ∫x², ∫xy
}

// Polar returns Ixx + Iyy in mm⁴.
func (m Moments) Polar() float64 { return m.Ixx + m.Iyy }

// arcNodes integrate polynomials of degree 3 on arcs up to half a turn to rounding: the
// integrand has harmonics up to the fourth, and the error of 16 Gauss nodes on
// the fourth over half a turn is of order 1e-20.
var arcNodes, arcWeights = gaussNodes(16)

func gaussNodes(n int) (x, w []float64) {
	x, w = make([]float64, n), make([]float64, n)
	quad.Legendre{}.FixedLocations(x, w, 0, 1)
	return x, w
}

// Moments returns area, centroid and second moments, exact to rounding for lines
// and arcs (Green's theorem along the boundary). The moments of an empty region
// are zero.
func (r Region) Moments() Moments {
	if len(r) == 0 {
		return Moments{}
	}
	o := r[0][0].P
	var a, sx, sy, sxx, syy, sxy float64
	r.Edges(func(_, _ int, e Edge) {
		for _, g := range e.segs() {
			for i, t := range arcNodes {
				p := r2.Sub(g.at(t), o)
				d := r2.Scale(arcWeights[i]*g.length(), g.tangent(t))
				a += 0.5 * (p.X*d.Y - p.Y*d.X)
				sx += 0.5 * p.X * p.X * d.Y
				sy -= 0.5 * p.Y * p.Y * d.X
				sxx += p.X * p.X * p.X * d.Y / 3
				syy -= p.Y * p.Y * p.Y * d.X / 3
				sxy += 0.5 * p.X * p.X * p.Y * d.Y
			}
		}
	})
	if a == 0 {
		return Moments{}
	}
	c := r2.Vec{X: sx / a, Y: sy / a}
	return Moments{
		Area:     a,
		Centroid: r2.Add(o, c),
		Ixx:      syy - a*c.Y*c.Y,
		Iyy:      sxx - a*c.X*c.X,
		Ixy:      sxy - a*c.X*c.Y,
	}
}

// Centroid returns the centre of area in mm.
func (r Region) Centroid() r2.Vec { return r.Moments().Centroid }
