package tune

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"tuckfinger/assembly/study"
)

// mostForce is the largest force of the snap arm above within a strain and a length,
// in closed form: F = E·b·h³·y/(4l³) at the greatest width, with h as thick as the
// strain lets it, h = ε·l²/(1.5·y) ≤ 2 mm. It grows as l³ until h is 2 mm, and falls
// as 1/l³ from there. Whether any arm is thick enough is told too.
func mostForce(strain, length float64) (force float64, any bool) {
	k := 1.5 * armY / (strain / 100)
	l := math.Max(6, math.Min(length, math.Sqrt(2*k)))
	h := math.Min(2, l*l/k)
	return armE * 5 * h * h * h * armY / (4 * l * l * l), length*length/k >= 0.8
}

// Random sets of limits, each within 5 % of what can just be met: a set that can be
// met is met, in every limit; one that can't be met is never returned as a result, and
// the force is among the limits that are told to conflict, short by what the closed
// form says.
func TestFeasibleSetsAreToldFromOthers(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 12))
	met, refused := 0, 0
	for i := range 24 {
		strain, length := 0.8+1.7*rng.Float64(), 10+9*rng.Float64()
		most, any := mostForce(strain, length)
		if !any {
			continue
		}
		room := 0.95 + 0.1*float64(i%2) // of the force that can be had
		s := armSetup(strain, room*most, length)
		s.Seed = uint64(i)
		r, err := Run(t.Context(), s, arm)
		if room < 1 {
			if err != nil {
				t.Errorf("strain %.3f %%, length %.2f mm, %.3f N of %.3f N: %v", strain, length, room*most, most, err)
			} else if !study.Hold(r.Outcome, s.Limits) || !study.Hold(arm(r.Values), s.Limits) {
				t.Errorf("returned with a limit not met: %+v", r.Limits)
			}
			met++
			continue
		}
		refused++
		var e *Infeasible
		if r != nil || !errors.As(err, &e) {
			t.Fatalf("strain %.3f %%, length %.2f mm: %.3f N of %.3f N are %+v, %v", strain, length, room*most, most, r, err)
		}
		told := false
		for _, c := range e.Conflict {
			if c.Name == "force" {
				told = true
				near(t, "attainable force", c.Attainable, most, 2e-3*most)
				near(t, "short of force", c.Short(), (room-1)*most, 2e-3*most)
			}
		}
		if !told {
			t.Errorf("the force is not told to conflict: %v", err)
		}
	}
	if met < 8 || refused < 8 {
		t.Errorf("%d sets can be met, %d can't", met, refused)
	}
}

// A search that gives up early does not make tune call limits in conflict that a
// place it has seen keeps together: what is told to be short is short.
func TestEarlySearchIsNoProof(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 3))
	refused := 0
	for i := range 200 {
		strain, length := 0.8+1.7*rng.Float64(), 10+9*rng.Float64()
		most, _ := mostForce(strain, length)
		s := armSetup(strain, (0.6+rng.Float64())*most, length)
		s.Seed, s.Starts, s.Budget = uint64(i), 1, 6
		_, err := Run(t.Context(), s, arm)
		var e *Infeasible
		if !errors.As(err, &e) {
			continue
		}
		refused++
		for _, c := range e.Conflict {
			if !math.IsNaN(c.Attainable) && c.Holds(c.Attainable) {
				others := len(e.Conflict) - 1
				t.Errorf("seed %d: %s of %g keeps %s %g, with %d others kept, and is told to be short by %g", i, c.Name, c.Attainable, c.Sense, c.Bound, others, c.Short())
			}
		}
	}
	if refused < 20 {
		t.Errorf("only %d refused", refused)
	}
}
