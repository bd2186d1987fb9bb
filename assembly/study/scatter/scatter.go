// Package scatter finds how often printed copies of a design work: clearances,
// friction, stiffness and sizes differ from copy to copy, and every copy must
// keep every rule.
package scatter

import (
	"context"
	"errors"
	"fmt"
	"math"

	"tuckfinger/assembly/study"
	"tuckfinger/assembly/study/parallel"
	"tuckfinger/assembly/study/sample"
	"tuckfinger/assembly/study/stats"
)

// Input is a number that differs between copies.
type Input struct {
	Name string
	Dist sample.Dist
}

// Setup describes a scatter study.
type Setup struct {
	Inputs   []Input
	Measures []study.Measure
	Rules    []study.Limit // what must hold in every copy
	N        int           // copies
	Seed     uint64
	// Base is the number of points of each matrix of the sensitivity indices,
	// best a power of two; it costs Base·(inputs + 2) more evaluations. 0: no
	// indices.
	Base       int
	Confidence float64               // of every interval; 0 means 0.95
	Workers    int                   // threads; 0 means one for each processor
	Progress   func(done, total int) // evaluations; may be nil; called on several goroutines
}

// Rule is how one rule fared.
type Rule struct {
	study.Limit
	Holds        int // copies in which it holds
	Share        float64
	Range        stats.Interval // Wilson interval of the share
	Undetermined int            // copies without a number for its measure
	Measure      stats.Summary  // distribution of its measure
}

// Output is what sensitivity indices are about: a rule's measure, or whether
// all rules hold.
type Output struct {
	Name    string
	Indices []stats.Index // by input; nil if the output does not vary
	Dropped int           // rows left out for want of a finite number
}

// AllHold is the name of the output that is 1 where every rule holds, else 0.
const AllHold = "all rules hold"

// Result is what a scatter study found.
type Result struct {
	N, Holds int
	Share    float64
	Range    stats.Interval // Wilson interval of the share
	Errors   int            // copies that could not be evaluated; they do not hold
	FirstErr string         // of the copy with the lowest number
	Rules    []Rule
	Outputs  []Output // empty if Base is 0
	// Worst is the copy that is farthest outside its limits, or nearest to
	// them; Setup.Copy gives its values.
	Worst int
	// Margins[r][i] is the measure of rule r in copy i, NaN for an error.
	Margins [][]float64
}

// quantiles are the ones that results give.
var quantiles = []float64{0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99}

func (s *Setup) check() error {
	var errs []error
	if len(s.Inputs) == 0 {
		errs = append(errs, errors.New("nothing scatters; give one or more dimensions a distribution"))
	}
	if len(s.Rules) == 0 {
		errs = append(errs, errors.New("there is no rule; give one or more that every copy must keep"))
	}
	for _, l := range s.Rules {
		errs = append(errs, l.Check(len(s.Measures)))
	}
	if s.N < 1 {
		errs = append(errs, fmt.Errorf("%d copies; give 1 or more", s.N))
	}
	if s.Base < 0 {
		errs = append(errs, fmt.Errorf("%d points for the indices; give 0 or more", s.Base))
	}
	return errors.Join(errs...)
}

// dists lists the distributions.
func (s *Setup) dists() []sample.Dist {
	d := make([]sample.Dist, len(s.Inputs))
	for i, in := range s.Inputs {
		d[i] = in.Dist
	}
	return d
}

// copies is the plan of the copies. They are independent, as a Wilson interval
// wants them.
func (s *Setup) copies() (sample.Plan, error) {
	r, err := sample.NewRandom(s.N, len(s.Inputs), sample.Seed(s.Seed, 0))
	if err != nil {
		return nil, err
	}
	return sample.Transform(r, s.dists())
}

// Copy gives the values of copy i.
func (s *Setup) Copy(i int) ([]float64, error) {
	p, err := s.copies()
	if err != nil {
		return nil, err
	}
	return sample.Point(p, i), nil
}

