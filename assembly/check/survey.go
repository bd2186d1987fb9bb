package check

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// Move is one movement of the arm, or a stretch of the stroke, in order.
type Move struct {
	What     string
	Axis     string  // "x", "y" or "z" of the spine frame, "s" for the slide
	Distance float64 // mm, signed
}

// PlaceReport is what the place asks of the arm. Lengths are mm, spine frame.
type PlaceReport struct {
	Insertion float64 // from the mouth to the lowest point of the tucked finger
	Deepest   float64 // from the mouth to the lowest point over the cycle
	// Free is the free height above the mouth up to the top of the finger when
	// its blade is just out of the gap.
	Free           float64
	BladeLo, Blade float64 // x of the blade's wall side, and its thickness
	Opening        float64 // widest free height between the jaws beyond the object's face, after the order of events; 0 without pads
	OpenAt         At
	Moves          []Move
	Swept          profile.Region // of the whole finger over the cycle
	Tolerance      float64        // of Swept
}

// Survey tells what the place asks of the arm; nil without a place.
func Survey(in *Input) (*PlaceReport, error) {
	place := in.Design.Place
	if place == nil || len(in.Cycle) == 0 {
		return nil, nil
	}
	p, err := in.placed()
	if err != nil {
		return nil, err
	}
	out := &PlaceReport{Tolerance: SweptTolerance}
	blade, cycle, top := newExtent(), newExtent(), newExtent()
	for k, poses := range in.Cycle {
		for i := range p.shapes {
			s := &p.shapes[i]
			if k > 0 && s.still {
				continue
			}
			if e := s.below(poses[s.body], p.mouth); e.ok {
				cycle.see(e.lo)
				if k == 0 {
					blade.see(e.lo)
					blade.see(e.hi)
				}
			}
			if e := s.below(poses[s.body], math.Inf(1)); k == 0 && e.ok {
				top.see(e.hi)
			}
		}
	}
	for _, q := range in.Parts { // bodies drawn across stand with their layers along y
		if q.Body.Plane == "xz" {
			_, hi := q.Solid.ZRange()
			top.see(r2.Vec{Y: hi})
		}
	}
	if blade.ok {
		out.Insertion = p.mouth - blade.lo.Y
		out.BladeLo, out.Blade = blade.lo.X, blade.hi.X-blade.lo.X
	}
	if cycle.ok {
		out.Deepest = p.mouth - cycle.lo.Y
	}
	out.Free = math.Max(0, top.hi.Y-p.mouth) + out.Insertion
	out.moves(in, p)
	out.Swept, err = Swept(in)
	return out, err
}

// moves lists what arm and slide do, in order.
func (r *PlaceReport) moves(in *Input, p *placed) {
	place, o := in.Design.Place, in.Design.Object
	add := func(what, axis string, d float64) { r.Moves = append(r.Moves, Move{what, axis, d}) }
	add("lower the blade into the gap", "y", -r.Insertion)
	travel := in.Design.Drive.Travel
	if o == nil || in.Design.Grasp == nil {
		add("fold out", "s", travel)
		return
	}
	k, low, high, ok := p.widest()
	if !ok {
		add("fold out", "s", travel)
		return
	}
	r.Opening, r.OpenAt = high-low, in.at(k)
	if place.Switch != "beside" {
		add("fold out and close on the object", "s", travel)
		add("lift out of the gap", "y", r.Insertion)
		return
	}
	add("fold out beside the object until the pads stand widest open", "s", in.S[k])
	if dy := (low+high)/2 - (o.Bottom + o.Height/2); math.Abs(dy) >= leastShift {
		add("bring the opening to the object's height", "y", -dy)
	}
	// Along z the finger goes as far as its own parts beyond the object's face
	// are wide: it starts clear of the object and ends with the pads on it.
	z := newExtent()
	for i := range p.shapes {
		s := &p.shapes[i]
		if _, _, ok := s.beyond(in.Cycle[k][s.body], o.Face); ok {
			z.see(r2.Vec{X: s.z0})
			z.see(r2.Vec{X: s.z1})
		}
	}
	if z.ok {
		add("move along z onto the object", "z", z.hi.X-z.lo.X+openAir)
	}
	add("close on the object", "s", travel-in.S[k])
	add("lift out of the gap", "y", r.Insertion)
}
