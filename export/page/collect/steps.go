package collect

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/export/page"
	"tuckfinger/params"
	"tuckfinger/parts"
)

// steps turns the order into instructions.
func (in *Input) steps(out *page.Data) []page.Step {
	s := in.stack()
	order := s.order()
	list := []page.Step{in.prepare()}
	var before []int
	there := map[string]bool{}
	ready := map[int]bool{}
	for _, pl := range order {
		p := in.Parts[pl.part]
		st := page.Step{Body: pl.part, Before: slices.Clone(before)}
		st.Title = "Add the " + p.Name
		if len(before) == 0 {
			st.Title = "Lay down the " + p.Name
		}
		st.Things = append(st.Things, "printed part "+p.Name)
		in.bench(p, s, out, &st)
		in.lower(p, pl, there, &st)
		there[p.Name] = true
		in.through(s, there, ready, out, &st)
		in.screws(p, &st)
		before = append(before, pl.part)
		list = append(list, st)
	}
	return append(list, in.finish(out, before))
}

// prepare is the step before anything goes together: printing, and bringing
// single parts to size.
func (in *Input) prepare() page.Step {
	st := page.Step{Title: "Print and prepare", Body: -1}
	st.Do = append(st.Do, fmt.Sprintf("Print all plates in %s at a layer height of %.3g mm, solid and as they are, without scaling: sizes already include the compensation of the process, and strength is computed without hollows.",
		in.materials(), in.Design.Printer().Layer.Height),
		"Remove strings and the first layer's lip.")
	switch slot := in.has(func(f *params.Feature) bool { return f.Slot != nil }); {
	case slot && len(in.Design.Ramps.Names) > 0:
		st.Do = append(st.Do, "Slots and slits must be free along their whole length.")
	case slot:
		st.Do = append(st.Do, "Slots must be free along their whole length.")
	}
	type size struct {
		d        float64
		fit      string
		hasJoint bool
	}
	where := map[size][]string{}
	var order []size
	for _, p := range in.Parts {
		for _, h := range p.Holes {
			if !sized(h.Fit) {
				continue
			}
			k := size{h.Nominal, h.Fit, h.Joint != ""}
			if where[k] == nil {
				order = append(order, k)
			}
			at := fmt.Sprintf("%s at %s", p.Name, h.Joint)
			if h.Joint == "" {
				at = fmt.Sprintf("%s at %s", p.Name, point(h.At))
			}
			where[k] = append(where[k], at)
		}
	}
	for _, k := range order {
		verb, what := "Ream", "the pin"
		if !k.hasJoint {
			verb, what = "File", "what belongs there"
		}
		how := what + " turns freely"
		switch k.fit {
		case "sliding":
			how = what + " slides freely"
		case "location":
			how = what + " goes in by hand, without play"
		}
		st.Do = append(st.Do, fmt.Sprintf("%s to %.3g mm, until %s: %s.", verb, k.d, how, strings.Join(where[k], ", ")))
	}
	if len(order) > 0 {
		st.Why = "holes come out of a printer narrow and out of round; they are brought to size while the parts can still be held"
	}
	var inserts []string
	for i := range in.Items {
		if it := &in.Items[i]; it.Kind == "insert" {
			st.Things = append(st.Things, thing(it))
			if !slices.Contains(inserts, it.Where) {
				inserts = append(inserts, it.Where)
			}
		}
	}
	if len(inserts) > 0 {
		st.Do = append(st.Do, "Melt the threaded inserts into the "+listed(inserts)+", straight and flush.")
	}
	in.holds(&st)
	return st
}

// materials lists what is printed in what, the most used plastic first.
func (in *Input) materials() string {
	usual := in.Design.Material("").Name
	list := usual
	for _, p := range in.Parts {
		if p.Material.Name != usual {
			list += fmt.Sprintf(", %s in %s", p.Name, p.Material.Name)
		}
	}
	return list
}

// holds fits what is bought for a hold into the two bodies of its joint, while
// these are still apart.
func (in *Input) holds(st *page.Step) {
	for i := range in.Items {
		it := &in.Items[i]
		h := in.Design.Holds.Get(it.Where)
		if it.Kind != "detent" || h == nil {
			continue
		}
		st.Things = append(st.Things, thing(it))
		poles := ""
		if strings.Contains(it.What, "magnet") {
			poles = " Unlike poles of the magnets must face each other."
		}
		if j := in.Design.Joints.Get(h.Joint); j != nil && j.Pin != nil {
			st.Do = append(st.Do, fmt.Sprintf("Fit %s where %s and %s meet for the hold %s: with the joint %s at %s° they must resist turning with about %.3g N·mm.%s",
				strings.TrimSuffix(thing(it), " ("+it.Where+")"), j.Pin.At.Names[0], j.Pin.At.Names[1], it.Where, h.Joint, minus(h.Angle*180/math.Pi), h.Torque, poles))
		}
	}
}

