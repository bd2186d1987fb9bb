package parts

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/parts/profile"
)

// SlotPath is the path of a slot's pin centre in the frame of the body that
// carries the slot (mm). Its coordinate u is the length from the first point.
type SlotPath struct {
	Edges  []profile.Edge
	Starts []float64 // u at the start of each edge, then the whole length
}

// NewSlotPath builds the path of a slot joint.
func NewSlotPath(j *params.SlotJoint) (*SlotPath, error) {
	if len(j.Path) < 2 {
		return nil, fmt.Errorf("a slot path needs at least two points, this one has %d", len(j.Path))
	}
	p := &SlotPath{Starts: []float64{0}}
	for i := range j.Path[:len(j.Path)-1] {
		e := profile.Edge{A: j.Path[i].At, B: j.Path[i+1].At, Bulge: math.Tan(j.Path[i].Sweep / 4)}
		if r2.Norm(r2.Sub(e.B, e.A)) < 1e-6 {
			return nil, fmt.Errorf("points %d and %d of the slot path are the same", i, i+1)
		}
		p.Edges = append(p.Edges, e)
		p.Starts = append(p.Starts, p.Starts[i]+e.Length())
	}
	return p, nil
}

// Length is the length of the path in mm.
func (p *SlotPath) Length() float64 { return p.Starts[len(p.Edges)] }

// At returns the point and unit direction at coordinate u; beyond an end it
// goes straight on.
func (p *SlotPath) At(u float64) (at, dir r2.Vec) {
	i := 0
	for i < len(p.Edges)-1 && u > p.Starts[i+1] {
		i++
	}
	e := p.Edges[i]
	length := p.Starts[i+1] - p.Starts[i]
	t := math.Min(1, math.Max(0, (u-p.Starts[i])/length))
	at, dir = e.At(t)
	dir = r2.Unit(dir)
	return r2.Add(at, r2.Scale(u-p.Starts[i]-t*length, dir)), dir
}

// Straight returns the index of the straight edge that spans u0 to u1, or -1.
func (p *SlotPath) Straight(u0, u1 float64) int {
	const slack = 1e-9 // mm: a ramp may end exactly where the edge does
	for i, e := range p.Edges {
		if e.IsLine() && u0 >= p.Starts[i]-slack && u1 <= p.Starts[i+1]+slack {
			return i
		}
	}
	return -1
}

// strip maps (u, v) beside a straight path edge to the body frame: u is the
// path coordinate, v the distance from the path to the chosen side.
type strip struct {
	origin, along, across r2.Vec
	left                  bool
}

func (p *SlotPath) strip(edge int, wall string) strip {
	e := p.Edges[edge]
	along := r2.Unit(r2.Sub(e.B, e.A))
	s := strip{along: along, across: r2.Vec{X: -along.Y, Y: along.X}, left: wall == "left"}
	if !s.left {
		s.across = r2.Scale(-1, s.across)
	}
	s.origin = r2.Sub(e.A, r2.Scale(p.Starts[edge], along))
	return s
}

func (s strip) at(u, v float64) r2.Vec {
	return r2.Add(s.origin, r2.Add(r2.Scale(u, s.along), r2.Scale(v, s.across)))
}

// loop maps vertices in (u, v) to a counter-clockwise loop in the body frame.
// The vertices run counter-clockwise in (u, v).
func (s strip) loop(uv profile.Loop) profile.Loop {
	l := uv.Clone()
	for i, v := range l {
		l[i].P = s.at(v.P.X, v.P.Y)
		if !s.left {
			l[i].Bulge = -v.Bulge
		}
	}
	if !s.left {
		return l.Reverse()
	}
	return l
}
