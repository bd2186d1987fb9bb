package parts

import (
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/parts/profile"
	"tuckfinger/parts/solid"
)

// feature applies one building step. Which kind it is was settled by params.
func (b *builder) feature(path string, f *params.Feature) {
	switch {
	case f.Boss != nil:
		b.boss(path+".boss", f.Boss)
	case f.Bar != nil:
		b.bar(path+".bar", f.Bar)
	case f.Outline != nil:
		b.outline(path+".outline", f.Outline, false)
	case f.Window != nil:
		b.outline(path+".window", f.Window, true)
	case f.Hole != nil:
		b.hole(path+".hole", f.Hole)
	case f.Slot != nil:
		b.slot(path+".slot", f.Slot)
	case f.Arm != nil:
		b.arm(path+".arm", f.Arm)
	case f.Post != nil:
		b.post(path+".post", f.Post)
	case f.Pad != nil:
		b.pad(path+".pad", f.Pad)
	case f.Screws != nil:
		b.screws(path+".screws", f.Screws)
	case f.Rack != nil:
		if z0, z1, ok := b.span(path+".rack", f.Rack.Layer); ok {
			r, err := rackRegion(f.Rack, b.tag(path+".rack", "rack"))
			b.add(path+".rack", r, err, z0, z1)
		}
	case f.Bore != nil:
		b.tag(path+".bore", "bore")
		o := f.Bore
		b.part.Bores = append(b.part.Bores, Bore{path + ".bore", solid.Bore{From: o.From, To: o.To, Z: o.Z, Diameter: o.Diameter}})
	case f.Round != nil:
		if z0, z1, ok := b.span(path+".round", f.Round.Layer); ok {
			if err := b.stack.Round(f.Round.Inside, f.Round.Outside, z0, z1); err != nil {
				b.fail(path+".round", "%v", err)
			}
		}
	}
}

func (b *builder) boss(path string, f *params.Boss) {
	z0, z1, ok := b.span(path, f.Layer)
	at, found := b.spot(path+".at", f.At)
	if ok && found {
		label := "boss"
		if f.At.Joint != "" {
			label = "boss " + f.At.Joint
		}
		r, err := profile.Circle(at, f.Radius, b.tag(path, label))
		b.add(path, r, err, z0, z1)
	}
}

func (b *builder) bar(path string, f *params.Bar) {
	z0, z1, ok := b.span(path, f.Layer)
	from, ok1 := b.spot(path+".from", f.From)
	to, ok2 := b.spot(path+".to", f.To)
	if ok && ok1 && ok2 {
		r, err := profile.Bar(from, to, f.Width, b.tag(path, "bar"))
		b.add(path, r, err, z0, z1)
	}
}

func (b *builder) outline(path string, f *params.Outline, window bool) {
	z0, z1, ok := b.span(path, f.Layer)
	if !ok {
		return
	}
	label := "outline"
	if window {
		label = "window"
	}
	tag := b.tag(path, label)
	corners := make([]profile.Corner, len(f.Points))
	for i, c := range f.Points {
		corners[i] = profile.Corner{P: c.At, Radius: f.Fillet, Tag: tag}
		if c.Fillet != nil {
			corners[i].Radius = *c.Fillet
		}
	}
	r, err := profile.Filleted(corners)
	if window {
		r, err = b.widened(r, err)
		b.cut(path, r, err, z0, z1)
	} else {
		b.add(path, r, err, z0, z1)
	}
}

func (b *builder) hole(path string, f *params.Hole) {
	z0, z1, ok := b.span(path, f.Layer)
	at, found := b.spot(path+".at", f.At)
	if !ok || !found {
		return
	}
	fit, ok := b.fit(path, f.Fit, f.At.Joint)
	if !ok {
		return
	}
	label, d := "hole", 0.0
	if f.At.Joint != "" {
		label = "hole " + f.At.Joint
		if j := b.d.Joints.Get(f.At.Joint); j.Pin != nil {
			d = j.Pin.Diameter
		} else {
			d = SlotPin(b.d, j.Slot)
		}
	}
	if f.Diameter != nil {
		d = *f.Diameter
	}
	if d == 0 {
		b.fail(path, "this hole has no joint to take its diameter from; give diameter")
		return
	}
	b.round(path, f.At.Joint, label, at, d, fit, z0, z1)
}

