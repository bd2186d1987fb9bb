package outline

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"tuckfinger/export/internal/solids"
	"tuckfinger/parts/profile"
)

func v(x, y, bulge float64) profile.Vertex {
	return profile.Vertex{P: r2.Vec{X: x, Y: y}, Bulge: bulge}
}

// round is a circle in n arcs, counter-clockwise; n is at least 2.
func round(x, y, r float64, n int) profile.Loop {
	var l profile.Loop
	for i := range n {
		s, c := math.Sincos(0.3 + 2*math.Pi*float64(i)/float64(n))
		l = append(l, v(x+r*c, y+r*s, math.Tan(math.Pi/2/float64(n))))
	}
	return l
}

// bar is a stadium along x, counter-clockwise.
func bar(x0, x1, y, r float64) profile.Loop {
	return profile.Loop{v(x0, y-r, 0), v(x1, y-r, 1), v(x1, y+r, 0), v(x0, y+r, 1)}
}

// link is a plate with every kind of loop; want is its area by hand in mm².
func link() (d Drawing, want float64) {
	quarter := math.Tan(math.Pi / 8)
	d = Drawing{Title: "link <tip> & µ", Levels: []Level{{Region: profile.Region{
		bar(-20, 60, 3, 8),
		round(-20, 3, 1.6, 2).Reverse(),
		round(60, 3, 1.6, 5).Reverse(),
		bar(0, 22, 3, 1.55).Reverse(),
		// A square window with one corner rounded by 2, one cut inward by 1.
		profile.Loop{v(30, 0, 0), v(38, 0, quarter), v(40, 2, 0), v(40, 6, 0), v(31, 6, -quarter), v(30, 5, 0)}.Reverse(),
		// Three quarters of a disc of radius 3, a part of its own.
		profile.Loop{v(103, 0, math.Tan(3*math.Pi/8)), v(100, -3, 0), v(100, 0, 0)},
	}}}}
	want = 80*16 + math.Pi*64 - 2*math.Pi*1.6*1.6 - (22*3.1 + math.Pi*1.55*1.55) - (60 - 4*(1-math.Pi/4) - math.Pi/4) + 0.75*math.Pi*9
	return d, want
}

func flat(title string, r profile.Region) Drawing {
	return Drawing{Title: title, Levels: []Level{{Region: r}}}
}

// drawn is a loop read back from a file: its layer, area, and box.
type drawn struct {
	layer  string
	circle bool
	area   float64 // absolute
	lo, hi r2.Vec
}

func (d *drawn) cover(p r2.Vec) {
	d.lo = r2.Vec{X: min(d.lo.X, p.X), Y: min(d.lo.Y, p.Y)}
	d.hi = r2.Vec{X: max(d.hi.X, p.X), Y: max(d.hi.Y, p.Y)}
}

func (d *drawn) outer() bool { return strings.HasPrefix(strings.ToUpper(d.layer), "OUTLINE") }

func newDrawn(layer string) *drawn {
	inf := math.Inf(1)
	return &drawn{layer: layer, lo: r2.Vec{X: inf, Y: inf}, hi: r2.Vec{X: -inf, Y: -inf}}
}

// sum adds the areas, inner loops negative, as a reader of the drawing does.
func sum(loops []*drawn) float64 {
	a := 0.0
	for _, l := range loops {
		if l.outer() {
			a += l.area
		} else {
			a -= l.area
		}
	}
	return a
}

func compare(t interface {
	Errorf(string, ...any)
	Helper()
}, form string, d Drawing, got []*drawn, tol float64) {
	t.Helper()
	if len(got) != len(d.Levels[0].Region) {
		t.Errorf("%s: %d loops, want %d", form, len(got), len(d.Levels[0].Region))
	}
	if a, want := sum(got), d.Levels[0].Region.Area(); math.Abs(a-want) > tol {
		t.Errorf("%s: area %.9g mm², the profile has %.9g", form, a, want)
	}
	all := newDrawn("")
	for _, l := range got {
		all.cover(l.lo)
		all.cover(l.hi)
	}
	box, _ := d.Levels[0].Region.Box()
	have, want := r2.Sub(all.hi, all.lo), r2.Sub(box.Max, box.Min)
	if r2.Norm(r2.Sub(have, want)) > 1e-4 {
		t.Errorf("%s: bounds %.6g, want %.6g mm", form, have, want)
	}
}

func TestLink(t *testing.T) {
	d, want := link()
	if a := d.Levels[0].Region.Area(); math.Abs(a-want) > 1e-9 {
		t.Fatalf("the profile has %g mm², by hand %g", a, want)
	}
	for form, read := range readers {
		got := read(t, d)
		compare(t, form, d, got, 1e-4)
		count := map[string]int{}
		circles := 0
		for _, l := range got {
			count[strings.ToUpper(l.layer)]++
			if l.circle {
				circles++
			}
		}
		if fmt.Sprint(count) != "map[CUTOUTS:2 HOLES:2 OUTLINE:2]" || circles != 2 {
			t.Errorf("%s: %v, %d circles", form, count, circles)
		}
		// Inner loops come before the outside.
		for i, l := range got[1:] {
			if got[i].outer() && !l.outer() {
				t.Errorf("%s: %s after the outside", form, l.layer)
			}
		}
	}
}

