package check

import (
	"fmt"
	"math"
	"strings"

	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/params/finding"
)

// guideShare is the largest part of the slide force that its guide may take.
// Common practice, no source.
const guideShare = 50.0 // %

// guideLoss measures what the friction of the drive's guide takes from the slide
// force, empty and gripping: a couple from a stop or a jaw makes a short guide the
// largest loss.
func guideLoss(in *Input, out *Findings) error {
	k := in.Mechanism.Drive
	if k < 0 || in.Mechanism.Joints[k].Kind != linkage.Slide {
		return nil
	}
	g, ok := in.Stroke.Model.Guide(k)
	if !ok {
		return nil
	}
	const least = 2.0 // N: below, a share says nothing
	cases, _ := in.cases()
	worst := map[string]float64{}
	detail := map[string]string{}
	for _, c := range cases {
		for i := c.from; i < c.to; i++ {
			s := &c.res.Samples[i]
			f := c.res.JointForce(i, k)
			push := s.Resistance()
			if push < least {
				continue
			}
			loss := g.Friction(f[0], f[1])
			share := 100 * loss / push
			if share > worst[c.name] {
				worst[c.name] = share
				detail[c.name] = fmt.Sprintf("%.2f N of %.2f N slide force at %s: a couple of %.0f N·mm on a guide of %.1f mm",
					loss, push, At{S: s.S, Back: s.Back, Case: c.name}, math.Abs(f[1]), g.Length)
			}
		}
	}
	name := in.Mechanism.Joints[k].Name
	for _, c := range []string{caseStroke, caseGrip} {
		if d, ok := detail[c]; ok {
			out.atMost(measure{subject: name + ", " + c, value: worst[c], unit: "%", def: guideShare, source: "two-point contact of a guide; half of the slide force: common practice, no source",
				change: "joints." + name + ".slide.length", more: true, detail: d})
		}
	}
	return nil
}

// loadPath tells what stops, screw and clips carry while the object is gripped. A
// clip is made to hold a link back, not to bear the clamp.
func loadPath(in *Input, out *Findings) error {
	if in.Grasp == nil || len(in.Grasp.Carried) == 0 {
		return nil
	}
	const share = 0.5 // of the force that releases the clip; common practice, no source
	var list []string
	for _, c := range in.Grasp.Carried {
		unit := "N"
		if c.Couple {
			unit = "N·mm"
		}
		list = append(list, fmt.Sprintf("%s %s %.2f %s", c.Kind, c.Name, c.Load, unit))
	}
	detail := "carried while gripping: " + strings.Join(list, ", ")
	out.state("grip", finding.Pass, "grasp.slide_force", byStroke, detail)
	faces, err := in.faces()
	if err != nil {
		return err
	}
	for _, c := range in.Grasp.Carried {
		if c.Kind != "clip" || c.Release <= 0 {
			continue
		}
		for _, f := range faces {
			if f.Element != c.Name || !f.Releases || math.IsNaN(f.Force) || math.IsInf(f.Force, 1) {
				continue
			}
			out.atMost(measure{subject: "clip " + c.Name, value: c.Release, unit: "N", def: share * f.Force, source: "half of the clip's release force; common practice, no source",
				change: "grasp.slide_force", detail: "pushes the post towards release; " + detail})
		}
	}
	return nil
}

// holding tells what holds the slide, and with it the grip, when the motor is off.
func holding(in *Input, out *Findings) error {
	d := in.Drive
	const source = "statics of the released drive"
	if math.IsInf(d.BackDrive, 1) {
		out.state("off", finding.Pass, "drive", source, "the drive locks itself: the finger stays where it is, and grips on, without power")
		return nil
	}
	// What pushes the slide back: the stroke's stored energy, or the grip.
	push, at := 0.0, "on the stroke"
	for i := range in.Stroke.Samples {
		if s := &in.Stroke.Samples[i]; -s.Resistance() > push {
			push, at = -s.Resistance(), At{S: s.S, Back: s.Back, Case: caseStroke}.String()
		}
	}
	if g := in.Grasp; g != nil && g.Recoil > push {
		push, at = g.Recoil, "while gripping"
	}
	detail := fmt.Sprintf("without power the slide gives way to %.2f N; up to %.2f N push on it %s", d.BackDrive, push, at)
	if push > d.BackDrive {
		detail += ": the finger needs power to stay and to keep its grip"
	}
	if push == 0 {
		out.state("off", finding.Pass, "drive", source, detail)
		return nil
	}
	out.atLeast(measure{subject: "off", value: d.BackDrive / push, unit: "1", limit: "holding", def: 0,
		source: source + "; a finger that must hold without power asks for 1 under limits.holding", change: in.motorPath(), more: true, detail: detail})
	return nil
}

// takeover tells whether the drive finishes the switch from the folded state.
func takeover(p *stroke.PassiveResult, out *Findings) {
	t := p.Takeover
	if t == nil {
		return
	}
	last := t.Samples[len(t.Samples)-1].S
	if h := t.Halt(false); h != nil {
		out.state("takeover", finding.Fail, h.Change, byStroke, "after the fold "+h.Error())
		return
	}
	out.state("takeover", finding.Pass, "passive.descent", byStroke, fmt.Sprintf("from the folded state the drive goes on to s = %.2f mm with up to %.2f N", last, peakOut(t)))
}

func peakOut(r *stroke.Result) float64 { out, _ := r.Peak(); return out }
