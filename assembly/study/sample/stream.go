package sample

import "math/rand/v2"

// mix is the finaliser of the SplitMix64 generator, a bijection of 64-bit
// words in which each input bit changes half of the output bits. Source:
// Steele, Lea, Flood, Fast splittable pseudorandom number generators, OOPSLA
// 2014.
func mix(z uint64) uint64 {
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// golden is the SplitMix64 increment, 2⁶⁴ over the golden ratio, odd.
const golden = 0x9e3779b97f4a7c15

// key hashes a seed and indices to 64 bits.
func key(seed uint64, idx ...int) uint64 {
	h := mix(seed + golden)
	for _, i := range idx {
		h = mix(h + golden*(2*uint64(i)+1))
	}
	return h
}

// unit turns 64 random bits into the middle of one of 2⁵² equal cells of the
// unit interval, never 0 or 1, where a quantile may be infinite.
func unit(h uint64) float64 { return (float64(h>>12) + 0.5) * 0x1p-52 }

// Stream returns the random numbers that belong to sample i under a seed. Each
// pair (seed, i) has its own stream, whichever thread asks for it and when.
func Stream(seed uint64, i int) *rand.Rand {
	return rand.New(rand.NewPCG(key(seed, i, 0), key(seed, i, 1)))
}

// Seed derives the seed of a part of a study from the study's seed, so that
// parts numbered differently do not share random numbers.
func Seed(seed uint64, part int) uint64 { return key(seed, part) }

// Random is independent points, uniform in the open unit cube.
type Random struct {
	size
	seed uint64
}

// NewRandom makes n points of dim coordinates.
func NewRandom(n, dim int, seed uint64) (*Random, error) {
	r := &Random{size{n, dim}, seed}
	return r, r.check()
}

// At implements Plan.
func (r *Random) At(i int, x []float64) {
	h := key(r.seed, i)
	for k := range x {
		x[k] = unit(mix(h + golden*uint64(k+1)))
	}
}
