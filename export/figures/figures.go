// Package figures draws the curves of a stroke for papers and theses: force and
// opening against the slide coordinate, the margins of the order rules, and the
// fold as a strip of poses. Charts come as SVG, PDF and PNG, the strip as SVG.
//
// Figures are 160 mm wide, the text width of an A4 page with usual margins, and
// do not need colour: what differs, differs in its line too.
package figures

import (
	"bytes"
	"fmt"
	"image/color"
	"io"
	"math"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"tuckfinger/export/num"
	"tuckfinger/export/page"
)

// File is one figure in one form.
type File struct {
	Name  string
	Write func(io.Writer) error
}

// Sizes on paper.
const (
	width      = 160 * vg.Millimeter
	height     = 80 * vg.Millimeter
	rowHeight  = 16 * vg.Millimeter // of a rule
	rowsAround = 26 * vg.Millimeter
	poses      = 7 // of the strip
)

// forms are what every chart is written as.
var forms = []string{"svg", "pdf", "png"}

var (
	ink  = color.NRGBA{R: 28, G: 27, B: 24, A: 255}
	soft = color.NRGBA{R: 217, G: 213, B: 202, A: 255}
	out  = color.NRGBA{R: 0, G: 83, B: 138, A: 255}
	back = color.NRGBA{R: 168, G: 56, B: 11, A: 255}
)

// Files lists the figures that the data has something for.
func Files(d *page.Data) ([]File, error) {
	st := d.Stroke
	if st == nil || len(st.Frames) == 0 {
		return nil, fmt.Errorf("figures of %s: there is no stroke", d.Name)
	}
	var list []File
	chart := func(name string, h vg.Length, make func() (*plot.Plot, error)) {
		for _, form := range forms {
			list = append(list, File{name + "." + form, func(w io.Writer) error {
				p, err := make()
				if err == nil {
					err = render(w, p, h, form)
				}
				if err != nil {
					return fmt.Errorf("figure %s.%s: %w", name, form, err)
				}
				return nil
			}})
		}
	}
	chart("force", height, func() (*plot.Plot, error) { return force(d) })
	if open := openings(st); open != nil {
		chart("opening", height, func() (*plot.Plot, error) { return opening(st, open) })
	}
	if len(d.Rules) > 0 {
		chart("margins", rowsAround+vg.Length(len(d.Rules))*rowHeight, func() (*plot.Plot, error) { return margins(d.Rules) })
	}
	list = append(list, File{"poses.svg", func(w io.Writer) error { return page.Strip(w, d, poses) }})
	return list, nil
}

func init() {
	// The bytes of a file depend on the design alone.
	fpdf.SetDefaultCreationDate(time.Unix(0, 0).UTC())
	fpdf.SetDefaultModificationDate(time.Unix(0, 0).UTC())
	fpdf.SetDefaultCatalogSort(true)
}

// render writes through memory, so that a half-drawn figure never gets out.
func render(w io.Writer, p *plot.Plot, h vg.Length, form string) error {
	c, err := draw.NewFormattedCanvas(width, h, form)
	if err != nil {
		return err
	}
	p.Draw(draw.Crop(draw.New(c), 0, -2*vg.Millimeter, 0, 0))
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		return err
	}
	_, err = w.Write(b.Bytes())
	return err
}

// blank is an empty chart in our dress.
func blank(x, y string) *plot.Plot {
	p := plot.New()
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Label.TextStyle.Color, a.Tick.Label.Color, a.LineStyle.Color, a.Tick.LineStyle.Color = ink, ink, ink, ink
		a.Label.TextStyle.Font.Size, a.Tick.Label.Font.Size = vg.Points(10), vg.Points(9)
		a.Padding = 0
		a.Tick.Marker = even(8)
	}
	p.X.Label.Text, p.Y.Label.Text = x, y
	p.Legend.Top, p.Legend.TextStyle.Font.Size, p.Legend.TextStyle.Color = true, vg.Points(9), ink
	p.Legend.ThumbnailWidth = 9 * vg.Millimeter
	grid := plotter.NewGrid()
	grid.Horizontal.Color, grid.Vertical.Width = soft, 0
	p.Add(grid)
	return p
}

