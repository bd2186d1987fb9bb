package page

import (
	"html/template"
	"math"
	"sort"
	"unicode/utf8"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/parts/profile"
)

// The side view looks at the motion plane along −z: x to the right, y up. It is
// drawn in mm in a group that turns y up; what moves stands in groups that carry
// data-body, whose transform the player sets.

// objectWidth is how much of the object is drawn, in units of the drawing: the
// file knows its near face only.
const objectWidth = 26

// fullSize is the height, mm, of a drawing whose lines and letters have the sizes
// that the style sheet and this package give; others are scaled, so that small
// and large fingers are as easy to read.
const fullSize = 215

// unit is the factor for sizes of lines and letters in a drawing of a box.
func (b *bounds) unit() float64 {
	z := b.size()
	u := math.Max(z.Y, z.X) / fullSize
	if !(u > 0) {
		return 1
	}
	step := math.Pow(10, math.Floor(math.Log10(u))-1)
	return math.Round(u/step) * step // two digits, for the file's sake
}

// style hands the unit to the style sheet.
func style(u float64) string { return `style="--u:` + n(u) + `px"` }

// poses returns where the bodies are in a frame, −1: in the tucked pose.
func (d *Data) poses(frame int) []linkage.Pose {
	if d.Stroke != nil && frame >= 0 && frame < len(d.Stroke.Frames) {
		return d.Stroke.Frames[frame].Poses
	}
	out := make([]linkage.Pose, len(d.Bodies))
	for i := range out {
		out[i] = d.Bodies[i].Rest
	}
	return out
}

func rigid(p linkage.Pose) profile.Transform {
	return profile.Rigid(p.Theta, r2.Vec{X: p.X, Y: p.Y})
}

// transform is a pose as an SVG transform in mm and degrees.
func transform(p linkage.Pose) string {
	if p == (linkage.Pose{}) {
		return ""
	}
	return `transform="translate(` + n(p.X) + " " + n(p.Y) + ") rotate(" + n(p.Theta*180/math.Pi) + `)"`
}

// piece is one outline to draw.
type piece struct {
	body   int
	slice  *Slice
	pin    *Pin
	bottom float64
}

// pieces are all outlines from the lowest to the highest.
func (d *Data) pieces() []piece {
	var all []piece
	for i := range d.Bodies {
		for k := range d.Bodies[i].Slices {
			s := &d.Bodies[i].Slices[k]
			all = append(all, piece{body: i, slice: s, bottom: s.Z0})
		}
	}
	for i := range d.Pins {
		p := &d.Pins[i]
		all = append(all, piece{body: p.Body, pin: p, bottom: p.Z1 - 0.01})
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].bottom < all[j].bottom })
	return all
}

// finger draws all bodies in a frame.
func (d *Data) finger(s *svg, frame int) {
	at := d.poses(frame)
	for _, p := range d.pieces() {
		if p.pin != nil {
			s.f(`<g class="pin" data-body="%d" data-z="%s %s" %s><circle cx="%s" cy="%s" r="%s"/></g>`, p.body, n(p.pin.Z0), n(p.pin.Z1),
				transform(at[p.body]), n(p.pin.At.X), n(p.pin.At.Y), n(p.pin.Radius))
			continue
		}
		s.f(`<g class="part" data-body="%d" data-z="%s %s" fill="%s" %s><path d="%s"/></g>`, p.body, n(p.slice.Z0), n(p.slice.Z1),
			d.Colour(p.body), transform(at[p.body]), path(p.slice.Region))
	}
	for i := range d.Pads {
		p := &d.Pads[i]
		s.f(`<g class="pad" data-body="%d" %s><path d="M%s %sL%s %s"/></g>`, p.Body, transform(at[p.Body]), n(p.From.X), n(p.From.Y), n(p.To.X), n(p.To.Y))
	}
}

