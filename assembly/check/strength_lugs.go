package check

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/parts"
)

// lug is the material of a part around a pin hole.
type lug struct {
	part   *parts.Part
	name   string // for findings
	at     r2.Vec
	radius float64 // of the hole, as it works
	layers []slabField
}

func newLug(p *parts.Part, name string, h *parts.Hole, all []slabField, spans [][2]float64) *lug {
	l := &lug{part: p, name: name, at: h.At, radius: (h.Nominal + h.Clearance) / 2}
	for _, s := range spans {
		for _, f := range all {
			a, b := math.Max(s[0], f.z0), math.Min(s[1], f.z1)
			if b > a {
				l.layers = append(l.layers, slabField{a, b, f.field})
			}
		}
	}
	return l
}

// edge returns the distance from the hole's centre to where the material of a
// layer ends in a direction, and the tag of that boundary; the hole's radius
// where there is no material at all.
func (l *lug) edge(f *slabField, dir r2.Vec) (distance float64, tag int32) {
	const skin = 1e-3 // mm past the hole's wall
	from := l.radius + skin
	if !f.field.Contains(r2.Add(l.at, r2.Scale(from, dir))) {
		return l.radius, 0
	}
	hit, ok := f.field.Ray(l.at, dir, from, math.Inf(1))
	if !ok {
		return l.radius, 0
	}
	return hit.T, hit.Tag
}

// lugStress is what a force does to a lug, MPa.
type lugStress struct {
	tear float64 // shear in the two planes in front of the pin
	edge float64 // smallest distance from centre to edge there, mm
	// net is the tensile stress beside the hole with its concentration kt; 0 where
	// the force presses into the body instead of pulling at its end.
	net, kt, width float64
	tearTag        int32
	netTag         int32
}

// stress works out the lug under a force of the pin on it, in the body's frame.
func (l *lug) stress(f r2.Vec) lugStress {
	out := lugStress{edge: math.Inf(1), width: math.Inf(1)}
	n := r2.Norm(f)
	if n == 0 || len(l.layers) == 0 {
		return out
	}
	u := r2.Scale(1/n, f)
	side := r2.Vec{X: -u.Y, Y: u.X}
	shear, net, front, behind := 0.0, 0.0, 0.0, 0.0
	for i := range l.layers {
		s := &l.layers[i]
		t := s.z1 - s.z0
		e, tag := l.edge(s, u)
		back, _ := l.edge(s, r2.Scale(-1, u))
		left, tl := l.edge(s, side)
		right, tr := l.edge(s, r2.Scale(-1, side))
		if e > l.radius && e < out.edge {
			out.edge, out.tearTag = e, tag
		}
		shear += 2 * t * (e - l.radius)
		net += t * (left + right - 2*l.radius)
		front, behind = front+t*e, behind+t*back
		if w := 2 * math.Min(left, right); w > 2*l.radius && w < out.width {
			out.width, out.netTag = w, tl
			if right < left {
				out.netTag = tr
			}
		}
	}
	if math.IsInf(out.edge, 1) {
		out.edge = l.radius
	}
	out.tear = quotient(n, shear)
	if front <= behind {
		if math.IsInf(out.width, 1) { // open to one side everywhere
			out.width = 2 * l.radius
		}
		out.kt = force.HoleKt(2*l.radius, out.width)
		out.net = out.kt * quotient(n, net)
	}
	return out
}

// quotient is a force over an area; nothing left to carry it is a strength of
// nothing.
func quotient(f, area float64) float64 {
	if area <= 0 {
		return math.Inf(1)
	}
	return f / area
}
