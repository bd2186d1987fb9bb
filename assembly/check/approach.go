package check

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/params/finding"
	"tuckfinger/parts/profile"
)

// Air, mm, that the finger keeps. Common practice, no source.
const (
	switchAir = 0.3 // to wall, floor, object and ceiling while it switches
	openAir   = 1.0 // by which the pads open wider than the object
	// leastShift is a move of the arm that is worth naming.
	leastShift = 0.05
)

// placed is the place with everything that moves in it.
type placed struct {
	in     *Input
	shapes []shape
	mouth  float64
	object profile.Region
	pairs  []*profile.Pair
}

func (in *Input) placed() (*placed, error) {
	pl := in.Design.Place
	p := &placed{in: in, mouth: pl.Floor + pl.Depth}
	var err error
	if p.shapes, err = in.shapes(); err != nil {
		return nil, err
	}
	if o := in.Design.Object; o != nil {
		// The near face and both sides across count; the object is as long as
		// anything that could reach it.
		long := 10.0
		for i := range p.shapes {
			long = math.Max(long, 4*p.shapes[i].radius)
		}
		if p.object, err = profile.Rect(r2.Vec{X: o.Face, Y: o.Bottom}, r2.Vec{X: o.Face + long, Y: o.Bottom + o.Height}, 0); err != nil {
			return nil, err
		}
		f := profile.NewField(p.object)
		for i := range p.shapes {
			p.pairs = append(p.pairs, profile.NewPair(f, profile.NewField(p.shapes[i].region)))
		}
	}
	return p, nil
}

// near is the smallest value met so far and where.
type near struct {
	gap  float64
	part string
	at   At
}

func (n *near) see(gap float64, part string, at At) {
	if gap < n.gap {
		*n = near{gap, part, at}
	}
}

func (n *near) String() string { return fmt.Sprintf("%s, at %s", n.part, n.at) }

func (in *Input) at(k int) At { return At{S: in.S[k], Back: k >= in.Turn, Case: caseStroke} }

// opening is the free height between the pads beyond the object's face: an
// upright object of that height fits in. ok is false while a pad does not reach
// beyond the face.
func (in *Input) opening(poses []linkage.Pose, face float64) (low, high float64, ok bool) {
	upper, lower, ok := in.grips()
	if !ok {
		return 0, 0, false
	}
	low, okLow := heights(&lower, poses, face, math.Max)
	high, okHigh := heights(&upper, poses, face, math.Min)
	return low, high, okLow && okHigh
}

// heights returns the extreme y of a pad's surface beyond x = face.
func heights(f *padFace, poses []linkage.Pose, face float64, pick func(a, b float64) float64) (float64, bool) {
	a, b, _ := f.place(poses)
	if a.X > b.X {
		a, b = b, a
	}
	if b.X <= face {
		return 0, false
	}
	if a.X < face {
		t := (face - a.X) / (b.X - a.X)
		a = r2.Vec{X: face, Y: a.Y + t*(b.Y-a.Y)}
	}
	return pick(a.Y, b.Y), true
}

// held returns the poses during which the pads hold the object: from the first
// on the way out at which they close on it to the last on the way back.
func (p *placed) held() (from, to int, ok bool) {
	in := p.in
	o := in.Design.Object
	if o == nil {
		return 0, 0, false
	}
	shut := func(k int) (shut, known bool) {
		low, high, ok := in.opening(in.Cycle[k], o.Face)
		return ok && high-low <= o.Height, ok
	}
	open := false
	from = -1
	for k := 0; k < in.Turn && k < len(in.Cycle); k++ {
		s, known := shut(k)
		if known && !s {
			open = true
		}
		if open && s {
			from = k
			break
		}
	}
	if from < 0 {
		return 0, 0, false
	}
	for to = from; to+1 < len(in.Cycle); to++ {
		if s, known := shut(to + 1); known && !s && to+1 >= in.Turn {
			break
		}
	}
	return from, to, true
}