// surroundings draws wall, floor and object in a drawing whose unit is u.
func (d *Data) surroundings(s *svg, b bounds, u float64) {
	if p := d.Place; p != nil {
		mouth := p.Floor + p.Depth
		left, right := math.Min(b.lo.X, p.Wall-6*u), math.Max(b.hi.X, p.Wall+p.Gap+objectWidth*u)
		s.f(`<g class="place"><title>place: gap %s mm, depth %s mm</title>`, n(p.Gap), n(p.Depth))
		s.f(`<path class="edge" d="M%s %sV%sH%s"/>`, n(p.Wall), n(mouth), n(p.Floor), n(right))
		s.f(`<path class="hatch" d="`)
		every, long := 4*u, 2.6*u
		for y := p.Floor + every; y <= mouth; y += every {
			s.f("M%s %sl%s %s", n(p.Wall), n(y), n(-long), n(-long))
		}
		for x := math.Max(left, p.Wall); x <= right; x += every {
			s.f("M%s %sl%s %s", n(x), n(p.Floor), n(-long), n(-long))
		}
		s.f(`"/></g>`)
	}
	if o := d.Object; o != nil {
		x1 := o.Face + objectWidth*u
		y0, y1 := o.Bottom, o.Bottom+o.Height
		s.f(`<g class="object"><title>object: %s mm high, %s g</title><path d="M%s %sH%sV%sH%s"/>`, n(o.Height), n(o.Mass), n(x1), n(y0), n(o.Face), n(y1), n(x1))
		m := (y0 + y1) / 2 // a break line where the drawing ends
		s.f(`<path class="break" d="M%s %sV%sl%s %sl%s %sl%s %sV%s"/></g>`, n(x1), n(y0), n(m-2*u), n(-1.5*u), n(u), n(3*u), n(2*u), n(-1.5*u), n(u), n(y1))
	}
}

// reach is the box of the bodies over some frames.
func (d *Data) reach(frames ...int) bounds {
	b := newBounds()
	for _, f := range frames {
		at := d.poses(f)
		for i := range d.Bodies {
			for k := range d.Bodies[i].Slices {
				b.region(d.Bodies[i].Slices[k].Region.Transform(rigid(at[i])))
			}
		}
	}
	return b
}

// sweep is the box of the whole cycle.
func (d *Data) sweep() bounds {
	frames := []int{-1}
	if d.Stroke != nil {
		const samples = 40
		last := len(d.Stroke.Frames) - 1
		for i := range samples {
			frames = append(frames, i*last/(samples-1))
		}
	}
	return d.reach(frames...)
}

// withPlace grows a box by wall, floor and object, drawn in its unit.
func (d *Data) withPlace(b bounds) bounds {
	u := b.unit()
	if p := d.Place; p != nil {
		b.point(r2.Vec{X: p.Wall - 4*u, Y: p.Floor - 4*u})
	}
	if o := d.Object; o != nil {
		b.point(r2.Vec{X: o.Face + (objectWidth+2)*u, Y: o.Bottom})
		b.point(r2.Vec{X: o.Face, Y: o.Bottom + o.Height})
	}
	return b
}

// viewBox is a box as the attribute's value, y down.
func viewBox(b bounds) string {
	s := b.size()
	return n(b.lo.X) + " " + n(-b.hi.Y) + " " + n(s.X) + " " + n(s.Y)
}

// letter is about how wide a letter of a name is, in units of the drawing.
const letter = 2.1

// labelWidth is the room for names beside the drawing, in units of it. Names that
// are too long even for its largest are written narrower.
func (d *Data) labelWidth() float64 {
	longest := 0
	for i := range d.Bodies {
		longest = max(longest, utf8.RuneCountInString(d.Bodies[i].Name))
	}
	return math.Max(30, math.Min(60, letter*float64(longest)+10))
}

// Player is the side view that the script moves.
func (d *Data) Player() template.HTML {
	s := &svg{}
	b := d.sweep()
	u := b.unit()
	b = d.withPlace(b)
	b.grow(3 * u)
	inner := b
	b.lo.X -= d.labelWidth() * u
	near := d.jaws(inner, u)
	s.f(`<svg class="side" %s data-unit="%s" viewBox="%s" data-whole="%s" data-near="%s" role="img" aria-label="Side view of the finger, moved by the slider below">`, style(u), n(u), viewBox(b), viewBox(b), viewBox(near))
	s.f(`<g class="up" transform="scale(1 -1)">`)
	d.surroundings(s, inner, u)
	if !d.Swept.IsEmpty() {
		s.f(`<path class="swept" d="%s"><title>area swept over the cycle</title></path>`, path(d.Swept))
	}
	d.finger(s, -1)
	s.f(`<path class="open" d=""/></g>`)
	d.names(s, b, u)
	s.f(`<text class="opening" text-anchor="end"></text></svg>`)
	return s.html()
}

