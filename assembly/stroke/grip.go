package stroke

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/parts"
)

// padFace is the outer surface of a pad on a body of the mechanism.
type padFace struct {
	parts.PadFace
	body  int
	depth float64
}

// padBacking is how far (mm) beyond its own thickness a pad may be pressed in: what
// is deeper has come from behind. Common practice, no source.
const padBacking = 1

func newPadFace(body int, p *params.Pad) padFace {
	return padFace{PadFace: parts.NewPadFace(p), body: body, depth: p.Thickness + padBacking}
}

// touch is where two pads come nearest to each other across.
type touch struct {
	gap   float64
	p, q  r2.Vec // on the upper and on the lower pad, spine frame
	n     r2.Vec // from lower to upper, unit
	valid bool
}

// nearest returns the smallest distance across between two pads that face each
// other, over the ends of each that lie beside the other.
func nearest(v *View, upper, lower *padFace) touch {
	best := touch{gap: math.Inf(1)}
	if r2.Dot(v.Turn(upper.body, upper.Normal), v.Turn(lower.body, lower.Normal)) >= 0 {
		return best
	}
	probe := func(on, of *padFace, flip bool) {
		a, b := v.Local(on.body, on.A), v.Local(on.body, on.B)
		n := v.Turn(on.body, on.Normal)
		along := r2.Sub(b, a)
		l2 := r2.Norm2(along)
		for k := 0; k < 2; k++ {
			e := of.A
			if k == 1 {
				e = of.B
			}
			p := v.Local(of.body, e)
			d := r2.Sub(p, a)
			u := r2.Dot(d, along) / l2
			if u < -1e-9 || u > 1+1e-9 {
				continue
			}
			gap := r2.Dot(d, n)
			if gap >= best.gap || gap < -upper.depth-lower.depth {
				continue
			}
			foot := r2.Sub(p, r2.Scale(gap, n))
			best = touch{gap: gap, p: p, q: foot, n: n, valid: true}
			if flip {
				best.p, best.q, best.n = foot, p, r2.Scale(-1, n)
			}
		}
	}
	probe(lower, upper, false)
	probe(upper, lower, true)
	return best
}

// gripElement is a compliant object (or nothing: height 0) between two pads.
type gripElement struct {
	name         string
	upper, lower padFace
	height       float64 // of the object, mm
	stiffness    float64 // pads and object in series, N/mm
}

func (e *gripElement) Name() string { return e.name }
func (e *gripElement) Kind() string { return "pads" }

func (e *gripElement) Eval(v *View, out *Loads) {
	t := nearest(v, &e.upper, &e.lower)
	c := Contact{Gap: 1, Stiffness: e.stiffness}
	if t.valid {
		c.Gap = t.gap - e.height
		v.Force(&c.Grad, e.upper.body, t.p, t.n)
		v.Force(&c.Grad, e.lower.body, t.q, r2.Scale(-1, t.n))
	}
	out.Contact(c)
}

var gripMarks = []Mark{{Up: PadsMet, Down: PadsLeft}}

func (e *gripElement) MarkNames() []Mark { return gripMarks }

func (e *gripElement) Marks(v *View, dst []float64) []float64 {
	t := nearest(v, &e.upper, &e.lower)
	if !t.valid {
		return append(dst, never)
	}
	return append(dst, e.height-t.gap)
}
