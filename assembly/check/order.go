package check

import (
	"fmt"
	"math"

	"tuckfinger/assembly/stroke"
	"tuckfinger/params"
	"tuckfinger/params/finding"
)

// order judges the order rules: the held element's force over the force that
// drives the others, at the same instants.
func order(in *Input, out *Findings) error {
	for _, r := range in.Rules {
		subject := fmt.Sprintf("%s (%s)", r.Name, r.Rule.Stroke)
		path := "order." + r.Name
		forces := fmt.Sprintf("%s, %s, at s = %.2f mm", heldBy(&r), drivenBy(&r), r.At)
		if r.Element == "" {
			forces = heldBy(&r) + "; nothing that the rule names moves against it"
		}
		if r.Note != "" {
			forces += "; " + r.Note
		}
		if r.Holding == 0 && r.Driving == 0 && r.Note != "" {
			forces = r.Note // there are no two forces to compare
		}
		switch {
		case r.Verdict == stroke.Unclear:
			out.state(subject, finding.Fail, path, "two elements at equal force are a tie, not an order", "undetermined: "+forces)
		case math.IsInf(r.Holding, 1) || math.IsInf(r.Margin, 1):
			out.state(subject, finding.Pass, path, "this finger file", forces)
		default:
			change := holderPath(in, r.Rule)
			if r.Holding == 0 && r.Driving == 0 { // stronger is no use to what does not come to hold
				change = holderGroup(in, r.Rule.Holds)
			}
			out.atLeast(measure{subject: subject, value: r.Margin, unit: "1", def: r.Rule.Margin, source: "this finger file",
				change: change, more: true, detail: forces})
		}
	}
	for _, e := range in.Stroke.Events {
		if e.Kind == stroke.Undetermined {
			out.state(e.Subject+" / "+e.Other, finding.Warn, "order", "two elements at equal force are a tie, not an order",
				fmt.Sprintf("which of them moves first is undetermined at s = %.2f mm", e.S))
		}
	}
	return nil
}

// heldBy and drivenBy say in words what both forces of a rule are; one that is
// infinite is of what does not give way at all.
func heldBy(r *stroke.RuleResult) string {
	if math.IsInf(r.Holding, 1) {
		return r.Rule.Holds + " does not give way"
	}
	return fmt.Sprintf("%s holds up to %.2f N", r.Rule.Holds, r.Holding)
}

func drivenBy(r *stroke.RuleResult) string {
	if math.IsInf(r.Driving, 1) {
		return r.Element + " does not move"
	}
	return fmt.Sprintf("%s needs %.2f N", r.Element, r.Driving)
}

// holderGroup is the section of an element that order rules may name.
func holderGroup(in *Input, name string) string {
	switch {
	case in.Design.Ramps.Get(name) != nil:
		return "ramps." + name
	case in.Design.Clips.Get(name) != nil:
		return "clips." + name
	case in.Design.Holds.Get(name) != nil:
		return "holds." + name
	}
	return "joints." + name
}

// holderPath is what to raise so that the element that a rule holds by holds more.
func holderPath(in *Input, rule params.Rule) string {
	name := rule.Holds
	switch {
	case in.Design.Ramps.Get(name) != nil:
		return "ramps." + name + ".rail.thickness"
	case in.Design.Clips.Get(name) != nil:
		// A post that comes to the hook meets the entry face.
		for i := range in.Stroke.Events {
			if e := &in.Stroke.Events[i]; e.Subject == name && e.Back == (rule.Stroke == "back") && e.Kind == stroke.ClipSnapped {
				return "clips." + name + ".arm.entry"
			}
		}
		return "clips." + name + ".arm.retention"
	case in.Design.Holds.Get(name) != nil:
		return "holds." + name + ".torque"
	}
	return "joints." + name
}