// readers write a drawing and read it back.
var readers = map[string]func(testing.TB, Drawing) []*drawn{
	"DXF": func(t testing.TB, d Drawing) []*drawn {
		var b bytes.Buffer
		if err := DXF(&b, d); err != nil {
			t.Fatal(err)
		}
		return readDXF(t, b.String())
	},
	"SVG": func(t testing.TB, d Drawing) []*drawn {
		var b bytes.Buffer
		if err := SVG(&b, d); err != nil {
			t.Fatal(err)
		}
		return readSVG(t, b.Bytes())
	},
}

// Discs with random flats and bites: any bulge, both signs, any place and size.
func TestRandomLoops(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(3, 12).Draw(rt, "n")
		r := rapid.Float64Range(0.5, 200).Draw(rt, "radius")
		cx, cy := rapid.Float64Range(-500, 500).Draw(rt, "x"), rapid.Float64Range(-500, 500).Draw(rt, "y")
		var l profile.Loop
		for i := range n {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			b := rapid.SampledFrom([]float64{0, 1, -0.2, 0.7, 0.1, -1e-3, 1e-6}).Draw(rt, "bulge")
			l = append(l, v(cx+r*c, cy+r*s, b))
		}
		d := flat("random", profile.Region{l})
		if l.Area() <= 0 {
			return // bites of neighbours may cross on a triangle
		}
		for form, read := range readers {
			// Vertices are rounded to 0.5 nm each way along a perimeter of up to
			// 2000 mm; SVG's arcs follow from rounded ends and radius.
			compare(rt, form, d, read(t, d), 2e-2*math.Sqrt(r)*1e-1+1e-3)
		}
	})
}

func TestCircleInAnyPieces(t *testing.T) {
	for n := 2; n < 9; n++ {
		for form, read := range readers {
			got := read(t, flat("", profile.Region{round(1, 2, 3, n)}))
			if len(got) != 1 || !got[0].circle || math.Abs(got[0].area-9*math.Pi) > 1e-4 {
				t.Errorf("%s, %d arcs: %+v", form, n, got[0])
			}
		}
	}
	// Not circles: a lens, a wavy ring, a half disc.
	a := math.Tan(math.Pi / 8)
	for _, l := range []profile.Loop{{v(0, 0, 0.5), v(1, 0, 0.5)}, {v(3, 0, a), v(0, 3, a), v(-3, 0, -a), v(0, -3, a)}, {v(0, 0, 0), v(2, 0, 1)}} {
		if _, _, ok := circle(l); ok {
			t.Errorf("%v is called a circle", l)
		}
	}
}

func TestErrors(t *testing.T) {
	nan := math.NaN()
	for want, r := range map[string]profile.Region{
		"there is nothing to draw":                    nil,
		"loop 0, vertex 1: (NaN, 0) mm with bulge 0":  {{v(0, 0, 0), v(nan, 0, 0), v(1, 1, 0)}},
		"loop 0, vertex 0: (0, 0) mm with bulge +Inf": {{v(0, 0, math.Inf(1)), v(1, 0, 0), v(1, 1, 0)}},
		"loop 1: 1 vertices, area 0 mm²":              {round(0, 0, 1, 2), {v(0, 0, 1)}},
		"loop 0: 2 vertices, area 0 mm²":              {{v(0, 0, 0), v(1, 0, 0)}},
	} {
		var b bytes.Buffer
		for form, err := range map[string]error{"DXF": DXF(&b, flat("t", r)), "SVG": SVG(&b, flat("t", r))} {
			if err == nil || err.Error() != form+` "t": `+want {
				t.Errorf("got %v, want %s", err, want)
			}
		}
		if b.Len() > 0 {
			t.Errorf("%s: %d bytes written", want, b.Len())
		}
	}
}

func TestFailingWriter(t *testing.T) {
	d, _ := link()
	for range 40 {
		d.Levels[0].Region = append(d.Levels[0].Region, d.Levels[0].Region[0])
	}
	for _, left := range []int{0, 100, 4096, 5000} {
		if err := DXF(&solids.Failing{Left: left}, d); !errors.Is(err, solids.ErrFull) {
			t.Errorf("DXF, %d bytes: %v", left, err)
		}
		if err := SVG(&solids.Failing{Left: left}, d); !errors.Is(err, solids.ErrFull) {
			t.Errorf("SVG, %d bytes: %v", left, err)
		}
	}
}

func TestSameBytes(t *testing.T) {
	d, _ := link()
	var a, b bytes.Buffer
	if err := errors.Join(DXF(&a, d), SVG(&a, d), DXF(&b, d), SVG(&b, d)); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("two writes differ")
	}
}