// jaws is the part of the drawing around pads, or the lower half without any.
func (d *Data) jaws(all bounds, u float64) bounds {
	b := newBounds()
	if d.Stroke == nil || len(d.Pads) == 0 {
		b = all
		b.hi.Y = (all.lo.Y + all.hi.Y) / 2
		return b
	}
	for i := 0; i < len(d.Stroke.Frames); i += 1 + len(d.Stroke.Frames)/60 {
		for _, p := range d.Pads {
			at := d.Stroke.Frames[i].Poses[p.Body]
			b.point(at.Apply(p.From))
			b.point(at.Apply(p.To))
		}
	}
	b.grow(12 * u)
	b.lo.X = math.Min(b.lo.X, all.lo.X)
	return b
}

// names puts the bodies' names at the left edge, each with a line to a point of
// the body that the player keeps in place.
func (d *Data) names(s *svg, b bounds, u float64) {
	type tag struct {
		body int
		at   r2.Vec
		y    float64
	}
	at := d.poses(-1)
	var tags []tag
	for i := range d.Bodies {
		if p, ok := d.Bodies[i].anchor(); ok {
			w := at[i].Apply(p)
			tags = append(tags, tag{i, p, w.Y})
		}
	}
	sort.SliceStable(tags, func(i, j int) bool { return tags[i].y > tags[j].y })
	pitch := 7.5 * u
	top := b.hi.Y - 6*u
	for i := range tags { // apart, from above
		tags[i].y = math.Min(tags[i].y, top)
		top = tags[i].y - pitch
	}
	low := b.lo.Y + 6*u
	for i := len(tags) - 1; i >= 0; i-- { // and from below
		tags[i].y = math.Max(tags[i].y, low)
		low = tags[i].y + pitch
	}
	wide := d.labelWidth()
	for _, t := range tags {
		name, fit := d.Bodies[t.body].Name, ""
		if letter*float64(utf8.RuneCountInString(name)) > wide-9 {
			fit = ` textLength="` + n((wide-9)*u) + `" lengthAdjust="spacingAndGlyphs"`
		}
		w := at[t.body].Apply(t.at)
		s.f(`<g class="name" data-body="%d" data-at="%s %s"><line x1="%s" y1="%s" x2="%s" y2="%s"/><circle cx="%s" cy="%s" r="%s"/><text x="%s" y="%s"%s>%s</text></g>`,
			t.body, n(t.at.X), n(t.at.Y), n(b.lo.X+(wide-7)*u), n(-t.y), n(w.X), n(-w.Y), n(w.X), n(-w.Y), n(0.9*u), n(b.lo.X+u), n(-t.y+1.3*u), fit, esc(name))
	}
}

// anchor is a point inside the largest outline of a body, in its frame.
func (b *Body) anchor() (r2.Vec, bool) {
	best, area := -1, 0.0
	for i := range b.Slices {
		if a := b.Slices[i].Region.Area(); a > area {
			best, area = i, a
		}
	}
	if best < 0 {
		return r2.Vec{}, false
	}
	r := b.Slices[best].Region
	c := r.Centroid()
	if r.Contains(c) {
		return c, true
	}
	// Beside a window or slot: the middle of the widest run of material across.
	box, _ := r.Box()
	wide := 0.0
	const cuts = 64
	for k := range 2 {
		start := -1
		for i := 0; i <= cuts; i++ {
			f := (float64(i) + 0.5) / cuts
			p := r2.Vec{X: box.Min.X + f*(box.Max.X-box.Min.X), Y: c.Y}
			if k == 1 {
				p = r2.Vec{X: c.X, Y: box.Min.Y + f*(box.Max.Y-box.Min.Y)}
			}
			in := i < cuts && r.Contains(p)
			if in && start < 0 {
				start = i
			}
			if !in && start >= 0 {
				mid := (float64(start) + float64(i)) / 2 / cuts
				q := r2.Vec{X: box.Min.X + mid*(box.Max.X-box.Min.X), Y: c.Y}
				run := float64(i-start) / cuts * (box.Max.X - box.Min.X)
				if k == 1 {
					q = r2.Vec{X: c.X, Y: box.Min.Y + mid*(box.Max.Y-box.Min.Y)}
					run = float64(i-start) / cuts * (box.Max.Y - box.Min.Y)
				}
				if run > wide && r.Contains(q) {
					c, wide = q, run
				}
				start = -1
			}
		}
		if wide > 0 {
			break
		}
	}
	return c, true
}
