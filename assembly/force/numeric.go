package force

import (
	"sort"
	"strconv"
	"sync"

	"gonum.org/v1/gonum/integrate/quad"
)

// legendre returns the places and weights of 8-point Gauss–Legendre on [−1, 1].
var legendre = sync.OnceValue(func() (r struct{ x, w [8]float64 }) {
	quad.Legendre{}.FixedLocations(r.x[:], r.w[:], -1, 1)
	return r
})

// gauss integrates f over [a, b] in n panels of 8-point Gauss–Legendre.
func gauss(f func(float64) float64, a, b float64, n int) float64 {
	if b <= a {
		return 0
	}
	var sum float64
	rule := legendre()
	h := (b - a) / float64(n) / 2
	for i := range n {
		mid := a + h*float64(2*i+1)
		for k, x := range rule.x {
			sum += h * rule.w[k] * f(mid+h*x)
		}
	}
	return sum
}

// merge returns the values of inner that lie inside the range of outer,
// together with outer, sorted.
func merge(inner, outer []float64) []float64 {
	xs := append([]float64(nil), outer...)
	for _, x := range inner {
		if x > outer[0] && x < outer[len(outer)-1] {
			xs = append(xs, x)
		}
	}
	sort.Float64s(xs)
	return xs
}

func formatFloat(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }
