package tables

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// The deviations of every class in every band, in µm, lower/upper.
// Source: ISO 286-1:2010 and ISO 286-2:2010. At 2, 2.5 and 3 mm the classes g6,
// f7, k6, n6, p6 and js6 are recalled; their widths are IT6 and IT7.
func TestLimits(t *testing.T) {
	sizes := [3][]float64{{1, 2, 2.5, 3}, {4, 5, 6}, {8, 10}}
	for class, want := range map[string][3][2]float64{
		"H7":  {{0, 10}, {0, 12}, {0, 15}},
		"H8":  {{0, 14}, {0, 18}, {0, 22}},
		"H9":  {{0, 25}, {0, 30}, {0, 36}},
		"H11": {{0, 60}, {0, 75}, {0, 90}},
		"g6":  {{-8, -2}, {-12, -4}, {-14, -5}},
		"f7":  {{-16, -6}, {-22, -10}, {-28, -13}},
		"k6":  {{0, 6}, {1, 9}, {1, 10}},
		"p6":  {{6, 12}, {12, 20}, {15, 24}},
		"h6":  {{-6, 0}, {-8, 0}, {-9, 0}},
		"h7":  {{-10, 0}, {-12, 0}, {-15, 0}},
		"h8":  {{-14, 0}, {-18, 0}, {-22, 0}},
		"h9":  {{-25, 0}, {-30, 0}, {-36, 0}},
		"h11": {{-60, 0}, {-75, 0}, {-90, 0}},
		"m6":  {{2, 8}, {4, 12}, {6, 15}},
		"n6":  {{4, 10}, {8, 16}, {10, 19}},
		"js6": {{-3, 3}, {-4, 4}, {-4.5, 4.5}},
		// Mirrors of g6, f7 and js6 by the general rule EI = −es.
		"G6":  {{2, 8}, {4, 12}, {5, 14}},
		"F7":  {{6, 16}, {10, 22}, {13, 28}},
		"JS6": {{-3, 3}, {-4, 4}, {-4.5, 4.5}},
	} {
		for band, list := range sizes {
			for _, size := range list {
				lower, upper, err := Limits(size, class)
				if err != nil {
					t.Errorf("%g %s: %v", size, class, err)
				} else if lower != want[band][0]/1000 || upper != want[band][1]/1000 {
					t.Errorf("%g %s: %g to %g mm, want %v µm", size, class, lower, upper, want[band])
				}
			}
		}
	}
	// A size that arithmetic left in the last bit over the end of its band.
	if _, upper, err := Limits(0.1*3*10, "H7"); err != nil || upper != 0.010 {
		t.Errorf("3.0000000000000004 mm: %g, %v", upper, err)
	}
	if _, upper, _ := Limits(3.001, "H7"); upper != 0.012 {
		t.Errorf("3.001 mm: %g", upper)
	}
}

// Source: ISO 286-1:2010, Table 1. Two pages on the net have 7, 9 and 90 µm for
// IT6, IT7 and IT12 up to 3 mm; they are wrong.
func TestTolerances(t *testing.T) {
	want := map[float64][8]float64{
		2: {6, 10, 14, 25, 40, 60, 100, 140},
		5: {8, 12, 18, 30, 48, 75, 120, 180},
		8: {9, 15, 22, 36, 58, 90, 150, 220},
	}
	for size, list := range want {
		for i, um := range list {
			if got, err := Tolerance(size, 6+i); err != nil || got != um/1000 {
				t.Errorf("IT%d at %g mm: %g, %v; want %g µm", 6+i, size, got, err, um)
			}
		}
	}
	// The formula behind the table: factor·(0.45·D^(1/3) + 0.001·D) µm, D the
	// geometric mean of the band. The table rounds it by up to 5 %.
	factors := map[int]float64{6: 10, 7: 16, 8: 25, 9: 40, 10: 64, 11: 100, 12: 160, 13: 250, 14: 400}
	for grade, factor := range factors {
		for _, band := range [][2]float64{{3, 6}, {6, 10}} {
			d := math.Sqrt(band[0] * band[1])
			raw := factor * (0.45*math.Cbrt(d) + 0.001*d)
			got, _ := Tolerance(band[1], grade)
			if r := got * 1000 / raw; r < 0.95 || r > 1.1 {
				t.Errorf("IT%d up to %g: %g µm, formula %.4g", grade, band[1], got*1000, raw)
			}
		}
	}
	for _, grade := range []int{5, 15} {
		if _, err := Tolerance(5, grade); err == nil {
			t.Errorf("IT%d is not tabulated, but was given", grade)
		}
	}
}

