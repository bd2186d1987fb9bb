package sample

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Dist is a distribution that is sampled through its quantile function; the
// continuous distributions of gonum's stat/distuv are some.
type Dist interface {
	// Quantile gives the value that is not exceeded with probability p,
	// 0 < p < 1.
	Quantile(p float64) float64
}

// Normal is a normal distribution; sd must be positive.
func Normal(mean, sd float64) (Dist, error) {
	if !(sd > 0) || math.IsInf(sd, 0) || math.IsNaN(mean) || math.IsInf(mean, 0) {
		return nil, fmt.Errorf("normal distribution with mean %g and standard deviation %g; give finite numbers and a deviation above 0", mean, sd)
	}
	return distuv.Normal{Mu: mean, Sigma: sd}, nil
}

// Uniform is a uniform distribution over [low, high], low < high.
func Uniform(low, high float64) (Dist, error) {
	if !(low < high) || math.IsInf(high-low, 0) {
		return nil, fmt.Errorf("uniform distribution from %g to %g; give finite ends, the lower first", low, high)
	}
	return distuv.Uniform{Min: low, Max: high}, nil
}

// Fixed is a value that does not vary.
type Fixed float64

// Quantile implements Dist.
func (f Fixed) Quantile(float64) float64 { return float64(f) }

// truncated is a distribution without its tails.
type truncated struct {
	of, to float64 // probabilities at the ends
	d      Dist
	lo, hi float64
}

// Truncate keeps of d what lies in [low, high] and scales it up to probability
// 1. It is an error if nothing lies there.
func Truncate(d interface {
	Dist
	CDF(x float64) float64
}, low, high float64) (Dist, error) {
	t := truncated{of: d.CDF(low), to: d.CDF(high), d: d, lo: low, hi: high}
	if !(t.of < t.to) {
		return nil, fmt.Errorf("no part of the distribution lies between %g and %g", low, high)
	}
	return t, nil
}

// Quantile implements Dist. The ends are kept exactly: far in a tail the
// quantile of a probability that is near 1 is rounded.
func (t truncated) Quantile(p float64) float64 {
	return min(max(t.d.Quantile(t.of+p*(t.to-t.of)), t.lo), t.hi)
}

// values is a plan in the unit cube, seen through distributions.
type values struct {
	Plan
	dists []Dist
}

// Transform turns points of the unit cube into values: coordinate k becomes the
// quantile of dists[k].
func Transform(p Plan, dists []Dist) (Plan, error) {
	if len(dists) != p.Dim() {
		return nil, fmt.Errorf("%d distributions for points of %d dimensions", len(dists), p.Dim())
	}
	return &values{p, dists}, nil
}

// At implements Plan.
func (v *values) At(i int, x []float64) {
	v.Plan.At(i, x)
	for k, d := range v.dists {
		x[k] = d.Quantile(x[k])
	}
}
