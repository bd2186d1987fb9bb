package profile

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Transform is a rigid motion of the plane, after an optional mirroring: p is mirrored
// (x → −x) if Mirror is set, then turned, then moved. The zero value is not
// valid; use Identity or Rigid.
type Transform struct {
	C, S   float64 // cosine and sine of the turn
	T      r2.Vec  // displacement, mm
	Mirror bool
}

// Identity moves nothing.
func Identity() Transform { return Transform{C: 1} }

// Rigid turns by angle (rad, counter-clockwise) about the origin, then moves by t.
func Rigid(angle float64, t r2.Vec) Transform {
	s, c := math.Sincos(angle)
	return Transform{C: c, S: s, T: t}
}

// MirrorLine mirrors in the line through p with the given direction.
func MirrorLine(p, direction r2.Vec) Transform {
	// Mirroring in a line at angle a is x → −x followed by a turn of 2a − π.
	l2 := r2.Norm2(direction)
	c := -(direction.X*direction.X - direction.Y*direction.Y) / l2
	s := -2 * direction.X * direction.Y / l2
	t := Transform{C: c, S: s, Mirror: true}
	t.T = r2.Sub(p, t.Apply(p))
	return t
}

// Apply moves a point.
func (t Transform) Apply(p r2.Vec) r2.Vec { return r2.Add(t.Vector(p), t.T) }

// Vector moves a direction: as Apply, without the displacement.
func (t Transform) Vector(v r2.Vec) r2.Vec {
	if t.Mirror {
		v.X = -v.X
	}
	return r2.Vec{X: t.C*v.X - t.S*v.Y, Y: t.S*v.X + t.C*v.Y}
}

// Then returns the transform that does t first and u second.
func (t Transform) Then(u Transform) Transform {
	out := Transform{T: u.Apply(t.T), Mirror: t.Mirror != u.Mirror}
	if u.Mirror { // a turn before a mirroring is the opposite turn after it
		t.S = -t.S
	}
	out.C, out.S = u.C*t.C-u.S*t.S, u.S*t.C+u.C*t.S
	return out
}

// Inverse returns the transform that undoes t.
func (t Transform) Inverse() Transform {
	out := Transform{C: t.C, S: -t.S, Mirror: t.Mirror}
	if t.Mirror {
		out.S = t.S
	}
	out.T = neg(out.Vector(t.T))
	return out
}

// Transform returns a moved copy; a mirrored one keeps material on the left.
func (r Region) Transform(t Transform) Region {
	out := make(Region, len(r))
	for i, l := range r {
		m := make(Loop, len(l))
		for j, v := range l {
			m[j] = Vertex{P: t.Apply(v.P), Bulge: v.Bulge, Tag: v.Tag}
			if t.Mirror {
				m[j].Bulge = -v.Bulge
			}
		}
		if t.Mirror {
			m = m.Reverse()
		}
		out[i] = m
	}
	return out
}

// Move returns a copy moved by d.
func (r Region) Move(d r2.Vec) Region { return r.Transform(Transform{C: 1, T: d}) }

// Turn returns a copy turned by angle (rad) about the point c.
func (r Region) Turn(angle float64, c r2.Vec) Region {
	t := Rigid(angle, r2.Vec{})
	t.T = r2.Sub(c, t.Apply(c))
	return r.Transform(t)
}
