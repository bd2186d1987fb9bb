package stats

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

// Four parts in inches: a public page on tolerance stacks gives ±.015 and ±.00794.
// Ten of 0.1: another gives 1.0 and .316. The rest by hand.
func TestStackUp(t *testing.T) {
	ten := slices.Repeat([]float64{.1}, 10)
	for _, c := range []struct {
		name            string
		tol             []float64
		worst, rss, eps float64
	}{
		{"four parts", []float64{.005, .003, .002, .005}, .015, .0079373, 1e-7},
		{"ten parts", ten, 1, .316228, 1e-6},
		{"five parts", []float64{.1, .15, .05, .2, .1}, .6, .291548, 1e-6},
		{"five parts, inflated by 1.5", []float64{.15, .225, .075, .3, .15}, .9, .437321, 1e-6},
		{"signs", []float64{-3, 4}, 7, 5, 1e-15},
	} {
		s := StackUp(c.tol...)
		near(t, c.name+" worst case", s.WorstCase, c.worst, c.eps)
		near(t, c.name+" RSS", s.RSS, c.rss, c.eps)
	}
}

// R's prop.test values in SciPy's test data, without and with continuity
// correction; then table I of Newcombe 1998 (four digits from memory, worked out
// again).
func TestWilson(t *testing.T) {
	for _, c := range []struct {
		source    string
		f         func(k, n int, confidence float64) (Interval, error)
		k, n      int
		low, high float64
	}{
		{"prop.test", Wilson, 3, 10, .1077913, .6032219},
		{"prop.test", Wilson, 0, 10, 0, .2775328},
		{"prop.test", Wilson, 10, 10, .7224672, 1},
		{"prop.test, corrected", WilsonCorrected, 3, 10, .0809478, .6463293},
		{"prop.test, corrected", WilsonCorrected, 0, 10, 0, .3445372},
		{"prop.test, corrected", WilsonCorrected, 10, 10, .6554628, 1},
		{"Newcombe", Wilson, 81, 263, .255289, .366210},
		{"Newcombe", Wilson, 15, 148, .062386, .160487},
		{"Newcombe", Wilson, 0, 20, 0, .161125},
		{"Newcombe", Wilson, 1, 29, .006113, .171755},
	} {
		iv, err := c.f(c.k, c.n, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.source+" low", iv.Low, c.low, 1e-6)
		near(t, c.source+" high", iv.High, c.high, 1e-6)
		if c.k == 0 && iv.Low != 0 || c.k == c.n && iv.High != 1 {
			t.Errorf("%s: %d of %d gives %v, want the exact end", c.source, c.k, c.n, iv)
		}
	}
}

// The corrected interval covers at least nearly as often as it says: the
// coverage is a finite sum over the binomial distribution (Newcombe 1998, who
// finds the mean above 95 % for this one and about 95 % for the other).
func TestWilsonCoverage(t *testing.T) {
	const n = 30
	cover := func(f func(k, n int, confidence float64) (Interval, error), p float64) (c float64) {
		for k := range n + 1 {
			if iv, _ := f(k, n, 0.95); iv.Low <= p && p <= iv.High {
				c += distuv.Binomial{N: n, P: p}.Prob(float64(k))
			}
		}
		return c
	}
	plain, corrected, worst := 0.0, 0.0, 1.0
	for i := range 999 {
		p := float64(i+1) / 1000
		plain += cover(Wilson, p) / 999
		c := cover(WilsonCorrected, p)
		corrected += c / 999
		worst = min(worst, c)
	}
	near(t, "mean coverage", plain, 0.953, 0.004)
	near(t, "mean coverage, corrected", corrected, 0.971, 0.006)
	if worst < 0.93 {
		t.Errorf("corrected interval covers %.3f at worst", worst)
	}
}

