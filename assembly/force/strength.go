package force

import "math"

// PinShear returns the mean shear stress F/(n·A) of a round pin cut in n planes
// (1 single, 2 double), MPa.
func PinShear(f, d float64, planes int) float64 {
	return f / (float64(planes) * math.Pi * d * d / 4)
}

// RoundShearPeak is peak over mean shear stress in a solid round section.
const RoundShearPeak = 4.0 / 3

// Bearing returns the projected bearing stress F/(d·t), MPa.
func Bearing(f, d, t float64) float64 { return f / (d * t) }

// TearPlane chooses where a lug is taken to shear out in front of its pin.
type TearPlane int

const (
	// TearShortest counts the shear planes from the hole's edge, 2t(e − d/2):
	// the usual, conservative choice.
	TearShortest TearPlane = iota
	// Tear40 counts them from the 40° points of the hole, 2t(e − d/2·cos 40°).
	Tear40
	// TearCentre counts them from the hole's centre, 2te.
	TearCentre
)

// TearOut returns the tear-out shear stress of a lug of thickness t with its
// hole of diameter d at distance e (centre to edge), MPa; +Inf if nothing is
// left in front of the hole.
func TearOut(f, d, t, e float64, plane TearPlane) float64 {
	l := e
	switch plane {
	case TearShortest:
		l = e - d/2
	case Tear40:
		l = e - d/2*math.Cos(40*math.Pi/180)
	}
	if l <= 0 {
		return math.Inf(1)
	}
	return f / (2 * t * l)
}

// NetSection returns the tensile stress beside a hole, F/((w−d)t), MPa.
func NetSection(f, w, d, t float64) float64 {
	if w <= d {
		return math.Inf(1)
	}
	return f / ((w - d) * t)
}

// LinkBending returns the bending stress of a link of height w and thickness t
// in its plane under a moment (N·mm), with a hole of diameter d on the neutral
// axis (0 for none), MPa: 6Mw/(t(w³−d³)).
func LinkBending(moment, w, t, d float64) float64 {
	if w <= d {
		return math.Inf(1)
	}
	return 6 * math.Abs(moment) * w / (t * (w*w*w - d*d*d))
}

// PinBending returns the moment (N·mm) and bending stress (MPa) in the middle of
// a pin of diameter d in a clevis: fork cheeks of thickness fork, an eye of
// thickness eye, a gap on each side. M = F/2·(fork/2 + eye/4 + gap).
func PinBending(f, d, fork, eye, gap float64) (moment, stress float64) {
	moment = f / 2 * (fork/2 + eye/4 + gap)
	return moment, 32 * moment / (math.Pi * d * d * d)
}

// SafetyFactor returns allowable over actual; +Inf without load.
func SafetyFactor(allowable, actual float64) float64 {
	if actual == 0 {
		return math.Inf(1)
	}
	return allowable / math.Abs(actual)
}

// Layered is the strength of a printed plastic in and across its layers.
type Layered struct {
	InPlane float64 // stress or strain allowed along the layers
	Ratio   float64 // across over along, (0, 1]
}

// Allowed returns the allowable for a load whose direction makes the angle a
// (rad) with the layer plane: along the layers at 0, across at π/2, between them
// the linear interaction 1/s = cos²a/along + sin²a/across. It asks for no shear
// strength and is on the safe side of the Tsai–Hill rule as long as that is
// above about half of the strength along the layers.
func (l Layered) Allowed(a float64) float64 {
	c, s := math.Cos(a), math.Sin(a)
	return 1 / (c*c/l.InPlane + s*s/(l.InPlane*l.Ratio))
}

// RatioRange returns the least and greatest across/along ratio that two
// strength ranges allow.
func RatioRange(acrossLo, acrossHi, alongLo, alongHi float64) (lo, hi float64) {
	return acrossLo / alongHi, acrossHi / alongLo
}

// Factors on a plastic's strain from makers' snap-joint guides.
const (
	RepeatedUse     = 0.6 // allowable strain for repeated over single assembly
	AmorphousYield  = 0.7 // allowable over yield strain, amorphous plastics
	GlassFilledHalf = 0.5 // allowable over break strain, glass-filled plastics
)
