package figures

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"tuckfinger/export/page"
)

// margins draws for each rule the driving force as a solid bar, the holding force
// as an open one over it, and the force that the wanted margin asks for as a
// stroke across.
func margins(rules []page.Rule) (*plot.Plot, error) {
	p := blank("force on the slide, N", "")
	p.Add(bars{rules})
	names := make([]string, len(rules))
	for i := range rules {
		names[len(rules)-1-i] = rules[i].Name
	}
	p.NominalY(names...)
	p.Y.Min, p.Y.Max = -0.6, float64(len(rules))-0.4
	p.X.Min, p.X.Max = 0, 1.35*largest(rules)
	p.Legend.Add("driving", sample{fill: out})
	p.Legend.Add("holding", sample{open: true})
	p.Legend.Add("wanted", sample{tick: true})
	return p, nil
}

// largest is the largest finite force.
func largest(rules []page.Rule) float64 {
	m := 1.0
	for _, r := range rules {
		for _, v := range []float64{r.Holding, r.Driving, r.Driving * r.Want} {
			if !math.IsInf(v, 0) && !math.IsNaN(v) {
				m = math.Max(m, v)
			}
		}
	}
	return m
}

type bars struct{ rules []page.Rule }

// Plot draws the bars; it implements plot.Plotter.
func (b bars) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	const half = 4 * vg.Millimeter
	style := draw.TextStyle{Color: ink, Font: p.X.Tick.Label.Font, Handler: p.X.Tick.Label.Handler, YAlign: draw.YCenter}
	frame := draw.LineStyle{Color: ink, Width: vg.Points(0.9)}
	for i, r := range b.rules {
		at := y(float64(len(b.rules) - 1 - i))
		end := func(v float64) vg.Length { // as far as there is room
			if math.IsNaN(v) {
				v = 0
			}
			return x(math.Min(v, 0.78*p.X.Max))
		}
		box := func(to vg.Length, h vg.Length) []vg.Point {
			return []vg.Point{{X: x(0), Y: at - h}, {X: to, Y: at - h}, {X: to, Y: at + h}, {X: x(0), Y: at + h}, {X: x(0), Y: at - h}}
		}
		c.FillPolygon(out, box(end(r.Driving), half/2))
		hold := end(r.Holding)
		shape := box(hold, half)
		if math.IsInf(r.Holding, 0) { // without an end
			c.StrokeLines(frame, shape[:2], shape[2:])
		} else {
			c.StrokeLines(frame, shape)
		}
		if want := r.Driving * r.Want; !math.IsInf(want, 0) && !math.IsNaN(want) {
			c.StrokeLine2(draw.LineStyle{Color: back, Width: vg.Points(1.6)}, x(want), at-half*1.25, x(want), at+half*1.25)
		}
		c.FillText(style, vg.Point{X: max(hold, end(r.Driving)) + 2*vg.Millimeter, Y: at}, marginText(r))
	}
}

func marginText(r page.Rule) string {
	switch {
	case math.IsNaN(r.Margin):
		return r.Verdict
	case math.IsInf(r.Holding, 0):
		return "does not give way"
	}
	return fmt.Sprintf("margin %.2f, %s", r.Margin, r.Verdict)
}

// sample is an entry of the legend.
type sample struct {
	fill       color.Color
	open, tick bool
}

// Thumbnail implements plot.Thumbnailer.
func (s sample) Thumbnail(c *draw.Canvas) {
	box := []vg.Point{{X: c.Min.X, Y: c.Min.Y}, {X: c.Max.X, Y: c.Min.Y}, {X: c.Max.X, Y: c.Max.Y}, {X: c.Min.X, Y: c.Max.Y}, {X: c.Min.X, Y: c.Min.Y}}
	switch {
	case s.tick:
		x := c.Center().X
		c.StrokeLine2(draw.LineStyle{Color: back, Width: vg.Points(1.6)}, x, c.Min.Y, x, c.Max.Y)
	case s.open:
		c.StrokeLines(draw.LineStyle{Color: ink, Width: vg.Points(0.9)}, box)
	default:
		c.FillPolygon(s.fill, box)
	}
}
