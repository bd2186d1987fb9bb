package stroke

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/linkage"
)

// holdElement is a local detent of a pin joint, alike to both sides.
type holdElement struct {
	name  string
	joint int
	law   [2]force.Detent
	seat  float64
	width float64
}

func (e *holdElement) Name() string { return e.name }
func (e *holdElement) Kind() string { return "hold" }

func (e *holdElement) Eval(v *View, out *Loads) {
	x, row := v.Joint(e.joint)
	for i := range e.law {
		u, f := e.law[i].At(x)
		out.Energy += u
		if f != 0 {
			out.Push(row, f)
		}
	}
}

var holdMarks = []Mark{{Up: HoldReached, Down: HoldReleased, GivesDown: true}}

func (e *holdElement) MarkNames() []Mark { return holdMarks }

func (e *holdElement) Marks(v *View, dst []float64) []float64 {
	x, _ := v.Joint(e.joint)
	return append(dst, e.width-math.Abs(x-e.seat))
}

func (e *holdElement) Gate(v *View) (float64, Row, bool) {
	x, row := v.Joint(e.joint)
	return x, *row, math.Abs(x-e.seat) < e.width
}

// endElement is a hard end of a joint's travel: a stop or a slot end.
type endElement struct {
	name, kind string
	joint      int
	limit      float64
	sign       float64 // +1 keeps the coordinate below the limit
	stiffness  float64
}

func (e *endElement) Name() string { return e.name }
func (e *endElement) Kind() string { return e.kind }

func (e *endElement) Eval(v *View, out *Loads) {
	x, row := v.Joint(e.joint)
	out.Contact(Contact{Gap: e.sign * (e.limit - x), Grad: row.Scaled(-e.sign), Stiffness: e.stiffness})
}

var (
	stopMarks = []Mark{{Up: StopMet, Down: StopLeft, Band: 1e-4}}
	endMarks  = []Mark{{Up: EndMet, Down: EndLeft, Band: 1e-4}}
)

func (e *endElement) MarkNames() []Mark {
	if e.kind == "slot end" {
		return endMarks
	}
	return stopMarks
}

func (e *endElement) Marks(v *View, dst []float64) []float64 {
	x, _ := v.Joint(e.joint)
	return append(dst, e.sign*(x-e.limit))
}

// torsionElement is a torsion spring on a pin joint.
type torsionElement struct {
	name  string
	joint int
	law   force.Spring
}

func (e *torsionElement) Name() string      { return e.name }
func (e *torsionElement) Kind() string      { return "spring" }
func (e *torsionElement) MarkNames() []Mark { return nil }

func (e *torsionElement) Marks(_ *View, dst []float64) []float64 { return dst }

func (e *torsionElement) Eval(v *View, out *Loads) {
	x, row := v.Joint(e.joint)
	u, f := e.law.At(x)
	out.Energy += u
	out.Push(row, f)
}

// springElement pulls two points together.
type springElement struct {
	name string
	a, b int // bodies
	pa   r2.Vec
	pb   r2.Vec
	law  force.Spring
}

func (e *springElement) Name() string      { return e.name }
func (e *springElement) Kind() string      { return "spring" }
func (e *springElement) MarkNames() []Mark { return nil }

func (e *springElement) Marks(_ *View, dst []float64) []float64 { return dst }

func (e *springElement) Eval(v *View, out *Loads) {
	p, q := v.Local(e.a, e.pa), v.Local(e.b, e.pb)
	d := r2.Sub(q, p)
	l := r2.Norm(d)
	u, f := e.law.At(l)
	out.Energy += u
	if f == 0 || l == 0 {
		return
	}
	d = r2.Scale(f/l, d)
	var row Row
	v.Force(&row, e.b, q, d)
	v.Force(&row, e.a, p, r2.Scale(-1, d))
	out.Push(&row, 1)
}

// loadElement is a point load of fixed direction in the spine frame: a body's weight, or
// another.
type loadElement struct {
	name, kind string
	body       int
	at         r2.Vec // in the body's frame
	force      r2.Vec // N, spine frame
}

func (e *loadElement) Name() string      { return e.name }
func (e *loadElement) Kind() string      { return e.kind }
func (e *loadElement) MarkNames() []Mark { return nil }

func (e *loadElement) Marks(_ *View, dst []float64) []float64 { return dst }

func (e *loadElement) Eval(v *View, out *Loads) {
	p := v.Local(e.body, e.at)
	out.Energy -= r2.Dot(p, e.force)
	var row Row
	v.Force(&row, e.body, p, e.force)
	out.Push(&row, 1)
}

// rubbing is the friction of one joint; its bound follows the joint's force.
type rubbing struct {
	joint    int
	kind     linkage.Kind
	circle   float64 // pin: radius of the friction circle (mm)
	drag     float64 // N·mm or N
	mu       float64
	guide    force.Guide
	backHold float64 // N a released drive adds on its slide; +Inf locks
}

// limit returns the friction bound for the joint's multipliers.
func (r *rubbing) limit(j *linkage.Joint, lambda []float64) float64 {
	switch r.kind {
	case linkage.Pin:
		x, y := lambda[j.Row], lambda[j.Row+1]
		return r.drag + r.circle*math.Sqrt(x*x+y*y)
	case linkage.Slot:
		return r.drag + force.SlotFriction(r.mu, lambda[j.Row])
	case linkage.Slide:
		return r.guide.Friction(lambda[j.Row], lambda[j.Row+1]) + r.backHold
	}
	return 0
}
