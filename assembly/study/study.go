// Package study tries a design many times. What is tried is a list of numbers
// (dimensions, clearances, friction), and what comes of it an Outcome; how the
// one follows from the other is the caller's Evaluate, in practice a stroke and
// its checks.
//
//	study/scatter   how often copies work that differ as printed parts do
//	study/tune      which dimensions meet goals within limits
//	study/sweep     every variant of a plan, over hours and machines
//	study/sample    the points to try
//	study/stats     how sure a result is
//	study/parallel  threads
package study

import (
	"fmt"
	"math"
	"slices"
)

// Measure is a number that Evaluate gives.
type Measure struct {
	Name string
	Unit string // "" for a pure number
}

// Outcome is what came of one try.
type Outcome struct {
	// Measures are the numbers, in the order of the study's measures. NaN is
	// undetermined: it meets no limit.
	Measures []float64
	// Failed names the checks that fail.
	Failed []string
	// Err says why there are no measures: a mechanism that does not close, say.
	Err error
}

// Evaluate tries one set of values. The same values must give the same outcome.
// It is called on several goroutines at once and must not change values.
type Evaluate func(values []float64) Outcome

// Try calls f and checks what it gives: it takes a panic, and a number of
// measures other than n, for an error of this try, so that one odd variant does
// not end a night's work.
func Try(f Evaluate, values []float64, n int) (o Outcome) {
	defer func() {
		if r := recover(); r != nil {
			o = Outcome{Err: fmt.Errorf("internal fault: %v", r)}
		}
	}()
	o = f(slices.Clone(values))
	if o.Err == nil && len(o.Measures) != n {
		return Outcome{Err: fmt.Errorf("internal fault: %d measures, want %d", len(o.Measures), n)}
	}
	return o
}

// Sense is the side on which a measure is good.
type Sense int

const (
	AtLeast Sense = iota // a measure must not be below, or is better high
	AtMost               // a measure must not be above, or is better low
)

func (s Sense) String() string {
	if s == AtMost {
		return "at most"
	}
	return "at least"
}

// Limit is a bound on a measure: an order margin of at least 1.5, a strain of
// at most 2 %.
type Limit struct {
	Name    string
	Measure int // index of the measure
	Sense   Sense
	Bound   float64 // in the measure's unit
	// Scale makes amounts of different measures comparable, in the measure's
	// unit; 0 means the bound's size, or 1 where the bound is 0.
	Scale float64
}

// Holds reports whether a value of the measure is within the limit.
func (l Limit) Holds(v float64) bool {
	if l.Sense == AtMost {
		return v <= l.Bound
	}
	return v >= l.Bound
}

// Slack is the distance of a value from the bound over the scale, negative
// where the limit does not hold, -Inf for an undetermined value.
func (l Limit) Slack(v float64) float64 {
	if math.IsNaN(v) {
		return math.Inf(-1)
	}
	d := v - l.Bound
	if l.Sense == AtMost {
		d = -d
	}
	if v == l.Bound { // also Inf - Inf
		d = 0
	}
	return d / l.scale()
}

func (l Limit) scale() float64 {
	switch {
	case l.Scale > 0:
		return l.Scale
	case l.Bound != 0:
		return math.Abs(l.Bound)
	}
	return 1
}

// Check says what is wrong with a limit of a study with n measures.
func (l Limit) Check(n int) error {
	switch {
	case l.Measure < 0 || l.Measure >= n:
		return fmt.Errorf("limit %s: there is no measure %d", l.Name, l.Measure)
	case math.IsNaN(l.Bound) || math.IsInf(l.Bound, 0):
		return fmt.Errorf("limit %s: the bound is %g; give a finite number", l.Name, l.Bound)
	case !(l.Scale >= 0) || math.IsInf(l.Scale, 0):
		return fmt.Errorf("limit %s: the scale is %g; give a finite number above 0", l.Name, l.Scale)
	}
	return nil
}

// Hold reports whether an outcome is within every limit.
func Hold(o Outcome, limits []Limit) bool {
	if o.Err != nil {
		return false
	}
	for _, l := range limits {
		if !l.Holds(o.Measures[l.Measure]) {
			return false
		}
	}
	return true
}

// WorstSlack is the smallest slack of an outcome, -Inf for an error.
func WorstSlack(o Outcome, limits []Limit) float64 {
	if o.Err != nil {
		return math.Inf(-1)
	}
	w := math.Inf(1)
	for _, l := range limits {
		w = min(w, l.Slack(o.Measures[l.Measure]))
	}
	return w
}
