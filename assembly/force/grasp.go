package force

import (
	"errors"
	"math"
)

// Grip is a friction grip of two jaws.
type Grip struct {
	Mu     float64 // between pad and object
	Safety float64 // factor on the load, ≥ 1
	Accel  float64 // of the arm upwards, m/s²
	G      float64 // acceleration of fall, m/s²; 0 means Gravity
	// HalfAngle of V-shaped pads that hold a round object sliding along the V,
	// rad; 0 means flat pads. Four line contacts share the force of two: the
	// jaw force falls by sin(HalfAngle).
	HalfAngle float64
}

// Check reports parameters out of range.
func (g Grip) Check() error {
	err := errors.Join(positive("pad friction", g.Mu), positive("grip safety factor", g.Safety),
		within("half V angle", g.HalfAngle, 0, math.Pi/2), notNegative("acceleration of fall", g.G))
	if g.Safety < 1 {
		err = errors.Join(err, errors.New("force: grip safety factor must be 1 or more"))
	}
	return err
}

// perGram returns the jaw force that holds one gram, N.
func (g Grip) perGram() float64 {
	fall := g.G
	if fall == 0 {
		fall = Gravity
	}
	v := 1.0
	if g.HalfAngle > 0 {
		v = math.Sin(g.HalfAngle)
	}
	return (fall + g.Accel) / 1000 * g.Safety / (2 * g.Mu) * v
}

// Needed returns the force per jaw (N) that holds a mass (g): m(g+a)S/(2μ),
// times sin(half angle) in a V.
//
// Source: two-finger friction grip, any text on grippers.
func (g Grip) Needed(mass float64) float64 { return mass * g.perGram() }

// Capacity returns the mass (g) that a force per jaw (N) holds.
func (g Grip) Capacity(jaw float64) float64 { return jaw / g.perGram() }

// PadForce returns the force on each pad (N) of a jaw pair that closes by
// closing mm per mm of slide travel, under a slide force (N) that acts through a
// chain without friction: virtual work, slide·ds = pad·closing·ds. It is +Inf at
// a dead point (closing 0).
func PadForce(slide, closing float64) float64 { return slide / math.Abs(closing) }

// TipClosing returns the closing per slide travel of a jaw that rides on the
// slide against a tip that turns by 1 rad per lever mm of travel and carries its
// pad reach mm from its pivot: 1 + reach/lever.
func TipClosing(reach, lever float64) float64 { return 1 + reach/lever }
