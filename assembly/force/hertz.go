package force

import (
	"errors"
	"math"
)

// LineContact is the Hertz contact of two parallel cylinders.
type LineContact struct {
	Modulus   float64 // E*, 1/E* = (1−ν1²)/E1 + (1−ν2²)/E2, MPa
	Radius    float64 // 1/R = 1/R1 + 1/R2, mm
	HalfWidth float64 // b, mm
	Peak      float64 // pressure in the middle, MPa
	// Shear is the largest shear stress, 0.300·Peak, at depth 0.786·b below the
	// surface (both to three figures for ν = 0.3).
	Shear, Depth float64
}

// Hertz returns the contact of cylinders of radii r1, r2 (mm; math.Inf(1) for a
// flat, negative for a hollow one) pressed together with f (N) over a length
// (mm): b = √(4(F/L)R/(πE*)), p = 2(F/L)/(πb). It returns an error if the hollow
// is not larger than the cylinder in it. For a pin in a hole of nearly its own
// size the contact is wide and the result rough.
//
// Source: Hertz; any handbook.
func Hertz(f, length float64, m1, m2 Material, r1, r2 float64) (LineContact, error) {
	curve := 1/r1 + 1/r2
	err := errors.Join(positive("contact force", f), positive("contact length", length),
		m1.check(), m2.check())
	if !(curve > 0) || r1 == 0 || r2 == 0 {
		err = errors.Join(err, errors.New("force: contact radii do not fit: the sum of curvatures must be positive"))
	}
	if err != nil {
		return LineContact{}, err
	}
	c := LineContact{Radius: 1 / curve}
	c.Modulus = 1 / ((1-m1.Nu*m1.Nu)/m1.E + (1-m2.Nu*m2.Nu)/m2.E)
	c.HalfWidth = math.Sqrt(4 * f / length * c.Radius / (math.Pi * c.Modulus))
	c.Peak = 2 * f / length / (math.Pi * c.HalfWidth)
	c.Shear, c.Depth = 0.300*c.Peak, 0.786*c.HalfWidth
	return c, nil
}
