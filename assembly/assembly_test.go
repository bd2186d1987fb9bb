package assembly

import (
	"os"
	"strings"
	"testing"

	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/params"
	"tuckfinger/parts"
)

// example reads an example's file with texts replaced, old and new in turn.
func example(t testing.TB, name string, change ...string) *params.Design {
	t.Helper()
	data, err := os.ReadFile("../examples/" + name + "/finger.yaml")
	if err != nil {
		t.Fatal(err)
	}
	text := string(data)
	for i := 0; i < len(change); i += 2 {
		if !strings.Contains(text, change[i]) {
			t.Fatalf("%s has no %q", name, change[i])
		}
		text = strings.Replace(text, change[i], change[i+1], 1)
	}
	d, err := params.Parse(name+".yaml", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// rules computes a design's stroke and order rules.
func rules(t *testing.T, d *params.Design) (*stroke.Result, []stroke.RuleResult) {
	t.Helper()
	all, err := parts.Build(d)
	if err != nil {
		t.Fatal(err)
	}
	m, err := linkage.New(d)
	if err != nil {
		t.Fatal(err)
	}
	x, err := stroke.With(m, d, stroke.Options{Weights: Weights(all)})
	if err != nil {
		t.Fatal(err)
	}
	r, err := x.Run()
	if err != nil {
		t.Fatal(err)
	}
	out, err := x.Rules(r)
	if err != nil {
		t.Fatal(err)
	}
	return r, out
}

// A ramp that the pin reaches only after some free travel keeps the order as one
// that it meets at once. Nearer to the root of its rail it is stiffer and holds a
// little more; the tip needs the same.
func TestRampAfterFreeTravel(t *testing.T) {
	_, last := rules(t, example(t, "lid-lifter"))
	for _, at := range []string{"0.8", "1.0", "1.5"} {
		r, now := rules(t, example(t, "lid-lifter", "at: guide + 0.5", "at: guide + "+at))
		if met := r.Find(stroke.RampMet, "wait", false); met == nil || met.S < 0.3 {
			t.Fatalf("guide + %s: ramp met %+v", at, met)
		}
		was, is := last[0], now[0]
		if is.Name != "O1" || is.Verdict != stroke.Kept || is.Element != "A" || is.Holding < was.Holding || is.Holding > 1.2*was.Holding ||
			is.Driving < 0.98*was.Driving || is.Driving > 1.02*was.Driving {
			t.Errorf("guide + %s: %+v\nbefore %+v", at, is, was)
		}
		last = now
	}
}
