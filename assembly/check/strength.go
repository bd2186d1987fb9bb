package check

import (
	"errors"
	"fmt"
	"math"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/stroke"
	"tuckfinger/params/finding"

	"gonum.org/v1/gonum/spatial/r2"
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
	// the forces grow with it.
	last := min(c.to, len(res.Samples)-1)
	if res.Samples[last].Back {
		last--
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

// gatherer keeps the worst of everything.
type gatherer struct {
	in      *Input
	statics *statics
	beams   []*pinBeam
	lugs    [][]*lug // per beam and holder, nil without a hole
	beamsOf []*linkBeam
	worst   map[string]*Strength
	order   []string
	loads   []r2.Vec
	out     cycleStress
}

func newGatherer(in *Input) (*gatherer, error) {
	g := &gatherer{in: in, worst: map[string]*Strength{}}
	var err error
	if g.statics, err = newStatics(in); err != nil {
		return nil, err
	}
	if g.beams, err = in.pinBeams(); err != nil {
		return nil, err
	}
	all := map[string][]slabField{}
	for _, p := range in.Parts {
		all[p.Name] = fields(p)
	}
	for _, b := range g.beams {
		lugs := make([]*lug, len(b.holders))
		for i, h := range b.holders {
			if h.hole != nil {
				p := in.part(in.Mechanism.Bodies[h.body].Name)
				lugs[i] = newLug(p, h.hole, all[p.Name], h.spans)
			}
		}
		g.lugs = append(g.lugs, lugs)
	}
	g.beamsOf = in.linkBeams(all)
	return g, nil
}

// see keeps a strength if it is the worst of its kind so far.
func (g *gatherer) see(s Strength) {
	s.Safety = math.Inf(1)
	if s.Stress != 0 {
		s.Safety = s.Allowed / s.Stress
	}
	key := s.Check + "\x00" + s.Subject
	old := g.worst[key]
	if old == nil {
		g.order = append(g.order, key)
	} else if old.Safety <= s.Safety {
		return
	}
	g.worst[key] = &s
}

func (g *gatherer) rows() []Strength {
	var out []Strength
	for _, n := range strengthNames {
		for _, key := range g.order {
			if s := g.worst[key]; s.Check == n {
				out = append(out, *s)
			}
		}
	}
	return out
}

const (
	nPinShear   = "pin shear"
	nPinBending = "pin bending"
	nBearing    = "bearing"
	nTilt       = "pin tilt"
	nTearOut    = "tear-out"
	nNet        = "net section"
	nLink       = "link stress"
	nSlotWall   = "slot wall"
	nArmStrain  = "arm strain"
	nRailStrain = "rail strain"
)

var strengthNames = []string{nPinShear, nPinBending, nBearing, nTilt, nTearOut, nNet, nLink, nSlotWall}

// pins works out pins, their holes and slot walls at an instant.
func (g *gatherer) pins(now *instant) {
	in := g.in
	for k, b := range g.beams {
		if len(b.z) == 0 {
			continue
		}
		g.loads = b.loads(in.Mechanism, now, g.loads)
		shear, bend, planes := b.peaks(g.loads)
		tension, cut := b.strengths()
		source := b.material.Name + ": " + b.material.StrengthXY.Source
		if b.across {
			source = b.material.Name + " across layers: " + b.material.StrengthZ.Source
		}
		subject := "pin " + b.name
		g.see(Strength{Check: nPinShear, Subject: subject, Stress: force.PinShear(shear, b.diameter, 1), Allowed: cut, Force: shear,
			At: now.at, Change: b.path, Source: source + "; shear 1/√3 of it (distortion energy)",
			Note: fmt.Sprintf("%.1f N across the %.2f mm pin, %d section(s) so loaded", shear, b.diameter, planes)})
		g.see(Strength{Check: nPinBending, Subject: subject, Stress: roundBending(bend, b.diameter), Allowed: tension, Force: shear,
			At: now.at, Change: b.path, Source: source,
			Note: fmt.Sprintf("%.1f N·mm on the %.2f mm pin", bend, b.diameter)})
		for i := range b.holders {
			g.holder(now, b, i, g.lugs[k][i])
		}
	}
}

// roundBending is the bending stress of a round pin, MPa.
func roundBending(moment, d float64) float64 { return 32 * moment / (math.Pi * d * d * d) }

// holder works out what a pin does to one of the bodies on it.
func (g *gatherer) holder(now *instant, b *pinBeam, i int, l *lug) {
	in := g.in
	h := &b.holders[i]
	f := r2.Scale(-1, g.loads[i]) // on the body
	n := r2.Norm(f)
	body := in.Mechanism.Bodies[h.body].Name
	p := in.part(body)
	if p == nil {
		return
	}
	source := p.Material.Name + " in the layers: " + p.Material.StrengthXY.Source
	if h.joint >= 0 {
		g.slotWall(now, b, i, n, source)
		return
	}
	strong := allowed(p, now.poses[h.body], f)
	subject := body + " on pin " + b.name
	if l != nil {
		g.see(Strength{Check: nBearing, Subject: subject, Stress: force.Bearing(n, b.diameter, depth(h.spans)), Allowed: strong, Force: n,
			At: now.at, Change: b.path, Source: source,
			Note: fmt.Sprintf("%.1f N on %.2f x %.2f mm", n, b.diameter, depth(h.spans))})
		if p, ok := b.edgePressure(i, g.loads); ok {
			g.see(Strength{Check: nTilt, Subject: subject, Stress: force.Bearing(p, b.diameter, 1), Allowed: strong, Force: n,
				At: now.at, Change: b.path, Source: source,
				Note: fmt.Sprintf("edge pressure of a pin that is loaded beside its %.2f mm deep hole", depth(h.spans))})
		}
		local := unturn(now.poses[h.body], f)
		s := l.stress(local)
		g.see(Strength{Check: nTearOut, Subject: subject, Stress: s.tear, Allowed: shearShare * strong, Force: n,
			At: now.at, Change: p.Path(s.tearTag), Source: source + "; shear 1/√3 of it (distortion energy)",
			Note: fmt.Sprintf("%.1f N, %.2f mm from the hole's centre to the edge in front of it", n, s.edge)})
		if s.net > 0 {
			g.see(Strength{Check: nNet, Subject: subject, Stress: s.net, Allowed: strong, Force: n,
				At: now.at, Change: p.Path(s.netTag), Source: source,
				Note: fmt.Sprintf("%.1f N, %.2f mm wide at the hole, stress concentration %.2f (Roark/Peterson)", n, s.width, s.kt)})
		}
	}
}

// slotWall works out the line contact of a pin on its slot's wall.
func (g *gatherer) slotWall(now *instant, b *pinBeam, i int, n float64, source string) {
	h := &b.holders[i]
	j := &g.in.Mechanism.Joints[h.joint]
	if n == 0 || len(h.spans) == 0 {
		return
	}
	foot := j.Path.Project(now.poses[j.A].Inverse(now.poses[j.B].Apply(j.PB)))
	r := math.Inf(1)
	if foot.Bend != 0 { // of the two walls of an arc the round one
		r = 1/math.Abs(foot.Bend) - b.diameter/2
	}
	body := g.in.Mechanism.Bodies[h.body].Name
	steel := force.Material{E: b.material.Modulus.Typical, Nu: b.material.Poisson.Typical}
	c, err := force.Hertz(n, depth(h.spans), steel, g.in.elastic(body), b.diameter/2, r)
	if err != nil {
		return // an arc as tight as its pin: a pivot, not a wall
	}
	p := g.in.part(body)
	g.see(Strength{Check: nSlotWall, Subject: "slot " + j.Name, Stress: c.Peak, Allowed: yieldPeak * p.Material.StrengthXY.Low, Force: n,
		At: now.at, Change: b.path, Source: source + "; line contact yields at 1.67 of it (Johnson, Contact Mechanics)",
		Note: fmt.Sprintf("Hertz pressure of %.1f N on %.2f mm of wall, %.3f mm wide", n, depth(h.spans), 2*c.HalfWidth)})
}

func (g *gatherer) links(now *instant) {
	for _, l := range g.beamsOf {
		w := l.worst(now)
		p := l.part
		if w.stress == 0 {
			continue
		}
		g.see(Strength{Check: nLink, Subject: p.Name, Stress: w.stress, Allowed: p.Material.StrengthXY.Low, Force: math.Abs(w.axial),
			At: now.at, Change: p.Path(w.tag), Source: p.Material.Name + " in the layers: " + p.Material.StrengthXY.Source,
			Note: fmt.Sprintf("%.1f N along and %.1f N·mm, %.1f mm along the link", w.axial, w.moment, w.at)})
	}
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
		out.state("grip", finding.Fail, "object.height", source, c.grip.Error())
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
