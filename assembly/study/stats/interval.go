// Package stats says how sure a result of many trials is: intervals for shares
// and quantiles, tolerance stacks, and variance-based sensitivity indices.
package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Interval is a range that holds an estimated number at some confidence.
type Interval struct{ Low, High float64 }

// checkShare refuses counts and confidences that make no sense.
func checkShare(k, n int, confidence float64) error {
	if n < 1 || k < 0 || k > n {
		return fmt.Errorf("%d of %d trials; give a count from 0 to the number of trials, one or more", k, n)
	}
	return checkConfidence(confidence)
}

func checkConfidence(confidence float64) error {
	if !(confidence > 0 && confidence < 1) {
		return fmt.Errorf("confidence %g; give a number between 0 and 1, such as 0.95", confidence)
	}
	return nil
}

// deviations is the number of standard deviations within which a normal
// variable lies with probability p.
func deviations(p float64) float64 { return distuv.UnitNormal.Quantile(0.5 + p/2) }

// Wilson is the two-sided score interval of a probability after k of n
// independent trials held, without continuity correction. Source: Wilson, J.
// Am. Stat. Assoc. 22 (1927) 209-212; method 3 of Newcombe, Stat. Med. 17
// (1998) 857-872.
func Wilson(k, n int, confidence float64) (Interval, error) {
	if err := checkShare(k, n, confidence); err != nil {
		return Interval{}, err
	}
	z, m, p := deviations(confidence), float64(n), float64(k)/float64(n)
	centre := 2*m*p + z*z
	half := z * math.Sqrt(z*z+4*m*p*(1-p))
	iv := Interval{(centre - half) / (2 * (m + z*z)), (centre + half) / (2 * (m + z*z))}
	return iv.ends(k, n), nil
}

// WilsonCorrected is Wilson with continuity correction: wider, and seldom
// short of its confidence. Source: method 4 of Newcombe, Stat. Med. 17 (1998)
// 857-872.
func WilsonCorrected(k, n int, confidence float64) (Interval, error) {
	if err := checkShare(k, n, confidence); err != nil {
		return Interval{}, err
	}
	z, m, p := deviations(confidence), float64(n), float64(k)/float64(n)
	q, d := 1-p, 2*(m+z*z)
	iv := Interval{
		(2*m*p + z*z - 1 - z*math.Sqrt(z*z-2-1/m+4*p*(m*q+1))) / d,
		(2*m*p + z*z + 1 + z*math.Sqrt(z*z+2-1/m+4*p*(m*q-1))) / d,
	}
	iv.Low, iv.High = max(iv.Low, 0), min(iv.High, 1)
	return iv.ends(k, n), nil
}

// ends sets the ends that are known exactly, which rounding would blur.
func (iv Interval) ends(k, n int) Interval {
	if k == 0 {
		iv.Low = 0
	}
	if k == n {
		iv.High = 1
	}
	return iv
}
