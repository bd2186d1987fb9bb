package page

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
)

// curve is one line of a chart.
type curve struct {
	class string // "out", "back", "measured"
	x, y  []float64
}

// chart is a plot over the slide coordinate, drawn in a fixed frame of pixels
// that styles scale.
type chart struct {
	title, xName, yName string
	key                 string // of the series whose value the cursor shows
	height              float64
	curves              []curve
	marks               []mark
	rules               []float64 // horizontal lines
	left                int       // pixels left of the plot, for the name of the axis and its numbers
}

// mark is a numbered event on a curve, or a run of events that fall together.
type mark struct {
	label string
	x, y  float64
	back  bool
	text  string
}

const (
	chartWidth               = 720
	padR, padT, padB         = 14, 16, 46
	leastLeft                = 62 // left of the plot: the name of the axis and short numbers
	axisName, tickDigit      = 36, 8.6
	markRadius, markSize     = 9, 11
	markDigit                = 6.2 // width of a digit
	chartTicksX, chartTicksY = 8, 6
)

// spread is the range of finite values, with a little air.
func spread(curves []curve, pick func(*curve) []float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for i := range curves {
		for _, v := range pick(&curves[i]) {
			if v-v == 0 {
				lo, hi = math.Min(lo, v), math.Max(hi, v)
			}
		}
	}
	if lo > hi {
		return 0, 1
	}
	if lo == hi {
		return lo - 1, hi + 1
	}
	return lo, hi
}

func (c *chart) html() template.HTML {
	x0, x1 := spread(c.curves, func(c *curve) []float64 { return c.x })
	y0, y1 := spread(c.curves, func(c *curve) []float64 { return c.y })
	if y0 > 0 {
		y0 = 0
	}
	air := (y1 - y0) * 0.06
	y1 += air
	if y0 < 0 {
		y0 -= air
	}
	longest := 0
	for _, v := range Ticks(y0, y1, chartTicksY) {
		longest = max(longest, len([]rune(tickText(v))))
	}
	padL := max(leastLeft, axisName+int(tickDigit*float64(longest)))
	c.left = padL
	w, h := float64(chartWidth), c.height
	px := func(x float64) float64 { return float64(padL) + (x-x0)/(x1-x0)*(w-float64(padL)-padR) }
	py := func(y float64) float64 { return h - padB - (y-y0)/(y1-y0)*(h-padT-padB) }
	s := &svg{}
	s.f(`<svg class="chart" viewBox="0 0 %d %s" role="img" aria-label="%s" data-key="%s" data-x="%s %s %d %d" data-y="%s %s %s %d">`,
		chartWidth, n(h), esc(c.title), esc(c.key), n(x0), n(x1), padL, chartWidth-padR, n(y0), n(y1), n(h-padB), padT)
	s.f(`<path class="axis" d="M%d %dV%sH%d"/>`, padL, padT, n(h-padB), chartWidth-padR)
	for _, v := range Ticks(x0, x1, chartTicksX) {
		s.f(`<path class="axis" d="M%s %sv5"/><text class="tick" x="%s" y="%s" text-anchor="middle">%s</text>`, n(px(v)), n(h-padB), n(px(v)), n(h-padB+19), tickText(v))
	}
	for _, v := range Ticks(y0, y1, chartTicksY) {
		class := "grid"
		if v == 0 {
			class = "zero"
		}
		s.f(`<path class="%s" d="M%d %sH%d"/><text class="tick" x="%d" y="%s" text-anchor="end">%s</text>`, class, padL, n(py(v)), chartWidth-padR, padL-7, n(py(v)+4.5), tickText(v))
	}
	s.f(`<text class="axis-name" x="%s" y="%s" text-anchor="middle">%s</text>`, n((float64(padL)+w-padR)/2), n(h-8), esc(c.xName))
	s.f(`<text class="axis-name" transform="translate(15 %s) rotate(-90)" text-anchor="middle">%s</text>`, n((padT+h-padB)/2), esc(c.yName))
	for _, u := range c.curves {
		s.f(`<path class="curve %s" d="%s"/>`, u.class, polyline(u.x, u.y, px, py))
	}
	c.drawMarks(s, px, py, h)
	s.f(`<g class="cursor" hidden><path d="M0 %dV%s"/><circle r="4.5"/></g></svg>`, padT, n(h-padB))
	return s.html()
}

func tickText(v float64) string { return strings.Replace(n(v), "-", "−", 1) }

// drawMarks puts numbers beside the places of events, above the curve on the way
// out and below it on the way back, each clear of those before it.
func (c *chart) drawMarks(s *svg, px, py func(float64) float64, h float64) {
	var taken []r2.Vec
	for _, m := range c.marks {
		if m.y-m.y != 0 {
			continue
		}
		at := r2.Vec{X: px(m.x), Y: py(m.y)}
		p := at
		dir := -1.0
		if m.back {
			dir = 1
		}
		best, free := p, math.Inf(-1)
		for k := range 40 {
			// Farther out, then to the sides.
			q := r2.Vec{X: at.X + float64((k%5+1)/2)*10*float64(1-2*(k%2)), Y: at.Y + dir*(17+float64(k/5)*9)}
			q.Y = math.Max(padT+markRadius, math.Min(h-padB-markRadius-1, q.Y))
			q.X = math.Max(float64(c.left)+markRadius+2, math.Min(chartWidth-padR-markRadius, q.X))
			near := math.Inf(1)
			for _, t := range taken {
				near = math.Min(near, r2.Norm(r2.Sub(t, q)))
			}
			near = math.Min(near, 3*markRadius+2) - 0.01*float64(k)
			if near > free+1e-9 {
				best, free = q, near
			}
		}
		taken = append(taken, best)
		class, half := "mark out", math.Max(markRadius, markDigit*float64(len([]rune(m.label)))/2+3)
		round := float64(markRadius)
		if m.back {
			class, round = "mark back", 0
		}
		s.f(`<g class="%s"><title>%s</title><path d="M%s %sL%s %s"/><rect x="%s" y="%s" width="%s" height="%d" rx="%s"/><text x="%s" y="%s" text-anchor="middle">%s</text></g>`,
			class, esc(m.text), n(at.X), n(at.Y), n(best.X), n(best.Y), n(best.X-half), n(best.Y-markRadius), n(2*half), 2*markRadius, n(round),
			n(best.X), n(best.Y+markSize*0.36), m.label)
	}
}

