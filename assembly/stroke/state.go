package stroke

import "math"

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
