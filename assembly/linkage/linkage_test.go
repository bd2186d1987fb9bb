package linkage

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	. "tuckfinger/assembly/linkage/linktest"
	"tuckfinger/params"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.Abs(got-want) > tol || got != got {
		t.Errorf("%s = %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

func deg(rad float64) float64 { return rad * 180 / math.Pi }

func build(t *testing.T, b *Builder) *Mechanism {
	t.Helper()
	m, err := New(&b.D)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// The published closed form of the finger: travel of C, its lever on the tip,
// and the travel that the upper link's quarter turn costs.
func TestFingerClosedForm(t *testing.T) {
	m := build(t, Finger())
	if m.Mobility.Freedoms != 2 || m.Mobility.Kutzbach != 2 {
		t.Fatalf("mobility %+v, want 2 and 2", m.Mobility)
	}
	tip, jaw := BodyAngle(m.BodyIndex("tip")), BodyAngle(m.BodyIndex("upper"))
	guide := JointCoord(m.JointIndex("guide"))
	c0 := m.Coord(m.Start, guide)
	for _, row := range []struct{ tip, travel, lever float64 }{
		{-90, 0, 2.62}, {-60, 2.28, 5.81}, {-30, 5.73, 7.01}, {-6, 8.60, 6.52}, {0, 9.27, 6.24}, {25, 11.65, 4.57},
	} {
		q, err := m.Move(m.Start, Target{tip, Rad(row.tip)}, Target{jaw, Rad(-90)})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "C travel", m.Coord(q, guide)-c0, row.travel, 0.005)
		dq, err := m.Sensitivity(q, tip, jaw)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "dy/dθ", m.Rate(q, dq[0], guide), row.lever, 0.005)
	}
	q, err := m.Move(m.Start, Target{tip, Rad(-90)}, Target{jaw, 0})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "carriage travel of the jaw's quarter turn", m.Coord(q, JointCoord(m.Drive)), 7.07, 0.12)
}

func TestSlideIsZeroInTheTuckedPose(t *testing.T) {
	m := build(t, Finger())
	near(t, "s", m.Coord(m.Start, JointCoord(m.Drive)), 0, 1e-12)
	w := m.NewWork()
	w.Set(m.Start)
	if r := w.Eval(); r > 1e-12*m.Scale {
		t.Errorf("start residual %g", r)
	}
}

// Every derivative against a central difference, at bent configurations of a
// mechanism with all kinds of joint (arc slot and moving guide included).
func TestJacobianAgainstDifferences(t *testing.T) {
	b := Finger()
	b.Start("ear", 20)
	b.Rigid("fixed", "ear", "tip", Vec(4, -1), 30)
	b.Near("rider", 10)
	s := b.Slide("track", "rider", "middle", Vec(2, 1), 15)
	s.Angle = Rad(12)
	sl := b.Slot("curve", "rider", Vec(3, 2), "tip", Vec(0, 20), Vec(5, 25), Vec(20, 28))
	sl.Path[0].Sweep = Rad(-70)
	m, err := assemble(&b.D)
	if err != nil {
		t.Fatal(err)
	}
	w := m.bare(JointCoord(m.JointIndex("curve")), JointCoord(m.JointIndex("track")), JointCoord(m.JointIndex("K")), BodyAngle(2))
	q := make([]float64, m.Size())
	for i := 3; i < len(q); i++ {
		q[i] = 9 * math.Sin(1.7*float64(i))
		if i%3 == 2 {
			q[i] /= 7
		}
	}
	const h = 1e-5
	w.Set(q)
	w.Eval()
	jac := append([]float64(nil), w.j...)
	for c, k := range w.qcol {
		step := h
		if c%3 == 2 {
			step /= m.Scale
		}
		w.Set(q)
		w.Q[k] += step
		w.Eval()
		hi := append([]float64(nil), w.Residual...)
		w.Set(q)
		w.Q[k] -= step
		w.Eval()
		for r := range hi {
			near(t, m.equation(r, w.Targets)+" derivative", jac[r*w.n+c], (hi[r]-w.Residual[r])/(2*h), 2e-8)
		}
	}
}

