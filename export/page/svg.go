package page

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// svg gathers the text of a drawing.
type svg struct{ strings.Builder }

func (s *svg) f(format string, args ...any) { fmt.Fprintf(&s.Builder, format, args...) }

func (s *svg) html() template.HTML { return template.HTML(s.String()) }

// esc escapes text for element content and quoted attributes.
func esc(t string) string { return html.EscapeString(t) }

// n formats a length in a drawing, to 1 µm, as short as it can be.
func n(v float64) string {
	t := strconv.FormatFloat(math.Round(v*1000)/1000, 'f', -1, 64)
	if t == "-0" {
		return "0"
	}
	return t
}

// path is a region as SVG path data with true arcs, in the region's own axes: it
// must stand in a group that turns y up, where a positive sweep is to the left.
func path(r profile.Region) string {
	var b strings.Builder
	for _, l := range r {
		for i := range l {
			e := l.Edge(i)
			if i == 0 {
				b.WriteString("M" + n(e.A.X) + " " + n(e.A.Y))
			}
			step(&b, e)
		}
		b.WriteByte('Z')
	}
	return b.String()
}

// step draws one edge from where the pen stands.
func step(b *strings.Builder, e profile.Edge) {
	if e.IsLine() {
		b.WriteString("L" + n(e.B.X) + " " + n(e.B.Y))
		return
	}
	_, radius, _, sweep := e.Arc()
	r := n(radius)
	if radius < 0.001 {
		r = strconv.FormatFloat(radius, 'g', 4, 64)
	}
	large, left := "0", "0"
	if math.Abs(sweep) > math.Pi {
		large = "1"
	}
	if sweep > 0 {
		left = "1"
	}
	b.WriteString("A" + r + " " + r + " 0 " + large + " " + left + " " + n(e.B.X) + " " + n(e.B.Y))
}

// bounds grows with what it is told to hold.
type bounds struct{ lo, hi r2.Vec }

func newBounds() bounds {
	inf := math.Inf(1)
	return bounds{r2.Vec{X: inf, Y: inf}, r2.Vec{X: -inf, Y: -inf}}
}

func (b *bounds) point(p r2.Vec) {
	b.lo = r2.Vec{X: math.Min(b.lo.X, p.X), Y: math.Min(b.lo.Y, p.Y)}
	b.hi = r2.Vec{X: math.Max(b.hi.X, p.X), Y: math.Max(b.hi.Y, p.Y)}
}

func (b *bounds) region(r profile.Region) {
	if box, ok := r.Box(); ok {
		b.point(box.Min)
		b.point(box.Max)
	}
}

func (b *bounds) size() r2.Vec { return r2.Sub(b.hi, b.lo) }

func (b *bounds) grow(d float64) {
	b.lo, b.hi = r2.Sub(b.lo, r2.Vec{X: d, Y: d}), r2.Add(b.hi, r2.Vec{X: d, Y: d})
}

// Ticks returns round steps over a range, about count of them.
func Ticks(lo, hi float64, count int) []float64 {
	span := hi - lo
	if !(span > 0) || math.IsInf(span, 0) {
		return []float64{lo}
	}
	unit := math.Pow(10, math.Floor(math.Log10(span/float64(count))))
	for _, k := range []float64{1, 2, 5, 10} {
		if span/(unit*k) <= float64(count) {
			unit *= k
			break
		}
	}
	var out []float64
	for i := math.Ceil(lo/unit - 1e-9); i*unit <= hi+1e-9*span; i++ {
		out = append(out, math.Round(i*unit*1e6)/1e6+0)
	}
	return out
}