// minus writes a number with a true minus sign.
func minus(v float64) string { return strings.Replace(fmt.Sprintf("%.4g", v), "-", "−", 1) }

// point is a place in a body's frame, as in the finger file.
func point(p r2.Vec) string { return fmt.Sprintf("(%s, %s) mm", minus(p.X), minus(p.Y)) }

func thing(it *parts.Item) string {
	t := it.What
	if it.Count > 1 {
		t = fmt.Sprintf("%d × %s", it.Count, t)
	}
	if it.Where != "" {
		t += " (" + it.Where + ")"
	}
	return t
}

// bench presses pins into a part before it is placed.
func (in *Input) bench(p *parts.Part, s *stack, out *page.Data, st *page.Step) {
	for i := range in.Items {
		it := &in.Items[i]
		switch {
		case it.Kind == "pin" && it.Body == p.Name && !s.late[i] && it.Radius > 0:
			st.Things = append(st.Things, thing(it))
			st.Pins = append(st.Pins, pinIndex(out, it))
			st.Do = append(st.Do, in.press(it, p))
		case it.Kind == "pad":
			if pad := in.Design.Pads.Get(it.Where); pad != nil && pad.Body == p.Name {
				st.Things = append(st.Things, it.What+", "+it.Size+" ("+it.Where+")")
				st.Do = append(st.Do, fmt.Sprintf("Glue the pad %s on: clean and roughen the face, let it cure.", it.Where))
			}
		}
	}
}

// around is the z range of the material around a hole.
func around(p *parts.Part, at r2.Vec, radius float64) (z0, z1 float64) {
	z0, z1 = math.Inf(1), math.Inf(-1)
	for _, s := range p.Solid.Slabs() {
		for i := range 8 {
			sin, cos := math.Sincos(math.Pi / 4 * float64(i))
			if r := radius + 0.4; s.Region.Contains(r2.Vec{X: at.X + r*cos, Y: at.Y + r*sin}) {
				z0, z1 = math.Min(z0, s.Z0), math.Max(z1, s.Z1)
				break
			}
		}
	}
	if z0 > z1 {
		return p.Solid.ZRange()
	}
	return z0, z1
}

// press says how a pin goes into its part.
func (in *Input) press(it *parts.Item, p *parts.Part) string {
	z0, z1 := around(p, it.At, it.Radius)
	var out []string
	if d := z0 - it.Z0; d > 0.05 {
		out = append(out, fmt.Sprintf("%.1f mm below", d))
	}
	if d := it.Z1 - z1; d > 0.05 {
		out = append(out, fmt.Sprintf("%.1f mm above", d))
	}
	stand := "flush with or inside the part"
	if len(out) > 0 {
		stand = strings.Join(out, " and ") + " the part"
	}
	if it.Press > 0 {
		return fmt.Sprintf("Press pin %s (%s) square into the %s, in a vice or with a pin punch, until it stands %s.", it.Where, it.Size, p.Name, stand)
	}
	return fmt.Sprintf("Put pin %s (%s) into the %s; it stands %s. No part holds it by a press fit: secure it with a drop of glue.", it.Where, it.Size, p.Name, stand)
}

func pinIndex(out *page.Data, it *parts.Item) int {
	return slices.IndexFunc(out.Pins, func(p page.Pin) bool { return p.Name == it.Where && math.Abs(p.Z0-it.Z0) < 1e-9 })
}

// lower says how a part goes onto those that are there.
func (in *Input) lower(p *parts.Part, pl placed, there map[string]bool, st *page.Step) {
	if len(there) == 0 {
		st.Do = append(st.Do, "Lay it down with its lowest face on the bench; everything else comes onto it from above.")
		st.Why = "the " + p.Name + " carries all others"
		return
	}
	if p.Body.Plane == "xz" {
		st.Do = append(st.Do, "Push it on from its side; its layers run along the finger.")
		st.Why = "it comes from the side, when the stack is complete"
		return
	}
	var onto []string
	for i := range in.Items {
		it := &in.Items[i]
		if it.Kind != "pin" || !slices.Contains(it.Bodies, p.Name) {
			continue
		}
		for _, b := range it.Bodies {
			if b != p.Name && there[b] {
				onto = append(onto, fmt.Sprintf("%s on the %s", it.Where, b))
			}
		}
	}
	do := "Lower it from above"
	if len(onto) > 0 {
		do += ", lined up at " + strings.Join(onto, ", ")
	}
	if on := in.fixedTo(p.Name); on != "" {
		st.Do = append(st.Do, fmt.Sprintf("%s, and seat it on the %s without a gap; nothing that moves may rub on it.", do, on))
	} else {
		st.Do = append(st.Do, do+". It must move easily by hand; if it does not, find where it rubs and free it there, without force.")
	}
	for i := range in.Design.Joints.Values {
		if sl := in.Design.Joints.Values[i].Slide; sl != nil && sl.Body == p.Name && there[sl.On] {
			st.Do = append(st.Do, fmt.Sprintf("The %s must run along the %s over the whole %.3g mm of travel, with about %.2g mm of play across.", p.Name, sl.On, in.Mechanism.Travel, sl.Play))
		}
	}
	if len(pl.over) > 0 {
		var names []string
		for _, k := range pl.over {
			names = append(names, in.Parts[k].Name)
		}
		st.Do = append(st.Do, fmt.Sprintf("It interlocks with the %s: bring them together at once, tilting one of them.", listed(names)))
		st.Why = "they lock into each other, neither can come last from above"
		return
	}
	st.Why = "nothing of it lies under a part that is there already"
}

