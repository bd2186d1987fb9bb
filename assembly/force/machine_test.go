package force

import (
	"math"
	"testing"
)

// Shigley, Mechanical Engineering Design, Ex. 8-1 (book 26.18, 9.77,
// .311; stresses 6.07, −10.39, −12.9, 41.5).
func TestSquareScrew(t *testing.T) {
	s := Screw{Pitch: 4, Starts: 2, Mean: 30, Mu: .08, CollarMu: .08, CollarDiameter: 40}
	if err := s.Check(); err != nil {
		t.Fatal(err)
	}
	near(t, "lead", s.Lead(), 8, 0)
	rel(t, "raise", s.Raise(6400), 26177, .001)
	rel(t, "lower", s.Lower(6400), 9774, .001)
	rel(t, "efficiency", s.Efficiency(), .31129, .001)
	bare := s
	bare.CollarMu = 0
	rel(t, "thread raise", bare.Raise(6400), 15937, .001)
	rel(t, "thread lower", bare.Lower(6400), -466, .001)
	rel(t, "collar", s.Raise(6400)-bare.Raise(6400), 10240, .001)
	if !s.SelfLocking() || bare.SelfLocking() {
		t.Error("the collar alone holds this screw")
	}
	st := s.Stress(6400, s.Raise(6400), 28)
	rel(t, "torsion", st.Torsion, 6.07, .005)
	rel(t, "axial", st.Axial, -10.39, .005)
	rel(t, "bearing", st.Bearing, -12.9, .005)
	rel(t, "root bending", st.RootBending, 41.5, .005)
}

// Shigley's formula for threads with flanks, T = F·dm/2·(l + π·μ·dm·sec α)/
// (π·dm − μ·l·sec α), sec 15° or sec 30°; dm = d − p/2. Back-driven below
// μ = l·cos 15°/(π·d2). Values worked out from these formulas by themselves.
func TestTrapezoidalScrews(t *testing.T) {
	tr := func(d, p float64, starts int) Screw {
		th, err := Trapezoidal(d, p)
		if err != nil {
			t.Fatal(err)
		}
		return Screw{Pitch: p, Starts: starts, Mean: th.D2, Flank: deg(15), Mu: .2}
	}
	for _, c := range []struct {
		s                 Screw
		raise, lower, eff float64
	}{
		{tr(8, 2, 1), 106.302, 39.887, .299439},
		{tr(8, 1.5, 1), 100.298, 50.496, .238022},
		{tr(8, 2, 4), 216.068, -51.012, .589277},
	} {
		near(t, "raise", c.s.Raise(100), c.raise, 1e-3)
		near(t, "lower", c.s.Lower(100), c.lower, 1e-3)
		near(t, "efficiency", c.s.Efficiency(), c.eff, 1e-3)
	}
	near(t, "lead angle", tr(8, 2, 1).LeadAngle()*180/math.Pi, 5.19651, 1e-3)
	near(t, "exact flank", tr(8, 2, 4).RaiseExact(100), 215.692, 1e-3)
	for _, c := range []struct {
		s    Screw
		want float64
	}{
		{tr(8, 1.5, 1), .063613}, {tr(8, 2, 1), .087847}, {tr(8, 2, 2), .175694},
		{tr(8, 2, 4), .351387}, {tr(10, 2, 1), .068325}, {tr(12, 3, 1), .087847},
	} {
		near(t, "critical mu", c.s.CriticalMu(), c.want, 1e-6)
		for _, f := range []float64{.999, 1.001} {
			s := c.s
			s.Mu = c.want * f
			if s.SelfLocking() != (f > 1) || math.IsInf(s.BackDrive(), 1) != (f > 1) {
				t.Errorf("mu %g times critical: self-locking %v", f, s.SelfLocking())
			}
		}
	}
	m5 := Screw{Pitch: .8, Starts: 1, Mean: MetricPitchDiameter(5, .8), Flank: deg(30), Mu: .2}
	near(t, "M5 d2", m5.Mean, 4.480385, 1e-6)
	near(t, "M5 raise", m5.Raise(100), 65.325, 1e-3)
	near(t, "M5 lower", m5.Lower(100), 38.497, 1e-3)
}

