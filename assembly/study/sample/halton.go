package sample

import "fmt"

// primes are the bases of the Halton sequence. In higher bases the sequence
// needs thousands of points before it leaves the diagonal of its planes.
var primes = [...]int{2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53}

// Halton is the Halton sequence from index 0: coordinate k is the van der
// Corput sequence in the k-th prime. Source: Halton, Numer. Math. 2 (1960)
// 84-90.
type Halton struct {
	size
	shift []float64
}

// NewHalton makes n points of dim coordinates, at most 16. Point 0 is the
// origin, where the quantile of a normal distribution is infinite; see Shift.
func NewHalton(n, dim int) (*Halton, error) {
	h := &Halton{size: size{n, dim}}
	if dim > len(primes) {
		return nil, fmt.Errorf("a Halton sequence of %d dimensions; give at most %d, or use a Sobol sequence or a Latin hypercube", dim, len(primes))
	}
	return h, h.check()
}

// Shift returns the sequence moved by a random vector modulo 1, which keeps it
// even, makes its mean unbiased and puts it in the open unit cube. Source:
// Cranley and Patterson, SIAM J. Numer. Anal. 13 (1976) 904-914.
func (h *Halton) Shift(seed uint64) *Halton {
	s := &Halton{size: h.size, shift: make([]float64, h.dim)}
	for k := range s.shift {
		s.shift[k] = unit(key(seed, k))
	}
	return s
}

// At implements Plan.
func (h *Halton) At(i int, x []float64) {
	for k := range x {
		x[k] = RadicalInverse(primes[k], i)
		if h.shift != nil {
			x[k] += h.shift[k]
			if x[k] >= 1 {
				x[k] -= 1
			}
			if x[k] == 0 {
				x[k] = 0x1p-53
			}
		}
	}
}

// RadicalInverse mirrors the digits of i >= 0 in a base >= 2 at the point: the
// van der Corput sequence, in [0, 1).
func RadicalInverse(base, i int) float64 {
	num, den := 0, 1
	for ; i > 0; i /= base {
		num = num*base + i%base
		den *= base
	}
	return float64(num) / float64(den)
}
