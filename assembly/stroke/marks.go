package stroke

import "math"

func (x *Model) readMarks(v *View, dst []float64) []float64 {
	for _, e := range x.Elements {
		dst = e.Marks(v, dst)
	}
	return dst
}

// readMarks reads the marks of the solver's configuration; one that has fallen by
// less than its band stays positive.
func (r *runner) readMarks() {
	x := r.s.x
	r.newMarks = x.readMarks(&r.s.v, r.newMarks[:0])
	for i, v := range r.newMarks {
		if v <= 0 && r.marks[i] > 0 && v > -x.marks[i].Band {
			r.newMarks[i] = tiny
		}
	}
}

// tiny is a mark that is just positive.
const tiny = 1e-15

// shorter is the step that ends just before an event expected at a share of it.
func shorter(frac, size float64) float64 {
	return max(resolve, min(frac*size-resolve/2, 0.8*size))
}

// crossed returns the share of a step at which the first mark changes sign; 1
// without any. With ahead, the size of an extrapolated step, only marks count that
// have been on their way to it: a stop in contact only seems to open.
func (r *runner) crossed(ahead float64) float64 {
	frac := 1.0
	for i, v := range r.newMarks {
		old := r.marks[i]
		if (old > 0) == (v > 0) || ahead != 0 && (old > 0) == (old+ahead*r.dmarks[i] > 0) {
			continue
		}
		f := old / (old - v)
		if f > 1-1e-6 || math.Abs(old) == 1 && math.Abs(v) == 1 {
			f = 0.5
		}
		frac = min(frac, f)
	}
	return frac
}

// crossing compares marks and motions with the last settled state and returns
// the share of the step at which the first change is expected; 1 without any.
func (r *runner) crossing(size float64) float64 {
	s := r.s
	frac := r.crossed(0)
	for i := range s.x.rubs {
		r.newRate[i] = math.Abs(s.slips[i].X-r.x[i]) * s.x.rubs[i].unit(s.mech.Scale) / size
		if sudden(r.rate[i], r.newRate[i]) {
			frac = min(frac, 0.3)
		} else if (r.rate[i] > startRate) != (r.newRate[i] > startRate) && size > smoothStep {
			frac = min(frac, 0.5)
		}
	}
	return frac
}
