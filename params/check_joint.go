package params

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// samePlace is the distance, mm, below which two points that the file gives
// twice are the same: far below what can be printed, far above rounding.
const samePlace = 1e-3

func (c *checker) joints() {
	for i, name := range c.design.Joints.Names {
		j := &c.design.Joints.Values[i]
		at := "joints." + name
		switch {
		case j.Pin != nil:
			c.pin(j.Pin, at+".pin")
		case j.Slide != nil:
			c.distinct(j.Slide.Body, j.Slide.On, at+".slide")
		case j.Rigid != nil:
			c.distinct(j.Rigid.Body, j.Rigid.On, at+".rigid")
		case j.Slot != nil:
			c.distinct(j.Slot.Body, j.Slot.On, at+".slot")
			c.slot(j.Slot, at+".slot")
		}
	}
}

// distinct checks that a joint connects a body with another one.
func (c *checker) distinct(body, on, at string) {
	if c.given(at+".body") && c.given(at+".on") && body == on {
		c.errorf(at+".on", "joins %q with itself; name two bodies", body)
	}
}

func (c *checker) pin(p *PinJoint, at string) {
	c.bodyKeys(p.At.Names, at+".at")
	if c.ok(at+".at") && c.given(at+".at") && p.At.Len() != 2 {
		c.errorf(at+".at", "names %d bodies; a pin joint connects exactly two", p.At.Len())
	}
	if p.Fits.Len() == 0 || !c.ok(at+".at", at+".fits") {
		return
	}
	for _, b := range p.Fits.Names {
		if p.At.Get(b) == nil {
			c.errorf(at+".fits."+b, "%q is not a body of this joint; its bodies are %s", b, wordList(p.At.Names, "and"))
		}
	}
	for _, b := range p.At.Names {
		if p.Fits.Get(b) == nil {
			c.errorf(at+".fits", "body %q has no fit; give one for each body of the joint", b)
		}
	}
}

// bodyKeys checks that the keys of a section are bodies.
func (c *checker) bodyKeys(keys []string, at string) {
	for _, b := range keys {
		if msg := c.d.badRef(b, "bodies"); msg != "" {
			c.errorf(at+"."+b, "%s", msg)
		}
	}
}

func (c *checker) slot(s *SlotJoint, at string) {
	if c.given(at + ".path") {
		c.path(s.Path, at+".path")
	}
	if s.Start != nil && c.ok(at+".start", at+".path") && *s.Start > s.Length() {
		c.errorf(at+".start", "is %s mm, but the path is only %s mm long", mm(*s.Start), mm(s.Length()))
	}
	switch {
	case c.given(at + ".shares"):
		c.shared(s, at)
	case s.Shares == "" && s.Diameter == nil && c.ok(at+".shares", at+".diameter"):
		c.errorf(at, `needs the pin's size: "diameter", or "shares" with a pin joint whose pin runs in this slot`)
	}
}

// path checks the points of a slot path.
func (c *checker) path(path []PathPoint, at string) {
	if len(path) < 2 {
		c.errorf(at, "has %d point; a path needs at least two", len(path))
		return
	}
	for i, p := range path {
		here := index(at, i)
		if i+1 < len(path) {
			if r2.Norm(r2.Sub(path[i+1].At, p.At)) < samePlace {
				c.errorf(index(at, i+1), "is the same point as the one before; the way between two points needs a length")
			}
		} else if p.Sweep != 0 {
			c.errorf(here+".sweep", "is an arc to the next point, but this is the last one; delete it")
		}
	}
}

// shared checks a slot pin that is also the pin of a pin joint.
func (c *checker) shared(s *SlotJoint, at string) {
	j := c.design.Joints.Get(s.Shares)
	if j == nil || !c.ok("joints."+s.Shares) {
		return
	}
	if j.Pin == nil {
		c.errorf(at+".shares", "%q is a %s joint; name a pin joint", s.Shares, j.Kind())
		return
	}
	if !c.ok(at+".body", at+".on", at+".at") {
		return
	}
	point := j.Pin.At.Get(s.Body)
	switch {
	case point == nil:
		c.errorf(at+".shares", "pin joint %q does not hold body %q, which carries this slot's pin; its bodies are %s",
			s.Shares, s.Body, wordList(j.Pin.At.Names, "and"))
	case j.Pin.At.Get(s.On) != nil:
		c.errorf(at+".shares", "pin joint %q fixes its pin to %q, which has this slot, so the pin cannot run in it", s.Shares, s.On)
	case r2.Norm(r2.Sub(*point, s.At)) > samePlace:
		c.errorf(at+".at", "is (%s, %s), but pin joint %q, which is the same pin, has (%s, %s) on %q",
			trimNum(s.At.X), trimNum(s.At.Y), s.Shares, trimNum(point.X), trimNum(point.Y), s.Body)
	}
	if s.Diameter != nil && c.ok(at+".diameter") && math.Abs(*s.Diameter-j.Pin.Diameter) > samePlace {
		c.errorf(at+".diameter", "is %s mm, but pin joint %q, which is the same pin, has %s mm; delete this line",
			trimNum(*s.Diameter), s.Shares, trimNum(j.Pin.Diameter))
	}
}
