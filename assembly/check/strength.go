package check

import (
	"errors"
	"fmt"
	"math"

	"tuckfinger/assembly/stroke"
	"tuckfinger/params/finding"
)

// Limits of strength. Low ends of the material tables are compared with mean
// stresses, so that the factor covers scatter of the print, fast loads and some
// creep; plastics have no endurance limit that could be quoted.
const (
	leastSafety = 2.0 // common practice, no source
	// yieldPeak is the peak pressure of a line contact over the yield stress at
	// which the material below it starts to yield: Johnson, Contact Mechanics
	// (1985), section 6.1 (Tresca).
	yieldPeak = 1.67
	// A wall that yields below its pin only beds it in; at half of that factor
	// the whole contact sinks. Common practice, no source.
	leastWall, softWall = 0.5, 1.0
	// The edge of a hole, backed on all sides, may just reach its strength: the
	// hole as a whole then bears half as much again. Common practice, no source.
	leastTilt = 1.0
)

// At says when something happens.
type At struct {
	S    float64 // slide coordinate, mm
	Back bool    // on the way back
	Case string  // "stroke" or "grip"
}

func (a At) String() string {
	half := "out"
	if a.Back {
		half = "back"
	}
	if a.Case == caseGrip {
		return fmt.Sprintf("gripping at s = %.2f mm", a.S)
	}
	return fmt.Sprintf("s = %.2f mm %s", a.S, half)
}

const (
	caseStroke = "stroke"
	caseGrip   = "grip"
)

// Strength is one strength at the worst instant of the cycle and of the grip.
type Strength struct {
	Check   string  // "pin shear", "pin bending", "bearing", "pin tilt", "tear-out", "net section", "link stress" or "slot wall"
	Subject string  // which pin, hole, link or slot
	Stress  float64 // MPa, +Inf where nothing is left to carry the load
	Allowed float64 // MPa
	Force   float64 // N behind it
	Safety  float64 // Allowed/Stress
	At      At
	Change  string // path in the file
	Source  string // of Allowed
	Note    string
}

// cycleStress is everything about strength that is computed once.
type cycleStress struct {
	list []Strength
	lack float64 // N left over by the statics of any body
	grip error   // why the grip could not be computed
}

// loadCase is a stretch of a computed stroke.
type loadCase struct {
	name  string
	res   *stroke.Result
	from  int
	to    int // past the last
	scale float64
}

// Strengths computes every strength at its worst instant, in a fixed order:
// pins, holes, links, slots.
func Strengths(in *Input) ([]Strength, error) {
	c, err := in.stresses()
	if c == nil || err != nil {
		return nil, err
	}
	return c.list, nil
}

// cases lists the stroke and, with a grasp and an object, the grip up to the
// slide force given for it.
func (in *Input) cases() (cases []loadCase, grip error) {
	cases = append(cases, loadCase{caseStroke, in.Stroke, 0, len(in.Stroke.Samples), 1})
	d := in.Design
	if d.Grasp == nil || d.Object == nil {
		return cases, nil
	}
	opts := in.Stroke.Model.Options
	opts.Object = true
	model, err := stroke.With(in.Mechanism, d, opts)
	if err != nil {
		return cases, err
	}
	res, err := model.Run()
	met := res.Find(stroke.PadsMet, "", false)
	if met == nil {
		if err != nil {
			return cases, err
		}
		if h := res.Halt(false); h != nil {
			return cases, h
		}
		return cases, errors.New("the pads do not meet the object on the way out")
	}
	// A stroke that ends beyond the grip is none of its business.
	c := loadCase{name: caseGrip, res: res, from: met.Sample, scale: 1}
	for c.to = c.from; c.to < len(res.Samples); c.to++ {
		if s := &res.Samples[c.to]; s.Back || s.Force > d.Grasp.Force {
			break
		}
	}
	if c.to > c.from {
		cases = append(cases, c)
	}
	// The slide force asked for lies between two samples, or beyond the travel:
	// the forces of the nearer one, made that much larger or smaller.
	last := min(c.to, len(res.Samples)-1)
	if res.Samples[last].Back {
		last--
	}
	if p := last - 1; p >= c.from && math.Abs(res.Samples[p].Force-d.Grasp.Force) < math.Abs(res.Samples[last].Force-d.Grasp.Force) {
		last = p
	}
	if f := res.Samples[last].Force; f > 0 && last >= c.from {
		cases = append(cases, loadCase{caseGrip, res, last, last + 1, d.Grasp.Force / f})
	} else {
		return cases, fmt.Errorf("the slide pushes with %.2f N only where the pads meet the object", f)
	}
	return cases, nil
}

