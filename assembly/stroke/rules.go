package stroke

import (
	"errors"
	"fmt"
	"math"

	"tuckfinger/assembly/linkage"
	"tuckfinger/params"
)

// Verdict is what becomes of an order rule.
type Verdict string

// The verdicts.
const (
	Kept    Verdict = "kept"         // the margin is there
	Thin    Verdict = "thin"         // the order holds, the margin does not
	Broken  Verdict = "broken"       // the held element gives way first
	Unclear Verdict = "undetermined" // both forces are equal or nothing: a tie
)

// RuleResult is an order rule with its two forces.
//
// The driving force is the largest resistance (N, slide force against the
// motion) that the elements of While put up until all of them have given way,
// with the held element blocked while it is engaged. A joint of While gives way
// over the range that it covers on that half of the full stroke. Ramps, clips
// and holds that the rule does not name are left out.
//
// The holding force belongs to the same instants: at the largest resistance of
// each While element these are blocked where they stand, and the slide goes on
// until the held element gives way.
//
// The margin is the smallest holding over driving force.
type RuleResult struct {
	Name             string
	Rule             params.Rule
	Holding, Driving float64 // N; +Inf if it does not give way at all
	Margin           float64
	Element          string  // of While: the one that drives at the smallest margin
	At               float64 // s of that instant (mm)
	Verdict          Verdict
	Note             string // why there are no forces, if so
}

const (
	tieRule  = 0.02 // N: forces nearer than this are a tie
	jamForce = 2000 // N: a slide force above means that nothing gives way
)

// Rules evaluates the order rules of the design. nominal is the full stroke.
func (x *Model) Rules(nominal *Result) ([]RuleResult, error) {
	var out []RuleResult
	for i, name := range x.Design.Order.Names {
		r, err := x.rule(name, x.Design.Order.Values[i], nominal)
		if err != nil {
			return out, fmt.Errorf("order.%s: %w", name, err)
		}
		out = append(out, r)
	}
	return out, nil
}

// party is an element or joint of a rule.
type party struct {
	name  string
	gate  Gate // nil: a joint
	joint int

	begun, done bool
	end         float64 // joint: coordinate that ends its part
	peak        float64
	peakQ       []float64
	limits      []float64
	peakAt      float64
}

func (x *Model) party(name string) (*party, error) {
	if g, ok := x.Element(name).(Gate); ok {
		return &party{name: name, gate: g, joint: -1}, nil
	}
	if k := x.Mech.JointIndex(name); k >= 0 {
		return &party{name: name, joint: k}, nil
	}
	return nil, fmt.Errorf("%q is no ramp, clip, hold or joint of the stroke", name)
}

func (p *party) block() block { return block{gate: p.gate, joint: p.joint} }

// Only returns the model without the gates that keep refuses.
func (x *Model) only(keep func(name string) bool) *Model {
	y := *x
	y.Elements, y.marks = nil, nil
	for _, e := range x.Elements {
		if _, gate := e.(Gate); !gate || keep(e.Name()) {
			y.Elements = append(y.Elements, e)
		}
	}
	y.index()
	return &y
}

func (x *Model) rule(name string, rule params.Rule, nominal *Result) (RuleResult, error) {
	res := RuleResult{Name: name, Rule: rule, Margin: math.Inf(1)}
	held, err := x.party(rule.Holds)
	if err != nil {
		return res, err
	}
	named := map[string]bool{rule.Holds: true}
	var while []*party
	for _, w := range rule.While {
		p, err := x.party(w)
		if err != nil {
			return res, err
		}
		named[w] = true
		while = append(while, p)
	}
	back := rule.Stroke == "back"
	from, to := nominal.Samples[0].Q, nominal.Samples[nominal.Turn].Q
	if back {
		from, to = to, nominal.Samples[len(nominal.Samples)-1].Q
	}
	for _, p := range while {
		if p.gate == nil {
			p.end = x.Mech.Coord(to, linkage.JointCoord(p.joint))
		}
	}
	y := x.only(func(n string) bool { return named[n] })
	if err := y.drives(held, while, from, back); err != nil {
		return res, err
	}
	if !held.begun {
		res.Margin, res.Verdict = 0, Broken
		res.Note = held.name + " is not engaged on this half of the stroke, so it can't hold"
		return res, nil
	}
	for _, p := range while {
		if !p.begun {
			continue
		}
		if !p.done {
			res.Driving, res.Element, res.At, res.Margin = math.Inf(1), p.name, p.peakAt, 0
			break
		}
		holding, err := y.holdsAt(held, while, p, back)
		if err != nil {
			return res, err
		}
		if m := ratio(holding, p.peak); m < res.Margin || res.Element == "" {
			res.Holding, res.Driving, res.Margin = holding, p.peak, m
			res.Element, res.At = p.name, p.peakAt
		}
	}
	res.Verdict = verdict(res, rule.Margin)
	return res, nil
}

func ratio(a, b float64) float64 {
	switch {
	case a <= 0:
		return 0
	case b <= 0:
		return math.Inf(1)
	}
	return a / b
}

