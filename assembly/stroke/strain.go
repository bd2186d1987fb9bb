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

// strainStep is how finely a post is followed between two samples (mm), so that
// a snap does not jump over its peak.
const strainStep = 0.02

// Strains returns the largest strain of every rail and snap arm over a stroke,
// in the order of the model's elements. Between samples pins and posts go
// straight.
func (x *Model) Strains(r *Result) []Strain {
	var out []Strain
	v := view(x.Mech)
	for _, e := range x.Elements {
		var place func() r2.Vec                   // now
		var largest func(from, to r2.Vec) float64 // strain on the way
		switch e := e.(type) {
		case *rampElement:
			place = func() r2.Vec { f, _ := v.Foot(e.joint); return r2.Vec{X: f.Coord} }
			largest = e.strain
		case *clipElement:
			place = func() r2.Vec { p, _ := e.place(v); return p }
			largest = e.strain
		default:
			continue
		}
		s := Strain{Element: e.Name(), Kind: e.Kind()}
		var last r2.Vec
		for i := range r.Samples {
			v.set(r.Samples[i].Q)
			at := place()
			if i == 0 {
				last = at
			}
			if e := largest(last, at); e > s.Value {
				s.Value, s.S, s.Back = e, r.Samples[i].S, r.Samples[i].Back
			}
			last = at
		}
		out = append(out, s)
	}
	return out
}

// strain is that of the rail while the pin goes between two path coordinates.
func (e *rampElement) strain(from, to r2.Vec) float64 {
	at := func(u float64) float64 {
		if u <= e.lo || u >= e.hi {
			return 0
		}
		return e.law.Stress(e.forward * (u - e.peak)).Strain
	}
	if max(from.X, to.X) <= e.lo || min(from.X, to.X) >= e.hi {
		return 0
	}
	worst := 0.0
	if (from.X-e.crest)*(to.X-e.crest) < 0 {
		worst = at(e.crest)
	}
	n := steps(to.X - from.X)
	for k := 1; k <= n; k++ {
		worst = max(worst, at(from.X+float64(k)/float64(n)*(to.X-from.X)))
	}
	return worst
}

// steps is the number of steps in which a way (mm) is gone.
func steps(way float64) int { return max(1, min(200, int(math.Ceil(math.Abs(way)/strainStep)))) }

// strain is that of the arm while the post goes between two places of the arm
// frame.
func (e *clipElement) strain(from, to r2.Vec) float64 {
	d := r2.Sub(to, from)
	n := steps(r2.Norm(d))
	slip := force.Resting
	if s := d.X * e.enter; s > 0 {
		slip = force.Entering
	} else if s < 0 {
		slip = force.Releasing
	}
	worst := 0.0
	for k := 1; k <= n; k++ {
		p := r2.Add(from, r2.Scale(float64(k)/float64(n), d))
		if p.Y <= 0 || e.law.Overlap(p.Y) <= 0 {
			continue
		}
		s := e.law.At(force.Place{P: p}, slip)
		if s.Locked {
			s = e.law.At(force.Place{P: p}, force.Resting)
		}
		if s.Touching && !s.Failed {
			worst = max(worst, s.Strain)
		}
	}
	return worst
}
