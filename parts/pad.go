package parts

import (
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
)

// PadFace is the outer surface of a pad in its body's frame, mm.
type PadFace struct {
	A, B   r2.Vec // ends, the pad's thickness included
	Normal r2.Vec // unit, outward
}

// NewPadFace returns a pad's outer surface. Material lies to the left going from
// From to To, so the surface looks to the right.
func NewPadFace(p *params.Pad) PadFace {
	d := r2.Unit(r2.Sub(p.To, p.From))
	n := r2.Vec{X: d.Y, Y: -d.X}
	off := r2.Scale(p.Thickness, n)
	return PadFace{A: r2.Add(p.From, off), B: r2.Add(p.To, off), Normal: n}
}
