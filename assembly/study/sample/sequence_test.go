package sample

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Source: SciPy's test data.
func TestVanDerCorput(t *testing.T) {
	for i, want := range []float64{0, .5, .25, .75, .125, .625, .375, .875} {
		if got := RadicalInverse(2, i); got != want {
			t.Errorf("index %d: got %v, want %v", i, got, want)
		}
	}
}

// Base 5 by hand.
func TestVanDerCorputBase5(t *testing.T) {
	for i, want := range []float64{.2, .4, .6, .8, .04, .24, .44, .64} {
		if got := RadicalInverse(5, i+1); math.Abs(got-want) > 1e-12 {
			t.Errorf("index %d: got %v, want %v", i+1, got, want)
		}
	}
}

// Source: SciPy's test data.
func TestHalton(t *testing.T) {
	h := plan[*Halton](t)(NewHalton(8, 2))
	want := [][2]float64{{0, 0}, {1. / 2, 1. / 3}, {1. / 4, 2. / 3}, {3. / 4, 1. / 9},
		{1. / 8, 4. / 9}, {5. / 8, 7. / 9}, {3. / 8, 2. / 9}, {7. / 8, 5. / 9}}
	for i, w := range want {
		p := Point(h, i)
		if math.Abs(p[0]-w[0]) > 1e-12 || math.Abs(p[1]-w[1]) > 1e-12 {
			t.Errorf("point %d: got %v, want %v", i, p, w)
		}
	}
}

// SciPy's test data for two dimensions (Joe and Kuo's direction numbers, Gray
// order); the third follows from its direction numbers m = 1, 3.
func TestSobol(t *testing.T) {
	s := plan[*Sobol](t)(NewSobol(8, 3))
	want := [][]float64{{0, 0, 0}, {.5, .5, .5}, {.75, .25, .25}, {.25, .75, .75},
		{.375, .375, .625}, {.875, .875, .125}, {.625, .125, .875}, {.125, .625, .375}}
	if d := cmp.Diff(want, points(s)); d != "" {
		t.Error(d)
	}
}

// Every coordinate of a Sobol sequence has one point of each block of 2^m in
// each of 2^m intervals (Sobol 1967), shifted or not. A wrong polynomial or an
// even initial number breaks this.
func TestSobolCoordinatesAreEven(t *testing.T) {
	const n = 1 << 11
	plain := plan[*Sobol](t)(NewSobol(2*n, MaxSobolDim))
	for _, p := range []*Sobol{plain, plain.Shift(3)} {
		x := make([]float64, p.Dim())
		for block := range 2 {
			seen := make([][n]bool, p.Dim())
			for i := range n {
				p.At(block*n+i, x)
				for k, v := range x {
					seen[k][int(v*n)] = true
				}
			}
			for k := range seen {
				if slices.Contains(seen[k][:], false) {
					t.Errorf("coordinate %d, block %d: an interval has no point", k, block)
				}
			}
		}
	}
}

// No two coordinates may share direction numbers, and each polynomial must be
// primitive, so that x has order 2^s - 1 modulo it.
func TestSobolPolynomialsArePrimitive(t *testing.T) {
	seen := map[string]bool{}
	rows := 0
	for line := range strings.Lines(directionText) {
		if line[0] == '#' || strings.TrimSpace(line) == "" {
			continue
		}
		rows++
		var s, a int
		var m []int
		for k, f := range strings.Fields(line) {
			v := 0
			for _, c := range f {
				v = 10*v + int(c-'0')
			}
			switch k {
			case 0:
				s = v
			case 1:
				a = v
			default:
				m = append(m, v)
			}
		}
		for j, v := range m {
			if v%2 == 0 || v >= 2<<j {
				t.Errorf("%s: m_%d = %d is not odd and below %d", line, j+1, v, 2<<j)
			}
		}
		poly := 1<<s | a<<1 | 1
		if s == 1 {
			poly = 3
		}
		if id := string(rune(poly)); seen[id] {
			t.Errorf("polynomial %b twice", poly)
		} else {
			seen[id] = true
		}
		x, order := 1, 0
		for {
			if x <<= 1; x>>s&1 == 1 {
				x ^= poly
			}
			if order++; x == 1 || order > 1<<s {
				break
			}
		}
		if order != 1<<s-1 {
			t.Errorf("polynomial %b has order %d, want %d", poly, order, 1<<s-1)
		}
	}
	if rows != MaxSobolDim-1 {
		t.Errorf("%d rows, want %d", rows, MaxSobolDim-1)
	}
}

func TestShiftedPointsAreInsideTheCube(t *testing.T) {
	h := plan[*Halton](t)(NewHalton(3000, 16))
	s := plan[*Sobol](t)(NewSobol(4096, 16))
	for seed := range uint64(5) {
		for _, p := range []Plan{h.Shift(seed), s.Shift(seed)} {
			for i := range p.Len() {
				for _, x := range Point(p, i) {
					if x <= 0 || x >= 1 {
						t.Fatalf("%T point %d: %v", p, i, x)
					}
				}
			}
		}
	}
}

// The mean of a product over a shifted sequence is unbiased, and far nearer to
// the truth than random points would be: their standard deviation is
// sqrt(((13/12)⁵ - 1)/1024) = 0.022.
func TestShiftedSequencesIntegrate(t *testing.T) {
	const n, dim, seeds = 1024, 5, 40
	h := plan[*Halton](t)(NewHalton(n, dim))
	s := plan[*Sobol](t)(NewSobol(n, dim))
	for name, shift := range map[string]func(seed uint64) Plan{
		"Halton": func(seed uint64) Plan { return h.Shift(seed) },
		"Sobol":  func(seed uint64) Plan { return s.Shift(seed) },
	} {
		sum, square := 0.0, 0.0
		for seed := range uint64(seeds) {
			p, mean := shift(seed), 0.0
			for i := range n {
				f := 1.0
				for _, v := range Point(p, i) {
					f *= 0.5 + v
				}
				mean += f / n
			}
			sum += (mean - 1) / seeds
			square += (mean - 1) * (mean - 1) / seeds
		}
		rms := math.Sqrt(square)
		if rms > 0.022/5 || math.Abs(sum) > 4*rms/math.Sqrt(seeds) {
			t.Errorf("%s: error %.5f rms, %.5f mean", name, rms, sum)
		}
	}
}

func BenchmarkSobol40(b *testing.B) {
	s, err := NewSobol(1<<20, 40)
	if err != nil {
		b.Fatal(err)
	}
	x := make([]float64, 40)
	for i := range b.N {
		s.At(i&(1<<20-1), x)
	}
}
