package force

import (
	"math"
	"testing"
)

func mustArm(t testing.TB, a Arm, terms Terms) *ArmLaw {
	t.Helper()
	l, err := a.Law(terms)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func mustRail(t testing.TB, r Rail, terms Terms) *RailLaw {
	t.Helper()
	l, err := r.Law(terms)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// End-loaded cantilever: Pl³/3EI, 6Pl/bt², 3ty/2l², 3y/2l and 1.2Pl/GA, closed forms
// of any beam table.
func TestCantilever(t *testing.T) {
	a := Arm{Material: Material{E: 2000, Nu: .35}, Length: 20, Thickness: 2, Width: 8}
	l := mustArm(t, a, 0)
	near(t, "deflection", 10*l.FF, 2.5, 1e-6)
	near(t, "stiffness", l.Stiffness(), 4, 1e-6)
	near(t, "stress", l.StressAt(10), 37.5, 1e-6)
	near(t, "strain", l.RootStrain(2.5), .01875, 1e-6)
	near(t, "tip slope", l.TipRotation(2.5), .1875, 1e-6)
	near(t, "shear part", 10*(mustArm(t, a, TermShear).FF-l.FF), .02025, 1e-6)
	// Beam-element geometric stiffness, (36, −3L, 4L²)/(30L).
	for i, want := range []float64{36, -60, 1600} {
		rel(t, "shortening", l.shortening[i], want/600, 1e-9)
	}
}

// A published worked example gives 4.16 %. Short arms, l/h below about 10: strain
// 1.5ty/(l²Q), Q ≥ 1, of a secondary table of plastics makers' guides.
func TestClipRootStrain(t *testing.T) {
	l := mustArm(t, Arm{Material: Material{E: 1800, Nu: .38}, Length: 15, Thickness: 2.5, Width: 4}, 0)
	near(t, "strain", l.RootStrain(2.5), .0416667, 1e-6)
	near(t, "short arm, Q=1", ShortArmStrain(2.5, 2.5, 15, 1), .0416667, 1e-6)
	near(t, "short arm, Q=1.6", ShortArmStrain(2.5, 2.5, 15, 1.6), .0416667/1.6, 1e-6)
	if !l.Short() {
		t.Error("an arm of six thicknesses is not flagged short")
	}
	if mustArm(t, Arm{Material: l.arm.Material, Length: 25, Thickness: 2.5, Width: 4}, 0).Short() {
		t.Error("an arm of ten thicknesses is flagged short")
	}
}

// Taper factors by quadrature; tables of plastics makers' guides quote .67, 1.09, .86.
func TestTaper(t *testing.T) {
	for _, c := range []struct{ h, b, want float64 }{
		{1, 1, .666667}, {.5, 1, 1.090355}, {1, .25, .855198}, {.75, 1, .823305}, {.6, 1, .963301}, {.5, .5, 1.333333},
	} {
		a := Arm{Material: Material{E: 2000, Nu: .35}, Length: 18, Thickness: 2, TipThickness: 2 * c.h, Width: 6, TipWidth: 6 * c.b}
		l := mustArm(t, a, 0)
		near(t, "K", l.TaperFactor(), c.want, 1e-5)
		// K is defined by the root strain.
		y := .4
		near(t, "y=K eps L²/h", l.TaperFactor()*(l.RootStrain(y)/l.worst)*18*18/2, y, 1e-9)
	}
	// With u = 1−x/L the strain goes with u/(t1+(t0−t1)u)², largest at
	// u = t1/(t0−t1) by its derivative.
	l := mustArm(t, Arm{Material: Material{E: 2000, Nu: .35}, Length: 10, Thickness: 2, TipThickness: .4, Width: 5}, 0)
	u := .4 / 1.6
	near(t, "worst section", l.worst, u*4/math.Pow(.4+1.6*u, 2), 1e-9)
}

// Bayer/Covestro "Snap-Fit Joints for Plastics", calculation example I (from
// memory), and the mating factor of its p. 14.
func TestSnapWorkedExample(t *testing.T) {
	h := ArmThickness(1.09, .02, 19, 2.4)
	rel(t, "h", h, 3.28, .005)
	p := ArmForce(9.5, h, 1815, .02, 19)
	rel(t, "P", p, 32.5, .005)
	rel(t, "factor", InclinePush(deg(30), .6), 1.80, .005)
	rel(t, "W", p*InclinePush(deg(30), .6), 58.5, .005)
	near(t, "h unrounded", h, 3.2791, 5e-5)
	near(t, "P unrounded", p, 32.526, 5e-4)
	near(t, "factor unrounded", InclinePush(deg(30), .6), 1.80136, 5e-6)
	near(t, "W unrounded", p*InclinePush(deg(30), .6), 58.591, 1e-3)
	near(t, "mating factor, 30", 10*InclinePush(deg(30), .4), 12.708, 1e-3)
	near(t, "mating factor, 60", 10*InclinePush(deg(60), .4), 69.407, 1e-3)
}

// Pa³b³/(3EI L³) of any beam table, checked by moment integration.
func TestFixedBeam(t *testing.T) {
	r := Rail{Material: Material{E: 2100, Nu: .35}, Length: 40, Thickness: 1.6, Width: 6}
	l := mustRail(t, r, 0)
	k, _ := l.Stiffness(12)
	near(t, "k", k, 21.768707, 1e-6)
	near(t, "y", 15/k, .6890625, 1e-6)
	s := l.Stress(12, .6890625)
	near(t, "RA", s.ReactionA, 11.76, 1e-6)
	near(t, "RB", s.ReactionB, 3.24, 1e-6)
	near(t, "MA", s.MomentA, 88.2, 1e-6)
	near(t, "MB", s.MomentB, 37.8, 1e-6)
	near(t, "M(load)", s.MomentLoad, 52.92, 1e-6)
	near(t, "sigma max", s.Strain*2100, 34.4531, 5e-5)
	// Largest deflection 2Pa³b²/(3EI(3a+b)²) at 2aL/(3a+b); 192EI/L³ at the centre;
	// guided 12EI/L³: the same tables.
	ei := 2100 * 6 * math.Pow(1.6, 3) / 12
	y, x := FixedBeamPeak(15, 12, 28, ei)
	near(t, "largest deflection", y, .7975260, 1e-5)
	near(t, "its place", x, 16.66667, 1e-5)
	k, slope := l.Stiffness(20)
	near(t, "centre", k, 12.9024, 1e-6)
	near(t, "slope at the centre", slope, 0, 1e-9)
	near(t, "guided", GuidedStiffness(ei, 40), .8064, 1e-6)
}

// The shear part is 1.2ab/(LGA) exactly at the centre and to 5 % of itself off
// it, where bending and shear share the load a little differently; the slope of
// k agrees with differences for every combination of terms.
func TestRailTerms(t *testing.T) {
	r := Rail{Material: Material{E: 1800, Nu: .38}, Length: 36, Thickness: 1.6, Width: 5,
		EndA: RailEndDefault, EndB: RailEndDefault, RampFrom: 17, RampTo: 21.9, RampHeight: 1}
	ga := r.G() * 8
	flex := func(a float64, terms Terms) float64 {
		k, _ := mustRail(t, r, terms).Stiffness(a)
		return 1 / k
	}
	rel(t, "shear at centre", flex(18, TermShear)-flex(18, 0), 1.2*9/ga, 1e-9)
	rel(t, "shear off centre", flex(9, TermShear)-flex(9, 0), 1.2*9*27/(36*ga), .05)
	// Root rotation: the same beam, longer.
	long := r
	long.Length, long.EndA, long.EndB = 36+1.45*1.6, 0, 0
	k, _ := mustRail(t, long, 0).Stiffness(10 + .725*1.6)
	rel(t, "root rotation", 1/flex(10, TermEnds), k, 1e-12)
	if a, b := flex(19, TermRampStiffening), flex(19, 0); a >= b {
		t.Errorf("ramp does not stiffen: %g ≥ %g", a, b)
	}
	// The plain handbook value is 15–30 % too stiff without the ramp's material.
	plain := flex(18, TermEnds|TermShear) / flex(18, 0)
	if plain < 1.15 || plain > 1.30 {
		t.Errorf("handbook stiffness is %.3f times the corrected, want 1.15 to 1.30", plain)
	}
	for terms := Terms(0); terms < 8; terms++ {
		set := Terms(0)
		for i, b := range []Terms{TermEnds, TermShear, TermRampStiffening} {
			if terms>>i&1 == 1 {
				set |= b
			}
		}
		l := mustRail(t, r, set)
		for _, a := range []float64{3, 9, 16.5, 18, 20, 23, 33} {
			_, dk := l.Stiffness(a)
			kp, _ := l.Stiffness(a + 1e-4)
			km, _ := l.Stiffness(a - 1e-4)
			near(t, "dk/da", dk, (kp-km)/2e-4, 1e-5*math.Max(1, math.Abs(dk)))
		}
	}
}
