package scatter

import (
	"context"
	"errors"
	"math"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/stat/distuv"

	"tuckfinger/assembly/study"
	"tuckfinger/assembly/study/sample"
)

// A ramp that must hold against a clip. The ramp's force is that of a wedge on
// a rail, k (h - play) (tan(α+φ) + μ), with normal play; the clip's force is
// normal. Their difference is normal too, so the share of copies that hold is
// known in closed form.
const (
	railRate = 40.0 // N/mm
	rampHigh = 0.6  // mm
	playMean = 0.1  // mm
	playSD   = 0.03 // mm
	friction = 0.3
	clipMean = 24.0 // N
	clipSD   = 3.0  // N
)

var wedge = math.Tan(math.Pi/4+math.Atan(friction)) + friction

func rampAndClip(v []float64) study.Outcome {
	ramp := railRate * (rampHigh - v[0]) * wedge
	return study.Outcome{Measures: []float64{ramp / v[1], ramp - v[1]}}
}

// holds is the probability that the ramp holds margin times the clip's force.
func holds(margin float64) float64 {
	mean := railRate*(rampHigh-playMean)*wedge - margin*clipMean
	return distuv.UnitNormal.CDF(mean / math.Hypot(railRate*playSD*wedge, margin*clipSD))
}

func setup(t *testing.T) Setup {
	t.Helper()
	play, err := sample.Normal(playMean, playSD)
	if err != nil {
		t.Fatal(err)
	}
	clip, err := sample.Normal(clipMean, clipSD)
	if err != nil {
		t.Fatal(err)
	}
	return Setup{
		Inputs:   []Input{{"play", play}, {"clip force", clip}},
		Measures: []study.Measure{{Name: "ramp over clip"}, {Name: "ramp less clip", Unit: "N"}},
		Rules: []study.Limit{
			{Name: "order", Measure: 0, Bound: 1.5},
			{Name: "reserve", Measure: 1, Bound: 10},
		},
		N:    20000,
		Seed: 1,
	}
}

func TestShareAgreesWithTheClosedForm(t *testing.T) {
	s := setup(t)
	r, err := Run(t.Context(), s, rampAndClip)
	if err != nil {
		t.Fatal(err)
	}
	want := holds(1.5)
	if rule := r.Rules[0]; rule.Range.Low > want || rule.Range.High < want {
		t.Errorf("order: %v in %v, closed form %.5f", rule.Share, rule.Range, want)
	}
	reserve := distuv.UnitNormal.CDF((railRate*(rampHigh-playMean)*wedge - clipMean - 10) / math.Hypot(railRate*playSD*wedge, clipSD))
	if rule := r.Rules[1]; rule.Range.Low > reserve || rule.Range.High < reserve {
		t.Errorf("reserve: %v in %v, closed form %.5f", rule.Share, rule.Range, reserve)
	}
	if r.Holds > r.Rules[0].Holds || r.Holds > r.Rules[1].Holds || r.Holds < r.Rules[0].Holds+r.Rules[1].Holds-r.N {
		t.Errorf("%d hold, rules by themselves in %d and %d", r.Holds, r.Rules[0].Holds, r.Rules[1].Holds)
	}
	// The reserve is normal: its quantiles are known and lie in their intervals.
	d := distuv.Normal{Mu: railRate*(rampHigh-playMean)*wedge - clipMean, Sigma: math.Hypot(railRate*playSD*wedge, clipSD)}
	for _, q := range r.Rules[1].Measure.Quantiles {
		if x := d.Quantile(q.P); q.Low > x || q.High < x {
			t.Errorf("quantile %g of the reserve: %.3f in [%.3f, %.3f], closed form %.3f", q.P, q.Value, q.Low, q.High, x)
		}
	}
}

// Over many seeds the 95 % interval holds the closed form in 95 % of runs,
// within three standard deviations.
func TestIntervalCovers(t *testing.T) {
	s := setup(t)
	s.Rules = s.Rules[:1]
	s.N = 400
	want, hit := holds(1.5), 0
	const seeds = 1000
	for seed := range uint64(seeds) {
		s.Seed = seed
		r, err := Run(t.Context(), s, rampAndClip)
		if err != nil {
			t.Fatal(err)
		}
		if r.Range.Low <= want && want <= r.Range.High {
			hit++
		}
	}
	if share := float64(hit) / seeds; math.Abs(share-0.95) > 3*math.Sqrt(.05*.95/seeds) {
		t.Errorf("covers in %.3f of runs", share)
	}
}

// The reserve is a sum, so each input's index is its share of the variance.
func TestIndicesAgreeWithTheClosedForm(t *testing.T) {
	s := setup(t)
	s.N, s.Base = 10, 2048
	r, err := Run(t.Context(), s, rampAndClip)
	if err != nil {
		t.Fatal(err)
	}
	ramp, clip := math.Pow(railRate*playSD*wedge, 2), clipSD*clipSD
	for i, want := range []float64{ramp / (ramp + clip), clip / (ramp + clip)} {
		x := r.Outputs[1].Indices[i]
		if math.Abs(x.First-want) > 0.02 || math.Abs(x.Total-want) > 0.02 {
			t.Errorf("%s: first %.3f, total %.3f, closed form %.3f", s.Inputs[i].Name, x.First, x.Total, want)
		}
	}
	all := r.Outputs[2]
	if all.Name != AllHold || len(all.Indices) != 2 {
		t.Fatalf("got %+v", all)
	}
	for i, x := range all.Indices {
		if !(x.Total > x.First && x.First > 0) {
			t.Errorf("whether all hold depends on both inputs together: %s has first %.3f, total %.3f", s.Inputs[i].Name, x.First, x.Total)
		}
	}
}

