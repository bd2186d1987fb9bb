package stroke

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/linkage"
	"tuckfinger/params"
	"tuckfinger/parts"
	"tuckfinger/parts/profile"
)

const (
	// stopStiffness is that of hard ends: a printed stop gives way by a few
	// thousandths under clamping loads. Common practice, no source; it only has
	// to be far stiffer than rails, arms and pads.
	stopStiffness = 5000 // N/mm
	// holdEdge is the share of a hold's reach over which its torque rises and
	// falls.
	holdEdge = 1.0 / 6
)

type builder struct {
	x     *Model
	m     *linkage.Mechanism
	d     *params.Design
	terms force.Terms
	err   error
}

func (b *builder) fail(path string, err error) {
	if err != nil && b.err == nil {
		var in *linkage.InputError
		if errors.As(err, &in) {
			b.err = in
			return
		}
		b.err = &linkage.InputError{Path: path, Problem: strings.TrimPrefix(err.Error(), "force: ")}
	}
}

func (b *builder) add(e Element) {
	for _, w := range b.x.Options.Without {
		if w == e.Name() {
			return
		}
	}
	b.x.Elements = append(b.x.Elements, e)
}

// joint finds a joint of one of the kinds.
func (b *builder) joint(path, name string, kinds ...linkage.Kind) (int, bool) {
	k := b.m.JointIndex(name)
	if k >= 0 {
		for _, want := range kinds {
			if b.m.Joints[k].Kind == want {
				return k, true
			}
		}
	}
	b.fail(path, fmt.Errorf("%q is not a joint of kind %v", name, kinds))
	return 0, false
}

func (b *builder) body(path, name string) int {
	k := b.m.BodyIndex(name)
	if k < 0 {
		b.fail(path, fmt.Errorf("no body %q", name))
		return 0
	}
	return k
}

// Elastic gives the elastic constants of a body's plastic: those of its material,
// with the process's modulus where the body has no material of its own.
func Elastic(d *params.Design, body string) force.Material {
	t := d.Material(body)
	m := force.Material{E: t.Modulus.Typical, Nu: t.Poisson.Typical}
	if own := d.Bodies.Get(body); d.Process.Modulus != nil && (own == nil || own.Material == "") {
		m.E = *d.Process.Modulus
	}
	return m
}

// friction is the coefficient given for a place, the process's, or the
// material's against steel or itself.
func (b *builder) friction(given *float64, body string, steel bool) float64 {
	switch {
	case given != nil:
		return *given
	case b.d.Process.Friction != nil:
		return *b.d.Process.Friction
	}
	t := b.d.Material(body)
	if steel {
		return t.FrictionSteel.Typical
	}
	return t.FrictionSelf.Typical
}

// height is the z height of the feature of a body that pick accepts, or of the
// body's own layer.
func (b *builder) height(path, body string, pick func(f *params.Feature) (*params.Span, bool)) float64 {
	in := b.d.Bodies.Get(body)
	span := in.Layer
	for i := range in.Features {
		if s, ok := pick(&in.Features[i]); ok {
			if s != nil {
				span = s
			}
			break
		}
	}
	if span == nil || span.To <= span.From {
		b.fail(path, fmt.Errorf("body %q has no layer there: its height in z is unknown", body))
		return 1
	}
	return span.To - span.From
}

// pinDiameter is a slot's own or shared pin.
func (b *builder) pinDiameter(s *params.SlotJoint) float64 {
	if s.Diameter != nil {
		return *s.Diameter
	}
	if p := b.d.Joints.Get(s.Shares); p != nil && p.Pin != nil {
		return p.Pin.Diameter
	}
	b.fail("joints", fmt.Errorf("a slot has neither a diameter nor a shared pin"))
	return 1
}

// rubbings lists the friction of joints.
func (b *builder) rubbings() {
	for i := range b.m.Joints {
		j := &b.m.Joints[i]
		in := b.d.Joints.Get(j.Name)
		r := rubbing{joint: i, kind: j.Kind}
		on := b.m.Bodies[j.A].Name
		switch j.Kind {
		case linkage.Pin:
			mu := b.friction(in.Pin.Friction, on, in.Pin.Standard != "printed")
			r.circle, r.drag = force.FrictionCircle(in.Pin.Diameter/2, mu), in.Pin.Drag
		case linkage.Slot:
			r.mu = b.friction(in.Slot.Friction, on, in.Slot.Standard != "printed")
		case linkage.Slide:
			r.guide = force.Guide{Length: in.Slide.Length, Mu: b.friction(in.Slide.Friction, on, false)}
		default:
			continue
		}
		b.x.rubs = append(b.x.rubs, r)
	}
}

