package page

import (
	"fmt"
	"io"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// The strip's width, mm: the text width of an A4 page with usual margins.
const stripWidth = 160

// stripStyle is what a drawing needs that stands by itself; k is how many of its
// mm are one of the page.
func stripStyle(k float64) string {
	return fmt.Sprintf(`.part{stroke:#1c1b18;stroke-width:%[1]s;fill-opacity:.82;fill-rule:evenodd}`+
		`.pin circle{fill:#b9bcc0;stroke:#1c1b18;stroke-width:%[1]s}.pad path{stroke:#1c1b18;stroke-width:%[2]s;stroke-dasharray:%[3]s %[4]s;fill:none}`+
		`.place path,.object path{fill:none;stroke:#1c1b18;stroke-width:%[1]s}.object path{stroke-dasharray:%[5]s %[6]s}.object .break{stroke-dasharray:none}`+
		`text{font:%[7]spx "Liberation Serif","DejaVu Serif",serif;fill:#1c1b18}`,
		n(0.08*k), n(0.3*k), n(0.25*k), n(0.15*k), n(0.6*k), n(0.3*k), n(2.8*k))
}

// Strip writes the fold as a row of poses on the way out, the first tucked, the
// last at the end of the travel, and between them as much of the motion from one
// to the next. It is an SVG of its own, as wide as the other figures.
func Strip(w io.Writer, d *Data, count int) error {
	frames := d.evenly(count)
	if len(frames) == 0 || len(d.Bodies) == 0 {
		return fmt.Errorf("pose strip of %s: there is no stroke", d.Name)
	}
	b := d.reach(frames...)
	u := b.unit()
	b = d.withPlace(b)
	b.grow(3 * u)
	z := b.size()
	wide := z.X * float64(len(frames))
	k := wide / stripWidth
	high := z.Y + 5*k
	s := &svg{}
	s.f(`<?xml version="1.0" encoding="UTF-8"?>`+"\n"+`<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s"><title>%s: poses on the way out</title><style>%s</style>`,
		n(stripWidth), n(high/k), n(wide), n(high), esc(d.Name), stripStyle(k))
	for i, f := range frames {
		s.f(`<g transform="translate(%s %s) scale(1 -1)">`, n(float64(i)*z.X-b.lo.X), n(b.hi.Y))
		d.surroundings(s, b, u)
		d.finger(s, f)
		s.f(`</g><text x="%s" y="%s" text-anchor="middle">s = %.1f mm</text>`, n((float64(i)+0.5)*z.X), n(high-1.7*k), d.Stroke.Frames[f].S)
	}
	s.f("</svg>\n")
	_, err := io.WriteString(w, s.String())
	return err
}

// evenly picks frames of the way out that divide its motion into equal shares;
// motion is how far the far ends of the bodies travel.
func (d *Data) evenly(count int) []int {
	st := d.Stroke
	if st == nil || len(st.Frames) == 0 || count < 2 {
		return nil
	}
	ends := make([][2]r2.Vec, len(d.Bodies))
	for i := range d.Bodies {
		b := newBounds()
		for k := range d.Bodies[i].Slices {
			b.region(d.Bodies[i].Slices[k].Region)
		}
		if b.lo.X <= b.hi.X {
			ends[i] = [2]r2.Vec{b.lo, b.hi}
		}
	}
	way := make([]float64, st.Turn+1)
	for f := 1; f <= st.Turn; f++ {
		step := 0.0
		for i := range ends {
			for _, e := range ends[i] {
				step = math.Max(step, r2.Norm(r2.Sub(st.Frames[f].Poses[i].Apply(e), st.Frames[f-1].Poses[i].Apply(e))))
			}
		}
		way[f] = way[f-1] + step
	}
	var out []int
	f := 0
	for k := range count {
		want := way[st.Turn] * float64(k) / float64(count-1)
		for f < st.Turn && way[f] < want-1e-9 {
			f++
		}
		if len(out) == 0 || out[len(out)-1] != f {
			out = append(out, f)
		}
	}
	return out
}
