package stroke

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// told is what is told of a joint whose position is x over a way out from 0 to 10 mm
// in steps of about a size, shorter where it begins or ceases to move as the runner
// makes them.
func told(x func(s float64) float64, size float64) []change {
	at := []float64{0}
	var rates []float64
	for s := 0.0; s < 10; {
		ds, was := size, 0.0
		if len(rates) > 0 {
			was = math.Abs(rates[len(rates)-1])
		}
		rate := func() float64 { return (x(s+ds) - x(s)) / ds }
		for sudden(was, math.Abs(rate())) && ds > resolve {
			ds = max(resolve, 0.3*ds)
		}
		for (was > startRate) != (math.Abs(rate()) > startRate) && ds > smoothStep {
			ds /= 2
		}
		rates = append(rates, rate())
		s += ds
		at = append(at, s)
	}
	var out []change
	switches(paces(nil, at, rates), func(kind Kind, at float64) { out = append(out, change{kind, at}) })
	return out
}

type change struct {
	Kind Kind
	At   float64
}

// Where a joint starts and stops follows from its way by hand to 0.01 mm, whatever the steps.
func TestMotions(t *testing.T) {
	for _, c := range []struct {
		name string
		x    func(s float64) float64
		want []change
	}{
		{"waits, moves and waits", func(s float64) float64 { return 0.7 * min(max(s-2.345, 0), 4.321) }, []change{{JointStarts, 2.345}, {JointStops, 6.666}}},
		{"moves from the start", func(s float64) float64 { return min(s, 5.111) }, []change{{JointStarts, 0}, {JointStops, 5.111}}},
		// dx/ds = 0.01·(s − 3): 0.01 at s = 4.
		{"starts smoothly", func(s float64) float64 { return 0.005 * math.Pow(max(s-3, 0), 2) }, []change{{JointStarts, 4}}},
		// The rate falls below 0.005 at s = 6.5 and is 0 from 7 on.
		{"stops smoothly", func(s float64) float64 { return 0.1 - 0.005*math.Pow(max(7-s, 0), 2) }, []change{{JointStarts, 0}, {JointStops, 6.5}}},
		{"turns back", func(s float64) float64 { return -0.01 * (s - 5) * (s - 5) }, []change{{JointStarts, 0}}},
		{"stands for less than 0.1 mm", func(s float64) float64 { return min(s, 4) + max(0, s-4.08) }, []change{{JointStarts, 0}}},
		{"stands and goes back", func(s float64) float64 { return min(s, 4) - max(0, s-4.5) }, []change{{JointStarts, 0}, {JointStops, 4}, {JointStarts, 4.5}}},
		{"creeps", func(s float64) float64 { return 0.004 * s }, nil},
	} {
		for _, size := range []float64{0.5, 0.25, 0.11} {
			if diff := cmp.Diff(c.want, told(c.x, size), cmpopts.EquateApprox(0, resolve)); diff != "" {
				t.Errorf("%s, steps of %g mm:\n%s", c.name, size, diff)
			}
		}
	}
}
