package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts"
)

// Path is the centre line of a slot (parts.SlotPath) for projecting pins on it, in
// the frame of the body that carries the slot. Its coordinate is the length from
// the first point (mm). Beyond its ends the first and last pieces go on along
// their own line or circle, so that a pin past an end still has a coordinate
// (below 0 or above Length).
type Path struct {
	pieces []piece
	length float64
}

type piece struct {
	a, b   r2.Vec  // ends
	dir    r2.Vec  // line: unit direction
	centre r2.Vec  // arc
	radius float64 // arc; 0 marks a line
	start  float64 // arc: angle of a seen from the centre (rad)
	sweep  float64 // arc: signed, positive to the left (rad)
	from   float64 // path coordinate of a (mm)
	length float64
}

// Foot is the place on a path that belongs to a point.
type Foot struct {
	Coord   float64 // path coordinate (mm)
	Lateral float64 // signed distance to the left of the path (mm)
	Tangent r2.Vec  // unit, towards growing coordinate
	Normal  r2.Vec  // unit, to the left
	Bend    float64 // signed curvature, positive to the left (1/mm)
	// Stretch is d(Coord) per mm moved along Tangent; 1 on the path, other
	// than 1 only beside an arc.
	Stretch float64
}

// NewPath makes the path of a slot's centre line.
func NewPath(line *parts.SlotPath) *Path {
	p := &Path{length: line.Length()}
	for i, e := range line.Edges {
		s := piece{a: e.A, b: e.B, from: line.Starts[i], length: line.Starts[i+1] - line.Starts[i]}
		if e.IsLine() {
			s.dir = r2.Unit(r2.Sub(e.B, e.A))
		} else {
			s.centre, s.radius, s.start, s.sweep = e.Arc()
		}
		p.pieces = append(p.pieces, s)
	}
	return p
}

// Length returns the whole length (mm).
func (p *Path) Length() float64 { return p.length }

// Pieces returns the number of lines and arcs.
func (p *Path) Pieces() int { return len(p.pieces) }

// Corner returns the largest angle (rad) by which the direction changes between
// two pieces, and the path coordinate of that joint; 0 for a smooth path.
func (p *Path) Corner() (angle, coord float64) {
	for k := 1; k < len(p.pieces); k++ {
		f := p.pieces[k-1].foot(p.pieces[k].a)
		g := p.pieces[k].foot(p.pieces[k].a)
		c := math.Abs(math.Atan2(r2.Cross(f.Tangent, g.Tangent), r2.Dot(f.Tangent, g.Tangent)))
		if c > angle {
			angle, coord = c, p.pieces[k].from
		}
	}
	return angle, coord
}

// Project returns the foot of a point on the nearest piece. A pin that runs
// past the joint of two pieces passes from one to the next here.
func (p *Path) Project(w r2.Vec) Foot {
	if len(p.pieces) == 1 {
		return p.pieces[0].foot(w)
	}
	var best Foot
	bestD := math.Inf(1)
	last := len(p.pieces) - 1
	for k := range p.pieces {
		s := &p.pieces[k]
		f := s.foot(w)
		t := f.Coord - s.from
		d := math.Abs(f.Lateral)
		if t < 0 && k > 0 {
			d = r2.Norm(r2.Sub(w, s.a))
		} else if t > s.length && k < last {
			d = r2.Norm(r2.Sub(w, s.b))
		}
		if d < bestD-1e-12 {
			best, bestD = f, d
		}
	}
	return best
}

func (s *piece) foot(w r2.Vec) Foot {
	if s.radius == 0 {
		v := r2.Sub(w, s.a)
		n := perp(s.dir)
		return Foot{Coord: s.from + r2.Dot(v, s.dir), Lateral: r2.Dot(v, n), Tangent: s.dir, Normal: n, Stretch: 1}
	}
	v := r2.Sub(w, s.centre)
	rho := math.Max(r2.Norm(v), 1e-9)
	sg := sign(s.sweep)
	// Angle from the arc's middle, so that both ends can be overrun.
	mid := s.start + s.sweep/2
	phi := math.Remainder(math.Atan2(v.Y, v.X)-mid, 2*math.Pi)
	out := r2.Scale(1/rho, v)
	t := r2.Scale(sg, perp(out))
	return Foot{
		Coord:   s.from + s.length/2 + sg*phi*s.radius,
		Lateral: sg * (s.radius - rho),
		Tangent: t, Normal: perp(t), Bend: sg / s.radius, Stretch: s.radius / rho,
	}
}

func perp(v r2.Vec) r2.Vec { return r2.Vec{X: -v.Y, Y: v.X} }

func sign(x float64) float64 {
	if x < 0 {
		return -1
	}
	return 1
}
