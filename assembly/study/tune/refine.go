package tune

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/optimize"
)

// inside is the slack, relative to a limit's scale, that refinement aims to
// keep, so that its places are within limits in spite of rounding.
const inside = 1e-7

// refine improves the best place found. It minimises an augmented Lagrangian,
// in which limits may bind, then lets a simplex try for a little more, which
// also serves where the measures have kinks. Source: Nocedal and Wright,
// Numerical Optimization, 2nd ed., §17.3-17.4.
func (t *trial) refine() {
	if t.best.outcome.Err != nil || t.enough(t.best) || t.ctx.Err() != nil {
		return
	}
	lambda := make([]float64, len(t.limits))
	rho := 10.0
	x := angles(t.best.u)
	slack := make([]float64, len(t.limits))
	// augmented is smooth where the measures are; the sine keeps it in the cube.
	augmented := func(x []float64) float64 {
		o := t.try(places(x))
		if o.Err != nil {
			return 1e10
		}
		sum := 0.0
		if t.goal != nil {
			sum = t.goal(o)
		}
		for i, l := range t.limits {
			slack[i] = l.Slack(o.Measures[l.Measure]) - inside
			pull := max(0, lambda[i]-rho*slack[i])
			sum += (pull*pull - lambda[i]*lambda[i]) / (2 * rho)
		}
		if math.IsNaN(sum) || sum > 1e10 {
			return 1e10
		}
		return sum
	}
	last := math.Inf(1)
	for range 10 {
		x = t.minimise(x, augmented, t.Budget, &optimize.BFGS{})
		augmented(x) // sets slack
		worst := 0.0
		for i := range lambda {
			next := max(0, lambda[i]-rho*slack[i])
			worst = max(worst, math.Abs(next-lambda[i])/rho)
			lambda[i] = next
		}
		if worst < inside/10 || math.IsInf(worst, 0) {
			break
		}
		if worst > last/4 {
			rho *= 10
		}
		last = worst
		if t.ctx.Err() != nil {
			return
		}
	}
	before := slices.Clone(t.best.u)
	for _, size := range []float64{1e-2, 1e-4} {
		t.minimise(t.best.u, t.ranked, t.Budget/2, &optimize.NelderMead{SimplexSize: size})
		if slices.Equal(before, t.best.u) {
			break
		}
	}
}

// angles are the x for which places(x) is u.
func angles(u []float64) []float64 {
	x := make([]float64, len(u))
	for i, v := range u {
		// At an end the slope is zero and no search could leave it.
		x[i] = math.Asin(2*min(max(v, 1e-4), 1-1e-4) - 1)
	}
	return x
}

// places maps all x smoothly into the unit cube.
func places(x []float64) []float64 {
	u := make([]float64, len(x))
	for i, v := range x {
		u[i] = (1 + math.Sin(v)) / 2
	}
	return u
}

// gradient is by central differences. The step suits measures that come from
// an iteration with a relative error of about 1e-9.
func gradient(grad []float64, f func([]float64) float64, x []float64) {
	const h = 1e-4
	y := slices.Clone(x)
	for i := range x {
		y[i] = x[i] + h
		up := f(y)
		y[i] = x[i] - h
		grad[i] = (up - f(y)) / (2 * h)
		y[i] = x[i]
	}
}
