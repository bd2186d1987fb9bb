package page

import (
	"html/template"

	"gonum.org/v1/gonum/spatial/r2"
)

// PlateView is a print plate as a drawing.
type PlateView struct {
	Title   string
	Drawing template.HTML
}

// PlateViews are the print plates from above, the bed's front edge below.
func (d *Data) PlateViews() []PlateView {
	var out []PlateView
	for _, p := range d.Plates {
		s := &svg{}
		b := bounds{r2.Vec{}, r2.Vec{X: d.Bed[0], Y: d.Bed[1]}}
		for _, it := range p.Items {
			b.region(it.Region)
		}
		b.grow(2)
		s.f(`<svg class="plate" viewBox="%s" role="img" aria-label="%s, seen from above"><g class="up" transform="scale(1 -1)">`, viewBox(b), esc(p.Title))
		s.f(`<rect class="bed" width="%s" height="%s"/>`, n(d.Bed[0]), n(d.Bed[1]))
		for _, it := range p.Items {
			s.f(`<path class="part" fill="%s" d="%s"><title>%s</title></path>`, d.Colour(it.Body), path(it.Region), esc(it.Name))
		}
		s.f(`</g>`)
		for _, it := range p.Items {
			box, ok := it.Region.Box()
			if !ok {
				continue
			}
			c := r2.Scale(0.5, r2.Add(box.Min, box.Max))
			turn := ""
			if box.Max.Y-box.Min.Y > 1.5*(box.Max.X-box.Min.X) {
				turn = ` transform="rotate(-90 ` + n(c.X) + " " + n(-c.Y) + `)"`
			}
			s.f(`<text x="%s" y="%s" text-anchor="middle"%s>%s</text>`, n(c.X), n(-c.Y+1.6), turn, esc(it.Name))
		}
		s.f(`</svg>`)
		out = append(out, PlateView{p.Title, s.html()})
	}
	return out
}
