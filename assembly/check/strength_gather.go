package check

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/stroke"
	"tuckfinger/parts"
)

type strengthKey struct{ check, subject string }

// gatherer keeps the worst of everything.
type gatherer struct {
	in      *Input
	statics *statics
	beams   []*pinBeam
	lugs    [][]*lug // per beam and holder, nil without a hole
	bodies  []*linkBeam
	worst   map[strengthKey]*Strength
	order   []strengthKey
	loads   []r2.Vec
	out     cycleStress
}

func newGatherer(in *Input) (*gatherer, error) {
	g := &gatherer{in: in, worst: map[strengthKey]*Strength{}}
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
				lugs[i] = newLug(p, p.Name+" on pin "+b.name, h.hole, all[p.Name], h.spans)
			}
		}
		g.lugs = append(g.lugs, lugs)
	}
	g.bodies = in.linkBeams(all)
	return g, nil
}

// worse returns the record of a strength to be filled in if this is the worst of
// its kind so far, or nil.
func (g *gatherer) worse(check, subject string, stress, allowed float64, at At) *Strength {
	safety := math.Inf(1)
	if stress != 0 {
		safety = allowed / stress
	}
	key := strengthKey{check, subject}
	s := g.worst[key]
	switch {
	case s == nil:
		s = &Strength{}
		g.worst[key], g.order = s, append(g.order, key)
	case s.Safety <= safety:
		return nil
	}
	*s = Strength{Check: check, Subject: subject, Stress: stress, Allowed: allowed, Safety: safety, At: at}
	return s
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

// inShear is added to the source of a shear strength.
const inShear = "; shear 1/√3 of it (distortion energy)"

// pins works out pins, their holes and slot walls at an instant.
func (g *gatherer) pins(now *instant) {
	in := g.in
	for k, b := range g.beams {
		if len(b.z) == 0 {
			continue
		}
		g.loads = b.loads(in.Mechanism, now, g.loads)
		if shear, bend, planes, more := b.peaks(g.loads); more {
			tension, cut := b.strengths()
			if s := g.worse(nPinShear, "pin "+b.name, force.PinShear(shear, b.diameter, 1), cut, now.at); s != nil {
				s.Force, s.Change, s.Source = shear, b.path, b.source()+inShear
				s.Note = fmt.Sprintf("%.1f N across the %.2f mm pin, %d section(s) so loaded", shear, b.diameter, planes)
			}
			if s := g.worse(nPinBending, "pin "+b.name, roundBending(bend, b.diameter), tension, now.at); s != nil {
				s.Force, s.Change, s.Source = shear, b.path, b.source()
				s.Note = fmt.Sprintf("%.1f N·mm on the %.2f mm pin", bend, b.diameter)
			}
		}
		for i := range b.holders {
			if l := g.lugs[k][i]; b.holders[i].joint >= 0 {
				g.slotWall(now, b, i)
			} else if l != nil {
				g.hole(now, b, i, l)
			}
		}
	}
}

// roundBending is the bending stress of a round pin, MPa.
func roundBending(moment, d float64) float64 { return 32 * moment / (math.Pi * d * d * d) }

// inLayers is the source of a part's strength.
func inLayers(p *parts.Part) string {
	return p.Material.Name + " in the layers: " + p.Material.StrengthXY.Source
}

// hole works out what a pin does to a body that has a hole for it.
func (g *gatherer) hole(now *instant, b *pinBeam, i int, l *lug) {
	h := &b.holders[i]
	f := r2.Scale(-1, g.loads[i]) // on the body
	n, p := r2.Norm(f), l.part
	strong := allowed(p, now.poses[h.body], f)
	if s := g.worse(nBearing, l.name, force.Bearing(n, b.diameter, depth(h.spans)), strong, now.at); s != nil {
		s.Force, s.Change, s.Source = n, b.path, inLayers(p)
		s.Note = fmt.Sprintf("%.1f N on %.2f x %.2f mm", n, b.diameter, depth(h.spans))
	}
	if q, ok := b.edgePressure(i, g.loads); ok {
		if s := g.worse(nTilt, l.name, force.Bearing(q, b.diameter, 1), strong, now.at); s != nil {
			s.Force, s.Change, s.Source = n, b.path, inLayers(p)
			s.Note = fmt.Sprintf("edge pressure of a pin that is loaded beside its %.2f mm deep hole", depth(h.spans))
		}
	}
	x := l.stress(unturn(now.poses[h.body], f))
	if s := g.worse(nTearOut, l.name, x.tear, shearShare*strong, now.at); s != nil {
		s.Force, s.Change, s.Source = n, p.Path(x.tearTag), inLayers(p)+inShear
		s.Note = fmt.Sprintf("%.1f N, %.2f mm from the hole's centre to the edge in front of it", n, x.edge)
	}
	if x.net == 0 {
		return
	}
	if s := g.worse(nNet, l.name, x.net, strong, now.at); s != nil {
		s.Force, s.Change, s.Source = n, p.Path(x.netTag), inLayers(p)
		s.Note = fmt.Sprintf("%.1f N, %.2f mm wide at the hole, stress concentration %.2f (Roark/Peterson)", n, x.width, x.kt)
	}
}

// slotWall works out the line contact of a pin on its slot's wall.
func (g *gatherer) slotWall(now *instant, b *pinBeam, i int) {
	h := &b.holders[i]
	j := &g.in.Mechanism.Joints[h.joint]
	n := r2.Norm(g.loads[i])
	body := g.in.Mechanism.Bodies[h.body].Name
	p := g.in.part(body)
	if n == 0 || p == nil || len(h.spans) == 0 {
		return
	}
	foot := j.Path.Project(now.poses[j.A].Inverse(now.poses[j.B].Apply(j.PB)))
	r := math.Inf(1)
	if foot.Bend != 0 { // of the two walls of an arc the round one
		r = 1/math.Abs(foot.Bend) - b.diameter/2
	}
	pin := force.Material{E: b.material.Modulus.Typical, Nu: b.material.Poisson.Typical}
	c, err := force.Hertz(n, depth(h.spans), pin, stroke.Elastic(g.in.Design, body), b.diameter/2, r)
	if err != nil {
		return // an arc as tight as its pin: a pivot, not a wall
	}
	if s := g.worse(nSlotWall, "slot "+j.Name, c.Peak, yieldPeak*p.Material.StrengthXY.Low, now.at); s != nil {
		s.Force, s.Change, s.Source = n, b.path, inLayers(p)+"; line contact yields at 1.67 of it (Johnson, Contact Mechanics)"
		s.Note = fmt.Sprintf("Hertz pressure of %.1f N on %.2f mm of wall, %.3f mm wide", n, depth(h.spans), 2*c.HalfWidth)
	}
}

func (g *gatherer) links(now *instant) {
	for _, l := range g.bodies {
		w := l.worst(now)
		p := l.part
		if w.stress == 0 {
			continue
		}
		if s := g.worse(nLink, p.Name, w.stress, p.Material.StrengthXY.Low, now.at); s != nil {
			s.Force, s.Change, s.Source = math.Abs(w.axial), p.Path(w.tag), inLayers(p)
			s.Note = fmt.Sprintf("%.1f N along and %.1f N·mm, %.1f mm along the link", w.axial, w.moment, w.at)
		}
	}
}