// line adds a curve; values that are not finite break it.
func line(p *plot.Plot, x, y []float64, name string, c color.Color, dashes []vg.Length) error {
	var run plotter.XYs
	named := false
	flush := func() error {
		if len(run) < 2 {
			run = nil
			return nil
		}
		l, err := plotter.NewLine(run)
		if err != nil {
			return err
		}
		l.Color, l.Width, l.Dashes = c, vg.Points(1.2), dashes
		p.Add(l)
		if !named {
			p.Legend.Add(name, l)
			named = true
		}
		run = nil
		return nil
	}
	for i := range x {
		if math.IsNaN(y[i]) || math.IsInf(y[i], 0) {
			if err := flush(); err != nil {
				return err
			}
			continue
		}
		run = append(run, plotter.XY{X: x[i], Y: y[i]})
	}
	return flush()
}

var (
	dashed = []vg.Length{vg.Points(5), vg.Points(3)}
	dotted = []vg.Length{vg.Points(1), vg.Points(2.5)}
)

// halves adds a quantity of the stroke, out and back.
func halves(p *plot.Plot, st *page.Stroke, values []float64) error {
	s := make([]float64, len(st.Frames))
	for i := range s {
		s[i] = st.Frames[i].S
	}
	if err := line(p, s[:st.Turn+1], values[:st.Turn+1], "out", out, nil); err != nil {
		return err
	}
	return line(p, s[st.Turn:], values[st.Turn:], "back", back, dashed)
}

func force(d *page.Data) (*plot.Plot, error) {
	st := d.Stroke
	p := blank("slide coordinate s, mm", "force on the slide, N")
	values := make([]float64, len(st.Frames))
	for i := range values {
		values[i] = st.Frames[i].Force
	}
	if err := halves(p, st, values); err != nil {
		return nil, err
	}
	if m := d.Measured; m != nil {
		if err := line(p, m.S, m.Force, "measured", ink, dotted); err != nil {
			return nil, err
		}
	}
	return p, marks(p, d, values)
}

// marks puts the numbers of events beside their places; those that fall together
// share one.
func marks(p *plot.Plot, d *page.Data, values []float64) error {
	for _, half := range []struct {
		back bool
		up   vg.Length
	}{{false, vg.Points(3)}, {true, vg.Points(-10)}} { // above the way out, below the way back
		var at plotter.XYs
		var names []string
		for _, m := range d.Marks(values) {
			if m.Back == half.back {
				at, names = append(at, plotter.XY{X: m.S, Y: m.Value}), append(names, m.Label)
			}
		}
		if len(at) == 0 {
			continue
		}
		dots, err := plotter.NewScatter(at)
		if err != nil {
			return err
		}
		dots.Color, dots.Radius, dots.Shape = ink, vg.Points(1.8), draw.CircleGlyph{}
		labels, err := plotter.NewLabels(plotter.XYLabels{XYs: at, Labels: names})
		if err != nil {
			return err
		}
		for i := range labels.TextStyle {
			labels.TextStyle[i].Font.Size, labels.TextStyle[i].Color = vg.Points(8), ink
		}
		labels.Offset = vg.Point{X: vg.Points(2), Y: half.up}
		p.Add(dots, labels)
	}
	air := 0.1 * (p.Y.Max - p.Y.Min)
	p.Y.Min, p.Y.Max = p.Y.Min-air, p.Y.Max+air
	return nil
}

// even puts ticks at round numbers.
type even int

// Ticks implements plot.Ticker.
func (e even) Ticks(lo, hi float64) []plot.Tick {
	var out []plot.Tick
	for _, v := range page.Ticks(lo, hi, int(e)) {
		out = append(out, plot.Tick{Value: v, Label: strings.Replace(num.Text(v, 6), "-", "−", 1)})
	}
	return out
}

func openings(st *page.Stroke) []float64 {
	for _, q := range st.Series {
		if q.Key == "opening" {
			for _, v := range q.Values {
				if !math.IsNaN(v) {
					return q.Values
				}
			}
		}
	}
	return nil
}

func opening(st *page.Stroke, values []float64) (*plot.Plot, error) {
	p := blank("slide coordinate s, mm", "jaw opening, mm")
	p.X.Min, p.X.Max, p.Y.Min = 0, st.Travel, 0
	return p, halves(p, st, values)
}
