package tune

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tuckfinger/assembly/study"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.8g, want %.8g ± %g", what, got, want, tol)
	}
}

// box makes free dimensions between common bounds.
func box(n int, low, high, start float64) []Free {
	f := make([]Free, n)
	for i := range f {
		f[i] = Free{string(rune('a' + i)), low, high, start}
	}
	return f
}

func tuned(t *testing.T, s Setup, f study.Evaluate) *Result {
	t.Helper()
	r, err := Run(t.Context(), s, f)
	if err != nil {
		t.Fatal(err)
	}
	if !study.Hold(r.Outcome, s.Limits) {
		t.Fatalf("an infeasible result: %+v", r)
	}
	// The outcome must be that of the values, not of places near them.
	if d := cmp.Diff(f(r.Values).Measures, r.Outcome.Measures); d != "" {
		t.Error(d)
	}
	return r
}

// Rosen and Suzuki's problem, number 43 of Hock and Schittkowski's collection
// (from memory): minimum -44 at (0, 1, 2, -1), where the first and the third
// limit bind.
func TestKnownOptimumWithBindingLimits(t *testing.T) {
	s := Setup{
		Free:     box(4, -5, 5, 0),
		Measures: []study.Measure{{Name: "f"}, {Name: "g1"}, {Name: "g2"}, {Name: "g3"}},
		Limits: []study.Limit{
			{Name: "first", Measure: 1, Sense: study.AtMost, Bound: 8},
			{Name: "second", Measure: 2, Sense: study.AtMost, Bound: 10},
			{Name: "third", Measure: 3, Sense: study.AtMost, Bound: 5},
		},
		Goals: []Goal{{Name: "f", Measure: 0, Sense: study.AtMost}},
	}
	r := tuned(t, s, func(x []float64) study.Outcome {
		a, b, c, d := x[0], x[1], x[2], x[3]
		return study.Outcome{Measures: []float64{
			a*a + b*b + 2*c*c + d*d - 5*a - 5*b - 21*c + 7*d,
			a*a + b*b + c*c + d*d + a - b + c - d,
			a*a + 2*b*b + c*c + 2*d*d - a - d,
			2*a*a + b*b + c*c + 2*a - b - d,
		}}
	})
	t.Logf("%d evaluations, f = %.9g at %.6g", r.Evaluations, r.Outcome.Measures[0], r.Values)
	near(t, "minimum", r.Outcome.Measures[0], -44, 1e-4)
	for i, want := range []float64{0, 1, 2, -1} {
		near(t, s.Free[i].Name, r.Values[i], want, 2e-3)
	}
	for i, binds := range []bool{true, false, true} {
		if r.Limits[i].Binds != binds {
			t.Errorf("limit %s binds: %v, want %v, slack %g", r.Limits[i].Name, r.Limits[i].Binds, binds, r.Limits[i].Slack)
		}
	}
	if len(r.Bounds) != 0 {
		t.Errorf("no dimension is at its bound, got %v", r.Bounds)
	}
}

// Rastrigin's function has a minimum at every whole number and the least one
// where it was planted.
func TestPlantedOptimumAmongMany(t *testing.T) {
	planted := []float64{1.3, -0.7, 2.1}
	for seed := range uint64(5) {
		s := Setup{
			Free: box(3, -5, 5, 4), Measures: []study.Measure{{Name: "f"}}, Seed: seed,
			Goals: []Goal{{Name: "f", Sense: study.AtMost}},
			// Rugged landscapes want more starts than the default.
			Starts: 8, Budget: 3000,
		}
		r := tuned(t, s, func(x []float64) study.Outcome {
			f := 0.0
			for i, v := range x {
				d := v - planted[i]
				f += 10 + d*d - 10*math.Cos(2*math.Pi*d)
			}
			return study.Outcome{Measures: []float64{f}}
		})
		for i, want := range planted {
			near(t, "planted", r.Values[i], want, 1e-4)
		}
	}
}

// A snap arm as a plain cantilever: length l, thickness h, width b, deflection
// y, modulus E. Strain 1.5 h y / l², force E b h³ y / (4 l³) (beam theory).
const (
	armY = 0.9    // mm
	armE = 1800.0 // MPa
)

