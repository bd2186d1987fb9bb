package force

import "math"

// CurvedBar is a bar of rectangular section bent to inner and outer radius.
//
// Source: Winkler–Bach theory.
type CurvedBar struct {
	Inner, Outer float64 // radii, mm
	Width        float64 // across the bending plane, mm
}

// Neutral returns the radius of the neutral axis, h/ln(ro/ri), and its distance
// e from the centroid towards the inside.
func (c CurvedBar) Neutral() (rn, e float64) {
	rn = (c.Outer - c.Inner) / math.Log(c.Outer/c.Inner)
	return rn, (c.Outer+c.Inner)/2 - rn
}

// Stress returns the magnitudes of the bending stress at the inner and the outer
// face under a moment (N·mm), MPa.
func (c CurvedBar) Stress(moment float64) (inner, outer float64) {
	rn, e := c.Neutral()
	a := (c.Outer - c.Inner) * c.Width * e
	m := math.Abs(moment)
	return m * (rn - c.Inner) / (a * c.Inner), m * (c.Outer - rn) / (a * c.Outer)
}

// Factors returns the stress at both faces over that of a straight bar.
func (c CurvedBar) Factors() (inner, outer float64) {
	h := c.Outer - c.Inner
	i, o := c.Stress(1)
	straight := 6 / (c.Width * h * h)
	return i / straight, o / straight
}

// QuarterBend returns the deflections of the free end of a quarter circle of
// radius r (thin, bending stiffness ei in N·mm²) fixed at the other end, under
// an end load p: radial load, along and across it; tangential load, along it.
//
// Source: Castigliano, bending only: πPR³/4EI, PR³/2EI, (3π/4 − 2)PR³/EI.
func QuarterBend(p, r, ei float64) (radialAlong, radialAcross, tangential float64) {
	q := p * r * r * r / ei
	return math.Pi / 4 * q, q / 2, (3*math.Pi/4 - 2) * q
}