// Multipliers are the reactions: a weight on a slider-crank, by hand.
func TestMultipliersAreReactions(t *testing.T) {
	b := sliderCrank(60, "near")
	m := build(t, b)
	w := m.NewWork(BodyAngle(m.BodyIndex("crank")))
	w.Set(m.Start)
	w.Eval()
	w.Factor(true)
	f, lambda := make([]float64, m.Size()), make([]float64, w.nr)
	slider := m.BodyIndex("slider")
	f[3*slider] = -50 // N against the slider
	w.Multipliers(f, lambda)
	j := m.Joints[m.JointIndex("wrist")]
	// The coupler is a two-force member along its own line, 152.9131° seen from
	// the slider pin (Norton, Ex. 4-2); A is the coupler, B the slider.
	near(t, "wrist force x", lambda[j.Row], 50, 1e-9)
	near(t, "wrist force direction", deg(math.Atan2(lambda[j.Row+1], lambda[j.Row])), 152.9131-180, 1e-3)
	// Virtual work: torque·dθ = 50·dd.
	dq, err := m.Sensitivity(m.Start, BodyAngle(m.BodyIndex("crank")))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "crank torque", lambda[len(lambda)-1], 50*m.Rate(m.Start, dq[0], JointCoord(m.JointIndex("line"))), 1e-9)
}

func TestRedundantParallelogram(t *testing.T) {
	b := &Builder{}
	b.Ground("frame")
	b.Start("one", 60)
	b.Near("two", 60)
	b.Near("three", 60)
	b.Near("bar", 0)
	b.Pin("p1", "frame", Vec(0, 0), "one", Vec(0, 0))
	b.Pin("p2", "frame", Vec(30, 0), "two", Vec(0, 0))
	b.Pin("p3", "frame", Vec(60, 0), "three", Vec(0, 0))
	b.Pin("q1", "one", Vec(20, 0), "bar", Vec(0, 0))
	b.Pin("q2", "two", Vec(20, 0), "bar", Vec(30, 0))
	b.Pin("q3", "three", Vec(20, 0), "bar", Vec(60, 0))
	m := build(t, b)
	// Kutzbach: 0 by the formula although really mobile (1).
	if m.Mobility.Kutzbach != 0 || m.Mobility.Freedoms != 1 || len(m.Mobility.Redundant) == 0 {
		t.Fatalf("mobility %+v", m.Mobility)
	}
	q, err := m.Move(m.Start, Target{BodyAngle(1), Rad(120)})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "third crank follows", deg(q[3*3+2]), 120, 1e-9)
	near(t, "bar stays level", q[3*4+2], 0, 1e-10)
}

