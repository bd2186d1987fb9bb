package tune

import (
	"context"
	"math"
	"slices"
	"sync/atomic"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"

	"tuckfinger/assembly/study"
	"tuckfinger/assembly/study/parallel"
	"tuckfinger/assembly/study/sample"
)

// problem is a setup being worked on. Inside, free dimensions run from 0 to 1.
type problem struct {
	Setup
	f     study.Evaluate
	count atomic.Int64
}

// point is a place that was tried.
type point struct {
	u       []float64 // in the unit cube
	outcome study.Outcome
}

// query is what a search looks for.
type query struct {
	limits []study.Limit
	goal   func(study.Outcome) float64 // to be low; nil: any place within the limits will do
	from   []point                     // places to begin with, before random ones
}

// start is where the setup's dimensions stand.
func (p *problem) start() []float64 {
	u := make([]float64, len(p.Free))
	for i, f := range p.Free {
		u[i] = (f.Start - f.Low) / (f.High - f.Low)
	}
	return u
}

// values are the free dimensions at a place in the unit cube, never beyond
// their bounds.
func (p *problem) values(u []float64) []float64 {
	v := make([]float64, len(u))
	for i, f := range p.Free {
		v[i] = min(max(f.Low+u[i]*(f.High-f.Low), f.Low), f.High)
		if u[i] == 1 {
			v[i] = f.High
		}
	}
	return v
}

// bounds lists the dimensions at the end of their range.
func (p *problem) bounds(u []float64) []Bound {
	var b []Bound
	for i, f := range p.Free {
		switch {
		case u[i] < binding:
			b = append(b, Bound{f.Name, f.Low, false})
		case u[i] > 1-binding:
			b = append(b, Bound{f.Name, f.High, true})
		}
	}
	return b
}

func (p *problem) evaluate(u []float64) point {
	p.count.Add(1)
	return point{slices.Clone(u), study.Try(p.f, p.values(u), len(p.Measures))}
}

// violation is the sum of what limits lack.
func violation(o study.Outcome, limits []study.Limit) float64 {
	if o.Err != nil {
		return math.Inf(1)
	}
	v := 0.0
	for _, l := range limits {
		if x := o.Measures[l.Measure]; !l.Holds(x) {
			// A miss that rounds to nothing is still a miss.
			v += max(-l.Slack(x), math.SmallestNonzeroFloat64)
		}
	}
	return v
}

// squash maps all numbers to (-1, 1) and keeps their order.
func squash(x float64) float64 {
	if math.IsInf(x, 0) {
		return math.Copysign(1, x)
	}
	return x / (1 + math.Abs(x))
}

// rank is one number by which any two places compare: errors are worst, then
// undetermined goals, then places outside of limits by their violation, then
// places within by their goal. Source: Deb, Comput. Methods Appl. Mech. Eng.
// 186 (2000) 311-338.
func (q *query) rank(o study.Outcome) float64 {
	if o.Err != nil {
		return 2
	}
	if v := violation(o, q.limits); v > 0 {
		return squash(v)
	}
	if q.goal == nil {
		return -1
	}
	g := q.goal(o)
	if math.IsNaN(g) {
		return 1.5
	}
	return squash(g) - 1.5
}

// better compares places; equal ranks are told apart by the places themselves,
// so that a result does not depend on the order of trying.
func (q *query) better(a, b point) bool {
	ra, rb := q.rank(a.outcome), q.rank(b.outcome)
	if ra != rb {
		return ra < rb
	}
	return slices.Compare(a.u, b.u) < 0
}

// enough reports whether there is nothing left to look for.
func (q *query) enough(b point) bool { return q.goal == nil && q.rank(b.outcome) == -1 }

