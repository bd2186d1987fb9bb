package stroke

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/linkage"
	"tuckfinger/params"
)

// disc is a round corner of an outline in its body's frame.
type disc struct {
	at     r2.Vec
	radius float64
}

// floorElement is the contact of a body's outline with a flat floor that rises.
// The convex hull of an outline touches a flat floor with its round corners
// only, so the outline is kept as these.
type floorElement struct {
	body  int
	discs []disc
	mu    float64
}

// floorStiffness is that of a corner against the floor; common practice, no
// source: stiff against the folding forces, soft enough for a smooth contact.
const floorStiffness = 1000 // N/mm

func (e *floorElement) Name() string { return "floor" }
func (e *floorElement) Kind() string { return "floor" }

func (e *floorElement) Eval(v *View, out *Loads) {
	theta := v.Q[3*e.body+2]
	for _, d := range e.discs {
		c := v.Local(e.body, d.at)
		low := r2.Vec{X: c.X, Y: c.Y - d.radius}
		var up Row
		v.Force(&up, e.body, low, r2.Vec{Y: 1})
		out.Contact(Contact{Gap: low.Y - v.Floor, Grad: up, Stiffness: floorStiffness})
		s := out.Slip()
		// A corner that rolls does not slide.
		s.X = c.X + d.radius*theta
		v.Force(&s.Grad, e.body, low, r2.Vec{X: 1})
		s.Contact, s.Mu = len(out.Contacts), e.mu
		if g := out.Contacts[len(out.Contacts)-1].Gap; g < 0 {
			s.Out = -e.mu * floorStiffness * g
			s.Back = s.Out
		}
	}
}

var floorMarks = []Mark{{Up: FloorMet, Down: FloorLeft}}

func (e *floorElement) MarkNames() []Mark { return floorMarks }

func (e *floorElement) Marks(v *View, dst []float64) []float64 {
	y, _ := e.lowest(v)
	return append(dst, v.Floor-y)
}

// lowest returns the height of the lowest point of the outline and its x.
func (e *floorElement) lowest(v *View) (y, x float64) {
	y = math.Inf(1)
	for _, d := range e.discs {
		if c := v.Local(e.body, d.at); c.Y-d.radius < y {
			y, x = c.Y-d.radius, c.X
		}
	}
	return y, x
}

// press is the vertical force of the floor (N).
func (e *floorElement) press(v *View) float64 {
	f := 0.0
	for _, d := range e.discs {
		f += floorStiffness * max(0, v.Floor-(v.Local(e.body, d.at).Y-d.radius))
	}
	return f
}

