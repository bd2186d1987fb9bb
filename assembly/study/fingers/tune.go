package fingers

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync/atomic"

	"tuckfinger/assembly/study"
	"tuckfinger/assembly/study/tune"
	"tuckfinger/params"
)

// TuneOptions choose how long tuning looks.
type TuneOptions struct {
	Seed     uint64
	Starts   int // see tune.Setup; 0 with copies begins once, where the drawing is best
	Budget   int
	Workers  int
	Progress func(tries int) // may be nil; called on several goroutines
}

// Tuned is a finished tuning of a finger.
type Tuned struct {
	*tune.Result
	Setup  *tune.Setup
	Before []float64      // the free dimensions before, in the order of Setup.Free
	Values []float64      // and after, rounded so that they can be typed
	Design *params.Design // with these
}

// Tune looks for values of the free dimensions that meet the goals of the
// file's section tune within its limits. Every order rule with its margin and
// the strain of every rail and arm are limits too. The error is a
// *tune.Infeasible where nothing within all limits was found.
func Tune(ctx context.Context, d *params.Design, o TuneOptions) (*Tuned, error) {
	p, err := tunePlan(d, o)
	if err != nil {
		return nil, err
	}
	t := &Tuned{Setup: p.s}
	for i := range p.s.Free {
		t.Before = append(t.Before, p.s.Free[i].Start)
	}
	if d.Tune.Copies != nil && o.Starts == 0 {
		if err := p.near(ctx, o); err != nil {
			return nil, err
		}
	}
	// Most of a try would be the making of parts, only to weigh them. The search
	// lets variants weigh what the drawing weighs; its result is weighed. Where
	// that is too much for a limit that binds, it searches again with more room,
	// and in the end with every variant weighed.
	for _, try := range []struct {
		exact bool
		room  float64
	}{{false, 0}, {false, 0.005}, {true, 0}} {
		s := *p.s
		s.Limits = tightened(s.Limits, try.room)
		if t.Result, err = tune.Run(ctx, s, p.evaluation(try.exact)); err != nil {
			var conflict *tune.Infeasible
			if try.room > 0 && errors.As(err, &conflict) {
				continue
			}
			return nil, err
		}
		if t.round(p.evaluation(true)) {
			t.Design, err = d.With(dimensions(p.s.Free, t.Values))
			return t, err
		}
	}
	return nil, errors.New("internal fault: the result does not repeat")
}

// near lets the search for copies begin once, where the drawing alone is best,
// instead of from several places: a try with copies takes many times as long.
func (p *plan) near(ctx context.Context, o TuneOptions) error {
	alone, section := *p.d, *p.d.Tune
	section.Copies, alone.Tune = nil, &section
	if tell := o.Progress; tell != nil {
		o.Progress = func(int) { tell(int(p.tries.Add(1))) }
	}
	r, err := Tune(ctx, &alone, o)
	var conflict *tune.Infeasible
	if errors.As(err, &conflict) {
		return nil // which limits conflict is for the whole search to say
	}
	if err != nil {
		return err
	}
	for i, v := range r.Values {
		p.s.Free[i].Start = v
	}
	p.s.Starts = 1
	return nil
}

// tightened moves bounds inwards by a share of their scale.
func tightened(limits []study.Limit, room float64) []study.Limit {
	out := slices.Clone(limits)
	for i := range out {
		l := &out[i]
		by := room * math.Abs(l.Bound)
		if l.Sense == study.AtMost {
			by = -by
		}
		if l.Scale == 0 {
			l.Scale = math.Abs(l.Bound)
		}
		l.Bound += by
	}
	return out
}

// dimensions names values of free dimensions.
func dimensions(free []tune.Free, v []float64) map[string]float64 {
	out := make(map[string]float64, len(v))
	for i := range free {
		out[free[i].Name] = v[i]
	}
	return out
}

// binds is the slack, as a share of the bound, below which a limit counts as
// binding: the forces of a stroke are good to about half of that.
const binds = 0.01

