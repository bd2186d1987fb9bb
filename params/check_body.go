package params

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// features checks what a body is made of and fills in the points of joints.
func (c *checker) features(name string, b *Body) {
	bare := false
	for i := range b.Features {
		at := index("bodies."+name+".features", i)
		f := &b.Features[i]
		kind, layer, adds := f.describe()
		if kind == "" {
			continue // reported by the decoder
		}
		at = at + "." + kind
		if i == 0 && !adds {
			c.errorf(at, "cuts before anything is built; the first feature must add material")
		}
		if layer != nil && *layer == nil && b.Layer == nil && !bare && c.ok("bodies."+name+".layer", at+".layer") {
			c.errorf(at, `has no z range; give it a "layer", or give the body one for all its features`)
			bare = true
		}
		c.feature(name, f, at)
	}
}

// describe returns the key of a feature, where its layer is kept (nil for a
// feature that needs none), and whether it adds material.
func (f *Feature) describe() (kind string, layer **Span, adds bool) {
	switch {
	case f.Boss != nil:
		return "boss", &f.Boss.Layer, true
	case f.Bar != nil:
		return "bar", &f.Bar.Layer, true
	case f.Outline != nil:
		return "outline", &f.Outline.Layer, true
	case f.Arm != nil:
		return "arm", &f.Arm.Layer, true
	case f.Post != nil:
		return "post", &f.Post.Layer, true
	case f.Rack != nil:
		return "rack", &f.Rack.Layer, true
	case f.Window != nil:
		return "window", &f.Window.Layer, false
	case f.Hole != nil:
		return "hole", &f.Hole.Layer, false
	case f.Slot != nil:
		return "slot", &f.Slot.Layer, false
	case f.Pad != nil:
		return "pad", &f.Pad.Layer, false
	case f.Screws != nil:
		return "screws", &f.Screws.Layer, false
	case f.Bore != nil:
		return "bore", nil, false
	case f.Round != nil:
		return "round", nil, false
	}
	return "", nil, false
}

func (c *checker) feature(body string, f *Feature, at string) {
	switch {
	case f.Boss != nil:
		c.spot(&f.Boss.At, body, at+".at")
	case f.Bar != nil:
		c.spot(&f.Bar.From, body, at+".from")
		c.spot(&f.Bar.To, body, at+".to")
		c.apart(f.Bar.From.Point, f.Bar.To.Point, at)
	case f.Outline != nil:
		c.outline(f.Outline, at)
	case f.Window != nil:
		c.outline(f.Window, at)
	case f.Hole != nil:
		c.spot(&f.Hole.At, body, at+".at")
		if f.Hole.At.Joint == "" && f.Hole.Diameter == nil && c.ok(at+".at", at+".diameter") {
			c.errorf(at, `a hole at a point needs a "diameter"; only a hole at a joint has the pin's`)
		}
	case f.Slot != nil:
		c.slotCut(body, f.Slot.Joint, at+".joint")
	case f.Arm != nil:
		if clip := c.design.Clips.Get(f.Arm.Clip); clip != nil {
			c.belongs(body, clip.Arm.Body, at+".clip", "clips."+f.Arm.Clip+".arm.body", "the arm of clip", f.Arm.Clip)
		}
	case f.Post != nil:
		if clip := c.design.Clips.Get(f.Post.Clip); clip != nil {
			c.belongs(body, clip.Post.Body, at+".clip", "clips."+f.Post.Clip+".post.body", "the post of clip", f.Post.Clip)
		}
	case f.Pad != nil:
		if pad := c.design.Pads.Get(f.Pad.Pad); pad != nil {
			c.belongs(body, pad.Body, at+".pad", "pads."+f.Pad.Pad+".body", "pad", f.Pad.Pad)
		}
	case f.Screws != nil:
		c.screws(body, f.Screws, at)
	case f.Rack != nil:
		c.apart(f.Rack.From, f.Rack.To, at)
		if d := c.design.Drive.Rack; d != nil && c.given(at+".module") && c.given("drive.rack.module") && d.Module != f.Rack.Module {
			c.errorf(at+".module", "is %s mm, but the pinion of the drive has %s mm; both must be equal to mesh", mm(f.Rack.Module), mm(d.Module))
		}
	case f.Bore != nil:
		c.apart(f.Bore.From, f.Bore.To, at)
	}
}

// apart checks that the two ends of something are not the same point.
func (c *checker) apart(a, b r2.Vec, at string) {
	if c.ok(at+".from", at+".to") && r2.Norm(r2.Sub(a, b)) < samePlace {
		c.errorf(at+".to", "is the same point as from; the two ends must lie apart")
	}
}

// belongs checks that an element is used on the body that it names.
func (c *checker) belongs(body, owner, at, ownerAt, what, name string) {
	if c.given(at) && c.given(ownerAt) && body != owner {
		c.errorf(at, "%s %q is on body %q, not on %q; move this feature there, or change %s", what, name, owner, body, ownerAt)
	}
}

func (c *checker) slotCut(body, joint, at string) {
	j := c.design.Joints.Get(joint)
	if j == nil || !c.given(at) || !c.ok("joints."+joint) {
		return
	}
	if j.Slot == nil {
		c.errorf(at, "%q is a %s joint; name a slot joint", joint, j.Kind())
		return
	}
	c.belongs(body, j.Slot.On, at, "joints."+joint+".slot.on", "the path of slot joint", joint)
}

