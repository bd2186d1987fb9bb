package check

import (
	"math"

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

func (in *Input) padBodies() (upper, lower int) {
	u, l, _ := in.grips()
	return u.body, l.body
}

// place carries a pad into the spine frame.
func (f *padFace) place(poses []linkage.Pose) (a, b, normal r2.Vec) {
	p := poses[f.body]
	return p.Apply(f.a), p.Apply(f.b), p.Turn(f.normal)
}

// padTouch returns where the pads press on each other or on the object, and the
// direction of the force on the upper pad's body; ok is false where they don't.
// Of pads that are not parallel the ends that come nearest touch.
func (in *Input) padTouch(poses []linkage.Pose, object bool) (at, normal r2.Vec, ok bool) {
	upper, lower, ok := in.grips()
	if !ok {
		return at, normal, false
	}
	height := 0.0
	if object && in.Design.Object != nil {
		height = in.Design.Object.Height
	}
	best := math.Inf(1)
	probe := func(on, of *padFace, sign float64) {
		a, b, n := on.place(poses)
		p, q, _ := of.place(poses)
		d := r2.Sub(b, a)
		for _, e := range [...]r2.Vec{p, q} {
			v := r2.Sub(e, a)
			if u := r2.Dot(v, d) / r2.Norm2(d); u < -1e-9 || u > 1+1e-9 {
				continue
			}
			if gap := r2.Dot(v, n); gap < best {
				best, at, normal = gap, e, r2.Scale(sign, n)
			}
		}
	}
	probe(&lower, &upper, 1)
	probe(&upper, &lower, -1)
	return at, normal, best < height
}
