package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tuckfinger/assembly/study/stats"
)

// object is a JSON object whose keys a test asks for by path.
type object map[string]any

// at follows a path of keys; a missing key fails and gives nil, one that is there
// with null gives nil too.
func (o object) at(t *testing.T, path ...string) any {
	t.Helper()
	var v any = map[string]any(o)
	for i, k := range path {
		m, _ := v.(map[string]any)
		next, ok := m[k]
		if !ok {
			t.Errorf("no %s", strings.Join(path[:i+1], "."))
			return nil
		}
		v = next
	}
	return v
}

func (o object) number(t *testing.T, path ...string) float64 {
	t.Helper()
	v, ok := o.at(t, path...).(float64)
	if !ok {
		t.Errorf("%s is no number", strings.Join(path, "."))
		return math.NaN()
	}
	return v
}

func (o object) list(t *testing.T, path ...string) []object {
	t.Helper()
	v, _ := o.at(t, path...).([]any)
	out := make([]object, len(v))
	for i := range v {
		out[i], _ = v[i].(map[string]any)
	}
	if len(out) == 0 {
		t.Errorf("%s is empty or no list", strings.Join(path, "."))
	}
	return out
}

// printed runs a command and reads the JSON that it prints.
func printed(t *testing.T, code int, args ...string) object {
	t.Helper()
	var b strings.Builder
	if got := run(args, &b, io.Discard); got != code {
		t.Fatalf("%q: exit code %d, want %d", args, got, code)
	}
	var o object
	if err := json.Unmarshal([]byte(b.String()), &o); err != nil {
		t.Fatal(err)
	}
	return o
}

// events checks a half of the stroke: what happens, to what, where and at which
// slide force, in the order of the travel.
func events(t *testing.T, list []object, from, to float64) {
	t.Helper()
	last := from
	for i, e := range list {
		for _, k := range []string{"name", "kind", "subject"} {
			if s, ok := e.at(t, k).(string); !ok || s == "" {
				t.Errorf("event %d has no %s: %v", i, k, e)
			}
		}
		s := e.number(t, "s_mm")
		if (s-last)*(to-from) < -1e-6 || (s-to)*(to-from) > 1e-6 {
			t.Errorf("event %d at s = %g mm after %g", i, s, last)
		}
		last = s
		e.number(t, "force_N")
	}
}

