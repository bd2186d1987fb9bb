package sample

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// plan unwraps a plan that must exist.
func plan[P Plan](t *testing.T) func(P, error) P {
	return func(p P, err error) P {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
}

// points lists a plan.
func points(p Plan) [][]float64 {
	all := make([][]float64, p.Len())
	for i := range all {
		all[i] = Point(p, i)
	}
	return all
}

// column lists one coordinate.
func column(p Plan, k int) []float64 {
	c := make([]float64, p.Len())
	for i := range c {
		c[i] = Point(p, i)[k]
	}
	return c
}

func TestGridIsEveryCombination(t *testing.T) {
	g := plan[*Grid](t)(NewGrid([]float64{1, 2}, []float64{10, 20, 30}))
	want := [][]float64{{1, 10}, {1, 20}, {1, 30}, {2, 10}, {2, 20}, {2, 30}}
	if d := cmp.Diff(want, points(g)); d != "" {
		t.Error(d)
	}
}

func TestRangeHitsItsEnds(t *testing.T) {
	v, err := Range(0.1, 0.7, 7)
	if err != nil {
		t.Fatal(err)
	}
	if v[0] != 0.1 || v[6] != 0.7 || math.Abs(v[3]-0.4) > 1e-15 || len(v) != 7 {
		t.Errorf("got %v", v)
	}
	if one, _ := Range(2, 4, 1); len(one) != 1 || one[0] != 3 {
		t.Errorf("one value: got %v, want the middle", one)
	}
}

func TestListKeepsItsRows(t *testing.T) {
	rows := [][]float64{{1, 2}, {3, 4}}
	l := plan[*List](t)(NewList(2, rows))
	rows[0][0] = 99 // the plan has its own copy
	if d := cmp.Diff([][]float64{{1, 2}, {3, 4}}, points(l)); d != "" {
		t.Error(d)
	}
}

func TestImpossiblePlansAreErrors(t *testing.T) {
	long := make([]float64, 1<<18)
	for _, c := range []struct {
		name string
		err  func() error
		want string
	}{
		{"no axis", func() error { _, err := NewGrid(); return err }, "a grid without axes"},
		{"empty axis", func() error { _, err := NewGrid([]float64{1}, nil); return err }, "axis 2 of the grid has no values"},
		{"huge grid", func() error { _, err := NewGrid(long, long, long, long); return err }, "the grid has more than 2⁵³ points"},
		{"ragged list", func() error { _, err := NewList(2, [][]float64{{1, 2}, {1}}); return err }, "row 2 of the list has 1 values; give 2"},
		{"no dimension", func() error { _, err := NewRandom(5, 0, 1); return err }, "points of 0 dimensions; give 1 or more"},
		{"negative length", func() error { _, err := NewLatin(-1, 2, 1); return err }, "a plan of -1 points; give 0 or more"},
		{"Halton", func() error { _, err := NewHalton(5, 17); return err }, "a Halton sequence of 17 dimensions; give at most 16"},
		{"Sobol", func() error { _, err := NewSobol(5, 129); return err }, "a Sobol sequence of 129 dimensions; give at most 128"},
		{"normal", func() error { _, err := Normal(1, 0); return err }, "normal distribution with mean 1 and standard deviation 0"},
		{"uniform", func() error { _, err := Uniform(2, 1); return err }, "uniform distribution from 2 to 1"},
		{"truncated", func() error { _, err := Truncate(distuv.UnitNormal, 3, 2); return err }, "no part of the distribution lies between 3 and 2"},
		{"range", func() error { _, err := Range(0, math.Inf(1), 3); return err }, "3 values from 0 to +Inf"},
		{"transform", func() error {
			r := plan[*Random](t)(NewRandom(1, 2, 1))
			_, err := Transform(r, []Dist{Fixed(1)})
			return err
		}, "1 distributions for points of 2 dimensions"},
	} {
		if err := c.err(); err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %s", c.name, err, c.want)
		}
	}
}

// By definition floor(N x) is a permutation of 0 ... N-1.
func TestLatinHypercubeProperty(t *testing.T) {
	for _, n := range []int{1, 2, 3, 5, 17, 64, 1000, 4099} {
		l := plan[*Latin](t)(NewLatin(n, 7, 42))
		for k := range l.Dim() {
			seen := make([]bool, n)
			for _, x := range column(l, k) {
				c := int(math.Floor(float64(n) * x))
				if c < 0 || c >= n || seen[c] || x <= 0 || x >= 1 {
					t.Fatalf("n = %d, coordinate %d: %v is out of range or shares its cell", n, k, x)
				}
				seen[c] = true
			}
		}
	}
}

