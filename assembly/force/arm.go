package force

import (
	"errors"
	"math"
)

// Corrections of an arm's length, found by plane-stress finite elements on
// short arms growing out of a plate: the root turns with the plate, the fillet
// holds the arm.
const (
	armRootTurn   = 0.43 // thicknesses added
	armFilletHold = 0.66 // fillet radii taken off
)

// Arm is a cantilever of rectangular section, straight or evenly tapered,
// fixed at its root and loaded at its tip.
//
// Frame: x from the root face to the tip along the undeformed neutral axis, y
// across in the bending plane; deflection v and load F positive along +y,
// rotation and moment positive counter-clockwise.
type Arm struct {
	Material
	Length       float64 // root face to the load (hook peak), mm
	Thickness    float64 // in the bending plane at the root, mm
	TipThickness float64 // at the load, mm; 0 means as the root
	Width        float64 // at the root (layer height), mm
	TipWidth     float64 // at the load, mm; 0 means as the root
	Fillet       float64 // radius at the root, mm; 0 is sharp and has no notch factor
}

// ArmLaw is an Arm ready to be queried.
//
// The tip flexibility is v = FF·F + FM·M, θ = FM·F + MM·M, by integrating M²/EI
// (and 1.2Q²/GA) along the arm; for a straight arm L³/3EI, L²/2EI, L/EI.
type ArmLaw struct {
	arm        Arm
	length     float64 // effective
	FF, FM, MM float64 // tip flexibility: mm/N, 1/N, 1/(N·mm)
	shortening [3]float64
	// worst is the largest nominal strain along the arm over that at the root
	// under a tip force: above 1 only for arms that taper to less than half.
	worst float64
}

// Law checks the arm and prepares it with the given terms (TermEnds,
// TermRootFillet and TermShear matter).
func (a Arm) Law(terms Terms) (*ArmLaw, error) {
	if a.TipThickness == 0 {
		a.TipThickness = a.Thickness
	}
	if a.TipWidth == 0 {
		a.TipWidth = a.Width
	}
	if err := errors.Join(a.Material.check(), positive("arm length", a.Length),
		positive("arm thickness", a.Thickness), positive("arm tip thickness", a.TipThickness),
		positive("arm width", a.Width), positive("arm tip width", a.TipWidth),
		notNegative("arm root fillet", a.Fillet)); err != nil {
		return nil, err
	}
	l := &ArmLaw{arm: a, length: a.Length}
	if terms.Has(TermEnds) {
		l.length += armRootTurn * a.Thickness
	}
	if terms.Has(TermRootFillet) {
		l.length -= armFilletHold * a.Fillet
	}
	if err := positive("effective arm length", l.length); err != nil {
		return nil, err
	}
	ei := func(x float64) float64 {
		t, w := l.section(x)
		return a.E * w * t * t * t / 12
	}
	const n = 4
	l.FF = gauss(func(x float64) float64 { d := l.length - x; return d * d / ei(x) }, 0, l.length, n)
	l.FM = gauss(func(x float64) float64 { return (l.length - x) / ei(x) }, 0, l.length, n)
	l.MM = gauss(func(x float64) float64 { return 1 / ei(x) }, 0, l.length, n)
	if terms.Has(TermShear) {
		l.FF += gauss(func(x float64) float64 {
			t, w := l.section(x)
			return shearFactor / (a.G() * t * w)
		}, 0, l.length, n)
	}
	l.bend(ei)
	_, l.worst = goldenMax(func(x float64) float64 {
		t, w := l.section(x)
		return (1 - x/l.length) * a.Width * a.Thickness * a.Thickness / (w * t * t)
	}, 0, l.length, 32)
	return l, nil
}

// section returns thickness and width at effective place x from the root.
func (l *ArmLaw) section(x float64) (t, w float64) {
	u := x / l.length
	a := &l.arm
	return a.Thickness + u*(a.TipThickness-a.Thickness), a.Width + u*(a.TipWidth-a.Width)
}

