package params

import "slices"

// checker looks for contradictions between values that are each good. It works
// on faulty files too, and leaves out what rests on a faulty value.
type checker struct {
	d      *decoder
	design *Design
}

func check(d *decoder, design *Design) {
	c := &checker{d, design}
	c.name()
	c.dimensions()
	c.bodies()
	c.joints()
	c.connected()
	for i, name := range design.Bodies.Names {
		c.features(name, &design.Bodies.Values[i])
	}
	c.stances()
	c.drive()
	c.ramps()
	c.clips()
	c.holds()
	c.stops()
	c.springs()
	c.pads()
	c.order()
	c.place()
	if c.d.copied {
		return // what is bought and drawn is the design's, not the copy's
	}
	c.process()
	c.printed()
	c.tune()
}

// ok reports whether none of the values is faulty.
func (c *checker) ok(paths ...string) bool {
	for _, p := range paths {
		if c.d.out.bad[p] {
			return false
		}
	}
	return true
}

// given reports whether a value stands in the file and is good.
func (c *checker) given(path string) bool {
	_, has := c.d.origin.Pos[path]
	return has && c.ok(path)
}

func (c *checker) errorf(path, format string, args ...any) {
	c.d.out.errorf(c.d.origin.At(path), path, format, args...)
}

func (c *checker) warnf(path, format string, args ...any) {
	c.d.out.warnf(c.d.origin.At(path), path, format, args...)
}

func (c *checker) name() {
	if !c.given("name") {
		return
	}
	if err := CheckName(c.design.Name); err != nil {
		c.errorf("name", "%v", err)
	}
}

// dimensions checks ranges and reports dimensions that nothing uses.
func (c *checker) dimensions() {
	dims := &c.design.Dimensions
	for i, name := range dims.Names {
		v := &dims.Values[i]
		at := "dimensions." + name
		unit := unitSuffix(v.Unit)
		if r := v.Range; c.given(at + ".range") {
			switch {
			case len(r) != 2:
				c.errorf(at+".range", "must be [low, high], two numbers; this list has %d", len(r))
			case r[0] >= r[1]:
				c.errorf(at+".range", "is empty: high (%s%s) must be above low (%s%s)", exactNum(r[1]), unit, exactNum(r[0]), unit)
			case !c.d.copied && c.given(at+".value") && (v.Value < r[0] || v.Value > r[1]):
				c.errorf(at+".value", "is %s%s, outside its range of %s to %s%s; change the value or the range",
					exactNum(v.Value), unit, exactNum(r[0]), exactNum(r[1]), unit)
			}
		}
	}
	used := map[string]bool{}
	for _, v := range c.d.dims.list {
		if c.d.dims.used[v.name] {
			used[v.name] = true
			for _, u := range v.uses {
				used[u] = true
			}
		}
	}
	for _, name := range dims.Names {
		if !used[name] {
			c.warnf("dimensions."+name, "is not used by anything; use it or delete it")
		}
	}
}

func (c *checker) bodies() {
	bodies := &c.design.Bodies
	if !c.given("bodies") && bodies.Len() == 0 {
		return
	}
	ground := -1
	for i, name := range bodies.Names {
		b := &bodies.Values[i]
		at := "bodies." + name
		if b.Start != nil && b.Near != nil {
			c.errorf(at+".near", `"start" (exact) and "near" (rough) are both given; delete one`)
		}
		if !b.Ground {
			continue
		}
		if ground >= 0 {
			c.errorf(at+".ground", "%q is the ground body already; exactly one body stands still", bodies.Names[ground])
			continue
		}
		ground = i
		for stance, s := range map[string]*Stance{".start": b.Start, ".near": b.Near} {
			if s != nil {
				c.errorf(at+stance, "the ground body's frame is the finger frame, so its angle is 0; delete this")
			}
		}
		if c.given(at+".role") && b.Role != "spine" && b.Role != "mount" {
			c.errorf(at+".role", "the ground body cannot be a %s; choose spine or mount", b.Role)
		} else if !c.given(at + ".role") {
			b.Role = "spine"
		}
	}
	if ground < 0 && bodies.Len() > 0 {
		for _, name := range bodies.Names {
			if c.d.out.bad["bodies."+name+".ground"] {
				return
			}
		}
		c.errorf("bodies", `no body stands still; write "ground: true" in the spine`)
	} else if bodies.Len() == 0 && c.ok("bodies") {
		c.errorf("bodies", "has no entries; a finger needs the spine, the carriage and links")
	}
}

// connected checks that joints lead from the ground to every body.
func (c *checker) connected() {
	if !c.ok("joints") {
		return
	}
	bodies := &c.design.Bodies
	root := map[string]string{}
	for _, name := range bodies.Names {
		root[name] = name
	}
	find := func(n string) string {
		for root[n] != n {
			n = root[n]
		}
		return n
	}
	for i := range c.design.Joints.Values {
		names := c.design.Joints.Values[i].Bodies()
		for _, n := range names {
			if root[n] == "" || root[names[0]] == "" {
				return
			}
			root[find(n)] = find(names[0])
		}
	}
	for i, name := range bodies.Names {
		if !bodies.Values[i].Ground {
			continue
		}
		for _, other := range bodies.Names {
			if find(other) != find(name) {
				c.errorf("bodies."+other, "no chain of joints leads from the ground body %q to it; connect it or delete it", name)
			}
		}
		return
	}
}

// Bodies returns the names of the bodies that a joint connects.
func (j *Joint) Bodies() []string {
	switch {
	case j.Pin != nil:
		return slices.Clone(j.Pin.At.Names)
	case j.Slide != nil:
		return []string{j.Slide.On, j.Slide.Body}
	case j.Slot != nil:
		return []string{j.Slot.On, j.Slot.Body}
	case j.Rigid != nil:
		return []string{j.Rigid.On, j.Rigid.Body}
	}
	return nil
}

// Kind returns "pin", "slide", "slot" or "rigid".
func (j *Joint) Kind() string {
	switch {
	case j.Pin != nil:
		return "pin"
	case j.Slide != nil:
		return "slide"
	case j.Slot != nil:
		return "slot"
	}
	return "rigid"
}
