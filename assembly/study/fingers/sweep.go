package fingers

import (
	"fmt"

	"tuckfinger/assembly"
	"tuckfinger/assembly/study"
	"tuckfinger/assembly/study/sample"
	"tuckfinger/assembly/study/sweep"
	"tuckfinger/params"
)

// Plan makes the plan of a sweep file, with the names of its dimensions.
func Plan(s *params.Sweep) (sample.Plan, []string, error) {
	switch {
	case s.Grid != nil:
		var axes [][]float64
		for i, name := range s.Grid.Names {
			a := s.Grid.Values[i]
			if a.Count != nil {
				v, err := sample.Range(*a.From, *a.To, *a.Count)
				if err != nil {
					return nil, nil, fmt.Errorf("grid.%s: %w", name, err)
				}
				a.Values = v
			}
			axes = append(axes, a.Values)
		}
		p, err := sample.NewGrid(axes...)
		return p, s.Grid.Names, err
	case s.List != nil:
		rows := make([][]float64, len(s.List.Values[0]))
		for i := range rows {
			for _, column := range s.List.Values {
				rows[i] = append(rows[i], column[i])
			}
		}
		p, err := sample.NewList(len(s.List.Names), rows)
		return p, s.List.Names, err
	case s.Latin != nil:
		seed := uint64(1)
		if s.Latin.Seed != nil {
			seed = uint64(*s.Latin.Seed)
		}
		p, err := sample.NewLatin(s.Latin.Count, s.Latin.Over.Len(), seed)
		if err != nil {
			return nil, nil, fmt.Errorf("latin: %w", err)
		}
		return over(p, &s.Latin.Over, "latin")
	}
	p, err := sample.NewSobol(s.Sobol.Count, s.Sobol.Over.Len())
	if err != nil {
		return nil, nil, fmt.Errorf("sobol: %w", err)
	}
	if s.Sobol.Seed != nil {
		p = p.Shift(uint64(*s.Sobol.Seed))
	}
	return over(p, &s.Sobol.Over, "sobol")
}

// over stretches a plan of the unit cube over the bounds of dimensions.
func over(p sample.Plan, bounds *params.Named[params.Free], at string) (sample.Plan, []string, error) {
	var dists []sample.Dist
	for i, name := range bounds.Names {
		b := &bounds.Values[i]
		d, err := sample.Uniform(*b.Low, *b.High)
		if err != nil {
			return nil, nil, fmt.Errorf("%s.over.%s: %w", at, name, err)
		}
		dists = append(dists, d)
	}
	t, err := sample.Transform(p, dists)
	return t, bounds.Names, err
}

// Sweep describes the run of a sweep file; Workers, Shard and Progress are left
// to the caller. version stands for the program and its options in the journal's
// ID: another version may come to other results. passed is called with each
// variant that fails no check and may be nil; it needs the file to ask for all
// checks. What it returns is the variant's error.
func Sweep(s *params.Sweep, version string, passed func(index int, a *assembly.Analysis) error) (sweep.Setup, error) {
	p, dims, err := Plan(s)
	if err != nil {
		return sweep.Setup{}, err
	}
	m := measures(s.Design)
	w := want(names(m))
	return sweep.Setup{Plan: p, Names: dims, Measures: m, ID: s.ID + " " + version, Each: func(index int) study.Evaluate {
		return func(v []float64) study.Outcome {
			d, err := Variant(s, dims, v)
			if err != nil {
				return study.Outcome{Err: err}
			}
			if s.Checks == "stroke" {
				return w.strokeOnly(d)
			}
			o, a := w.examine(d)
			if o.Err == nil && len(o.Failed) == 0 && passed != nil {
				d.Text = text(s.Design.Text, dims, v)
				if err := passed(index, a); err != nil {
					return study.Outcome{Err: err}
				}
			}
			return o
		}
	}}, nil
}

// text is a variant's own finger file, or the sweep's where a dimension is not
// written as a plain number.
func text(file []byte, names []string, values []float64) []byte {
	out := file
	for i, n := range names {
		var err error
		if out, err = params.SetDimension(out, n, values[i]); err != nil {
			return file
		}
	}
	return out
}

// Variant gives the design of one variant.
func Variant(s *params.Sweep, names []string, values []float64) (*params.Design, error) {
	set := make(map[string]float64, len(names))
	for i, n := range names {
		set[n] = values[i]
	}
	d, err := s.Design.With(set)
	if err != nil {
		return nil, short(err)
	}
	return d, nil
}

// strokeOnly measures a variant and judges what its stroke alone can fail.
func (w *wants) strokeOnly(d *params.Design) study.Outcome {
	k, err := build(d)
	if err != nil {
		return study.Outcome{Err: short(err)}
	}
	a, err := w.analyse(d, k, false)
	if err != nil {
		return study.Outcome{Err: err}
	}
	m, err := w.read(a)
	if err != nil {
		return study.Outcome{Err: err}
	}
	o := study.Outcome{Measures: m}
	if a.Stroke.Halted() != nil {
		o.Failed = append(o.Failed, "travel")
	}
	value := func(name string) float64 {
		for i, n := range w.names {
			if n == name {
				return m[i]
			}
		}
		return 0
	}
	plain := *d
	plain.Tune = nil
	p := &plan{d: &plain}
	p.always()
	seen := map[string]bool{}
	for _, l := range p.onDrawing {
		if check := judged(l.Name); !l.Holds(value(l.Name)) && !seen[check] {
			seen[check] = true
			o.Failed = append(o.Failed, check)
		}
	}
	return o
}

// judged is the name of the check that judges a measure.
func judged(measure string) string {
	switch params.MeasureSection(measure) {
	case "ramps":
		return "rail strain"
	case "clips":
		return "arm strain"
	}
	return params.MeasureSection(measure)
}
