package tables

import (
	"math"
	"slices"
	"testing"
)

// Diameter, chamfer c, shortest and longest length, in mm.
// Source: ISO 8734:1997 and ISO 2338:1997 as an open fastener data set has them.
func TestPinSizes(t *testing.T) {
	for standard, rows := range map[string][][4]float64{
		"iso8734": {{2, .35, 5, 20}, {2.5, .4, 6, 24}, {3, .5, 8, 30}, {4, .63, 10, 40},
			{5, .8, 12, 50}, {6, 1.2, 14, 60}, {8, 1.6, 18, 80}, {10, 2, 22, 100}},
		"iso2338": {{2, .35, 6, 20}, {2.5, .4, 6, 24}, {3, .5, 8, 30}, {4, .63, 8, 40},
			{5, .8, 10, 50}, {6, 1.2, 12, 60}, {8, 1.6, 14, 80}, {10, 2, 18, 95}},
	} {
		for _, r := range rows {
			p, err := Builtin().Pin(standard, r[0])
			if err != nil {
				t.Fatal(err)
			}
			if p.Chamfer != r[1] || p.Lengths[0] != r[2] || p.Lengths[len(p.Lengths)-1] != r[3] {
				t.Errorf("%s %g: c %g, lengths %v; want %v", standard, r[0], p.Chamfer, p.Lengths, r)
			}
		}
	}
	// Source: ISO 2338:1997, tolerance classes m6 and h8.
	p, _ := Builtin().Pin("iso2338", 3)
	if !slices.Equal(p.Classes, []string{"m6", "h8"}) {
		t.Errorf("classes %v", p.Classes)
	}
	for class, want := range map[string][2]float64{"m6": {3.002, 3.008}, "h8": {2.986, 3}} {
		least, most, err := p.Limits(class)
		if err != nil || math.Abs(least-want[0]) > 1e-12 || math.Abs(most-want[1]) > 1e-12 {
			t.Errorf("3 %s: %g to %g, %v; want %v", class, least, most, err, want)
		}
	}
	if _, _, err := p.Limits("h6"); err == nil || err.Error() != `ISO 2338 pins of 3 mm are not sold in class "h6"; there are m6, h8` {
		t.Error(err)
	}
}

// Source: ISO 2338:1997 and ISO 8734:1997, common series of lengths.
func TestPinLengths(t *testing.T) {
	all := []float64{2, 3, 4, 5, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30, 32, 35, 40, 45,
		50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100}
	for _, p := range Builtin().Pins.Values {
		for i, l := range p.Lengths {
			at := slices.Index(all, l)
			if at < 0 {
				t.Errorf("%s: %g is not a standard length", p.Name, l)
			}
			if i > 0 && p.Lengths[i-1] != all[at-1] {
				t.Errorf("%s: a standard length below %g is missing", p.Name, l)
			}
		}
	}
	// Source: same; the data set has 66.75 as the upper end of 65 mm, a slip.
	for length, tol := range map[float64]float64{2: .25, 10: .25, 12: .5, 50: .5, 55: .75, 65: .75, 100: .75} {
		if got := LengthTolerance(length); got != tol {
			t.Errorf("tolerance of %g mm: %g, want %g", length, got, tol)
		}
	}
}

// Source: π/4·d²·l at 7.85 g/cm³, in g; catalogues list 1 to 3 % less because of
// the ends.
func TestPinMass(t *testing.T) {
	steel, err := Builtin().Material("steel")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ d, l, mass float64 }{
		{2, 10, .24662}, {3, 10, .55488}, {3, 16, .88781}, {4, 20, 1.97292}, {5, 20, 3.08269}, {6, 30, 6.65861},
	} {
		p, err := Builtin().Pin("iso2338", c.d)
		if err != nil {
			t.Fatal(err)
		}
		if got := p.Mass(c.l, steel.Density.Value); math.Abs(got-c.mass) > 1e-5 {
			t.Errorf("%g x %g: %g g, want %g", c.d, c.l, got, c.mass)
		}
	}
}

func TestChoosePinLength(t *testing.T) {
	p, err := Builtin().Pin("iso2338", 3)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		needed, available, want float64
		err                     string
	}{
		{10, 17, 16, ""},
		{16, 16, 16, ""},
		{16 + 1e-12, 16 - 1e-12, 16, ""},
		{2, 500, 30, ""},
		{16.5, 17.5, 0, "ISO 2338 pin of diameter 3 mm: no standard length from 16.5 to 17.5 mm; the nearest are 16 mm and 18 mm (there are 8 to 30 mm)"},
		{2, 7, 0, "ISO 2338 pin of diameter 3 mm: no standard length from 2 to 7 mm; the nearest are 8 mm (there are 8 to 30 mm)"},
		{31, 40, 0, "ISO 2338 pin of diameter 3 mm: no standard length from 31 to 40 mm; the nearest are 30 mm (there are 8 to 30 mm)"},
		{12, 10, 0, "ISO 2338 pin of diameter 3 mm: needs a length of at least 12 mm where only 10 mm is available"},
	} {
		got, err := p.Length(c.needed, c.available)
		msg := ""
		if err != nil {
			msg = err.Error()
		}
		if got != c.want || msg != c.err {
			t.Errorf("%g to %g: %g, %s\nwant %g, %s", c.needed, c.available, got, msg, c.want, c.err)
		}
	}
	if _, err := p.Length(math.NaN(), 5); err == nil {
		t.Error("NaN was accepted")
	}
	if got := p.Designation("h8", 16); got != "ISO 2338 - 3 h8 x 16" {
		t.Error(got)
	}
	hard, _ := Builtin().Pin("iso8734", 2.5)
	if got := hard.Designation("m6", 6); got != "ISO 8734 - 2.5 x 6" {
		t.Error(got)
	}
}

func TestPinErrors(t *testing.T) {
	for _, c := range []struct {
		standard string
		diameter float64
		want     string
	}{
		{"iso2338", 3.2, "no ISO 2338 pin of diameter 3.2 mm; there are 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10 mm"},
		{"iso2383", 3, `no pin standard "iso2383"; nearest is "iso2338"; there are iso2338, iso8734`},
	} {
		if _, err := Builtin().Pin(c.standard, c.diameter); err == nil || err.Error() != c.want {
			t.Errorf("%v\nwant %s", err, c.want)
		}
	}
	if _, err := Builtin().Pin("iso2338", 0.1+0.2+2.7); err != nil {
		t.Error(err)
	}
}
