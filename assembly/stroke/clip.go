package stroke

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
)

// clipElement is a snap arm on one body against a post on another.
type clipElement struct {
	name      string
	number    int // among the clips
	arm, post int // bodies
	origin    r2.Vec
	angle     float64 // of the arm's x axis in its body
	ex, ey    r2.Vec  // the arm's axes in its body
	mirror    float64 // +1: the hook stands to the left of the arm
	at        r2.Vec  // post centre in its body
	law       *force.ClipLaw
	enter     float64 // +1: entering moves the post along +x of the arm
	peak      r2.Vec
}

func (e *clipElement) Name() string { return e.name }
func (e *clipElement) Kind() string { return "clip" }

// place returns the post in the arm frame.
func (e *clipElement) place(v *View) (p, world r2.Vec) {
	world = v.Local(e.post, e.at)
	d := r2.Sub(v.Into(e.arm, world), e.origin)
	return r2.Vec{X: r2.Dot(d, e.ex), Y: r2.Dot(d, e.ey)}, world
}

// out turns a vector of the arm frame into the spine's.
func (e *clipElement) out(v *View, f r2.Vec) r2.Vec {
	return v.Turn(e.arm, r2.Add(r2.Scale(f.X, e.ex), r2.Scale(f.Y, e.ey)))
}

// overlap is how deep (mm) the post stands in the undeformed hook, negative off
// it; under the arm it is not on the hook.
func (e *clipElement) overlap(p r2.Vec) float64 {
	if p.Y < 0 {
		return never
	}
	return -e.law.Gap(force.Place{P: p})
}

func (e *clipElement) Eval(v *View, out *Loads) {
	s := out.Slip()
	p, world := e.place(v)
	s.X = p.X // also off the hook, so that it is known where the post comes from
	if p.Y < 0 {
		return
	}
	rest, enter, release := e.law.States(force.Place{P: p}, v.arm(e.number))
	if !rest.Touching || rest.Failed {
		return
	}
	out.Energy += rest.Energy
	push := v.Between(e.arm, e.post, world, e.out(v, rest.Force))
	out.Push(&push, 1)
	s.Grad = v.Between(e.arm, e.post, world, e.out(v, r2.Vec{X: 1}))
	s.Rows = true
	for _, st := range [...]*force.ClipState{&enter, &release} {
		up := (st == &enter) == (e.enter > 0)
		var row Row
		var b float64
		if st.Locked || st.Failed {
			b = blocked
			row = s.Grad.Scaled(-blocked)
			if !up {
				row = s.Grad.Scaled(blocked)
			}
		} else {
			f := r2.Sub(st.Force, rest.Force)
			b = math.Abs(f.X)
			row = v.Between(e.arm, e.post, world, e.out(v, f))
		}
		if up {
			s.Out, s.OutRow = b, row
		} else {
			s.Back, s.BackRow = b, row
		}
	}
}

var clipMarks = []Mark{
	{Up: ClipTouched, Down: ClipClear},
	{Up: ClipSnapped, Down: ClipReleased, GivesUp: true, GivesDown: true},
}

func (e *clipElement) MarkNames() []Mark { return clipMarks }

func (e *clipElement) Marks(v *View, dst []float64) []float64 {
	p, _ := e.place(v)
	past := (p.X - e.peak.X) * e.enter
	if p.Y < 0 || e.law.Overlap(p.Y) <= 0 {
		past = -math.Abs(past) // out of the hook's reach: neither snapped nor latched
	}
	return append(dst, e.overlap(p), past)
}

func (e *clipElement) Gate(v *View) (float64, Row, bool) {
	p, world := e.place(v)
	row := v.Between(e.arm, e.post, world, e.out(v, r2.Vec{X: 1}))
	near := p.Y >= 0 && e.law.Overlap(p.Y) > 0 && (p.X-e.peak.X)*e.enter > 0
	return p.X, row, near || e.overlap(p) > 0
}