// SlotPin returns the diameter of the pin in a slot joint: its own or that of
// the pin joint that shares the pin.
func SlotPin(d *params.Design, s *params.SlotJoint) float64 {
	if s.Diameter != nil {
		return *s.Diameter
	}
	if j := d.Joints.Get(s.Shares); j != nil && j.Pin != nil {
		return j.Pin.Diameter
	}
	return 0
}

func (b *builder) slot(path string, f *params.SlotCut) {
	z0, z1, ok := b.span(path, f.Layer)
	if !ok {
		return
	}
	joint := b.d.Joints.Get(f.Joint)
	if joint == nil || joint.Slot == nil || joint.Slot.On != b.name {
		b.fail(path+".joint", "%q is not a slot joint whose path is on body %q", f.Joint, b.name)
		return
	}
	where := "joints." + f.Joint + ".slot.path"
	sp, err := NewSlotPath(joint.Slot)
	if err != nil {
		b.fail(where, "%v", err)
		return
	}
	size := b.printer.Slot(SlotPin(b.d, joint.Slot), joint.Slot.Play)
	tag := b.tag(path, "slot "+f.Joint)
	var ramps []*params.Ramp
	var tags []int32
	for i, name := range b.d.Ramps.Names {
		r := &b.d.Ramps.Values[i]
		if r.Slot != f.Joint {
			continue
		}
		slitTag := b.tag("ramps."+name+".rail", "slit "+name)
		slit, err := slitRegion(sp, r, size.Printed(), slitTag)
		slit, err = b.widened(slit, err)
		b.cut("ramps."+name+".rail", slit, err, z0, z1)
		if b.variant != rigid {
			ramps, tags = append(ramps, r), append(tags, b.tag("ramps."+name, "ramp "+name))
		}
	}
	open, err := slotRegion(sp, size.Printed(), ramps, tags, tag)
	open, err = b.widened(open, err)
	b.cut(where, open, err, z0, z1)
}

func (b *builder) arm(path string, f *params.ArmAdd) {
	z0, z1, ok := b.span(path, f.Layer)
	c := b.d.Clips.Get(f.Clip)
	if !ok {
		return
	}
	if c == nil || c.Arm.Body != b.name {
		b.fail(path+".clip", "%q is not a clip whose arm is on body %q", f.Clip, b.name)
		return
	}
	tag := b.tag("clips."+f.Clip+".arm", "arm "+f.Clip)
	loop, err := armLoop(&c.Arm, 0)
	if b.variant == rigid {
		if err != nil {
			b.fail("clips."+f.Clip+".arm", "%v", err)
		}
		return
	}
	b.add("clips."+f.Clip+".arm", profile.Region{loop}.Retag(tag), err, z0, z1)
}

func (b *builder) post(path string, f *params.PostAdd) {
	z0, z1, ok := b.span(path, f.Layer)
	c := b.d.Clips.Get(f.Clip)
	if !ok {
		return
	}
	if c == nil || c.Post.Body != b.name {
		b.fail(path+".clip", "%q is not a clip whose post is on body %q", f.Clip, b.name)
		return
	}
	if c.Post.Standard == "printed" {
		tag := b.tag("clips."+f.Clip+".post", "post "+f.Clip)
		r, err := profile.Circle(c.Post.At, c.Post.Radius, tag)
		b.add(path, r, err, z0, z1)
		return
	}
	b.round(path, f.Clip, "post "+f.Clip, c.Post.At, 2*c.Post.Radius, "press", z0, z1)
}

func (b *builder) pad(path string, f *params.PadSeat) {
	z0, z1, ok := b.span(path, f.Layer)
	p := b.d.Pads.Get(f.Pad)
	if !ok {
		return
	}
	if p == nil || p.Body != b.name {
		b.fail(path+".pad", "%q is not a pad on body %q", f.Pad, b.name)
		return
	}
	if f.Depth == 0 {
		return // the pad is glued onto the surface
	}
	along := r2.Unit(r2.Sub(p.To, p.From))
	in := r2.Vec{X: -along.Y, Y: along.X}
	const over = 0.5 // mm beyond the surface, so that no edges coincide
	lo, hi := r2.Scale(-over, in), r2.Scale(f.Depth, in)
	pts := []r2.Vec{r2.Add(p.From, lo), r2.Add(p.To, lo), r2.Add(p.To, hi), r2.Add(p.From, hi)}
	r, err := profile.Polygon(pts, b.tag(path, "seat "+f.Pad))
	r, err = b.widened(r, err)
	b.cut(path, r, err, z0, z1)
}
