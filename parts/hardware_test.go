package parts

import (
	"strings"
	"testing"

	"tuckfinger/params"
)

// Pins of 5 mm are sold from 10 mm on (ISO 2338): one through two thin layers has no
// standard length, and is not listed as a standard pin.
func TestPinWithoutAStandardLength(t *testing.T) {
	d, err := params.Load("../examples/rack-lifter/finger.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if d, err = d.With(map[string]float64{"pin": 5}); err != nil {
		t.Fatal(err)
	}
	all, err := Build(d)
	if err != nil {
		t.Fatal(err)
	}
	items, err := Hardware(d, all)
	if err != nil {
		t.Fatal(err)
	}
	short := 0
	for _, it := range items {
		if it.Kind != "pin" {
			continue
		}
		none := it.Length < 10
		if none {
			short++
		}
		if none != (it.Problem != "") || none != (it.Standard == "") || none != strings.Contains(it.What, "no standard length") || strings.Contains(it.What, "ISO") == none {
			t.Errorf("%.2f mm: %q of %q, %q", it.Length, it.What, it.Standard, it.Problem)
		}
	}
	if short == 0 {
		t.Error("no pin is that short")
	}
}
