package force

import (
	"math"
	"testing"
)

func deg(a float64) float64 { return a * math.Pi / 180 }

// near fails unless got is within tol of want (absolute).
func near(t *testing.T, name string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.9g, want %.9g ± %g", name, got, want, tol)
	}
}

// rel fails unless got is within the fraction tol of want.
func rel(t *testing.T, name string, got, want, tol float64) {
	t.Helper()
	near(t, name, got, want, tol*math.Abs(want))
}

// Inclined plane and power screw: push tan(α+φ), hold tan(α−φ), efficiency
// tan α/tan(α+φ); closed forms of any statics text.
func TestInclines(t *testing.T) {
	for _, c := range []struct{ a, mu, push, hold, eff float64 }{
		{10, .2, .390083, -.022867, .452024},
		{15, .3, .617594, -.029666, .433860},
		{20, .25, .675429, .104465, .538872},
		{5, .15, .240647, -.061702, .363556},
	} {
		near(t, "push", InclinePush(deg(c.a), c.mu), c.push, 1e-6)
		near(t, "hold", InclineHold(deg(c.a), c.mu), c.hold, 1e-6)
		near(t, "efficiency", InclineEfficiency(deg(c.a), c.mu), c.eff, 1e-6)
	}
}

// The least force that starts a block up an incline is W·sin(α+φ), at α+φ from
// the horizontal; a published exercise gives 35.9 N at 36.7° for 60 N, 20°, μ 0.3.
func TestInclineLeast(t *testing.T) {
	f, d := InclineLeast(60, deg(20), .3)
	near(t, "force", f, 35.857, .01)
	near(t, "direction", d*180/math.Pi, 36.699, .01)
}

// Detent ramps: tan(α+φ), the mating law of the Bayer/Covestro guide "Snap-Fit
// Joints for Plastics", p. 14. Locking at atan(1/μ): a published table gives 73°
// for μ 0.3, 59° for 0.6. Wedges with friction on both faces: tan(α+φ) + tan φ,
// closed form.
func TestDetentsAndWedges(t *testing.T) {
	for i, a := range []float64{15, 30, 45, 60} {
		near(t, "ramp, mu .2", InclinePush(deg(a), .2), []float64{.494447, .878829, 1.5, 2.956060}[i], 1e-6)
		near(t, "ramp, mu .3", InclinePush(deg(a), .3), []float64{.617594, 1.061146, 1.857143, 4.230048}[i], 1e-6)
	}
	for _, c := range [][2]float64{{0, 4.758770}, {.3, 5.675202}} {
		near(t, "exit over entry", InclinePush(deg(60), c[0])/InclinePush(deg(20), c[0]), c[1], 1e-6)
	}
	for i, mu := range []float64{.2, .3, .4, .5, .6} {
		want := []float64{78.690, 73.301, 68.199, 63.435, 59.036}[i]
		near(t, "locking angle", LockAngle(mu)*180/math.Pi, want, 1e-3)
		if !math.IsInf(InclinePush(LockAngle(mu), mu), 1) || math.IsInf(InclinePush(LockAngle(mu)-1e-6, mu), 1) {
			t.Errorf("lock angle for mu %g does not part passing from locking", mu)
		}
	}
	for _, c := range []struct{ a, mu, f, lock float64 }{
		{8, .2, .550390, 22.62}, {6, .3, .718294, 33.40}, {10, .25, .695987, 28.07},
	} {
		near(t, "wedge", Wedge(deg(c.a), c.mu), c.f, 1e-6)
		near(t, "wedge that locks", WedgeLock(c.mu)*180/math.Pi, c.lock, .005)
	}
}
