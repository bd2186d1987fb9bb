package parts

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/params/tables"
	"tuckfinger/parts/profile"
	"tuckfinger/parts/solid"
)

// variant is which of a body's solids is being made.
type variant int

const (
	nominal variant = iota // as it works
	rigid                  // as it works, without arms and ramps
	printed                // as it is modelled for the printer
)

// builder makes the solids of one body.
type builder struct {
	d       *params.Design
	name    string
	body    *params.Body
	printer tables.Printer
	part    *Part
	errs    params.Errors

	variant variant
	stack   *solid.Builder
}

// Build makes the parts of all bodies that have features, in the file's order.
// The error is a params.Errors that lists every feature that can't be built,
// with its place.
func Build(d *params.Design) ([]*Part, error) {
	var all []*Part
	var errs params.Errors
	for i, name := range d.Bodies.Names {
		body := &d.Bodies.Values[i]
		if len(body.Features) == 0 {
			continue
		}
		b := &builder{d: d, name: name, body: body, printer: d.Printer()}
		b.part = &Part{Name: name, Body: body, Material: d.Material(name)}
		b.run()
		errs = append(errs, b.errs...)
		all = append(all, b.part)
	}
	if len(errs) > 0 {
		errs.Sort()
		return nil, errs
	}
	return all, nil
}

func (b *builder) fail(path, format string, args ...any) {
	b.errs = append(b.errs, b.d.ErrorAt(path, fmt.Sprintf(format, args...)))
}

// run makes the three solids of the body.
func (b *builder) run() {
	p := b.part
	p.Solid = b.make(nominal)
	if len(b.errs) > 0 {
		return // the other variants would repeat the same errors
	}
	p.Shape = b.drilled(p.Solid, p.Bores)
	p.Rigid = b.make(rigid)
	if p.Layered = b.make(printed); len(b.errs) == 0 {
		b.lay()
	}
}

func (b *builder) make(v variant) *solid.Layered {
	b.variant, b.stack = v, solid.NewBuilder()
	b.part.Features, b.part.Holes, b.part.Bores = nil, nil, nil
	for i := range b.body.Features {
		path := fmt.Sprintf("bodies.%s.features[%d]", b.name, i)
		b.feature(path, &b.body.Features[i])
	}
	if len(b.errs) > 0 {
		return nil
	}
	l, err := b.stack.Build(0, 0)
	if err != nil {
		b.fail("bodies."+b.name+".features", "the solid can't be built: %v", err)
		return nil
	}
	if l.IsEmpty() {
		b.fail("bodies."+b.name+".features", "nothing is left of this body")
		return nil
	}
	return l
}

// tag registers what makes the next edges.
func (b *builder) tag(path, label string) int32 {
	b.part.Features = append(b.part.Features, FeatureInfo{Path: path, Label: label})
	return int32(len(b.part.Features))
}

// span returns the z range of a feature.
func (b *builder) span(path string, s *params.Span) (z0, z1 float64, ok bool) {
	if s == nil {
		s = b.body.Layer
	}
	if s == nil {
		b.fail(path, "no layer is given, here or for the body; write layer: with one of the names under layers")
		return 0, 0, false
	}
	return s.From, s.To, true
}

// spot resolves a joint name or a point to the body frame.
func (b *builder) spot(path string, s params.Spot) (r2.Vec, bool) {
	if s.Joint == "" {
		return s.Point, true
	}
	at, err := JointPoint(b.d, s.Joint, b.name)
	if err != nil {
		b.fail(path, "%v", err)
		return r2.Vec{}, false
	}
	return at, true
}

// JointPoint returns where a pin or slot joint stands in a body's frame, mm.
func JointPoint(d *params.Design, joint, body string) (r2.Vec, error) {
	j := d.Joints.Get(joint)
	if j == nil {
		return r2.Vec{}, fmt.Errorf("there is no joint %q", joint)
	}
	switch {
	case j.Pin != nil:
		if at := j.Pin.At.Get(body); at != nil {
			return *at, nil
		}
	case j.Slot != nil && j.Slot.Body == body:
		return j.Slot.At, nil
	}
	return r2.Vec{}, fmt.Errorf("joint %q has no point on body %q; give a point [x, y]", joint, body)
}

// add and cut apply a region to the stack.
func (b *builder) add(path string, r profile.Region, err error, z0, z1 float64) {
	if err == nil {
		err = b.stack.Add(r, z0, z1)
	}
	if err != nil {
		b.fail(path, "%v", err)
	}
}

