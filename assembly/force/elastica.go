package force

import (
	"fmt"
	"math"
)

// Bend is the large-deflection shape of a cantilever under dead tip loads,
// lengths over the arm's length.
type Bend struct {
	Deflection float64 // across, towards the transverse load
	Shortening float64 // of the tip towards the root
	Angle      float64 // of the tip, rad
}

// Elastica returns the bend of a straight, uniform, inextensible cantilever
// under a transverse tip load P and an axial tip load N (compression positive)
// that keep their directions, alpha = PL²/EI > 0 and beta = NL²/EI. Shear is
// not included. The result is the first mode (the tip turns by less than 180°);
// an error says if there is none, which happens only for strong tension.
//
// Method: θ″ = −α cos θ − β sin θ with θ(0) = 0, θ′(1) = 0. Its first integral
// gives the root curvature from the tip angle, which is shot for by bisection
// with fourth-order Runge–Kutta in 400 steps (error below 1e-8 for α ≤ 10).
// Source of the problem and of the values in the tests: Bisshopp & Drucker,
// "Large deflection of cantilever beams", 1945.
func Elastica(alpha, beta float64) (Bend, error) {
	if err := positive("elastica load PL²/EI", alpha); err != nil {
		return Bend{}, err
	}
	// Below the largest tip angle that the loads can hold, the end curvature
	// rises with the angle.
	lo, hi := 0.0, math.Pi-math.Atan2(alpha, beta)
	if end, _ := shoot(alpha, beta, hi); math.IsNaN(end) || end < 0 {
		return Bend{}, fmt.Errorf("force: no elastica for PL²/EI %g, NL²/EI %g", alpha, beta)
	}
	for range 60 {
		mid := (lo + hi) / 2
		if end, _ := shoot(alpha, beta, mid); end < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	_, b := shoot(alpha, beta, (lo+hi)/2)
	return b, nil
}

// shoot integrates from the root with the curvature that belongs to a tip angle
// and returns the curvature left at the tip.
func shoot(alpha, beta, tip float64) (curvature float64, b Bend) {
	// State θ, θ′, x, y.
	type state [4]float64
	f := func(s state) state {
		sin, cos := math.Sincos(s[0])
		return state{s[1], -alpha*cos - beta*sin, cos, sin}
	}
	s := state{0, math.Sqrt(2 * (alpha*math.Sin(tip) + beta*(1-math.Cos(tip))))}
	const n = 400
	const h = 1.0 / n
	step := func(s, k state, h float64) state {
		for i := range s {
			s[i] += h * k[i]
		}
		return s
	}
	for range n {
		k1 := f(s)
		k2 := f(step(s, k1, h/2))
		k3 := f(step(s, k2, h/2))
		k4 := f(step(s, k3, h))
		for i := range s {
			s[i] += h / 6 * (k1[i] + 2*k2[i] + 2*k3[i] + k4[i])
		}
	}
	return s[1], Bend{Deflection: s[3], Shortening: 1 - s[2], Angle: s[0]}
}

// LargeDeflection returns true over linear secant stiffness of a straight arm
// whose tip is deflected by v/L = ratio under a dead transverse load: 1 at small
// deflection, about 1.05 at 2.5 mm on 12 mm. The clip law does not use it; it
// tells whether linear stiffness may be trusted.
func LargeDeflection(ratio float64) (float64, error) {
	if ratio == 0 {
		return 1, nil
	}
	ratio = math.Abs(ratio)
	if !(ratio < 0.8) {
		return 0, fmt.Errorf("force: deflection over length is %g, must be below 0.8", ratio)
	}
	// Secant from the linear guess; the deflection rises and flattens with α.
	a0, a1 := 0.0, 3*ratio
	y0 := 0.0
	for range 40 {
		b, err := Elastica(a1, 0)
		if err != nil {
			return 0, err
		}
		a2 := a1 + (ratio-b.Deflection)*(a1-a0)/(b.Deflection-y0)
		if math.Abs(a2-a1) <= 1e-9*a1 {
			return a2 / (3 * ratio), nil
		}
		a0, y0, a1 = a1, b.Deflection, a2
	}
	return 0, fmt.Errorf("force: no load found for deflection over length %g", ratio)
}
