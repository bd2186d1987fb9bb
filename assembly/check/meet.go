package check

import (
	"fmt"
	"math"

	"tuckfinger/assembly/linkage"
	"tuckfinger/parts"
	"tuckfinger/parts/profile"
)

// armRoom checks that a snap arm has room to give way: pushed aside by the
// whole height of its hook it must not touch its own body.
func armRoom(in *Input, out *Findings) error {
	const room = 0.1 // mm; common practice, no source
	for i, name := range in.Design.Clips.Names {
		arm := &in.Design.Clips.Values[i].Arm
		p := in.part(arm.Body)
		if p == nil {
			continue
		}
		bent, err := parts.DeflectedArm(arm, arm.Height)
		if err != nil {
			return err
		}
		z0, z1, ok := armSpan(p, name)
		if !ok {
			continue
		}
		field := profile.NewField(bent)
		gap := math.Inf(1)
		for _, s := range p.Rigid.Slabs() {
			if s.Z1 <= z0 || s.Z0 >= z1 {
				continue
			}
			g := profile.NewPair(profile.NewField(s.Region), field).Clearance(profile.Identity())
			gap = math.Min(gap, g.Distance)
		}
		if math.IsInf(gap, 1) {
			continue
		}
		out.atLeast(measure{subject: "clip " + name, value: gap, unit: "mm", def: room, source: "common practice, no source",
			change: "bodies." + arm.Body + ".features", more: true,
			detail: fmt.Sprintf("distance of the arm to its own body when the hook is pushed aside by its height, %.2f mm", arm.Height)})
	}
	return nil
}

func (in *Input) part(body string) *parts.Part {
	for _, p := range in.Parts {
		if p.Name == body {
			return p
		}
	}
	return nil
}

// armSpan returns the z range of a clip's arm.
func armSpan(p *parts.Part, clip string) (z0, z1 float64, ok bool) {
	for i := range p.Body.Features {
		if a := p.Body.Features[i].Arm; a != nil && a.Clip == clip {
			l := a.Layer
			if l == nil {
				l = p.Body.Layer
			}
			if l != nil {
				return l.From, l.To, true
			}
		}
	}
	return 0, 0, false
}

// stopFaces checks that a stop which the stroke reaches is really there: two
// faces that meet when the joint stands at the stop.
func stopFaces(in *Input, out *Findings) error {
	const (
		reached = 1e-3 // rad or mm
		open    = 0.1  // mm between faces that are meant to meet; common practice, no source
	)
	all, err := in.movers()
	if err != nil {
		return err
	}
	for i, name := range in.Design.Stops.Names {
		st := &in.Design.Stops.Values[i]
		k := in.Mechanism.JointIndex(st.Joint)
		want := 0.0
		if st.Angle != nil {
			want = *st.Angle
		} else if st.Dist != nil {
			want = *st.Dist
		}
		j := &in.Mechanism.Joints[k]
		gap, met := math.Inf(1), false
		for n, poses := range in.Cycle {
			if math.Abs(in.coordinate(n, k)-want) > reached {
				continue
			}
			met = true
			gap = math.Min(gap, in.bodyGap(all, j.A, j.B, poses))
			break // one pose at the stop tells
		}
		if !met {
			continue
		}
		if math.IsInf(gap, 1) {
			gap = farApart
		}
		out.atMost(measure{subject: "stop " + name, value: gap, unit: "mm", def: open, source: "common practice, no source",
			change: "stops." + name, detail: fmt.Sprintf("between %s and %s where the joint stands at the stop; without faces that meet there is no stop",
				in.Mechanism.Bodies[j.A].Name, in.Mechanism.Bodies[j.B].Name)})
	}
	return nil
}

// coordinate returns a pin joint's angle or a slide's travel at a pose of the
// cycle.
func (in *Input) coordinate(n, joint int) float64 {
	j := &in.Mechanism.Joints[joint]
	if j.Kind == linkage.Slide {
		return in.S[n]
	}
	return math.Remainder(in.Cycle[n][j.B].Theta-in.Cycle[n][j.A].Theta, 2*math.Pi)
}
