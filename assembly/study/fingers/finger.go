// Package fingers ties the studies to fingers: what a study's numbers do to a
// finger file, and what a finger's measures are.
//
//	finger.go    a design's measures, by the stroke alone or with every check
//	inputs.go    how printed copies differ
//	scatter.go   how often printed copies work
//	tune.go      dimensions that meet a file's goals within its limits
//	sweep.go     the variants of a sweep file
package fingers

import (
	"errors"
	"fmt"
	"math"

	"tuckfinger/assembly"
	"tuckfinger/assembly/check"
	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/assembly/study"
	"tuckfinger/params"
	"tuckfinger/params/finding"
	"tuckfinger/parts"
)

// measures converts a design's measures.
func measures(d *params.Design) []study.Measure {
	var out []study.Measure
	for _, m := range d.Measures() {
		out = append(out, study.Measure{Name: m.Name, Unit: m.Unit})
	}
	return out
}

// wants says which measures of a design are to be computed.
type wants struct {
	names []string
	// What they need.
	parts, rules, strains, drive, grasp, blade bool
}

func want(names []string) wants {
	w := wants{names: names}
	for _, n := range names {
		switch section := params.MeasureSection(n); section {
		case "order":
			w.rules = true
		case "ramps", "clips":
			w.strains = true
		case "motor":
			w.drive = true
		case "opening", "grip", "lift":
			w.grasp = true
		case "blade":
			w.parts, w.blade = true, true
		case "mass":
			w.parts = true
		}
	}
	return w
}

// known is what is known about a variant before it is measured.
type known struct {
	weights []stroke.Weight
	parts   []*parts.Part
}

// build makes a variant's parts and weighs them.
func build(d *params.Design) (known, error) {
	p, err := parts.Build(d)
	if err != nil {
		return known{}, err
	}
	return known{assembly.Weights(p), p}, nil
}

// measure computes the wanted measures from the stroke, which must be whole. A
// measure that is undetermined is NaN.
func (w *wants) measure(d *params.Design, k known) ([]float64, error) {
	a, err := w.analyse(d, k, true)
	if err != nil {
		return nil, err
	}
	return w.read(a)
}

// analyse computes what the wanted measures are read from. A stroke that is halted
// is an error where it must be whole; else it may leave no grasp to measure.
func (w *wants) analyse(d *params.Design, k known, whole bool) (*assembly.Analysis, error) {
	mech, err := linkage.New(d)
	if err != nil {
		return nil, fmt.Errorf("mechanism: %w", err)
	}
	model, err := stroke.With(mech, d, stroke.Options{Step: assembly.PoseStep, Weights: k.weights})
	if err != nil {
		return nil, err
	}
	a := &assembly.Analysis{Design: d, Parts: k.parts, Mechanism: mech}
	if a.Stroke, err = model.Run(); err == nil && whole {
		err = a.Stroke.Halted()
	}
	if err != nil {
		return nil, fmt.Errorf("stroke: %w", err)
	}
	if w.rules {
		if a.Rules, err = model.Rules(a.Stroke); err != nil {
			return nil, err
		}
	}
	if w.drive {
		if a.Drive, err = model.Drive(a.Stroke); err != nil {
			return nil, err
		}
	}
	if w.grasp && d.Grasp != nil {
		var settle *stroke.SettleError
		if a.Grasp, err = model.Grasp(a.Stroke); err != nil {
			a.Grasp = nil
			if a.Stroke.Halted() == nil || !errors.As(err, &settle) {
				return nil, fmt.Errorf("grasp: %w", err)
			}
		}
	}
	return a, nil
}

// read takes the wanted measures from an analysis.
func (w *wants) read(a *assembly.Analysis) ([]float64, error) {
	all := map[string]float64{}
	d := a.Design
	for _, r := range a.Rules {
		v := r.Margin
		if r.Verdict == stroke.Unclear {
			v = math.NaN()
		}
		all["order."+r.Name] = v
	}
	if w.strains {
		for _, s := range a.Stroke.Model.Strains(a.Stroke) {
			all[s.Kind+"s."+s.Element+".strain"] = 100 * s.Value
		}
	}
	all["slide.out"], all["slide.back"] = a.Stroke.Peak()
	if a.Drive != nil {
		all["motor"] = a.Drive.Rated / a.Drive.Peak
	}
	if g := a.Grasp; g != nil {
		all["opening"], all["grip"] = g.Widest, g.Loaded
		if d.Object != nil {
			all["lift"] = g.Capacity / d.Object.Mass
			if math.IsNaN(g.Loaded) {
				all["lift"] = 0
			}
		}
	}
	if w.blade {
		in := &check.Input{Design: d, Parts: a.Parts, Mechanism: a.Mechanism, Cycle: [][]linkage.Pose{a.Mechanism.Poses(nil, a.Mechanism.Start)}}
		r, ok, err := check.Blade(in)
		if err != nil {
			return nil, err
		}
		if all["blade"] = math.NaN(); ok {
			all["blade"] = r.High - r.Low
		}
	}
	if w.parts {
		for _, p := range a.Parts {
			volume, err := p.Layered.Volume()
			if err != nil {
				return nil, fmt.Errorf("mass of %s: %w", p.Name, err)
			}
			all["mass"] += p.Material.Mass(volume) * float64(p.Body.Print.Copies)
		}
	}
	out := make([]float64, len(w.names))
	for i, n := range w.names {
		v, ok := all[n]
		if !ok {
			v = math.NaN()
		}
		out[i] = v
	}
	return out, nil
}

// Stroke measures a design by its stroke, without the checks that need solids.
func Stroke(d *params.Design) ([]study.Measure, []float64, error) {
	m := measures(d)
	w := want(names(m))
	k, err := build(d)
	if err != nil {
		return m, nil, err
	}
	v, err := w.measure(d, k)
	return m, v, err
}

func names(m []study.Measure) []string {
	out := make([]string, len(m))
	for i := range m {
		out[i] = m[i].Name
	}
	return out
}

// examine runs every check of a variant.
func (w *wants) examine(d *params.Design) (study.Outcome, *assembly.Analysis) {
	a, err := assembly.Examine(d, nil)
	if err != nil {
		return study.Outcome{Err: short(err)}, nil
	}
	v, err := w.read(a)
	if err != nil {
		return study.Outcome{Err: err}, nil
	}
	o := study.Outcome{Measures: v}
	seen := map[string]bool{}
	for _, f := range a.Findings {
		if f.Status == finding.Fail && !seen[f.Check] {
			seen[f.Check] = true
			o.Failed = append(o.Failed, f.Check)
		}
	}
	return o, a
}

// short keeps of a list of input errors the first one, without its place: that
// names a file by its path, which differs between machines.
func short(err error) error {
	var list params.Errors
	if !errors.As(err, &list) || len(list) == 0 {
		return err
	}
	text := list[0].Path + ": " + list[0].Msg
	if len(list) > 1 {
		text += fmt.Sprintf(" (and %d more)", len(list)-1)
	}
	return errors.New(text)
}
