// Package tune looks for dimensions that meet goals within limits.
//
// A search runs CMA-ES from several places, then refines what it found with an
// augmented Lagrangian. Only values whose outcome is within every limit are a
// result. Where none are found, the error names a smallest set of limits that
// can't be met together, and how far each is from what can.
package tune

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"tuckfinger/assembly/study"
)

// Free is a dimension that may change.
type Free struct {
	Name      string
	Low, High float64 // bounds, both allowed
	Start     float64
}

// Goal is a measure that should be as high (study.AtLeast) or as low
// (study.AtMost) as it can.
type Goal struct {
	Name    string
	Measure int
	Sense   study.Sense
	Weight  float64 // against other goals; 0 means 1
	// Scale makes measures comparable, in the measure's unit; 0 means the
	// measure's size at the start, or 1 where it has none.
	Scale float64
}

// Setup describes what to tune.
type Setup struct {
	Free     []Free
	Measures []study.Measure
	Limits   []study.Limit
	// Goals are added up by weight. Without one, the smallest slack of all
	// limits is to be as large as it can.
	Goals   []Goal
	Seed    uint64
	Starts  int // of the global search; 0 means 4
	Budget  int // evaluations of each start; 0 means 150·(free dimensions + 3)
	Workers int // threads; 0 means one for each processor
}

// binding is the slack below which a limit or bound counts as binding.
const binding = 1e-3

// State is how a limit fared.
type State struct {
	study.Limit
	Value float64
	Slack float64 // see study.Limit
	Binds bool    // slack below 0.001: the goals would go beyond it if they could
}

// Bound is a free dimension that stands at the end of its range.
type Bound struct {
	Name string
	At   float64
	High bool
}

// Result is the best values found, within every limit.
type Result struct {
	Values      []float64
	Outcome     study.Outcome
	Limits      []State
	Bounds      []Bound
	Evaluations int
}

// Shortfall is a limit of a conflict.
type Shortfall struct {
	study.Limit
	// Attainable is the best found value of the limit's measure while the
	// conflict's other limits hold, Values are where, and Bounds are the
	// dimensions that stand at the end of their range there. NaN: none was
	// found.
	Attainable float64
	Values     []float64
	Bounds     []Bound
}

// Short is how far the attainable value is from the limit, in its unit.
func (s Shortfall) Short() float64 { return math.Abs(s.Bound - s.Attainable) }

// Infeasible is the error where no values within all limits were found. It is
// the outcome of a search, not a proof.
type Infeasible struct {
	Conflict    []Shortfall // limits that can't be met together; fewer could
	Nearest     []float64   // values with the smallest sum of violations
	Outcome     study.Outcome
	Evaluations int
	measures    []study.Measure
}

// Unit is the unit of a measure.
func (e *Infeasible) Unit(measure int) string { return e.measures[measure].Unit }

func (e *Infeasible) Error() string {
	var b strings.Builder
	if len(e.Conflict) == 1 {
		b.WriteString("one limit can't be met")
	} else {
		fmt.Fprintf(&b, "%d limits can't be met together", len(e.Conflict))
	}
	fmt.Fprintf(&b, " (in %d evaluations)", e.Evaluations)
	for i, s := range e.Conflict {
		sep := ";"
		if i == 0 {
			sep = ":"
		}
		unit := e.measures[s.Measure].Unit
		if unit != "" {
			unit = " " + unit
		}
		fmt.Fprintf(&b, "%s %s, %s %.6g%s, ", sep, s.Name, s.Sense, s.Bound, unit)
		if math.IsNaN(s.Attainable) {
			b.WriteString("could not be evaluated")
		} else {
			fmt.Fprintf(&b, "reaches %.6g%s", s.Attainable, unit)
			if len(e.Conflict) > 1 {
				b.WriteString(" while the rest hold")
			}
		}
		for j, at := range s.Bounds {
			sep := ", "
			if j == 0 {
				sep = " with "
			}
			fmt.Fprintf(&b, "%s%s at %.6g", sep, at.Name, at.At)
		}
	}
	return b.String()
}

