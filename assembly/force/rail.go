package force

import (
	"errors"
	"fmt"
	"math"
)

// RailEndDefault is the extra length of a rail at each end, in thicknesses,
// that stands for the rotation of its root in the plate: 1.45 t for both ends,
// found by plane-stress finite elements for a relief slit as long as the
// straight part of the slot.
const RailEndDefault = 0.725

// shearFactor is 1/κ for a rectangle, κ = 5/6.
const shearFactor = 1.2

// Rail is the flexible wall behind a ramp: a beam fixed at both ends, freed by
// a relief slit, loaded across by the pin. Places on it are measured from the
// root at its −x end.
type Rail struct {
	Material
	Length    float64 // of the relief slit's straight part, root to root, mm
	Thickness float64 // in the motion plane, mm
	Width     float64 // layer height (z), mm
	// EndA and EndB are the extra lengths at the roots in thicknesses;
	// RailEndDefault where slit and slot are equally long, each end for itself
	// elsewhere (0 is a rigid root).
	EndA, EndB float64
	// The ramp stands on the rail from RampFrom to RampTo and is RampHeight
	// high; the rail is Thickness + 0.8 RampHeight thick there.
	RampFrom, RampTo, RampHeight float64
	// Fillet at the roots, mm; 0 leaves out the notch factor of the strain.
	Fillet float64
}

// Support is the elastic resistance of a wall to a pin pressed across it.
type Support interface {
	// Stiffness returns the force per deflection k (N/mm) for a load at place a
	// (mm) and dk/da (N/mm²).
	Stiffness(a float64) (k, slope float64)
}

// Constant is a Support of the same stiffness everywhere, N/mm.
type Constant float64

// Stiffness implements Support.
func (c Constant) Stiffness(float64) (k, slope float64) { return float64(c), 0 }

// span is a stretch of a beam of one thickness.
type span struct {
	x0, x1 float64
	t      float64
	b      float64 // 1/(E I)
	s      float64 // 1.2/(G A), 0 without shear
}

// RailLaw is a Rail ready to be queried. It is a Support.
//
// It solves the beam by the force method: the root moment and shear that make
// the complementary energy least, with ∫M²/2EI exact over each stretch of
// constant thickness and ∫1.2Q²/2GA for shear. For a uniform rail without shear
// this is the handbook k = 3EI L³/(a³b³); for a centre load the shear part is
// 1.2ab/(L·G·A).
type RailLaw struct {
	rail       Rail
	terms      Terms
	shift      float64 // effective length before the root at a = 0
	length     float64 // effective
	spans      []span
	i0, i1, i2 float64 // ∫(1, ξ, ξ²)/EI over the beam
	shear      float64 // ∫1.2/GA
	det        float64
}

// Law checks the rail and prepares it with the given terms (TermEnds,
// TermShear and TermRampStiffening matter).
func (r Rail) Law(terms Terms) (*RailLaw, error) {
	err := errors.Join(r.Material.check(), positive("rail length", r.Length),
		positive("rail thickness", r.Thickness), positive("rail width", r.Width),
		notNegative("rail end A", r.EndA), notNegative("rail end B", r.EndB),
		notNegative("ramp height on the rail", r.RampHeight), notNegative("rail root fillet", r.Fillet))
	if r.RampHeight > 0 && !(0 <= r.RampFrom && r.RampFrom < r.RampTo && r.RampTo <= r.Length) {
		err = errors.Join(err, fmt.Errorf("force: ramp from %g to %g mm does not lie on the rail of %g mm", r.RampFrom, r.RampTo, r.Length))
	}
	if err != nil {
		return nil, err
	}
	l := &RailLaw{rail: r, terms: terms, length: r.Length}
	if terms.Has(TermEnds) {
		l.shift = r.EndA * r.Thickness
		l.length += (r.EndA + r.EndB) * r.Thickness
	}
	add := func(x0, x1, t float64) {
		if x1 <= x0 {
			return
		}
		s := span{x0: x0, x1: x1, t: t, b: 12 / (r.E * r.Width * t * t * t)}
		if terms.Has(TermShear) {
			s.s = shearFactor / (r.G() * r.Width * t)
		}
		l.spans = append(l.spans, s)
		j0, j1, j2, sh := s.moments(x0)
		l.i0, l.i1, l.i2, l.shear = l.i0+j0, l.i1+j1, l.i2+j2, l.shear+sh
	}
	if terms.Has(TermRampStiffening) && r.RampHeight > 0 {
		from, to := r.RampFrom+l.shift, r.RampTo+l.shift
		add(0, from, r.Thickness)
		add(from, to, r.Thickness+0.8*r.RampHeight)
		add(to, l.length, r.Thickness)
	} else {
		add(0, l.length, r.Thickness)
	}
	l.det = l.i0*(l.i2+l.shear) - l.i1*l.i1
	return l, nil
}

