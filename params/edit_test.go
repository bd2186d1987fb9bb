package params

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestSetDimension(t *testing.T) {
	const text = "# head\ntuckfinger: 1\ndimensions:\n  a: {unit: mm, value: 3 , note: 'é'} # keep\n  b:\n    value:   -2.5 mm   # with unit\n    unit: mm\n  c: {value: 2*a + b, unit: mm}\n  d: {value: \"3 + 1\", unit: mm}\n  é: {note: µµ, value: 7}\n"
	for _, c := range []struct {
		name        string
		value       float64
		old, new    string
		crlf, bom   bool
		errContains string
	}{
		{name: "a", value: 12.25, old: "value: 3 ,", new: "value: 12.25 ,"},
		{name: "a", value: -1e-9, old: "value: 3 ,", new: "value: -1e-09 ,"},
		{name: "b", value: 4, old: "-2.5 mm ", new: "4 mm "},
		{name: "b", value: 4, old: "-2.5 mm ", new: "4 mm ", crlf: true},
		{name: "a", value: 0, old: "value: 3 ,", new: "value: 0 ,", bom: true, crlf: true},
		{name: "é", value: 8, old: "value: 7", new: "value: 8"},
		{name: "c", errContains: "is computed (2*a + b)"},
		{name: "d", errContains: "is not a plain number"},
		{name: "A", errContains: `no dimension "A"; did you mean "a"?`},
		{name: "zzzz", errContains: `no dimension "zzzz"; it has a, b, c, d and é`},
		{name: "a", value: math.NaN(), errContains: "not a finite number"},
		{name: "a", value: math.Inf(1), errContains: "not a finite number"},
	} {
		in, want := text, strings.Replace(text, c.old, c.new, 1)
		if c.crlf {
			in, want = strings.ReplaceAll(in, "\n", "\r\n"), strings.ReplaceAll(want, "\n", "\r\n")
		}
		if c.bom {
			in, want = "\ufeff"+in, "\ufeff"+want
		}
		got, err := SetDimension([]byte(in), c.name, c.value)
		if c.errContains != "" {
			if err == nil || !strings.Contains(err.Error(), c.errContains) {
				t.Errorf("%s: error %v, want %q", c.name, err, c.errContains)
			}
			continue
		}
		if err != nil || string(got) != want {
			t.Errorf("%s = %v: %v\n%s", c.name, c.value, err, got)
		}
	}
	if _, err := SetDimension([]byte("a: [\n"), "a", 1); err == nil {
		t.Error("no error for a broken file")
	}
}

// A number that is set reads back as the same number.
func TestSetDimensionReadsBack(t *testing.T) {
	data := []byte(base(t))
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(2, 5).Draw(t, "v")
		out, err := SetDimension(data, "pin", v)
		if err != nil {
			t.Fatal(err)
		}
		out = []byte(strings.ReplaceAll(string(out), "diameter: pin", "standard: printed, diameter: pin"))
		d, err := Parse("f", out, nil)
		if err != nil {
			t.Fatal(err)
		}
		if got := d.Dimensions.Get("pin").Value; got != v {
			t.Fatalf("set %v, read %v", v, got)
		}
	})
}
