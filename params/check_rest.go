package params

import (
	"math"
	"slices"
	"strings"

	"tuckfinger/params/tables"
)

func (c *checker) drive() {
	d := &c.design.Drive
	if j := c.joint(d.Joint, "drive.joint"); j != nil && j.Slide == nil {
		c.errorf("drive.joint", "%q is a %s joint; the motor moves a slide joint", d.Joint, j.Kind())
	}
	switch {
	case d.Screw != nil:
		c.motor(d.Screw.Motor, "drive.screw.motor", true)
	case d.Rack != nil:
		c.motor(d.Rack.Motor, "drive.rack.motor", true)
	case d.Servo != nil:
		c.motor(d.Servo.Motor, "drive.direct.motor", false)
	}
	if p := c.design.Passive; p != nil && c.given("passive.from") && c.given("drive.travel") && p.From > d.Travel {
		c.errorf("passive.from", "is %s mm, but the slide travels %s mm only", mm(p.From), mm(d.Travel))
	}
}

// motor checks that a motor turns, or pushes, as its drive needs.
func (c *checker) motor(name, at string, turning bool) {
	m := c.design.Lib.Motors.Get(name)
	if m == nil || !c.given(at) || (m.Rotary != nil) == turning {
		return
	}
	var fit []string
	for i, v := range c.design.Lib.Motors.Values {
		if (v.Rotary != nil) == turning {
			fit = append(fit, c.design.Lib.Motors.Names[i])
		}
	}
	need := "pushes a rod, but this drive needs a turning shaft"
	if !turning {
		need = "turns a shaft, but this drive needs one that pushes a rod"
	}
	c.errorf(at, "motor %q %s; choose %s", name, need, wordList(fit, "or"))
}

// orderable are the sections whose entries order rules name.
var orderable = []string{"ramps", "clips", "holds", "joints"}

// names checks that order rules can tell elements apart.
func (c *checker) names() (all []string) {
	first := map[string]string{}
	for _, section := range orderable {
		for _, name := range c.d.names[section] {
			if was := first[name]; was != "" && was != section {
				c.errorf(section+"."+name, "%q is %s too; order rules need names that differ, so rename one", name, oneOf(was))
				continue
			}
			first[name] = section
			all = append(all, name)
		}
	}
	return all
}

func (c *checker) order() {
	all := c.names()
	known := true
	for _, section := range orderable {
		_, has := c.d.names[section]
		known = known && has
	}
	for i, name := range c.design.Order.Names {
		r := &c.design.Order.Values[i]
		at := "order." + name
		if known {
			c.element(r.Holds, at+".holds", all)
			for k, w := range r.While {
				c.element(w, index(at+".while", k), all)
			}
		}
		for k, w := range r.While {
			here := index(at+".while", k)
			switch {
			case !c.given(here):
			case w == r.Holds:
				c.errorf(here, "%q cannot hold while it gives way itself; delete it here or change holds", w)
			case slices.Contains(r.While[:k], w):
				c.errorf(here, "%q is named twice; delete one", w)
			}
		}
	}
}

// element checks a name in an order rule.
func (c *checker) element(name, at string, all []string) {
	if !c.given(at) {
		return
	}
	if !slices.Contains(all, name) {
		c.errorf(at, "%s", notThere(name, "a ramp, clip, hold or joint", all, "there are "))
		return
	}
	j := c.design.Joints.Get(name)
	switch {
	case j == nil || !c.ok("joints."+name):
	case j.Rigid != nil:
		c.errorf(at, "%q is a rigid joint and never moves; name a ramp, clip, hold or another joint", name)
	case name == c.design.Drive.Joint:
		c.errorf(at, "%q is the driven slide, which always moves; name a ramp, clip, hold or another joint", name)
	}
}

func (c *checker) pads() {
	for i, name := range c.design.Pads.Names {
		p := &c.design.Pads.Values[i]
		c.apart(p.From, p.To, "pads."+name)
	}
	g := c.design.Grasp
	if g == nil || !c.given("grasp.upper") || !c.given("grasp.lower") {
		return
	}
	u, l := c.design.Pads.Get(g.Upper), c.design.Pads.Get(g.Lower)
	switch {
	case g.Upper == g.Lower:
		c.errorf("grasp.lower", "%q is the upper pad too; a grasp needs two pads", g.Lower)
	case u != nil && l != nil && c.given("pads."+g.Upper+".body") && c.given("pads."+g.Lower+".body") && u.Body == l.Body:
		c.errorf("grasp.lower", "pads %q and %q are both on body %q and cannot close on anything", g.Upper, g.Lower, u.Body)
	}
}

// place checks that object and opening agree, and fills in the object's place
// where the opening gives it.
func (c *checker) place() {
	o, p := c.design.Object, c.design.Place
	if o != nil {
		if o.RimDepth != nil && o.Rim == nil && c.ok("object.rim") {
			c.errorf("object.rim_depth", `needs "rim", the free height under the rim`)
		}
		if o.Rim != nil && c.given("object.rim") && c.given("object.height") && *o.Rim > o.Height {
			c.errorf("object.rim", "is %s mm, but the object is only %s mm high", mm(*o.Rim), mm(o.Height))
		}
	}
	if o == nil || p == nil {
		return
	}
	c.agree("object.face", &o.Face, "place.wall", p.Wall, "place.gap", p.Gap)
	c.agree("object.bottom", &o.Bottom, "place.floor", p.Floor, "place.under", p.Under)
}

