package stroke

import (
	"cmp"
	"math"
	"slices"

	"tuckfinger/assembly/linkage"
)

// report turns the changes of a step into events.
func (r *runner) report(fell bool) {
	s := r.s
	a, b, tied := s.tie()
	if !fell && tied == r.tied && r.crossed(0) == 1 {
		return
	}
	now := r.effort()
	pos := r.res.Samples[len(r.res.Samples)-1].S
	end := s.position()
	add := func(kind Kind, subject string, f float64) *Event {
		e := Event{Kind: kind, Subject: subject, Back: r.back, Sample: len(r.res.Samples)}
		e.S, e.Force = pos+f*(end-pos), r.force+f*(now-r.force)
		if fell {
			e.Force = r.force // before it fell
		}
		r.res.Events = append(r.res.Events, e)
		return &r.res.Events[len(r.res.Events)-1]
	}
	if fell {
		r.reportJump(add)
	}
	type turn struct {
		mark int
		at   float64 // share of the step
	}
	var turns []turn
	for i, v := range r.newMarks {
		old := r.marks[i]
		if (old > 0) == (v > 0) {
			continue
		}
		f := old / (old - v)
		if f != f || math.Abs(old) == 1 && math.Abs(v) == 1 {
			f = 1
		}
		turns = append(turns, turn{i, f})
	}
	slices.SortStableFunc(turns, func(a, b turn) int { return cmp.Compare(a.at, b.at) })
	for _, t := range turns {
		k := &s.x.marks[t.mark]
		kind := k.Up
		if r.newMarks[t.mark] <= 0 {
			kind = k.Down
		}
		if fell {
			t.at = 1 // all at the end of the fall, in its order
		}
		if kind != "" {
			add(kind, s.x.Elements[k.element].Name(), t.at)
		}
	}
	if tied != r.tied {
		if r.tied = tied; tied {
			add(Undetermined, a, 0).Other = b
		}
	}
}

// reportJump reports the joint that a fall has moved most.
func (r *runner) reportJump(add func(Kind, string, float64) *Event) {
	s := r.s
	best, size, name := jumpAngle*s.mech.Scale, 0.0, ""
	for i := range s.x.rubs {
		j := s.x.rubs[i].joint
		d := s.mech.Coord(s.w.Q, linkage.JointCoord(j)) - s.mech.Coord(r.start, linkage.JointCoord(j))
		w := math.Abs(d) * s.x.rubs[i].unit(s.mech.Scale)
		if w > best {
			best, size, name = w, d, s.mech.Joints[j].Name
		}
	}
	if name != "" {
		add(Jump, name, 1).Size = size
	}
}

// tie reports whether the passive coordinates are free to move without
// resistance, and the two joints that share the freedom.
func (s *solver) tie() (a, b string, tied bool) {
	l := s.loc
	for k := 0; k < l.m; k++ {
		cost := math.Abs(l.slope(k, k)) * tieReach
		for i := range l.laws {
			w := &l.laws[i]
			// A slide that would turn back within the reach resists too.
			if w.k == 0 && w.moves && math.Abs(w.at(l.delta)) <= slipTol+tieReach*math.Abs(w.a[k]) {
				cost += math.Abs(w.out[k]) + math.Abs(w.back[k])
			}
		}
		if cost > tieForce {
			continue
		}
		// Joints on the spine or the carriage name the two ways to move; others
		// follow them.
		var first, second float64
		for i := range s.x.rubs {
			if s.x.rubs[i].kind != linkage.Pin {
				continue
			}
			j := &s.mech.Joints[s.x.rubs[i].joint]
			v := math.Abs(l.laws[i].a[k])
			if !s.mech.Rooted(j) {
				v *= 1e-6
			}
			if v > first {
				b, second = a, first
				a, first = j.Name, v
			} else if v > second {
				b, second = j.Name, v
			}
		}
		return a, b, true
	}
	return "", "", false
}

// Run computes a full stroke: s from 0 to the travel and back to 0. Where
// nothing gives way any more, or the links end, that half ends (Result.Halts)
// and the way back begins there.
//
// Errors: *SettleError where no equilibrium is found, with s, the joint and the
// residual.
func (x *Model) Run() (*Result, error) {
	r := newRunner(newSolver(x, true, nil))
	if err := r.begin(x.Mech.Start, 0); err != nil {
		return r.res, err
	}
	if err := r.half(x.Mech.Travel); err != nil {
		return r.res, err
	}
	r.res.Turn = len(r.res.Samples) - 1
	halted := len(r.res.Halts) > 0
	r.turn()
	if halted && !r.resume() {
		return r.res, nil
	}
	return r.res, r.half(0)
}

// turn reverses the command.
func (r *runner) turn() {
	r.back, r.first, r.turned = !r.back, true, true
	r.slope, r.growth, r.peak = 0, 0, 0
	clear(r.rate)
}
