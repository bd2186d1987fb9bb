package force

import (
	"fmt"
	"math"
)

// HoleKt returns the stress concentration of a central hole of diameter d in a
// strip of width w in tension, on the NET section: 3 − 3.13x + 3.66x² − 1.53x³,
// x = d/w. It runs from 3 to 2. (It is sometimes printed as the gross factor;
// the limit x → 1 shows which it is.)
//
// Source: Roark/Peterson.
func HoleKt(d, w float64) float64 {
	x := d / w
	return 3 + x*(-3.13+x*(3.66-1.53*x))
}

// HoleKtHeywood returns Heywood's form of the same net factor, 2 + (1−x)³.
func HoleKtHeywood(d, w float64) float64 {
	x := 1 - d/w
	return 2 + x*x*x
}

// GrossKt turns a net-section factor into one on the gross section.
func GrossKt(net, d, w float64) float64 { return net / (1 - d/w) }

// ShoulderKt returns the stress concentration of a shoulder fillet of radius r
// between the widths wide and narrow of a flat bar in bending in its plane, on
// the narrow section. It is fitted for 0.1 ≤ h/r ≤ 2, h = (wide−narrow)/2;
// outside of that it returns an error.
//
// Source: Roark's Formulas for Stress and Strain, 7th ed., Table 17.1 case 5b;
// coefficients from memory, checked by their columns, which must sum to 1, 0, 0
// so that Kt → 1 for a vanishing narrow part.
func ShoulderKt(wide, narrow, r float64) (float64, error) {
	h := (wide - narrow) / 2
	q := h / r
	if !(q >= 0.1 && q <= 2) {
		return 0, fmt.Errorf("force: shoulder height over fillet radius is %g, formula holds from 0.1 to 2", q)
	}
	var kt float64
	x := 1.0
	for _, c := range shoulderBending {
		kt += x * (c[0] + c[1]*math.Sqrt(q) + c[2]*q)
		x *= 2 * h / wide
	}
	return kt, nil
}

var shoulderBending = [4][3]float64{
	{1.007, 1.000, -0.031},
	{-0.270, -2.404, 0.749},
	{0.677, 1.133, -0.904},
	{-0.414, 0.271, 0.186},
}