func (b *builder) cut(path string, r profile.Region, err error, z0, z1 float64) {
	if err == nil {
		err = b.stack.Cut(r, z0, z1)
	}
	if err != nil {
		b.fail(path, "%v", err)
	}
}

// widened grows a cut that is not a round hole by the process compensation.
func (b *builder) widened(r profile.Region, err error) (profile.Region, error) {
	if err != nil || b.variant != printed || b.printer.Compensation.Slot == 0 {
		return r, err
	}
	return profile.Offset(r, b.printer.Compensation.Slot/2)
}

// lay turns the printed stack onto the bed (the drawn up side up, its foot at
// z = 0), chamfers it and cuts the bores.
func (b *builder) lay() {
	p := b.part
	features := "bodies." + b.name + ".features"
	l := p.Layered
	over := b.body.Print.Up == "-z"
	if over {
		l = l.Flip()
	}
	z0, _ := l.ZRange()
	foot, top := b.printer.Compensation.Foot, 0.0
	if c := b.body.Chamfer.Bed; c != nil {
		foot = *c
	}
	if c := b.body.Chamfer.Top; c != nil {
		top = *c
	}
	onBed := solid.NewBuilder()
	for _, s := range l.Lift(-z0).Slabs() {
		r, err := trimmed(s.Region, b.printer.Compensation.Outer/2)
		if err == nil {
			err = onBed.Add(r, s.Z0, s.Z1)
		}
		if err != nil {
			b.fail(features, "%v", err)
			return
		}
	}
	var err error
	if p.Layered, err = onBed.Build(foot, top); err != nil {
		b.fail("bodies."+b.name+".chamfer", "%v", err)
		return
	}
	for _, o := range p.Bores {
		if over { // Flip turns about the y axis
			o.From.X, o.To.X, o.Z = -o.From.X, -o.To.X, -o.Z
		}
		o.Z -= z0
		o.Diameter += b.printer.Compensation.Hole
		p.PrintedBores = append(p.PrintedBores, o)
	}
	p.Printed = b.drilled(p.Layered, p.PrintedBores)
}

// drilled cuts bores from a solid.
func (b *builder) drilled(s solid.Solid, bores []Bore) solid.Solid {
	for _, o := range bores {
		cut, err := solid.Drill(s, o.Bore)
		if err != nil {
			b.fail(o.Path, "%v", err)
			return nil
		}
		s = cut
	}
	return s
}

// trimmed moves the outer contours of a region out by d mm (in, if negative);
// holes and slots inside keep their size.
func trimmed(r profile.Region, d float64) (profile.Region, error) {
	if d == 0 {
		return r, nil
	}
	var full profile.Region
	for _, l := range r {
		if l.Area() > 0 {
			full = append(full, l)
		}
	}
	moved, err := profile.Offset(full, d)
	if err != nil {
		return nil, err
	}
	if d < 0 {
		return profile.Intersect(r, moved)
	}
	rim, err := profile.Subtract(moved, full)
	if err != nil {
		return nil, err
	}
	return profile.Union(r, rim)
}

// fit returns the fit of a joint's hole in this body.
func (b *builder) fit(path string, given, joint string) (string, bool) {
	if given != "" {
		return given, true
	}
	if joint != "" {
		if j := b.d.Joints.Get(joint); j != nil && j.Pin != nil {
			if f := j.Pin.Fits.Get(b.name); f != nil {
				return *f, true
			}
		}
	}
	b.fail(path, "no fit is given, here or under fits of joint %q; one of press, location, turning, sliding, none", joint)
	return "", false
}

// round draws a hole of a size that the process knows how to print.
func (b *builder) round(path, joint, label string, at r2.Vec, nominalD float64, fit string, z0, z1 float64) {
	size, err := b.printer.Hole(nominalD, fit)
	if err != nil {
		b.fail(path, "%v", err)
		return
	}
	d := size.Printed()
	if b.variant == printed {
		d = size.Modelled
	}
	if d <= 0 || math.IsNaN(d) {
		b.fail(path, "a hole of %.3g mm is left after clearance and compensation", d)
		return
	}
	tag := b.tag(path, label)
	r, err := profile.Circle(at, d/2, tag)
	b.cut(path, r, err, z0, z1)
	b.part.Holes = append(b.part.Holes, Hole{
		Joint: joint, Path: path, At: at, Z0: z0, Z1: z1, Fit: fit,
		Nominal: size.Nominal, Clearance: size.Clearance, Modelled: size.Modelled,
	})
}
