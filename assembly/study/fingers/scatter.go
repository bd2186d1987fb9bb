package fingers

import (
	"context"
	"errors"
	"math"

	"tuckfinger/assembly/study"
	"tuckfinger/assembly/study/sample"
	"tuckfinger/assembly/study/scatter"
	"tuckfinger/params"
)

// ScatterOptions choose how much a scatter study looks at.
type ScatterOptions struct {
	N    int // copies
	Seed uint64
	// Margins: a rule holds where its margin is the one that the file asks for,
	// and not where it is 1.
	Margins bool
	// Base is that of scatter.Setup, -1 for about as many evaluations as copies.
	Base     int
	Workers  int
	Progress func(done, total int)
}

// Scattered is a finished scatter study of a finger.
type Scattered struct {
	*scatter.Result
	Inputs []Input
	Rules  []RuleStats // in the order of Result.Rules
	Worst  []float64   // values of the worst copy, by input: nominal and deviation
	// Margins is that of the options.
	Margins bool
}

// RuleStats is what a finger file adds to a rule's result.
type RuleStats struct {
	Margin  float64 // that the file asks for
	Reached float64 // share of copies that reach it
	Drawn   float64 // margin of the drawing itself, NaN if undetermined
}

// Scatter finds how often printed copies keep every order rule of the file: a
// rule is kept where its held element needs more force than what goes first, at
// the same instants (margin 1), or by the margin that the file asks for.
func Scatter(ctx context.Context, d *params.Design, o ScatterOptions) (*Scattered, error) {
	s, in, f, err := scatterSetup(d, o)
	if err != nil {
		return nil, err
	}
	r, err := scatter.Run(ctx, *s, f)
	if err != nil {
		return nil, err
	}
	out := &Scattered{Result: r, Inputs: in, Margins: o.Margins}
	drawn := study.Try(f, make([]float64, len(in)), len(s.Measures))
	for i := range d.Order.Names {
		st := RuleStats{Margin: d.Order.Values[i].Margin, Drawn: math.NaN()}
		if drawn.Err == nil {
			st.Drawn = drawn.Measures[i]
		}
		n := 0
		for _, m := range r.Margins[i] {
			if m >= st.Margin {
				n++
			}
		}
		st.Reached = float64(n) / float64(r.N)
		out.Rules = append(out.Rules, st)
	}
	if out.Worst, err = s.Copy(r.Worst); err != nil {
		return nil, err
	}
	for i := range in {
		out.Worst[i] += in[i].Nominal
	}
	return out, nil
}

// scatterSetup describes the study. An evaluation takes the deviations of the
// inputs.
func scatterSetup(d *params.Design, o ScatterOptions) (*scatter.Setup, []Input, study.Evaluate, error) {
	in, err := inputs(d)
	if err != nil {
		return nil, nil, nil, err
	}
	if d.Order.Len() == 0 {
		return nil, nil, nil, errors.New("the file has no order rules; add one or more under order")
	}
	if len(in) == 0 {
		return nil, nil, nil, errors.New("nothing scatters; give one or more dimensions a scatter")
	}
	s := &scatter.Setup{N: o.N, Seed: o.Seed, Base: o.Base, Workers: o.Workers, Progress: o.Progress}
	for i := range in {
		s.Inputs = append(s.Inputs, scatter.Input{Name: in[i].Name, Dist: in[i].Dist})
	}
	if s.Base < 0 {
		s.Base = 32
		for 2*s.Base*(len(in)+2) <= o.N {
			s.Base *= 2
		}
	}
	var list []string
	for i, name := range d.Order.Names {
		list = append(list, "order."+name)
		s.Measures = append(s.Measures, study.Measure{Name: list[i], Unit: "1"})
		bound := 1.0
		if o.Margins {
			bound = d.Order.Values[i].Margin
		}
		s.Rules = append(s.Rules, study.Limit{Name: name, Measure: i, Bound: bound})
	}
	k, err := build(d)
	if err != nil {
		return nil, nil, nil, err
	}
	w := want(list)
	return s, in, copyEvaluate(d, k, in, &w), nil
}

// copyEvaluate measures the copy that deviates by the values. Copies weigh what
// the drawing weighs: a hundredth of a millimetre more or less weighs nothing.
func copyEvaluate(d *params.Design, k known, in []Input, w *wants) study.Evaluate {
	return func(v []float64) study.Outcome {
		c, err := printed(d, in, v)
		if err != nil {
			return study.Outcome{Err: err}
		}
		m, err := w.measure(c, k)
		return study.Outcome{Measures: m, Err: err}
	}
}

// dists lists the distributions of inputs.
func dists(in []Input) []sample.Dist {
	out := make([]sample.Dist, len(in))
	for i := range in {
		out[i] = in[i].Dist
	}
	return out
}