// round shortens the values as far as they stay within all limits, and measures
// the shortened ones. Values that drawings and printers can tell apart need
// three decimals. It reports whether any are within all limits.
func (t *Tuned) round(f study.Evaluate) bool {
	for digits := 3; digits <= 12; digits++ {
		v := slices.Clone(t.Result.Values)
		unit := math.Pow(10, float64(digits))
		for i := range v {
			free := t.Setup.Free[i]
			if r := math.Round(v[i]*unit) / unit; digits < 12 && r >= free.Low && r <= free.High {
				v[i] = r
			}
		}
		o := study.Try(f, v, len(t.Setup.Measures))
		if !study.Hold(o, t.Setup.Limits) {
			continue
		}
		t.Values, t.Outcome = v, o
		for i, l := range t.Setup.Limits {
			m := o.Measures[l.Measure]
			slack := l.Slack(m)
			t.Limits[i] = tune.State{Limit: l, Value: m, Slack: slack, Binds: slack < binds}
		}
		return true
	}
	return false
}

// tunePlan describes what a file asks for.
func tunePlan(d *params.Design, o TuneOptions) (*plan, error) {
	in := d.Tune
	if in == nil {
		return nil, errors.New("the file has no section tune; name the free dimensions, goals and limits there")
	}
	s := &tune.Setup{Seed: o.Seed, Starts: o.Starts, Budget: o.Budget, Workers: o.Workers}
	for i, name := range in.Free.Names {
		b := &in.Free.Values[i]
		s.Free = append(s.Free, tune.Free{Name: name, Low: *b.Low, High: *b.High, Start: d.Dimensions.Get(name).Value})
	}
	p := &plan{d: d, s: s, unit: map[string]string{}, progress: o.Progress}
	for _, m := range d.Measures() {
		p.unit[m.Name] = m.Unit
	}
	p.limits()
	return p, p.setup()
}

// plan puts limits and goals together. Each has a measure of its own: with
// copies, a measure at a limit is that of the copies which just keep to it.
type plan struct {
	d    *params.Design
	s    *tune.Setup
	unit map[string]string
	// drawn and copied are the measures of the drawing and of the copies by
	// name; s.Measures lists the copies' first, then the joint slack, then those
	// of the drawing.
	drawn, copied             []string
	onCopies, onDrawing, goal []study.Limit

	inputs   []Input
	weighed  known // the drawing
	tries    atomic.Int64
	progress func(int)
}

// limits gathers the limits and goals of the section tune, and the limits that
// a file always has.
func (p *plan) limits() {
	in := p.d.Tune
	for _, l := range in.Limits {
		limit := study.Limit{Name: l.Measure}
		if l.AtLeast != nil {
			limit.Bound = *l.AtLeast
		} else {
			limit.Bound, limit.Sense = *l.AtMost, study.AtMost
		}
		p.add(limit, in.Copies != nil)
	}
	p.always()
	for _, g := range in.Goals {
		sense := study.AtLeast
		if g.Aim == "low" {
			sense = study.AtMost
		}
		p.goal = append(p.goal, study.Limit{Name: g.Measure, Sense: sense})
	}
}

// always gathers the limits that are there without being asked for: the margins
// of order rules and the strain of rails and arms, unless the section tune
// limits them itself. Copies must keep the order, if not the margin.
func (p *plan) always() {
	d := p.d
	copies := d.Tune != nil && d.Tune.Copies != nil
	named := func(l study.Limit) bool {
		same := func(o study.Limit) bool { return o.Name == l.Name && o.Sense == l.Sense }
		return slices.ContainsFunc(p.onCopies, same) || slices.ContainsFunc(p.onDrawing, same)
	}
	for i, name := range d.Order.Names {
		l := study.Limit{Name: "order." + name, Bound: d.Order.Values[i].Margin}
		if named(l) {
			continue
		}
		p.add(l, false)
		if l.Bound = 1; copies {
			p.add(l, true)
		}
	}
	strain := func(name, override string, allowed float64) {
		l := study.Limit{Name: name, Bound: 100 * allowed, Sense: study.AtMost}
		if o := d.Limits.Get(override); o != nil {
			l.Bound = o.Value
		}
		if !named(l) {
			p.add(l, copies)
		}
	}
	for i, name := range d.Ramps.Names {
		on := d.Joints.Get(d.Ramps.Values[i].Slot).Slot.On
		strain("ramps."+name+".strain", "rail strain", d.Material(on).Strain.Allowable(true, false))
	}
	for i, name := range d.Clips.Names {
		strain("clips."+name+".strain", "arm strain", d.Material(d.Clips.Values[i].Arm.Body).Strain.Allowable(true, false))
	}
}

