package check

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/linkage"
	"tuckfinger/params"
	"tuckfinger/params/finding"
	"tuckfinger/parts/solid"
)

const gravity = force.Gravity

// hook is a snap arm's hook and the post that it catches.
type hook struct {
	arm, post int     // bodies
	peak, at  r2.Vec  // hook's peak and post's centre, each in its body's frame
	reach     float64 // of the hook and a post on its foot, mm from the peak
}

// hooks lists those of all clips.
func (in *Input) hooks() []hook {
	var out []hook
	for i := range in.Design.Clips.Values {
		c := &in.Design.Clips.Values[i]
		a := &c.Arm
		foot := max(params.Flank(a.Height, a.Nose, a.Entry), params.Flank(a.Height, a.Nose, a.Retention))
		out = append(out, hook{
			arm: in.Mechanism.BodyIndex(a.Body), post: in.Mechanism.BodyIndex(c.Post.Body),
			peak: a.Hook, at: c.Post.At,
			reach: c.Post.Radius + math.Hypot(foot, a.Height),
		})
	}
	return out
}

// near reports whether the post may touch the hook: where it does not, the
// statics finds no force there.
func (h *hook) near(poses []linkage.Pose) bool {
	return r2.Norm(r2.Sub(poses[h.arm].Apply(h.peak), poses[h.post].Apply(h.at))) < h.reach
}

// strained is the strain check of all arms or all rails: the largest over the
// stroke against what the plastic bears repeatedly. Both bend in the plane of
// their layers, whichever way a body is drawn.
func strained(kind string) Run {
	return func(in *Input, out *Findings) error {
		if in.Stroke == nil || in.Stroke.Model == nil {
			return nil
		}
		for _, s := range in.Stroke.Model.Strains(in.Stroke) {
			body, change := "", ""
			switch {
			case s.Kind == "ramp" && kind == nRailStrain:
				body = in.Design.Joints.Get(in.Design.Ramps.Get(s.Element).Slot).Slot.On
				change = "ramps." + s.Element + ".rail.thickness"
			case s.Kind == "clip" && kind == nArmStrain:
				body = in.Design.Clips.Get(s.Element).Arm.Body
				change = "clips." + s.Element + ".arm.thickness"
			default:
				continue
			}
			m := in.Design.Material(body)
			subject, source := s.Kind+" "+s.Element, m.Name+", repeatedly in the layers: "+m.Strain.Source
			if s.Value == 0 {
				out.state(subject, finding.Pass, change, source, "is not bent over the stroke")
				continue
			}
			out.atMost(measure{subject: subject, value: 100 * s.Value, unit: "%", limit: kind, def: 100 * m.Strain.Allowable(true, false),
				source: source, change: change, detail: "at " + At{S: s.S, Back: s.Back, Case: caseStroke}.String()})
		}
		return nil
	}
}

func (in *Input) rampOn(slot string) bool {
	for i := range in.Design.Ramps.Values {
		if in.Design.Ramps.Values[i].Slot == slot {
			return true
		}
	}
	return false
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
