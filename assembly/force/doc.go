// Package force holds the force laws and strength formulas of a finger as pure
// functions and small parameter structs. It knows no file format and no
// linkage: a caller places a pin, a post or a load and asks what it costs.
//
// # Map
//
//   - wedge.go: friction angle, inclines and wedges, the naive ramp sum
//   - curve.go, bump.go: the curve a pin centre follows over a ramp
//   - rail.go: the flexible wall behind a ramp; ramp.go: the force to pass it
//   - arm.go, elastica.go: cantilever arms, small and large deflection
//   - clip.go, contact.go, snap.go: a hook on an arm against a post
//   - joint.go: pins, slots, guides; spring.go: springs, stops, detents
//   - screw.go, drive.go: power screw, rack, servo, motor
//   - grasp.go: pads and lift; floor.go: the passive fold
//   - strength.go, notch.go, curved.go, hertz.go: pins, lugs, notches, hooks, contact
//
// # Conventions
//
// Lengths are mm, forces N, moments N·mm, stress and moduli MPa, angles rad,
// energy N·mm, strain a plain number. A law with memory or direction says which
// way is positive; in general
//
//   - a stored energy U(x) and its slope DU = dU/dx are conservative: the
//     element pushes its coordinate with −DU;
//   - a friction magnitude is never negative. Moving towards +x costs
//     DU + Out, moving towards −x costs −DU + Back, and the element holds still
//     under every applied force between DU − Back and DU + Out;
//   - a locked direction has infinite friction (math.Inf(1)), never a large
//     number that looks like a force.
//
// Laws are built once from parameters (method Law, which checks them and
// returns an error) and then queried without allocation; a built law is
// read-only and may be shared by goroutines.
//
// Terms switches the corrections one by one, so that a test or a report can
// show what each is worth. Designs use AllTerms.
package force

import (
	"errors"
	"fmt"
	"math"
)

// Terms is a set of corrections in the force laws. The zero value is the
// plain handbook formula; AllTerms is what a design is computed with.
type Terms uint32

const (
	// TermOffset moves the centre of a clip's post on the hook's curve offset by
	// the post and nose radius; without it the printed faces act up to a sharp
	// peak. (A ramp's curve has it already: parts.Bump.Contact.)
	TermOffset Terms = 1 << iota
	// TermOppositeWall adds the pin's friction on the wall opposite the ramp.
	TermOppositeWall
	// TermEnds lengthens rails and arms for the rotation of their roots
	// (rail +1.45 t in all, arm +0.43 t).
	TermEnds
	// TermRootFillet shortens an arm by 0.66 fillet radii.
	TermRootFillet
	// TermShear adds the shear deflection.
	TermShear
	// TermRampStiffening thickens the rail where the ramp sits on it.
	TermRampStiffening
	// TermRailSlope lets the bent rail tilt the face under the pin.
	TermRailSlope
	// TermTipRotation tilts the faces of a hook by the tip rotation.
	TermTipRotation
	// TermOffAxis lets the axial force on a hook bend its arm.
	TermOffAxis
	// TermTurning carries the nose of a hook along as the tip rotates.
	TermTurning
	// TermColumn lets the axial force act on the bent arm (beam column).
	TermColumn

	// AllTerms is every correction.
	AllTerms Terms = 1<<iota - 1
)

// Has reports whether every term of u is in t.
func (t Terms) Has(u Terms) bool { return t&u == u }

// Material is what the elastic laws need of a plastic or metal.
type Material struct {
	E  float64 // Young's modulus, MPa
	Nu float64 // Poisson's ratio, −1 < Nu ≤ 0.5
}

// G returns the shear modulus E/(2(1+ν)) in MPa.
func (m Material) G() float64 { return m.E / (2 * (1 + m.Nu)) }

func (m Material) check() error {
	return errors.Join(positive("modulus E", m.E), within("Poisson's ratio", m.Nu, 0, 0.5))
}

// positive, notNegative and within name a parameter that is out of range.
func positive(name string, v float64) error {
	if !(v > 0) || math.IsInf(v, 1) {
		return fmt.Errorf("force: %s is %g, must be positive and finite", name, v)
	}
	return nil
}

func notNegative(name string, v float64) error {
	if !(v >= 0) || math.IsInf(v, 1) {
		return fmt.Errorf("force: %s is %g, must be zero or more", name, v)
	}
	return nil
}

func within(name string, v, lo, hi float64) error {
	if !(v >= lo && v <= hi) {
		return fmt.Errorf("force: %s is %g, must be %g to %g", name, v, lo, hi)
	}
	return nil
}
