package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Move carries a configuration to the given target values by adaptive
// continuation on its own branch: steps of at most about 3°, halved where the
// closure bends, refused where it ends. Freedoms without a target keep the
// independent coordinates that pivoting picks. The result is a new slice.
//
// Errors: *DeadPointError where the targets no longer determine the pose,
// *ClosureError where the links do not reach any further; both carry s and the
// joint.
func (m *Mechanism) Move(q []float64, targets ...Target) ([]float64, error) {
	coords := make([]Coord, len(targets))
	for i, t := range targets {
		coords[i] = t.Coord
	}
	w := m.NewWork(coords...)
	return w.move(q, targets, nil)
}

// Follow is Move with a visitor that is called at every accepted step.
func (m *Mechanism) Follow(q []float64, visit func(q []float64), targets ...Target) ([]float64, error) {
	coords := make([]Coord, len(targets))
	for i, t := range targets {
		coords[i] = t.Coord
	}
	return m.NewWork(coords...).move(q, targets, visit)
}

const (
	deadRatio = 1e-6 // pivot ratio of a dead point
	moveMax   = 0.05 // largest predicted change per step, in rad and in Scale
	moveMin   = 1e-7 // smallest share of the way
)

func (w *Work) move(q []float64, targets []Target, visit func([]float64)) ([]float64, error) {
	m := w.m
	w.Set(q)
	from := make([]float64, len(targets))
	for i, t := range targets {
		from[i] = m.Coord(q, t.Coord)
		w.Targets[i].Value = from[i]
	}
	dq, keep := make([]float64, m.Size()), make([]float64, m.Size())
	rhs := make([]float64, w.nr)
	if r, ok := w.Close(closeTol*math.Max(1, m.Scale), dq); !ok {
		return nil, w.closureError(r, "the configuration to start from is not closed")
	}
	sense := w.sense()
	for at, step := 0.0, 1.0; at < 1; {
		step = math.Min(step, 1-at)
		copy(keep, w.Q)
		w.Eval()
		if ratio := w.Factor(true); ratio < deadRatio {
			return nil, &DeadPointError{S: m.driveAt(w.Q), Joint: w.Weakest(), Ratio: ratio}
		}
		for i, t := range targets {
			rhs[m.nrow+i] = t.Value - from[i]
			if m.angular(t.Coord) {
				rhs[m.nrow+i] *= m.Scale
			}
		}
		w.Step(rhs, nil, dq)
		speed := m.span(dq)
		step = math.Min(step, moveMax*m.Scale/math.Max(speed, 1e-12))
		for {
			for i := range w.Q {
				w.Q[i] = keep[i] + step*dq[i]
			}
			for i, t := range targets {
				w.Targets[i].Value = from[i] + (at+step)*(t.Value-from[i])
			}
			r, ok := w.Close(closeTol*math.Max(1, m.Scale), w.row2())
			if ok {
				off := 0.0
				for i := range w.Q {
					off = math.Max(off, math.Abs(w.Q[i]-keep[i]-step*dq[i])*w.unit(i))
				}
				ok = off <= 0.25*step*speed+1e-9
			}
			if ok && sense != 0 && w.sense()*sense < 0 {
				ok = false
			}
			if ok {
				break
			}
			if step /= 2; step < moveMin {
				w.Set(keep)
				w.Eval()
				if ratio := w.Factor(true); ratio < 1e-3 {
					return nil, &DeadPointError{S: m.driveAt(keep), Joint: w.Weakest(), Ratio: ratio}
				}
				return nil, w.closureError(r, "the links do not reach any further")
			}
		}
		if visit != nil {
			visit(w.Q)
		}
		at += step
		step *= 2
		if 1-at < 1e-12 {
			at = 1
		}
	}
	return append([]float64(nil), w.Q...), nil
}

