package study

import (
	"errors"
	"math"
	"strings"
	"testing"
)

func TestSlackAgreesWithHolds(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	low, high := Limit{Bound: 2}, Limit{Bound: 4, Sense: AtMost}
	zero, scaled := Limit{}, Limit{Bound: 2, Scale: 10}
	for _, c := range []struct {
		l    Limit
		v    float64
		want float64
	}{
		{low, 3, 0.5}, {low, 2, 0}, {low, 1, -0.5}, {low, inf, inf}, {low, -inf, -inf}, {low, nan, -inf},
		{high, 3, 0.25}, {high, 4, 0}, {high, 5, -0.25}, {high, inf, -inf}, {high, -inf, inf}, {high, nan, -inf},
		{zero, 3, 3}, {zero, -3, -3}, {scaled, 3, 0.1}, {scaled, 1, -0.1},
	} {
		if got := c.l.Slack(c.v); got != c.want {
			t.Errorf("%v %g: slack of %g is %g, want %g", c.l.Sense, c.l.Bound, c.v, got, c.want)
		}
		if c.l.Holds(c.v) != (c.want >= 0) {
			t.Errorf("%v %g: Holds(%g) is %v", c.l.Sense, c.l.Bound, c.v, c.l.Holds(c.v))
		}
	}
}

func TestTryCatchesFaults(t *testing.T) {
	given := []float64{1}
	for want, f := range map[string]Evaluate{
		"does not close":                     func([]float64) Outcome { return Outcome{Err: errors.New("does not close")} },
		"internal fault: odd":                func([]float64) Outcome { panic("odd") },
		"internal fault: 1 measures, want 2": func(v []float64) Outcome { v[0] = 9; return Outcome{Measures: v} },
	} {
		o := Try(f, given, 2)
		if o.Err == nil || o.Err.Error() != want {
			t.Errorf("got %v, want %s", o.Err, want)
		}
		if Hold(o, nil) || !math.IsInf(WorstSlack(o, nil), -1) {
			t.Errorf("%s: an error holds", want)
		}
	}
	if given[0] != 1 {
		t.Error("the caller's values were changed")
	}
}

func TestLimitsAreChecked(t *testing.T) {
	for want, l := range map[string]Limit{
		"there is no measure 2": {Measure: 2},
		"the bound is NaN":      {Bound: math.NaN()},
		"the scale is -1":       {Scale: -1},
	} {
		if err := l.Check(2); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %s", err, want)
		}
	}
	if err := (Limit{Measure: 1, Bound: 3}).Check(2); err != nil {
		t.Error(err)
	}
}