func arm(x []float64) study.Outcome {
	l, h, b := x[0], x[1], x[2]
	return study.Outcome{Measures: []float64{
		100 * 1.5 * h * armY / (l * l),
		armE * b * h * h * h * armY / (4 * l * l * l),
		l,
	}}
}

func armSetup(strain, force, length float64) Setup {
	return Setup{
		Free:     []Free{{"length", 6, 20, 15}, {"thickness", 0.8, 2, 1}, {"width", 2, 5, 3}},
		Measures: []study.Measure{{Name: "strain", Unit: "%"}, {Name: "force", Unit: "N"}, {Name: "length", Unit: "mm"}},
		Limits: []study.Limit{
			{Name: "strain", Measure: 0, Sense: study.AtMost, Bound: strain},
			{Name: "force", Measure: 1, Bound: force},
			{Name: "length", Measure: 2, Sense: study.AtMost, Bound: length},
		},
	}
}

// The shortest arm within strain ε that gives force F has the greatest width;
// both limits bind: h^1.5 = 4 F (1.5 y/ε)^1.5 / (E b y), l = sqrt(1.5 h y/ε).
func TestShortestArm(t *testing.T) {
	s := armSetup(1.7, 4, 19)
	s.Goals = []Goal{{Name: "length", Measure: 2, Sense: study.AtMost}}
	r := tuned(t, s, arm)
	k := 1.5 * armY / 0.017
	h := math.Pow(4*4*math.Pow(k, 1.5)/(armE*5*armY), 2./3)
	near(t, "thickness", r.Values[1], h, 1e-3*h)
	near(t, "length", r.Values[0], math.Sqrt(k*h), 1e-4*math.Sqrt(k*h))
	if d := cmp.Diff([]Bound{{"width", 5, true}}, r.Bounds); d != "" {
		t.Error(d)
	}
	if !r.Limits[0].Binds || !r.Limits[1].Binds || r.Limits[2].Binds {
		t.Errorf("strain and force bind, length does not: %+v", r.Limits)
	}
}

// Strain 0.5 % and 30 N exclude each other: at the strain's limit the force is
// E b y (h/k)^1.5 / 4 with k = 1.5 y/ε and l² = k h, so it rises until length and
// width are at their bounds, 20 and 5 mm. The length's limit has no part in it.
func TestConflictIsNamed(t *testing.T) {
	s := armSetup(0.5, 30, 20)
	_, err := Run(t.Context(), s, arm)
	var e *Infeasible
	if !errors.As(err, &e) {
		t.Fatalf("got %v", err)
	}
	t.Log(err)
	if len(e.Conflict) != 2 || e.Conflict[0].Name != "strain" || e.Conflict[1].Name != "force" {
		t.Fatalf("got %v", err)
	}
	k := 1.5 * armY / 0.005
	h := 400 / k
	force := armE * 5 * h * h * h * armY / (4 * 8000)
	near(t, "attainable force", e.Conflict[1].Attainable, force, 1e-3*force)
	near(t, "short of force", e.Conflict[1].Short(), 30-force, 1e-3*30)
	// The other way round: with 30 N the length is h (E b y/(4·30))^(1/3), so the
	// strain falls with h and b, which go to their bounds.
	l := 2 * math.Cbrt(armE*5*armY/(4*30))
	strain := 100 * 1.5 * 2 * armY / (l * l)
	near(t, "attainable strain", e.Conflict[0].Attainable, strain, 1e-3*strain)
	if d := cmp.Diff([]Bound{{"thickness", 2, true}, {"width", 5, true}}, e.Conflict[0].Bounds); d != "" {
		t.Error(d)
	}
	for _, part := range []string{"2 limits can't be met together", "strain, at most 0.5 %, reaches ", "force, at least 30 N, reaches ", "while the rest hold with length at 20, width at 5"} {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("%q does not say %q", err, part)
		}
	}
	// The nearest place is no result, and says so itself.
	if study.Hold(e.Outcome, s.Limits) {
		t.Errorf("%+v is feasible", e.Outcome)
	}
}