// Basic sizes by the formulas of ISO 2901 and 2904: d2 = d − P/2, d3 = d − P − 2ac,
// D1 = d − P, D4 = d + 2ac. 8 × 2 is sold everywhere, but is no size of the standard.
func TestTrapezoidalSizes(t *testing.T) {
	for _, c := range []struct {
		d, p float64
		want Thread
	}{
		{8, 1.5, Thread{.75, .9, 7.25, 6.2, 6.5, 8.3}},
		{10, 2, Thread{1, 1.25, 9, 7.5, 8, 10.5}},
		{12, 3, Thread{1.5, 1.75, 10.5, 8.5, 9, 12.5}},
		{16, 4, Thread{2, 2.25, 14, 11.5, 12, 16.5}},
		{8, 2, Thread{1, 1.25, 7, 5.5, 6, 8.5}},
	} {
		got, err := Trapezoidal(c.d, c.p)
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range [][2]float64{{got.H1, c.want.H1}, {got.H3, c.want.H3}, {got.D2, c.want.D2},
			{got.D3, c.want.D3}, {got.D1, c.want.D1}, {got.D4, c.want.D4}} {
			if math.Abs(v[0]-v[1]) > 1e-12 {
				t.Errorf("%g × %g size %d is %g, want %g", c.d, c.p, i, v[0], v[1])
			}
		}
	}
	if _, err := Trapezoidal(8, 1.2); err == nil {
		t.Error("pitch 1.2 is accepted")
	}
}

// A rack of module 1 on 20 teeth, 20°: π·m·z of travel a turn, T/r, Ft·tan α,
// Ft/cos α. A servo of 20 kgf·cm: 9.80665 N to the kgf. Closed forms. Then the
// energy balance of a move.
func TestDrives(t *testing.T) {
	r := Rack{Module: 1, Teeth: 20, Pressure: deg(20), Efficiency: .9, Drag: 5}
	near(t, "travel", r.Lead(), 62.8319, 1e-4)
	ft, fr, fn := r.Mesh(500)
	near(t, "tangential", ft, 50, 1e-4)
	near(t, "radial", fr, 18.1985, 1e-4)
	near(t, "normal", fn, 53.2089, 1e-4)
	near(t, "20 kgf·cm", KgfCm(20), 1961.330, 1e-3)
	near(t, "servo force", Servo{Rated: KgfCm(20), Arm: 12}.Force(), 163.444, 1e-3)
	// A load just below the back-drive force leaves a brake torque to overcome.
	for _, d := range []Drive{r, Screw{Pitch: 2, Starts: 4, Mean: 7, Flank: deg(15), Mu: .2, Drag: 5}} {
		near(t, "torque at the back-drive force", d.Torque(-d.BackDrive()), 0, 1e-9)
	}
	if !math.IsInf((Rack{Module: 1, Teeth: 20, Efficiency: .45}).BackDrive(), 1) {
		t.Error("a train of efficiency .45 is driven back")
	}
	s := Screw{Pitch: 2, Starts: 1, Mean: 7, Flank: deg(15), Mu: .2}
	m, err := Move(s, 100, 40, 10, 100)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "time", m.Time, 4.1, 1e-12) // 0.1 s up, 0.1 s down over 1 mm, 39 mm at 10 mm/s
	near(t, "power", m.Power, 100*.010/s.Efficiency(), 1e-9)
	m, err = Move(s, 100, 1, 100, 100)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "short move", m.Time, .2, 1e-12) // triangle: 0.5 mm each in 0.1 s
	if _, err := Move(s, 100, 0, 1, 1); err == nil {
		t.Error("no travel is accepted")
	}
}

// Closed forms: friction circle r·sin φ (small-friction form r·μ), a straight
// lever Q(b ± r·sin φ)/(a ∓ r·sin φ), the shortest drawer guide 2·μ·e of two-point
// contact, and a guide's couple.
func TestJoints(t *testing.T) {
	near(t, "friction circle", FrictionCircle(2, .2), .392232, 1e-5)
	near(t, "small friction", FrictionCircle(2, .2), 2*.2, .01)
	near(t, "circle of the lever's pin", FrictionCircle(3, .25), .727607, 1e-6)
	near(t, "moment", PinTorque(2, .2, -50), 19.6116, 1e-4)
	raise, hold := Lever(100, 40, 25, 3, .25)
	near(t, "raise", raise, 65.5107, 1e-4)
	near(t, "hold", hold, 59.5969, 1e-4)
	ideal, _ := Lever(100, 40, 25, 3, 0)
	near(t, "ideal", ideal, 62.5, 1e-12)
	near(t, "shortest guide", ShortestGuide(30, .25), 15, 1e-12)
	g := Guide{Length: 15, Mu: .25}
	if !math.IsInf(g.DrawerForce(1, 30), 1) {
		t.Error("a guide of the jamming length moves")
	}
	g.Length = 40
	// The push balances load plus the friction of its own couple.
	p := g.DrawerForce(10, 30)
	near(t, "drawer", p, 10+g.Friction(0, p*30), 1e-12)
	// One lateral force at an end contact presses there alone.
	near(t, "end load", g.Friction(8, 8*20), .25*8, 1e-12)
	if _, ok := FoldStarts(9.1, 30, .3); !ok {
		t.Error("a contact at 9.1 mm, 30 mm down, does not fold at mu .3")
	}
	if m, ok := FoldStarts(8.9, 30, .3); ok || math.Abs(m+.1) > 1e-12 {
		t.Errorf("a contact at 8.9 mm folds, margin %g", m)
	}
}

