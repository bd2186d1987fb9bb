package num

import (
	"encoding/json"
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func TestText(t *testing.T) {
	tenth := 0.1 // a variable, for constants are exact
	for _, c := range []struct {
		v      float64
		digits int
		want   string
	}{
		{0, 6, "0"}, {math.Copysign(0, -1), 6, "0"}, {-1e-13, 6, "0"}, {1.0 / 3, 6, "0.333333"}, {-2.0 / 3, 3, "-0.667"},
		{123456.5, 6, "123456"}, {1234567, 6, "1234570"}, {1e15, 6, "1e+15"}, {9.999999e14, 6, "1e+15"}, {2e-7, 6, "2e-07"},
		{tenth + 2*tenth, 17, "0.30000000000000004"}, {14.270000001, 6, "14.27"}, {math.MaxFloat64, 3, "1.7976931348623157e+308"},
	} {
		if got := Text(c.v, c.digits); got != c.want {
			t.Errorf("Text(%g, %d) = %s, want %s", c.v, c.digits, got, c.want)
		}
	}
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if Finite(v) {
			t.Errorf("%g is called finite", v)
		}
	}
}

func TestTextReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		digits := rapid.IntRange(1, 17).Draw(t, "digits")
		s := Text(v, digits)
		if !json.Valid([]byte(s)) {
			t.Fatalf("%s is no JSON number", s)
		}
		r, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(v) < Noise {
			if r != 0 {
				t.Fatalf("%g became %s", v, s)
			}
			return
		}
		// Half a unit of the last digit.
		if math.Abs(r-v) > 0.5000001*math.Pow10(1-digits)*math.Abs(v) {
			t.Fatalf("%g to %d digits became %s", v, digits, s)
		}
		if Text(r, digits) != s {
			t.Fatalf("%s is not stable", s)
		}
	})
}