// The permutations of two coordinates must be independent: the correlation of
// ranks of random permutations has variance 1/(n-1) (Kendall and Gibbons, Rank
// correlation methods; from memory), so the sum of its square over many seeds,
// times n-1, is near chi-square.
func TestLatinCoordinatesAreUncorrelated(t *testing.T) {
	const seeds = 400
	for _, n := range []float64{50, 130, 300} {
		sum := 0.0
		for seed := range uint64(seeds) {
			l := plan[*Latin](t)(NewLatin(int(n), 2, seed))
			a, b := make([]float64, l.Len()), make([]float64, l.Len())
			for i := range a {
				x := Point(l, i)
				a[i], b[i] = math.Floor(x[0]*n), math.Floor(x[1]*n)
			}
			r := stat.Correlation(a, b, nil)
			sum += r * r * (n - 1)
		}
		if sd := math.Sqrt(2 * seeds); math.Abs(sum-seeds) > 4*sd {
			t.Errorf("n = %g: sum of squared correlations is %.0f, want %d ± %.0f", n, sum, seeds, 4*sd)
		}
	}
}

// Every one of the 120 permutations of five cells must be equally likely:
// chi-square with 119 degrees of freedom.
func TestPermutationsAreEquallyLikely(t *testing.T) {
	const draws = 24000
	count := map[[5]int]int{}
	for seed := range uint64(draws) {
		var p [5]int
		for i := range p {
			p[i] = permute(5, i, key(seed))
		}
		count[p]++
	}
	chi := 0.0
	for _, c := range count {
		chi += math.Pow(float64(c)-draws/120, 2) / (draws / 120)
	}
	chi += float64(120-len(count)) * draws / 120
	if p := (distuv.ChiSquared{K: 119}).Survival(chi); p < 1e-4 {
		t.Errorf("chi-square %.0f with 119 degrees of freedom, p = %.2g, %d permutations seen", chi, p, len(count))
	}
}

// The share of points in a box must be its volume within four standard
// deviations, and coordinates and neighbours must be uncorrelated.
func TestRandomPointsAreUniform(t *testing.T) {
	const n = 40000
	r := plan[*Random](t)(NewRandom(n, 3, 7))
	a, b, c := column(r, 0), column(r, 1), column(r, 2)
	for name, r := range map[string]float64{
		"coordinates 1, 2":             stat.Correlation(a, b, nil),
		"coordinates 2, 3":             stat.Correlation(b, c, nil),
		"neighbours":                   stat.Correlation(a[1:], a[:n-1], nil),
		"coordinate 3 and the next 1":  stat.Correlation(a[1:], c[:n-1], nil),
		"same coordinate, next seed":   stat.Correlation(a, column(plan[*Random](t)(NewRandom(n, 3, 8)), 0), nil),
		"same coordinate, derived one": stat.Correlation(a, column(plan[*Random](t)(NewRandom(n, 3, Seed(7, 1))), 0), nil),
	} {
		if math.Abs(r) > 4/math.Sqrt(n) {
			t.Errorf("%s: correlation %.4f", name, r)
		}
	}
	slices.Sort(a)
	d := 0.0 // Kolmogorov-Smirnov; 1.95/sqrt(n) is passed once in 1,000 (from memory)
	for i, x := range a {
		d = max(d, math.Abs(x-float64(i)/n), math.Abs(x-float64(i+1)/n))
	}
	if d > 1.95/math.Sqrt(n) {
		t.Errorf("Kolmogorov-Smirnov distance %.5f", d)
	}
}

func TestTransform(t *testing.T) {
	n := must(t)(Normal(10, 2))
	u := must(t)(Uniform(-1, 3))
	cut := must(t)(Truncate(distuv.Normal{Mu: 0, Sigma: 1}, 0, math.Inf(1)))
	l := plan[*List](t)(NewList(4, [][]float64{{0.975, 0.25, 0.5, 0.9}, {0.5, 0.5, 0.05, 0.1}}))
	p, err := Transform(l, []Dist{n, u, cut, Fixed(4)})
	if err != nil {
		t.Fatal(err)
	}
	// Quantiles of the normal distribution: tables, 1.959964 at .975; the half
	// normal's median is 0.674490, its 5 % point 0.062707.
	want := [][]float64{{10 + 2*1.959964, 0, 0.674490, 4}, {10, 1, 0.062707, 4}}
	for i := range want {
		for k, v := range Point(p, i) {
			if math.Abs(v-want[i][k]) > 1e-6 {
				t.Errorf("point %d, coordinate %d: got %v, want %v", i, k, v, want[i][k])
			}
		}
	}
}

func must(t *testing.T) func(Dist, error) Dist {
	return func(d Dist, err error) Dist {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
}

func TestStreamsBelongToTheirSample(t *testing.T) {
	a, b := Stream(1, 5), Stream(1, 5)
	if a.Float64() != b.Float64() || a.Uint64() != b.Uint64() {
		t.Error("the same sample gave different numbers")
	}
	x := []float64{Stream(1, 5).Float64(), Stream(1, 6).Float64(), Stream(2, 5).Float64()}
	slices.Sort(x)
	if len(slices.Compact(x)) != 3 {
		t.Errorf("streams coincide: %v", x)
	}
}
