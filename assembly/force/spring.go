package force

import "errors"

// Potential is a conservative element of one coordinate (mm or rad). U is the
// stored energy in N·mm; F = −dU/dx is the force or torque on the coordinate,
// positive towards +x.
type Potential interface {
	At(x float64) (u, f float64)
}

// Spring is a linear or torsion spring: force −Rate·(x − Rest). With OneSided it
// pulls only (a rubber band): nothing for x below Rest.
type Spring struct {
	Rate     float64 // N/mm or N·mm/rad
	Rest     float64 // x without force
	OneSided bool
}

// At implements Potential.
func (s Spring) At(x float64) (u, f float64) {
	d := x - s.Rest
	if s.OneSided && d < 0 {
		return 0, 0
	}
	return s.Rate * d * d / 2, -s.Rate * d
}

// Stop is a hard end of travel as a stiff one-sided spring. The penetration
// under a force is force/Stiffness; choose Stiffness so that this stays far
// below the clearances.
type Stop struct {
	Limit     float64 // x at first touch
	Upper     bool    // true keeps x ≤ Limit, false keeps x ≥ Limit
	Stiffness float64 // N/mm or N·mm/rad
}

// At implements Potential.
func (s Stop) At(x float64) (u, f float64) {
	d := x - s.Limit
	if s.Upper == (d < 0) {
		return 0, 0
	}
	return s.Stiffness * d * d / 2, -s.Stiffness * d
}

// Detent is a local hold: it resists leaving Seat over the first Width of travel
// and is silent beyond, as a bump does once it is passed. The holding torque
// rises over Edge, stays at Hold and falls over Edge, so the stored energy is
// Hold·(Width − Edge) after passing; a body that returns gets it back.
type Detent struct {
	Seat  float64 // x of the seat, mm or rad
	Sense float64 // +1 if leaving is towards +x, −1 towards −x
	Hold  float64 // N or N·mm, ≥ 0
	Width float64 // mm or rad, > 0
	Edge  float64 // mm or rad, > 0, at most Width/2
}

// Check reports parameters out of range.
func (d Detent) Check() error {
	err := errors.Join(notNegative("detent hold", d.Hold), positive("detent width", d.Width), positive("detent edge", d.Edge))
	if d.Edge > d.Width/2 {
		err = errors.Join(err, errors.New("force: detent edge must be at most half the width"))
	}
	if d.Sense != 1 && d.Sense != -1 {
		err = errors.Join(err, errors.New("force: detent sense must be +1 or −1"))
	}
	return err
}

// At implements Potential.
func (d Detent) At(x float64) (u, f float64) {
	s := (x - d.Seat) * d.Sense
	var t float64
	switch {
	case s <= 0:
		return 0, 0
	case s < d.Edge:
		t = d.Hold * s / d.Edge
		u = t * s / 2
	case s <= d.Width-d.Edge:
		t = d.Hold
		u = d.Hold * (s - d.Edge/2)
	case s < d.Width:
		r := d.Width - s
		t = d.Hold * r / d.Edge
		u = d.Hold*(d.Width-d.Edge) - t*r/2
	default:
		return d.Hold * (d.Width - d.Edge), 0
	}
	return u, -t * d.Sense
}
