package tune

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"tuckfinger/assembly/study"
	"tuckfinger/assembly/study/sample"
)

// A ramp of free force r holds against a clip of force N(20, 2): the smallest r
// that holds in 99 % of copies is the 99 % point, 20 + 2·2.3263.
func TestYieldIsReached(t *testing.T) {
	clip, err := sample.Normal(20, 2)
	if err != nil {
		t.Fatal(err)
	}
	one := func(free, copy []float64) study.Outcome {
		return study.Outcome{Measures: []float64{free[0] - copy[0], free[0]}}
	}
	margin := []study.Limit{{Name: "order", Measure: 0, Bound: 0}}
	const n = 1000
	f, err := Copies{Inputs: []sample.Dist{clip}, N: n, Seed: 1, Level: 0.99}.Evaluate(2, margin, one)
	if err != nil {
		t.Fatal(err)
	}
	r := tuned(t, Setup{
		Free:     []Free{{"ramp force", 10, 60, 50}},
		Measures: []study.Measure{{Name: "margin", Unit: "N"}, {Name: "ramp force", Unit: "N"}, Joint},
		Limits:   []study.Limit{{Name: "yield", Measure: 2, Bound: 0}},
		Goals:    []Goal{{Name: "ramp force", Measure: 1, Sense: study.AtMost}},
		Starts:   1, Budget: 150,
	}, f)
	// The standard error of the quantile is sqrt(p(1-p)/n)/density.
	z := distuv.UnitNormal.Quantile(0.99)
	se := 2 * math.Sqrt(.99*.01/n) / distuv.UnitNormal.Prob(z)
	near(t, "ramp force", r.Values[0], 20+2*z, 4*se)
	plan, err := sample.NewRandom(n, 1, 1)
	if err != nil {
		t.Fatal(err)
	}
	miss := 0
	for i := range n {
		if clip.Quantile(sample.Point(plan, i)[0]) > r.Values[0] {
			miss++
		}
	}
	if miss != n/100 {
		t.Errorf("%d copies miss, want exactly the %d allowed", miss, n/100)
	}
}

// Limits that each hold in 95 % of copies hold together in fewer; Joint sees it.
func TestJointYield(t *testing.T) {
	u, err := sample.Uniform(0, 1)
	if err != nil {
		t.Fatal(err)
	}
	limits := []study.Limit{{Name: "low", Measure: 0, Bound: 0.04}, {Name: "high", Measure: 1, Sense: study.AtMost, Bound: 0.96}}
	one := func(_, c []float64) study.Outcome { return study.Outcome{Measures: []float64{c[0], c[0], c[0]}} }
	for level, joint := range map[float64]bool{0.95: false, 0.9: true} {
		f, err := Copies{Inputs: []sample.Dist{u}, N: 10000, Level: level}.Evaluate(3, limits, one)
		if err != nil {
			t.Fatal(err)
		}
		o := f([]float64{0})
		if !study.Hold(o, limits) {
			t.Errorf("level %g: each limit holds, got %v", level, o.Measures)
		}
		if holds := o.Measures[3] >= 0; holds != joint {
			t.Errorf("level %g: both hold together: %v, want %v", level, holds, joint)
		}
		near(t, "bound from below", o.Measures[0], 1-level, 0.01)
		near(t, "bound from above", o.Measures[1], level, 0.01)
		near(t, "median", o.Measures[2], 0.5, 0.02)
	}
}

func TestCopiesThatFail(t *testing.T) {
	u, err := sample.Uniform(0, 1)
	if err != nil {
		t.Fatal(err)
	}
	limits := []study.Limit{{Name: "force", Measure: 0, Sense: study.AtMost, Bound: 10}}
	make := func(level, from float64) study.Outcome {
		f, err := Copies{Inputs: []sample.Dist{u}, N: 1000, Level: level}.Evaluate(1, limits, func(_, c []float64) study.Outcome {
			switch {
			case c[0] > from:
				return study.Outcome{Err: errors.New("does not close")}
			case c[0] > from/2:
				return study.Outcome{Measures: []float64{math.NaN()}}
			}
			return study.Outcome{Measures: []float64{5}}
		})
		if err != nil {
			t.Fatal(err)
		}
		return f(nil)
	}
	if o := make(1, 0.9); !math.IsInf(o.Measures[0], 1) || !math.IsInf(o.Measures[1], -1) {
		t.Errorf("worst case with failing copies: %v", o.Measures)
	}
	if o := make(0.3, 0.9); o.Measures[0] != 5 || o.Measures[1] != 0.5 {
		t.Errorf("30 %% of copies work: %v", o.Measures)
	}
	if o := make(1, 0); o.Err == nil || o.Err.Error() != "no copy could be evaluated: does not close" {
		t.Errorf("all fail: %v", o.Err)
	}
}

func TestImpossibleCopies(t *testing.T) {
	both := []study.Limit{{Name: "low"}, {Name: "high", Sense: study.AtMost}}
	for want, c := range map[string]struct {
		c      Copies
		limits []study.Limit
	}{
		"a share of 99 of 10 copies":                       {Copies{N: 10, Level: 99}, nil},
		"limit high: its measure has limits on both sides": {Copies{Inputs: []sample.Dist{sample.Fixed(1)}, N: 10, Level: 1}, both},
		"points of 0 dimensions":                           {Copies{N: 10, Level: 1}, nil},
	} {
		if _, err := c.c.Evaluate(1, c.limits, nil); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}
