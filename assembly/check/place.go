package check

import (
	"fmt"
	"math"
)

// bladeSide is the air that the inserted blade keeps on either side, mm.
// Common practice, no source.
const bladeSide = 0.3

// Reach is an x range in the spine's frame, mm, and the parts at its ends.
type Reach struct {
	Low, High     float64
	LowBy, HighBy string
}

// Blade returns the x range of the tucked finger, its pads included, as far as it
// goes into the place; ok is false without a place or where nothing goes in. It needs the
// design, parts and mechanism of the input and the first pose of the cycle.
func Blade(in *Input) (r Reach, ok bool, err error) {
	place := in.Design.Place
	if place == nil || len(in.Cycle) == 0 {
		return r, false, nil
	}
	shapes, err := in.shapes()
	if err != nil {
		return r, false, err
	}
	mouth := place.Floor + place.Depth
	r.Low, r.High = math.Inf(1), math.Inf(-1)
	for i := range shapes {
		s := &shapes[i]
		e := s.below(in.Cycle[0][s.body], mouth)
		if e.ok && e.lo.X < r.Low {
			r.Low, r.LowBy = e.lo.X, s.name
		}
		if e.ok && e.hi.X > r.High {
			r.High, r.HighBy = e.hi.X, s.name
		}
	}
	return r, r.LowBy != "", nil
}

// blade compares the tucked finger with the gap: at s = 0 its outlines below the
// mouth must leave air to the wall and to the object.
func blade(in *Input, out *Findings) error {
	place := in.Design.Place
	r, ok, err := Blade(in)
	if err != nil || !ok {
		return err
	}
	detail := fmt.Sprintf("blade from x = %.2f mm (%s) to %.2f mm (%s), %.2f mm thick, in a gap of %.2f mm", r.Low, r.LowBy, r.High, r.HighBy, r.High-r.Low, place.Gap)
	out.atLeast(measure{subject: "to the wall", value: r.Low - place.Wall, unit: "mm", limit: "blade side", def: bladeSide,
		source: "common practice, no source", change: "place.gap", more: true, detail: detail})
	out.atLeast(measure{subject: "to the object", value: place.Wall + place.Gap - r.High, unit: "mm", limit: "blade side", def: bladeSide,
		source: "common practice, no source", change: "place.gap", more: true, detail: detail})
	return nil
}
