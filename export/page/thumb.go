package page

import (
	"fmt"
	"html/template"

	"gonum.org/v1/gonum/spatial/r2"
)

// Thumb is a still side view of one mode with its overall sizes.
type Thumb struct {
	Title, Sizes string
	Drawing      template.HTML
}

// Thumbs are the tucked finger and the closed grasp, at one scale.
func (d *Data) Thumbs() []Thumb {
	if len(d.Bodies) == 0 {
		return nil
	}
	frames, titles := []int{-1}, []string{"Tucked, for insertion"}
	if st := d.Stroke; st != nil && len(st.Frames) > 0 {
		f, t := st.Turn, "At the end of the stroke"
		if st.Grasp >= 0 {
			f, t = st.Grasp, "In grasp"
		}
		frames, titles = append(frames, f), append(titles, fmt.Sprintf("%s, s = %.1f mm", t, st.Frames[f].S))
	}
	all := d.reach(frames...)
	u := all.unit()
	all = d.withPlace(all)
	var out []Thumb
	for i, f := range frames {
		own := d.reach(f)
		b := all
		b.lo.X -= 12 * u
		b.lo.Y -= 12 * u
		b.hi.X, b.hi.Y = b.hi.X+4*u, b.hi.Y+4*u
		s := &svg{}
		z := own.size()
		sizes := fmt.Sprintf("%.1f × %.1f × %.1f mm", z.X, z.Y, d.Size[2])
		s.f(`<svg class="thumb" %s viewBox="%s" role="img" aria-label="%s: %s"><g class="up" transform="scale(1 -1)">`, style(u), viewBox(b), esc(titles[i]), sizes)
		d.surroundings(s, all, u)
		d.finger(s, f)
		s.f(`</g>`)
		s.dimension(r2.Vec{X: own.lo.X, Y: b.lo.Y + 5*u}, r2.Vec{X: own.hi.X, Y: b.lo.Y + 5*u}, u)
		s.dimension(r2.Vec{X: b.lo.X + 5*u, Y: own.lo.Y}, r2.Vec{X: b.lo.X + 5*u, Y: own.hi.Y}, u)
		s.f(`</svg>`)
		out = append(out, Thumb{titles[i], sizes, s.html()})
	}
	return out
}

// dimension draws a dimension line between two points, parallel to an axis, and
// its length in mm on it; u is the drawing's unit.
func (s *svg) dimension(a, b r2.Vec, u float64) {
	m := r2.Scale(0.5, r2.Add(a, b))
	turn := ""
	if a.X == b.X {
		turn = fmt.Sprintf(` transform="rotate(-90 %s %s)"`, n(m.X), n(-m.Y))
	}
	l := r2.Norm(r2.Sub(b, a))
	s.f(`<g class="dim"><path d="M%s %sL%s %s`, n(a.X), n(-a.Y), n(b.X), n(-b.Y))
	for _, p := range []r2.Vec{a, b} { // oblique strokes, as in a building drawing
		s.f("M%s %sl%s %s", n(p.X-1.2*u), n(-p.Y+1.2*u), n(2.4*u), n(-2.4*u))
	}
	s.f(`"/><text x="%s" y="%s" text-anchor="middle"%s>%.1f</text></g>`, n(m.X), n(-m.Y-1.4*u), turn, l)
}
