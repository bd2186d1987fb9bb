package stroke

import "tuckfinger/assembly/linkage"

// frame is one closed configuration with all that acts on it.
type frame struct {
	w     *linkage.Work
	v     View
	loads Loads
	slips []Slip      // rubbing joints, then elements, then blocks
	n     [][]float64 // passive directions, m × Size, per mm
}

func newFrame(x *Model, driven bool) frame {
	var targets []linkage.Coord
	if driven {
		targets = append(targets, linkage.JointCoord(x.Mech.Drive))
	}
	f := frame{w: x.Mech.NewWork(targets...), v: *view(x.Mech)}
	f.loads.Q = make([]float64, x.Mech.Size())
	for range f.w.Freedom() {
		f.n = append(f.n, make([]float64, x.Mech.Size()))
	}
	f.w.Set(x.Mech.Start)
	f.w.Eval()
	f.w.Factor(true)
	f.v.set(f.w.Q)
	for _, e := range x.Elements {
		e.Eval(&f.v, &f.loads)
	}
	return f
}

// load evaluates the elements and the passive directions of a frame.
func (s *solver) load(f *frame) {
	f.v.take(f.w)
	f.loads.reset()
	for _, e := range s.x.Elements {
		e.Eval(&f.v, &f.loads)
	}
	s.directions(f)
}

// directions computes how the configuration moves per mm of each passive
// coordinate.
func (s *solver) directions(f *frame) {
	for k := range f.n {
		for j := range s.free {
			s.free[j] = 0
		}
		s.free[k] = 1
		if f.w.Free[k]%3 == 2 {
			s.free[k] = 1 / s.mech.Scale
		}
		f.w.Step(nil, s.free, f.n[k])
	}
}
