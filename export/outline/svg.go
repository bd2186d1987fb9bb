package outline

import (
	"bufio"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
)

// Hairline is the width of the lines in mm: programs that drive a cutter follow
// a line this thin instead of filling it (common practice, no source).
const Hairline = 0.01

// colours of the levels: names of SVG 1.1 that differ on white, the rest being
// told apart by their ids.
var colours = []string{"black", "blue", "red", "green", "purple", "darkorange", "teal", "brown"}

// longest is the largest turn of one arc command.
const longest = 2 * math.Pi / 3

// margin around the part, so that no line is cut off, in mm.
const margin = 1

// SVG writes the drawing as SVG 1.1, 1:1: width and height are in mm and the
// viewBox gives user units of 1 mm (CSS: 1 in = 96 px = 25.4 mm). The profile's
// y points up and SVG's down, so y is turned over; x = 0 and y = 0 of the page
// are the upper left corner of the part's bounds, less a margin of 1 mm. Arcs
// are arc commands, round loops circles; kinds of loops are groups with the
// layer names of DXF as ids, in small letters. Levels have colours, the lowest
// black.
func SVG(w io.Writer, d Drawing) error {
	layers, box, err := d.groups()
	if err != nil {
		return fmt.Errorf("SVG %q: %w", d.Title, err)
	}
	b := bufio.NewWriter(w)
	line := d.Line
	if line == 0 {
		line = Hairline
	}
	width, height := length(box.Max.X-box.Min.X+2*margin), length(box.Max.Y-box.Min.Y+2*margin)
	var title, notes strings.Builder
	xml.EscapeText(&title, []byte(d.Title))
	if len(d.Notes) > 0 {
		notes.WriteString("<desc>")
		xml.EscapeText(&notes, []byte(strings.Join(d.Notes, "; ")))
		notes.WriteString("</desc>\n")
	}
	fmt.Fprintf(b, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"+
		"<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"%smm\" height=\"%smm\" viewBox=\"0 0 %s %s\">\n"+
		"<title>%s</title>\n%s<g fill=\"none\" stroke=\"black\" stroke-width=\"%g\" stroke-linejoin=\"round\">\n",
		width, height, width, height, title.String(), notes.String(), line)
	x := func(v float64) string { return length(v - box.Min.X + margin) }
	y := func(v float64) string { return length(box.Max.Y - v + margin) }
	for _, l := range layers {
		fmt.Fprintf(b, "<g id=\"%s\" stroke=\"%s\">\n", strings.ToLower(l.layer), colours[l.level%len(colours)])
		for _, s := range l.shapes {
			if s.circle {
				fmt.Fprintf(b, "<circle cx=\"%s\" cy=\"%s\" r=\"%s\"/>\n", x(s.centre.X), y(s.centre.Y), length(s.radius))
			} else {
				fmt.Fprintf(b, "<path d=\"M%s %s", x(s.loop[0].P.X), y(s.loop[0].P.Y))
				for j := range s.loop {
					e := s.loop.Edge(j)
					last := j == len(s.loop)-1
					if e.IsLine() {
						// Z draws the last straight edge.
						if !last {
							fmt.Fprintf(b, "L%s %s", x(e.B.X), y(e.B.Y))
						}
						continue
					}
					centre, radius, start, turn := e.Arc()
					// Sweep 1 turns from +x to +y of the page, clockwise as seen.
					sweep := 0
					if turn < 0 {
						sweep = 1
					}
					// Ends and radius say little about the centre of an arc near
					// half a turn, so longer ones are drawn in pieces.
					n := math.Ceil(math.Abs(turn)/longest - 1e-9)
					for k := 1.0; k <= n; k++ {
						end := e.B
						if k < n {
							sin, cos := math.Sincos(start + turn*k/n)
							end = r2.Add(centre, r2.Vec{X: radius * cos, Y: radius * sin})
						}
						fmt.Fprintf(b, "A%s %s 0 0 %d %s %s", length(radius), length(radius), sweep, x(end.X), y(end.Y))
					}
				}
				b.WriteString("Z\"/>\n")
			}
		}
		b.WriteString("</g>\n")
	}
	b.WriteString("</g>\n</svg>\n")
	if err := b.Flush(); err != nil {
		return fmt.Errorf("SVG %q: %w", d.Title, err)
	}
	return nil
}
