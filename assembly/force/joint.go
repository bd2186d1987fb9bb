package force

import "math"

// FrictionCircle returns the radius r·sin φ (mm) of the circle that the force
// in a pin joint of pin radius r touches when the joint turns: the pin's
// friction torque is FrictionCircle times the joint force.
//
// Source: dry journal, any text on friction. For small μ it is nearly r·μ.
func FrictionCircle(r, mu float64) float64 { return r * mu / math.Sqrt(1+mu*mu) }

// PinTorque returns the friction torque (N·mm, ≥ 0) of a pin joint under the
// joint force (N), against rotation either way.
func PinTorque(r, mu, joint float64) float64 { return FrictionCircle(r, mu) * math.Abs(joint) }

// Lever returns the effort P that raises and the effort that just holds a load q
// on a straight lever whose fulcrum is a pin of radius r between the two
// parallel forces: q(b±rf)/(a∓rf), rf the friction circle, a the effort's and b
// the load's distance from the pin centre. raise is +Inf if a ≤ rf; hold is
// negative if the friction holds more than the load (b < rf).
func Lever(q, a, b, r, mu float64) (raise, hold float64) {
	rf := FrictionCircle(r, mu)
	hold = q * (b - rf) / (a + rf)
	if a <= rf {
		return math.Inf(1), hold
	}
	return q * (b + rf) / (a - rf), hold
}

// SlotFriction returns the friction (N, ≥ 0) of a pin pressed against one slot
// wall with the force n.
func SlotFriction(mu, n float64) float64 { return mu * math.Abs(n) }

// Guide is a straight slide of a body in a guide that touches at its two ends,
// play and width neglected.
type Guide struct {
	Length float64 // between the end contacts, mm, > 0
	Mu     float64
	Drag   float64 // friction without load (seals, preload), N, ≥ 0
}

// Friction returns the friction (N, ≥ 0) against sliding either way for a
// lateral force (N) in the middle of the guide and a couple (N·mm). The end
// reactions are lateral/2 ± couple/Length and may point opposite ways, which is
// why a short guide turns a couple into the largest loss.
func (g Guide) Friction(lateral, couple float64) float64 {
	return g.Drag + g.Mu*(math.Abs(lateral/2+couple/g.Length)+math.Abs(lateral/2-couple/g.Length))
}

// ShortestGuide returns the guide length up to which a push at the given offset
// jams: 2·μ·e. Two-point contact, width ignored.
func ShortestGuide(offset, mu float64) float64 { return 2 * mu * math.Abs(offset) }

// DrawerForce returns the push (N) at an offset from a guide's axis that moves a
// load on the axis: load/(1 − 2μe/L), +Inf if the guide is no longer than
// ShortestGuide. The drag is overcome too.
func (g Guide) DrawerForce(load, offset float64) float64 {
	s := ShortestGuide(offset, g.Mu)
	if g.Length <= s {
		return math.Inf(1)
	}
	return (load + g.Drag) / (1 - s/g.Length)
}
