package force

import "math"

// FrictionAngle returns φ = atan μ.
func FrictionAngle(mu float64) float64 { return math.Atan(mu) }

// InclinePush returns P/W, the horizontal push that moves a weight W up an
// incline of angle a (rad) with friction mu: tan(a+φ). It is +Inf from the
// angle at which the incline locks (see LockAngle). A negative angle is a push
// down the slope.
//
// Source: statics of the inclined plane, any textbook; the same law gives the
// mating force of a snap fit per unit of its deflection force (plastics
// makers' snap-joint guides write it (μ+tan a)/(1−μ tan a)).
func InclinePush(a, mu float64) float64 {
	s := a + math.Atan(mu)
	if s >= math.Pi/2 {
		return math.Inf(1)
	}
	return math.Tan(s)
}

// InclineHold returns P/W, the least horizontal push that keeps a weight from
// sliding down: tan(a−φ). It is negative when the incline is self-locking
// (a ≤ φ): then the weight must be pulled down.
func InclineHold(a, mu float64) float64 { return math.Tan(a - math.Atan(mu)) }

// InclineEfficiency returns tan a / tan(a+φ), useful over spent work going up;
// zero when the incline locks.
func InclineEfficiency(a, mu float64) float64 { return math.Tan(a) / InclinePush(a, mu) }

// InclineLeast returns the least force that starts a block of weight w up an
// incline, W sin(a+φ), and its direction measured from the horizontal, a+φ.
func InclineLeast(w, a, mu float64) (force, direction float64) {
	d := a + math.Atan(mu)
	return w * math.Sin(d), d
}

// LockAngle returns the face angle, measured from the direction of travel, at
// and above which no push along the travel passes it: π/2 − φ = atan(1/μ).
func LockAngle(mu float64) float64 { return math.Pi/2 - math.Atan(mu) }

// Wedge returns P/W for a wedge of angle a with friction on its two faces and
// a frictionless guide for the load: tan(a+φ) + tan φ.
func Wedge(a, mu float64) float64 { return InclinePush(a, mu) + mu }

// WedgeLock returns the wedge angle up to which a wedge with two rubbing faces
// stays in place by itself: 2φ.
func WedgeLock(mu float64) float64 { return 2 * math.Atan(mu) }

// NaiveRamp returns the force that a wedge sum on the printed face angle
// promises for a ramp of height h (mm) on a wall of stiffness k (N/mm):
// k·h·tan(a+φ). It neglects the pin radius, the play and where on the face the
// pin can act, and is 2–4 times too high on small ramps. It is kept for
// comparison in reports only; no law uses it.
func NaiveRamp(k, h, a, mu float64) float64 { return k * h * InclinePush(a, mu) }