func (p *plan) add(l study.Limit, copies bool) {
	if copies {
		l.Measure = len(p.copied)
		p.copied = append(p.copied, l.Name)
		p.onCopies = append(p.onCopies, l)
		return
	}
	l.Measure = len(p.drawn)
	p.drawn = append(p.drawn, l.Name)
	p.onDrawing = append(p.onDrawing, l)
}

// setup completes the setup by measures, limits and goals.
func (p *plan) setup() error {
	in, s := p.d.Tune, p.s
	measure := func(name, of string) {
		m := study.Measure{Name: name + of, Unit: p.unit[name]}
		if m.Unit == "1" {
			m.Unit = ""
		}
		s.Measures = append(s.Measures, m)
	}
	var goals []string
	for _, g := range p.goal {
		goals = append(goals, g.Name)
	}
	first := 0 // index of the drawing's measures
	of := len(p.onDrawing)
	if in.Copies == nil {
		p.drawn = append(p.drawn, goals...)
	} else {
		share := fmt.Sprintf(", %.4g %% of copies", 100*in.Copies.Share)
		if in.Copies.Share == 1 {
			share = ", every copy"
		}
		of = len(p.onCopies)
		p.copied = append(p.copied, goals...)
		for _, name := range p.copied {
			measure(name, share)
		}
		s.Measures = append(s.Measures, tune.Joint)
		for i := range p.onCopies {
			p.onCopies[i].Name += share
		}
		s.Limits = append(s.Limits, p.onCopies...)
		s.Limits = append(s.Limits, study.Limit{Name: "all of these in the same copies", Measure: len(p.copied), Scale: 1})
		first = len(s.Measures)
	}
	for _, name := range p.drawn {
		measure(name, "")
	}
	for _, l := range p.onDrawing {
		l.Measure += first
		s.Limits = append(s.Limits, l)
	}
	for i, g := range p.goal {
		s.Goals = append(s.Goals, tune.Goal{Name: g.Name, Measure: of + i, Sense: g.Sense, Weight: in.Goals[i].Weight})
	}
	var err error
	if in.Copies != nil {
		if p.inputs, err = inputs(p.d); err != nil {
			return err
		}
		if len(p.inputs) == 0 {
			return errors.New("tune.copies: nothing scatters; give one or more dimensions a scatter")
		}
	}
	p.weighed, err = build(p.d)
	return err
}

// evaluation measures variants. Without exact they weigh what the drawing
// weighs, unless their parts are needed anyway.
func (p *plan) evaluation(exact bool) study.Evaluate {
	drawn, copied := want(p.drawn), want(p.copied)
	return func(v []float64) study.Outcome {
		if n := p.tries.Add(1); p.progress != nil {
			p.progress(int(n))
		}
		d, err := p.d.With(dimensions(p.s.Free, v))
		if err != nil {
			return study.Outcome{Err: short(err)}
		}
		k := known{weights: p.weighed.weights}
		if exact || drawn.parts || copied.parts {
			if k, err = build(d); err != nil {
				return study.Outcome{Err: short(err)}
			}
		}
		m, err := drawn.measure(d, k)
		if err != nil || p.d.Tune.Copies == nil {
			return study.Outcome{Measures: m, Err: err}
		}
		o := p.copies(d, k, copied, v)
		if o.Err == nil {
			o.Measures = append(o.Measures, m...)
		}
		return o
	}
}

// copies measures the printed copies of a variant.
func (p *plan) copies(d *params.Design, k known, copied wants, v []float64) study.Outcome {
	in := p.d.Tune.Copies
	c := tune.Copies{Inputs: dists(p.inputs), N: in.Count, Seed: uint64(in.Seed), Level: in.Share}
	one := copyEvaluate(d, k, p.inputs, &copied)
	all, err := c.Evaluate(len(p.copied), p.onCopies, func(_, copy []float64) study.Outcome {
		return study.Try(one, copy, len(p.copied))
	})
	if err != nil {
		return study.Outcome{Err: err}
	}
	return all(v)
}
