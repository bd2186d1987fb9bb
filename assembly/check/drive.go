package check

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params/finding"
	"tuckfinger/parts/profile"
)

// motorMargin is the rated torque or force over the largest that the stroke
// asks for. Common practice, no source.
const motorMargin = 1.5

// motor compares the drive with what the stroke, empty and gripping, asks of it.
func motor(in *Input, out *Findings) error {
	change := in.motorPath()
	d := in.Drive
	unit, what := "N·mm", "torque"
	if d.Linear {
		unit, what = "N", "force"
	}
	if d.Peak > 0 {
		out.atLeast(measure{subject: "stroke", value: d.Rated / d.Peak, unit: "1", limit: "motor", def: motorMargin,
			source: "common practice, no source", change: change, more: true,
			detail: fmt.Sprintf("rated %s %.4g %s, largest needed %.4g %s", what, d.Rated, unit, d.Peak, unit)})
	}
	// A slide that springs or weights push on has to be held back.
	if d.Brake > 0 {
		out.atLeast(measure{subject: "braking", value: d.Rated / d.Brake, unit: "1", limit: "motor", def: motorMargin,
			source: "common practice, no source", change: change, more: true,
			detail: fmt.Sprintf("rated %s %.4g %s, largest that holds the slide back %.4g %s", what, d.Rated, unit, d.Brake, unit)})
	}
	speed, free := in.Design.Drive.Speed, d.FreeSpeed
	if !d.Linear {
		speed = d.TurnSpeed
	}
	const share = 0.8 // of the speed without load; common practice, no source
	su := "mm/s"
	if !d.Linear {
		su = "turns/s"
	}
	out.atMost(measure{subject: "speed", value: 100 * speed / free, unit: "%", def: 100 * share, source: "common practice, no source",
		change: "drive.speed", detail: fmt.Sprintf("%.3g %s of %.3g %s without load", speed, su, free, su)})
	if g := in.Design.Grasp; g != nil {
		out.atLeast(measure{subject: "gripping", value: d.SlideForce, unit: "N", def: g.Force, source: "this finger file: grasp.slide_force",
			change: change, more: true, detail: "slide force that the rated motor gives"})
	}
	return nil
}

// motorPath is the path of the motor's name.
func (in *Input) motorPath() string {
	switch d := &in.Design.Drive; {
	case d.Screw != nil:
		return "drive.screw.motor"
	case d.Rack != nil:
		return "drive.rack.motor"
	default:
		return "drive.direct.motor"
	}
}

// grasp checks opening and lift capacity against the object.
func grasp(in *Input, out *Findings) error {
	g, o := in.Grasp, in.Design.Object
	if g == nil {
		if in.Design.Grasp != nil {
			out.state("pad force", finding.Fail, "drive.travel", byStroke, "not computed: "+in.Stroke.Halted().Error())
		}
		return nil
	}
	if g.Widest == 0 {
		out.state("opening", finding.Fail, "drive.travel", byStroke, "the pads do not face each other after the last ramp, clip and hold: there is no usable opening")
		return nil
	}
	usable := fmt.Sprintf("usable opening %.2f to %.2f mm over %.2f mm of slide, after the last ramp, clip and hold", g.Narrowest, g.Widest, g.Span)
	if o == nil {
		out.state("opening", finding.Pass, "object", "no object is given", usable)
		return nil
	}
	out.atMost(measure{subject: "object under the widest opening", value: o.Height, unit: "mm", def: g.Widest, source: byStroke,
		change: "object.height", detail: usable})
	out.atLeast(measure{subject: "object over the narrowest opening", value: o.Height, unit: "mm", def: g.Narrowest, source: byStroke,
		change: "object.height", more: true, detail: usable})
	if math.IsNaN(g.Loaded) {
		out.state("pad force", finding.Fail, "grasp.slide_force", byStroke, "the slide force is not reached before the end of the travel: the pads do not close on the object")
		return nil
	}
	out.atLeast(measure{subject: "lift", value: g.Capacity / o.Mass, unit: "1", limit: "lift", def: 1, source: "friction grip with the grasp's safety factor",
		change: "grasp.slide_force", more: true,
		detail: fmt.Sprintf("pads press with %.2f N (without friction in the chain %.2f N) and hold %.0f g with a safety factor of %.3g", g.Loaded, g.Frictionless, g.Capacity, in.Design.Grasp.Safety)})
	return nil
}