func (b *builder) ramps() {
	for i, name := range b.d.Ramps.Names {
		in := &b.d.Ramps.Values[i]
		path := "ramps." + name
		k, ok := b.joint(path+".slot", in.Slot, linkage.Slot)
		if !ok {
			continue
		}
		slot := b.d.Joints.Get(in.Slot).Slot
		ramp, err := b.ramp(path, in, slot)
		if err != nil {
			b.fail(path, err)
			continue
		}
		// The opposite wall is left to the slot joint, whose force holds the squeeze.
		law, err := ramp.Law(b.terms &^ force.TermOppositeWall)
		if err != nil {
			b.fail(path, err)
			continue
		}
		_, peak, _ := in.Feet()
		e := &rampElement{name: name, joint: k, law: law, peak: peak, forward: 1, side: 1}
		if in.Wall == "left" {
			e.side = -1
		}
		lo, hi, squeezed := law.Lifts()
		crest, _ := law.Crest()
		if !squeezed {
			lo, hi = crest, crest
		}
		e.lo, e.hi, e.crest = peak+lo, peak+hi, peak+crest
		b.add(e)
	}
}

// ramp describes a ramp for its law; its x is the path coordinate from the peak.
func (b *builder) ramp(path string, in *params.Ramp, slot *params.SlotJoint) (ramp force.Ramp, err error) {
	first, peak, last := in.Feet()
	// The pin's centre runs on an offset of the wall that is printed.
	r := b.pinDiameter(slot) / 2
	wall, err := parts.RampBump(in).Contact(r, 3*r)
	if err != nil {
		return ramp, err
	}
	curve, err := force.NewGraph(lifted(wall))
	if err != nil {
		return ramp, err
	}
	if from, to := curve.Span(); peak+from < in.Rail.From || peak+to > in.Rail.To {
		return ramp, &linkage.InputError{Path: path + ".rail", Problem: fmt.Sprintf(
			"reaches from %.4g to %.4g mm, but its pin, %.4g mm in radius, meets the ramp from %.4g to %.4g mm; the rail must reach as far: move the ramp, or make the rail longer",
			in.Rail.From, in.Rail.To, r, peak+from, peak+to)}
	}
	rail, err := force.Rail{
		Material: Elastic(b.d, slot.On), Length: in.Rail.To - in.Rail.From, Thickness: in.Rail.Thickness,
		Width: b.height(path, slot.On, func(f *params.Feature) (*params.Span, bool) {
			if f.Slot != nil && f.Slot.Joint == in.Slot {
				return f.Slot.Layer, true
			}
			return nil, false
		}),
		EndA: force.RailEndDefault, EndB: force.RailEndDefault,
		RampFrom: first - in.Rail.From, RampTo: last - in.Rail.From, RampHeight: in.Rise,
	}.Law(b.terms)
	if err != nil {
		return ramp, err
	}
	mu := b.friction(slot.Friction, slot.On, slot.Standard != "printed")
	return force.Ramp{Curve: curve, Wall: rail, Origin: peak - in.Rail.From, Play: slot.Play, Mu: mu, MuWall: mu}, nil
}

// lifted is the part of a pin centre's path that the bump lifts: the flat wall
// before and after it may lie beyond the rail.
func lifted(path []profile.Edge) []profile.Edge {
	const flat = 1e-9 // mm
	low := func(e profile.Edge) bool { return math.Max(math.Abs(e.A.Y), math.Abs(e.B.Y)) < flat && e.Bulge == 0 }
	for len(path) > 1 && low(path[0]) {
		path = path[1:]
	}
	for len(path) > 1 && low(path[len(path)-1]) {
		path = path[:len(path)-1]
	}
	return path
}

func (b *builder) clips() {
	for i, name := range b.d.Clips.Names {
		in := &b.d.Clips.Values[i]
		path := "clips." + name
		a := &in.Arm
		e := &clipElement{name: name, number: i, arm: b.body(path+".arm.body", a.Body), post: b.body(path+".post.body", in.Post.Body), at: in.Post.At, enter: 1}
		if b.err != nil {
			return
		}
		// Frame and hook are those of the arm that is printed.
		frame, hook := parts.NewArmFrame(a), parts.Hook(a)
		top := a.Thickness*tip(a)/2 + hook.Height
		e.ex, e.ey, e.origin = frame.X, frame.Y, frame.At(-a.Length, -top)
		e.peak = r2.Vec{X: a.Length, Y: top}
		law := force.Clip{
			Arm: force.Arm{Material: Elastic(b.d, a.Body), Length: a.Length, Thickness: a.Thickness, TipThickness: a.Thickness * tip(a), Fillet: a.RootFillet,
				Width: b.height(path, a.Body, func(f *params.Feature) (*params.Span, bool) {
					if f.Arm != nil && f.Arm.Clip == name {
						return f.Arm.Layer, true
					}
					return nil, false
				})},
			Hook: hook.Height, Nose: hook.Radius, Entry: hook.First, Retention: hook.Last,
			Post: force.Post{Radius: in.Post.Radius}, Mu: b.hookFriction(in),
		}
		// The post decides which way the arm is turned: where it stands in the
		// tucked pose is the side it comes from.
		v := view(b.m)
		v.set(b.m.Start)
		if p, _ := e.place(v); p.X > a.Length {
			law.Direction, e.enter = force.TipFirst, -1
			law.Entry, law.Retention = hook.Last, hook.First
		}
		var err error
		if e.law, err = law.Law(b.terms); err != nil {
			b.fail(path, err)
			continue
		}
		b.add(e)
	}
}

