package fingers

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"gonum.org/v1/gonum/stat/distuv"

	"tuckfinger/assembly/study/tune"
	"tuckfinger/params"
)

// Where the torque of the tucked hold is all that scatters, and normally, the
// share of copies that keep its rule is a value of the normal distribution: the
// margin grows with the torque, so it is the share of copies above the torque at
// which the margin is 1, which bisection finds.
func TestScatterAgreesWithTheClosedForm(t *testing.T) {
	const spread = 0.08
	d := plain(t, "torque: 12", "torque: 2.1", "drag: 2.5", "drag: 0.2",
		"\norder:\n", "\nscatter:\n  outline: {spread: 0}\n  gap: {spread: 0}\n  modulus: {spread: 0}\n  friction: {spread: 0}\n  hold: {spread: 0.08}\norder:\n")
	s, in, f, err := scatterSetup(d, ScatterOptions{N: 400, Seed: 3})
	if err != nil {
		t.Fatal(err)
	}
	if len(in) != 1 || s.Rules[0].Name != "O1" {
		t.Fatalf("inputs %v, rules %v", in, s.Rules)
	}
	lo, hi := -0.5, 0.5
	for range 20 {
		mid := (lo + hi) / 2
		if o := f([]float64{mid}); o.Err != nil {
			t.Fatal(o.Err)
		} else if o.Measures[0] >= 1 {
			hi = mid
		} else {
			lo = mid
		}
	}
	if math.Abs(hi) > 2*spread {
		t.Fatalf("margin 1 at a torque %+.0f %%: the case is no longer one of some copies", 100*hi)
	}
	n := 400
	if testing.Short() {
		n = 150
	}
	r, err := Scatter(t.Context(), d, ScatterOptions{N: n, Seed: 3})
	if err != nil {
		t.Fatal(err)
	}
	want := 1 - distuv.UnitNormal.CDF(hi/spread)
	if got := r.Result.Rules[0]; got.Range.Low > want || got.Range.High < want {
		t.Errorf("O1 holds in %.3f (%.3f to %.3f), closed form %.3f", got.Share, got.Range.Low, got.Range.High, want)
	}
}

