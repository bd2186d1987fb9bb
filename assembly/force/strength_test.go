package force

import (
	"math"
	"testing"
)

// Nominal stresses of pins and lugs: F/2A and F/A (4/3 of it at the axis of a round),
// F/dt, F/2t(e−d/2) and two other conventions, F/(w−d)t, M = F/2(t/2+e/4+g); closed
// forms of machine design texts.
func TestPinsAndLugs(t *testing.T) {
	near(t, "double", PinShear(300, 3, 2), 21.2207, 1e-3)
	near(t, "single", PinShear(300, 3, 1), 42.4413, 1e-3)
	near(t, "peak", RoundShearPeak*PinShear(300, 3, 2), 28.2942, 1e-3)
	near(t, "bearing", Bearing(300, 3, 4), 25, 0)
	near(t, "tear-out", TearOut(300, 3, 4, 6, TearShortest), 8.33333, 1e-4)
	near(t, "tear-out 40", TearOut(300, 3, 4, 6, Tear40), 7.73047, 1e-4)
	near(t, "tear-out centre", TearOut(300, 3, 4, 6, TearCentre), 6.25, 1e-4)
	near(t, "net section", NetSection(300, 10, 3, 4), 10.71429, 1e-4)
	if !math.IsInf(TearOut(300, 3, 4, 1.5, TearShortest), 1) || !math.IsInf(NetSection(1, 3, 3, 1), 1) {
		t.Error("a lug without material bears a load")
	}
	// A 3 mm pin in a fork of 4 mm cheeks, an eye of 5, gaps of 0.3.
	m, s := PinBending(300, 3, 4, 5, .3)
	near(t, "moment", m, 532.5, 1e-3)
	near(t, "pin bending", s, 200.889, 1e-3)
	// A link without a hole is the plain 6M/(tw²); the hole takes away its own
	// share of I.
	near(t, "link", LinkBending(100, 10, 4, 0), 6*100/(4*100.), 1e-12)
	i := 4 * (1000. - 27) / 12
	near(t, "link with hole", LinkBending(100, 10, 4, 3), 100*5/i, 1e-12)
}

// A central hole in tension. Net factors by a boundary-collocation solution of the
// strip (residual below 1e-5), gross ones after Howland (from memory); the
// polynomial is Roark's and Peterson's, the other fit Heywood's. It is the factor of
// the net section, since it goes to 2 and not to infinity as the hole fills the strip.
func TestHoleKt(t *testing.T) {
	for i, x := range []float64{.1, .2, .3, .4} {
		net := []float64{2.732, 2.522, 2.362, 2.248}[i]
		gross := []float64{3.036, 3.153, 3.374, 3.747}[i]
		rel(t, "net", HoleKt(x, 1), net, .01)
		rel(t, "gross", GrossKt(HoleKt(x, 1), x, 1), gross, .01)
		heywood := .01
		if x == .4 {
			heywood = .015
		}
		rel(t, "Heywood", HoleKtHeywood(x, 1), net, heywood)
	}
	near(t, "polynomial", HoleKt(3, 10), 2.34909, 1e-5)
	near(t, "Heywood", HoleKtHeywood(3, 10), 2.34300, 1e-5)
	near(t, "net factor in the limit", HoleKt(1, 1), 2, 1e-9)
}

// Shoulder fillets: Roark's Formulas for Stress and Strain, 7th ed., Table 17.1 case 5b
// (coefficients from memory; each column sums to 1, 0, 0, as Kt → 1).
func TestShoulderKt(t *testing.T) {
	for _, c := range [][4]float64{{40, 32, 4, 1.6276}, {3, 2, .5, 1.4366}, {4, 2, .5, 1.4338}} {
		k, err := ShoulderKt(c[0], c[1], c[2])
		if err != nil {
			t.Fatal(err)
		}
		near(t, "Kt", k, c[3], 1e-3)
	}
	for j, want := range []float64{1, 0, 0} {
		sum := 0.0
		for _, c := range shoulderBending {
			sum += c[j]
		}
		near(t, "column sum", sum, want, 1e-9)
	}
	if _, err := ShoulderKt(10, 2, 1); err == nil {
		t.Error("h/r = 4 is accepted")
	}
}

