package check

import (
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/params"
	"tuckfinger/parts"
)

// padFace is the outer surface of a pad on a body of the mechanism.
type padFace struct {
	parts.PadFace
	body int
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

func (in *Input) padFace(p *params.Pad) padFace {
	return padFace{parts.NewPadFace(p), in.Mechanism.BodyIndex(p.Body)}
}

// place carries a pad into the spine frame.
func (f *padFace) place(poses []linkage.Pose) (a, b, normal r2.Vec) {
	p := poses[f.body]
	return p.Apply(f.A), p.Apply(f.B), p.Turn(f.Normal)
}
