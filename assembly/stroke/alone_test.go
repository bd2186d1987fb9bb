package stroke

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	. "tuckfinger/assembly/linkage/linktest"
	"tuckfinger/params"
	"tuckfinger/params/tables"
)

// towed is a carriage on a spine, without friction in its guide, that draws a link
// straight along; a pin of the link runs in a groove of the spine, from 4 mm behind
// its end on.
func towed(travel float64) (b *Builder, groove *params.SlotJoint) {
	b = &Builder{}
	b.D.Name, b.D.Lib = "alone", tables.Builtin()
	mu, e, none := 0.3, 1800.0, 0.0
	b.D.Process = params.Process{Material: "PETG", Friction: &mu, Modulus: &e}
	b.Ground("spine")
	b.Body("carriage")
	b.Slide("slide", "carriage", "spine", Vec(0, 0), 0).Friction = &none
	b.D.Bodies.Get("spine").Layer = &params.Span{From: 0, To: 5}
	b.D.Drive = params.Drive{Joint: "slide", Travel: travel, Speed: 5}
	b.Near("link", 0)
	b.Pin("P", "carriage", Vec(0, 0), "link", Vec(0, 0))
	groove = b.Slot("groove", "link", Vec(30, 0), "spine", Vec(26, 0), Vec(66, 0))
	dia, at := 3.0, 4.0
	groove.Diameter, groove.Start = &dia, &at
	return b, groove
}

// A pin drawn over a ramp in a straight slot, and nothing else, asks the slide for
// V·[tan(α+φ) + μ], V = k·(h − play): the friction of the opposite wall comes in
// through the joint that the squeeze presses on. Both ways, at every sample.
func TestRampAlone(t *testing.T) {
	b, _ := towed(24)
	b.D.Ramps.Add("bump", params.Ramp{Slot: "groove", Wall: "left", At: 14, Rise: 0.8, First: Rad(45), Last: Rad(20), Peak: 0.3,
		Rail: params.Rail{Thickness: 1.4, From: 0, To: 32, Slit: 1.5}})
	x := model(t, &b.D, Options{})
	r := run(t, x)
	follows(t, r, false, ev(RampMet, "bump"), ev(RampPeak, "bump"), ev(RampLeft, "bump"))
	follows(t, r, true, ev(RampMet, "bump"), ev(RampPeak, "bump"), ev(RampLeft, "bump"))
	e := x.Element("bump").(*rampElement)
	phi, seen, most := math.Atan(0.3), [2]int{}, 0.0
	for _, s := range r.Samples {
		st := e.law.At(e.forward * (s.S + 4 - e.peak))
		dir, half := 1.0, 0
		if s.Back {
			dir, half = -1, 1
		}
		want := dir * st.Squeeze * (math.Tan(dir*math.Atan(st.Slope)+phi) + 0.3)
		if st.Squeeze > 0 {
			seen[half]++
		}
		most = math.Max(most, want)
		if math.Abs(s.Force-want) > 1e-6*(1+st.Squeeze) {
			t.Errorf("s = %.3f, back %v: slide force %.9f N, the law %.9f N", s.S, s.Back, s.Force, want)
		}
	}
	if seen[0] < 10 || seen[1] < 10 || most < 5 {
		t.Errorf("%d and %d samples on the ramp, %.2f N at most", seen[0], seen[1], most)
	}
	// A wedge of the printed angle is no part of it.
	crest, d := e.law.Crest()
	if w := force.NaiveRamp(e.law.At(crest).Squeeze/d, 0.8, Rad(45), 0.3); w < 1.5*most {
		t.Errorf("the printed wedge says %.2f N, the stroke %.2f N", w, most)
	}
}

// A post that the slide draws straight past a snap arm, and nothing else, asks for
// the largest entry and release forces that the clip's own law has on that line.
func TestClipAlone(t *testing.T) {
	b, groove := towed(30)
	none := 0.0
	groove.Friction = &none // the hook's push across is the groove's
	post := params.Post{Body: "link", At: Vec(30, 0), Radius: 0.5, Standard: "printed"}
	const hookX, over = 45.0, 0.7
	arm := params.Arm{Body: "spine", Direction: 0, Side: "left", Length: 12, Thickness: 1.3, Tip: 1, RootFillet: 0.5,
		Height: 0.9, Nose: 0.2, Entry: Rad(20), Retention: Rad(45), Hook: r2.Vec{X: hookX, Y: -post.Radius + over}}
	b.D.Clips.Add("lock", params.Clip{Arm: arm, Post: post})
	x := model(t, &b.D, Options{})
	r := run(t, x)
	follows(t, r, false, ev(ClipTouched, "lock"), ev(ClipSnapped, "lock"), ev(ClipClear, "lock"))
	follows(t, r, true, ev(ClipTouched, "lock"), ev(ClipReleased, "lock"), ev(ClipClear, "lock"))
	e := x.Element("lock").(*clipElement)
	y := e.peak.Y + post.Radius - over
	near(t, "overlap", e.law.Overlap(y), over, 1e-9)
	snap, err := e.law.Snap(force.Straight{From: r2.Vec{X: e.peak.X - 12, Y: y}, Along: r2.Vec{X: 1}}, 0, 24)
	if err != nil {
		t.Fatal(err)
	}
	if snap.Release < 1.2*snap.Entry {
		t.Errorf("entry %.2f N, release %.2f N: too near to be told apart", snap.Entry, snap.Release)
	}
	out, back := r.Peak()
	near(t, "entry", out, snap.Entry, 0.01*snap.Entry)
	near(t, "release", back, snap.Release, 0.01*snap.Release)
	near(t, "snap at", r.Find(ClipSnapped, "lock", false).S, hookX-30, 0.6)
}

// A state in which nothing balances is told with its place, the joint that it is about
// and the force that is left over.
func TestUnsettledStateIsTold(t *testing.T) {
	x := model(t, RackLifter(), Options{})
	r := newRunner(newSolver(x, true, nil))
	if err := r.begin(x.Mech.Start, 0); err != nil {
		t.Fatal(err)
	}
	if err := r.run(2); err != nil {
		t.Fatal(err)
	}
	r.s.loc.push[0] = 0.25 // N left over
	err := r.unsettled("steps have become too small")
	var e *SettleError
	if !errors.As(err, &e) || math.Abs(e.S-2) > 1e-6 || x.Mech.JointIndex(e.Joint) < 0 || e.Residual < 0.25 {
		t.Fatalf("%+v", err)
	}
	if text := err.Error(); !strings.Contains(text, "s = 2.000 mm, joint "+e.Joint) || !strings.Contains(text, "0.25 N") {
		t.Error(text)
	}
}