// outline gathers the round corners of a body's features.
func (b *builder) outline(body string) ([]disc, error) {
	var out []disc
	in := b.d.Bodies.Get(body)
	if in == nil {
		return nil, fmt.Errorf("no body %q", body)
	}
	at := func(s params.Spot) (r2.Vec, error) {
		if s.Joint == "" {
			return s.Point, nil
		}
		j := b.d.Joints.Get(s.Joint)
		switch {
		case j != nil && j.Pin != nil && j.Pin.At.Get(body) != nil:
			return *j.Pin.At.Get(body), nil
		case j != nil && j.Slot != nil && j.Slot.Body == body:
			return j.Slot.At, nil
		}
		return r2.Vec{}, fmt.Errorf("joint %q has no place on body %q", s.Joint, body)
	}
	for _, f := range in.Features {
		switch {
		case f.Boss != nil:
			p, err := at(f.Boss.At)
			if err != nil {
				return nil, err
			}
			out = append(out, disc{p, f.Boss.Radius})
		case f.Bar != nil:
			for _, s := range [...]params.Spot{f.Bar.From, f.Bar.To} {
				p, err := at(s)
				if err != nil {
					return nil, err
				}
				out = append(out, disc{p, f.Bar.Width / 2})
			}
		case f.Outline != nil:
			out = append(out, corners(f.Outline)...)
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("body %q has no outline to meet the floor", body)
	}
	return out, nil
}

// corners turns a polygon with fillets into discs.
func corners(o *params.Outline) []disc {
	var out []disc
	n := len(o.Points)
	for i, c := range o.Points {
		r := o.Fillet
		if c.Fillet != nil {
			r = *c.Fillet
		}
		d := disc{at: c.At}
		if r > 0 {
			a := r2.Unit(r2.Sub(o.Points[(i+n-1)%n].At, c.At))
			b := r2.Unit(r2.Sub(o.Points[(i+1)%n].At, c.At))
			half := math.Acos(max(-1, min(1, r2.Dot(a, b)))) / 2
			if m := r2.Add(a, b); half > 1e-6 && r2.Norm(m) > 1e-9 {
				d = disc{r2.Add(c.At, r2.Scale(r/math.Sin(half), r2.Unit(m))), r}
			}
		}
		out = append(out, d)
	}
	return out
}

// PassiveSample is one state of a passive fold.
type PassiveSample struct {
	Descent float64 // of the finger since the start (mm)
	S       float64 // slide coordinate (mm)
	Contact float64 // vertical force of the floor (N)
	Slide   float64 // force with which the mechanism turns the released drive back (N)
	Q       []float64
}

// PassiveResult is a fold by pressing on a floor with the drive released.
type PassiveResult struct {
	Samples []PassiveSample
	Events  []Event // S is the slide coordinate; Force the floor's
	// Starts tells whether the contact folds the tip: Reach, how far out it lies
	// beyond friction times height (mm), is positive. Both are for the first
	// contact; Reach is NaN for a body that is not pinned to the spine.
	Starts bool
	Reach  float64
	// Met is false if the descent does not bring the outline onto the floor.
	Met bool
	// BackDrive is the least slide force that turns the released drive (N); +Inf
	// for one that locks.
	BackDrive float64
	Moved     []string // bodies that moved, in the order of the file
	Jammed    bool     // the floor force passed the limit of a jam
	// Rise is how far the floor may lift the outline after first contact until a
	// ramp, clip or hold gives way and the order is lost; Lost names it. Without
	// a loss Rise is the whole lift.
	Rise float64
	Lost string
	// Takeover is the way out driven from the folded state over the same floor.
	Takeover *Result
}

// Passive computes the design's passive fold: the drive is released at the given
// slide coordinate of the way out, then the floor rises by the descent.
// Errors as for Run.
func (x *Model) Passive(nominal *Result) (*PassiveResult, error) {
	in := x.Design.Passive
	if in == nil {
		return nil, errors.New("the design has no passive fold")
	}
	b := builder{x: x, m: x.Mech, d: x.Design}
	discs, err := b.outline(in.Body)
	if err != nil {
		return nil, fmt.Errorf("passive: %w", err)
	}
	drive, err := x.drive(true)
	if err != nil {
		return nil, err
	}
	fl := &floorElement{body: x.Mech.BodyIndex(in.Body), discs: discs, mu: in.Friction}
	y := *x
	y.Elements = append(append([]Element(nil), x.Elements...), fl)
	y.index()
	y.rubs = append([]rubbing(nil), x.rubs...)
	out := &PassiveResult{BackDrive: drive.BackDrive()}
	slide := -1
	for i := range y.rubs {
		if y.rubs[i].joint == x.Mech.Drive {
			y.rubs[i].backHold, slide = min(out.BackDrive, blocked), i
		}
	}
	start, err := x.driven(min(in.From, nominal.Samples[nominal.Turn].S))
	if err != nil {
		return nil, err
	}
	s := newSolver(&y, false, nil)
	r := newRunner(s)
	r.command = func(at float64) { s.v.Floor, s.aside.v.Floor = at, at }
	r.effort = func() float64 { return fl.press(&s.v) }
	sample := func() {
		i := len(r.res.Samples) - 1
		f := 0.0
		if slide >= 0 {
			f = math.Abs(r.sigma[slide]) * min(s.limits[slide], blocked)
		}
		out.Samples = append(out.Samples, PassiveSample{Descent: r.at - in.Floor, S: r.res.Samples[i].S, Contact: r.force, Slide: f, Q: r.res.Samples[i].Q})
	}
	met := math.NaN()
	r.stop = func(r *runner) bool {
		sample()
		for _, e := range r.fresh() {
			if e.Kind == FloorMet && met != met {
				met = r.at
				out.Reach, out.Starts = x.reach(fl, &s.v, in.Friction)
			}
			if g, ok := y.Element(e.Subject).(Gate); ok && out.Lost == "" && r.gave(g) {
				out.Lost, out.Rise = e.Subject, r.at-met
			}
		}
		if r.force > jamForce {
			out.Jammed = true
		}
		return out.Jammed
	}
	r.command(in.Floor)
	if err := r.begin(start, in.Floor); err != nil {
		return nil, err
	}
	if y, _ := fl.lowest(&s.v); y < in.Floor {
		met = in.Floor
		out.Reach, out.Starts = x.reach(fl, &s.v, in.Friction)
	}
	sample()
	err = r.run(in.Floor + in.Descent)
	r.motions(0)
	out.Events, out.Met = r.res.Events, met == met
	if err != nil {
		if r.force < jamForce/10 && r.ended(err) == nil {
			return out, err
		}
		out.Jammed = true
	}
	if out.Lost == "" && met == met {
		out.Rise = r.at - met
	}
	out.Moved = x.moved(start, r.q)
	if out.Jammed {
		return out, nil
	}
	y.rubs = x.rubs // the drive is no longer released
	out.Takeover, err = y.takeover(r.q, r.at)
	return out, err
}

// driven returns the configuration in which the drive stands at s (mm) on the way
// out.
func (x *Model) driven(s float64) ([]float64, error) {
	r := newRunner(newSolver(x, true, nil))
	if err := r.begin(x.Mech.Start, 0); err != nil {
		return nil, err
	}
	err := r.run(s)
	return r.q, err
}

// takeover drives the finger out from a folded state over a floor.
func (x *Model) takeover(q []float64, floor float64) (*Result, error) {
	s := newSolver(x, true, nil)
	s.v.Floor, s.aside.v.Floor = floor, floor
	r := newRunner(s)
	if err := r.begin(q, x.Mech.Coord(q, linkage.JointCoord(x.Mech.Drive))); err != nil {
		return nil, err
	}
	err := r.half(x.Mech.Travel)
	r.res.Turn = len(r.res.Samples) - 1
	return r.res, err
}

// reach applies the rule x > μ·h to the lowest point of the outline.
func (x *Model) reach(fl *floorElement, v *View, mu float64) (float64, bool) {
	for i := range x.Mech.Joints {
		j := &x.Mech.Joints[i]
		if j.Kind != linkage.Pin || !(j.A == fl.body && j.B == v.ground || j.B == fl.body && j.A == v.ground) {
			continue
		}
		p := x.Mech.JointPoint(v.Q, i)
		low, at := fl.lowest(v)
		return force.FoldStarts(math.Abs(at-p.X), math.Abs(p.Y-low), mu)
	}
	return math.NaN(), false
}

// moved names the bodies whose pose differs.
func (x *Model) moved(a, b []float64) []string {
	var out []string
	for k := range x.Mech.Bodies {
		d := math.Hypot(a[3*k]-b[3*k], a[3*k+1]-b[3*k+1]) + x.Mech.Scale*math.Abs(a[3*k+2]-b[3*k+2])
		if d > 0.05 {
			out = append(out, x.Mech.Bodies[k].Name)
		}
	}
	return out
}
