package force

import (
	"errors"
	"math"
)

// Ramp is a ramp on an elastic wall, passed by a pin in a slot.
//
// The pin travels along x, the coordinate of its Curve. Play (mm) is slot width
// minus pin diameter: the pin first gives way by the play, then squeezes the
// wall by h(x) − Play and leans on the opposite wall with the same force.
type Ramp struct {
	Curve  Curve
	Wall   Support
	Origin float64 // place on the wall (for Support) of x = 0, mm
	Play   float64 // slot width − pin diameter, mm, ≥ 0
	Mu     float64 // friction between pin and ramp
	MuWall float64 // friction between pin and the opposite wall
}

// RampLaw is a Ramp ready to be queried.
type RampLaw struct {
	ramp       Ramp
	terms      Terms
	from, to   float64
	crestX     float64
	crestH     float64
	breakpoint []float64
}

// RampState is a ramp's answer at one place. With V = k·(h − play) and the
// effective slope tan α the axial force is V·[tan(α+φ)+μ] in the direction of
// travel, α counted along that direction; here it is split into its elastic
// and its friction part.
type RampState struct {
	Deflection float64 // of the wall, h − play, mm; 0 without squeeze
	Squeeze    float64 // V, force across the slot, N
	Slope      float64 // tan α of the touched face in the bent wall, rising towards +x
	U          float64 // stored energy ½kd², N·mm
	DU         float64 // dU/dx = V tan α, N: what it takes to move towards +x without friction
	// Out and Back are the friction against motion towards +x and −x, N, ≥ 0,
	// also the energy lost per mm of travel; +Inf where that direction locks.
	Out, Back float64
	// NormalOut and NormalBack are the contact forces on the ramp face, N, for
	// either direction of sliding; +Inf where it locks.
	NormalOut, NormalBack float64
}

// Law checks the ramp and prepares it. TermOppositeWall and TermRailSlope
// matter; the pin radius enters through the curve.
func (r Ramp) Law(terms Terms) (*RampLaw, error) {
	err := errors.Join(notNegative("ramp play", r.Play), notNegative("ramp friction", r.Mu),
		notNegative("opposite wall friction", r.MuWall))
	if r.Curve == nil {
		err = errors.Join(err, errors.New("force: ramp has no pin-centre curve"))
	}
	if r.Wall == nil {
		err = errors.Join(err, errors.New("force: ramp has no wall"))
	}
	if err != nil {
		return nil, err
	}
	l := &RampLaw{ramp: r, terms: terms}
	l.from, l.to = r.Curve.Span()
	l.crestX, l.crestH = crest(r.Curve)
	if s, ok := r.Wall.(*RailLaw); ok {
		if !s.Inside(r.Origin+l.from) || !s.Inside(r.Origin+l.to) {
			return nil, errors.New("force: the pin-centre curve of the ramp reaches past the roots of its rail")
		}
		l.breakpoint = s.steps(r.Origin)
	}
	l.breakpoint = merge(l.breakpoint, r.Curve.Corners())
	return l, nil
}

// Span returns the x range in which the ramp can be felt.
func (l *RampLaw) Span() (from, to float64) { return l.from, l.to }

// Crest returns the place of the highest point and the wall deflection there;
// 0 when the play swallows the ramp.
func (l *RampLaw) Crest() (x, deflection float64) {
	return l.crestX, math.Max(0, l.crestH-l.ramp.Play)
}

// At returns the state with the pin at x.
//
// U depends on x alone, so the elastic work between two places does not depend
// on the way. With TermRailSlope the bent wall tilts the face by its own slope
// under the load, which is what dk/dx in dU/dx means: by Maxwell–Betti the
// slope of a beam at a load V is ½V·d(1/k)/dx. Without it dU/dx is V·h′ and U
// is its potential only for a constant k.
func (l *RampLaw) At(x float64) RampState {
	if x <= l.from || x >= l.to {
		return RampState{}
	}
	h, slope := l.ramp.Curve.At(x)
	d := h - l.ramp.Play
	if d <= 0 {
		return RampState{}
	}
	k, dk := l.ramp.Wall.Stiffness(l.ramp.Origin + x)
	if l.terms.Has(TermRailSlope) {
		slope += d * dk / (2 * k)
	}
	v := k * d
	s := RampState{Deflection: d, Squeeze: v, Slope: slope, U: v * d / 2, DU: v * slope}
	mu := l.ramp.Mu
	s.Out, s.NormalOut = slide(v, slope, mu)
	s.Back, s.NormalBack = slide(v, -slope, mu)
	if l.terms.Has(TermOppositeWall) {
		s.Out += l.ramp.MuWall * v
		s.Back += l.ramp.MuWall * v
	}
	return s
}

// slide returns the axial friction and the normal force of a contact that is
// pressed across the travel with v on a face of slope tan α rising along the
// travel: V(tan(α+φ) − tan α) = Vμ(1+tan²α)/(1−μ tan α).
func slide(v, slope, mu float64) (friction, normal float64) {
	den := 1 - mu*slope
	if den <= 0 {
		return math.Inf(1), math.Inf(1)
	}
	return v * mu * (1 + slope*slope) / den, v * math.Sqrt(1+slope*slope) / den
}

// Passage sums up one pass over a ramp.
type Passage struct {
	Peak   float64 // largest axial force in the direction of travel, N; +Inf if it locks
	PeakAt float64 // x of it
	Pull   float64 // largest force with which the ramp drives the pin on past the crest, N, ≥ 0
	Lost   float64 // friction work of the whole pass, N·mm
	Stored float64 // energy at the crest, N·mm
}

// Pass moves the pin over the whole ramp, towards +x if out is true, and sums
// up. The force is exact at each place; places of extremes are searched on each
// smooth stretch.
func (l *RampLaw) Pass(out bool) Passage {
	force := func(x float64) float64 {
		s := l.At(x)
		if out {
			return s.DU + s.Out
		}
		return -s.DU + s.Back
	}
	p := Passage{Stored: l.At(l.crestX).U, PeakAt: l.crestX}
	for i := 0; i+1 < len(l.breakpoint); i++ {
		a, b := l.breakpoint[i], l.breakpoint[i+1]
		if x, f := goldenMax(force, a, b, 40); f > p.Peak {
			p.Peak, p.PeakAt = f, x
		}
		if _, f := goldenMax(func(x float64) float64 { return -force(x) }, a, b, 40); f > p.Pull {
			p.Pull = f
		}
		p.Lost += gauss(func(x float64) float64 {
			s := l.At(x)
			if out {
				return s.Out
			}
			return s.Back
		}, a, b, 16)
	}
	return p
}

// Lifts returns the x range in which the wall is squeezed: where h > play.
// ok is false when the play swallows the ramp.
func (l *RampLaw) Lifts() (from, to float64, ok bool) {
	if l.crestH <= l.ramp.Play {
		return 0, 0, false
	}
	over := func(x float64) bool { h, _ := l.ramp.Curve.At(x); return h > l.ramp.Play }
	return bisect(over, l.crestX, l.from), bisect(over, l.crestX, l.to), true
}

// bisect returns the edge between in (where yes holds) and out.
func bisect(yes func(float64) bool, in, out float64) float64 {
	for range 60 {
		m := (in + out) / 2
		if yes(m) {
			in = m
		} else {
			out = m
		}
	}
	return in
}

// steps returns the places of thickness steps in the ramp's coordinate.
func (l *RailLaw) steps(origin float64) []float64 {
	var xs []float64
	for i := 1; i < len(l.spans); i++ {
		xs = append(xs, l.spans[i].x0-l.shift-origin)
	}
	return xs
}