// stresses computes all strengths once; nil without a computed stroke.
func (in *Input) stresses() (*cycleStress, error) {
	if in.strength != nil {
		return in.strength, nil
	}
	if in.Stroke == nil || in.Stroke.Model == nil {
		return nil, nil
	}
	g, err := newGatherer(in)
	if err != nil {
		return nil, err
	}
	cases, grip := in.cases()
	g.out.grip = grip
	for _, c := range cases {
		for i := c.from; i < c.to; i++ {
			s := &c.res.Samples[i]
			at := At{S: s.S, Back: s.Back, Case: c.name}
			now := g.statics.solve(c.res, i, at, c.scale)
			g.out.lack = math.Max(g.out.lack, now.lack)
			g.pins(&now)
			g.links(&now)
		}
	}
	in.strength = &g.out
	in.strength.list = g.rows()
	return in.strength, nil
}

// strengthOf returns the check of one kind of strength.
func strengthOf(kind string) Run {
	return func(in *Input, out *Findings) error {
		c, err := in.stresses()
		if c == nil || err != nil {
			return err
		}
		for i := range c.list {
			if s := &c.list[i]; s.Check == kind {
				out.strength(s)
			}
		}
		return nil
	}
}

func (f *Findings) strength(s *Strength) {
	if s.Stress == 0 {
		f.state(s.Subject, finding.Pass, s.Change, s.Source, "carries no load")
		return
	}
	m := measure{subject: s.Subject, value: s.Safety, unit: "1", limit: "safety", def: leastSafety, source: "common practice, no source; strength of " + s.Source,
		change: s.Change, more: true, detail: fmt.Sprintf("%.2f MPa of %.1f MPa allowed: %s, at %s", s.Stress, s.Allowed, s.Note, s.At)}
	switch s.Check {
	case nSlotWall:
		m.limit, m.def, m.warn = "slot wall", leastWall, softWall-leastWall
	case nTilt:
		m.limit, m.def = "pin tilt", leastTilt
	}
	if math.IsInf(s.Stress, 1) {
		m.detail = fmt.Sprintf("nothing is left to carry the load: %s, at %s", s.Note, s.At)
	}
	f.atLeast(m)
}

// gripCase reports a grip whose forces could not be computed.
func gripCase(in *Input, out *Findings) error {
	c, err := in.stresses()
	if c == nil || err != nil {
		return err
	}
	if in.Design.Grasp == nil || in.Design.Object == nil {
		return nil
	}
	const source = "strength is checked under the grip's slide force"
	if c.grip != nil {
		change := "object.height"
		if h := (*stroke.Halt)(nil); errors.As(c.grip, &h) {
			change = h.Change
		}
		out.state("grip", finding.Fail, change, source, c.grip.Error())
	} else {
		out.state("grip", finding.Pass, "grasp.slide_force", source, fmt.Sprintf("strength includes a slide force of %.1f N", in.Design.Grasp.Force))
	}
	return nil
}

// balance checks that the forces of the stroke are in equilibrium on every body.
func balance(in *Input, out *Findings) error {
	c, err := in.stresses()
	if c == nil || err != nil {
		return err
	}
	const most = 0.01 // N; a hundredth of what any part here can feel
	out.atMost(measure{subject: "bodies", value: c.lack, unit: "N", def: most, source: "equilibrium of every body",
		change: "joints", detail: "largest force that the statics of a link leaves over, over the cycle"})
	return nil
}
