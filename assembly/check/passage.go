package check

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/params/finding"
	"tuckfinger/parts"
	"tuckfinger/parts/profile"
	"tuckfinger/parts/solid"
)

// shaft is a round piece of hardware that goes with a body, in that body's frame.
type shaft struct {
	name   string
	path   string // in the finger file
	body   int    // in Mechanism.Bodies
	radius float64
	// It stands at from over z0 to z1, or, if it lies, runs from from to to at z0.
	lies     bool
	from, to r2.Vec
	z0, z1   float64
}

// way is a length of a shaft and the radius that must be free about its axis there.
type way struct{ z0, z1, need float64 }

// room returns what a part, or its stiff remainder, leaves free about a shaft
// between two of its heights, if that is less than within; t takes the shaft's frame
// to the part's. It is +Inf for a shaft oblique to the layers of a part, which only
// turning bodies drawn across could bring about.
func (s *shaft) room(p *parts.Part, l *solid.Layered, t profile.Transform, w way, within float64) (solid.Room, error) {
	bores := make([]solid.Bore, len(p.Bores))
	for i, b := range p.Bores {
		bores[i] = b.Bore
	}
	across := p.Body.Plane == "xz" // drawn (x, y, z) is (x, z, -y) of the body
	a, b := t.Apply(s.from), t.Apply(s.to)
	switch {
	case !s.lies && !across:
		return l.RoomUpright(a, w.z0, w.z1, within, bores...)
	case !s.lies:
		return l.RoomLying(r2.Vec{X: a.X, Y: -w.z0}, r2.Vec{X: a.X, Y: -w.z1}, a.Y, within, bores...)
	case !across:
		return l.RoomLying(a, b, s.z0, within, bores...)
	case math.Abs(a.X-b.X) < 1e-9:
		return l.RoomUpright(r2.Vec{X: a.X, Y: -s.z0}, math.Min(a.Y, b.Y), math.Max(a.Y, b.Y), within, bores...)
	}
	return solid.Room{Radius: math.Inf(1)}, nil
}

// tight is where a part leaves the least room to a shaft.
type tight struct {
	shaft *shaft
	part  *parts.Part
	spare float64 // free radius less the one needed, mm
	free  solid.Room
	need  float64
	k     int // pose
}

// squeeze looks for the least room that a part leaves to a shaft, +Inf if that is
// more than farApart wider than the shaft, over ways and, unless the part stands still to it, the cycle. Ramps are passed by design.
func (in *Input) squeeze(s *shaft, p *parts.Part, ways []way) (tight, error) {
	worst := tight{shaft: s, part: p, spare: math.Inf(1)}
	body := in.Mechanism.BodyIndex(p.Name)
	still := in.still(s.body, body)
	for k, poses := range in.Cycle {
		if k > 0 && still {
			break
		}
		t := relative(poses[body], poses[s.body])
		for _, w := range ways {
			within := w.need + math.Min(worst.spare, farApart)
			free, err := s.room(p, p.Solid, t, w, within)
			if err == nil && free.Radius < w.need && strings.HasPrefix(p.Path(free.Tag), "ramps.") {
				free, err = s.room(p, p.Rigid, t, w, within)
			}
			if err != nil {
				return worst, fmt.Errorf("%s in %s: %w", s.name, p.Name, err)
			}
			const rounding = 1e-6 // mm: closure of the mechanism
			if spare := math.Round((free.Radius-w.need)/rounding) * rounding; spare < worst.spare {
				worst.spare, worst.free, worst.need, worst.k = spare, free, w.need, k
			}
		}
	}
	return worst, nil
}

// still reports whether two bodies do not move against each other.
func (in *Input) still(a, b int) bool {
	return a == b || in.rigid(in.Mechanism.Bodies[a].Name, in.Mechanism.Bodies[b].Name)
}

