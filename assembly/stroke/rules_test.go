package stroke

import (
	"math"
	"testing"

	"tuckfinger/assembly/linkage"
	. "tuckfinger/assembly/linkage/linktest"
	"tuckfinger/params"
)

// rulesOf computes a design's rules, with its stroke.
func rulesOf(t *testing.T, d *params.Design) (*Result, []RuleResult) {
	t.Helper()
	x := model(t, d, Options{})
	r := run(t, x)
	rules, err := x.Rules(r)
	if err != nil {
		t.Fatal(err)
	}
	return r, rules
}

// A ramp that is met after some free travel holds as one that is met at once:
// its force does not depend on where the pin comes from.
func TestHeldAfterFreeTravel(t *testing.T) {
	d := RodAndArm()
	_, want := rulesOf(t, d)
	for _, free := range []float64{0.3, 1, 2} {
		d := RodAndArm()
		*d.Joints.Get("groove").Slot.Start += free
		r, got := rulesOf(t, d)
		met, starts := r.Find(RampMet, "bump", false), r.Find(JointStarts, "O", false)
		if met == nil || starts == nil || met.S > starts.S {
			t.Fatalf("%g mm: the ramp is met at %+v, the arm starts at %+v", free, met, starts)
		}
		if got[0].Verdict != Kept || got[0].Element != "O" {
			t.Errorf("%g mm of free travel: %+v", free, got[0])
		}
		// The arm is driven from the same place, but for the way that the slide
		// has gone already.
		near(t, "driving force", got[0].Driving, want[0].Driving, 0.15*want[0].Driving)
	}
}

// A joint has done its part when it is through its range, not at its first rest:
// against a spring that lets it go by little at first, the arm has to be driven to
// its stop.
func TestDrivenJointMayRest(t *testing.T) {
	d := RodAndArm()
	d.Joints.Get("O").Pin.Drag = 0
	d.Springs.Add("spring", params.Spring{Torsion: &params.TorsionSpring{Joint: "O", Rate: 30, Free: Rad(86)}})
	r, got := rulesOf(t, d)
	o := got[0]
	if o.Element != "O" || o.Driving <= 0 {
		t.Fatalf("%+v", o)
	}
	if stop := r.Find(StopMet, "arm out", false); o.At < stop.S-0.1 {
		t.Errorf("the arm drives most at s = %.2f, its stop is at %.2f", o.At, stop.S)
	}
	// At its stop the arm bears the spring's 30·26° N·mm through the pin, 20 mm
	// from O, whose force stands across the arm at most.
	if least := 30 * Rad(26) / 20; o.Driving < least {
		t.Errorf("driving %.3f N, the spring alone asks for more than %.3f N", o.Driving, least)
	}
}

// An arm that is light enough swings out before the pin has come to the ramp; the
// ramp then is followed over the rest of its free travel.
func TestDrivenBeforeHeldIsMet(t *testing.T) {
	d := RodAndArm()
	d.Attitude = Rad(-90)
	d.Joints.Get("O").Pin.Drag, d.Joints.Get("P").Pin.Drag = 1, 4
	x := model(t, d, Options{Weights: []Weight{{"rod", 80, Vec(20, 0)}}}) // rubs in the groove
	r := run(t, x)
	follows(t, r, false, ev(StopMet, "arm out"), ev(RampMet, "bump"), ev(RampPeak, "bump"))
	got, err := x.Rules(r)
	if err != nil {
		t.Fatal(err)
	}
	_, want := rulesOf(t, RodAndArm())
	if o := got[0]; o.Verdict != Kept || math.Abs(o.Holding-want[0].Holding) > 0.1*want[0].Holding {
		t.Errorf("%+v, want a ramp that holds to about %.2f N", o, want[0].Holding)
	}
}