// swing checks the finger against wall, floor, ceiling and object at every pose
// of the cycle.
func swing(in *Input, out *Findings) error {
	place := in.Design.Place
	if place == nil || len(in.Cycle) == 0 {
		return nil
	}
	p, err := in.placed()
	if err != nil {
		return err
	}
	inf := math.Inf(1)
	wall, floor, ceiling, object := near{gap: inf}, near{gap: inf}, near{gap: inf}, near{gap: inf}
	o := in.Design.Object
	obstacle := o != nil && place.Switch != "beside"
	from, to, held := p.held()
	for k, poses := range in.Cycle {
		at := in.at(k)
		for i := range p.shapes {
			s := &p.shapes[i]
			if k > 0 && (s.still || poses[s.body] == in.Cycle[k-1][s.body]) {
				continue
			}
			if e := s.below(poses[s.body], p.mouth); e.ok {
				wall.see(e.lo.X-place.Wall, s.name, at)
				floor.see(e.lo.Y-place.Floor, s.name, at)
			}
			if o != nil {
				if _, y, ok := s.beyond(poses[s.body], o.Face); ok {
					ceiling.see(o.Bottom+o.Height+place.Ceiling-y, s.name, at)
				}
			}
		}
		if obstacle && !(held && k >= from && k <= to) {
			// Jaws that have the object between them come near it by design.
			low, high, around := p.throat(poses)
			p.objectGap(poses, 0, at, around && high-low >= o.Height, &object)
		}
	}
	air := func(n near, subject, path string, more bool) {
		if math.IsInf(n.gap, 1) {
			return
		}
		out.atLeast(measure{subject: subject, value: n.gap, unit: "mm", limit: "switch air", def: switchAir,
			source: "common practice, no source", change: path, more: more, detail: n.String()})
	}
	air(wall, "to the wall", "place.wall", false)
	air(floor, "to the floor", "place.floor", false)
	if o != nil {
		air(ceiling, "to what is above the object", "place.above", true)
		air(object, "to the object", "place.gap", true)
	}
	return nil
}

// objectGap lowers n to the distance between the finger and the object moved by
// dy; farther than a few mm is of no interest. It may leave out the two jaws.
func (p *placed) objectGap(poses []linkage.Pose, dy float64, at At, noJaws bool, n *near) {
	const far = 5.0 // mm
	upper, lower, _ := p.in.grips()
	for i := range p.shapes {
		s := &p.shapes[i]
		if noJaws && (s.body == upper.body || s.body == lower.body) {
			continue
		}
		pose := poses[s.body]
		if c := pose.Apply(s.centre); c.X+s.radius < p.in.Design.Object.Face-far {
			continue
		}
		t := profile.Rigid(pose.Theta, r2.Vec{X: pose.X, Y: pose.Y - dy})
		n.see(p.pairs[i].Within(t, math.Min(n.gap, far)).Distance, s.name, at)
	}
}

// beyond returns the least and largest y of a posed outline where it reaches
// beyond x = face.
func (s *shape) beyond(pose linkage.Pose, face float64) (lo, hi float64, ok bool) {
	if c := pose.Apply(s.centre); c.X+s.radius <= face {
		return 0, 0, false
	}
	// A quarter turn to the right makes "beyond the face" "below" and "up" "right".
	turned := linkage.Pose{X: pose.Y, Y: -pose.X, Theta: pose.Theta - math.Pi/2}
	e := s.below(turned, -face)
	return e.lo.X, e.hi.X, e.ok
}

// ready is the first pose of the cycle at which all that gives way on the way
// out has done so.
func (in *Input) ready() int {
	at := 0
	if in.Stroke == nil {
		return at
	}
	for i := range in.Stroke.Events {
		e := &in.Stroke.Events[i]
		switch e.Kind {
		case stroke.RampPeak, stroke.ClipSnapped, stroke.HoldReleased:
			if !e.Back {
				at = max(at, e.Sample)
			}
		}
	}
	return min(at, in.Turn-1)
}

// throat is the free height between the bodies of the two pads beyond the
// object's face; ok is false while one of them does not reach there.
func (p *placed) throat(poses []linkage.Pose) (low, high float64, ok bool) {
	upper, lower, ok := p.in.grips()
	if !ok {
		return 0, 0, false
	}
	face := p.in.Design.Object.Face
	low, high = math.Inf(-1), math.Inf(1)
	for i := range p.shapes {
		s := &p.shapes[i]
		if s.body != upper.body && s.body != lower.body {
			continue
		}
		lo, hi, there := s.beyond(poses[s.body], face)
		switch {
		case !there:
		case s.body == lower.body:
			low = math.Max(low, hi)
		default:
			high = math.Min(high, lo)
		}
	}
	return low, high, !math.IsInf(low, 0) && !math.IsInf(high, 0)
}

// widest returns the pose, after the order of events on the way out, at which
// the throat is widest.
func (p *placed) widest() (k int, low, high float64, ok bool) {
	in := p.in
	best := math.Inf(-1)
	for i := in.ready(); i < in.Turn && i < len(in.Cycle); i++ {
		if l, h, there := p.throat(in.Cycle[i]); there && h-l > best {
			best, k, low, high, ok = h-l, i, l, h, true
		}
	}
	return k, low, high, ok
}

