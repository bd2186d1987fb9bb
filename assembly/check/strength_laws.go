package check

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/linkage"
	"tuckfinger/params"
	"tuckfinger/parts"
	"tuckfinger/parts/solid"
)

const gravity = force.Gravity

// laws are the elastic laws of a design's rails and arms, for their strains.
type laws struct {
	rails []railLaw
	clips []clipLaw
}

// railLaw is a ramp on its rail.
type railLaw struct {
	name   string
	joint  int
	peak   float64 // path coordinate of the ramp's peak
	origin float64 // place of the peak on the rail
	ramp   *force.RampLaw
	rail   *force.RailLaw
}

// clipLaw is a hook and its post.
type clipLaw struct {
	name      string
	arm, post int // bodies
	at        r2.Vec
	frame     parts.ArmFrame
	root      r2.Vec // of the arm frame: neutral axis at the root face
	law       *force.ClipLaw
	enter     float64
}

func (in *Input) elastic(body string) force.Material {
	t := in.Design.Material(body)
	m := force.Material{E: t.Modulus.Typical, Nu: t.Poisson.Typical}
	if own := in.Design.Bodies.Get(body); in.Design.Process.Modulus != nil && (own == nil || own.Material == "") {
		m.E = *in.Design.Process.Modulus
	}
	return m
}

// rubs is the friction of a body against a printed or a steel surface.
func (in *Input) rubs(body string, steel bool) float64 {
	if mu := in.Design.Process.Friction; mu != nil {
		return *mu
	}
	t := in.Design.Material(body)
	if steel {
		return t.FrictionSteel.Typical
	}
	return t.FrictionSelf.Typical
}

func (in *Input) rampOn(slot string) bool {
	for i := range in.Design.Ramps.Values {
		if in.Design.Ramps.Values[i].Slot == slot {
			return true
		}
	}
	return false
}

// elasticLaws builds the laws of all rails and arms.
func (in *Input) elasticLaws(terms force.Terms) (*laws, error) {
	out := &laws{}
	d := in.Design
	for i, name := range d.Ramps.Names {
		r := &d.Ramps.Values[i]
		l, err := in.railLaw(name, r, terms)
		if err != nil {
			return nil, fmt.Errorf("ramps.%s: %w", name, err)
		}
		out.rails = append(out.rails, l)
	}
	for i, name := range d.Clips.Names {
		l, err := in.clipLaw(name, &d.Clips.Values[i], terms)
		if err != nil {
			return nil, fmt.Errorf("clips.%s: %w", name, err)
		}
		out.clips = append(out.clips, l)
	}
	return out, nil
}

func (in *Input) railLaw(name string, r *params.Ramp, terms force.Terms) (railLaw, error) {
	slot := in.Design.Joints.Get(r.Slot).Slot
	first, peak, last := r.Feet()
	l := railLaw{name: name, joint: in.Mechanism.JointIndex(r.Slot), peak: peak, origin: peak - r.Rail.From}
	z := in.slotSpans(slot)
	if len(z) == 0 {
		return l, fmt.Errorf("body %q has no slot for joint %s", slot.On, r.Slot)
	}
	curve, err := force.Bump{Height: r.Rise, Steep: r.First, Shallow: r.Last, PeakRadius: r.Peak}.Curve(parts.SlotPin(in.Design, slot) / 2)
	if err != nil {
		return l, err
	}
	l.rail, err = force.Rail{
		Material: in.elastic(slot.On), Length: r.Rail.To - r.Rail.From, Thickness: r.Rail.Thickness, Width: depth(z),
		EndA: force.RailEndDefault, EndB: force.RailEndDefault,
		RampFrom: first - r.Rail.From, RampTo: last - r.Rail.From, RampHeight: r.Rise,
	}.Law(terms)
	if err != nil {
		return l, err
	}
	l.ramp, err = force.Ramp{Curve: curve, Wall: l.rail, Origin: l.origin, Play: slot.Play}.Law(terms)
	return l, err
}

// strain returns the rail's strain with the pin at a path coordinate, and its
// deflection (mm).
func (l *railLaw) strain(coord float64) (strain, deflection float64) {
	x := coord - l.peak
	if deflection = l.ramp.At(x).Deflection; deflection == 0 {
		return 0, 0
	}
	return l.rail.Stress(l.origin+x, deflection).Strain, deflection
}

