package stroke

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
)

// Strain is the largest strain of an elastic element over a stroke.
type Strain struct {
	Element string  // name of the ramp or clip
	Kind    string  // ramp (its rail) or clip (its arm)
	Value   float64 // pure number, 0.01 is 1 %
	S       float64 // slide coordinate there (mm)
	Back    bool
}

// strainStep is how finely a pin or post is followed between two samples (mm), so
// that a snap does not jump over its peak.
const strainStep = 0.02

// Strains returns the largest strain of every rail and snap arm over a stroke,
// in the order of the model's elements. Between samples all bodies move evenly;
// such configurations close nearly, and serve for deflections only.
func (x *Model) Strains(r *Result) []Strain {
	var out []Strain
	v := view(x.Mech)
	q := make([]float64, x.Mech.Size())
	for _, e := range x.Elements {
		b, ok := e.(bending)
		if !ok {
			continue
		}
		s := Strain{Element: e.Name(), Kind: e.Kind()}
		var last r2.Vec
		for i := range r.Samples {
			at := &r.Samples[i]
			v.set(at.Q)
			now := b.spot(v)
			if i == 0 {
				last = now
			}
			way := r2.Sub(now, last)
			n := 1
			if b.feels(last, now) {
				n = steps(r2.Norm(way))
			}
			for k := 1; k <= n; k++ {
				p := now
				if k < n {
					for c := range q {
						q[c] = r.Samples[i-1].Q[c] + float64(k)/float64(n)*(at.Q[c]-r.Samples[i-1].Q[c])
					}
					v.set(q)
					p = b.spot(v)
				}
				if u := b.strain(p, way); u > s.Value {
					s.Value, s.S, s.Back = u, at.S, at.Back
				}
			}
			last = now
		}
		out = append(out, s)
	}
	return out
}

// bending is an element that bends plastic.
type bending interface {
	// spot is where the pin or post is in the element's own coordinates.
	spot(v *View) r2.Vec
	// feels reports whether it may bend on the way between two spots.
	feels(from, to r2.Vec) bool
	// strain is that of the plastic with the pin or post at a spot, on its way.
	strain(at, way r2.Vec) float64
}

func (e *rampElement) spot(v *View) r2.Vec {
	f, _ := v.Foot(e.joint)
	return r2.Vec{X: f.Coord}
}

func (e *rampElement) feels(from, to r2.Vec) bool {
	return max(from.X, to.X) > e.lo && min(from.X, to.X) < e.hi
}

func (e *rampElement) strain(at, _ r2.Vec) float64 {
	if at.X <= e.lo || at.X >= e.hi {
		return 0
	}
	return e.law.Stress(e.forward * (at.X - e.peak)).Strain
}

func (e *clipElement) spot(v *View) r2.Vec {
	p, _ := e.place(v)
	return p
}

func (e *clipElement) feels(from, to r2.Vec) bool {
	return e.law.Overlap(min(from.Y, to.Y)) > 0
}

func (e *clipElement) strain(at, way r2.Vec) float64 {
	if at.Y <= 0 || e.law.Overlap(at.Y) <= 0 {
		return 0
	}
	slip := force.Resting
	if s := way.X * e.enter; s > 0 {
		slip = force.Entering
	} else if s < 0 {
		slip = force.Releasing
	}
	s := e.law.At(force.Place{P: at}, slip)
	if s.Locked {
		s = e.law.At(force.Place{P: at}, force.Resting)
	}
	if !s.Touching || s.Failed {
		return 0
	}
	return s.Strain
}

// steps is the number of steps in which a way (mm) is gone.
func steps(way float64) int { return max(1, min(200, int(math.Ceil(math.Abs(way)/strainStep)))) }