func verdict(r RuleResult, want float64) Verdict {
	switch {
	case r.Element == "" || math.Abs(r.Holding-r.Driving) <= tieRule:
		return Unclear
	case r.Margin < 1:
		return Broken
	case r.Margin < want:
		return Thin
	}
	return Kept
}

// drives runs with the held element blocked and notes the largest resistance of
// each party.
func (x *Model) drives(held *party, while []*party, from []float64, back bool) error {
	r := newRunner(newSolver(x, true, []block{held.block()}))
	r.back = back
	to := x.Mech.Travel
	if back {
		to = 0
	}
	r.stop = func(r *runner) bool {
		r.arm(held)
		all := true
		last := &r.res.Samples[len(r.res.Samples)-1]
		for _, p := range while {
			p.watch(r, last)
			all = all && p.done
		}
		return all || last.Resistance() > jamForce
	}
	if err := r.begin(from, x.Mech.Coord(from, linkage.JointCoord(x.Mech.Drive))); err != nil {
		return err
	}
	r.arm(held)
	return jammed(r, r.run(to))
}

// jammed forgives the failure of a run that has run into a wall: what has not
// given way by then does not.
func jammed(r *runner, err error) error {
	var settle *SettleError
	if err != nil && (math.Abs(r.force) > jamForce/10 || errors.As(err, &settle) && settle.Residual > jamForce/10) {
		return nil
	}
	return err
}

// arm blocks the held element while it is engaged.
func (r *runner) arm(held *party) {
	on := true
	if held.gate != nil {
		r.s.v.set(r.q)
		_, _, on = held.gate.Gate(&r.s.v)
	}
	held.begun = held.begun || on
	r.s.blocks[0].on = on
}

// watch follows a party through the driving run.
func (p *party) watch(r *runner, s *Sample) {
	if p.done {
		return
	}
	active := false
	if p.gate != nil {
		r.s.v.set(s.Q)
		_, _, active = p.gate.Gate(&r.s.v)
		p.begun = p.begun || active
		p.done = r.gave(p.gate)
		active = active || p.done
	} else {
		for i := range r.moving {
			if r.s.x.rubs[i].joint == p.joint {
				active = r.moving[i]
			}
		}
		x := r.s.mech.Coord(s.Q, linkage.JointCoord(p.joint))
		x0 := r.s.mech.Coord(r.res.Samples[0].Q, linkage.JointCoord(p.joint))
		met := r.met(p.joint)
		if p.begun && (met || !active) || (x-p.end)*(p.end-x0) >= 0 {
			p.done = true
		}
		p.begun = p.begun || active
		active = active && !met
	}
	if v := s.Resistance(); active && v > p.peak {
		p.peak, p.peakAt = v, s.S
		p.peakQ = append(p.peakQ[:0], s.Q...)
		p.limits = append(p.limits[:0], r.limits...)
	}
}

// fresh returns the events of the last step.
func (r *runner) fresh() []Event {
	n := len(r.res.Events)
	for n > 0 && r.res.Events[n-1].Sample == len(r.res.Samples)-1 {
		n--
	}
	return r.res.Events[n:]
}

// gave reports whether a gate has given way in the last step.
func (r *runner) gave(g Gate) bool {
	for _, e := range r.fresh() {
		if e.Subject != g.Name() {
			continue
		}
		for _, k := range g.MarkNames() {
			if k.GivesUp && e.Kind == k.Up || k.GivesDown && e.Kind == k.Down {
				return true
			}
		}
	}
	return false
}

// met reports whether a hard end of a joint has been met in the last step.
func (r *runner) met(joint int) bool {
	for _, e := range r.fresh() {
		if end, ok := r.s.x.Element(e.Subject).(*endElement); ok && end.joint == joint && (e.Kind == StopMet || e.Kind == EndMet) {
			return true
		}
	}
	return false
}

// holdsAt blocks all parties where they stand at one party's peak and returns
// the resistance at which the held element gives way.
func (x *Model) holdsAt(held *party, while []*party, at *party, back bool) (float64, error) {
	var blocks []block
	for _, p := range while {
		b := p.block()
		b.on = true
		blocks = append(blocks, b)
	}
	r := newRunner(newSolver(x, true, blocks))
	r.back = back
	to := x.Mech.Travel
	if back {
		to = 0
	}
	peak, given := 0.0, false
	r.stop = func(r *runner) bool {
		last := &r.res.Samples[len(r.res.Samples)-1]
		if held.gate != nil {
			given = given || r.gave(held.gate)
		} else {
			for i := range r.moving {
				if x.rubs[i].joint == held.joint && r.moving[i] {
					given = true
				}
			}
		}
		if v := last.Resistance(); v <= jamForce {
			peak = max(peak, v)
			return given
		}
		return true
	}
	copy(r.s.limits, at.limits)
	if err := r.begin(at.peakQ, at.peakAt); err != nil {
		return 0, err
	}
	if err := jammed(r, r.run(to)); err != nil {
		return 0, err
	}
	if !given {
		return math.Inf(1), nil
	}
	return peak, nil
}