// What programs read of a finger that has everything: both halves of the stroke, the
// order rules, the passive fold, drive, grasp and place. A build's results.json
// says what check --json says, and its stroke.csv is that of the command stroke.
func TestResultsOfAFinger(t *testing.T) {
	text, err := os.ReadFile("../../examples/rack-lifter/finger.yaml")
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "finger.yaml")
	const rack = "rack: {module: 1, teeth: 12, motor: gearmotor-25mm}"
	if !strings.Contains(string(text), rack) {
		t.Fatalf("the example has no %q", rack)
	}
	edited := strings.Replace(string(text), rack, "screw: {screw: Tr8x8P2, motor: gearmotor-25mm, friction: 0.1}", 1) +
		"\npassive: {body: tip, floor: -30, descent: 4, from: 3, friction: 0.1}\n"
	if err := os.WriteFile(file, []byte(edited), 0o666); err != nil {
		t.Fatal(err)
	}
	o := printed(t, exitGood, "check", file, "--json")
	const travel = 18.4
	events(t, o.list(t, "stroke", "out", "events"), 0, travel)
	events(t, o.list(t, "stroke", "back", "events"), travel, 0)
	for _, r := range o.list(t, "order") {
		holding, driving, margin := r.number(t, "holding_N"), r.number(t, "driving_N"), r.number(t, "margin")
		if math.Abs(holding/driving/margin-1) > 1e-4 || r.at(t, "status") != "kept" || r.at(t, "rule") == "" {
			t.Errorf("%v", r)
		}
	}
	for _, k := range []string{"peak", "peak_power_W", "cycle_s", "slide_force_N", "back_drive_N"} {
		if o.number(t, "drive", k) <= 0 {
			t.Errorf("drive.%s is not above zero", k)
		}
	}
	if time := o.number(t, "drive", "cycle_s"); math.Abs(time-2*travel/5) > 1e-3 { // 5 mm/s
		t.Errorf("a cycle takes %g s", time)
	}
	if w, n := o.number(t, "grasp", "widest_mm"), o.number(t, "grasp", "narrowest_mm"); !(0 < n && n < w) {
		t.Errorf("openings from %g to %g mm", n, w)
	}
	o.number(t, "grasp", "lift_capacity_g")
	carried := map[string]float64{}
	for _, c := range o.list(t, "grasp", "carried") {
		carried[fmt.Sprint(c.at(t, "kind"))] += c.number(t, "load")
	}
	if carried["stop"] <= 0 || carried["drive"] <= 0 || carried["clip"] > 0.05*carried["pads"] {
		t.Errorf("loads run into %v", carried)
	}
	if o.number(t, "place", "blade_mm") > 16 || len(o.list(t, "place", "moves")) < 3 || o.number(t, "place", "swept_area_mm2") <= 0 {
		t.Errorf("place: %v", o.at(t, "place"))
	}
	// The fold, against the descent of the arm.
	if o.at(t, "passive", "starts") != true || len(o.at(t, "passive", "moved").([]any)) == 0 {
		t.Errorf("passive: %v", o.at(t, "passive"))
	}
	if least := o.number(t, "passive", "back_drive_N"); math.Abs(least-o.number(t, "drive", "back_drive_N")) > 1e-3*least {
		t.Errorf("the drive turns back at %g N", least)
	}
	last := -1.0
	for _, s := range o.list(t, "passive", "samples") {
		d := s.number(t, "descent_mm")
		if d < last || s.number(t, "contact_N") < 0 || s.number(t, "back_driven_N") < 0 || s.number(t, "s_mm") < 0 {
			t.Errorf("%v after a descent of %g mm", s, last)
		}
		last = d
	}
	if math.Abs(last-4) > 1e-6 || math.Abs(o.number(t, "passive", "takeover", "reached_s_mm")-travel) > 1e-3 {
		t.Errorf("the fold ends at %g mm; %v", last, o.at(t, "passive", "takeover"))
	}

	dir := filepath.Dir(file)
	t.Chdir(dir)
	for _, args := range [][]string{{"build", file, "-o", "out"}, {"stroke", file}} {
		if code := run(args, io.Discard, io.Discard); code != exitGood {
			t.Fatalf("%q: exit code %d", args, code)
		}
	}
	data, err := os.ReadFile(filepath.Join("out", "results.json"))
	if err != nil {
		t.Fatal(err)
	}
	var built object
	if err := json.Unmarshal(data, &built); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(o, built); d != "" {
		t.Errorf("check --json and results.json differ: %s", d)
	}
	whole, err := os.ReadFile(filepath.Join("out", "stroke.csv"))
	if err != nil {
		t.Fatal(err)
	}
	if alone, err := os.ReadFile("stroke.csv"); err != nil || !bytes.Equal(alone, whole) {
		t.Errorf("stroke.csv is not that of the build: %v", err)
	}
}

// What a scatter study prints for programs: the share of copies that keep every
// rule with its Wilson interval, each rule by itself, and the indices of every
// input.
func TestScatterResults(t *testing.T) {
	const n, base = 24, 4
	o := printed(t, exitGood, "scatter", "../../examples/rack-lifter/finger.yaml", "-n", fmt.Sprint(n), "--base", fmt.Sprint(base), "--seed", "3", "--json")
	interval := func(o object) (holds float64) {
		holds = o.number(t, "holds")
		want, err := stats.Wilson(int(holds), n, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range [][2]float64{{o.number(t, "share"), holds / n}, {o.number(t, "low"), want.Low}, {o.number(t, "high"), want.High}} {
			if !(math.Abs(v[0]-v[1]) < 1e-5) {
				t.Errorf("%g, want %g: %v", v[0], v[1], o)
			}
		}
		return holds
	}
	if o.number(t, "n") != n {
		t.Errorf("n is %v", o["n"])
	}
	all := interval(o)
	rules := o.list(t, "rules")
	for _, r := range rules {
		if interval(r) < all || r.at(t, "name") == "" {
			t.Errorf("%v: all rules hold in %g copies", r, all)
		}
	}
	inputs, outputs := map[any]bool{}, map[any]bool{}
	for _, x := range o.list(t, "indices") {
		inputs[x.at(t, "input")], outputs[x.at(t, "output")] = true, true
		x.number(t, "first")
		x.number(t, "total")
	}
	if len(rules) != 3 || len(inputs) != len(o.list(t, "inputs")) || len(outputs) < len(rules) {
		t.Errorf("%d rules, indices of %v for %v", len(rules), inputs, outputs)
	}
}