func TestRefusals(t *testing.T) {
	var mob *MobilityError
	var closure *ClosureError
	var dead *DeadPointError
	var input *InputError

	few := Finger()
	few.D.Bodies.Get("upper").Start, few.D.Bodies.Get("upper").Near = nil, few.D.Bodies.Get("upper").Start
	if _, err := New(&few.D); !errors.As(err, &mob) || !strings.Contains(err.Error(), "needs 2") || !strings.Contains(err.Error(), "upper") || strings.Contains(err.Error(), "tip") {
		t.Errorf("too few starts: %v", err)
	}
	many := Finger()
	m := build(t, Finger())
	many.D.Bodies.Get("lower").Start = &params.Stance{Angle: m.Start[3*m.BodyIndex("lower")+2]}
	if _, err := New(&many.D); !errors.As(err, &mob) || !strings.Contains(err.Error(), "3 start values are given, the mechanism takes 2") {
		t.Errorf("too many starts: %v", err)
	}
	many.D.Bodies.Get("lower").Start.Angle += 0.3
	if _, err := New(&many.D); !errors.As(err, &mob) || !strings.Contains(err.Error(), "takes 2") {
		t.Errorf("contradicting starts: %v", err)
	}
	short := Finger()
	short.D.Joints.Get("C").Pin.At.Values[0].X = 44
	short.D.Joints.Get("guide").Slot.At.X = 44
	if _, err := New(&short.D); !errors.As(err, &closure) || closure.Joint != "guide" {
		t.Errorf("pin outside its slot: %v", err)
	}
	// With the tip held, the middle and upper link end the carriage's way.
	tip, drive := BodyAngle(m.BodyIndex("tip")), JointCoord(m.Drive)
	_, err := m.Move(m.Start, Target{tip, Rad(-90)}, Target{drive, 40})
	if !errors.As(err, &dead) && !errors.As(err, &closure) {
		t.Errorf("carriage driven past the links' reach: %v", err)
	}
	// Driven by the connect pin, the same chain has a dead point.
	_, err = m.Move(m.Start, Target{JointCoord(m.JointIndex("guide")), 20}, Target{BodyAngle(m.BodyIndex("upper")), Rad(-90)})
	if !errors.As(err, &dead) && !errors.As(err, &closure) {
		t.Errorf("dead point: %v", err)
	}
	truss := &Builder{}
	truss.Ground("g")
	truss.Near("a", 60)
	truss.Near("b", 120)
	truss.Pin("p", "g", Vec(0, 0), "a", Vec(0, 0))
	truss.Pin("q", "g", Vec(10, 0), "b", Vec(0, 0))
	truss.Pin("r", "a", Vec(10, 0), "b", Vec(10, 0))
	if _, err := New(&truss.D); !errors.As(err, &mob) || mob.Mobility.Freedoms != 0 || mob.Mobility.Kutzbach != 0 {
		t.Errorf("truss: %v", err)
	}
	two := Finger()
	two.D.Bodies.Get("lower").Near, two.D.Bodies.Get("middle").Near = nil, nil
	if _, err := New(&two.D); !errors.As(err, &input) || !strings.Contains(err.Error(), "lower, middle") {
		t.Errorf("several branches: %v", err)
	}
}

// A pin passes from a line to an arc and on to a line; its coordinate is the
// length along them.
func TestPinPassesFromPieceToPiece(t *testing.T) {
	b := &Builder{}
	b.Ground("plate")
	b.Body("carrier")
	b.Start("arm", 60)
	b.Slide("track", "carrier", "plate", Vec(-12, 0), 90)
	b.Pin("p", "carrier", Vec(0, 0), "arm", Vec(0, 0))
	s := b.Slot("groove", "arm", Vec(20, 0), "plate", Vec(-10, 0), Vec(0, 0), Vec(5, 5), Vec(5, 15))
	s.Path[1].Sweep = Rad(90)
	m := build(t, b)
	groove := JointCoord(m.JointIndex("groove"))
	near(t, "start", m.Coord(m.Start, groove), 8, 1e-9)
	near(t, "length", m.Joints[2].Path.Length(), 20+5*math.Pi/2, 1e-9)
	if c, _ := m.Joints[2].Path.Corner(); c > 1e-12 {
		t.Errorf("smooth path has a corner of %g rad", c)
	}
	for want, at := range map[float64]r2.Vec{
		3: Vec(-7, 0), 9.9: Vec(-0.1, 0), 10 + 5*math.Pi/4: Vec(5*math.Sqrt2/2, 5-5*math.Sqrt2/2), 20 + 5*math.Pi/2: Vec(5, 15),
		21 + 5*math.Pi/2: Vec(5, 16), -1: Vec(-11, 0), // past its ends
	} {
		q, err := m.Move(m.Start, Target{groove, want})
		if err != nil {
			t.Fatalf("to %g: %v", want, err)
		}
		near(t, "pin off its place", r2.Norm(r2.Sub(m.JointPoint(q, 2), at)), 0, 1e-9)
		near(t, "coordinate", m.Coord(q, groove), want, 1e-9)
	}
}

func BenchmarkClose(b *testing.B) {
	m, err := New(&Finger().D)
	if err != nil {
		b.Fatal(err)
	}
	w := m.NewWork(JointCoord(m.Drive))
	dq := make([]float64, m.Size())
	b.ReportAllocs()
	for i := 0; i < b.N; i++ {
		w.Set(m.Start)
		w.Targets[0].Value = 0.05 + 0.01*float64(i%3)
		if _, ok := w.Close(1e-12, dq); !ok {
			b.Fatal("not closed")
		}
	}
}
