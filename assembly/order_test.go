package assembly

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/params"
	"tuckfinger/params/finding"
)

// inOrder fails unless events of one half come in the order named, "subject: kind".
func inOrder(t *testing.T, r *stroke.Result, back bool, want ...string) {
	t.Helper()
	n := 0
	for _, e := range r.Events {
		if e.Back == back && n < len(want) && fmt.Sprintf("%s: %s", e.Subject, e.Kind) == want[n] {
			n++
		}
	}
	if n < len(want) {
		t.Errorf("back %v: %q, then no %q", back, want[:n], want[n])
	}
}

// The reference finger does what it is drawn for, from forces alone: out, the tip
// starts, the steep face makes the chain wait, the jaw swings out, snaps and meets
// its stop, the ramp is passed; back, the shallow face is climbed and the tip
// folded before the clip lets go. Every margin is 1.5 or more.
func TestReferenceFinger(t *testing.T) {
	r, rules := rules(t, example(t, "rack-lifter"))
	inOrder(t, r, false, "A: joint starts", "detent: ramp met", "B: joint starts", "A: joint stops", "jaw_tuck: hold released",
		"jaw_clip: clip touched", "jaw_clip: clip snapped", "jaw_stop: stop met", "detent: ramp peak passed", "detent: ramp left")
	inOrder(t, r, true, "detent: ramp met", "detent: ramp peak passed", "detent: ramp left", "tip_home: stop met",
		"jaw_clip: clip released", "jaw_clip: clip clear", "jaw_tuck: hold reached")
	if len(rules) != 3 {
		t.Fatalf("%d order rules", len(rules))
	}
	for _, v := range rules {
		if v.Verdict != stroke.Kept || v.Margin < 1.5 || !(v.Driving > 0) || math.Abs(v.Holding/v.Driving-v.Margin) > 1e-9 {
			t.Errorf("%+v", v)
		}
	}
}

// The other example with rules keeps them through the same code; its ramp is in the
// slot of a link that moves.
func TestRampInMovingLink(t *testing.T) {
	d := example(t, "lid-lifter")
	m := modelOf(t, d, 0).Mech
	on := m.BodyIndex(d.Joints.Get(d.Ramps.Get("wait").Slot).Slot.On)
	r, rules := rules(t, d)
	a, b := m.Pose(r.Samples[0].Q, on), m.Pose(r.Samples[r.Turn].Q, on)
	if on == m.Ground || math.Hypot(a.X-b.X, a.Y-b.Y) < 1 {
		t.Errorf("the ramp's body goes from %+v to %+v", a, b)
	}
	inOrder(t, r, false, "wait: ramp met", "A: joint starts", "tip_out: stop met", "wait: ramp peak passed", "lock: clip snapped")
	inOrder(t, r, true, "tip_out: stop left", "tip_home: stop met", "lock: clip released", "wait: ramp peak passed")
	for _, v := range rules {
		if v.Verdict != stroke.Kept || v.Margin < v.Rule.Margin {
			t.Errorf("%+v", v)
		}
	}
}

// What breaks an order turns the events round and fails its finding, which names
// both forces and what to change.
func TestBrokenOrders(t *testing.T) {
	for _, c := range []struct {
		name, old, new string
		back           bool
		events         []string
		rule           int
		subject        string
		holder, change string
	}{
		{"weak rail", "rail: {value: 1.25", "rail: {value: 0.85", false,
			[]string{"detent: ramp peak passed", "jaw_tuck: hold released"}, 1, "O2 (out)", "detent", "dimensions.rail"},
		{"low retention face", "retention: 52", "retention: 24", true,
			[]string{"jaw_clip: clip released", "detent: ramp peak passed"}, 2, "B1 (back)", "jaw_clip", "clips.jaw_clip.arm.retention"},
	} {
		a := examine(t, example(t, "rack-lifter", c.old, c.new))
		inOrder(t, a.Stroke, c.back, c.events...)
		f, v := findingOf(t, a, "order", c.subject), a.Rules[c.rule]
		both := fmt.Sprintf("%s holds up to %.2f N, %s needs %.2f N", c.holder, v.Holding, v.Element, v.Driving)
		if f.Status != finding.Fail || v.Verdict != stroke.Broken || !(0 < v.Holding && v.Holding < v.Driving) ||
			!strings.Contains(f.Detail, both) || !strings.Contains(f.Change, c.change) || math.Abs(f.Value-v.Holding/v.Driving) > 1e-9 {
			t.Errorf("%s: %+v, %+v", c.name, f, v)
		}
	}
}

