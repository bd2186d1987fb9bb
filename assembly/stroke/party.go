package stroke

import (
	"errors"
	"fmt"
	"math"

	"tuckfinger/assembly/linkage"
)

// party is an element or joint of a rule.
type party struct {
	name  string
	gate  Gate // nil: a joint
	joint int

	begun  bool    // engaged, or in motion
	done   bool    // has given way
	end    float64 // joint: coordinate that ends its part,
	over   float64 // the way there from the start, 0 if it has none
	peak   float64 // largest resistance (N)
	peakQ  []float64
	limits []float64
	peakAt float64
}

func (x *Model) party(name string) (*party, error) {
	p := &party{name: name, joint: -1, peak: math.Inf(-1)}
	if g, ok := x.Element(name).(Gate); ok {
		p.gate = g
		return p, nil
	}
	if p.joint = x.Mech.JointIndex(name); p.joint < 0 {
		return nil, fmt.Errorf("%q is no ramp, clip, hold or joint of the stroke", name)
	}
	return p, nil
}

func (p *party) block() block { return block{gate: p.gate, joint: p.joint} }

// nearEnd is the share of a joint's range that compliance may leave over.
const nearEnd = 0.005

// covers notes the range of a joint on one half of the stroke: to where it comes
// to rest, or to the far end of a way there and back.
func (p *party) covers(m *linkage.Mechanism, half []Sample) {
	if p.gate != nil {
		return
	}
	at := func(i int) float64 { return m.Coord(half[i].Q, linkage.JointCoord(p.joint)) }
	start := at(0)
	p.over = at(len(half)-1) - start
	far := 0.0
	for i := range half {
		if d := at(i) - start; math.Abs(d) > math.Abs(far) {
			far = d
		}
	}
	if math.Abs(far) > 1.05*math.Abs(p.over) {
		p.over = far
	}
	p.end = start + p.over
	unit := 1.0
	if m.Joints[p.joint].Kind == linkage.Pin {
		unit = m.Scale
	}
	if math.Abs(p.over)*unit < reachMin {
		p.over = 0
	}
}

// passed reports whether a joint's coordinate has come to the end of its part.
func (p *party) passed(x float64) bool {
	return p.over != 0 && (p.end-x)*sign(p.over) <= nearEnd*math.Abs(p.over)
}

// stuck reports whether a run that has ended, in a jam or not, has left the party
// standing before it gave way.
func (p *party) stuck(jam bool) bool {
	switch {
	case p.done:
		return false
	case p.gate != nil:
		return jam || p.begun
	}
	return jam && (p.over != 0 || !p.begun)
}

// halfRun prepares a run over one half of the stroke with something blocked.
func (x *Model) halfRun(back bool, blocks ...block) (r *runner, to float64) {
	r = newRunner(newSolver(x, true, blocks))
	if r.back = back; !back {
		to = x.Mech.Travel
	}
	return r, to
}

// drives runs with the held element blocked and notes the largest resistance of
// each party. jam tells that it ended because nothing gave way any more.
func (x *Model) drives(held *party, while []*party, from []float64, back bool) (jam bool, err error) {
	r, to := x.halfRun(back, held.block())
	r.stop = func(r *runner) bool {
		last := r.last()
		all := true
		for _, p := range while {
			p.watch(r, last)
			all = all && p.done
		}
		held.done = held.gate != nil && r.gave(held.gate)
		r.arm(held)
		return all || held.done || last.Resistance() > jamForce
	}
	if err := r.begin(from, x.Mech.Coord(from, linkage.JointCoord(x.Mech.Drive))); err != nil {
		return false, err
	}
	r.arm(held)
	return r.jammed(r.run(to))
}

func (r *runner) last() *Sample { return &r.res.Samples[len(r.res.Samples)-1] }

// jammed forgives the failure of a run that has run into a wall: what has not
// given way by then does not.
func (r *runner) jammed(err error) (bool, error) {
	if r.ended(err) != nil {
		return true, nil
	}
	var settle *SettleError
	if errors.As(err, &settle) && settle.Residual > jamForce/10 {
		return true, nil
	}
	return false, err
}

// engaged reports whether a party is in reach to hold.
func (r *runner) engaged(p *party) bool {
	if p.gate == nil {
		return true
	}
	r.s.v.set(r.q)
	_, _, on := p.gate.Gate(&r.s.v)
	return on
}

// arm blocks the held element while it is engaged.
func (r *runner) arm(held *party) {
	on := r.engaged(held)
	held.begun = held.begun || on
	if b := &r.s.blocks[0]; b.on != on {
		b.on = on
		r.first = true // what it did is no guide to what comes
	}
}

// watch follows a party through the driving run.
func (p *party) watch(r *runner, s *Sample) {
	if p.done {
		return
	}
	active := false
	if p.gate != nil {
		active = r.engaged(p)
		p.begun = p.begun || active
		p.done = r.gave(p.gate)
		active = active || p.done
	} else {
		active = r.moves(p.joint)
		met := p.begun && r.met(p.joint)
		p.done = met || p.passed(r.s.mech.Coord(s.Q, linkage.JointCoord(p.joint)))
		p.begun = p.begun || active
		active = active && !met
	}
	if v := s.Resistance(); active && v > p.peak {
		p.peak, p.peakAt = v, s.S
		p.peakQ = append(p.peakQ[:0], s.Q...)
		p.limits = append(p.limits[:0], r.limits...)
	}
}

// moves reports whether a joint is in motion.
func (r *runner) moves(joint int) bool {
	for i, v := range r.rate {
		if r.s.x.rubs[i].joint == joint {
			return v > startRate
		}
	}
	return false
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
// the resistance at which the held element gives way, +Inf if it does not.
func (x *Model) holdsAt(held *party, while []*party, at *party, back bool) (float64, error) {
	var blocks []block
	for _, p := range while {
		b := p.block()
		b.on = true
		blocks = append(blocks, b)
	}
	r, to := x.halfRun(back, blocks...)
	peak, given := math.Inf(-1), false
	r.stop = func(r *runner) bool {
		held.begun = held.begun || r.engaged(held)
		if held.gate != nil {
			given = r.gave(held.gate)
		} else {
			given = r.moves(held.joint)
		}
		v := r.last().Resistance()
		if v > jamForce {
			return true
		}
		peak = max(peak, v)
		return given
	}
	copy(r.s.limits, at.limits)
	if err := r.begin(at.peakQ, at.peakAt); err != nil {
		return 0, err
	}
	if _, err := r.jammed(r.run(to)); err != nil {
		return 0, err
	}
	if !given {
		return math.Inf(1), nil
	}
	return peak, nil
}
