package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"tuckfinger/assembly/study/sample"
)

// ErrConstant says that an output does not vary, so no input drives it.
var ErrConstant = errors.New("the output does not vary")

// Index says how much of an output's variance an input drives: First alone,
// Total together with what it does in company of other inputs.
type Index struct {
	First, Total float64
	// FirstRange and TotalRange are bootstrap intervals.
	FirstRange, TotalRange Interval
}

// Design is the runs from which sensitivity indices of k inputs are estimated:
// two independent matrices A and B of n points each, and for each input i the
// matrix AB_i, which is A with column i of B. Source: Saltelli et al., Comput.
// Phys. Commun. 181 (2010) 259-270.
type Design struct {
	n, k  int
	sobol *sample.Sobol
	other *sample.Random
}

// NewDesign plans n points for each matrix of k inputs. The points are those of
// a shifted Sobol sequence where it has 2k dimensions, else random.
func NewDesign(n, k int, seed uint64) (*Design, error) {
	d := &Design{n: n, k: k}
	if 2*k > sample.MaxSobolDim {
		r, err := sample.NewRandom(n, 2*k, seed)
		d.other = r
		return d, err
	}
	s, err := sample.NewSobol(n, 2*k)
	if err != nil {
		return nil, err
	}
	d.sobol = s.Shift(seed)
	return d, nil
}

// Len is the number of runs, n (k + 2).
func (d *Design) Len() int { return d.n * (d.k + 2) }

// Dim is the number of inputs. With Len and At, Design is a sample.Plan.
func (d *Design) Dim() int { return d.k }

// At writes run i in the unit cube. Runs go row by row: A, B, AB_1 ... AB_k.
func (d *Design) At(i int, x []float64) {
	row, matrix := i/(d.k+2), i%(d.k+2)
	both := make([]float64, 2*d.k)
	if d.sobol != nil {
		d.sobol.At(row, both)
	} else {
		d.other.At(row, both)
	}
	switch {
	case matrix == 1:
		copy(x, both[d.k:])
	default:
		copy(x, both[:d.k])
		if matrix >= 2 {
			x[matrix-2] = both[d.k+matrix-2]
		}
	}
}

// Bootstrap is the number of resamplings behind the intervals of indices.
const Bootstrap = 200

// Indices estimates the indices of every input from the outputs of a design's
// runs in order. Rows with an output that is not finite are left out; dropped
// is their number. The error is ErrConstant if the rest does not vary.
//
// First order: estimator (b) of Saltelli et al. 2010, on centred outputs.
// Total: Jansen, Comput. Phys. Commun. 117 (1999) 35-43. Intervals: percentile
// bootstrap of rows, which for a Sobol sequence are wider than they need be.
func (d *Design) Indices(outputs []float64, confidence float64, seed uint64) (idx []Index, dropped int, err error) {
	if len(outputs) != d.Len() {
		return nil, 0, fmt.Errorf("%d outputs of %d runs", len(outputs), d.Len())
	}
	if err := checkConfidence(confidence); err != nil {
		return nil, 0, err
	}
	w := d.k + 2
	var rows [][]float64
	for i := range d.n {
		row := outputs[i*w : (i+1)*w]
		if slices.ContainsFunc(row, func(v float64) bool { return math.IsNaN(v - v) }) {
			dropped++
			continue
		}
		rows = append(rows, row)
	}
	first, total, ok := estimate(rows, nil)
	if !ok {
		return nil, dropped, ErrConstant
	}
	fs, ts := make([][]float64, d.k), make([][]float64, d.k)
	pick := make([]int, len(rows))
	for b := range Bootstrap {
		rng := sample.Stream(seed, b)
		for j := range pick {
			pick[j] = rng.IntN(len(rows))
		}
		f, t, ok := estimate(rows, pick)
		if !ok {
			continue // all rows alike; says nothing about the indices
		}
		for i := range d.k {
			fs[i], ts[i] = append(fs[i], f[i]), append(ts[i], t[i])
		}
	}
	idx = make([]Index, d.k)
	for i := range idx {
		idx[i] = Index{first[i], total[i], middle(fs[i], confidence), middle(ts[i], confidence)}
	}
	return idx, dropped, nil
}

// middle is the central part of a bootstrap sample.
func middle(x []float64, confidence float64) Interval {
	if len(x) == 0 {
		return Interval{math.NaN(), math.NaN()}
	}
	slices.Sort(x)
	return Interval{Quantile(x, (1-confidence)/2), Quantile(x, (1+confidence)/2)}
}

// estimate computes the indices from the picked rows, or all if pick is nil;
// ok is false where the output is constant.
func estimate(rows [][]float64, pick []int) (first, total []float64, ok bool) {
	if len(rows) == 0 {
		return nil, nil, false
	}
	n, k := len(rows), len(rows[0])-2
	row := func(j int) []float64 {
		if pick != nil {
			return rows[pick[j]]
		}
		return rows[j]
	}
	mean, lo, hi := 0.0, math.Inf(1), math.Inf(-1)
	for j := range n {
		r := row(j)
		mean += (r[0] + r[1]) / float64(2*n)
		lo, hi = min(lo, r[0], r[1]), max(hi, r[0], r[1])
	}
	if lo == hi {
		return nil, nil, false
	}
	first, total = make([]float64, k), make([]float64, k)
	variance := 0.0
	for j := range n {
		r := row(j)
		a, b := r[0]-mean, r[1]-mean
		variance += (a*a + b*b) / float64(2*n)
		for i := range k {
			ab := r[i+2] - mean
			first[i] += b * (ab - a) / float64(n)
			total[i] += (a - ab) * (a - ab) / float64(2*n)
		}
	}
	for i := range k {
		first[i] /= variance
		total[i] /= variance
	}
	return first, total, true
}
