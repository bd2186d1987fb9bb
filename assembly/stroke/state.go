package stroke

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// State is what one element does in one configuration.
type State struct {
	Name, Kind string
	// Engaged is true for a ramp that is squeezed, a clip that is touched or
	// latched, a hold in its reach, a stop or pair of pads in contact.
	Engaged bool
	Energy  float64 // stored, contacts included (N·mm)
	// Contact is the force of a hard contact (N, or N·mm for a stop of a pin
	// joint), 0 for other elements.
	Contact float64
	// Coordinate is that of a ramp, clip or hold (mm or rad): of the pin along its
	// slot, of the post along the arm, of the joint. NaN for other elements.
	Coordinate float64
}

// States returns the state of every element in sample i, in the order of the
// model's elements.
func (r *Result) States(i int) []State {
	x := r.Model
	v := view(x.Mech)
	v.set(r.Samples[i].Q)
	l := Loads{Q: make([]float64, x.Mech.Size())}
	out := make([]State, 0, len(x.Elements))
	for _, e := range x.Elements {
		l.reset()
		e.Eval(v, &l)
		s := State{Name: e.Name(), Kind: e.Kind(), Energy: l.Energy, Coordinate: math.NaN()}
		for _, c := range l.Contacts {
			if c.Gap < 0 {
				s.Contact -= c.Stiffness * c.Gap
				s.Energy += c.Stiffness * c.Gap * c.Gap / 2
				s.Engaged = true
			}
		}
		if g, ok := e.(Gate); ok {
			s.Coordinate, _, s.Engaged = g.Gate(v)
		}
		out = append(out, s)
	}
	return out
}

// Press is where pads press on each other, or on the object between them.
type Press struct {
	Upper, Lower int    // bodies
	At           r2.Vec // on the upper pad, spine frame (mm)
	Normal       r2.Vec // direction of the force on the upper body, spine frame
}

// Press returns where the pads press in sample i; ok is false where they do not.
func (r *Result) Press(i int) (p Press, ok bool) {
	v := view(r.Model.Mech)
	v.set(r.Samples[i].Q)
	for _, e := range r.Model.Elements {
		if g, is := e.(*gripElement); is {
			t := nearest(v, &g.upper, &g.lower)
			return Press{Upper: g.upper.body, Lower: g.lower.body, At: t.p, Normal: t.n}, t.valid && t.gap < g.height
		}
	}
	return Press{}, false
}