// spot checks that a named joint has a point on the body, and fills it in.
func (c *checker) spot(s *Spot, body, at string) {
	if s.Joint == "" || !c.given(at) {
		return
	}
	j := c.design.Joints.Get(s.Joint)
	if j == nil || !c.ok("joints."+s.Joint) {
		c.d.out.bad[at] = true
		return
	}
	var point *r2.Vec
	switch {
	case j.Pin != nil:
		point = j.Pin.At.Get(body)
	case j.Slot != nil && j.Slot.Body == body:
		point = &j.Slot.At
	case j.Slot != nil && j.Slot.On == body:
		c.errorf(at, "slot joint %q is a path on %q, not a point; write the point as [x, y]", s.Joint, body)
		return
	case j.Slide != nil || j.Rigid != nil:
		c.errorf(at, "%s joint %q has no point; name a pin or slot joint, or write the point as [x, y]", j.Kind(), s.Joint)
		return
	}
	if point == nil {
		c.errorf(at, "joint %q is not on body %q; it connects %s", s.Joint, body, wordList(j.Bodies(), "and"))
		return
	}
	if s.Point != *point { // a body shared by designs has it already, see With
		s.Point = *point
	}
	c.d.mergeUses(at, "joints."+s.Joint+".pin.at."+body, "joints."+s.Joint+".slot.at")
}

func (c *checker) screws(body string, s *Screws, at string) {
	for i := range s.At {
		c.spot(&s.At[i], body, index(at+".at", i))
	}
	switch {
	case len(s.At) == 0 && c.ok(at+".at"):
		c.errorf(at, `needs "at": a list of points, or of the centres of circles`)
	case s.Circle == nil && s.Count > 1 && c.ok(at+".circle"):
		c.errorf(at+".count", `needs "circle", the diameter on which the %d holes lie; for single holes list their points in "at"`, s.Count)
	}
}

// outline checks that a polygon is one and that its fillets fit.
func (c *checker) outline(o *Outline, at string) {
	if !c.given(at+".points") || !c.ok(at+".fillet") {
		return
	}
	p := o.Points
	n := len(p)
	if n < 3 {
		c.errorf(at+".points", "has %d corners; an outline needs at least three", n)
		return
	}
	for i := range p {
		j := (i + 1) % n
		if r2.Norm(r2.Sub(p[j].At, p[i].At)) < samePlace {
			c.errorf(index(at+".points", j), "is the same point as corner [%d]; delete one (an outline closes by itself)", i)
			return
		}
	}
	for i := range p {
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			if crosses(p[i].At, p[i+1].At, p[j].At, p[(j+1)%n].At) {
				c.errorf(index(at+".points", j), "the edge from here meets the edge from corner [%d]; put the corners in order around the outline", i)
				return
			}
		}
	}
	c.fillets(o, at)
}

// fillets checks that the tangent points of the fillets lie on their edges.
// A fillet of radius r at a corner of angle θ takes r/tan(θ/2) of both edges.
func (c *checker) fillets(o *Outline, at string) {
	n := len(o.Points)
	takes := make([]float64, n)
	for i, p := range o.Points {
		r := o.Fillet
		if p.Fillet != nil {
			r = *p.Fillet
		}
		a := r2.Sub(o.Points[(i+n-1)%n].At, p.At)
		b := r2.Sub(o.Points[(i+1)%n].At, p.At)
		theta := math.Abs(math.Atan2(r2.Cross(a, b), r2.Dot(a, b)))
		if r > 0 && theta < math.Pi-1e-9 {
			takes[i] = r / math.Tan(theta/2)
		}
	}
	for i := range o.Points {
		j := (i + 1) % n
		have := r2.Norm(r2.Sub(o.Points[j].At, o.Points[i].At))
		if need := takes[i] + takes[j]; need > have+1e-9 {
			c.errorf(index(at+".points", i), "the fillets at the ends of the edge from here need %s mm, but it is %s mm long; make them smaller",
				mm(need), mm(have))
		}
	}
}

// mm prints a length for a message, rounded to a micrometre.
func mm(v float64) string { return exactNum(math.Round(v*1000) / 1000) }

// crosses reports whether two line segments have a point in common.
func crosses(a, b, p, q r2.Vec) bool {
	side := func(a, b, p r2.Vec) float64 { return r2.Cross(r2.Sub(b, a), r2.Sub(p, a)) }
	d1, d2, d3, d4 := side(a, b, p), side(a, b, q), side(p, q, a), side(p, q, b)
	if (d1 > 0) != (d2 > 0) && d1 != 0 && d2 != 0 && (d3 > 0) != (d4 > 0) && d3 != 0 && d4 != 0 {
		return true
	}
	within := func(a, b, p r2.Vec) bool {
		return p.X >= min(a.X, b.X) && p.X <= max(a.X, b.X) && p.Y >= min(a.Y, b.Y) && p.Y <= max(a.Y, b.Y)
	}
	return d1 == 0 && within(a, b, p) || d2 == 0 && within(a, b, q) || d3 == 0 && within(p, q, a) || d4 == 0 && within(p, q, b)
}