// bend finds how much the tip comes nearer the root as the arm bends without
// stretching, ½∫v′², as a quadratic form in tip deflection and rotation:
// ½(s0 v² + 2 s1 vθ + s2 θ²). For a straight arm s = (36, −3L, 4L²)/(30L), the
// geometric stiffness of a beam element per unit of axial force.
func (l *ArmLaw) bend(ei func(float64) float64) {
	// Slopes along the arm for F = 1 and M = 1, then moved from loads to (v, θ)
	// with the bending part of the flexibility.
	ff := gauss(func(x float64) float64 { d := l.length - x; return d * d / ei(x) }, 0, l.length, 4)
	det := ff*l.MM - l.FM*l.FM
	kvv, kvt, ktt := l.MM/det, -l.FM/det, ff/det
	slope := func(x float64) (pf, pm float64) {
		pf = gauss(func(u float64) float64 { return (l.length - u) / ei(u) }, 0, x, 1)
		pm = gauss(func(u float64) float64 { return 1 / ei(u) }, 0, x, 1)
		return pf, pm
	}
	form := func(pick func(v, t float64) float64) float64 {
		return gauss(func(x float64) float64 {
			pf, pm := slope(x)
			return pick(pf*kvv+pm*kvt, pf*kvt+pm*ktt)
		}, 0, l.length, 2)
	}
	l.shortening = [3]float64{
		form(func(v, _ float64) float64 { return v * v }),
		form(func(v, t float64) float64 { return v * t }),
		form(func(_, t float64) float64 { return t * t }),
	}
}

// Stiffness returns tip force per tip deflection, N/mm, with the tip free to
// turn.
func (l *ArmLaw) Stiffness() float64 { return 1 / l.FF }

// TipRotation returns the tip's rotation for a deflection v under a tip force.
func (l *ArmLaw) TipRotation(v float64) float64 { return l.FM / l.FF * v }

// RootStrain returns the worst outer-fibre strain for a tip deflection v (mm)
// under a tip force: 6·k·v·l/(E·b·t²) times RootNotch, l being the length from
// the root face. An arm that tapers to less than half its thickness is strained
// most farther out, which is then returned.
func (l *ArmLaw) RootStrain(v float64) float64 {
	return l.StrainAt(math.Abs(v) / l.FF * l.arm.Length)
}

// StrainAt returns the worst outer-fibre strain for a root moment (N·mm) that
// falls off towards the tip, notch included.
func (l *ArmLaw) StrainAt(rootMoment float64) float64 {
	a := &l.arm
	return math.Abs(rootMoment) * 6 / (a.E * a.Width * a.Thickness * a.Thickness) *
		math.Max(l.worst, RootNotch(a.Thickness, a.Fillet))
}

// StressAt returns the nominal bending stress at the root for a tip force, MPa,
// without notch.
func (l *ArmLaw) StressAt(tipForce float64) float64 {
	a := &l.arm
	return math.Abs(tipForce) * a.Length * 6 / (a.Width * a.Thickness * a.Thickness)
}

// TaperFactor returns K in y = K·ε·L²/h, h the root thickness: how far a tip may
// go for a root strain ε. 2/3 for a straight arm without corrections. Plastics
// makers' snap-joint guides table 0.67, 1.09 (thickness halved) and 0.86
// (width quartered).
func (l *ArmLaw) TaperFactor() float64 {
	return l.FF * l.arm.E * l.arm.Width * math.Pow(l.arm.Thickness, 3) / (6 * math.Pow(l.arm.Length, 3))
}

// Short reports whether the arm is so short (length under ten thicknesses) that
// the wall it grows from gives way too; the plain formula then promises more
// strain for a deflection than there is. TermEnds accounts for it on printed
// plates.
func (l *ArmLaw) Short() bool { return l.arm.Length < 10*l.arm.Thickness }

// RootNotch returns the factor on the nominal root strain of a thickness t and
// fillet radius r: 1 + 0.115 t/r, from finite elements on printed-size arms and
// good for t/r up to about 5. A radius of 0 returns 1: the nominal strain, as
// no finite factor fits a sharp corner.
func RootNotch(t, r float64) float64 {
	if r <= 0 {
		return 1
	}
	return 1 + 0.115*t/r
}

// ShortArmStrain returns the root strain 1.5·t·y/(L²·Q) of a straight arm, Q ≥ 1
// being the magnification of the deflection by a giving wall (charts of plastics
// makers' guides; 1 for L/t above about 10).
func ShortArmStrain(t, y, length, q float64) float64 { return 1.5 * t * y / (length * length * q) }

// ArmThickness returns the root thickness that spends strain eps at tip
// deflection y on an arm of the given length: h = K·ε·L²/y, K the taper factor.
func ArmThickness(k, eps, length, y float64) float64 { return k * eps * length * length / y }

// ArmForce returns the tip force b·h²/6·E·ε/L that strains the root by eps, E
// the secant modulus at that strain.
func ArmForce(b, h, e, eps, length float64) float64 { return b * h * h / 6 * e * eps / length }

// RootRadiusLevel is the fillet radius over thickness beyond which a larger
// fillet hardly lowers the notch stress (plastics makers' guides).
const RootRadiusLevel = 0.6
