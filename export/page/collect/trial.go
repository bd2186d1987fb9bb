package collect

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tuckfinger/export/page"
	"tuckfinger/params"
)

// listed joins names as one says them: "a, b and c".
func listed(names []string) string {
	if n := len(names) - 1; n > 0 {
		return strings.Join(names[:n], ", ") + " and " + names[n]
	}
	return strings.Join(names, "")
}

// tools are what the steps of assembly take besides the parts.
func (in *Input) tools() []string {
	var out []string
	diameters, shafts := in.reamed()
	if len(diameters) > 0 {
		out = append(out, "hand reamers of "+listed(diameters)+" mm")
	}
	if shafts {
		out = append(out, "a round file")
	}
	has := func(yes func(kind string, press float64) bool) bool {
		for i := range in.Items {
			if yes(in.Items[i].Kind, in.Items[i].Press) {
				return true
			}
		}
		return false
	}
	for _, t := range []struct {
		what string
		yes  func(kind string, press float64) bool
	}{
		{"a vice or pin punch", func(k string, press float64) bool { return k == "pin" && press > 0 }},
		{"hexagon keys", func(k string, _ float64) bool { return k == "screw" }},
		{"spanners", func(k string, _ float64) bool { return k == "nut" }},
		{"a soldering iron for the inserts", func(k string, _ float64) bool { return k == "insert" }},
		{"glue", func(k string, press float64) bool { return k == "pad" || k == "detent" || k == "pin" && press == 0 }},
		{"abrasive paper", func(k string, _ float64) bool { return k == "pad" }},
	} {
		if has(t.yes) {
			out = append(out, t.what)
		}
	}
	return append(out, "a calliper", "a force gauge", "eye protection")
}

// reamed returns the diameters of pin holes that are reamed, mm, and whether
// there are holes for other things to be brought to size.
func (in *Input) reamed() (diameters []string, others bool) {
	for _, p := range in.Parts {
		for _, h := range p.Holes {
			switch {
			case !sized(h.Fit):
			case h.Joint == "":
				others = true
			default:
				if d := fmt.Sprintf("%.3g", h.Nominal); !slices.Contains(diameters, d) {
					diameters = append(diameters, d)
				}
			}
		}
	}
	return diameters, others
}

// sized reports whether a hole of a fit is brought to size after printing.
func sized(fit string) bool { return fit == "turning" || fit == "sliding" || fit == "location" }

// has reports whether any body has a feature of a kind.
func (in *Input) has(kind func(*params.Feature) bool) bool {
	for i := range in.Design.Bodies.Values {
		if slices.ContainsFunc(in.Design.Bodies.Values[i].Features, func(f params.Feature) bool { return kind(&f) }) {
			return true
		}
	}
	return false
}

// trials are how the finger is tried out, gently first.
func (in *Input) trials(out *page.Data) []page.Trial {
	d := in.Design
	var list []page.Trial
	say := func(format string, args ...any) {
		list = append(list, page.Trial{Text: fmt.Sprintf(format, args...)})
	}
	events := len(out.Events()) > 0
	by := "move the slide by hand"
	switch {
	case d.Drive.Screw != nil:
		by = "turn the lead screw by hand"
	case math.IsInf(in.BackDrive, 1):
		by = "uncouple the drive, which locks, and move the slide by hand"
	case in.BackDrive > 0:
		by += fmt.Sprintf(" (the drive gives way to %.2g N)", in.BackDrive)
	}
	watch := "Stop"
	if events {
		watch = "Watch for the events below; stop"
	}
	say("Without power: %s, out and back, ten times. %s where something binds and free it there.", by, watch)
	if events {
		list = append(list, page.Trial{Text: "Compare the order of what happens:", Events: true})
	}
	say("With power, without a load, at the lowest speed and current that move it, hands and eyes away: one cycle, then ten.")
	say("Measure the force on the slide along the stroke, as two columns, s in mm and force in N, in a CSV file; build with --measured lays it over the prediction in the report.")
	if p := d.Passive; p != nil {
		folds := ""
		if in.Folds != nil {
			folds = fmt.Sprintf("; what moves then: %s", listed(in.Folds))
		}
		say("Without power, with the slide at s = %.3g mm: press the %s slowly onto a flat floor, %.3g mm far%s.", p.From, p.Body, p.Descent, folds)
	}
	load, first := "what it is to lift", "lift"
	if d.Object != nil {
		load = fmt.Sprintf("the object (%.4g g)", d.Object.Mass)
	}
	if d.Grasp != nil {
		first = "grip, lift"
	}
	say("With %s, a hand's breadth over a soft surface: %s, keep it up for a minute, set it down. Then with twice the mass.", load, first)
	if d.Place != nil {
		say("In the place itself, without a load first: go in tucked, fold out, fold back, come out.")
	}
	var bend []string
	for _, n := range d.Clips.Names {
		bend = append(bend, "the arm of the clip "+n)
	}
	for _, n := range d.Ramps.Names {
		bend = append(bend, "the rail of the ramp "+n)
	}
	if len(bend) > 0 {
		say("After a hundred cycles look at %s: white marks or a lower force mean overstrain.", listed(bend))
	}
	say("After a hundred cycles feel for play in every joint: more than at first means wear.")
	return list
}