// Source: differences of ISO 286 deviations; µm, negative is interference.
func TestFits(t *testing.T) {
	for _, c := range []struct {
		size        float64
		hole, shaft string
		least, most float64
	}{
		{5, "H7", "g6", 4, 24}, {2, "H7", "f7", 6, 26}, {8, "H7", "h6", 0, 24},
		{3, "H11", "h11", 0, 120}, {4, "H7", "m6", -12, 8}, {8, "H7", "js6", -4.5, 19.5},
	} {
		least, most, err := Fit(c.size, c.hole, c.shaft)
		if err != nil || least != c.least/1000 || most != c.most/1000 {
			t.Errorf("%g %s/%s: %g to %g, %v; want %g to %g µm", c.size, c.hole, c.shaft, least, most, err, c.least, c.most)
		}
	}
}

func TestLimitErrors(t *testing.T) {
	for _, c := range []struct {
		size  float64
		class string
		want  string
	}{
		{0.5, "H7", "size 0.5 mm: ISO 286 limits are tabulated from 1 to 10 mm"},
		{10.01, "H7", "size 10.01 mm: ISO 286 limits are tabulated from 1 to 10 mm"},
		{math.NaN(), "H7", "size NaN mm: ISO 286 limits are tabulated from 1 to 10 mm"},
		{math.Inf(1), "H7", "size +Inf mm: ISO 286 limits are tabulated from 1 to 10 mm"},
		{-3, "H7", "size -3 mm: ISO 286 limits are tabulated from 1 to 10 mm"},
		{3, "", `tolerance class "" is not a letter and a grade, such as H7 or m6`},
		{3, "7", `tolerance class "7" is not a letter and a grade, such as H7 or m6`},
		{3, "H", `tolerance class "H" is not a letter and a grade, such as H7 or m6`},
		{3, "H7x", `tolerance class "H7x" is not tabulated: ` + knownClasses + " are"},
		{3, "H07", `tolerance class "H07" is not tabulated: ` + knownClasses + " are"},
		{3, "H5", `tolerance class "H5" is not tabulated: ` + knownClasses + " are"},
		{3, "K7", `tolerance class "K7" is not tabulated: ` + knownClasses + " are"},
		{3, "k8", `tolerance class "k8" is not tabulated: ` + knownClasses + " are"},
	} {
		if _, _, err := Limits(c.size, c.class); err == nil || err.Error() != c.want {
			t.Errorf("%g %q: %v\nwant %s", c.size, c.class, err, c.want)
		}
	}
	for _, c := range [][2]string{{"h7", "g6"}, {"H7", "G6"}, {"Q7", "g6"}, {"H7", "q6"}} {
		if _, _, err := Fit(5, c[0], c[1]); err == nil {
			t.Errorf("fit %s/%s was accepted", c[0], c[1])
		}
	}
	// What the error says is known, is known.
	for letter := range strings.SplitSeq("F G H JS f g h js k m n p", " ") {
		for grade := 6; grade <= 14; grade++ {
			_, _, err := Limits(5, fmt.Sprint(letter, grade))
			if known := letter != "k" || grade < 8; known != (err == nil) {
				t.Errorf("%s%d: %v", letter, grade, err)
			}
		}
	}
}