// approach checks that a finger that folds out beside its object can be moved
// along z onto it.
func approach(in *Input, out *Findings) error {
	place, o := in.Design.Place, in.Design.Object
	if place == nil || o == nil || in.Design.Grasp == nil || place.Switch != "beside" || len(in.Cycle) == 0 {
		return nil
	}
	p, err := in.placed()
	if err != nil {
		return err
	}
	k, low, high, ok := p.widest()
	if !ok {
		out.state("opening", finding.Fail, "pads", "the pads must reach over the object",
			fmt.Sprintf("no pose after the order of events has both jaws beyond the object's face at x = %.2f mm", o.Face))
		return nil
	}
	out.atLeast(measure{subject: "opening", value: high - low, unit: "mm", def: o.Height + openAir,
		source: fmt.Sprintf("the object's height and %.1f mm; common practice, no source", openAir), change: "object.height",
		detail: fmt.Sprintf("between the jaws beyond the object's face, at %s", in.at(k))})
	dy := (low+high)/2 - (o.Bottom + o.Height/2)
	n := near{gap: math.Inf(1)}
	p.objectGap(in.Cycle[k], dy, in.at(k), false, &n)
	if !math.IsInf(n.gap, 1) {
		out.atLeast(measure{subject: "along z", value: n.gap, unit: "mm", limit: "switch air", def: switchAir,
			source: "common practice, no source", change: "place.gap", more: true,
			detail: "between the object and " + n.String() + moved(dy)})
	}
	floor := near{gap: math.Inf(1)}
	for i := range p.shapes {
		s := &p.shapes[i]
		if e := s.below(in.Cycle[k][s.body], p.mouth); e.ok {
			floor.see(e.lo.Y-dy-place.Floor, s.name, in.at(k))
		}
	}
	if !math.IsInf(floor.gap, 1) {
		out.atLeast(measure{subject: "to the floor", value: floor.gap, unit: "mm", limit: "switch air", def: switchAir,
			source: "common practice, no source", change: "place.under", more: true,
			detail: floor.String() + moved(dy)})
	}
	return nil
}

// moved says that the arm brings the opening to the object's height, dy below
// the throat's.
func moved(dy float64) string {
	if math.Abs(dy) < leastShift {
		return ""
	}
	return fmt.Sprintf(", with the finger moved by %.2f mm along y", -dy)
}

// stacked checks that only the top one of thin stacked objects is lifted: what
// goes under its rim must fit between the rims.
func stacked(in *Input, out *Findings) error {
	o, g := in.Design.Object, in.Design.Grasp
	if o == nil || g == nil || o.Rim == nil || len(in.Cycle) == 0 {
		return nil
	}
	// The pose that grips: where the opening is nearest to the object's height.
	best, k := math.Inf(1), -1
	for i := in.ready(); i < in.Turn && i < len(in.Cycle); i++ {
		if l, h, ok := in.opening(in.Cycle[i], o.Face); ok && math.Abs(h-l-o.Height) < best {
			best, k = math.Abs(h-l-o.Height), i
		}
	}
	if k < 0 {
		out.state("grip", finding.Fail, "pads", "the tip must reach under the rim",
			fmt.Sprintf("no pose has both pads beyond the object's face at x = %.2f mm", o.Face))
		return nil
	}
	all, err := in.shapes()
	if err != nil {
		return err
	}
	_, lower, _ := in.grips()
	to := math.Inf(1)
	if o.RimDepth != nil {
		to = o.Face + *o.RimDepth
	}
	y, tip := newExtent(), math.Inf(-1)
	for i := range all {
		s := &all[i]
		if s.body != lower.body {
			continue
		}
		moved := s.region.Transform(profile.Rigid(in.Cycle[k][s.body].Theta, r2.Vec{X: in.Cycle[k][s.body].X, Y: in.Cycle[k][s.body].Y}))
		box, ok := moved.Box()
		if !ok || box.Max.X <= o.Face {
			continue
		}
		tip = math.Max(tip, box.Max.X)
		window, err := profile.Rect(r2.Vec{X: o.Face, Y: box.Min.Y - 1}, r2.Vec{X: math.Min(to, box.Max.X+1), Y: box.Max.Y + 1}, 0)
		if err != nil {
			return err
		}
		if moved, err = profile.Intersect(moved, window); err != nil {
			return err
		}
		if box, ok = moved.Box(); ok {
			y.see(box.Min)
			y.see(box.Max)
		}
	}
	if !y.ok {
		return nil
	}
	body := in.Mechanism.Bodies[lower.body].Name
	out.atMost(measure{subject: "tip thickness", value: y.hi.Y - y.lo.Y, unit: "mm", def: *o.Rim, source: "object.rim",
		change: "bodies." + body + ".features", detail: fmt.Sprintf("%s with its pad under the rim, at %s", body, in.at(k))})
	if o.RimDepth != nil {
		out.atMost(measure{subject: "entry depth", value: tip - o.Face, unit: "mm", def: *o.RimDepth, source: "object.rim_depth",
			change: "bodies." + body + ".features", detail: fmt.Sprintf("%s beyond the object's face, at %s", body, in.at(k))})
	}
	return nil
}
