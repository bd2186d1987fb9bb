package sample

import (
	_ "embed"
	"fmt"
	"strconv"
	"strings"
	"sync"
)

// MaxSobolDim is the largest number of coordinates of a Sobol sequence.
const MaxSobolDim = 128

// sobolBits is the number of binary digits of a coordinate.
const sobolBits = 32

//go:embed directions.txt
var directionText string

// directions[k][j] is the direction number v_{j+1} of coordinate k.
var directions = sync.OnceValues(func() ([][sobolBits]uint32, error) {
	return readDirections(directionText)
})

// readDirections computes direction numbers from primitive polynomials and
// initial values by the recurrence of Bratley and Fox, ACM Trans. Math. Softw.
// 14 (1988) 88-100.
func readDirections(text string) ([][sobolBits]uint32, error) {
	var first [sobolBits]uint32
	for j := range first {
		first[j] = 1 << (sobolBits - 1 - j)
	}
	all := [][sobolBits]uint32{first}
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		var num []int
		for _, f := range strings.Fields(line) {
			v, err := strconv.Atoi(f)
			if err != nil {
				return nil, err
			}
			num = append(num, v)
		}
		s := num[0]
		if len(num) != s+2 {
			return nil, fmt.Errorf("direction numbers %q: want %d after the polynomial", line, s)
		}
		a, m := num[1], num[2:]
		var v [sobolBits]uint32
		for j := range v {
			if j < s {
				v[j] = uint32(m[j]) << (sobolBits - 1 - j)
				continue
			}
			v[j] = v[j-s] ^ v[j-s]>>s
			for q := 1; q < s; q++ {
				if a>>(s-1-q)&1 == 1 {
					v[j] ^= v[j-q]
				}
			}
		}
		all = append(all, v)
	}
	return all, nil
}

// Sobol is the Sobol sequence in Gray code order from index 0, with the
// direction numbers of Joe and Kuo (see directions.txt). Its first 2^m points
// have one point in each of 2^m equal intervals of each coordinate, and it is
// best used with powers of two. Source of the order: Antonov and Saleev, USSR
// Comput. Math. Math. Phys. 19 (1979) 252-256.
type Sobol struct {
	size
	v      [][sobolBits]uint32
	shift  []uint32
	offset float64
}

// NewSobol makes n points, at most 2³², of dim coordinates, at most
// MaxSobolDim. Point 0 is the origin, where the quantile of a normal
// distribution is infinite; see Shift.
func NewSobol(n, dim int) (*Sobol, error) {
	s := &Sobol{size: size{n, dim}}
	if err := s.check(); err != nil {
		return nil, err
	}
	if dim > MaxSobolDim {
		return nil, fmt.Errorf("a Sobol sequence of %d dimensions; give at most %d, or use a Latin hypercube", dim, MaxSobolDim)
	}
	if n > 1<<sobolBits {
		return nil, fmt.Errorf("a Sobol sequence of %d points; give at most 2³²", n)
	}
	v, err := directions()
	if err != nil {
		return nil, err
	}
	s.v, s.shift = v[:dim], make([]uint32, dim)
	return s, nil
}

// Shift returns the sequence under a random digital shift, which keeps its
// evenness, makes its mean unbiased and puts it in the open unit cube. Source:
// L'Ecuyer and Lemieux, Recent advances in randomized quasi-Monte Carlo
// methods, 2002.
func (s *Sobol) Shift(seed uint64) *Sobol {
	t := &Sobol{size: s.size, v: s.v, shift: make([]uint32, s.dim), offset: 0.5}
	for k := range t.shift {
		t.shift[k] = uint32(key(seed, k) >> 32)
	}
	return t
}

// At implements Plan.
func (s *Sobol) At(i int, x []float64) {
	gray := uint64(i) ^ uint64(i)>>1
	for k := range x {
		bits := s.shift[k]
		for g, j := gray, 0; g != 0; g, j = g>>1, j+1 {
			if g&1 == 1 {
				bits ^= s.v[k][j]
			}
		}
		x[k] = (float64(bits) + s.offset) * 0x1p-32
	}
}
