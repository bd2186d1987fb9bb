package check

import (
	"fmt"
	"math"

	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/params/finding"
)

// faces are those of all ramps and hooks.
func (in *Input) faces() ([]stroke.Face, error) {
	if in.touched == nil {
		list, err := in.Stroke.Model.Faces(in.Stroke)
		if err != nil {
			return nil, err
		}
		in.touched = list
	}
	return in.touched, nil
}

// faces compares the angle of every face of ramps and hooks, as pin or post find
// it, with that from which it locks; and tells what the radius leaves of the face
// and how little a steep printed angle buys.
func faces(in *Input, out *Findings) error {
	list, err := in.faces()
	if err != nil {
		return err
	}
	for _, f := range list {
		left := fmt.Sprintf("radius %.2f mm leaves %.2f of %.2f mm of the %.1f° face", f.Radius, f.Touch.Rise, f.Touch.Printed, degrees(f.Printed))
		if f.Touch.Rise == 0 {
			left = fmt.Sprintf("radius %.2f mm leaves nothing of the %.1f° face", f.Radius, degrees(f.Printed))
		}
		if !math.IsNaN(f.Force) {
			along := "slot"
			if f.Name == "entry" || f.Name == "retention" {
				along = "arm"
			}
			left += "; it " + passes(f.Force) + " along the " + along + ", where a wedge of the printed angle " + wouldPass(f.Wedge)
		}
		out.atMost(measure{subject: f.Element + " " + f.Name, value: degrees(f.Touch.Angle), unit: "deg", def: degrees(f.Limit),
			source: "a face locks from 90° less the friction angle on, for a hook less what its arm's rotation takes", change: f.Path, detail: left})
	}
	return nil
}

// passes says which force a face takes, wouldPass which it would take.
func passes(force float64) string {
	if math.IsInf(force, 1) {
		return "locks"
	}
	return fmt.Sprintf("takes %.2f N", force)
}

func wouldPass(force float64) string {
	if math.IsInf(force, 1) {
		return "would lock"
	}
	return fmt.Sprintf("would take %.2f N", force)
}

func degrees(rad float64) float64 { return rad * 180 / math.Pi }

// armDirection tells of arms that are turned the usual way.
func armDirection(in *Input, out *Findings) error {
	list, err := in.faces()
	if err != nil {
		return err
	}
	const source = "statics of a hook on a bending arm"
	for _, f := range list {
		path := "clips." + f.Element + ".arm.direction"
		switch {
		case f.Name != "retention":
		case f.Against:
			out.state(f.Element, finding.Warn, path, source,
				"the post comes to the hook's end before the arm's root: the tip's rotation and the off-axis force stiffen the snap and soften the release; turn the arm round, or let the post come from its root")
		default:
			out.state(f.Element, finding.Pass, path, source,
				"the post comes from the arm's root: the tip's rotation and the off-axis force ease the snap and harden the release")
		}
	}
	return nil
}

// jumps reports links that are thrown at a standing slide, with the energy that is
// set free.
func jumps(in *Input, out *Findings) error {
	const (
		thrown = 10.0 * math.Pi / 180 // rad; farther than a clip snaps. Common practice, no source
		far    = 2.0                  // mm, likewise
	)
	all := in.Stroke.Samples
	for i := range in.Stroke.Events {
		e := &in.Stroke.Events[i]
		if e.Kind != stroke.Jump {
			continue
		}
		free := 0.0
		if k := e.Sample; k > 0 && k < len(all) {
			free = all[k].Snap - all[k-1].Snap
		}
		size, limit, unit := math.Abs(e.Size), far, " mm"
		if k := in.Mechanism.JointIndex(e.Subject); k >= 0 && in.Mechanism.Joints[k].Kind == linkage.Pin {
			size, limit, unit = degrees(size), degrees(thrown), "°"
		}
		at := At{S: e.S, Back: e.Back, Case: caseStroke}
		detail := fmt.Sprintf("jumps by %.2f%s and sets %.2f N·mm free", size, unit, free)
		status := finding.Pass
		if size > limit {
			status = finding.Warn
			detail += fmt.Sprintf("; more than %.3g%s throws the link: store less, or let friction take more", limit, unit)
		}
		out.state(e.Subject+", "+at.String(), status, "joints."+e.Subject, byStroke, detail)
	}
	return nil
}
