package page

import (
	"html/template"
	"math"
	"sort"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// Drawings of stacked parts are oblique: the plan stays true, arcs and all, and
// height is drawn upwards and to the right. The finger lies: its y runs to the
// right, its x down, z comes towards the reader.
//
// Solids are hidden by painting from below. All slabs are cut at all heights
// where one begins or ends, so that in each layer every slab spans it; in a layer
// walls come first, the far ones before the near ones, then the faces on top.

// rise is where a step of 1 mm along z goes on paper, in mm.
var rise = r2.Vec{X: 0.32, Y: 0.55}

// lying turns the motion plane so that y runs to the right.
var lying = profile.Rigid(-math.Pi/2, r2.Vec{})

// heap is what an oblique drawing shows.
type heap struct{ blocks []block }

type block struct {
	z0, z1 float64
	region profile.Region // on paper, before it is lifted
	class  string
	fill   string
}

// add puts a body in, lifted by dz and moved by shift along the finger.
func (h *heap) add(d *Data, body int, frame int, class string, dz float64) {
	at := d.poses(frame)[body]
	t := rigid(at).Then(lying)
	for _, s := range d.Bodies[body].Slices {
		h.blocks = append(h.blocks, block{s.Z0 + dz, s.Z1 + dz, s.Region.Transform(t), class, d.Colour(body)})
	}
}

// pin puts a pin in.
func (h *heap) pin(d *Data, i int, class string, dz float64) {
	p := &d.Pins[i]
	r, err := profile.Circle(p.At, p.Radius, 0)
	if err != nil {
		return // it was placed with a radius, so there is always one
	}
	t := rigid(d.poses(-1)[p.Body]).Then(lying)
	h.blocks = append(h.blocks, block{p.Z0 + dz, p.Z1 + dz, r.Transform(t), class, ""})
}

func lift(p r2.Vec, z float64) r2.Vec { return r2.Add(p, r2.Scale(z, rise)) }

// draw paints the heap into a drawing whose y is up.
func (h *heap) draw(s *svg) {
	var cuts []float64
	for _, b := range h.blocks {
		cuts = append(cuts, b.z0, b.z1)
	}
	sort.Float64s(cuts)
	for i := 0; i+1 < len(cuts); i++ {
		z0, z1 := cuts[i], cuts[i+1]
		if z1-z0 < 1e-6 {
			continue
		}
		var walls []wall
		for k := range h.blocks {
			b := &h.blocks[k]
			if b.z0 > z0+1e-9 || b.z1 < z1-1e-9 {
				continue
			}
			b.region.Edges(func(_, _ int, e profile.Edge) { walls = append(walls, wallsOf(e, b)...) })
		}
		sort.SliceStable(walls, func(i, j int) bool { return walls[i].depth < walls[j].depth })
		for _, w := range walls {
			w.draw(s, z0, z1)
		}
		for k := range h.blocks {
			b := &h.blocks[k]
			if b.z0 > z0+1e-9 || b.z1 < z1-1e-9 {
				continue
			}
			// The top of a slab is drawn at every cut, so that it covers what is
			// behind it; its outline only where it ends.
			o := r2.Scale(z1, rise)
			class := b.class + " face"
			if b.z1 > z1+1e-9 {
				class = b.class + " cut"
			}
			s.f(`<path class="%s"%s d="%s"/>`, class, fillOf(b.fill), path(b.region.Move(o)))
		}
	}
}

func fillOf(c string) string {
	if c == "" {
		return ""
	}
	return ` fill="` + c + `"`
}

// wall is one upright face that is turned to the reader.
type wall struct {
	edge  profile.Edge
	block *block
	depth float64 // along the way of sight: less is farther
}

// wallsOf returns the visible stretches of an edge's wall: one for a line, up to
// two for an arc.
func wallsOf(e profile.Edge, b *block) []wall {
	// Material is on the left: outward is to the right of the edge. A wall is seen
	// when it faces away from where height goes.
	seen := func(d r2.Vec) bool { return d.Y*rise.X-d.X*rise.Y < -1e-9 }
	near := func(e profile.Edge) float64 {
		m, _ := e.At(0.5)
		return -r2.Dot(m, rise)
	}
	if e.IsLine() {
		if !seen(r2.Sub(e.B, e.A)) {
			return nil
		}
		return []wall{{e, b, near(e)}}
	}
	c, radius, start, sweep := e.Arc()
	// Directions change where the tangent is along the rise.
	along := math.Atan2(rise.Y, rise.X)
	stops := []float64{0, 1}
	for k := -4; k <= 4; k++ {
		a := along - math.Pi/2 + float64(k)*math.Pi
		if f := (a - start) / sweep; f > 1e-6 && f < 1-1e-6 {
			stops = append(stops, f)
		}
	}
	sort.Float64s(stops)
	var out []wall
	for i := 0; i+1 < len(stops); i++ {
		f0, f1 := stops[i], stops[i+1]
		part := profile.Edge{A: polar(c, radius, start+f0*sweep), B: polar(c, radius, start+f1*sweep), Bulge: math.Tan((f1 - f0) * sweep / 4), Tag: e.Tag}
		if _, tangent := part.At(0.5); seen(tangent) {
			out = append(out, wall{part, b, near(part)})
		}
	}
	return out
}

func polar(c r2.Vec, r, a float64) r2.Vec {
	s, k := math.Sincos(a)
	return r2.Vec{X: c.X + r*k, Y: c.Y + r*s}
}

func (w *wall) draw(s *svg, z0, z1 float64) {
	low := profile.Edge{A: lift(w.edge.A, z0), B: lift(w.edge.B, z0), Bulge: w.edge.Bulge}
	high := profile.Edge{A: lift(w.edge.B, z1), B: lift(w.edge.A, z1), Bulge: -w.edge.Bulge}
	b := &svg{}
	b.f("M%s %s", n(low.A.X), n(low.A.Y))
	step(&b.Builder, low)
	b.f("L%s %s", n(high.A.X), n(high.A.Y))
	step(&b.Builder, high)
	s.f(`<path class="%s wall"%s d="%sZ"/>`, w.block.class, fillOf(w.block.fill), b.String())
}

// box is the bounds of the drawing.
func (h *heap) box() bounds {
	b := newBounds()
	for _, k := range h.blocks {
		for _, z := range []float64{k.z0, k.z1} {
			b.region(k.region.Move(r2.Scale(z, rise)))
		}
	}
	return b
}

// above is how far a new part floats over its place in a step's picture, mm.
const above = 34

// picture draws a step: what is there in outline, what is added floating over
// its place with its pins.
func (d *Data) picture(st *Step, label string) template.HTML {
	if st.Body < 0 && len(st.Before) == 0 {
		return ""
	}
	var there, added heap
	for _, i := range st.Before {
		there.add(d, i, -1, "old", 0)
	}
	lifted := 0.0
	if st.Body >= 0 {
		if len(st.Before) > 0 {
			lifted = above + d.top(st.Before) - d.bottom(st.Body)
		}
		added.add(d, st.Body, -1, "new", lifted)
	}
	for i := range d.Pins {
		switch {
		case contains(st.Pins, i):
			added.pin(d, i, "metal", lifted)
		case contains(st.Before, d.Pins[i].Body):
			there.pin(d, i, "oldmetal", 0)
		}
	}
	s := &svg{}
	b := newBounds()
	for _, h := range []*heap{&there, &added} {
		if len(h.blocks) > 0 {
			k := h.box()
			b.point(k.lo)
			b.point(k.hi)
		}
	}
	b.grow(2)
	s.f(`<svg class="step" viewBox="%s" role="img" aria-label="%s"><g class="up" transform="scale(1 -1)">`, viewBox(b), esc(label))
	there.draw(s)
	if lifted > 0 {
		d.guides(s, st, lifted)
	}
	added.draw(s)
	s.f(`</g></svg>`)
	return s.html()
}

// guides are the lines along which pins and holes of the new part come together
// with those below.
func (d *Data) guides(s *svg, st *Step, lifted float64) {
	at := d.poses(-1)
	for i := range d.Pins {
		p := &d.Pins[i]
		if p.Body != st.Body && !contains(st.Before, p.Body) || !d.holds(st.Body, i) {
			continue
		}
		w := lying.Apply(at[p.Body].Apply(p.At))
		s.f(`<path class="guide" d="M%s %sL%s %s"/>`, n(lift(w, p.Z1).X), n(lift(w, p.Z1).Y), n(lift(w, p.Z0+lifted).X), n(lift(w, p.Z0+lifted).Y))
	}
}

// holds reports whether a pin goes with a body or through it: its axis meets the
// outline's box of that body.
func (d *Data) holds(body, pin int) bool {
	p := &d.Pins[pin]
	if p.Body == body {
		return true
	}
	at := d.poses(-1)
	w := at[p.Body].Apply(p.At)
	for _, s := range d.Bodies[body].Slices {
		box, ok := s.Region.Box()
		q := at[body].Inverse(w)
		if ok && p.Z0 < s.Z1 && p.Z1 > s.Z0 && q.X > box.Min.X && q.X < box.Max.X && q.Y > box.Min.Y && q.Y < box.Max.Y {
			return true
		}
	}
	return false
}

func (d *Data) top(bodies []int) float64 {
	z := math.Inf(-1)
	for _, i := range bodies {
		for _, s := range d.Bodies[i].Slices {
			z = math.Max(z, s.Z1)
		}
	}
	return z
}

func (d *Data) bottom(body int) float64 {
	z := math.Inf(1)
	for _, s := range d.Bodies[body].Slices {
		z = math.Min(z, s.Z0)
	}
	return z
}

func contains(list []int, v int) bool {
	for _, x := range list {
		if x == v {
			return true
		}
	}
	return false
}
