package check

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/parts"
)

// upright is a shaft along the layers' normal of a part, in its drawing.
func (in *Input) upright(p *parts.Part, name, path string, at r2.Vec, z0, z1, radius float64) *shaft {
	s := &shaft{name: name, path: path, body: in.Mechanism.BodyIndex(p.Name), radius: radius, from: at, z0: z0, z1: z1}
	if p.Body.Plane == "xz" { // drawn (x, y, z) is (x, z, -y) of the body
		s.lies, s.from, s.to, s.z0, s.z1 = true, r2.Vec{X: at.X, Y: z0}, r2.Vec{X: at.X, Y: z1}, -at.Y, -at.Y
	}
	return s
}

// seat is a hole on a screw's axis that takes its head, or its thread.
type seat struct {
	part   *parts.Part
	kind   string
	z0, z1 float64
	size   float64
}

type seats []seat

// screwSeats finds what the file cuts for a screw beside its own hole: in its body
// and, for bodies drawn in the plane of motion, in those fixed to it.
func (in *Input) screwSeats(p *parts.Part, s *params.Screws, at r2.Vec) (seats, error) {
	var all seats
	screw, err := in.Design.Lib.Screw(s.Screw)
	if err != nil {
		return nil, err
	}
	own := in.Mechanism.BodyIndex(p.Name)
	for _, q := range in.Parts {
		body := in.Mechanism.BodyIndex(q.Name)
		if q != p && (!in.still(own, body) || p.Body.Plane == "xz" || q.Body.Plane == "xz") {
			continue
		}
		t := relative(in.Cycle[0][body], in.Cycle[0][own])
		const same = 1e-3 // mm
		// A plain hole of the core's size is one to cut a thread in.
		core := screw.Thread.Diameter - screw.Thread.Pitch
		for _, h := range q.Holes {
			d := h.Nominal + h.Clearance
			if h.Joint != "" || r2.Norm(r2.Sub(h.At, t.Apply(at))) >= same {
				continue
			}
			kind := "hole"
			if d >= core && d < screw.Thread.Diameter {
				kind = "thread"
			}
			all = append(all, seat{q, kind, h.Z0, h.Z1, d})
		}
		for i := range q.Body.Features {
			f := q.Body.Features[i].Screws
			if f == nil || f.Screw != s.Screw || f == s && f.Hole != "thread" {
				continue
			}
			places, z0, z1, err := parts.ScrewPlaces(in.Design, q, f)
			if err != nil {
				return nil, err
			}
			hole, err := screw.Hole(f.Hole)
			if err != nil {
				return nil, err
			}
			for _, o := range places {
				if r2.Norm(r2.Sub(o, t.Apply(at))) < same {
					all = append(all, seat{q, f.Hole, z0, z1, hole.Size})
					break
				}
			}
		}
	}
	return all, nil
}

// comes reports whether a screw may come through its hole from above and from below.
// A seat for its head is on the side that it comes from, one for its thread is on the
// other, and so, without these, are other holes on its axis; nothing, or what is on
// both sides, tells nothing.
func (all seats) comes(z0, z1 float64) (down, up bool) {
	for _, kinds := range [][]string{{"head"}, {"insert", "nut", "thread"}, {"hole"}} {
		above, below := false, false
		for _, s := range all {
			if slices.Contains(kinds, s.kind) {
				above, below = above || s.z0+s.z1 > z0+z1, below || s.z0+s.z1 < z0+z1
			}
		}
		if above != below {
			return above == (kinds[0] == "head"), below == (kinds[0] == "head")
		}
	}
	return true, true
}

// under returns the height under the head of a screw that comes from above (down)
// or from below.
func (all seats) under(z0, z1 float64, down bool) float64 {
	z := z0
	if down {
		z = z1
	}
	for _, s := range all {
		switch {
		case s.kind != "head" || (s.z0+s.z1 > z0+z1) != down:
		case down:
			z = math.Min(z, s.z0)
		default:
			z = math.Max(z, s.z1)
		}
	}
	return z
}

// shank looks at a screw's shank in every part. In one where its thread is cut it
// needs no more than the core hole.
func (in *Input) shank(s *shaft, all seats) ([]tight, error) {
	var out []tight
	for _, p := range in.Parts {
		need := s.radius
		for _, o := range all {
			if o.part == p && o.kind == "thread" {
				need = math.Min(need, o.size/2)
			}
		}
		t, err := in.squeeze(s, p, []way{{s.z0, s.z1, need}})
		if err != nil {
			return nil, err
		}
		out = append(out, t)
	}
	return out, nil
}

// tightest is the least room to spare.
func tightest(all []tight) float64 {
	least := math.Inf(1)
	for _, t := range all {
		least = math.Min(least, t.spare)
	}
	return least
}