// Every correction of the force laws can be switched for a whole stroke and is felt
// in a margin or a slide force of it; by handbook formulas alone both are others
// altogether. (The friction of the wall opposite a ramp is the slot joint's there.)
func TestTermsInTheStroke(t *testing.T) {
	d := example(t, "rack-lifter")
	measure := func(d *params.Design, terms force.Terms) []float64 {
		m, err := linkage.New(d)
		if err != nil {
			t.Fatal(err)
		}
		x, err := stroke.With(m, d, stroke.Options{Terms: terms})
		if err != nil {
			t.Fatal(err)
		}
		r, err := x.Run()
		if err != nil {
			t.Fatal(err)
		}
		rules, err := x.Rules(r)
		if err != nil {
			t.Fatal(err)
		}
		out, back := r.Peak()
		return []float64{rules[1].Margin, rules[2].Margin, out, back}
	}
	all := measure(d, force.AllTerms)
	differ := func(f []float64) (most float64) {
		for i := range f {
			most = max(most, math.Abs(f[i]/all[i]-1))
		}
		return most
	}
	for bit := force.Terms(1); bit < force.AllTerms; bit <<= 1 {
		m := differ(measure(d, force.AllTerms&^bit))
		if bit == force.TermOppositeWall {
			if m != 0 {
				t.Errorf("the opposite wall rubs twice: %.3f %%", 100*m)
			}
		} else if !(m > 1e-3) {
			t.Errorf("without term %b margins and forces differ by %.4f %%", bit, 100*m)
		}
	}
	if m := differ(measure(d, force.TermOppositeWall)); !(m > 0.2) {
		t.Errorf("handbook formulas differ by %.1f %% only", 100*m)
	}
}

// Events are where they are: with steps of 0.02 mm and less, each that belongs to a
// place (a ramp, a clip, a stop, a hold) is found within 0.01 mm of where the steps of
// a build find it, none is missing and none comes to it.
func TestEventsAreLocated(t *testing.T) {
	type key struct {
		kind    stroke.Kind
		subject string
		back    bool
		n       int
	}
	for _, name := range []string{"rack-lifter", "lid-lifter", "ring-hook"} {
		d := example(t, name)
		located := func(step float64) map[key]float64 {
			r, err := modelOf(t, d, step).Run()
			if err != nil {
				t.Fatal(err)
			}
			out := map[key]float64{}
			for _, e := range r.Events {
				if e.Kind == stroke.JointStarts || e.Kind == stroke.JointStops {
					continue // a rest is told of rates
				}
				k := key{e.Kind, e.Subject, e.Back, 0}
				for {
					if _, taken := out[k]; !taken {
						break
					}
					k.n++
				}
				out[k] = e.S
			}
			return out
		}
		coarse, fine := located(0), located(0.02)
		for k, s := range coarse {
			if f, ok := fine[k]; !ok || math.Abs(f-s) > 0.01 {
				t.Errorf("%s: %+v at %.4f mm, by fine steps %.4f mm (%v)", name, k, s, f, ok)
			}
		}
		if len(fine) != len(coarse) {
			t.Errorf("%s: %d events, by fine steps %d", name, len(coarse), len(fine))
		}
	}
}
