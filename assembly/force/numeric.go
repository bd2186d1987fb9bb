package force

import (
	"sort"
	"strconv"

	"gonum.org/v1/gonum/integrate/quad"
)

// gauss integrates f over [a, b] in n panels of 8-point Gauss–Legendre.
func gauss(f func(float64) float64, a, b float64, n int) float64 {
	if b <= a {
		return 0
	}
	var sum float64
	h := (b - a) / float64(n)
	for i := range n {
		x := a + h*float64(i)
		sum += quad.Fixed(f, x, x+h, 8, quad.Legendre{}, 1)
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
