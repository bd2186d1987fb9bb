package stroke

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/linkage"
)

// GraspSample is the state of the pads at one place of the stroke where the
// passive coordinates are held by stops, so that the slide alone closes them.
type GraspSample struct {
	S, Opening float64 // mm; Opening between the pads' surfaces where they are nearest
	Tilt       float64 // angle between the pads (rad), 0 when parallel
	Closing    float64 // mm of opening lost per mm of slide travel
	// Pad forces per N of slide force in a chain without friction, by virtual
	// work (1/Closing) and by the balance of forces at every joint.
	VirtualWork, Statics float64
	Upper, Lower         r2.Vec // places of the touch on the pads, spine frame
}

// GraspResult sums up the grasp of a design.
type GraspResult struct {
	Samples []GraspSample // way out
	// Usable openings (mm) and the slide span (mm) between the last giving way
	// of a ramp, clip or hold on the way out and the end of the travel.
	Widest, Narrowest, Span float64
	// Object: where the empty pads have the object's height between them.
	// Found is false if they never do.
	Found bool
	At    GraspSample
	// Pad force (N) at the design's slide force: without friction by virtual
	// work, and with all friction and compliance by the solver; NaN if the slide
	// force is not reached within the travel.
	Frictionless, Loaded float64
	LoadedS              float64 // slide coordinate at which it is reached (mm)
	// Recoil is the force (N) with which the grip then drives the slide back against
	// the friction of the whole chain, 0 if that holds it.
	Recoil float64
	// Carried is what the load path carries then, nil if it is not reached.
	Carried  []Carry
	Capacity float64 // mass that the loaded pad force lifts with the safety factor (g)
}

// Grasp computes the grasp along a nominal stroke.
func (x *Model) Grasp(nominal *Result) (*GraspResult, error) {
	d := x.Design
	if d.Grasp == nil {
		return nil, errors.New("the design has no grasp")
	}
	e, ok := x.Element("grasp").(*gripElement)
	if !ok {
		return nil, errors.New("the pads are left out of this model")
	}
	out := &GraspResult{Loaded: math.NaN(), Frictionless: math.NaN()}
	ready := x.ready(nominal)
	for i := 0; i <= nominal.Turn; i++ {
		g, ok := x.graspAt(e, nominal.Samples[i].Q)
		if !ok {
			continue
		}
		if n := len(out.Samples); n > 0 && d.Object != nil && !out.Found {
			if a := out.Samples[n-1]; (a.Opening-d.Object.Height)*(g.Opening-d.Object.Height) <= 0 {
				out.Found, out.At = true, a
				if math.Abs(g.Opening-d.Object.Height) < math.Abs(a.Opening-d.Object.Height) {
					out.At = g
				}
			}
		}
		out.Samples = append(out.Samples, g)
		if i >= ready {
			if out.Span == 0 && out.Widest == 0 {
				out.Widest, out.Narrowest = g.Opening, g.Opening
			}
			out.Widest, out.Narrowest = max(out.Widest, g.Opening), min(out.Narrowest, g.Opening)
		}
	}
	out.Span = nominal.Samples[nominal.Turn].S - nominal.Samples[ready].S
	if out.Found {
		out.Frictionless = d.Grasp.Force * out.At.VirtualWork
	}
	if d.Object == nil {
		return out, nil
	}
	if err := x.loaded(out); err != nil {
		return out, err
	}
	mu := math.Min(d.Pads.Get(d.Grasp.Upper).Friction, d.Pads.Get(d.Grasp.Lower).Friction)
	grip := force.Grip{Mu: mu, Safety: d.Grasp.Safety}
	if err := grip.Check(); err != nil {
		return out, fmt.Errorf("grasp: %w", err)
	}
	if out.Loaded == out.Loaded {
		out.Capacity = grip.Capacity(out.Loaded)
	}
	return out, nil
}

// ready is the sample after the last giving way on the way out.
func (x *Model) ready(r *Result) int {
	at := 0
	for i := range r.Events {
		e := &r.Events[i]
		if e.Back {
			continue
		}
		if g, ok := x.Element(e.Subject).(Gate); ok {
			for _, k := range g.MarkNames() {
				if k.GivesUp && e.Kind == k.Up || k.GivesDown && e.Kind == k.Down {
					at = e.Sample
				}
			}
		}
	}
	return min(at, r.Turn)
}

