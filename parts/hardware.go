package parts

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/params/tables"
)

// Item is one bought thing in its place. Every line of the bill of materials
// counts items; the clearance check moves those that have a shape.
type Item struct {
	Kind     string // "pin", "screw", "insert", "nut", "washer", "spring", "pad", "detent", "drive"
	What     string // designation to order by
	Standard string // "ISO 2338", or ""
	Size     string
	Length   float64 // mm, 0 where it has none
	Mass     float64 // g, 0 where it is not known
	Count    int
	Where    string // joint, clip or body that it belongs to
	Path     string // place in the finger file
	Note     string
	// A round item along z has a radius and stands on Body at At (body frame)
	// from Z0 to Z1 (finger z); Radius 0 means that its shape is not modelled.
	Body   string
	At     r2.Vec
	Z0, Z1 float64
	Radius float64
	// Bodies are those with a hole or slot for it.
	Bodies []string
	// Press is how long its press fits are in all, Span the whole depth of its
	// holes and slots, both mm along z. Problem is why no standard length fits.
	Press, Span float64
	Problem     string
}

// pinShort is how much shorter than its holes a pin may be, in diameters: half
// a diameter at either end. Common practice, no source.
const pinShort = 1.0

// steel is the material of bought pins without one of their own, g/cm³.
const steel = 7.85

// Hardware returns all bought items of a design, in the order of the file.
func Hardware(d *params.Design, all []*Part) ([]Item, error) {
	var items []Item
	var errs params.Errors
	fail := func(path string, err error) { errs = append(errs, d.ErrorAt(path, err.Error())) }
	for i, name := range d.Joints.Names {
		j := &d.Joints.Values[i]
		path := "joints." + name
		switch {
		case j.Pin != nil && j.Pin.Standard != "printed":
			it, err := pinItem(d, all, name, path+".pin", j.Pin.Standard, j.Pin.Class, j.Pin.Diameter)
			if err != nil {
				fail(path+".pin", err)
				continue
			}
			items = append(items, it)
		case j.Slot != nil && j.Slot.Shares == "" && j.Slot.Standard != "printed":
			it, err := pinItem(d, all, name, path+".slot", j.Slot.Standard, "m6", SlotPin(d, j.Slot))
			if err != nil {
				fail(path+".slot", err)
				continue
			}
			items = append(items, it)
		}
	}
	for i, name := range d.Clips.Names {
		c := &d.Clips.Values[i]
		if c.Post.Standard == "printed" {
			continue
		}
		path := "clips." + name + ".post"
		it, err := pinItem(d, all, name, path, c.Post.Standard, "m6", 2*c.Post.Radius)
		if err != nil {
			fail(path, err)
			continue
		}
		items = append(items, it)
	}
	for _, p := range all {
		for i := range p.Body.Features {
			if s := p.Body.Features[i].Screws; s != nil {
				path := fmt.Sprintf("bodies.%s.features[%d].screws", p.Name, i)
				more, err := screwItems(d, p, path, s)
				if err != nil {
					fail(path, err)
				}
				items = append(items, more...)
			}
		}
	}
	for i, name := range d.Holds.Names {
		if h := &d.Holds.Values[i]; h.What != "" {
			items = append(items, Item{Kind: "detent", What: h.What, Count: h.Count, Where: name, Path: "holds." + name})
		}
	}
	for i, name := range d.Springs.Names {
		items = append(items, springItem(name, &d.Springs.Values[i]))
	}
	for i, name := range d.Pads.Names {
		p := &d.Pads.Values[i]
		length := r2.Norm(r2.Sub(p.To, p.From))
		items = append(items, Item{Kind: "pad", What: p.What, Count: 1, Where: name, Path: "pads." + name, Length: length,
			Size: fmt.Sprintf("%.3g x %.3g mm, %.3g mm thick", length, p.Width, p.Thickness)})
	}
	drive, err := driveItems(d)
	if err != nil {
		fail("drive", err)
	}
	items = append(items, drive...)
	if len(errs) > 0 {
		errs.Sort()
		return nil, errs
	}
	return items, nil
}

// springItem is a spring to buy or to wind.
func springItem(name string, s *params.Spring) Item {
	it := Item{Kind: "spring", Count: 1, Where: name, Path: "springs." + name}
	if l := s.Linear; l != nil {
		it.What = "spring that pulls and pushes"
		if l.Slack {
			it.What = "tension spring or rubber band"
		}
		it.Size = fmt.Sprintf("%.4g N/mm, %.4g mm long without force", l.Rate, l.Free)
		return it
	}
	it.What = "torsion spring"
	it.Size = fmt.Sprintf("%.4g N·mm/deg", s.Torsion.Rate*math.Pi/180)
	it.Note = fmt.Sprintf("without torque at %.4g° of joint %s", s.Torsion.Free*180/math.Pi, s.Torsion.Joint)
	return it
}

