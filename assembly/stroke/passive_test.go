package stroke

import (
	"math"
	"testing"

	"tuckfinger/assembly/force"
	. "tuckfinger/assembly/linkage/linktest"
	"tuckfinger/params"
)

// folding is the finger with a tip outline, a drive and a floor.
func folding(screw string, friction float64) *params.Design {
	d := RackLifter()
	d.Drive.Screw = &params.ScrewDrive{Screw: screw, Motor: "gearmotor-12mm", Friction: 0.1}
	d.Bodies.Get("tip").Features = []params.Feature{{Outline: &params.Outline{Fillet: 2,
		Points: []params.Corner{{At: Vec(-3, -4)}, {At: Vec(34, -4)}, {At: Vec(34, 4)}, {At: Vec(-3, 4)}}}}}
	d.Passive = &params.Passive{Body: "tip", Floor: -35, Descent: 5, Friction: friction, From: 1}
	return d
}

func fold(t *testing.T, d *params.Design) *PassiveResult {
	t.Helper()
	x := model(t, d, Options{})
	p, err := x.Passive(run(t, x))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestPassiveFold(t *testing.T) {
	d := folding("Tr8x8P2", 0.1)
	p := fold(t, d)
	if !p.Starts || p.Jammed || p.Reach <= 0 {
		t.Errorf("fold does not start: %+v", p)
	}
	if math.IsInf(p.BackDrive, 1) || p.BackDrive <= 0 {
		t.Errorf("an 8 mm lead at μ 0.1 turns back; BackDrive = %g", p.BackDrive)
	}
	last := p.Samples[len(p.Samples)-1]
	tip := 3*2 + 2
	if last.Q[tip] < p.Samples[0].Q[tip]+Rad(10) {
		t.Errorf("the tip turned by %.1f° only", (last.Q[tip]-p.Samples[0].Q[tip])*180/math.Pi)
	}
	if len(p.Moved) == 0 || p.Lost == "" || p.Rise <= 0 {
		t.Errorf("moved %v, lost %q after %.2f mm", p.Moved, p.Lost, p.Rise)
	}
	if p.Takeover == nil || len(p.Takeover.Samples) == 0 {
		t.Fatal("the drive did not take over")
	}
	// The drive that takes over is no longer one that the slide has to turn back.
	over, _ := p.Takeover.Peak()
	plain, _ := run(t, model(t, d, Options{})).Peak()
	if over > 1.2*plain {
		t.Errorf("the drive takes over with %.2f N, a stroke takes %.2f N", over, plain)
	}
	for i := 1; i < len(p.Samples); i++ {
		if p.Samples[i].Contact < 0 {
			t.Fatal("the floor pulls")
		}
	}
}

// A locking screw does not turn back: the slide stands still.
func TestPassiveFoldWithLockingScrew(t *testing.T) {
	p := fold(t, folding("Tr8x2", 0.1))
	if !math.IsInf(p.BackDrive, 1) {
		t.Errorf("Tr8x2 at μ 0.1 locks (below 0.0878 it would not); BackDrive = %g", p.BackDrive)
	}
	for _, s := range p.Samples {
		near(t, "s", s.S, p.Samples[0].S, 1e-6)
	}
}

// The fold starts only if the contact lies farther out than friction times
// height: the solver and the rule agree on both sides of the limit.
func TestPassiveFoldNeedsReach(t *testing.T) {
	slippery, rough := fold(t, folding("Tr8x8P2", 0.1)), fold(t, folding("Tr8x8P2", 0.9))
	if !slippery.Starts || slippery.Jammed {
		t.Errorf("μ 0.1: %v, jammed %v", slippery.Starts, slippery.Jammed)
	}
	if rough.Starts || !rough.Jammed {
		t.Errorf("μ 0.9: reach %.2f mm, starts %v, jammed %v", rough.Reach, rough.Starts, rough.Jammed)
	}
}

func TestDriveDemand(t *testing.T) {
	d := folding("Tr8x2", 0.1)
	x := model(t, d, Options{})
	r := run(t, x)
	g, err := x.Drive(r)
	if err != nil {
		t.Fatal(err)
	}
	// By hand from the largest resistance and the screw's own law.
	out, back := r.Peak()
	s := force.Screw{Pitch: 2, Starts: 1, Mean: 7, Flank: math.Pi / 12, Mu: 0.1}
	near(t, "peak torque", g.Peak, s.Raise(math.Max(out, back)), 1e-9)
	near(t, "time", g.Time, 2*d.Drive.Travel/d.Drive.Speed, 1e-6)
	near(t, "turns per second", g.TurnSpeed, d.Drive.Speed/2, 1e-12)
	near(t, "slide force of the rated motor", s.Raise(g.SlideForce), g.Rated, 1e-6)
	if g.Mean <= 0 || g.Mean >= g.Peak || g.Power <= 0 {
		t.Errorf("%+v", g)
	}
	// An 8 mm lead turns back: what a spring puts on the slide then is braked, and
	// no demand on the motor's drive.
	d.Drive.Screw.Screw = "Tr8x8P2"
	pushed := *r
	pushed.Samples = append([]Sample(nil), r.Samples...)
	pushed.Samples[r.Turn/2].Force = -500
	if g, err = x.Drive(&pushed); err != nil {
		t.Fatal(err)
	}
	s.Starts = 4
	near(t, "peak torque of a slide that is pushed on", g.Peak, s.Raise(math.Max(out, back)), 1e-9)
	near(t, "braking torque", g.Brake, -s.Lower(500), 1e-9)
	d.Drive.Screw, d.Drive.Servo = nil, &params.DirectDrive{Motor: "actuator-50mm"}
	if g, err = x.Drive(r); err != nil || !g.Linear || math.Abs(g.Peak-math.Max(out, back)) > 1e-9 {
		t.Errorf("linear actuator: %+v, %v", g, err)
	}
}