func (in *Input) clipLaw(name string, c *params.Clip, terms force.Terms) (clipLaw, error) {
	a := &c.Arm
	taper := a.Tip
	if taper == 0 {
		taper = 1
	}
	l := clipLaw{name: name, arm: in.Mechanism.BodyIndex(a.Body), post: in.Mechanism.BodyIndex(c.Post.Body),
		at: c.Post.At, frame: parts.NewArmFrame(a), enter: 1}
	p := in.part(a.Body)
	if p == nil {
		return l, fmt.Errorf("body %q has no features", a.Body)
	}
	z0, z1, ok := armSpan(p, name)
	if !ok {
		return l, fmt.Errorf("body %q has no arm for it", a.Body)
	}
	top := a.Thickness*taper/2 + a.Height
	l.root = r2.Vec{X: -a.Length, Y: -top}
	law := force.Clip{
		Arm: force.Arm{Material: in.elastic(a.Body), Length: a.Length, Thickness: a.Thickness,
			TipThickness: a.Thickness * taper, Fillet: a.RootFillet, Width: z1 - z0},
		Hook: a.Height, Nose: a.Nose, Entry: a.Entry, Retention: a.Retention,
		Post: force.Post{Radius: c.Post.Radius}, Mu: in.rubs(a.Body, c.Post.Standard != "" && c.Post.Standard != "printed"),
	}
	// The post comes from the side on which it stands in the tucked pose.
	if l.place(in.Mechanism.Poses(nil, in.Mechanism.Start)).X > a.Length {
		law.Direction, l.enter = force.TipFirst, -1
		law.Entry, law.Retention = a.Retention, a.Entry
	}
	var err error
	l.law, err = law.Law(terms)
	return l, err
}

// place is the post's centre in the arm frame of the force laws.
func (l *clipLaw) place(poses []linkage.Pose) r2.Vec {
	d := r2.Sub(poses[l.arm].Inverse(poses[l.post].Apply(l.at)), l.frame.Peak)
	return r2.Sub(r2.Vec{X: r2.Dot(d, l.frame.X), Y: r2.Dot(d, l.frame.Y)}, l.root)
}

// touching reports whether the hook touches the post.
func (l *clipLaw) touching(p r2.Vec) bool {
	return p.Y > 0 && l.law.Overlap(p.Y) > 0 && l.law.At(force.Place{P: p}, force.Resting).Touching
}

// strain returns the arm's root strain with the post at p, sliding along dx.
func (l *clipLaw) strain(p r2.Vec, dx float64) (strain, deflection float64) {
	if p.Y <= 0 || l.law.Overlap(p.Y) <= 0 {
		return 0, 0
	}
	slip := force.Resting
	if dx*l.enter > 0 {
		slip = force.Entering
	} else if dx*l.enter < 0 {
		slip = force.Releasing
	}
	s := l.law.At(force.Place{P: p}, slip)
	if s.Locked {
		s = l.law.At(force.Place{P: p}, force.Resting)
	}
	if !s.Touching || s.Failed {
		return 0, 0
	}
	return s.Strain, math.Abs(s.Deflection)
}

// slotSpans returns the z ranges of the slot that a slot joint's pin runs in.
func (in *Input) slotSpans(s *params.SlotJoint) [][2]float64 {
	p := in.part(s.On)
	if p == nil {
		return nil
	}
	var out [][2]float64
	for i := range p.Body.Features {
		f := p.Body.Features[i].Slot
		if f == nil {
			continue
		}
		cut := in.Design.Joints.Get(f.Joint)
		if cut == nil || cut.Slot == nil || cut.Slot.On != s.On || !samePath(cut.Slot.Path, s.Path) {
			continue
		}
		l := f.Layer
		if l == nil {
			l = p.Body.Layer
		}
		if l != nil && l.To > l.From {
			out = append(out, [2]float64{l.From, l.To})
		}
	}
	return out
}

func samePath(a, b []params.PathPoint) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// depth is the whole length of z ranges.
func depth(spans [][2]float64) float64 {
	t := 0.0
	for _, s := range spans {
		t += s[1] - s[0]
	}
	return t
}

// stopFaces finds where the two bodies of a pin joint meet at its stops, at the
// first pose of the stroke that stands there. Stops without faces are reported
// by the check of stop faces and make a plain couple here.
func (in *Input) stopFaces() ([]stopFace, error) {
	const (
		reached = 1e-3 // rad
		met     = 0.1  // mm, as in the check of stop faces
	)
	var out []stopFace
	for i := range in.Design.Stops.Values {
		s := &in.Design.Stops.Values[i]
		k := in.Mechanism.JointIndex(s.Joint)
		if s.Angle == nil || k < 0 || in.Mechanism.Joints[k].Kind != linkage.Pin {
			continue
		}
		j := &in.Mechanism.Joints[k]
		a, b := in.part(in.Mechanism.Bodies[j.A].Name), in.part(in.Mechanism.Bodies[j.B].Name)
		if a == nil || b == nil {
			continue
		}
		for n, poses := range in.Cycle {
			if math.Abs(math.Remainder(in.coordinate(n, k)-*s.Angle, 2*math.Pi)) > reached {
				continue
			}
			g := solid.NewPair(a.Rigid, b.Rigid).Within(relative(poses[j.A], poses[j.B]), met)
			if g.Distance < met {
				out = append(out, stopFace{joint: k, angle: *s.Angle, body: j.A, at: r2.Vec{X: g.PA.X, Y: g.PA.Y}})
			}
			break
		}
	}
	return out, nil
}
