package stats

import (
	"errors"
	"math"
	"testing"

	"tuckfinger/assembly/study/sample"
)

// ishigami is Ishigami and Homma's function for a = 7, b = 0.1 with its closed
// forms, the formulas of SciPy's test data (V13 is 8b²π⁸/225; a value printed in a
// text book is wrong) and the values of SALib.
type ishigami struct{ a, b float64 }

func (f ishigami) at(u []float64) float64 {
	x := func(k int) float64 { return math.Pi * (2*u[k] - 1) }
	s := math.Sin(x(1))
	return math.Sin(x(0)) + f.a*s*s + f.b*math.Pow(x(2), 4)*math.Sin(x(0))
}

func (f ishigami) variances() (v, v1, v2, v13 float64) {
	v1 = 0.5 * math.Pow(1+f.b*math.Pow(math.Pi, 4)/5, 2)
	v2 = f.a * f.a / 8
	v13 = 8 * f.b * f.b * math.Pow(math.Pi, 8) / 225
	return 0.5 + v2 + f.b*math.Pow(math.Pi, 4)/5 + f.b*f.b*math.Pow(math.Pi, 8)/18, v1, v2, v13
}

// run evaluates a design.
func run(d *Design, f func(u []float64) float64) []float64 {
	y := make([]float64, d.Len())
	for i := range y {
		y[i] = f(sample.Point(d, i))
	}
	return y
}

func TestIshigamiClosedForm(t *testing.T) {
	v, v1, v2, v13 := ishigami{7, 0.1}.variances()
	near(t, "variance", v, 13.844588, 1e-6)
	near(t, "S1", v1/v, .313905, 1e-6)
	near(t, "S2", v2/v, .442411, 1e-6)
	near(t, "S13", v13/v, .243684, 1e-6)
	near(t, "total of 1", (v1+v13)/v, .557589, 1e-6)
	near(t, "total of 2", v2/v, .442411, 1e-6)
	near(t, "total of 3", v13/v, .243684, 1e-6)
	near(t, "the parts sum up", (v1+v2+v13)/v, 1, 1e-12)
}

// The same, sampled: 0.02 at N = 4096.
func TestIshigamiSampled(t *testing.T) {
	f := ishigami{7, 0.1}
	first := []float64{.313905, .442411, 0}
	total := []float64{.557589, .442411, .243684}
	for seed := range uint64(3) {
		d, err := NewDesign(4096, 3, seed)
		if err != nil {
			t.Fatal(err)
		}
		y := run(d, f.at)
		mean, square := 0.0, 0.0
		for i := 0; i < len(y); i += 5 { // matrices A and B
			mean += (y[i] + y[i+1]) / 8192
			square += (y[i]*y[i] + y[i+1]*y[i+1]) / 8192
		}
		near(t, "mean", mean, 3.5, 0.02)
		near(t, "variance", square-mean*mean, 13.844588, 0.15)
		idx, dropped, err := d.Indices(y, 0.95, seed)
		if err != nil || dropped != 0 {
			t.Fatal(err, dropped)
		}
		for i, x := range idx {
			near(t, "first", x.First, first[i], .02)
			near(t, "total", x.Total, total[i], .02)
			if x.FirstRange.Low > first[i] || x.FirstRange.High < first[i] ||
				x.TotalRange.Low > total[i] || x.TotalRange.High < total[i] {
				t.Errorf("seed %d, input %d: intervals %v and %v miss %v and %v", seed, i, x.FirstRange, x.TotalRange, first[i], total[i])
			}
			if w := x.TotalRange.High - x.TotalRange.Low; w > 0.1 {
				t.Errorf("interval of the total index is %v wide", w)
			}
		}
	}
}

// Sobol's G function in eight inputs, a as in SALib; closed form, then sampled.
func TestSobolG(t *testing.T) {
	a := []float64{0, 1, 4.5, 9, 99, 99, 99, 99}
	first := []float64{.716192, .179048, .0236757, .00716192, 7.162e-5, 7.162e-5, 7.162e-5, 7.162e-5}
	total := []float64{.787144, .242198, .0343169, .0104604, 1.0495e-4, 1.0495e-4, 1.0495e-4, 1.0495e-4}
	v := 1.0
	for _, ai := range a {
		v *= 1 + 1/(3*(1+ai)*(1+ai))
	}
	near(t, "variance", v-1, .465424, 1e-6)
	d, err := NewDesign(4096, len(a), 11)
	if err != nil {
		t.Fatal(err)
	}
	idx, _, err := d.Indices(run(d, func(u []float64) float64 {
		g := 1.0
		for i, ai := range a {
			g *= (math.Abs(4*u[i]-2) + ai) / (1 + ai)
		}
		return g
	}), 0.95, 1)
	if err != nil {
		t.Fatal(err)
	}
	for i, x := range idx {
		vi := 1 / (3 * (1 + a[i]) * (1 + a[i]))
		near(t, "closed form, first", vi/(v-1), first[i], 1e-6)
		near(t, "closed form, total", vi*v/(1+vi)/(v-1), total[i], 1e-6)
		near(t, "first", x.First, first[i], .02)
		near(t, "total", x.Total, total[i], .02)
	}
}

// With more inputs than a Sobol sequence serves, points are random: a linear
// model whose inputs have equal shares.
func TestManyInputs(t *testing.T) {
	const k = 70
	d, err := NewDesign(500, k, 1)
	if err != nil {
		t.Fatal(err)
	}
	idx, _, err := d.Indices(run(d, func(u []float64) float64 {
		return 3*u[0] + 4*u[k-1]
	}), 0.95, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "first input", idx[0].Total, 9./25, .08)
	near(t, "last input", idx[k-1].Total, 16./25, .12)
	near(t, "another input", idx[5].Total, 0, 1e-12)
}

func TestIndicesOfOddOutputs(t *testing.T) {
	d, err := NewDesign(256, 2, 1)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := d.Indices(run(d, func([]float64) float64 { return 0.1 }), 0.95, 1); !errors.Is(err, ErrConstant) {
		t.Errorf("constant output: got %v", err)
	}
	y := run(d, func(u []float64) float64 { return u[0] })
	y[0], y[9] = math.NaN(), math.Inf(1)
	idx, dropped, err := d.Indices(y, 0.95, 1)
	if err != nil || dropped != 2 {
		t.Fatal(err, dropped)
	}
	near(t, "first input", idx[0].First, 1, 0.03)
	near(t, "second input", idx[1].Total, 0, 1e-12)
	if _, _, err := d.Indices(y[1:], 0.95, 1); err == nil {
		t.Error("a missing output is no error")
	}
}
