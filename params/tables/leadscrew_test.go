package tables

import (
	"math"
	"strings"
	"testing"
)

func leadScrewOf(t *testing.T, name string) LeadScrew {
	t.Helper()
	l, err := Builtin().LeadScrew(name)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// H1, h3, d2, d3, D1, D4 in mm.
// Source: ISO 2901 and ISO 2904; the row of Tr8x2, which ISO 2904 does not have
// among its 8 mm threads, by the same formulas.
func TestTrapezoidalSizes(t *testing.T) {
	for name, want := range map[string][6]float64{
		"Tr8x1.5": {.75, .9, 7.25, 6.2, 6.5, 8.3},
		"Tr10x2":  {1, 1.25, 9, 7.5, 8, 10.5},
		"Tr12x3":  {1.5, 1.75, 10.5, 8.5, 9, 12.5},
		"Tr16x4":  {2, 2.25, 14, 11.5, 12, 16.5},
		"Tr8x2":   {1, 1.25, 7, 5.5, 6, 8.5},
	} {
		l := leadScrewOf(t, name)
		s, err := l.BasicSizes()
		if err != nil {
			t.Fatal(err)
		}
		for i, got := range []float64{s.H1, s.H3, s.D2, s.D3, s.D1, s.D4} {
			if math.Abs(got-want[i]) > 1e-12 {
				t.Errorf("%s: %+v, want %v", name, s, want)
				break
			}
		}
		if s.D2 != l.PitchDiameter() {
			t.Errorf("%s: two pitch diameters", name)
		}
	}
	for _, name := range []string{"Tr8x2", "Tr8x4P2", "Tr8x8P2"} {
		l := leadScrewOf(t, name)
		if !strings.Contains(l.Source, "not among") || Proven(l.Source) {
			t.Errorf("%s passes for an ISO 2904 size: %s", name, l.Source)
		}
	}
	rod := leadScrewOf(t, "M5x0.8")
	if _, err := rod.BasicSizes(); err == nil {
		t.Error("a metric rod has trapezoidal sizes")
	}
	odd := LeadScrew{Name: "x", Form: "trapezoidal", Diameter: 20, Pitch: 1.8}
	if _, err := odd.BasicSizes(); err == nil {
		t.Error("a pitch without tabulated crest clearance was accepted")
	}
}

// Source: lead·cos 15°/(π·d2), the friction at which the lowering torque
// F·d2/2·(π·μ·d2·sec α − l)/(π·d2 + μ·l·sec α) is zero (Shigley, Mechanical
// Engineering Design).
func TestBackdriveFriction(t *testing.T) {
	for name, want := range map[string]float64{
		"Tr8x1.5": .063613, "Tr8x2": .087847, "Tr8x4P2": .175694, "Tr8x8P2": .351387, "Tr10x2": .068325, "Tr12x3": .087847,
	} {
		l := leadScrewOf(t, name)
		if got := l.BackdriveFriction(); math.Abs(got-want) > 1e-6 {
			t.Errorf("%s: %.7f, want %.6f", name, got, want)
		}
	}
	for _, l := range Builtin().LeadScrews.Values {
		mu, d2, sec := l.BackdriveFriction(), l.PitchDiameter(), 1/math.Cos(l.FlankAngle())
		if lower := (math.Pi*mu*d2*sec - l.Lead()) / (math.Pi*d2 + mu*l.Lead()*sec); math.Abs(lower) > 1e-12 {
			t.Errorf("%s: lowering torque factor %g where it should vanish", l.Name, lower)
		}
	}
}

// Raising and lowering torque of an M5 rod at F = 100 N, μ = 0.2 from the
// table's geometry: 65.325 and 38.497 N·mm, d2 = 4.480385 mm. The lead angle of
// Tr8x2 is 5.19651°.
// Source: Shigley, Mechanical Engineering Design, power screws.
func TestScrewGeometryGivesTorque(t *testing.T) {
	l := leadScrewOf(t, "M5x0.8")
	d2, lead, mu := l.PitchDiameter(), l.Lead(), 0.2/math.Cos(l.FlankAngle())
	raise := 100 * d2 / 2 * (lead + math.Pi*mu*d2) / (math.Pi*d2 - mu*lead)
	lower := 100 * d2 / 2 * (math.Pi*mu*d2 - lead) / (math.Pi*d2 + mu*lead)
	if math.Abs(d2-4.480385) > 1e-6 || math.Abs(raise-65.325) > 1e-3 || math.Abs(lower-38.497) > 1e-3 {
		t.Errorf("d2 %.6f, raise %.3f, lower %.3f", d2, raise, lower)
	}
	tr := leadScrewOf(t, "Tr8x2")
	if got := tr.LeadAngle() * 180 / math.Pi; math.Abs(got-5.19651) > 1e-5 {
		t.Errorf("lead angle %.5f", got)
	}
}

// Source: 1 kgf·cm = 9.80665 N · 10 mm; 20 kgf·cm are 1961.33 N·mm, and 163.444 N
// on a 12 mm arm.
func TestServoRating(t *testing.T) {
	m, err := Builtin().Motor("servo-20kgcm")
	if err != nil {
		t.Fatal(err)
	}
	if got := m.Rotary.Stall; math.Abs(got-1961.33) > 1e-9 || math.Abs(got/12-163.444) > 1e-3 {
		t.Errorf("%g N·mm", got)
	}
}