func TestSameResultAtAnyNumberOfThreads(t *testing.T) {
	s := setup(t)
	s.N, s.Base = 500, 64
	var want *Result
	for _, s.Workers = range []int{1, 2, 3, 16} {
		r, err := Run(t.Context(), s, rampAndClip)
		if err != nil {
			t.Fatal(err)
		}
		if want == nil {
			want = r
		} else if d := cmp.Diff(want, r); d != "" {
			t.Errorf("%d threads: %s", s.Workers, d)
		}
	}
	s.Seed++
	if r, _ := Run(t.Context(), s, rampAndClip); cmp.Equal(want.Margins, r.Margins) {
		t.Error("another seed gave the same copies")
	}
}

// A longer study begins with the copies of a shorter one.
func TestWorstCopyCanBeRepeated(t *testing.T) {
	s := setup(t)
	s.N = 1000
	r, err := Run(t.Context(), s, rampAndClip)
	if err != nil {
		t.Fatal(err)
	}
	s.N = 5000
	v, err := s.Copy(r.Worst)
	if err != nil {
		t.Fatal(err)
	}
	o := rampAndClip(v)
	for k := range s.Rules {
		if o.Measures[k] != r.Margins[k][r.Worst] {
			t.Errorf("rule %d: %v, was %v", k, o.Measures[k], r.Margins[k][r.Worst])
		}
	}
	least := math.Inf(1)
	for i := range r.Margins[0] {
		least = min(least, s.Rules[0].Slack(r.Margins[0][i]), s.Rules[1].Slack(r.Margins[1][i]))
	}
	if w := study.WorstSlack(o, s.Rules); w != least {
		t.Errorf("copy %d has slack %v, the least is %v", r.Worst, w, least)
	}
}

// Copies that fail to close, tie, or break the program are copies that do not
// work.
func TestOddCopiesDoNotHold(t *testing.T) {
	s := setup(t)
	s.N, s.Base = 1000, 64
	s.Rules = s.Rules[1:]
	var total atomic.Int64
	s.Progress = func(done, all int) {
		if done > all || all != 1000+64*4 {
			t.Errorf("progress %d of %d", done, all)
		}
		total.Add(1)
	}
	r, err := Run(t.Context(), s, func(v []float64) study.Outcome {
		switch {
		case v[0] < 0.05:
			return study.Outcome{Err: errors.New("does not close")}
		case v[0] < 0.06:
			panic("odd copy")
		case v[0] < 0.08:
			return study.Outcome{Measures: []float64{math.NaN(), math.NaN()}}
		}
		return study.Outcome{Measures: []float64{2, 1000}}
	})
	if err != nil {
		t.Fatal(err)
	}
	p := func(x float64) float64 { return distuv.UnitNormal.CDF((x - playMean) / playSD) }
	near := func(what string, n int, p float64) {
		t.Helper()
		if sd := math.Sqrt(1000 * p * (1 - p)); math.Abs(float64(n)-1000*p) > 4*sd {
			t.Errorf("%s: %d of 1000, want %.0f ± %.0f", what, n, 1000*p, sd)
		}
	}
	near("errors", r.Errors, p(0.06))
	near("undetermined or errors", r.Rules[0].Undetermined, p(0.08))
	if r.Holds != 1000-r.Rules[0].Undetermined || r.FirstErr == "" {
		t.Errorf("%d hold, %d undetermined, first error %q", r.Holds, r.Rules[0].Undetermined, r.FirstErr)
	}
	if total.Load() != 1000+64*4 {
		t.Errorf("progress was told %d times", total.Load())
	}
	if out := r.Outputs[0]; out.Indices != nil || out.Dropped == 0 {
		t.Errorf("a measure that is constant where it is a number: %+v", out)
	}
	if out := r.Outputs[1]; out.Indices == nil || out.Indices[1].Total != 0 {
		t.Errorf("the clip has no say in whether copies hold: %+v", out)
	}
}

func TestImpossibleSetups(t *testing.T) {
	_, err := Run(t.Context(), Setup{Rules: []study.Limit{{Name: "O1", Measure: 3}}, Base: -1}, rampAndClip)
	want := []string{"nothing scatters", "limit O1: there is no measure 3", "0 copies; give 1 or more", "-1 points for the indices"}
	if err == nil {
		t.Fatal("no error")
	}
	lines := strings.Split(err.Error(), "\n")
	for i, w := range want {
		if i >= len(lines) || !strings.HasPrefix(lines[i], w) {
			t.Fatalf("got %q, want %q", lines, want)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Run(ctx, setup(t), rampAndClip); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}