// Run evaluates all copies. The result depends on the setup and the seed, never
// on the number of threads. The error is about the setup or is the context's; a
// copy that can't be evaluated is counted in the result.
func Run(ctx context.Context, s Setup, f study.Evaluate) (*Result, error) {
	if s.Confidence == 0 {
		s.Confidence = 0.95
	}
	if err := s.check(); err != nil {
		return nil, err
	}
	design, err := stats.NewDesign(s.Base, len(s.Inputs), sample.Seed(s.Seed, 1))
	if err != nil {
		return nil, err
	}
	copies, err := s.copies()
	if err != nil {
		return nil, err
	}
	total := s.N + design.Len()
	outcomes, err := s.evaluate(ctx, copies, f, total, 0)
	if err != nil {
		return nil, err
	}
	r, err := s.summarise(outcomes)
	if err != nil || s.Base == 0 {
		return r, err
	}
	runs, err := sample.Transform(design, s.dists())
	if err != nil {
		return nil, err
	}
	if outcomes, err = s.evaluate(ctx, runs, f, total, s.N); err != nil {
		return nil, err
	}
	r.Outputs, err = s.indices(ctx, design, outcomes)
	return r, err
}

// evaluate tries every point of a plan.
func (s *Setup) evaluate(ctx context.Context, p sample.Plan, f study.Evaluate, total, before int) ([]study.Outcome, error) {
	out := make([]study.Outcome, p.Len())
	count := counter{f: s.Progress, done: before, total: total}
	err := parallel.Map(ctx, p.Len(), s.Workers, func(i int) error {
		out[i] = study.Try(f, sample.Point(p, i), len(s.Measures))
		count.add()
		return nil
	})
	return out, err
}

// margins lists a rule's measure in every outcome.
func margins(l study.Limit, outcomes []study.Outcome) []float64 {
	m := make([]float64, len(outcomes))
	for i, o := range outcomes {
		m[i] = math.NaN()
		if o.Err == nil {
			m[i] = o.Measures[l.Measure]
		}
	}
	return m
}

// summarise counts what holds.
func (s *Setup) summarise(outcomes []study.Outcome) (*Result, error) {
	r := &Result{N: s.N, Rules: make([]Rule, len(s.Rules))}
	worst := math.Inf(1)
	for i, o := range outcomes {
		if study.Hold(o, s.Rules) {
			r.Holds++
		}
		if w := study.WorstSlack(o, s.Rules); w < worst {
			worst, r.Worst = w, i
		}
		if o.Err != nil {
			if r.Errors == 0 {
				r.FirstErr = o.Err.Error()
			}
			r.Errors++
		}
	}
	var err error
	r.Share = float64(r.Holds) / float64(s.N)
	if r.Range, err = stats.Wilson(r.Holds, s.N, s.Confidence); err != nil {
		return nil, err
	}
	for k, l := range s.Rules {
		m := margins(l, outcomes)
		rule := Rule{Limit: l}
		for _, v := range m {
			if l.Holds(v) {
				rule.Holds++
			}
		}
		rule.Share = float64(rule.Holds) / float64(s.N)
		if rule.Range, err = stats.Wilson(rule.Holds, s.N, s.Confidence); err != nil {
			return nil, err
		}
		if rule.Measure, err = stats.Summarise(m, quantiles, s.Confidence); err != nil {
			return nil, err
		}
		rule.Undetermined = rule.Measure.NaN
		r.Rules[k], r.Margins = rule, append(r.Margins, m)
	}
	return r, nil
}

// indices finds which input drives each rule's measure and whether all hold.
func (s *Setup) indices(ctx context.Context, d *stats.Design, outcomes []study.Outcome) ([]Output, error) {
	out := make([]Output, len(s.Rules)+1)
	err := parallel.Map(ctx, len(out), s.Workers, func(k int) error {
		var y []float64
		if k < len(s.Rules) {
			out[k].Name = s.Rules[k].Name
			y = margins(s.Rules[k], outcomes)
		} else {
			out[k].Name = AllHold
			y = make([]float64, len(outcomes))
			for i, o := range outcomes {
				if study.Hold(o, s.Rules) {
					y[i] = 1
				}
			}
		}
		var err error
		out[k].Indices, out[k].Dropped, err = d.Indices(y, s.Confidence, sample.Seed(s.Seed, 2+k))
		if errors.Is(err, stats.ErrConstant) {
			return nil
		}
		return err
	})
	return out, err
}