// search runs every start, refines the best and returns the best place.
func (p *problem) search(ctx context.Context, q query) (point, error) {
	for _, b := range q.from {
		if q.enough(b) {
			return b, nil
		}
	}
	seeds, err := sample.NewSobol(p.Starts, min(len(p.Free), sample.MaxSobolDim))
	if err != nil {
		return point{}, err
	}
	shifted := seeds.Shift(p.Seed)
	trials := make([]*trial, p.Starts)
	err = parallel.Map(ctx, p.Starts, p.Workers, func(k int) error {
		t := &trial{problem: p, query: q, ctx: ctx}
		trials[k] = t
		if k < len(q.from) {
			t.best = q.from[k]
		} else {
			u := make([]float64, len(p.Free))
			for i := range u {
				u[i] = 0.5
			}
			shifted.At(k, u[:shifted.Dim()])
			t.best = p.evaluate(u)
		}
		t.global(sample.Seed(p.Seed, k), k)
		return ctx.Err()
	})
	if err != nil {
		return point{}, err
	}
	// Most starts end in the same place; refining two guards against a start
	// that stopped early.
	q.sort(trials)
	trials = trials[:min(2, len(trials))]
	err = parallel.Map(ctx, len(trials), p.Workers, func(k int) error {
		trials[k].refine()
		return ctx.Err()
	})
	if err != nil {
		return point{}, err
	}
	for _, b := range q.from {
		trials = append(trials, &trial{best: b})
	}
	q.sort(trials)
	return trials[0].best, nil
}

// sort puts the trial with the best place first.
func (q *query) sort(trials []*trial) {
	slices.SortStableFunc(trials, func(a, b *trial) int {
		switch {
		case q.better(a.best, b.best):
			return -1
		case q.better(b.best, a.best):
			return 1
		}
		return 0
	})
}

// trial is one start of a search.
type trial struct {
	*problem
	query
	ctx  context.Context
	best point
}

// try evaluates a place and keeps it if it is the best.
func (t *trial) try(u []float64) study.Outcome {
	at := t.evaluate(u)
	if t.better(at, t.best) {
		t.best = at
	}
	return at.outcome
}

// outside projects a place into the unit cube; d2 is its squared distance.
func outside(x []float64) (u []float64, d2 float64) {
	u = make([]float64, len(x))
	for i, v := range x {
		u[i] = min(max(v, 0), 1)
		d2 += (v - u[i]) * (v - u[i])
	}
	return u, d2
}

// ranked is what CMA-ES and the simplex minimise: they use only how places
// compare, so the rank may have steps.
func (t *trial) ranked(x []float64) float64 {
	u, d2 := outside(x)
	return t.rank(t.try(u)) + d2
}

// status ends an optimiser that has nothing to gain.
func (t *trial) status() (optimize.Status, error) {
	if t.ctx.Err() != nil || t.enough(t.best) {
		return optimize.MethodConverge, nil
	}
	return optimize.NotTerminated, nil
}

// global is the global search. Starts take turns with a small population, which
// is quick, and a large one, which sees more of a rugged landscape.
func (t *trial) global(seed uint64, k int) {
	if t.enough(t.best) {
		return
	}
	const step = 0.3
	n := len(t.Free)
	square := mat.NewSymDense(n, nil)
	for i := range n {
		square.SetSym(i, i, step*step)
	}
	var chol mat.Cholesky
	chol.Factorize(square)
	population := 4 + int(3*math.Log(float64(n)))
	if k%2 == 1 {
		population = max(2*population, t.Budget/50) // about 50 generations
	}
	t.minimise(t.best.u, t.ranked, t.Budget, &optimize.CmaEsChol{
		InitStepSize: step,
		InitCholesky: &chol, // the first sample's spread; InitStepSize does not set it
		Population:   population,
		Src:          sample.Stream(seed, 0),
	})
}

// minimise runs an optimiser. What it finds is kept by try; how it ends does
// not matter, since what counts is only what was evaluated.
func (t *trial) minimise(x []float64, f func([]float64) float64, budget int, m optimize.Method) []float64 {
	problem := optimize.Problem{Func: f, Status: t.status}
	if n, ok := m.(*optimize.BFGS); ok && n != nil {
		problem.Grad = func(grad, x []float64) { gradient(grad, f, x) }
		budget /= 2 * len(x)
	}
	r, _ := optimize.Minimize(problem, slices.Clone(x), &optimize.Settings{
		FuncEvaluations:   max(budget, 10),
		GradientThreshold: 1e-9,
		Converger:         &optimize.FunctionConverge{Absolute: 1e-12, Iterations: 30 + 5*len(x)},
	}, m)
	if r == nil {
		return x
	}
	return r.X
}
