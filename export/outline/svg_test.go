package outline

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

func attr(t testing.TB, e xml.StartElement, name string) string {
	t.Helper()
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	t.Fatalf("%s has no %s", e.Name.Local, name)
	return ""
}

func readSVG(t testing.TB, b []byte) []*drawn {
	t.Helper()
	num := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	var out []*drawn
	layer := ""
	dec := xml.NewDecoder(bytes.NewReader(b))
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		switch e.Name.Local {
		case "g":
			if e.Attr[0].Name.Local == "id" {
				layer = attr(t, e, "id")
			}
		case "circle":
			d := newDrawn(layer)
			r := num(attr(t, e, "r"))
			c := r2.Vec{X: num(attr(t, e, "cx")), Y: num(attr(t, e, "cy"))}
			d.circle, d.area = true, math.Pi*r*r
			d.cover(r2.Add(c, r2.Vec{X: r, Y: r}))
			d.cover(r2.Sub(c, r2.Vec{X: r, Y: r}))
			out = append(out, d)
		case "path":
			d := newDrawn(layer)
			d.area = pathArea(t, attr(t, e, "d"), d)
			// The profile's outer loops run counter-clockwise with y up, so
			// still counter-clockwise on the page, where y is down.
			if want := 1.0; strings.HasPrefix(layer, "outline") != (d.area*want < 0) {
				t.Errorf("%s: signed area %g mm² on the page", layer, d.area)
			}
			d.area = math.Abs(d.area)
			out = append(out, d)
		}
	}
}

var command = regexp.MustCompile(`([MLAZ])([^MLAZ]*)`)

// pathArea follows a path as SVG 1.1 says; arcs by the conversion from end
// points to centre of its appendix F.6.5, for circles.
func pathArea(t testing.TB, path string, d *drawn) float64 {
	t.Helper()
	var at, first r2.Vec
	area := 0.0
	to := func(p r2.Vec) {
		area += r2.Cross(r2.Sub(at, first), r2.Sub(p, first)) / 2
		at = p
		d.cover(p)
	}
	for _, m := range command.FindAllStringSubmatch(path, -1) {
		var n []float64
		for _, f := range strings.Fields(m[2]) {
			v, err := strconv.ParseFloat(f, 64)
			if err != nil {
				t.Fatal(err)
			}
			n = append(n, v)
		}
		switch {
		case m[1] == "M" && len(n) == 2:
			at = r2.Vec{X: n[0], Y: n[1]}
			first = at
			d.cover(at)
		case m[1] == "L" && len(n) == 2:
			to(r2.Vec{X: n[0], Y: n[1]})
		case m[1] == "A" && len(n) == 7:
			end := r2.Vec{X: n[5], Y: n[6]}
			half := r2.Scale(0.5, r2.Sub(at, end))
			r := max(n[0], r2.Norm(half)) // F.6.6: a radius too small is enlarged
			h2 := r2.Norm2(half)
			k := math.Sqrt(max(0, r*r-h2) / h2)
			if n[3] == n[4] {
				k = -k
			}
			c := r2.Add(r2.Scale(0.5, r2.Add(at, end)), r2.Scale(k, r2.Vec{X: half.Y, Y: -half.X}))
			a, b := r2.Sub(at, c), r2.Sub(end, c)
			turn := math.Atan2(r2.Cross(a, b), r2.Dot(a, b))
			if n[4] == 1 && turn < 0 {
				turn += 2 * math.Pi
			} else if n[4] == 0 && turn > 0 {
				turn -= 2 * math.Pi
			}
			const steps = 4000
			for i := 1; i < steps; i++ {
				to(r2.Add(c, r2.Rotate(a, turn*float64(i)/steps, r2.Vec{})))
			}
			to(end)
		case m[1] == "Z" && len(n) == 0:
			to(first)
		default:
			t.Fatalf("command %s with %d numbers", m[1], len(n))
		}
	}
	return area
}

// CSS and SVG unit definition: width in mm with a viewBox of the same
// numbers makes a user unit 1 mm; y points down.
func TestSVGForm(t *testing.T) {
	d, _ := link()
	var b bytes.Buffer
	if err := SVG(&b, d); err != nil {
		t.Fatal(err)
	}
	var s struct {
		XMLName xml.Name
		Width   string `xml:"width,attr"`
		Height  string `xml:"height,attr"`
		ViewBox string `xml:"viewBox,attr"`
		Title   string `xml:"title"`
	}
	if err := xml.Unmarshal(b.Bytes(), &s); err != nil {
		t.Fatal(err)
	}
	// Bounds by hand: x −28…103, y −5…11 with 1 mm around.
	if s.Width != "133.0mm" || s.Height != "18.0mm" || s.ViewBox != "0 0 133.0 18.0" {
		t.Errorf("%s × %s, viewBox %s", s.Width, s.Height, s.ViewBox)
	}
	if s.XMLName.Space != "http://www.w3.org/2000/svg" || s.Title != d.Title {
		t.Errorf("namespace %s, title %q", s.XMLName.Space, s.Title)
	}
}

// A triangle whose highest corner is at the left: it must be at the top left of
// the page, at the margin.
func TestSVGTurnsY(t *testing.T) {
	var b bytes.Buffer
	if err := SVG(&b, flat("t", profile.Region{{v(0, 0, 0), v(10, 0, 0), v(0, 20, 0)}})); err != nil {
		t.Fatal(err)
	}
	if want := `d="M1.0 21.0L11.0 21.0L1.0 1.0Z"`; !strings.Contains(b.String(), want) {
		t.Errorf("no %s in\n%s", want, b.String())
	}
}
