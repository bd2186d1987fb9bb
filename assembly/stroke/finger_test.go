package stroke

import (
	"math"
	"math/rand"
	"testing"

	"tuckfinger/assembly/linkage"
	. "tuckfinger/assembly/linkage/linktest"
	"tuckfinger/params"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.Abs(got-want) > tol || got != got {
		t.Errorf("%s = %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

func model(t testing.TB, d *params.Design, opts Options) *Model {
	t.Helper()
	x, err := New(d, opts)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func run(t testing.TB, x *Model) *Result {
	t.Helper()
	r, err := x.Run()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// follows fails unless the events happen in this order on one half.
func follows(t *testing.T, r *Result, back bool, want ...Event) {
	t.Helper()
	at := 0
	for _, w := range want {
		found := -1
		for i := at; i < len(r.Events); i++ {
			if e := r.Events[i]; e.Kind == w.Kind && e.Subject == w.Subject && e.Back == back {
				found = i
				break
			}
		}
		if found < 0 {
			t.Errorf("back %v: no %q of %s after event %d", back, w.Kind, w.Subject, at)
			return
		}
		at = found
	}
}

func ev(k Kind, subject string) Event { return Event{Kind: k, Subject: subject} }

// The design's sequence, out and back, from forces alone.
func TestOrderOfTheFinger(t *testing.T) {
	r := run(t, model(t, RackLifter(), Options{}))
	follows(t, r, false, ev(JointStarts, "A"), ev(RampMet, "detent"), ev(JointStarts, "B"), ev(JointStops, "A"), ev(HoldReleased, "tuck"),
		ev(ClipTouched, "clip"), ev(ClipSnapped, "clip"), ev(StopMet, "jaw out"), ev(RampPeak, "detent"), ev(RampLeft, "detent"))
	follows(t, r, true, ev(RampMet, "detent"), ev(RampPeak, "detent"), ev(StopMet, "tip tucked"), ev(ClipReleased, "clip"), ev(HoldReached, "tuck"))
	if out, back := r.Peak(); out > 25 || back > 25 {
		t.Errorf("slide force %.1f out, %.1f back, want within ±25 N", out, back)
	}
	// It ends as it began.
	for i, v := range r.Samples[len(r.Samples)-1].Q {
		near(t, "pose after the cycle", v, r.Samples[0].Q[i], 2e-3)
	}
	// Travels of the closed form: the tip waits near −30° until the jaw is out.
	snap := r.Find(StopMet, "jaw out", false)
	near(t, "s when the jaw is out, less C's travel to the ramp", snap.S-r.Find(RampMet, "detent", false).S, 7.07, 0.1)
}

func TestMargins(t *testing.T) {
	x := model(t, RackLifter(), Options{})
	rules, err := x.Rules(run(t, x))
	if err != nil {
		t.Fatal(err)
	}
	if len(rules) != 3 {
		t.Fatalf("%d rules", len(rules))
	}
	for _, r := range rules {
		if r.Verdict != Kept || r.Margin < 1.5 || r.Holding <= 0 || r.Driving <= 0 {
			t.Errorf("%s: %+v", r.Name, r)
		}
	}
	// The held forces are those of the force laws passed alone: see the law of
	// the ramp against the rule's slide force. C's push is the slide force less
	// joint friction, so the slide needs more than the ramp does.
	law := x.Element("detent").(*rampElement).law
	if p := law.Pass(true).Peak; rules[1].Holding < p || rules[1].Holding > 1.6*p {
		t.Errorf("ramp passed alone takes %.2f N at its slot, the rule says %.2f N at the slide", p, rules[1].Holding)
	}
}

// Weaken the rail and the order flips; the rule names both forces.
func TestWeakRailFlipsTheOrder(t *testing.T) {
	d := RackLifter()
	d.Ramps.Get("detent").Rail.Thickness = 0.9
	x := model(t, d, Options{})
	r := run(t, x)
	follows(t, r, false, ev(RampPeak, "detent"), ev(HoldReleased, "tuck"))
	rules, err := x.Rules(r)
	if err != nil {
		t.Fatal(err)
	}
	if o2 := rules[1]; o2.Verdict != Broken || o2.Holding <= 0 || o2.Driving <= o2.Holding || o2.Element != "clip" {
		t.Errorf("O2: %+v", o2)
	}
	if b1 := rules[2]; b1.Verdict != Broken || b1.Note == "" {
		t.Errorf("B1 with a clip that never latched: %+v", b1)
	}
}

// A low retention face lets the clip go before the ramp is climbed.
func TestLowRetentionReleasesFirst(t *testing.T) {
	d := RackLifter()
	d.Clips.Get("clip").Arm.Retention = Rad(22)
	x := model(t, d, Options{})
	r := run(t, x)
	follows(t, r, true, ev(ClipReleased, "clip"), ev(RampPeak, "detent"))
	rules, err := x.Rules(r)
	if err != nil {
		t.Fatal(err)
	}
	if b1 := rules[2]; b1.Verdict != Broken || b1.Holding <= 0 || b1.Driving <= b1.Holding {
		t.Errorf("B1: %+v", b1)
	}
}

// Two motions without resistance are a tie, not an order; a drag decides it.
func TestTieIsUndetermined(t *testing.T) {
	d := RackLifter()
	d.Holds = params.Named[params.Hold]{}
	d.Order = params.Named[params.Rule]{}
	d.Order.Add("O1", params.Rule{Stroke: "out", Holds: "B", While: []string{"A"}, Margin: 1.5})
	check := func(want Verdict, tie bool) {
		t.Helper()
		x := model(t, d, Options{})
		r := run(t, x)
		e := r.Find(Undetermined, "", false)
		if tie && (e == nil || e.S > 0.02 || e.Subject+e.Other != "AB" && e.Subject+e.Other != "BA") {
			t.Errorf("tie of A and B not reported: %+v", e)
		}
		if !tie && e != nil {
			t.Errorf("a tie where drags decide: %+v", e)
		}
		rules, err := x.Rules(r)
		if err != nil {
			t.Fatal(err)
		}
		if rules[0].Verdict != want {
			t.Errorf("verdict %+v, want %s", rules[0], want)
		}
	}
	check(Thin, false) // 2.5 N·mm on the jaw against 1 on the tip
	d.Joints.Get("A").Pin.Drag, d.Joints.Get("B").Pin.Drag = 0, 0
	check(Unclear, true)
}

// A return spring throws the jaw when its hold lets go.
func TestReturnSpringJumps(t *testing.T) {
	d := RackLifter()
	d.Springs.Add("return", params.Spring{Torsion: &params.TorsionSpring{Joint: "B", Rate: 4, Free: 0}})
	r := run(t, model(t, d, Options{}))
	let := r.Find(HoldReleased, "tuck", false)
	for _, e := range r.Events {
		if e.Kind == Jump && math.Abs(e.S-let.S) < 1e-9 {
			if e.Size < 0.2 || r.Samples[e.Sample].Snap <= 0 {
				t.Errorf("jump of %.3f rad, snap loss %.3f N·mm", e.Size, r.Samples[e.Sample].Snap)
			}
			return
		}
	}
	t.Errorf("no jump reported where the hold lets go, s = %.3f", let.S)
}

// A second topology through the same code: a ramped slot in a moving link, its
// pin on the neighbour, a clip that makes one link of two.
func TestRampInMovingLink(t *testing.T) {
	x := model(t, RodAndArm(), Options{})
	r := run(t, x)
	follows(t, r, false, ev(RampMet, "bump"), ev(JointStarts, "O"), ev(StopMet, "arm out"), ev(RampPeak, "bump"), ev(ClipSnapped, "lock"))
	follows(t, r, true, ev(StopLeft, "arm out"), ev(StopMet, "arm in"), ev(ClipReleased, "lock"), ev(RampPeak, "bump"))
	rules, err := x.Rules(r)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range rules {
		if v.Verdict != Kept {
			t.Errorf("%+v", v)
		}
	}
	balanced(t, r)
}

// Energy in = stored + lost, to 0.1 % over the cycle.
func balanced(t *testing.T, r *Result) {
	t.Helper()
	first, last := r.Samples[0], r.Samples[len(r.Samples)-1]
	turned := 0.0
	for i := 1; i < len(r.Samples); i++ {
		turned += math.Abs(r.Samples[i].Work - r.Samples[i-1].Work)
	}
	gap := last.Work - (last.Stored - first.Stored) - last.Friction - last.Snap
	if math.Abs(gap) > 1e-3*turned || r.Imbalance > 2e-3*turned {
		t.Errorf("work %.4f, stored %.4f, friction %.4f, snaps %.4f: %.4f N·mm unaccounted for (%.3f %%)", last.Work, last.Stored-first.Stored, last.Friction, last.Snap, gap, 100*gap/turned)
	}
	for i := 1; i < len(r.Samples); i++ {
		if a, b := r.Samples[i-1], r.Samples[i]; b.Friction < a.Friction-5e-4 || b.Snap < a.Snap-5e-4 {
			t.Errorf("s = %.3f: a loss of %.3g, %.3g N·mm was given back", b.S, b.Friction-a.Friction, b.Snap-a.Snap)
		}
	}
}

func TestEnergyBalance(t *testing.T) {
	balanced(t, run(t, model(t, RackLifter(), Options{})))
	d := RackLifter()
	d.Springs.Add("band", params.Spring{Linear: &params.LinearSpring{From: params.Anchor{Body: "spine", At: Vec(-6, 50)}, To: params.Anchor{Body: "upper", At: Vec(8, 2)}, Rate: 0.1, Free: 10, Slack: true}})
	balanced(t, run(t, model(t, d, Options{Weights: []Weight{{"tip", 6, Vec(15, 0)}, {"upper", 8, Vec(14, 0)}, {"carriage", 20, Vec(0, 0)}}})))
}

func TestSameBytesTwice(t *testing.T) {
	x := model(t, RackLifter(), Options{})
	a, b := run(t, x), run(t, x)
	if len(a.Samples) != len(b.Samples) || len(a.Events) != len(b.Events) {
		t.Fatal("two runs differ in length")
	}
	for i := range a.Samples {
		if a.Samples[i].Force != b.Samples[i].Force || a.Samples[i].S != b.Samples[i].S {
			t.Fatalf("sample %d differs", i)
		}
	}
}

func BenchmarkStroke(b *testing.B) {
	x := model(b, RackLifter(), Options{})
	b.ReportAllocs()
	for b.Loop() {
		run(b, x)
	}
}

func BenchmarkRules(b *testing.B) {
	x := model(b, RackLifter(), Options{})
	r := run(b, x)
	for b.Loop() {
		if _, err := x.Rules(r); err != nil {
			b.Fatal(err)
		}
	}
}

// Copies of the finger with scattered friction, modulus and dimensions all run,
// balance their energy and keep their order.
func TestScatteredCopies(t *testing.T) {
	copies := 24
	if testing.Short() {
		copies = 6
	}
	rng := rand.New(rand.NewSource(3))
	for i := 0; i < copies; i++ {
		d := RackLifter()
		about := func(v *float64, spread float64) { *v += spread * rng.NormFloat64() }
		about(d.Process.Modulus, 180)
		about(d.Process.Friction, 0.05)
		about(&d.Ramps.Get("detent").Rail.Thickness, 0.05)
		about(&d.Ramps.Get("detent").Rise, 0.05)
		about(&d.Clips.Get("clip").Arm.Thickness, 0.05)
		about(&d.Clips.Get("clip").Arm.Hook.Y, 0.03)
		about(&d.Joints.Get("guide").Slot.Play, 0.03)
		about(&d.Holds.Get("tuck").Torque, 2)
		x := model(t, d, Options{})
		r := run(t, x)
		balanced(t, r)
		rules, err := x.Rules(r)
		if err != nil {
			t.Fatalf("copy %d: %v", i, err)
		}
		for _, v := range rules {
			if v.Verdict == Broken || v.Verdict == Unclear {
				t.Errorf("copy %d: %+v", i, v)
			}
		}
	}
}

// Steps do not allocate: ten times the steps cost the room for their samples
// only.
func TestStepsDoNotAllocate(t *testing.T) {
	count := func(step float64) (allocs, samples float64) {
		x := model(t, RackLifter(), Options{Step: step})
		samples = float64(len(run(t, x).Samples))
		return testing.AllocsPerRun(3, func() { run(t, x) }), samples
	}
	a, n := count(0.25)
	b, m := count(0.02)
	if m < 3*n {
		t.Fatalf("%g and %g samples", n, m)
	}
	if per := (b - a) / (m - n); per > 0.1 {
		t.Errorf("%.2f allocations per step", per)
	}
}

// Element states: at the turn the clip is latched and the jaw at its stop, and
// their energies add up to the sample's.
func TestStates(t *testing.T) {
	x := model(t, RackLifter(), Options{})
	r := run(t, x)
	engaged := func(i int, name string) bool {
		for _, s := range r.States(i) {
			if s.Name == name {
				return s.Engaged
			}
		}
		t.Fatalf("no state of %s", name)
		return false
	}
	if !engaged(0, "tuck") || engaged(0, "clip") || engaged(0, "detent") {
		t.Error("tucked: the hold alone is engaged")
	}
	if engaged(r.Turn, "tuck") || !engaged(r.Turn, "clip") {
		t.Error("turned: the clip is latched, the hold left behind")
	}
	for i := 0; i < len(r.Samples); i += 20 {
		sum := 0.0
		for _, s := range r.States(i) {
			sum += s.Energy
		}
		near(t, "stored energy", sum, r.Samples[i].Stored, 1e-9)
	}
}

// An arm turned the usual way, with its root ahead of the post, snaps harder and
// holds less: tip rotation and the off-axis force change sides.
func TestArmDirectionDecides(t *testing.T) {
	d := RackLifter()
	a := &d.Clips.Get("clip").Arm
	a.Direction += math.Pi
	a.Side = "left"
	a.Entry, a.Retention = a.Retention, a.Entry
	turned, usual := model(t, RackLifter(), Options{}), model(t, d, Options{})
	if turned.Element("clip").(*clipElement).enter != 1 || usual.Element("clip").(*clipElement).enter != -1 {
		t.Fatal("the post does not tell which way the arm is turned")
	}
	r, u := run(t, turned), run(t, usual)
	for x, want := range map[*Model]bool{turned: false, usual: true} {
		f, err := x.Faces(map[*Model]*Result{turned: r, usual: u}[x])
		if err != nil || len(f) != 4 || f[2].Against != want || !(f[3].Force > 0) {
			t.Errorf("faces %+v, %v", f, err)
		}
	}
	follows(t, u, false, ev(ClipTouched, "clip"), ev(ClipSnapped, "clip"))
	good, err := turned.Rules(r)
	if err != nil {
		t.Fatal(err)
	}
	bad, err := usual.Rules(u)
	if err != nil {
		t.Fatal(err)
	}
	if bad[1].Driving <= good[1].Driving {
		t.Errorf("snap: root ahead %.2f N, root behind %.2f N", bad[1].Driving, good[1].Driving)
	}
	if bad[2].Holding >= good[2].Holding {
		t.Errorf("release: root ahead %.2f N, root behind %.2f N", bad[2].Holding, good[2].Holding)
	}
}

// A third freedom, a sprung toe on the tip, goes through the same code and
// leaves the order alone.
func TestThreeFreedoms(t *testing.T) {
	d := RackLifter()
	d.Bodies.Add("toe", params.Body{Start: &params.Stance{Angle: Rad(-90)}})
	p := &params.PinJoint{Diameter: 3, Drag: 0.5}
	p.At.Add("tip", Vec(34, 0))
	p.At.Add("toe", Vec(0, 0))
	d.Joints.Add("T", params.Joint{Pin: p})
	d.Springs.Add("toe spring", params.Spring{Torsion: &params.TorsionSpring{Joint: "T", Rate: 20, Free: 0}})
	x := model(t, d, Options{Weights: []Weight{{"toe", 20, Vec(10, 0)}}})
	if x.Mech.Mobility.Freedoms != 3 {
		t.Fatalf("mobility %+v", x.Mech.Mobility)
	}
	r := run(t, x)
	follows(t, r, false, ev(RampMet, "detent"), ev(HoldReleased, "tuck"), ev(ClipSnapped, "clip"), ev(StopMet, "jaw out"), ev(RampPeak, "detent"))
	follows(t, r, true, ev(RampPeak, "detent"), ev(StopMet, "tip tucked"), ev(ClipReleased, "clip"))
	balanced(t, r)
	// The toe hangs in its spring, within its drag: 20 g at 10 mm against 20 N·mm/rad.
	last := r.Samples[r.Turn].Q
	toe := x.Mech.Coord(last, linkage.JointCoord(x.Mech.JointIndex("T")))
	moment := 0.020 * 9.80665 * 10 * math.Cos(last[3*x.Mech.BodyIndex("toe")+2])
	near(t, "toe torque", -20*toe, moment, 0.5+1e-6)
}
