package fingers

import (
	"math"
	"slices"
	"testing"
)

// A variant whose drive is blocked before the end of its travel fails, by its
// stroke alone as by every check, with the same measures: it can be computed.
func TestHaltedVariantFails(t *testing.T) {
	d := example(t, "rack-lifter", "travel: {value: 18.4", "travel: {value: 20", "tip_crank: {value: 7,", "tip_crank: {value: 6.5,")
	w := want(names(measures(d)))
	quick := w.strokeOnly(d)
	every, a := w.examine(d)
	if quick.Err != nil || every.Err != nil || a.Stroke.Halted() == nil {
		t.Fatalf("%v, %v, halted: %v", quick.Err, every.Err, a.Stroke.Halted())
	}
	slices.Sort(quick.Failed)
	slices.Sort(every.Failed)
	if want := []string{"order", "travel"}; !slices.Equal(quick.Failed, want) || !slices.Equal(every.Failed, want) {
		t.Errorf("fails %v by its stroke, %v by every check, want %v", quick.Failed, every.Failed, want)
	}
	for i, name := range w.names {
		if x, y := quick.Measures[i], every.Measures[i]; !(math.Abs(x-y) <= 1e-9*math.Abs(y) || math.IsNaN(x) && math.IsNaN(y) || x == y) {
			t.Errorf("%s is %g by the stroke, %g by every check", name, x, y)
		}
	}
	// Tuning and scatter need the whole stroke.
	k, err := build(d)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.measure(d, k); err == nil {
		t.Error("a halted stroke is measured as a whole one")
	}
}