func tip(a *params.Arm) float64 {
	if a.Tip == 0 {
		return 1
	}
	return a.Tip
}

func (b *builder) holds() {
	for i, name := range b.d.Holds.Names {
		in := &b.d.Holds.Values[i]
		path := "holds." + name
		k, ok := b.joint(path+".joint", in.Joint, linkage.Pin)
		if !ok {
			continue
		}
		e := &holdElement{name: name, joint: k, seat: in.Angle, width: in.Over}
		for s := range e.law {
			e.law[s] = force.Detent{Seat: in.Angle, Sense: float64(1 - 2*s), Hold: in.Torque, Width: in.Over, Edge: in.Over * holdEdge}
			b.fail(path, e.law[s].Check())
		}
		b.add(e)
	}
}

func (b *builder) stops() {
	for i, name := range b.d.Stops.Names {
		in := &b.d.Stops.Values[i]
		k, ok := b.joint("stops."+name+".joint", in.Joint, linkage.Pin, linkage.Slide)
		if !ok {
			continue
		}
		e := &endElement{name: name, kind: "stop", joint: k, sign: 1, stiffness: stopStiffness}
		if in.Side == "below" {
			e.sign = -1
		}
		switch {
		case b.m.Joints[k].Kind == linkage.Pin && in.Angle != nil:
			e.limit, e.stiffness = *in.Angle, stopStiffness*b.m.Scale*b.m.Scale
		case b.m.Joints[k].Kind == linkage.Slide && in.Dist != nil:
			e.limit = *in.Dist
		default:
			b.fail("stops."+name, fmt.Errorf("needs an angle for a pin joint, a distance for a slide"))
			continue
		}
		b.add(e)
	}
	for i := range b.m.Joints {
		j := &b.m.Joints[i]
		if j.Kind != linkage.Slot {
			continue
		}
		b.add(&endElement{name: j.Name, kind: "slot end", joint: i, sign: -1, limit: 0, stiffness: stopStiffness})
		b.add(&endElement{name: j.Name, kind: "slot end", joint: i, sign: 1, limit: j.Path.Length(), stiffness: stopStiffness})
	}
}

func (b *builder) springs() {
	for i, name := range b.d.Springs.Names {
		in := &b.d.Springs.Values[i]
		path := "springs." + name
		switch {
		case in.Torsion != nil:
			if k, ok := b.joint(path+".torsion.joint", in.Torsion.Joint, linkage.Pin); ok {
				b.add(&torsionElement{name: name, joint: k, law: force.Spring{Rate: in.Torsion.Rate, Rest: in.Torsion.Free}})
			}
		case in.Linear != nil:
			l := in.Linear
			b.add(&springElement{name: name, a: b.body(path+".linear.from", l.From.Body), b: b.body(path+".linear.to", l.To.Body),
				pa: l.From.At, pb: l.To.At, law: force.Spring{Rate: l.Rate, Rest: l.Free, OneSided: l.Slack}})
		}
	}
}

func (b *builder) pads() {
	g := b.d.Grasp
	if g == nil {
		return
	}
	up, low := b.d.Pads.Get(g.Upper), b.d.Pads.Get(g.Lower)
	if up == nil || low == nil {
		b.fail("grasp", fmt.Errorf("pads %q and %q are not both there", g.Upper, g.Lower))
		return
	}
	e := &gripElement{name: "grasp"}
	e.upper = newPadFace(b.body("pads."+g.Upper, up.Body), up)
	e.lower = newPadFace(b.body("pads."+g.Lower, low.Body), low)
	soft := 1/up.Stiffness + 1/low.Stiffness
	if o := b.d.Object; b.x.Options.Object && o != nil {
		e.height = o.Height
		soft += 1 / o.Stiffness
	}
	e.stiffness = 1 / soft
	b.add(e)
}

func (b *builder) weights() {
	sin, cos := math.Sincos(b.d.Attitude)
	for _, w := range b.x.Options.Weights {
		f := w.Mass / 1000 * force.Gravity
		b.add(&loadElement{name: "weight of " + w.Body, kind: "weight", body: b.body("weights", w.Body), at: w.Centre, force: r2.Vec{X: f * cos, Y: f * sin}})
	}
	for _, l := range b.x.Options.Loads {
		b.add(&loadElement{name: l.Name, kind: "load", body: b.body("loads", l.Body), at: l.At, force: l.Force})
	}
}
