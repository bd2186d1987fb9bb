package tune

import (
	"fmt"
	"math"
	"slices"

	"tuckfinger/assembly/study"
	"tuckfinger/assembly/study/sample"
)

// Copies makes a design answer for its printed copies: each evaluation tries
// the same N copies, so that designs compare without chance.
type Copies struct {
	Inputs []sample.Dist // what differs between copies
	N      int
	Seed   uint64
	// Level is the share of copies that must hold; 1 is the worst case of the
	// N copies.
	Level float64
}

// Joint is the measure that Evaluate adds: at least 0 where every limit holds
// in a share of at least Level of the copies, all limits in the same copies.
var Joint = study.Measure{Name: "slack of all limits"}

// Evaluate turns an evaluation of one copy into one of all of them. A measure
// with a limit becomes the value that a share Level of copies keep to, a
// measure without one its median, and Joint comes last. A measure may have
// limits on one side only. A copy with an error counts as keeping to nothing.
func (c Copies) Evaluate(measures int, limits []study.Limit, f func(free, copy []float64) study.Outcome) (study.Evaluate, error) {
	if !(c.Level > 0 && c.Level <= 1) || c.N < 1 {
		return nil, fmt.Errorf("a share of %g of %d copies; give a share above 0, at most 1, and one copy or more", c.Level, c.N)
	}
	sense := make(map[int]study.Sense)
	for _, l := range limits {
		if err := l.Check(measures); err != nil {
			return nil, err
		}
		if s, ok := sense[l.Measure]; ok && s != l.Sense {
			return nil, fmt.Errorf("limit %s: its measure has limits on both sides; give the measure twice", l.Name)
		}
		sense[l.Measure] = l.Sense
	}
	random, err := sample.NewRandom(c.N, len(c.Inputs), c.Seed)
	if err != nil {
		return nil, err
	}
	plan, err := sample.Transform(random, c.Inputs)
	if err != nil {
		return nil, err
	}
	// At most this many copies may miss.
	miss := int(math.Floor((1-c.Level)*float64(c.N) + 1e-9))
	return func(free []float64) study.Outcome {
		all := make([][]float64, measures)
		var joint []float64
		var last error
		failed := 0
		for i := range c.N {
			o := f(free, sample.Point(plan, i))
			joint = append(joint, study.WorstSlack(o, limits))
			if o.Err != nil {
				failed++
				last = o.Err
			}
			for m := range all {
				v := math.NaN()
				if o.Err == nil {
					v = o.Measures[m]
				}
				if s, limited := sense[m]; limited && math.IsNaN(v) {
					v = math.Inf(-1)
					if s == study.AtMost {
						v = math.Inf(1)
					}
				}
				all[m] = append(all[m], v)
			}
		}
		if failed == c.N {
			return study.Outcome{Err: fmt.Errorf("no copy could be evaluated: %w", last)}
		}
		out := study.Outcome{Measures: make([]float64, measures+1)}
		for m, v := range all {
			slices.Sort(v) // NaN first
			switch s, limited := sense[m]; {
			case !limited:
				out.Measures[m] = v[c.N/2]
			case s == study.AtMost:
				out.Measures[m] = v[c.N-1-miss]
			default:
				out.Measures[m] = v[miss]
			}
		}
		slices.Sort(joint)
		out.Measures[measures] = joint[miss]
		return out
	}, nil
}