func (s *Setup) check() error {
	var errs []error
	if len(s.Free) == 0 {
		errs = append(errs, errors.New("no dimension is free; name one or more, with bounds"))
	}
	for _, f := range s.Free {
		if !(f.Low < f.High) || math.IsInf(f.High-f.Low, 0) {
			errs = append(errs, fmt.Errorf("%s: bounds %g to %g; give finite bounds, the lower first", f.Name, f.Low, f.High))
		} else if !(f.Low <= f.Start && f.Start <= f.High) {
			errs = append(errs, fmt.Errorf("%s: the start %g is outside of %g to %g", f.Name, f.Start, f.Low, f.High))
		}
	}
	if len(s.Limits)+len(s.Goals) == 0 {
		errs = append(errs, errors.New("there is neither a goal nor a limit"))
	}
	for _, l := range s.Limits {
		errs = append(errs, l.Check(len(s.Measures)))
	}
	for _, g := range s.Goals {
		if g.Measure < 0 || g.Measure >= len(s.Measures) {
			errs = append(errs, fmt.Errorf("goal %s: there is no measure %d", g.Name, g.Measure))
		}
		if !(g.Weight >= 0 && g.Scale >= 0) || math.IsInf(g.Weight+g.Scale, 0) {
			errs = append(errs, fmt.Errorf("goal %s: weight %g, scale %g; give finite numbers above 0", g.Name, g.Weight, g.Scale))
		}
	}
	return errors.Join(errs...)
}

// Run tunes. The error is an *Infeasible where no values within all limits are
// found, the context's, or about the setup. The result does not depend on the
// number of threads.
func Run(ctx context.Context, s Setup, f study.Evaluate) (*Result, error) {
	if s.Starts <= 0 {
		s.Starts = 4
	}
	if s.Budget <= 0 {
		s.Budget = 150 * (len(s.Free) + 3)
	}
	if err := s.check(); err != nil {
		return nil, err
	}
	p := &problem{Setup: s, f: f}
	start := p.evaluate(p.start())
	best, err := p.search(ctx, query{limits: s.Limits, goal: p.aim(start.outcome), from: []point{start}})
	if err != nil {
		return nil, err
	}
	if best.outcome.Err != nil {
		return nil, fmt.Errorf("no values could be evaluated in %d tries; the start gives: %w", p.count.Load(), start.outcome.Err)
	}
	if !study.Hold(best.outcome, s.Limits) {
		e := &Infeasible{Nearest: p.values(best.u), Outcome: best.outcome, measures: s.Measures}
		found, err := (*point)(nil), error(nil)
		if e.Conflict, found, err = p.conflict(ctx, best); err != nil {
			return nil, err
		}
		if found == nil {
			e.Evaluations = int(p.count.Load())
			return nil, e
		}
		best = *found
	}
	r := &Result{Values: p.values(best.u), Outcome: best.outcome, Bounds: p.bounds(best.u), Evaluations: int(p.count.Load())}
	for _, l := range s.Limits {
		v := best.outcome.Measures[l.Measure]
		r.Limits = append(r.Limits, State{l, v, l.Slack(v), l.Slack(v) < binding})
	}
	return r, nil
}

// aim makes the goals one number, to be low, from outcomes without an error.
func (p *problem) aim(start study.Outcome) func(study.Outcome) float64 {
	if len(p.Goals) == 0 {
		return func(o study.Outcome) float64 { return -study.WorstSlack(o, p.Limits) }
	}
	type term struct {
		measure      int
		zero, factor float64
	}
	terms := make([]term, len(p.Goals))
	for i, g := range p.Goals {
		t := term{measure: g.Measure, factor: 1}
		scale := g.Scale
		if start.Err == nil {
			if v := math.Abs(start.Measures[g.Measure]); v > 0 && !math.IsInf(v, 0) {
				t.zero = start.Measures[g.Measure]
				if scale == 0 {
					scale = v
				}
			}
		}
		if g.Weight > 0 {
			t.factor = g.Weight
		}
		if scale > 0 {
			t.factor /= scale
		}
		if g.Sense == study.AtLeast {
			t.factor = -t.factor
		}
		terms[i] = t
	}
	return func(o study.Outcome) float64 {
		sum := 0.0
		for _, t := range terms {
			sum += (o.Measures[t.measure] - t.zero) * t.factor
		}
		return sum
	}
}