// Two-jaw friction grip, N = m(g+a)S/(2μ): a textbook exercise gives 78.4 N for
// 8 kg at μ 0.5; others by the formula. Jaws of a full V of 90°: m·g·S·sin 45°/(2μ),
// four line contacts. Then the grip of the reference finger.
func TestGrip(t *testing.T) {
	near(t, "textbook exercise", Grip{Mu: .5, Safety: 1, G: 9.8}.Needed(8000), 78.4, 1e-9)
	near(t, "standard gravity", Grip{Mu: .3, Safety: 2}.Needed(200), 6.537767, 1e-6)
	near(t, "9.81", Grip{Mu: .3, Safety: 2, G: 9.81}.Needed(200), 6.54, 1e-6)
	near(t, "lifted with 5 m/s²", Grip{Mu: .3, Safety: 2, G: 9.81, Accel: 5}.Needed(200), 9.873333, 1e-6)
	v := Grip{Mu: .3, Safety: 2, G: 9.81, HalfAngle: deg(45)}
	near(t, "V-jaws", v.Needed(200), 4.624478, 1e-6)
	near(t, "capacity", v.Capacity(v.Needed(200)), 200, 1e-9)
	// Frictionless chain, tip and jaw horizontal, pads 20 mm out, 60 N at the
	// carriage; the fixed pivot is 6.24 mm per rad from the chain.
	near(t, "grip", PadForce(60, TipClosing(20, 6.24)), 14.27, .005)
	// Statics: the chain carries what the carriage does not give to the jaw, and
	// its moment about the tip's pivot balances the pad.
	f := PadForce(60, TipClosing(20, 6.24))
	near(t, "statics", (60-f)*6.24, f*20, 1e-9)
}

// Springs, stops and detents push with minus the slope of their energy.
func TestPotentials(t *testing.T) {
	d := Detent{Seat: .2, Sense: -1, Hold: 12, Width: deg(3), Edge: deg(.5)}
	if err := d.Check(); err != nil {
		t.Fatal(err)
	}
	for _, p := range []Potential{
		Spring{Rate: 3, Rest: .1}, Spring{Rate: 3, Rest: .1, OneSided: true},
		Stop{Limit: .1, Stiffness: 50}, Stop{Limit: .1, Upper: true, Stiffness: 50},
		d, Detent{Seat: .1, Sense: 1, Hold: 12, Width: deg(3), Edge: deg(1.5)},
	} {
		for x := -.301; x < .3; x += .0037 {
			lo, _ := p.At(x - 1e-7)
			hi, _ := p.At(x + 1e-7)
			_, f := p.At(x)
			near(t, "force", f, -(hi-lo)/2e-7, 2e-5)
		}
	}
	_, f := d.At(.2 - deg(1.5))
	near(t, "hold towards the seat", f, 12, 1e-12)
	u, f := d.At(.2 - deg(4))
	near(t, "silent after passing", f, 0, 0)
	near(t, "energy after passing", u, 12*deg(2.5), 1e-12)
	if _, f = (Stop{Limit: 1, Upper: true, Stiffness: 10}).At(1.1); f >= 0 {
		t.Error("an upper stop pushes up")
	}
	if _, f = (Spring{Rate: 1, Rest: 5, OneSided: true}).At(4); f != 0 {
		t.Error("a rubber band pushes")
	}
	d.Edge = deg(2)
	if d.Check() == nil {
		t.Error("an edge wider than half the detent is accepted")
	}
}
