package params

import (
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const goodSweep = `tuckfinger_sweep: 1
note: Rail and swing.
finger: fingers/base.yaml
checks: stroke
grid:
  play: {values: [0.1, 0.2 mm]}
  swing: {from: 30, to: 60, count: 4}
`

// sweepFiles serves the base file as fingers/base.yaml.
func sweepFiles(t *testing.T) ReadTable {
	text := base(t)
	return func(rel string) ([]byte, error) {
		if rel != "fingers/base.yaml" {
			return nil, os.ErrNotExist
		}
		return []byte(text), nil
	}
}

func TestSweep(t *testing.T) {
	s, err := ParseSweep("dir/sweep.yaml", []byte(goodSweep), sweepFiles(t))
	if err != nil {
		t.Fatal(err)
	}
	if s.Design.Name != "test-finger" || s.Checks != "stroke" || s.Grid.Len() != 2 || s.Grid.Values[0].Values[1] != 0.2 || *s.Grid.Get("swing").Count != 4 {
		t.Errorf("%+v", s)
	}
	o, err := ParseSweep("dir/sweep.yaml", []byte(strings.Replace(goodSweep, "count: 4", "count: 5", 1)), sweepFiles(t))
	if err != nil || o.ID == s.ID || len(s.ID) != 64 {
		t.Errorf("another plan has the ID %s, %v", o.ID, err)
	}
	text := strings.Replace(base(t), "mass: 250", "mass: 260", 1)
	o, err = ParseSweep("dir/sweep.yaml", []byte(goodSweep), func(string) ([]byte, error) { return []byte(text), nil })
	if err != nil || o.ID == s.ID {
		t.Errorf("another finger has the same ID, %v", err)
	}
	s, err = ParseSweep("s", []byte("tuckfinger_sweep: 1\nfinger: fingers/base.yaml\nsobol: {count: 8, over: {pin: {high: 4}}}\n"), sweepFiles(t))
	if err != nil {
		t.Fatal(err)
	}
	if pin := s.Sobol.Over.Get("pin"); *pin.Low != 2 || *pin.High != 4 || s.Sobol.Seed != nil {
		t.Errorf("bounds %v to %v, want those of the range where none is given", *pin.Low, *pin.High)
	}
}

func TestBrokenSweeps(t *testing.T) {
	plan := "grid:\n  play: {values: [0.1, 0.2 mm]}\n  swing: {from: 30, to: 60, count: 4}\n"
	for _, c := range []struct{ old, new, want string }{
		{goodSweep, " \n", "s.yaml:1:1: the file is empty; it needs tuckfinger_sweep and finger and a plan"},
		{goodSweep, "- 1\n", `s.yaml:1:1: a sweep file is "key: value" lines, starting with "tuckfinger_sweep: 1", not a list`},
		{"_sweep: 1", "_sweep: 2", "s.yaml:1:19: tuckfinger_sweep: is 2; it must be 1"},
		{"finger: fingers/base.yaml\n", "", `s.yaml:1:1: needs "finger", text: the finger file, relative to this file, with forward slashes`},
		{"fingers/base.yaml", "base.yaml", `s.yaml:3:9: finger: finger file "base.yaml" cannot be read: file does not exist; the path is relative to this file`},
		{"fingers/base.yaml", "/base.yaml", `s.yaml:3:9: finger: "/base.yaml" is not a path relative to this file with forward slashes; write for example finger.yaml`},
		{"checks: stroke", "checks: some", `s.yaml:4:9: checks: "some" is not allowed; choose all or stroke`},
		{plan, "", "s.yaml:1:1: needs exactly one of grid, list, latin or sobol"},
		{plan, plan + "list: {pin: [1]}\n", "s.yaml:8:1: has grid and list; exactly one of grid, list, latin or sobol is allowed"},
		{"swing: {", "swung: {", `s.yaml:7:3: grid: "swung" is not a dimension of the finger; did you mean "swing"?`},
		{"swing: {", "blade: {", `s.yaml:7:3: grid.blade: dimension "blade" is computed from pin and play; vary those, or give it a number`},
		{"0.2 mm", "0.2 deg", "s.yaml:6:24: grid.play.values[1]: is an angle in deg, but a length in mm is wanted"},
		{"0.2 mm", "pin", `s.yaml:6:24: grid.play.values[1]: "pin" is not a number; only a finger file has dimensions to compute with`},
		{"[0.1, 0.2 mm]", "[]", "s.yaml:6:3: grid.play: needs values, or from, to and count"},
		{", count: 4", "", "s.yaml:7:3: grid.swing: equally spaced values need from, to and count"},
		{"count: 4", "count: 4, values: [1]", "s.yaml:7:3: grid.swing: has values and equally spaced ones; delete one of them"},
		{plan, "grid: {}\n", "s.yaml:5:1: grid: is empty; name one or more dimensions"},
		{plan, "list: {pin: [2, 3], swing: [30]}\n", `s.yaml:5:28: list.swing: has 1 values, but "pin" has 2; give each variant one`},
		{plan, "list: {pin: []}\n", "s.yaml:5:13: list.pin: is empty; give one value or more"},
		{plan, "latin: {count: 8, over: {swing: {low: 30}}}\n", `s.yaml:5:26: latin.over.swing: needs "high", since dimension "swing" has no range`},
		{plan, "sobol: {count: 0, over: {pin: {}}}\n", "s.yaml:5:16: sobol.count: is 0; it must be at least 1 and at most 1000000000"},
		{plan, "sobol: {count: 8, over: {blade: {low: 1, high: 2}}}\n", `s.yaml:5:26: sobol.over.blade: dimension "blade" is computed from pin and play; free those, or give it a number`},
		{"note: Rail and swing.", "nite: x", `s.yaml:2:1: "nite" is not a key here; did you mean "note"?`},
	} {
		if strings.Count(goodSweep, c.old) != 1 {
			t.Fatalf("%q is not in the file once", c.old)
		}
		_, err := ParseSweep("s.yaml", []byte(strings.Replace(goodSweep, c.old, c.new, 1)), sweepFiles(t))
		got := ""
		if err != nil {
			got = err.Error()
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%q (-want +got):\n%s", c.new, diff)
		}
	}
	// Errors of the finger file are told with its own path.
	_, err := ParseSweep("dir/s.yaml", []byte(goodSweep), func(string) ([]byte, error) { return []byte("tuckfinger: 3\n"), nil })
	if err == nil || !strings.HasPrefix(err.Error(), "dir/fingers/base.yaml:1:1: needs") {
		t.Errorf("got %v", err)
	}
}