// Hertz's line contact: b = √(4pR/πE*). The first agrees with the form w = √(32F(1−ν²)/(πLE(1/r1+1/r2))) of
// the Mechanical Engineer's Data Handbook, p. 52, w = 2b for radii as diameters.
func TestHertz(t *testing.T) {
	must := func(f, l float64, a, b Material, r1, r2 float64) LineContact {
		t.Helper()
		c, err := Hertz(f, l, a, b, r1, r2)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	steel := Material{E: 206000, Nu: .3}
	c := must(1000, 10, steel, steel, 10, 20)
	rel(t, "E*", c.Modulus, 113186.8, 1e-3)
	rel(t, "b", c.HalfWidth, .0865987, 1e-3)
	rel(t, "pmax", c.Peak, 735.138, 1e-3)
	rel(t, "tau", c.Shear, 220.5, 1e-3)
	rel(t, "its depth", c.Depth, .786*.0865987, 1e-3)
	w := math.Sqrt(32 * 1000 * (1 - .09) / (math.Pi * 10 * 206000 * (1./10 + 1./20)))
	rel(t, "2b by the handbook", 2*c.HalfWidth, w, 1e-3)
	pin, plastic := Material{E: 210000, Nu: .3}, Material{E: 2100, Nu: .38}
	c = must(50, 5, pin, plastic, 1.5, math.Inf(1))
	rel(t, "E*", c.Modulus, 2428.588, 1e-3)
	rel(t, "b", c.HalfWidth, .088680, 1e-3)
	rel(t, "pmax", c.Peak, 71.789, 1e-3)
	c = must(50, 5, pin, plastic, 1.5, -1.6)
	near(t, "R", c.Radius, 24, 1e-9)
	rel(t, "b", c.HalfWidth, .354718, 1e-3)
	rel(t, "pmax", c.Peak, 17.947, 1e-3)
	if _, err := Hertz(50, 5, pin, plastic, 1.5, -1.4); err == nil {
		t.Error("a pin larger than its hollow is accepted")
	}
}

// Winkler's curved bar (a handbook table after Wilson & Quereau agrees
// to 2 %) and Castigliano's quarter circle.
func TestCurvedBar(t *testing.T) {
	for _, c := range [][3]float64{{1.2, 2.888, .566}, {1.4, 2.103, .628}, {1.6, 1.798, .671}, {1.8, 1.631, .704},
		{2, 1.523, .730}, {3, 1.288, .810}, {4, 1.200, .853}, {6, 1.124, .898}, {8, 1.090, .922}, {10, 1.071, .937}} {
		i, o := CurvedBar{Inner: c[0] - 1, Outer: c[0] + 1, Width: 3}.Factors()
		near(t, "inner", i, c[1], 1e-3)
		near(t, "outer", o, c[2], 1e-3)
	}
	b := CurvedBar{Inner: 2, Outer: 5, Width: 8}
	rn, e := b.Neutral()
	i, o := b.Stress(300)
	rel(t, "rn", rn, 3.274070, 1e-3)
	rel(t, "e", e, .225930, 1e-3)
	rel(t, "inner", i, 35.2452, 1e-3)
	rel(t, "outer", o, 19.0981, 1e-3)
	along, across, tangential := QuarterBend(5, 20, 2000*8*8/12.)
	near(t, "radial along", along, 2.945243, 1e-5)
	near(t, "radial across", across, 1.875, 1e-5)
	near(t, "tangential", tangential, 1.335729, 1e-5)
}

// Guide values of plastics makers, by a secondary table: repeated use 0.6 of once
// (Covestro), 70 % of yield, half of break when glass-filled, root radius up to 0.6
// of the thickness. A public table of printed plastics: PLA 35–45 over 50–65 MPa
// across and along layers, PETG 25–38 over 44–56.
func TestPlastics(t *testing.T) {
	near(t, "repeated use", RepeatedUse, .60, 0)
	near(t, "amorphous", AmorphousYield, .70, 0)
	near(t, "glass-filled", GlassFilledHalf, .5, 0)
	near(t, "root radius", RootRadiusLevel, .6, 0)
	lo, hi := RatioRange(35, 45, 50, 65)
	near(t, "PLA", lo, .54, .005)
	near(t, "PLA", hi, .90, .005)
	lo, hi = RatioRange(25, 38, 44, 56)
	near(t, "PETG", lo, .45, .005)
	near(t, "PETG", hi, .86, .005)
	l := Layered{InPlane: 50, Ratio: .6}
	near(t, "along", l.Allowed(0), 50, 1e-12)
	near(t, "across", l.Allowed(math.Pi/2), 30, 1e-12)
	// Tsai–Hill with a shear strength of half the in-plane one.
	for a := .05; a < 1.5; a += .05 {
		c2, s2 := math.Cos(a)*math.Cos(a), math.Sin(a)*math.Sin(a)
		th := 1 / math.Sqrt(c2*c2/2500-c2*s2/2500+s2*s2/900+c2*s2/625)
		if got := l.Allowed(a); got > th*1.0001 {
			t.Errorf("%g rad: %g above Tsai–Hill %g", a, got, th)
		}
	}
	near(t, "safety", SafetyFactor(50, -20), 2.5, 1e-12)
	if !math.IsInf(SafetyFactor(50, 0), 1) {
		t.Error("no load has a finite safety factor")
	}
}