// agree checks value = a + b, or computes it if the file does not give it.
func (c *checker) agree(at string, value *float64, aAt string, a float64, bAt string, b float64) {
	if !c.ok(at, aAt, bAt) {
		return
	}
	if _, has := c.d.origin.Pos[at]; !has {
		*value = a + b
		c.d.mergeUses(at, aAt, bAt)
		return
	}
	if math.Abs(*value-a-b) > samePlace {
		c.errorf(at, "is %s mm, but %s + %s is %s mm, which is the same place; delete this line or correct one of them",
			mm(*value), aAt, bAt, mm(a+b))
	}
}

// process checks that the printer prints the plastics and that bought pins exist.
func (c *checker) process() {
	lib := c.design.Lib
	p := &c.design.Process
	if c.given("process.printer") {
		if c.given("process.material") {
			c.printable(lib, p.Printer, p.Material, "process.material")
		}
		for i, name := range c.design.Bodies.Names {
			at := "bodies." + name + ".material"
			if m := c.design.Bodies.Values[i].Material; m != "" && c.given(at) {
				if t := lib.Materials.Get(m); t != nil && slices.Contains(t.Forms, "stock") {
					continue // not printed
				}
				c.printable(lib, p.Printer, m, at)
			}
		}
	}
	for i, name := range c.design.Joints.Names {
		j := &c.design.Joints.Values[i]
		at := "joints." + name
		switch {
		case j.Pin != nil:
			c.bought(j.Pin.Standard, j.Pin.Diameter, j.Pin.Class, at+".pin")
		case j.Slot != nil && j.Slot.Shares == "" && j.Slot.Diameter != nil:
			c.bought(j.Slot.Standard, *j.Slot.Diameter, "", at+".slot")
		}
	}
	for i, name := range c.design.Clips.Names {
		post := &c.design.Clips.Values[i].Post
		if post.Standard != "printed" && c.given("clips."+name+".post.radius") {
			if _, err := lib.Pin(post.Standard, 2*post.Radius); err != nil {
				c.errorf("clips."+name+".post.radius", "%s; the radius is half the diameter", err)
			}
		}
	}
}

func (c *checker) printable(lib *tables.Tables, printer, material, at string) {
	if lib.Printers.Get(printer) == nil || lib.Materials.Get(material) == nil {
		return
	}
	if err := lib.CheckPair(printer, material); err != nil {
		c.errorf(at, "%s", err)
	}
}

// bought checks that a pin of that size is sold.
func (c *checker) bought(standard string, diameter float64, class, at string) {
	if standard == "printed" || !c.given(at+".diameter") || !c.ok(at+".standard", at+".class") {
		return
	}
	pin, err := c.design.Lib.Pin(standard, diameter)
	if err != nil {
		c.errorf(at+".diameter", "%s; choose one of these, or standard: printed", err)
		return
	}
	if class == "" {
		return
	}
	if _, _, err := pin.Limits(class); err != nil {
		c.errorf(c.orParent(at, "class"), "%s", err)
	}
}

// printed warns of elements that no body has among its features, so that they
// would be missing from the print. Bodies without features are skipped: a file
// may describe motion only.
func (c *checker) printed() {
	have := map[string]bool{}
	solid := map[string]bool{}
	for i, name := range c.design.Bodies.Names {
		for _, f := range c.design.Bodies.Values[i].Features {
			solid[name] = true
			switch {
			case f.Slot != nil:
				have["slot "+f.Slot.Joint] = true
				// Two pins may run in one slot: their paths are the same.
				if cut := c.design.Joints.Get(f.Slot.Joint); cut != nil && cut.Slot != nil {
					for k, j := range c.design.Joints.Values {
						if j.Slot != nil && j.Slot.On == cut.Slot.On && slices.Equal(j.Slot.Path, cut.Slot.Path) {
							have["slot "+c.design.Joints.Names[k]] = true
						}
					}
				}
			case f.Arm != nil:
				have["arm "+f.Arm.Clip] = true
			case f.Post != nil:
				have["post "+f.Post.Clip] = true
			}
		}
	}
	miss := func(kind, name, body, at string) {
		if solid[body] && !have[kind+" "+name] {
			c.warnf(at, "body %q has no %q feature for it, so it will be missing from the print", body, kind)
		}
	}
	for i, name := range c.design.Joints.Names {
		if s := c.design.Joints.Values[i].Slot; s != nil {
			miss("slot", name, s.On, "joints."+name)
		}
	}
	for i, name := range c.design.Clips.Names {
		clip := &c.design.Clips.Values[i]
		miss("arm", name, clip.Arm.Body, "clips."+name+".arm")
		miss("post", name, clip.Post.Body, "clips."+name+".post")
	}
}

// stances checks exact angles against joints to the ground that fix them.
func (c *checker) stances() {
	for i, name := range c.design.Joints.Names {
		j := &c.design.Joints.Values[i]
		at := "joints." + name
		if !c.ok(at) || j.Slide == nil && j.Rigid == nil {
			continue
		}
		names := j.Bodies()
		on, b := c.design.Bodies.Get(names[0]), c.design.Bodies.Get(names[1])
		angle := 0.0
		if j.Slide != nil {
			angle = j.Slide.Angle
		} else {
			angle = j.Rigid.Angle
		}
		start := "bodies." + names[1] + ".start"
		if on == nil || b == nil || !on.Ground || b.Start == nil || !c.ok(start) {
			continue
		}
		if turn := math.Remainder(b.Start.Angle-angle, 2*math.Pi); math.Abs(turn) > 1e-6 {
			c.errorf(start+".angle", "is %s deg, but %s joint %q fixes this body at %s deg; delete start or correct one of them",
				trimNum(b.Start.Angle*180/math.Pi), strings.ToLower(j.Kind()), name, trimNum(angle*180/math.Pi))
		}
	}
}
