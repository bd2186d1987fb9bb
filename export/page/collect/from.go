package collect

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/assembly"
	"tuckfinger/assembly/stroke"
	"tuckfinger/export/page"
	"tuckfinger/params/finding"
)

// From takes what an analysis knows. What it does not know is left for the caller:
// Tool, File, Source, Bill, Plates, Measured, Meshes.
func From(a *assembly.Analysis) *Input {
	in := &Input{Design: a.Design, Parts: a.Parts, Items: a.Items, Mechanism: a.Mechanism, Stroke: a.Stroke, Findings: a.Findings}
	for _, p := range a.Prints {
		box := p.Mesh.Box()
		in.Prints = append(in.Prints, Print{Mass: p.Mass, Size: r3.Sub(box.Max, box.Min)})
	}
	for i := range a.Rules {
		in.Rules = append(in.Rules, rule(&a.Rules[i]))
	}
	in.Sheets = append(in.Sheets, driveSheet(a)...)
	in.Sheets = append(in.Sheets, graspSheet(a)...)
	in.Sheets = append(in.Sheets, passiveSheet(a)...)
	in.Sheets = append(in.Sheets, placeSheet(a)...)
	if a.Drive != nil {
		in.BackDrive = a.Drive.BackDrive
	}
	if a.Passive != nil {
		in.Folds = a.Passive.Moved
	}
	if a.Place != nil {
		in.Swept = a.Place.Swept
	}
	return in
}

func rule(r *stroke.RuleResult) page.Rule {
	out := page.Rule{Name: r.Name, Way: r.Rule.Stroke, Holds: r.Rule.Holds, While: strings.Join(r.Rule.While, ", "), Want: r.Rule.Margin,
		Holding: r.Holding, Driving: r.Driving, Margin: r.Margin, S: r.At, Element: r.Element, Verdict: string(r.Verdict), Note: r.Note, Why: r.Rule.Note}
	out.Status = finding.Pass
	if r.Verdict != stroke.Kept || r.Margin < r.Rule.Margin {
		out.Status = finding.Fail
	}
	return out
}

// value formats a number with its unit, and what has none in words.
func value(v float64, format, unit, none string) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return none
	}
	return fmt.Sprintf(format, v) + " " + unit
}

func driveSheet(a *assembly.Analysis) []page.Sheet {
	d := a.Drive
	if d == nil {
		return nil
	}
	unit := "N·mm"
	if d.Linear {
		unit = "N"
	}
	return []page.Sheet{{Title: "Drive", Rows: [][]string{
		{"largest load", fmt.Sprintf("%.1f %s", d.Peak, unit), fmt.Sprintf("rated %.1f, stalls at %.1f %s", d.Rated, d.Stall, unit)},
		{"mean load", fmt.Sprintf("%.1f %s", d.Mean, unit), fmt.Sprintf("largest power %.2f W", d.Power)},
		{"slide force at the rated load", fmt.Sprintf("%.0f N", d.SlideForce), ""},
		{"slide force that drives it back", value(d.BackDrive, "%.1f", "N", "none"), backDrive(d.BackDrive)},
		{"a whole cycle", fmt.Sprintf("%.1f s", d.Time), ""},
	}}}
}

func backDrive(v float64) string {
	if math.IsInf(v, 1) {
		return "it locks itself: the finger stays where it is without power"
	}
	return "released, it gives way to this force"
}

func graspSheet(a *assembly.Analysis) []page.Sheet {
	g := a.Grasp
	if g == nil {
		return nil
	}
	rows := [][]string{
		{"usable opening", fmt.Sprintf("%.1f to %.1f mm", g.Narrowest, g.Widest), fmt.Sprintf("over the last %.1f mm of slide travel", g.Span)},
	}
	if g.Found {
		rows = append(rows, []string{"pads meet the object at", fmt.Sprintf("s = %.2f mm", g.At.S), fmt.Sprintf("pads tilted by %.1f°", g.At.Tilt*180/math.Pi)})
	}
	rows = append(rows,
		[]string{"pad force without friction", value(g.Frictionless, "%.1f", "N", "not reached"), fmt.Sprintf("at %.0f N on the slide", a.Design.Grasp.Force)},
		[]string{"pad force with friction", value(g.Loaded, "%.1f", "N", "not reached within the travel"), ""})
	if !math.IsNaN(g.Loaded) {
		rows = append(rows, []string{"lifts", value(g.Capacity, "%.0f", "g", "nothing"), fmt.Sprintf("safety factor %.3g against slipping included", a.Design.Grasp.Safety)})
	}
	return []page.Sheet{{Title: "Grasp", Rows: rows}}
}

func passiveSheet(a *assembly.Analysis) []page.Sheet {
	p := a.Passive
	if p == nil {
		return nil
	}
	starts := "does not start"
	if p.Starts {
		starts = "starts"
	}
	moved := "nothing"
	if len(p.Moved) > 0 {
		moved = strings.Join(p.Moved, ", ")
	}
	rows := [][]string{
		{"fold on the floor", starts, "contact " + value(p.Reach, "%.1f", "mm", "anywhere") + " beyond friction times height"},
		{"moved", moved, ""},
		{"allowed rise of the floor", fmt.Sprintf("%.1f mm", p.Rise), lost(p.Lost)},
	}
	if p.Jammed {
		rows = append(rows, []string{"jams", "yes", "the floor's force passed its limit"})
	}
	return []page.Sheet{{Title: "Passive fold", Rows: rows}}
}

func lost(what string) string {
	if what == "" {
		return "nothing gives way out of order"
	}
	return "then " + what + " gives way and the order is lost"
}

func placeSheet(a *assembly.Analysis) []page.Sheet {
	p := a.Place
	if p == nil {
		return nil
	}
	rows := [][]string{
		{"blade in the gap", fmt.Sprintf("%.1f mm", p.Blade), fmt.Sprintf("of %.1f mm", a.Design.Place.Gap)},
		{"insertion below the mouth", fmt.Sprintf("%.1f mm", p.Insertion), fmt.Sprintf("deepest over the cycle %.1f mm", p.Deepest)},
		{"free height wanted above the mouth", fmt.Sprintf("%.0f mm", p.Free), ""},
		{"area swept by the finger", fmt.Sprintf("%.0f mm²", p.Swept.Area()), ""},
	}
	for i, m := range p.Moves {
		by := "arm"
		if m.Axis == "s" {
			by = "slide"
		}
		rows = append(rows, []string{fmt.Sprintf("move %d, by the %s", i+1, by), strings.Replace(fmt.Sprintf("%.1f mm along %s", m.Distance, m.Axis), "-", "−", 1), m.What})
	}
	return []page.Sheet{{Title: "Place", Rows: rows}}
}
