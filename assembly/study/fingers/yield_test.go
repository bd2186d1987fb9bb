package fingers

import (
	"testing"

	"tuckfinger/assembly/study/stats"
)

// A rail that is too thin loses the order in many printed copies; tuned, the finger
// keeps it in 99 of 100 or more, and the difference is beyond what so few copies can
// show by chance.
func TestTunedFingerKeepsItsOrder(t *testing.T) {
	if testing.Short() {
		t.Skip("hundreds of strokes")
	}
	t.Parallel()
	const copies = 200
	thin, err := tuned(t, `
  free: {rail: {low: 0.9, high: 1.6}, arm: {low: 1.1, high: 1.6}}
  limits: [{measure: slide.back, at_most: 25}]`).With(map[string]float64{"rail": 0.97})
	if err != nil {
		t.Fatal(err)
	}
	r, err := Tune(t.Context(), thin, TuneOptions{Seed: 1, Starts: 1, Budget: 40})
	if err != nil {
		t.Fatal(err)
	}
	o := ScatterOptions{N: copies, Seed: 1}
	before, err := Scatter(t.Context(), thin, o)
	if err != nil {
		t.Fatal(err)
	}
	after, err := Scatter(t.Context(), r.Design, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d of %d copies keep their order, tuned %d (rail, arm %.3f)", before.Holds, copies, after.Holds, r.Values)
	if after.Share < 0.99 || before.Range.High >= after.Range.Low {
		t.Errorf("order kept in %.3f (%v), tuned in %.3f (%v)", before.Share, before.Range, after.Share, after.Range)
	}
	if w, err := stats.Wilson(after.Holds, copies, 0.95); err != nil || w != after.Range {
		t.Errorf("interval %v, want %v, %v", after.Range, w, err)
	}
}
