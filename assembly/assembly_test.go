package assembly

import (
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/params"
	"tuckfinger/params/finding"
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
	x := modelOf(t, d, 0)
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

// Designs whose stroke ends early are computed to the end, and back from there;
// what ends them is a finding with its place.
func TestHaltedStroke(t *testing.T) {
	const jaw = "jaw_stop: {joint: B, angle: 0, side: above}"
	for _, c := range []struct {
		name   string
		design *params.Design
		back   bool
		from   float64 // s where it halts, at least
		to     float64 // and at most (mm)
		joint  string
		ends   string
		locks  string
		change string
	}{
		{"retention face that locks", example(t, "rack-lifter", "retention: 52", "retention: 80"), true, 6.5, 7.5, "A", "tip_home", "jaw_clip", "clips.jaw_clip.arm.retention"},
		{"another topology's", example(t, "lid-lifter", "retention: 45", "retention: 80"), true, 7, 8, "A", "tip_home", "lock", "clips.lock.arm.retention"},
		{"travel beyond a stop", example(t, "rack-lifter", "travel: {value: 18.4", "travel: {value: 21.9"), false, 20, 21, "B", "jaw_stop", "", "drive.travel"},
		{"travel beyond the links", example(t, "ring-hook", "travel: {value: 9, unit: mm, range: [5, 11]", "travel: {value: 25, unit: mm, range: [5, 31]"), false, 13, 14, "slide", "", "", "drive.travel"},
		{"slide that can't start", example(t, "rack-lifter", jaw, "lock: {joint: slide, distance: 0, side: above}"), false, 0, 0.05, "slide", "lock", "", "drive.travel"},
	} {
		a, err := Examine(c.design, nil)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		h := a.Stroke.Halt(c.back)
		if h == nil || a.Stroke.Halt(!c.back) != nil {
			t.Errorf("%s: halts %+v", c.name, a.Stroke.Halts)
			continue
		}
		if h.S < c.from || h.S > c.to || h.Joint != c.joint || strings.Join(h.Ends, " ") != c.ends || strings.Join(h.Locks, " ") != c.locks || h.Change != c.change {
			t.Errorf("%s: %+v", c.name, h)
		}
		var f *finding.Finding
		for i := range a.Findings {
			if a.Findings[i].Check == "travel" && a.Findings[i].Status == finding.Fail {
				f = &a.Findings[i]
			}
		}
		if f == nil || f.Detail != h.Error() || !strings.Contains(f.Change, c.change) {
			t.Errorf("%s: finding %+v", c.name, f)
		}
		// The rest is there: both halves, no force beyond what a motor gives
		// easily, all rules, drive and strengths.
		last := a.Stroke.Samples[len(a.Stroke.Samples)-1]
		if !last.Back || !c.back && last.S > 1e-6 || len(a.Rules) != len(c.design.Order.Names) || a.Drive == nil || len(a.Strengths) == 0 {
			t.Errorf("%s: ends at %+v with %d rules", c.name, last, len(a.Rules))
		}
		if out, back := a.Stroke.Peak(); out > 60 || back > 60 {
			t.Errorf("%s: slide force %.1f out, %.1f back", c.name, out, back)
		}
		if e := a.Stroke.Events; len(e) == 0 {
			t.Errorf("%s: no events", c.name)
		} else {
			for _, e := range e {
				if e.Sample >= len(a.Stroke.Samples) {
					t.Fatalf("%s: event %+v of %d samples", c.name, e, len(a.Stroke.Samples))
				}
			}
		}
	}
}

// Links that do not reach each other in the tucked pose leave nothing to compute:
// an error with its place.
func TestNoStartIsAnError(t *testing.T) {
	d := example(t, "ring-hook", "through: [-2, 50]", "through: [-90, 50]")
	var list params.Errors
	if _, err := Examine(d, nil); !errors.As(err, &list) || list[0].Line == 0 || list[0].Path != "joints.E" {
		t.Errorf("%v", err)
	}
}

// findingOf returns the first finding of a check whose subject begins so.
func findingOf(t *testing.T, a *Analysis, check, subject string) finding.Finding {
	t.Helper()
	for _, f := range a.Findings {
		if f.Check == check && strings.HasPrefix(f.Subject, subject) {
			return f
		}
	}
	t.Errorf("no finding of %s for %s", check, subject)
	return finding.Finding{}
}

func examine(t *testing.T, d *params.Design) *Analysis {
	t.Helper()
	a, err := Examine(d, nil)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// What pin radius and friction make of the printed faces is told, and fails where
// a face locks: at a ramp from 90° less the friction angle on.
func TestFaceFindings(t *testing.T) {
	a := examine(t, example(t, "lid-lifter"))
	if f := findingOf(t, a, "face", "wait first_face"); f.Status != finding.Pass || math.Abs(f.Limit-(90-math.Atan(0.25)*180/math.Pi)) > 1e-9 ||
		!strings.Contains(f.Detail, "leaves nothing of the 45.0° face") || !strings.Contains(f.Detail, "a wedge of the printed angle would take") {
		t.Errorf("%+v", f)
	}
	if f := findingOf(t, a, "arm direction", "lock"); f.Status != finding.Pass {
		t.Errorf("%+v", f)
	}
	a = examine(t, example(t, "rack-lifter", "retention: 52", "retention: 68"))
	if f := findingOf(t, a, "face", "jaw_clip retention"); f.Status != finding.Fail || math.Abs(f.Value-68) > 1e-9 || !strings.Contains(f.Change, "clips.jaw_clip.arm.retention") {
		t.Errorf("%+v", f)
	}
}

// A return spring that throws the jaw when its hold lets go is a warning, with the
// energy that it sets free; the snaps of the clip are none.
func TestJumpFindings(t *testing.T) {
	quiet := examine(t, example(t, "rack-lifter"))
	if f := findingOf(t, quiet, "jump", "B, s ="); f.Status != finding.Pass || !strings.Contains(f.Detail, "N·mm free") {
		t.Errorf("%+v", f)
	}
	d := example(t, "rack-lifter")
	d.Springs.Add("return", params.Spring{Torsion: &params.TorsionSpring{Joint: "B", Rate: 6, Free: 0}})
	thrown := examine(t, d)
	found := false
	for _, f := range thrown.Findings {
		found = found || f.Check == "jump" && f.Status == finding.Warn && strings.Contains(f.Detail, "throws the link")
	}
	if !found {
		t.Errorf("no warning of the jump; events %+v", thrown.Stroke.Events)
	}
}

// A jump over a whole ramp passes its peak before it leaves it.
func TestEventsOfAJumpAreInOrder(t *testing.T) {
	d := example(t, "lid-lifter", "\norder:\n", `
holds: {tuck: {joint: A, angle: -90, torque: 60, over: 3}}
springs: {out: {torsion: {joint: A, rate: 0.4, free_angle: 0}}}
order:
`)
	r, err := modelOf(t, d, 0).Run()
	if err != nil {
		t.Fatal(err)
	}
	both := 0
	for i, e := range r.Events {
		for _, f := range r.Events[i+1:] {
			if e.Sample != f.Sample || e.Subject != f.Subject {
				continue
			}
			if e.Kind == stroke.RampLeft && f.Kind == stroke.RampPeak {
				t.Errorf("%s is left before its peak is passed, at s = %.2f mm", e.Subject, e.S)
			}
			if e.Kind == stroke.RampPeak && f.Kind == stroke.RampLeft {
				both++
			}
		}
	}
	if both == 0 {
		t.Error("no jump over a ramp")
	}
	// It presses both pins into the ends of their slots, which are not in the way.
	for _, pin := range []string{"near_pin", "far_pin"} {
		if f := findingOf(t, examine(t, d), "passage", "pin "+pin+" in inner"); f.Status != finding.Pass || f.Value != 0 {
			t.Errorf("%+v", f)
		}
	}
}

// A face that locks stays locked with more friction: no step slips past it, whatever
// force the drive would have.
func TestFrictionNeverFreesALockedClip(t *testing.T) {
	locked := false
	for mu := 0.08; mu < 0.36; mu += 0.02 {
		d := example(t, "rack-lifter", "retention: 52", "retention: 88", "friction: {value: 0.3,", fmt.Sprintf("friction: {value: %.2f,", mu))
		r, err := modelOf(t, d, 0).Run()
		if err != nil {
			t.Fatal(err)
		}
		halt := r.Halt(true)
		if locked && halt == nil {
			t.Errorf("friction %.2f: gives way, with less it locks", mu)
		}
		locked = locked || halt != nil
		if out, back := r.Peak(); out > 60 || back > 60 {
			t.Errorf("friction %.2f: %.0f N out, %.0f N back", mu, out, back)
		}
	}
	if !locked {
		t.Error("nothing locks")
	}
}

// modelOf makes the model of a design as an analysis does, with a largest step.
func modelOf(t *testing.T, d *params.Design, step float64) *stroke.Model {
	t.Helper()
	all, err := parts.Build(d)
	if err != nil {
		t.Fatal(err)
	}
	m, err := linkage.New(d)
	if err != nil {
		t.Fatal(err)
	}
	x, err := stroke.With(m, d, stroke.Options{Weights: Weights(all), Step: step})
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// The example fingers, as they are computed for a build: energy in is what is
// stored and lost to 0.1 % over the cycle, and shorter steps change nothing.
func TestExamplesBalanceAndConverge(t *testing.T) {
	for _, name := range []string{"rack-lifter", "lid-lifter", "ring-hook"} {
		d := example(t, name)
		run := func(step float64) *stroke.Result {
			r, err := modelOf(t, d, step).Run()
			if err != nil {
				t.Fatal(err)
			}
			return r
		}
		a := run(0)
		first, last, turned := a.Samples[0], a.Samples[len(a.Samples)-1], 0.0
		for i := 1; i < len(a.Samples); i++ {
			turned += math.Abs(a.Samples[i].Work - a.Samples[i-1].Work)
		}
		if gap := last.Work - (last.Stored - first.Stored) - last.Friction - last.Snap; math.Abs(gap) > 1e-3*turned {
			t.Errorf("%s: %.5f of %.3f N·mm unaccounted for", name, gap, turned)
		}
		b := run(0.25)
		sameStroke(t, name, a, b)
		sameStroke(t, name+", shorter steps", b, run(0.125))
		sameStroke(t, name+", a tenth of the step", a, run(0.05))
	}
}

// sameStroke fails unless two strokes have the same events on each half, each at the
// same place within 0.02 mm, and the same peaks within 1 %.
func sameStroke(t *testing.T, name string, a, b *stroke.Result) {
	t.Helper()
	type key struct {
		kind    stroke.Kind
		subject string
		back    bool
	}
	places := func(r *stroke.Result) map[key][]float64 {
		all := map[key][]float64{}
		for _, e := range r.Events {
			k := key{e.Kind, e.Subject, e.Back}
			all[k] = append(all[k], e.S)
		}
		return all
	}
	if diff := cmp.Diff(places(a), places(b), cmpopts.EquateApprox(0, 0.02)); diff != "" {
		t.Errorf("%s: events move with the step:\n%s", name, diff)
	}
	ao, ab := a.Peak()
	bo, bb := b.Peak()
	if math.Abs(ao-bo) > 0.01*bo || math.Abs(ab-bb) > 0.01*bb {
		t.Errorf("%s: peaks %.4f and %.4f N, else %.4f and %.4f N", name, ao, ab, bo, bb)
	}
}

// Without the jaw's tucked hold drags alone decide; without these it is a tie,
// and a tie is undetermined.
func TestNoHoldIsUndetermined(t *testing.T) {
	d := example(t, "rack-lifter")
	d.Holds = params.Named[params.Hold]{}
	d.Joints.Get("A").Pin.Drag, d.Joints.Get("B").Pin.Drag = 0, 0
	*d.Process.Friction = 0
	d.Order = params.Named[params.Rule]{}
	d.Order.Add("O1", params.Rule{Stroke: "out", Holds: "B", While: []string{"A"}, Margin: 1.5})
	d.Attitude = 0 // weights do not decide it either
	x := modelOf(t, d, 0)
	x.Elements = slices.DeleteFunc(x.Elements, func(e stroke.Element) bool { return e.Kind() == "weight" })
	r, err := x.Run()
	if err != nil {
		t.Fatal(err)
	}
	got, err := x.Rules(r)
	if err != nil {
		t.Fatal(err)
	}
	if got[0].Verdict != stroke.Unclear {
		t.Errorf("%+v", got[0])
	}
}

// A post on the foot of a low hook's long entry face is on the hook: its force is
// found, and all links are in balance.
func TestBalanceOnALongFace(t *testing.T) {
	d := example(t, "rack-lifter", "arm: {value: 1.38,", "arm: {value: 0.9,", "hook: {value: 1.0,", "hook: {value: 0.55,")
	if f := findingOf(t, examine(t, d), "balance", "bodies"); f.Status != finding.Pass || f.Value > 1e-6 {
		t.Errorf("%+v", f)
	}
}

// While gripping, the clamp runs over jaw stop and drive: the reference finger's
// clip carries nothing of it. A guide that is far too short fails.
func TestLoadPath(t *testing.T) {
	a := examine(t, example(t, "rack-lifter"))
	kinds := map[string]float64{}
	for _, c := range a.Grasp.Carried {
		kinds[c.Kind] += c.Load
	}
	if kinds["drive"] < 34 || kinds["stop"] <= 0 || kinds["pads"] <= 0 || kinds["clip"] > 0.05*kinds["pads"] {
		t.Errorf("carried %v", kinds)
	}
	// The couple of the jaw stop is that of the pad force about B.
	if f := findingOf(t, a, "load path", "grip"); f.Status != finding.Pass || !strings.Contains(f.Detail, "stop jaw_stop") {
		t.Errorf("%+v", f)
	}
	long := findingOf(t, a, "guide", "slide, grip")
	if long.Status != finding.Pass {
		t.Errorf("%+v", long)
	}
	d := example(t, "rack-lifter")
	d.Joints.Get("slide").Slide.Length = 2.5
	if f := findingOf(t, examine(t, d), "guide", "slide, grip"); f.Status != finding.Fail || f.Value < 3*long.Value {
		t.Errorf("a guide of 2.5 mm: %+v, of 40 mm %.1f %%", f, long.Value)
	}
	// A rack gives way without power; asked to hold, it fails.
	if f := findingOf(t, a, "holding", "off"); f.Status != finding.Pass || !strings.Contains(f.Detail, "needs power") {
		t.Errorf("%+v", f)
	}
	d = example(t, "rack-lifter")
	d.Limits.Add("holding", params.Limit{Value: 1, Reason: "it hangs over people's heads"})
	if f := findingOf(t, examine(t, d), "holding", "off"); f.Status != finding.Fail {
		t.Errorf("%+v", f)
	}
}
