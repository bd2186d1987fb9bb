package stroke

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/linkage"
)

// Carry is what one part of the load path carries while the object is gripped
// with the design's slide force.
type Carry struct {
	Name string
	Kind string  // drive, stop, slot end, pads, clip, ramp or hold
	Load float64 // N; N·mm for the stop or hold of a pin joint
	// Release is, for a clip, the share of Load that pushes the post towards
	// release, along the arm (N); it is negative where it presses the post home.
	Release float64
	Couple  bool // Load is N·mm
}

// carried lists what the elements carry at the runner's last settled state, the
// drive first; those without load are left out.
func (r *runner) carried() []Carry {
	x, s := r.s.x, r.s
	out := []Carry{{Name: s.mech.Joints[s.mech.Drive].Name, Kind: "drive", Load: math.Abs(r.force)}}
	s.v.set(r.q)
	l := Loads{Q: make([]float64, s.mech.Size())}
	for _, e := range x.Elements {
		l.reset()
		e.Eval(&s.v, &l)
		c := Carry{Name: e.Name(), Kind: e.Kind()}
		for i := range l.Contacts {
			c.Load += max(0, -l.Contacts[i].Stiffness*l.Contacts[i].Gap)
		}
		switch e := e.(type) {
		case *endElement:
			c.Couple = s.mech.Joints[e.joint].Kind == linkage.Pin
		case *clipElement:
			p, _ := e.place(&s.v)
			if p.Y >= 0 {
				st := e.law.At(force.Place{P: p}, force.Resting)
				c.Load, c.Release = r2.Norm(st.Force), -st.Force.X*e.enter
			}
		case *rampElement:
			f, _ := s.v.Foot(e.joint)
			c.Load = e.law.At(e.forward * (f.Coord - e.peak)).Squeeze
		case *holdElement:
			at, _ := s.v.Joint(e.joint)
			for i := range e.law {
				_, f := e.law[i].At(at)
				c.Load += math.Abs(f)
			}
			c.Couple = true
		}
		if c.Load > 0 {
			out = append(out, c)
		}
	}
	return out
}

// Guide returns the friction law of a slide joint's guide.
func (x *Model) Guide(joint int) (g force.Guide, ok bool) {
	for i := range x.rubs {
		if r := &x.rubs[i]; r.joint == joint && r.kind == linkage.Slide {
			return r.guide, true
		}
	}
	return g, false
}
