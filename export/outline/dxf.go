package outline

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode"

	"gonum.org/v1/gonum/spatial/r2"
)

// DXF writes the drawing in the oldest form that is still read everywhere,
// AC1009: header with bounds, a table of layers, and entities. Round loops are
// CIRCLEs; all others are closed POLYLINEs whose VERTEX bulges (group 42,
// tan(sweep/4)) are the profile's own, so arcs are exact and a loop stays one
// object. Layers, a set for each level: HOLES (round), CUTOUTS (slots and other
// inner loops), OUTLINE.
//
// AC1009 itself has no unit. The header says millimetres in the variables of
// later forms, $INSUNITS = 4 and $MEASUREMENT = 1 (DXF reference, header section,
// from memory); readers of the old form pass over variables that they do not
// know, and a comment says mm for people.
func DXF(w io.Writer, d Drawing) error {
	layers, box, err := d.groups()
	if err != nil {
		return fmt.Errorf("DXF %q: %w", d.Title, err)
	}
	g := &coded{w: bufio.NewWriter(w)}
	g.text(999, comment(d.Title))
	g.text(999, "unit: mm")
	for _, n := range d.Notes {
		g.text(999, comment(n))
	}
	g.text(0, "SECTION")
	g.text(2, "HEADER")
	g.text(9, "$ACADVER")
	g.text(1, "AC1009")
	g.text(9, "$INSUNITS")
	g.number(70, 4)
	g.text(9, "$MEASUREMENT")
	g.number(70, 1)
	g.text(9, "$EXTMIN")
	g.point(box.Min)
	g.text(9, "$EXTMAX")
	g.point(box.Max)
	g.text(0, "ENDSEC")

	g.text(0, "SECTION")
	g.text(2, "TABLES")
	g.text(0, "TABLE")
	g.text(2, "LTYPE")
	g.number(70, 1)
	g.text(0, "LTYPE")
	g.text(2, "CONTINUOUS")
	g.number(70, 0)
	g.text(3, "Solid line")
	g.number(72, 65) // alignment, always 65
	g.number(73, 0)  // no dashes
	g.real(40, "0.0")
	g.text(0, "ENDTAB")
	g.text(0, "TABLE")
	g.text(2, "LAYER")
	g.number(70, len(layers))
	for _, l := range layers {
		g.text(0, "LAYER")
		g.text(2, l.layer)
		g.number(70, 0)
		g.number(62, (l.level*int(kinds)+int(l.kind))%255+1) // a colour number each
		g.text(6, "CONTINUOUS")
	}
	g.text(0, "ENDTAB")
	g.text(0, "ENDSEC")

	g.text(0, "SECTION")
	g.text(2, "ENTITIES")
	for _, l := range layers {
		for _, s := range l.shapes {
			g.shape(l.layer, s)
		}
	}
	g.text(0, "ENDSEC")
	g.text(0, "EOF")
	if err := g.w.Flush(); err != nil {
		return fmt.Errorf("DXF %q: %w", d.Title, err)
	}
	return nil
}

// coded writes pairs of a group code and a value, a line each. The buffered
// writer keeps the first error for Flush.
type coded struct{ w *bufio.Writer }

func (g *coded) text(code int, s string) { fmt.Fprintf(g.w, "%3d\r\n%s\r\n", code, s) }

// number writes an integer, codes 60 to 79.
func (g *coded) number(code, n int) { g.text(code, fmt.Sprintf("%6d", n)) }

// real writes a real number, codes 10 to 59.
func (g *coded) real(code int, s string) { g.text(code, s) }

func (g *coded) point(p r2.Vec) {
	g.real(10, length(p.X))
	g.real(20, length(p.Y))
	g.real(30, "0.0")
}

func (g *coded) shape(layer string, s shape) {
	if s.circle {
		g.text(0, "CIRCLE")
		g.text(8, layer)
		g.point(s.centre)
		g.real(40, length(s.radius))
		return
	}
	g.text(0, "POLYLINE")
	g.text(8, layer)
	g.number(66, 1) // vertices follow
	g.point(r2.Vec{})
	g.number(70, 1) // closed
	for _, v := range s.loop {
		g.text(0, "VERTEX")
		g.text(8, layer)
		g.point(v.P)
		if v.Bulge != 0 {
			g.real(42, bulge(v.Bulge))
		}
	}
	g.text(0, "SEQEND")
	g.text(8, layer)
}

// bulge keeps 12 significant digits: the sagitta of an arc is bulge·chord/2, so
// that even a metre of chord is drawn to a nanometre.
func bulge(b float64) string {
	s := strconv.FormatFloat(b, 'g', 12, 64)
	if strings.ContainsAny(s, ".") {
		return s
	}
	if i := strings.IndexByte(s, 'e'); i >= 0 {
		return s[:i] + ".0" + s[i:]
	}
	return s + ".0"
}

// comment keeps a text on its line and in ASCII, for the form knows no other
// encoding.
func comment(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r):
			return ' '
		case r > '~':
			return '?'
		}
		return r
	}, s)
}
