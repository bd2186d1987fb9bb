package stroke

import "tuckfinger/assembly/force"

// Strain is the largest strain of an elastic element over a stroke.
type Strain struct {
	Element string  // name of the ramp or clip
	Kind    string  // ramp (its rail) or clip (its arm)
	Value   float64 // pure number, 0.01 is 1 %
	S       float64 // slide coordinate there (mm)
	Back    bool
}

// Strains returns the largest strain of every rail and snap arm over a stroke,
// in the order of the model's elements. Strain is looked for at the samples and,
// for a rail whose pin passes, at the crest between them.
func (x *Model) Strains(r *Result) []Strain {
	var out []Strain
	v := view(x.Mech)
	for _, e := range x.Elements {
		s := Strain{Element: e.Name(), Kind: e.Kind()}
		var at func(before float64) (value, coord float64)
		switch e := e.(type) {
		case *rampElement:
			at = func(before float64) (float64, float64) {
				f, _ := v.Foot(e.joint)
				u := f.Coord
				if (before-e.crest)*(u-e.crest) < 0 {
					u = e.crest
				}
				return e.law.Stress(e.forward * (u - e.peak)).Strain, f.Coord
			}
		case *clipElement:
			at = func(before float64) (float64, float64) {
				p, _ := e.place(v)
				if p.Y < 0 {
					return 0, p.X
				}
				slip := force.Entering
				if (p.X-before)*e.enter < 0 {
					slip = force.Releasing
				}
				return e.law.At(force.Place{P: p}, slip).Strain, p.X
			}
		default:
			continue
		}
		before := 0.0
		for i := range r.Samples {
			v.set(r.Samples[i].Q)
			if i == 0 {
				_, before = at(0)
			}
			var value float64
			if value, before = at(before); value > s.Value {
				s.Value, s.S, s.Back = value, r.Samples[i].S, r.Samples[i].Back
			}
		}
		out = append(out, s)
	}
	return out
}
