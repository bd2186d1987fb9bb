package check

import (
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/params"
)

// padFace is the outer surface of a pad in its body's frame.
type padFace struct {
	body   int
	a, b   r2.Vec
	normal r2.Vec // unit, outward
}

// grips returns both pads of the grasp.
func (in *Input) grips() (upper, lower padFace, ok bool) {
	g := in.Design.Grasp
	if g == nil {
		return upper, lower, false
	}
	up, low := in.Design.Pads.Get(g.Upper), in.Design.Pads.Get(g.Lower)
	if up == nil || low == nil {
		return upper, lower, false
	}
	return in.padFace(up), in.padFace(low), true
}

// padFace: material lies to the left going from From to To, so the surface
// looks to the right.
func (in *Input) padFace(p *params.Pad) padFace {
	d := r2.Unit(r2.Sub(p.To, p.From))
	n := r2.Vec{X: d.Y, Y: -d.X}
	off := r2.Scale(p.Thickness, n)
	return padFace{in.Mechanism.BodyIndex(p.Body), r2.Add(p.From, off), r2.Add(p.To, off), n}
}

// place carries a pad into the spine frame.
func (f *padFace) place(poses []linkage.Pose) (a, b, normal r2.Vec) {
	p := poses[f.body]
	return p.Apply(f.a), p.Apply(f.b), p.Turn(f.normal)
}