// passage checks that every pin, every screw and every hole for a screw has a free
// way through the material of the parts as they are built: in the parts that it
// joins with the radius of its fit, in all others with its own. What a pin has to
// pass without a hole for it while it moves, the clearances show.
func passage(in *Input, out *Findings) error {
	if len(in.Cycle) == 0 {
		return nil
	}
	for i := range in.Items {
		it := &in.Items[i]
		if it.Radius == 0 {
			continue
		}
		s := &shaft{name: "pin " + it.Where, path: it.Path, body: in.Mechanism.BodyIndex(it.Body), radius: it.Radius, from: it.At, z0: it.Z0, z1: it.Z1}
		for _, p := range in.Parts {
			if !slices.Contains(it.Bodies, p.Name) && !in.still(s.body, in.Mechanism.BodyIndex(p.Name)) && p.Body.Plane != "xz" {
				continue
			}
			ways, openings := in.pinWays(it, p)
			t, err := in.squeeze(s, p, ways)
			if err != nil {
				return err
			}
			in.passed(out, t, openings)
		}
	}
	for _, p := range in.Parts {
		for i := range p.Body.Features {
			if s := p.Body.Features[i].Screws; s != nil {
				path := fmt.Sprintf("bodies.%s.features[%d].screws", p.Name, i)
				if err := in.screwPassage(out, p, path, s); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// pinWays returns what a pin needs in a part: over its length its own radius or,
// where the part has holes and slots for it, that of the tightest, and in each of
// these its fit. It also returns these holes' and slots' paths.
func (in *Input) pinWays(it *parts.Item, p *parts.Part) (ways []way, openings []string) {
	all := way{it.Z0, it.Z1, it.Radius}
	open := func(path string, z0, z1, need float64) {
		openings = append(openings, path)
		all.need = math.Min(all.need, need)
		if z0, z1 = math.Max(z0, it.Z0), math.Min(z1, it.Z1); z0 < z1 {
			ways = append(ways, way{z0, z1, need})
		}
	}
	shares := func(joint string) bool {
		j := in.Design.Joints.Get(joint)
		return joint == it.Where || j != nil && j.Slot != nil && j.Slot.Shares == it.Where
	}
	for _, h := range p.Holes {
		if h.Joint != "" && shares(h.Joint) {
			open(h.Path, h.Z0, h.Z1, (h.Nominal+h.Clearance)/2)
		}
	}
	for i := range p.Body.Features {
		f := p.Body.Features[i].Slot
		if f == nil {
			continue
		}
		cut := in.Design.Joints.Get(f.Joint).Slot
		for k, name := range in.Design.Joints.Names { // two pins may run in one slot
			if s := in.Design.Joints.Values[k].Slot; s != nil && s.On == p.Name && shares(name) && slices.Equal(s.Path, cut.Path) {
				l := f.Layer
				if l == nil {
					l = p.Body.Layer
				}
				open(fmt.Sprintf("bodies.%s.features[%d].slot", p.Name, i), l.From, l.To, it.Radius+cut.Play/2)
				break
			}
		}
	}
	return append(ways, all), openings
}

// endGive is how far (mm) a pin that moves may stand in the hard end of its slot: the
// stroke presses it in by its force over the stiffness of the end.
const endGive = 0.01

// passed adds the finding of a shaft in a part.
func (in *Input) passed(out *Findings, t tight, openings []string) {
	if !(t.spare < farApart) {
		return
	}
	p := t.part
	where := fmt.Sprintf("z %.2f to %.2f mm", t.free.Z0, t.free.Z1)
	if p.Body.Plane == "xz" {
		where = fmt.Sprintf("y %.2f to %.2f mm", t.free.Z0, t.free.Z1)
	} else if names := in.layersIn(t.free.Z0, t.free.Z1); names != "" {
		where = "layer " + names + ", " + where
	}
	detail := fmt.Sprintf("%.2f mm free about the axis, %.2f mm needed for a diameter of %.2f mm; nearest is %s of %s, %s",
		t.free.Radius, t.need, 2*t.shaft.radius, p.Label(t.free.Tag), p.Name, where)
	if !in.still(t.shaft.body, in.Mechanism.BodyIndex(p.Name)) {
		detail += fmt.Sprintf(", at s = %.2f mm", in.S[t.k])
		if t.spare < 0 && t.spare > -endGive {
			t.spare = 0
		}
	}
	change := "change " + in.driver(p.Path(t.free.Tag))
	if t.spare < 0 {
		detail = fmt.Sprintf("overlaps plastic by %.2f mm: %s", -t.spare, detail)
		switch {
		case len(openings) > 0:
			change = "change " + in.driver(openings[0]+".layer") + strings.Replace(change, "change ", " or ", 1)
		case t.shaft.path != p.Path(t.free.Tag):
			change = "change " + in.driver(t.shaft.path) + strings.Replace(change, "change ", " or ", 1)
		}
	}
	out.add(finding.AtLeast(finding.Finding{Check: out.name, Subject: t.shaft.name + " in " + p.Name, Value: t.spare, Unit: "mm",
		Change: change, Source: "a pin or screw needs a hole through what it goes through", Detail: detail}, 0))
}

// layersIn names the layers that reach into a z range.
func (in *Input) layersIn(z0, z1 float64) string {
	var names []string
	for i, name := range in.Design.Layers.Names {
		if l := in.Design.Layers.Values[i]; math.Min(l.To, z1)-math.Max(l.From, z0) > 1e-3 {
			names = append(names, name)
		}
	}
	return strings.Join(names, ", ")
}

// screwPassage checks the holes of a screws feature, and the shanks of its screws
// where it lists them. Of each part only the tightest screw is reported.
func (in *Input) screwPassage(out *Findings, p *parts.Part, path string, s *params.Screws) error {
	places, z0, z1, err := parts.ScrewPlaces(in.Design, p, s)
	if err != nil {
		return err
	}
	screw, err := in.Design.Lib.Screw(s.Screw)
	if err != nil {
		return err
	}
	worst := map[*parts.Part]tight{}
	note := func(t tight) {
		if was, ok := worst[t.part]; !ok || t.spare < was.spare {
			worst[t.part] = t
		}
	}
	name := func(at r2.Vec) string {
		return fmt.Sprintf("%s %s %s at (%.1f, %.1f)", p.Name, s.Screw, s.Hole, at.X, at.Y)
	}
	for _, h := range p.Holes {
		if h.Path == path {
			d := h.Nominal + h.Clearance
			hole := in.upright(p, name(h.At), path, h.At, h.Z0, h.Z1, d/2)
			t, err := in.squeeze(hole, p, []way{{hole.z0, hole.z1, d / 2}})
			if err != nil {
				return err
			}
			note(t)
		}
	}
	length := 0.0
	for i := range in.Items {
		if it := &in.Items[i]; it.Kind == "screw" && it.Path == path {
			length = it.Length
		}
	}
	for _, at := range places {
		if length == 0 {
			break
		}
		// The file does not say from which side a screw comes. What it is screwed
		// into and its head's seat tell; otherwise the better side counts.
		seats, err := in.screwSeats(p, s, at)
		if err != nil {
			return err
		}
		var best []tight
		fromTop, fromBelow := seats.comes(z0, z1)
		for _, down := range [2]bool{true, false} {
			if down && !fromTop || !down && !fromBelow {
				continue
			}
			under := seats.under(z0, z1, down)
			end := under + length
			if down {
				end = under - length
			}
			got, err := in.shank(in.upright(p, name(at), path, at, math.Min(under, end), math.Max(under, end), screw.Thread.Diameter/2), seats)
			if err != nil {
				return err
			}
			if best == nil || tightest(got) > tightest(best) {
				best = got
			}
		}
		for _, t := range best {
			note(t)
		}
	}
	for _, q := range in.Parts {
		if t, ok := worst[q]; ok {
			in.passed(out, t, nil)
		}
	}
	return nil
}