// nearStop is how near to a stop (mm, or rad times the mechanism's size) a
// joint counts as held by it.
const nearStop = 1e-2

// graspAt measures the pads at a configuration whose passive coordinates stand
// at stops.
func (x *Model) graspAt(e *gripElement, q []float64) (GraspSample, bool) {
	m := x.Mech
	drivers := []linkage.Coord{linkage.JointCoord(m.Drive)}
	for _, el := range x.Elements {
		s, ok := el.(*endElement)
		if !ok || len(drivers) == m.Mobility.Freedoms {
			continue
		}
		unit := 1.0
		if m.Joints[s.joint].Kind == linkage.Pin {
			unit = m.Scale
		}
		c := linkage.JointCoord(s.joint)
		if math.Abs(m.Coord(q, c)-s.limit)*unit < nearStop {
			drivers = append(drivers, c)
		}
	}
	if len(drivers) != m.Mobility.Freedoms {
		return GraspSample{}, false
	}
	v := view(m)
	v.set(q)
	t := nearest(v, &e.upper, &e.lower)
	if !t.valid {
		return GraspSample{}, false
	}
	dq, err := m.Sensitivity(q, drivers...)
	if err != nil {
		return GraspSample{}, false
	}
	var pair Row // of 1 N that presses the pads apart
	v.Force(&pair, e.upper.body, t.p, t.n)
	v.Force(&pair, e.lower.body, t.q, r2.Scale(-1, t.n))
	up, low := v.Turn(e.upper.body, e.upper.Normal), v.Turn(e.lower.body, e.lower.Normal)
	g := GraspSample{S: m.Coord(q, drivers[0]), Opening: t.gap, Closing: -pair.Dot(dq[0]), Upper: t.p, Lower: t.q,
		Tilt: math.Atan2(r2.Cross(low, r2.Scale(-1, up)), -r2.Dot(low, up))}
	g.VirtualWork = 1 / g.Closing
	// Statics: the multiplier of the slide under a unit pair of pad forces.
	w := m.NewWork(drivers...)
	w.Set(q)
	w.Eval()
	w.Factor(true)
	f, lambda := make([]float64, m.Size()), make([]float64, len(w.Residual))
	pair.AddTo(f, 1)
	w.Multipliers(f, lambda)
	g.Statics = 1 / lambda[len(lambda)-len(drivers)]
	return g, true
}

// gripStep is the largest step (mm) while the grip builds up: pads and object
// are stiff.
const gripStep = 0.05

// loaded drives the object into the pads up to the design's slide force.
func (x *Model) loaded(out *GraspResult) error {
	opts := x.Options
	opts.Object = true
	opts.Step = min(opts.Step, gripStep)
	y, err := With(x.Mech, x.Design, opts)
	if err != nil {
		return err
	}
	e := y.Element("grasp").(*gripElement)
	r := newRunner(newSolver(y, true, nil))
	want := x.Design.Grasp.Force
	met := false
	press := func() float64 {
		t := nearest(&r.s.v, &e.upper, &e.lower)
		return max(0, (e.height-t.gap)*e.stiffness)
	}
	before, beforeF := 0.0, 0.0
	r.stop = func(r *runner) bool {
		r.s.v.set(r.q)
		p, f := press(), r.force
		met = met || p > 0
		if met && f >= want {
			k := 1.0
			if f > beforeF {
				k = (want - beforeF) / (f - beforeF)
			}
			out.Loaded, out.LoadedS, out.Carried = before+max(0, min(1, k))*(p-before), r.at, r.carried()
			return true
		}
		before, beforeF = p, f
		return false
	}
	if err := r.begin(x.Mech.Start, 0); err != nil {
		return err
	}
	err = r.run(x.Mech.Travel)
	if r.ended(err) != nil {
		return nil // the slide force is not reached before
	}
	if err != nil || math.IsNaN(out.Loaded) {
		return err
	}
	// The first step back turns the friction round.
	r.turn()
	r.stop = func(*runner) bool { return true }
	if err := r.run(max(0, r.at-resolve)); err != nil {
		return err
	}
	out.Recoil = max(0, r.force)
	return nil
}