func TestScatterIsTheSameOnAnyThreads(t *testing.T) {
	d := example(t, "rack-lifter")
	var want *Scattered
	for _, workers := range []int{1, 2, 5} {
		r, err := Scatter(t.Context(), d, ScatterOptions{N: 24, Seed: 11, Base: 4, Workers: workers})
		if err != nil {
			t.Fatal(err)
		}
		if want == nil {
			want = r
		} else if diff := cmp.Diff(want, r, cmpopts.IgnoreFields(Input{}, "Dist"), cmpopts.IgnoreUnexported(Input{}), cmpopts.EquateNaNs()); diff != "" {
			t.Errorf("%d threads: %s", workers, diff)
		}
	}
	if len(want.Worst) != len(want.Inputs) || len(want.Outputs) != 4 {
		t.Errorf("worst copy %v, %d outputs", want.Worst, len(want.Outputs))
	}
	d.Order = params.Named[params.Rule]{}
	if _, err := Scatter(t.Context(), d, ScatterOptions{N: 1}); err == nil || !strings.Contains(err.Error(), "no order rules") {
		t.Errorf("without rules: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Scatter(ctx, example(t, "rack-lifter"), ScatterOptions{N: 5}); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// tuned is the rack lifter with a section tune.
func tuned(t testing.TB, section string, edits ...string) *params.Design {
	return example(t, "rack-lifter", append([]string{"\norder:\n", "\ntune:\n" + section + "\norder:\n"}, edits...)...)
}

// A planted optimum: the slide forces grow with the rail's and the arm's
// thickness, and so do the margins of O2 and B1. With limits that are the
// margins of a rail of 1.32 mm and an arm of 1.45 mm, these are the thinnest.
func TestTuneRecoversAPlantedOptimum(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("thousands of strokes")
	}
	planted := map[string]float64{"rail": 1.32, "arm": 1.45}
	d, err := example(t, "rack-lifter").With(planted)
	if err != nil {
		t.Fatal(err)
	}
	list, at, err := Stroke(d)
	if err != nil {
		t.Fatal(err)
	}
	get := func(name string) float64 { return at[slices.Index(names(list), name)] }
	section := fmt.Sprintf(`
  free: {rail: {low: 1, high: 1.6}, arm: {low: 1.1, high: 1.7}}
  limits:
    - {measure: order.O2, at_least: %v}
    - {measure: order.B1, at_least: %v}
    - {measure: ramps.detent.strain, at_most: 3}
    - {measure: clips.jaw_clip.strain, at_most: 3}
  goals: [{measure: ramps.detent.strain, aim: low}, {measure: clips.jaw_clip.strain, aim: low}]`, get("order.O2"), get("order.B1"))
	r, err := Tune(t.Context(), tuned(t, section), TuneOptions{Seed: 2, Starts: 2, Budget: 60})
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range r.Setup.Free {
		t.Logf("%s: %v, planted %v, after %d tries", f.Name, r.Values[i], planted[f.Name], r.Evaluations)
		if math.Abs(r.Values[i]-planted[f.Name]) > 0.02 {
			t.Errorf("%s: %v, planted %v", f.Name, r.Values[i], planted[f.Name])
		}
		if r.Design.Dimensions.Get(f.Name).Value != r.Values[i] {
			t.Errorf("%s: the design has another value", f.Name)
		}
	}
	bind := 0
	for _, l := range r.Limits {
		if l.Slack < 0 {
			t.Errorf("%s does not hold: %g", l.Name, l.Value)
		}
		if l.Binds && strings.HasPrefix(l.Name, "order.") {
			bind++
		}
	}
	if bind != 2 {
		t.Errorf("%d order margins bind, want O2 and B1: %+v", bind, r.Limits)
	}
}

func TestTuneNamesAConflict(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("thousands of strokes")
	}
	d := tuned(t, `
  free: {rail: {low: 1, high: 1.5}}
  limits: [{measure: slide.out, at_most: 5.8}]`)
	_, err := Tune(t.Context(), d, TuneOptions{Seed: 1, Starts: 1, Budget: 10})
	var e *tune.Infeasible
	if !errors.As(err, &e) {
		t.Fatalf("got %v", err)
	}
	var conflict []string
	for _, s := range e.Conflict {
		conflict = append(conflict, s.Name)
		if !(s.Short() > 0) {
			t.Errorf("%s is short by %g", s.Name, s.Short())
		}
	}
	if !slices.Equal(conflict, []string{"slide.out", "order.O2"}) {
		t.Errorf("conflict %v, want slide.out against the margin that it takes", conflict)
	}
}

// A limit on copies is stricter than one on the drawing.
func TestTuneForCopies(t *testing.T) {
	d := tuned(t, `
  free: {rail: {low: 0.9, high: 1.5}}
  goals: [{measure: order.B1, aim: high}]
  copies: {count: 6}`)
	p, err := tunePlan(d, TuneOptions{})
	if err != nil {
		t.Fatal(err)
	}
	o := p.evaluation(false)([]float64{1.25})
	if o.Err != nil {
		t.Fatal(o.Err)
	}
	if len(o.Measures) != len(p.s.Measures) {
		t.Fatalf("%d measures, want %d", len(o.Measures), len(p.s.Measures))
	}
	value := func(name string) float64 {
		for i, m := range p.s.Measures {
			if m.Name == name {
				return o.Measures[i]
			}
		}
		t.Fatalf("no measure %q in %v", name, p.s.Measures)
		return 0
	}
	worst := math.Inf(1)
	if c, drawn := value("order.O2, every copy"), value("order.O2"); !(c < drawn) {
		t.Errorf("O2 is %g in the worst copy, %g in the drawing", c, drawn)
	}
	for _, l := range p.onCopies {
		worst = min(worst, l.Slack(o.Measures[l.Measure]))
	}
	if joint := value(tune.Joint.Name); joint > worst+1e-12 {
		t.Errorf("the joint slack %g is above that of one limit, %g", joint, worst)
	}
	for _, l := range p.s.Limits {
		if strings.HasPrefix(l.Name, "order.") {
			want := 1.5
			if strings.Contains(l.Name, "copy") {
				want = 1
			}
			if l.Bound != want {
				t.Errorf("%s: bound %g, want %g", l.Name, l.Bound, want)
			}
		}
	}
}

// With copies the search begins where the drawing is best, and every copy of what it
// finds keeps to the limits.
func TestTuneForCopiesBeginsAtTheDrawing(t *testing.T) {
	if testing.Short() {
		t.Skip("hundreds of strokes")
	}
	t.Parallel()
	d := tuned(t, `
  free: {rail: {low: 0.9, high: 1.5}}
  copies: {count: 3}`, "ramp_height: {value: 1.0", "ramp_height: {value: 0.9", "arm: {value: 1.38", "arm: {value: 1.25")
	var tries []int
	var lock sync.Mutex
	r, err := Tune(t.Context(), d, TuneOptions{Seed: 1, Budget: 20, Progress: func(n int) {
		lock.Lock()
		defer lock.Unlock()
		tries = append(tries, n)
	}})
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(tries)
	for i, n := range tries {
		if n != i+1 {
			t.Fatalf("try %d is told as number %d", i+1, n)
		}
	}
	if r.Before[0] != 1.25 || r.Setup.Starts != 1 || r.Setup.Free[0].Start == 1.25 {
		t.Errorf("before %v, %d searches from %v", r.Before, r.Setup.Starts, r.Setup.Free)
	}
	for _, l := range r.Limits {
		if l.Slack < 0 {
			t.Errorf("%s: %g, %g short", l.Name, l.Value, -l.Slack)
		}
	}
}

func TestTuneWithoutASection(t *testing.T) {
	if _, err := Tune(t.Context(), example(t, "rack-lifter"), TuneOptions{}); err == nil || !strings.Contains(err.Error(), "no section tune") {
		t.Errorf("got %v", err)
	}
}