// fixedTo is the body that a part is rigidly joined to, "" if it moves.
func (in *Input) fixedTo(name string) string {
	for i := range in.Design.Joints.Values {
		if r := in.Design.Joints.Values[i].Rigid; r != nil && r.Body == name {
			return r.On
		}
	}
	return ""
}

// through pushes pins in that had to wait, as soon as all their parts are there.
func (in *Input) through(s *stack, there map[string]bool, ready map[int]bool, out *page.Data, st *page.Step) {
	for i := range in.Items {
		it := &in.Items[i]
		if !s.late[i] || ready[i] || slices.ContainsFunc(it.Bodies, func(b string) bool { return !there[b] }) {
			continue
		}
		ready[i] = true
		st.Things = append(st.Things, thing(it))
		st.Pins = append(st.Pins, pinIndex(out, it))
		keep := "secure it with a drop of glue in the " + it.Body
		if it.Press > 0 {
			keep = "it is pressed into the " + it.Body
		}
		st.Do = append(st.Do, fmt.Sprintf("Line up %s and push pin %s (%s) through; %s.", listed(it.Bodies), it.Where, it.Size, keep))
	}
}

// screws are driven in with the part that lists them, or with the last one that
// is joined to it. Equal ones are one thing to lay ready.
func (in *Input) screws(p *parts.Part, st *page.Step) {
	var all []parts.Item
	for i := range in.Items {
		it := in.Items[i]
		if it.Kind != "screw" && it.Kind != "nut" && it.Kind != "washer" || it.Where != p.Name {
			continue
		}
		if k := slices.IndexFunc(all, func(o parts.Item) bool { return o.Kind == it.Kind && o.What == it.What }); k >= 0 {
			all[k].Count += it.Count
			continue
		}
		all = append(all, it)
	}
	for i := range all {
		st.Things = append(st.Things, thing(&all[i]))
	}
	if slices.ContainsFunc(all, func(it parts.Item) bool { return it.Kind == "screw" }) {
		st.Do = append(st.Do, "Screws of the "+p.Name+": tighten by hand, in turns, until they are snug and no further, for plastic strips.")
	}
}

// finish fits what drives and pulls the finger.
func (in *Input) finish(out *page.Data, before []int) page.Step {
	st := page.Step{Title: "Fit the drive", Body: -1, Before: before, Why: "the finger must move freely by hand before a motor hides what binds"}
	if len(in.Design.Springs.Names) > 0 {
		st.Title = "Fit springs and drive"
	}
	for i := range in.Items {
		switch it := &in.Items[i]; it.Kind {
		case "drive":
			st.Things = append(st.Things, thing(it))
		case "spring":
			st.Things = append(st.Things, thing(it))
			switch sp := in.Design.Springs.Get(it.Where); {
			case sp == nil:
			case sp.Linear != nil:
				from, to := sp.Linear.From, sp.Linear.To
				st.Do = append(st.Do, fmt.Sprintf("Hook spring %s in, from the %s at %s to the %s at %s.", it.Where, from.Body, point(from.At), to.Body, point(to.At)))
			case sp.Torsion != nil:
				st.Do = append(st.Do, fmt.Sprintf("Set spring %s about the pin of joint %s, free at %s°.", it.Where, sp.Torsion.Joint, minus(sp.Torsion.Free*180/math.Pi)))
			}
		}
	}
	move := "Move the finger by hand through the whole stroke, out and back."
	if len(out.Events()) > 0 {
		move += " The events listed under “First test” must come in that order."
	}
	st.Do = append(st.Do, move, "Fit the drive with the slide at s = 0, the tucked pose.")
	return st
}
