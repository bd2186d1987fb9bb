package stroke

import (
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
)

// rampElement is a ramp in a slot wall. Its lateral squeeze is put on the pin,
// so that the slot joint's own friction is that of the opposite wall.
type rampElement struct {
	name    string
	joint   int
	law     *force.RampLaw
	peak    float64 // path coordinate of the curve's x = 0
	forward float64 // +1 if x grows with the path coordinate
	side    float64 // +1 pushes the pin to the path's left
	crest   float64 // path coordinate
	lo, hi  float64 // path coordinates between which the wall is squeezed
}

func (e *rampElement) Name() string { return e.name }
func (e *rampElement) Kind() string { return "ramp" }

func (e *rampElement) Eval(v *View, out *Loads) {
	s := out.Slip()
	f, at := v.Foot(e.joint)
	s.X = f.Coord // also off the ramp, so that it is known where the pin comes from
	if f.Coord <= e.lo || f.Coord >= e.hi {
		return
	}
	st := e.law.At(e.forward * (f.Coord - e.peak))
	if st.Squeeze == 0 {
		return
	}
	j := &v.M.Joints[e.joint]
	t := v.Between(j.A, j.B, at, v.Turn(j.A, r2.Scale(f.Stretch, f.Tangent)))
	out.Energy += st.U
	out.Push(&t, -st.DU*e.forward)
	across := v.Between(j.A, j.B, at, v.Turn(j.A, f.Normal))
	out.Push(&across, e.side*st.Squeeze)
	s.Grad, s.Out, s.Back = t, bound(st.Out), bound(st.Back)
	if e.forward < 0 {
		s.Out, s.Back = s.Back, s.Out
	}
}

var rampMarks = []Mark{
	{Up: RampMet, Down: RampLeft},
	{Up: RampPeak, Down: RampPeak, GivesUp: true, GivesDown: true},
	{Up: RampLeft, Down: RampMet},
}

func (e *rampElement) MarkNames() []Mark { return rampMarks }

func (e *rampElement) Marks(v *View, dst []float64) []float64 {
	f, _ := v.Foot(e.joint)
	return append(dst, f.Coord-e.lo, f.Coord-e.crest, f.Coord-e.hi)
}

func (e *rampElement) Gate(v *View) (float64, Row, bool) {
	u, row := v.Joint(e.joint)
	return u, *row, u > e.lo && u < e.hi
}