// polyline draws points in pixels to a tenth, leaving out those that add nothing
// and breaking where a value is missing.
func polyline(x, y []float64, px, py func(float64) float64) string {
	var b strings.Builder
	pen := false
	lx, ly := "", ""
	for i := range x {
		if y[i]-y[i] != 0 {
			pen = false
			continue
		}
		sx, sy := fmt.Sprintf("%.1f", px(x[i])), fmt.Sprintf("%.1f", py(y[i]))
		if pen && sx == lx && sy == ly {
			continue
		}
		if pen {
			b.WriteString("L")
		} else {
			b.WriteString("M")
		}
		b.WriteString(sx + " " + sy)
		pen, lx, ly = true, sx, sy
	}
	return b.String()
}

// halves splits a column of the stroke into out and back.
func (st *Stroke) halves(values []float64) []curve {
	s := make([]float64, len(st.Frames))
	for i := range s {
		s[i] = st.Frames[i].S
	}
	t := min(st.Turn+1, len(s))
	return []curve{{"out", s[:t], values[:t]}, {"back", s[t-1:], values[t-1:]}}
}

func (st *Stroke) forces() []float64 {
	out := make([]float64, len(st.Frames))
	for i := range out {
		out[i] = st.Frames[i].Force
	}
	return out
}

// ForceChart is the slide force against s, with events and the measured curve.
func (d *Data) ForceChart() template.HTML {
	st := d.Stroke
	force := st.forces()
	c := chart{title: "Slide force against slide coordinate, out and back", xName: "slide coordinate s, mm", yName: "force on the slide, N", key: "force", height: 340, curves: st.halves(force)}
	c.marks = together(d.Events(), st.Travel, force)
	if m := d.Measured; m != nil {
		c.curves = append(c.curves, curve{"measured", m.S, m.Force})
	}
	return c.html()
}

// together makes marks of events; neighbours that would cover each other share
// one.
func together(events []EventRow, travel float64, values []float64) []mark {
	lo, hi := spread([]curve{{y: values}}, func(c *curve) []float64 { return c.y })
	var out []mark
	for i := 0; i < len(events); {
		a := events[i]
		j := i + 1
		for j < len(events) && events[j].Back == a.Back && math.Abs(events[j].S-a.S) < 0.025*travel && math.Abs(values[events[j].Frame]-values[a.Frame]) < 0.12*(hi-lo) {
			j++
		}
		m := mark{fmt.Sprint(a.Number), a.S, values[a.Frame], a.Back, fmt.Sprintf("%d: %s", a.Number, a.Text)}
		if j-i > 1 {
			m.label = fmt.Sprintf("%d–%d", a.Number, events[j-1].Number)
			for _, e := range events[i+1 : j] {
				m.text += fmt.Sprintf("\n%d: %s", e.Number, e.Text)
			}
		}
		out = append(out, m)
		i = j
	}
	return out
}

// OpeningChart is the jaw opening against s, nothing without pads.
func (d *Data) OpeningChart() template.HTML {
	for _, q := range d.Stroke.Series {
		if q.Key == "opening" {
			c := chart{title: "Jaw opening against slide coordinate", xName: "slide coordinate s, mm", yName: "opening, mm", key: "opening", height: 230, curves: d.Stroke.halves(q.Values)}
			return c.html()
		}
	}
	return ""
}

// EventRow is an event as the page lists it.
type EventRow struct {
	Number int
	Frame  int
	S      float64
	Back   bool
	Force  float64
	Text   string
}

// Way is the half of the stroke in a word.
func (e EventRow) Way() string {
	if e.Back {
		return "back"
	}
	return "out"
}

// Events are the numbered events, in order; starts and stops of joints are left
// out of them.
func (d *Data) Events() []EventRow {
	var out []EventRow
	if d.Stroke == nil {
		return nil
	}
	for _, e := range d.Stroke.Events {
		if e.Joint {
			continue
		}
		out = append(out, EventRow{len(out) + 1, e.Frame, e.S, e.Back, e.Force, e.Text})
	}
	return out
}

// Mark is an event, or a run of them, on a curve.
type Mark struct {
	Label    string
	S, Value float64
	Back     bool
	Text     string
}

// Marks are the numbered events on a curve with a value per frame.
func (d *Data) Marks(values []float64) []Mark {
	var out []Mark
	for _, m := range together(d.Events(), d.Stroke.Travel, values) {
		out = append(out, Mark{m.label, m.x, m.y, m.back, m.text})
	}
	return out
}
