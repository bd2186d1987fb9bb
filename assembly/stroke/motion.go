package stroke

import (
	"math"
	"sort"

	"tuckfinger/assembly/linkage"
)

const (
	startRate = 1e-2 // mm of a joint per mm of command at which it starts,
	restRate  = 5e-3 // and below which it stands still,
	restSpan  = 0.1  // mm of command, if that lasts
	// suddenRatio of the rates of two steps is one that the mechanism does not
	// reach by moving smoothly.
	suddenRatio = 3
	smoothStep  = 0.1 // mm of command in which a joint that moves smoothly passes startRate
)

// unit is the length (mm) that a joint's coordinate counts for: a pin's angle acts
// at the mechanism's size.
func (r *rubbing) unit(scale float64) float64 {
	if r.kind == linkage.Pin {
		return scale
	}
	return 1
}

// sudden reports whether a joint has begun or ceased to move between two steps with
// these rates.
func sudden(before, now float64) bool {
	return max(before, now) > startRate && suddenRatio*min(before, now) < max(before, now)
}

// pace is the rate of a joint at a command.
type pace struct{ at, rate float64 }

// motions adds the events of joints that start and stop after a sample. A joint
// starts where its rate passes startRate, and stops where it falls below restRate
// for a while and stands there: one that turns back smoothly does not stop.
func (r *runner) motions(from int) {
	s := r.s
	all := r.res.Samples[from:]
	at := make([]float64, len(all))
	for k := range all {
		at[k] = math.Abs(all[k].at - all[0].at)
	}
	rates := make([]float64, len(all)-1)
	var line []pace
	for i := range s.x.rubs {
		rub := &s.x.rubs[i]
		if rub.joint == s.mech.Drive {
			continue
		}
		c, unit, was := linkage.JointCoord(rub.joint), rub.unit(s.mech.Scale), 0.0
		for k := range all {
			now := s.mech.Coord(all[k].Q, c)
			if k > 0 {
				rates[k-1] = (now - was) * unit / (at[k] - at[k-1])
				if all[k].fell {
					rates[k-1] = math.NaN()
				}
			}
			was = now
		}
		line = paces(line[:0], at, rates)
		name := s.mech.Joints[rub.joint].Name
		switches(line, func(kind Kind, at float64) { r.addMotion(from, kind, name, at) })
	}
	ev := r.res.Events
	sort.SliceStable(ev, func(i, k int) bool {
		if ev[i].Sample != ev[k].Sample {
			return ev[i].Sample < ev[k].Sample
		}
		if ev[i].Back {
			return ev[i].S > ev[k].S
		}
		return ev[i].S < ev[k].S
	})
}

// addMotion adds an event of a joint at a command.
func (r *runner) addMotion(from int, kind Kind, joint string, at float64) {
	all := r.res.Samples
	i := from + 1
	for i < len(all)-1 && math.Abs(all[i].at-all[from].at) < at-1e-12 {
		i++
	}
	a, b := &all[i-1], &all[i]
	f := min(1, (at-math.Abs(a.at-all[from].at))/math.Abs(b.at-a.at))
	r.res.Events = append(r.res.Events, Event{
		Kind: kind, Subject: joint, Back: r.back, Sample: i,
		S: a.S + f*(b.S-a.S), Force: a.Force + f*(b.Force-a.Force),
	})
}

// paces appends the rate (≥ 0) of a joint over the command, from those of the steps
// between places at; NaN stands for a step with a fall. Where the joint begins or
// ceases to move within a step, the line jumps; in between it is the derivative of a
// cubic through the joint's positions, without its overshoots.
func paces(line []pace, at, rates []float64) []pace {
	old := 0.0
	add := func(at, v float64) {
		if n := len(line); n > 0 && old*v < 0 {
			last := line[n-1].at
			line = append(line, pace{last + (at-last)*old/(old-v), 0})
		}
		line, old = append(line, pace{at, math.Abs(v)}), v
	}
	var begin float64
	joined := false // to the step before, with the rate begin between them
	for k, v := range rates {
		if v != v {
			joined = false
			continue
		}
		if !joined {
			begin = v
			add(jumps(at, rates, k), v)
		}
		end, joins := v, false
		if k+1 < len(rates) {
			if next := rates[k+1]; next == next && !sudden(math.Abs(v), math.Abs(next)) {
				end, joins = ((at[k+2]-at[k+1])*v+(at[k+1]-at[k])*next)/(at[k+2]-at[k]), true
			}
		}
		switch {
		case !joins:
			add(jumps(at, rates, k+1), v)
		case joined:
			mid := 1.5*v - (begin+end)/4
			add((at[k]+at[k+1])/2, min(max(mid, min(begin, v, end)), max(begin, v, end)))
			fallthrough
		default:
			add(at[k+1], end)
		}
		begin, joined = end, joins
	}
	return line
}

// jumps returns where the rate jumps that changes between step k−1 and step k: the
// step in which it happens has a part of the whole rate, which is that of the steps
// beside it, carried on.
func jumps(at, rates []float64, k int) float64 {
	rate := func(k int) float64 { // NaN where there is none
		if k < 0 || k >= len(rates) {
			return math.NaN()
		}
		return math.Abs(rates[k])
	}
	size := func(k int) float64 { return at[k+1] - at[k] }
	whole := func(k, way int) float64 {
		a, b, v := rate(k-way), rate(k-2*way), rate(k)
		if a != a || sudden(a, v) {
			return v
		}
		if b == b && !sudden(a, b) {
			a += (a - b) * (size(k) + size(k-way)) / (size(k-way) + size(k-2*way))
		}
		return max(a, v)
	}
	before, after := rate(k-1), rate(k)
	if before > after {
		return at[k] - size(k-1)*(1-before/whole(k-1, 1))
	}
	if after > before {
		return at[k] + size(k)*(1-after/whole(k, -1))
	}
	return at[k]
}

// switches tells where a joint at rest starts, stops, starts again.
func switches(line []pace, tell func(kind Kind, at float64)) {
	moving, quiet := false, false
	var since, way float64 // of a rest that may last: where it began, and the way since
	rest := func(until float64) {
		// A rate that only passes through 0 goes half the way of restRate.
		if long := until - since; quiet && long >= restSpan && way < restRate*long/4 {
			moving = false
			tell(JointStops, since)
		}
		quiet = false
	}
	for i, p := range line {
		last := p
		if i > 0 {
			last = line[i-1]
		}
		at := func(rate float64) float64 {
			if last.rate == p.rate {
				return p.at
			}
			return last.at + (rate-last.rate)/(p.rate-last.rate)*(p.at-last.at)
		}
		low, high := last.at, p.at // what of the piece is quiet
		if moving && !quiet && p.rate < restRate {
			quiet, since, way = true, p.at, 0
			if last.rate > restRate {
				since = at(restRate)
			}
			low = since
		}
		ends := quiet && p.rate > restRate
		if ends {
			high = at(restRate)
		}
		if quiet {
			way += (high - low) * (min(last.rate, restRate) + min(p.rate, restRate)) / 2
		}
		if ends {
			rest(high)
		}
		if !moving && p.rate > startRate {
			moving = true
			if i > 0 && last.rate < startRate {
				tell(JointStarts, at(startRate))
			} else {
				tell(JointStarts, p.at)
			}
		}
	}
	if len(line) > 0 {
		rest(line[len(line)-1].at)
	}
}