// lowest is the height of the lowest point of a body's part on the way out at s.
func (in *Input) lowest(body string, s float64) float64 {
	k := 0
	for k+1 < in.Turn && in.S[k+1] <= s {
		k++
	}
	pose := in.Cycle[k][in.Mechanism.BodyIndex(body)]
	low := math.Inf(1)
	for _, p := range in.Parts {
		if p.Name != body {
			continue
		}
		for _, slab := range p.Solid.Slabs() {
			if box, ok := slab.Region.Transform(profile.Rigid(pose.Theta, r2.Vec{X: pose.X, Y: pose.Y})).Box(); ok {
				low = math.Min(low, box.Min.Y)
			}
		}
	}
	return low
}

// passive checks the fold by pressing on a floor, where a file asks for it.
func passive(in *Input, out *Findings) error {
	p := in.Passive
	if p == nil {
		if in.Design.Passive != nil {
			out.state("fold", finding.Fail, "drive.travel", byStroke, "not computed: "+in.Stroke.Halted().Error())
		}
		return nil
	}
	if math.IsInf(p.BackDrive, 1) {
		detail, change := "the drive locks itself and can't be turned back", in.motorPath()
		if s := in.Design.Drive.Screw; s != nil {
			if lead, err := in.Design.Lib.LeadScrew(s.Screw); err == nil {
				detail = fmt.Sprintf("the screw locks itself at a friction coefficient of %.3f; it turns back below %.3f", s.Friction, lead.BackdriveFriction())
				change = "drive.screw.screw"
			}
		}
		out.state("back-drive", finding.Fail, change, "screw: self-locking where friction angle exceeds lead angle", detail)
		return nil
	}
	moved := strings.Join(p.Moved, ", ")
	if moved == "" {
		moved = "nothing"
	}
	body := in.Design.Passive.Body
	switch {
	case !p.Met:
		out.state("start", finding.Fail, "passive.floor", byStroke,
			fmt.Sprintf("the floor at y = %.2f mm does not meet the %s within %.4g mm of descent: its lowest point stands at y = %.2f mm when the drive is released at s = %.2f mm",
				in.Design.Passive.Floor, body, in.Design.Passive.Descent, in.lowest(body, in.Design.Passive.From), in.Design.Passive.From))
		return nil
	case math.IsNaN(p.Reach):
		out.state("start", finding.Fail, "passive.body", "contact must lie farther out than friction times height (x > μ·h)",
			fmt.Sprintf("the %s is not pinned to the spine, so that no floor can fold it about a fixed pivot", body))
	case !p.Starts:
		out.state("start", finding.Fail, "passive.body", "contact must lie farther out than friction times height (x > μ·h)",
			fmt.Sprintf("the floor does not fold the %s: the contact lies %.2f mm short of where it would", body, -p.Reach))
	case p.Jammed:
		out.state("fold", finding.Fail, "passive.descent", byStroke, "the fold jams; moved: "+moved)
	default:
		out.state("fold", finding.Pass, "passive.descent", byStroke, fmt.Sprintf("moved: %s; the drive is turned back with at least %.2f N", moved, p.BackDrive))
		takeover(p, out)
	}
	if p.Lost != "" {
		out.atMost(measure{subject: "allowed rise", value: in.Design.Passive.Descent, unit: "mm", def: p.Rise, source: "stroke: past it " + p.Lost + " gives way and the order is lost",
			change: "passive.descent", detail: fmt.Sprintf("%s gives way after %.2f mm of rise from first contact", p.Lost, p.Rise)})
	}
	return nil
}