func (w *Work) closureError(r float64, reason string) error {
	return &ClosureError{S: w.m.driveAt(w.Q), Joint: w.Worst(), Residual: r, Reason: reason}
}

// row2 is scratch of length Size.
func (w *Work) row2() []float64 {
	if w.scratch == nil {
		w.scratch = make([]float64, w.m.Size())
	}
	return w.scratch
}

// unit makes a place of Q comparable to a length.
func (w *Work) unit(i int) float64 {
	if i%3 == 2 {
		return w.m.Scale
	}
	return 1
}

// span is the largest change of a configuration, angles as lengths.
func (m *Mechanism) span(dq []float64) float64 {
	s := 0.0
	for i, v := range dq {
		if v = math.Abs(v); i%3 == 2 {
			v *= m.Scale
		}
		s = math.Max(s, v)
	}
	return s
}

// driveAt returns s, or 0 without a drive.
func (m *Mechanism) driveAt(q []float64) float64 {
	if m.Drive < 0 {
		return 0
	}
	return m.Coord(q, JointCoord(m.Drive))
}

// sense is the sign of the closure's determinant where it is square: it changes
// when a step has jumped over a dead point. 0 where it is not square.
func (w *Work) sense() float64 {
	if w.n != w.nr || w.rank != w.n {
		return 0
	}
	s := 1.0
	for k := 0; k < w.rank; k++ {
		if w.lu[w.rp[k]*w.n+w.cp[k]] < 0 {
			s = -s
		}
	}
	return s * parity(w.rp) * parity(w.cp)
}

// parity is the sign of a permutation.
func parity(p []int) float64 {
	s := 1.0
	for i := range p {
		for k := i + 1; k < len(p); k++ {
			if p[k] < p[i] {
				s = -s
			}
		}
	}
	return s
}

// Sensitivity returns dq/d(driver) (each of length Size; mm and rad per mm or
// rad of the driver) for every driver, the others standing still. There must be
// as many drivers as freedoms. Levers follow from it: the travel of a carriage
// per turn of a tip is the ratio of two entries. A *DeadPointError is returned
// where the drivers do not determine the pose.
func (m *Mechanism) Sensitivity(q []float64, drivers ...Coord) ([][]float64, error) {
	w := m.NewWork(drivers...)
	if w.Freedom() != 0 || len(drivers) != m.Mobility.Freedoms {
		return nil, &MobilityError{Mobility: m.Mobility, Reason: "sensitivity needs one driver per freedom"}
	}
	w.Set(q)
	w.Eval()
	if ratio := w.Factor(true); ratio < deadRatio {
		return nil, &DeadPointError{S: m.driveAt(q), Joint: w.Weakest(), Ratio: ratio}
	}
	out := make([][]float64, len(drivers))
	rhs := make([]float64, w.nr)
	for k, c := range drivers {
		for i := range rhs {
			rhs[i] = 0
		}
		rhs[m.nrow+k] = 1
		if m.angular(c) {
			rhs[m.nrow+k] = m.Scale
		}
		out[k] = make([]float64, m.Size())
		w.Step(rhs, nil, out[k])
	}
	return out, nil
}

// Rate returns the rate of a coordinate when the configuration changes by dq.
func (m *Mechanism) Rate(q, dq []float64, c Coord) float64 {
	row := make([]float64, m.Size())
	m.Gradient(q, c, row)
	r := 0.0
	for i, v := range row {
		r += v * dq[i]
	}
	return r
}

// TransmissionAngle returns the acute angle (rad) between two bodies' lines
// through a common pin: from the pin to the given points, each fixed on one of
// the two bodies (spine frame, mm). 90° carries force best; near 0 it locks.
func TransmissionAngle(pin, onA, onB r2.Vec) float64 {
	a, b := r2.Sub(onA, pin), r2.Sub(onB, pin)
	return math.Atan2(math.Abs(r2.Cross(a, b)), math.Abs(r2.Dot(a, b)))
}
