package check

import (
	"fmt"
	"math"

	"tuckfinger/params/finding"
	"tuckfinger/parts"
)

// sigmas is how many standard deviations of scatter a fit must bear: 95 % of
// copies on either side. Common practice, no source.
const sigmas = 2.0

// holes compares the modelled diameter of every hole with what prints.
func holes(in *Input, out *Findings) error {
	for _, p := range in.Parts {
		for _, h := range p.Holes {
			out.atLeast(measure{
				subject: p.Name + " " + holeName(h), value: h.Modelled, unit: "mm",
				limit: "hole", def: in.printer.Minimum.Hole, source: in.printer.Minimum.Source,
				change: in.bore(h), more: true,
				detail: fmt.Sprintf("nominal %.2f mm, clearance %+.2f mm, modelled %.2f mm", h.Nominal, h.Clearance, h.Modelled),
			})
		}
	}
	return nil
}

func holeName(h parts.Hole) string {
	if h.Joint != "" {
		return "hole " + h.Joint
	}
	return fmt.Sprintf("hole at (%.1f, %.1f)", h.At.X, h.At.Y)
}

// pinDeviation returns the smallest and largest deviation of a joint's pin from
// its nominal diameter, mm, and its source. Printed pins scatter as outlines.
func (in *Input) pinDeviation(joint string) (low, high float64, source string, err error) {
	standard, class, diameter := "printed", "m6", 0.0
	if j := in.Design.Joints.Get(joint); j != nil && j.Pin != nil {
		standard, class, diameter = j.Pin.Standard, j.Pin.Class, j.Pin.Diameter
	} else if j != nil && j.Slot != nil {
		standard, diameter = j.Slot.Standard, parts.SlotPin(in.Design, j.Slot)
	} else if c := in.Design.Clips.Get(joint); c != nil {
		standard, diameter = c.Post.Standard, 2*c.Post.Radius
	}
	if standard == "printed" {
		s := sigmas * in.printer.Scatter.Outline
		return -s, s, in.printer.Scatter.Source, nil
	}
	pin, err := in.Design.Lib.Pin(standard, diameter)
	if err != nil {
		return 0, 0, "", err
	}
	least, most, err := pin.Limits(class)
	return least - diameter, most - diameter, "ISO 286-1 " + class, err
}

// play returns the smallest and largest play of a hole on its pin, mm: fit
// clearance, pin tolerance and 2σ of the hole's scatter.
func (in *Input) play(h parts.Hole) (least, most float64, source string, err error) {
	low, high, source, err := in.pinDeviation(h.Joint)
	s := sigmas * in.printer.Scatter.Hole
	return h.Clearance - high - s, h.Clearance - low + s, source, err
}

// pinPlay checks that pins stay free, and not too loose, in every copy wherever
// they are not pressed in.
func pinPlay(in *Input, out *Findings) error {
	const loose = 0.5 // mm diametral; common practice, no source
	free := func(subject, path string, least, most, nominal float64, source string) {
		detail := fmt.Sprintf("nominal play %.3f mm, %.3f to %.3f mm over pin tolerance (%s) and ±2σ of the print", nominal, least, most, source)
		out.atLeast(measure{subject: subject, value: least, unit: "mm", limit: "running play", def: 0,
			source: "a pin must turn in every copy", change: path, more: true, warn: 0.02, detail: detail})
		out.atMost(measure{subject: subject + ", loosest", value: most, unit: "mm", limit: "loose play", def: loose,
			source: "common practice, no source", change: path, detail: detail})
	}
	for _, p := range in.Parts {
		for _, h := range p.Holes {
			if h.Joint == "" || h.Fit == "press" || in.Design.Clips.Get(h.Joint) != nil {
				continue
			}
			least, most, source, err := in.play(h)
			if err != nil {
				return err
			}
			free(p.Name+" on pin "+h.Joint, in.fitOf(p.Name, h), least, most, h.Clearance, source)
		}
	}
	for i, name := range in.Design.Joints.Names {
		s := in.Design.Joints.Values[i].Slot
		if s == nil {
			continue
		}
		pin := name
		if s.Shares != "" {
			pin = s.Shares
		}
		low, high, source, err := in.pinDeviation(pin)
		if err != nil {
			return err
		}
		sigma := in.printer.Scatter.Gap
		if v := in.scatterOf("joints." + name + ".slot.play"); v > 0 {
			sigma = v
		}
		free("slot "+name, "joints."+name+".slot.play", s.Play-high-sigmas*sigma, s.Play-low+sigmas*sigma, s.Play, source)
	}
	return nil
}

// fitOf is the path of the fit of a part's hole.
func (in *Input) fitOf(body string, h parts.Hole) string {
	if o := in.Design.Origin; o != nil {
		for _, path := range []string{h.Path + ".fit", "joints." + h.Joint + ".pin.fits." + body} {
			if _, given := o.Pos[path]; given {
				return path
			}
		}
	}
	return h.Path
}

// scatterOf returns the standard deviation that the file gives for the one
// dimension a value is computed from, or 0.
func (in *Input) scatterOf(path string) float64 {
	if in.Design.Origin == nil {
		return 0
	}
	uses := in.Design.Origin.Uses[path]
	if len(uses) != 1 {
		return 0
	}
	d := in.Design.Dimensions.Get(uses[0])
	if d == nil || d.Vary == nil {
		return 0
	}
	if d.Vary.Kind == "uniform" {
		return d.Vary.Spread / math.Sqrt(3)
	}
	return d.Vary.Spread
}

// pressFit checks that every press fit holds in every copy: the least
// interference over pin tolerance and scatter.
func pressFit(in *Input, out *Findings) error {
	for _, p := range in.Parts {
		for _, h := range p.Holes {
			if h.Joint == "" || h.Fit != "press" {
				continue
			}
			least, most, source, err := in.play(h)
			if err != nil {
				return err
			}
			out.atLeast(measure{subject: p.Name + " on pin " + h.Joint, value: -most, unit: "mm", limit: "press", def: 0,
				source: "a press fit must not be loose in any copy", change: "process.printer", more: true,
				warn: 0.01, detail: fmt.Sprintf("interference %.3f to %.3f mm over pin tolerance (%s) and ±2σ of the print", -most, -least, source)})
		}
	}
	return nil
}

// retention checks that something keeps every pin from walking out: press fits
// of at least a diameter in all.
func retention(in *Input, out *Findings) error {
	for _, it := range in.Items {
		if it.Kind != "pin" {
			continue
		}
		out.atLeast(measure{subject: "pin " + it.Where, value: it.Press / (2 * it.Radius), unit: "1", limit: "retention", def: 1,
			source: "common practice, no source", change: in.bore(parts.Hole{Joint: it.Where, Path: it.Path}),
			detail: fmt.Sprintf("%.2f mm of press fit on a %.2f mm pin", it.Press, 2*it.Radius)})
	}
	return nil
}

// pinLength reports pins and screws for which no standard length fits.
func pinLength(in *Input, out *Findings) error {
	for _, it := range in.Items {
		change := it.Path
		if it.Kind == "pin" {
			change = in.bore(parts.Hole{Joint: it.Where, Path: it.Path})
		}
		switch {
		case it.Kind != "pin" && it.Kind != "screw":
		case it.Problem != "":
			out.state(it.Kind+" "+it.Where, finding.Fail, change, it.Standard, it.Problem)
		default:
			out.state(it.Kind+" "+it.Where, finding.Pass, change, it.Standard, it.What)
		}
	}
	return nil
}
