package sample

import "math/bits"

// Latin is a Latin hypercube sample: with n points, each coordinate has one
// point in each of n equal cells, at a random place in the cell, and the cells
// of different coordinates are paired at random. Source: McKay, Beckman,
// Conover, Technometrics 21 (1979) 239-245.
type Latin struct {
	size
	seed uint64
}

// NewLatin makes n points of dim coordinates.
func NewLatin(n, dim int, seed uint64) (*Latin, error) {
	l := &Latin{size{n, dim}, seed}
	return l, l.check()
}

// At implements Plan.
func (l *Latin) At(i int, x []float64) {
	n := float64(l.n)
	for k := range x {
		cell := float64(permute(l.n, i, key(l.seed, k, -1)))
		u := (cell + unit(key(l.seed, k, i))) / n
		// At an edge of the cell, rounding could leave it.
		if u*n < cell || u*n >= cell+1 || u >= 1 || u <= 0 {
			u = (cell + 0.5) / n
		}
		x[k] = u
	}
}

// permute is a random permutation of 0 ... n-1 chosen by seed. A shuffled list
// would cost memory; a Feistel network over the next even number of bits,
// walked along its cycle until it is back in range, costs none. Source: Black
// and Rogaway, Ciphers with arbitrary finite domains, CT-RSA 2002. Over few
// bits such networks favour some permutations, so a short one ranks random
// keys.
func permute(n, i int, seed uint64) int {
	if n <= 128 {
		rank, own := 0, key(seed, i)
		for j := range n {
			if k := key(seed, j); k < own || k == own && j < i {
				rank++
			}
		}
		return rank
	}
	half := (bits.Len(uint(n-1)) + 1) / 2
	mask := uint64(1)<<half - 1
	x := uint64(i)
	for {
		l, r := x>>half, x&mask
		for round := range uint64(8) {
			l, r = r, l^mix(seed+golden*(r<<3|round))&mask
		}
		if x = l<<half | r; x < uint64(n) {
			return int(x)
		}
	}
}
