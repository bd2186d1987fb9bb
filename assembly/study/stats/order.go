package stats

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// Quantile interpolates between the order statistics of a sorted, non-empty
// sample for 0 <= p <= 1: definition 7 of Hyndman and Fan, Am. Stat. 50 (1996)
// 361-365. Values may be infinite; between two infinities of one sign the
// result is that infinity.
func Quantile(sorted []float64, p float64) float64 {
	h := p * float64(len(sorted)-1)
	i := int(h)
	if i >= len(sorted)-1 {
		return sorted[len(sorted)-1]
	}
	a, b, f := sorted[i], sorted[i+1], h-float64(i)
	if f == 0 || a == b {
		return a
	}
	if math.IsInf(a, 0) && math.IsInf(b, 0) {
		return math.NaN() // from -Inf to +Inf there is no middle
	}
	return a + f*(b-a)
}

// QuantileInterval gives values of a sorted sample of a continuous
// distribution that lie around its p-quantile with at least the given
// confidence, whatever the distribution: the ranks come from the binomial
// distribution. Source: David and Nagaraja, Order Statistics, 3rd ed., §7.1.
// An end is infinite where the sample is too small for one.
func QuantileInterval(sorted []float64, p, confidence float64) (Interval, error) {
	n := len(sorted)
	if err := checkShare(0, n, confidence); err != nil {
		return Interval{}, err
	}
	if !(p > 0 && p < 1) {
		return Interval{}, fmt.Errorf("quantile %g; give a number between 0 and 1", p)
	}
	tail := (1 - confidence) / 2
	below := distuv.Binomial{N: float64(n), P: p} // number of values under the quantile
	// x_(r) is above the quantile if fewer than r values lie under it.
	iv := Interval{math.Inf(-1), math.Inf(1)}
	lo := sort.Search(n, func(r int) bool { return below.CDF(float64(r)) > tail })
	if lo > 0 {
		iv.Low = sorted[lo-1]
	}
	hi := sort.Search(n, func(r int) bool { return below.CDF(float64(r)) >= 1-tail })
	if hi < n {
		iv.High = sorted[hi]
	}
	return iv, nil
}

// OrderStatistic is the distribution of the probability below the k-th
// smallest of n values of a continuous distribution, 1 <= k <= n. Source:
// David and Nagaraja, Order Statistics, 3rd ed., §2.1.
func OrderStatistic(k, n int) distuv.Beta {
	return distuv.Beta{Alpha: float64(k), Beta: float64(n + 1 - k)}
}

// CopiesBeyond is the number of copies of which the worst one bounds the share
// of all copies with the given confidence; with both ends, of which the lowest
// and the highest do. Source: Wilks, Ann. Math. Stat. 12 (1941) 91-96.
func CopiesBeyond(share, confidence float64, both bool) (int, error) {
	if err := checkConfidence(confidence); err != nil {
		return 0, err
	}
	if !(share > 0 && share < 1) {
		return 0, fmt.Errorf("share %g; give a number between 0 and 1", share)
	}
	// The share beyond the extreme values is below 1-share with this probability.
	sure := func(n int) float64 {
		m := float64(n)
		if both {
			return 1 - m*math.Pow(share, m-1) + (m-1)*math.Pow(share, m)
		}
		return 1 - math.Pow(share, m)
	}
	n := 1
	for sure(n) < confidence {
		n *= 2
	}
	return n/2 + sort.Search(n-n/2, func(i int) bool { return sure(n/2+i) >= confidence }), nil
}

// Stack is what a chain of tolerances adds up to.
type Stack struct {
	WorstCase float64 // sum
	RSS       float64 // root of the sum of squares
}

// StackUp adds half-width tolerances. RSS is the same number of standard
// deviations of the sum as each tolerance is of its part, if parts are
// independent; multiply it by a factor of your own where they are not centred.
func StackUp(tolerances ...float64) Stack {
	var s Stack
	for _, t := range tolerances {
		s.WorstCase += math.Abs(t)
		s.RSS = math.Hypot(s.RSS, t)
	}
	return s
}

// Summary describes a sample. NaNs are left out of everything but N and NaN.
type Summary struct {
	N, NaN    int
	Min, Max  float64
	Mean, SD  float64 // NaN where a value is infinite; SD of n-1
	Quantiles []Quant
}

// Quant is a quantile with its distribution-free interval.
type Quant struct {
	P, Value float64
	Interval
}

// Summarise describes values, which it leaves as they are.
func Summarise(values []float64, p []float64, confidence float64) (Summary, error) {
	s := Summary{N: len(values)}
	sorted := slices.DeleteFunc(slices.Clone(values), math.IsNaN)
	s.NaN = s.N - len(sorted)
	if len(sorted) == 0 {
		nan := math.NaN()
		s.Min, s.Max, s.Mean, s.SD = nan, nan, nan, nan
		return s, nil
	}
	slices.Sort(sorted)
	s.Min, s.Max = sorted[0], sorted[len(sorted)-1]
	s.Mean, s.SD = moments(sorted)
	for _, q := range p {
		iv, err := QuantileInterval(sorted, q, confidence)
		if err != nil {
			return s, err
		}
		s.Quantiles = append(s.Quantiles, Quant{q, Quantile(sorted, q), iv})
	}
	return s, nil
}

// moments is the mean and the standard deviation of n-1.
func moments(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v
	}
	mean /= float64(len(x))
	if math.IsInf(mean, 0) || math.IsNaN(mean) {
		return math.NaN(), math.NaN()
	}
	ss := 0.0
	for _, v := range x {
		ss += (v - mean) * (v - mean)
	}
	if len(x) == 1 {
		return mean, math.NaN()
	}
	return mean, math.Sqrt(ss / float64(len(x)-1))
}