// A limit that is out of reach by itself is a conflict of one.
func TestOneLimitOutOfReach(t *testing.T) {
	s := armSetup(1.7, 2000, 20)
	_, err := Run(t.Context(), s, arm)
	var e *Infeasible
	if !errors.As(err, &e) || len(e.Conflict) != 1 || e.Conflict[0].Name != "force" {
		t.Fatalf("got %v", err)
	}
	most := arm([]float64{6, 2, 5}).Measures[1]
	near(t, "attainable", e.Conflict[0].Attainable, most, 1e-3*most)
	if !strings.HasPrefix(err.Error(), "one limit can't be met (in ") {
		t.Errorf("got %v", err)
	}
}

// A set that can be met by a hair is met: feasible values fill a part of about
// 1e-6 of the box.
func TestNarrowRoomIsFound(t *testing.T) {
	k := 1.5 * armY / 0.017
	h := math.Pow(4*4*math.Pow(k, 1.5)/(armE*5*armY), 2./3)
	s := armSetup(1.7, 4, 1.002*math.Sqrt(k*h))
	r := tuned(t, s, arm)
	// Without a goal the smallest slack is as large as it can be, so all bind
	// alike.
	near(t, "slack of strain and force", r.Limits[0].Slack, r.Limits[1].Slack, 1e-4)
	near(t, "slack of strain and length", r.Limits[0].Slack, r.Limits[2].Slack, 1e-4)
}

func TestSameResultAtAnyNumberOfThreads(t *testing.T) {
	s := armSetup(1.7, 4, 19)
	s.Goals = []Goal{{Name: "length", Measure: 2, Sense: study.AtMost}}
	var want *Result
	for _, s.Workers = range []int{1, 2, 5} {
		r := tuned(t, s, arm)
		if want == nil {
			want = r
		} else if d := cmp.Diff(want, r); d != "" {
			t.Errorf("%d threads: %s", s.Workers, d)
		}
	}
}

// Values that can't be evaluated, tie, or break the program are walls, not the
// end: the optimum lies beside them.
func TestOddValuesAreWalls(t *testing.T) {
	s := Setup{
		Free: box(2, 0, 10, 9), Measures: []study.Measure{{Name: "f"}, {Name: "g"}},
		Limits: []study.Limit{{Name: "g", Measure: 1, Bound: 1}},
		Goals:  []Goal{{Name: "f", Sense: study.AtMost}},
	}
	r := tuned(t, s, func(x []float64) study.Outcome {
		switch {
		case x[0] < 2:
			return study.Outcome{Err: errors.New("does not close")}
		case x[1] < 1:
			panic("odd")
		case x[0] > 8:
			return study.Outcome{Measures: []float64{-1000, math.NaN()}}
		}
		return study.Outcome{Measures: []float64{x[0] + x[1], math.Inf(1)}}
	})
	near(t, "least sum", r.Outcome.Measures[0], 3, 2e-3)
}

func TestNothingCanBeEvaluated(t *testing.T) {
	_, err := Run(t.Context(), armSetup(1, 1, 20), func([]float64) study.Outcome {
		return study.Outcome{Err: errors.New("does not close")}
	})
	if err == nil || !strings.HasPrefix(err.Error(), "no values could be evaluated in ") || !strings.HasSuffix(err.Error(), "does not close") {
		t.Errorf("got %v", err)
	}
}

func TestImpossibleSetups(t *testing.T) {
	_, err := Run(t.Context(), Setup{
		Free:     []Free{{"rail", 2, 1, 1}, {"clip", 0, 1, 2}},
		Measures: []study.Measure{{Name: "f"}},
		Limits:   []study.Limit{{Name: "O1", Measure: 1}},
		Goals:    []Goal{{Name: "grip", Measure: -1}, {Name: "f", Weight: -1}},
	}, arm)
	want := []string{
		"rail: bounds 2 to 1; give finite bounds, the lower first",
		"clip: the start 2 is outside of 0 to 1",
		"limit O1: there is no measure 1",
		"goal grip: there is no measure -1",
		"goal f: weight -1, scale 0; give finite numbers above 0",
	}
	if err == nil || err.Error() != strings.Join(want, "\n") {
		t.Errorf("got %v", err)
	}
	if _, err := Run(t.Context(), Setup{}, arm); err == nil || err.Error() != "no dimension is free; name one or more, with bounds\nthere is neither a goal nor a limit" {
		t.Errorf("got %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Run(ctx, armSetup(1.7, 4, 19), arm); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}