// What drives needs no push, and what holds comes into reach only when that is
// over: it is followed there, and the order is safe.
func TestHeldComesIntoReachLater(t *testing.T) {
	d := RodAndArm()
	d.Ramps = params.Named[params.Ramp]{}
	d.Joints.Get("O").Pin.Drag = 0
	d.Springs.Add("spring", params.Spring{Torsion: &params.TorsionSpring{Joint: "O", Rate: 60, Free: Rad(20)}})
	d.Order = params.Named[params.Rule]{}
	d.Order.Add("arm first", params.Rule{Stroke: "out", Holds: "lock", While: []string{"O"}, Margin: 1.5})
	r, got := rulesOf(t, d)
	follows(t, r, false, ev(StopMet, "arm out"), ev(ClipTouched, "lock"), ev(ClipSnapped, "lock"))
	o := got[0]
	if o.Verdict != Kept || !math.IsInf(o.Margin, 1) || o.Driving > 0 || o.Holding <= 0 || math.IsInf(o.Holding, 1) {
		t.Errorf("%+v", o)
	}
}

// A clip that the half stroke does not bring into reach can't hold, and what is
// never met is said.
func TestOutOfReach(t *testing.T) {
	d := RodAndArm()
	d.Drive.Travel = 6 // ends before the ramp gives way
	d.Order.Add("no clip", params.Rule{Stroke: "out", Holds: "lock", While: []string{"O"}, Margin: 1.5})
	d.Order.Add("no snap", params.Rule{Stroke: "out", Holds: "bump", While: []string{"lock", "O"}, Margin: 1.5})
	d.Order.Add("nothing", params.Rule{Stroke: "out", Holds: "bump", While: []string{"lock"}, Margin: 1.5})
	_, got := rulesOf(t, d)
	if r := got[2]; r.Verdict != Broken || r.Note == "" {
		t.Errorf("%+v", r)
	}
	if r := got[3]; r.Verdict != Kept || r.Note != "not met on this half of the stroke: lock" {
		t.Errorf("%+v", r)
	}
	if r := got[4]; r.Verdict != Unclear || r.Element != "" {
		t.Errorf("%+v", r)
	}
}

// A joint that goes there and back has its range to the far end.
func TestRangeOfAJoint(t *testing.T) {
	x := model(t, RodAndArm(), Options{})
	r := run(t, x)
	p := &party{joint: x.Mech.JointIndex("O")}
	p.covers(x.Mech, r.Samples[:r.Turn+1])
	near(t, "arm, out", p.over, Rad(-30), Rad(0.3))
	p.covers(x.Mech, r.Samples)
	near(t, "arm, there and back", p.over, Rad(-30), Rad(0.3))
	if !p.passed(Rad(60)) || p.passed(Rad(70)) {
		t.Error("the range ends at the stop")
	}
	p = &party{joint: x.Mech.JointIndex("slide")}
	p.covers(x.Mech, r.Samples[:r.Turn+1])
	near(t, "slide", p.end, x.Mech.Coord(r.Samples[r.Turn].Q, linkage.JointCoord(p.joint)), 1e-12)
}

// A stroke that meets a wall keeps its energy balance up to there, goes back, and
// tells the force of the wall apart from that of the stroke.
func TestHaltKeepsTheBalance(t *testing.T) {
	d := RackLifter()
	d.Drive.Travel = 60 // the jaw stands against its stop long before
	d.Drive.Screw = &params.ScrewDrive{Screw: "Tr8x2", Motor: "gearmotor-12mm", Friction: 0.1}
	r := run(t, model(t, d, Options{}))
	h := r.Halt(false)
	if h == nil || h.Joint != "B" || h.S < 18 || len(h.Ends) != 1 || h.Ends[0] != "jaw out" || r.Halted() == nil {
		t.Fatalf("travel of 60 mm: %+v", h)
	}
	if e := r.Find(DriveBlocked, "B", false); e == nil || e.S != h.S || e.Sample != r.Turn {
		t.Errorf("event %+v", e)
	}
	follows(t, r, true, ev(RampPeak, "detent"), ev(StopMet, "tip tucked"), ev(ClipReleased, "clip"))
	balanced(t, r)
	if out, _ := r.Peak(); out > h.Force {
		t.Errorf("%.1f N of a motor that stalls at %.1f N", out, h.Force)
	}
	whole := run(t, model(t, RackLifter(), Options{}))
	if whole.Halted() != nil {
		t.Errorf("the finger's own travel: %v", whole.Halted())
	}
}