// pinItem chooses and places the pin of a joint or clip: the longest standard
// length that its holes and slots hold, standing in the middle of them.
func pinItem(d *params.Design, all []*Part, name, path, standard, class string, diameter float64) (Item, error) {
	pin, err := d.Lib.Pin(standard, diameter)
	if err != nil {
		return Item{}, err
	}
	if _, _, err := pin.Limits(class); err != nil {
		return Item{}, err
	}
	it := Item{Kind: "pin", Standard: tables.PinStandard(standard), Size: fmt.Sprintf("%.3g mm", diameter), Count: 1,
		Where: name, Path: path, Radius: diameter / 2, Z0: math.Inf(1), Z1: math.Inf(-1)}
	reach := func(body string, z0, z1 float64) {
		it.Z0, it.Z1 = math.Min(it.Z0, z0), math.Max(it.Z1, z1)
		if !slices.Contains(it.Bodies, body) {
			it.Bodies = append(it.Bodies, body)
		}
	}
	for _, p := range all {
		for _, h := range p.Holes {
			if h.Joint != name && !sharesPin(d, h.Joint, name) {
				continue
			}
			reach(p.Name, h.Z0, h.Z1)
			// The pin goes with the body that it is pressed into.
			if h.Fit == "press" || it.Body == "" {
				it.Body, it.At = p.Name, h.At
			}
			if h.Fit == "press" {
				it.Press += walled(p, h)
			}
		}
	}
	for i, joint := range d.Joints.Names {
		s := d.Joints.Values[i].Slot
		if s == nil || joint != name && s.Shares != name {
			continue
		}
		for _, p := range all {
			if z0, z1, ok := slotSpan(d, p, s); ok {
				reach(p.Name, z0, z1)
			}
		}
	}
	if it.Body == "" {
		return Item{}, fmt.Errorf("no body has a hole for this pin; add hole: {at: %s} to the features of its bodies", name)
	}
	it.Span = it.Z1 - it.Z0
	length, err := pin.Length(it.Span-pinShort*diameter, it.Span)
	if err != nil {
		it.Problem = err.Error()
		length = it.Span
	}
	mid := (it.Z0 + it.Z1) / 2
	it.Z0, it.Z1, it.Length = mid-length/2, mid+length/2, length
	if it.What = pin.Designation(class, length); it.Problem != "" {
		it.What, it.Standard = fmt.Sprintf("pin %.4g x %.2f, no standard length", diameter, length), ""
	}
	density := steel
	if m := d.Lib.Materials.Get(pin.Material); m != nil {
		density = m.Density.Value
	}
	it.Mass = pin.Mass(length, density)
	return it, nil
}

// walled returns the length of a hole, along z, that has material around it.
func walled(p *Part, h Hole) float64 {
	const around, enough = 8, 5 // of this many points just outside the hole
	r := (h.Nominal+h.Clearance)/2 + 0.2
	length := 0.0
	for _, s := range p.Solid.Slabs() {
		z0, z1 := math.Max(s.Z0, h.Z0), math.Min(s.Z1, h.Z1)
		if z1 <= z0 {
			continue
		}
		in := 0
		for i := range around {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / around)
			if s.Region.Contains(r2.Vec{X: h.At.X + r*cos, Y: h.At.Y + r*sin}) {
				in++
			}
		}
		if in >= enough {
			length += z1 - z0
		}
	}
	return length
}

// sharesPin reports whether a slot joint runs on the pin of another joint.
func sharesPin(d *params.Design, slot, pin string) bool {
	j := d.Joints.Get(slot)
	return j != nil && j.Slot != nil && j.Slot.Shares == pin
}

// slotSpan returns the z range of the slot that a slot joint's pin runs in, if
// this part has it. Two pins may run in one slot: then their paths are the same.
func slotSpan(d *params.Design, p *Part, joint *params.SlotJoint) (z0, z1 float64, ok bool) {
	if p.Name != joint.On {
		return 0, 0, false
	}
	for i := range p.Body.Features {
		s := p.Body.Features[i].Slot
		if s == nil {
			continue
		}
		cut := d.Joints.Get(s.Joint)
		if cut == nil || cut.Slot == nil || !slices.Equal(cut.Slot.Path, joint.Path) {
			continue
		}
		l := s.Layer
		if l == nil {
			l = p.Body.Layer
		}
		if l != nil {
			return l.From, l.To, true
		}
	}
	return 0, 0, false
}