// moments returns ∫(1, ξ, ξ²)/EI and ∫1.2/GA over the part of the span at and
// beyond x.
func (s *span) moments(x float64) (j0, j1, j2, sh float64) {
	x = math.Max(x, s.x0)
	if x >= s.x1 {
		return 0, 0, 0, 0
	}
	d := s.x1 - x
	return s.b * d, s.b * (s.x1*s.x1 - x*x) / 2, s.b * (s.x1*s.x1*s.x1 - x*x*x) / 3, s.s * d
}

// beam is the solution for a unit load: moment ma + ra·ξ − ⟨ξ−a⟩ along the
// effective beam, deflection at the load and its slope in a.
type beam struct{ a, ma, ra, c, dc float64 }

func (l *RailLaw) solve(a float64) beam {
	x := a + l.shift
	var j0, j1, j2, sa, si float64
	for i := range l.spans {
		s := &l.spans[i]
		p0, p1, p2, p3 := s.moments(x)
		j0, j1, j2, sa = j0+p0, j1+p1, j2+p2, sa+p3
		if x >= s.x0 {
			si = s.s
		}
	}
	q0 := j1 - x*j0
	q1 := j2 - x*j1
	b := beam{a: x}
	// Stationary complementary energy: ∂U/∂ma = ∂U/∂ra = 0.
	y0, y1 := q0, q1+sa
	b.ma = (y0*(l.i2+l.shear) - l.i1*y1) / l.det
	b.ra = (l.i0*y1 - l.i1*y0) / l.det
	b.c = (q1 - x*q0) - b.ma*q0 - b.ra*q1 + sa*(1-b.ra)
	b.dc = 2*(b.ma*j0+b.ra*j1-q0) + si*(b.ra*b.ra-(1-b.ra)*(1-b.ra))
	return b
}

// Stiffness implements Support for a load between the roots (see Inside). It is
// +Inf at a root that neither turns nor shears.
func (l *RailLaw) Stiffness(a float64) (k, slope float64) {
	b := l.solve(a)
	if !(b.c > 0) {
		return math.Inf(1), 0
	}
	k = 1 / b.c
	return k, -b.dc * k * k
}

// Inside reports whether place a lies on the rail.
func (l *RailLaw) Inside(a float64) bool { return a >= 0 && a <= l.rail.Length }

// RailStress is what a rail bears under a pin pressed across it.
type RailStress struct {
	Force  float64 // at the pin, N
	Moment float64 // at the worst section, N·mm
	Strain float64 // outer-fibre bending strain there, root notch included
	At     float64 // place of that section, mm from the root at the −x end
	// ReactionA, ReactionB are the root shears, N; MomentA, MomentB, MomentLoad the
	// magnitudes of the bending moments at the (effective) roots and the load, N·mm.
	ReactionA, ReactionB, MomentA, MomentB, MomentLoad float64
}

// Stress returns forces, moments and the worst strain for a deflection d (mm)
// at place a (mm). The roots count at their face, with the notch factor of the
// fillet (see RootNotch); steps of thickness count on the thin side.
func (l *RailLaw) Stress(a, d float64) RailStress {
	b := l.solve(a)
	v := d / b.c
	s := RailStress{Force: v, ReactionA: v * b.ra, ReactionB: v * (1 - b.ra)}
	moment := func(x float64) float64 { return v * (b.ma + b.ra*x - math.Max(0, x-b.a)) }
	notch := RootNotch(l.rail.Thickness, l.rail.Fillet)
	s.MomentA = math.Abs(moment(0))
	s.MomentB = math.Abs(moment(l.length))
	s.MomentLoad = math.Abs(moment(b.a))
	try := func(x, t, factor float64) {
		m := math.Abs(moment(x))
		if e := factor * 6 * m / (l.rail.E * l.rail.Width * t * t); e > s.Strain {
			s.Strain, s.Moment, s.At = e, m, x-l.shift
		}
	}
	try(l.shift, l.rail.Thickness, notch)
	try(l.shift+l.rail.Length, l.rail.Thickness, notch)
	for i := range l.spans {
		p := &l.spans[i]
		if b.a >= p.x0 && b.a <= p.x1 {
			try(b.a, p.t, 1)
		}
		if i > 0 {
			try(p.x0, math.Min(p.t, l.spans[i-1].t), 1)
		}
	}
	return s
}

// FixedBeamPeak returns the largest deflection of a uniform beam fixed at both
// ends under a load p at distance a from one end and b from the other, and its
// distance from the nearer end of the two, for bending stiffness ei (N·mm²).
//
// Source: 2Pa³b²/(3EI(3a+b)²) at 2aL/(3a+b) from the far end, a ≥ b; any beam
// table.
func FixedBeamPeak(p, a, b, ei float64) (deflection, fromNearEnd float64) {
	if a < b {
		a, b = b, a
	}
	l, q := a+b, 3*a+b
	return 2 * p * a * a * a * b * b / (3 * ei * q * q), l - 2*a*l/q
}

// GuidedStiffness returns 12EI/L³, the stiffness of a cantilever whose end is
// kept from turning; ei in N·mm².
func GuidedStiffness(ei, length float64) float64 { return 12 * ei / (length * length * length) }