func TestImpossibleQuestionsAreErrors(t *testing.T) {
	for want, f := range map[string]func() error{
		"5 of 4 trials":  func() error { _, err := Wilson(5, 4, 0.95); return err },
		"0 of 0 trials":  func() error { _, err := WilsonCorrected(0, 0, 0.95); return err },
		"confidence 95":  func() error { _, err := Wilson(1, 2, 95); return err },
		"confidence NaN": func() error { _, err := CopiesBeyond(0.9, math.NaN(), false); return err },
		"share 1":        func() error { _, err := CopiesBeyond(1, 0.95, false); return err },
		"quantile 0":     func() error { _, err := QuantileInterval([]float64{1}, 0, 0.95); return err },
	} {
		if err := f(); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}

// Definition 7 of Hyndman and Fan, worked by hand.
func TestQuantile(t *testing.T) {
	x := []float64{1, 2, 4, 8, 16}
	for p, want := range map[float64]float64{0: 1, 0.1: 1.4, 0.25: 2, 0.5: 4, 0.6: 5.6, 0.95: 14.4, 1: 16} {
		near(t, "quantile", Quantile(x, p), want, 1e-12)
	}
	if q := Quantile([]float64{1, math.Inf(1), math.Inf(1)}, 0.75); !math.IsInf(q, 1) {
		t.Errorf("between infinities: got %v", q)
	}
}

// Tables of the sign interval of a median at 95 %: ranks 2 and 9 of 10, 6 and
// 15 of 20, none of 5 (Conover, Practical nonparametric statistics; from
// memory, confirmed by the binomial sums 0.9785 and 0.9586).
func TestQuantileInterval(t *testing.T) {
	for n, want := range map[int]Interval{10: {2, 9}, 20: {6, 15}, 5: {math.Inf(-1), math.Inf(1)}} {
		x := make([]float64, n)
		for i := range x {
			x[i] = float64(i + 1)
		}
		iv, err := QuantileInterval(x, 0.5, 0.95)
		if err != nil || iv != want {
			t.Errorf("n = %d: got %v, %v, want %v", n, iv, err, want)
		}
	}
}

// The interval holds the true quantile at least as often as it says.
func TestQuantileIntervalCovers(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	const trials, p = 2000, 0.05
	truth := -math.Log(1 - p) // of the unit exponential distribution
	hit := 0
	for range trials {
		x := make([]float64, 200)
		for i := range x {
			x[i] = rng.ExpFloat64()
		}
		slices.Sort(x)
		if iv, _ := QuantileInterval(x, p, 0.95); iv.Low <= truth && truth <= iv.High {
			hit++
		}
	}
	if share := float64(hit) / trials; share < 0.95-3*math.Sqrt(.05*.95/trials) || share > 0.985 {
		t.Errorf("covers %.3f", share)
	}
}

// Wilks' 59 and 93 for 95 % of copies at 95 % confidence, and 299 for 99 % at
// 95 % one-sided: well-known values, from memory.
func TestCopiesBeyond(t *testing.T) {
	for _, c := range []struct {
		share, confidence float64
		both              bool
		want              int
	}{{.95, .95, false, 59}, {.95, .95, true, 93}, {.99, .95, false, 299}, {.9, .95, false, 29}, {.5, .4, false, 1}} {
		if n, err := CopiesBeyond(c.share, c.confidence, c.both); n != c.want || err != nil {
			t.Errorf("%v: got %d, %v", c, n, err)
		}
	}
}

// The k-th of n uniform values has mean k/(n+1), variance
// k(n+1-k)/((n+1)²(n+2)) (David and Nagaraja §2.1), here by simulation too.
func TestOrderStatistic(t *testing.T) {
	const k, n, trials = 3, 8, 40000
	b := OrderStatistic(k, n)
	near(t, "mean", b.Mean(), 3./9, 1e-12)
	near(t, "variance", b.Variance(), 3.*6/(81*10), 1e-12)
	rng := rand.New(rand.NewPCG(3, 4))
	below := 0
	for range trials {
		x := make([]float64, n)
		for i := range x {
			x[i] = rng.Float64()
		}
		slices.Sort(x)
		if x[k-1] < 0.3 {
			below++
		}
	}
	near(t, "share below 0.3", float64(below)/trials, b.CDF(0.3), 4*0.5/math.Sqrt(trials))
}

func TestSummarise(t *testing.T) {
	s, err := Summarise([]float64{3, math.NaN(), 1, 2, 6}, []float64{0.5}, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	if s.N != 5 || s.NaN != 1 || s.Min != 1 || s.Max != 6 || s.Mean != 3 {
		t.Errorf("got %+v", s)
	}
	near(t, "standard deviation", s.SD, math.Sqrt(14./3), 1e-12)
	near(t, "median", s.Quantiles[0].Value, 2.5, 1e-12)
	if s, _ = Summarise([]float64{1, math.Inf(1)}, nil, 0.5); !math.IsNaN(s.Mean) || !math.IsInf(s.Max, 1) {
		t.Errorf("with an infinity: %+v", s)
	}
	if s, err = Summarise([]float64{math.NaN()}, []float64{0.5}, 0.5); err != nil || !math.IsNaN(s.Min) {
		t.Errorf("without numbers: %+v, %v", s, err)
	}
}
