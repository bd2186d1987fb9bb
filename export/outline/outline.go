// Package outline writes flat drawings of parts that could be cut instead of
// printed: DXF and SVG, with true arcs, in mm.
//
// Both come straight from the profile. Nothing is faceted: an arc of the part
// is an arc of the drawing, a round hole a circle.
package outline

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// Drawing is one flat part.
type Drawing struct {
	// Title says what it is; it goes into the file as text, not as geometry.
	Title  string
	Region profile.Region
	// Line is the width of the lines in SVG in mm; 0 is Hairline, for cutters.
	Line float64
}

// Kind is the kind of a loop; drawings keep the kinds apart.
type Kind int

const (
	// Hole: a round cut-out.
	Hole Kind = iota
	// Cutout: any other cut-out, such as a slot.
	Cutout
	// Outside: an outer contour.
	Outside
	kinds
)

// layers are the names of the kinds in drawings; R12 wants capitals, digits, $,
// - and _, at most 31.
var layers = [kinds]string{"HOLES", "CUTOUTS", "OUTLINE"}

func (k Kind) String() string { return layers[k] }

// shape is a loop, ready to draw. Inner shapes come first: a cutter has to do
// them while the part is still held (common practice, no source).
type shape struct {
	kind   Kind
	loop   profile.Loop
	circle bool
	centre r2.Vec
	radius float64
}

// shapes sorts the loops by kind, within a kind in the region's order, and
// returns the bounds. It returns an error for an empty region, a loop that is
// not one, or a number that is not finite.
func (d Drawing) shapes() ([]shape, r2.Box, error) {
	var byKind [kinds][]shape
	for i, l := range d.Region {
		for j, v := range l {
			if !finite(v.P.X) || !finite(v.P.Y) || !finite(v.Bulge) {
				return nil, r2.Box{}, fmt.Errorf("loop %d, vertex %d: (%g, %g) mm with bulge %g", i, j, v.P.X, v.P.Y, v.Bulge)
			}
		}
		a := l.Area()
		if len(l) < 2 || a == 0 {
			return nil, r2.Box{}, fmt.Errorf("loop %d: %d vertices, area %g mm²", i, len(l), a)
		}
		s := shape{kind: Outside, loop: l}
		s.centre, s.radius, s.circle = circle(l)
		if a < 0 {
			if s.kind = Cutout; s.circle {
				s.kind = Hole
			}
		}
		byKind[s.kind] = append(byKind[s.kind], s)
	}
	box, ok := d.Region.Box()
	if !ok {
		return nil, box, fmt.Errorf("there is nothing to draw")
	}
	return append(append(byKind[Hole], byKind[Cutout]...), byKind[Outside]...), box, nil
}

// circle reports whether a loop is one circle, however it is cut into arcs.
func circle(l profile.Loop) (centre r2.Vec, radius float64, ok bool) {
	for i := range l {
		e := l.Edge(i)
		if e.IsLine() || e.Bulge*l[0].Bulge < 0 {
			return centre, radius, false
		}
		c, r, _, _ := e.Arc()
		if i == 0 {
			centre, radius = c, r
			continue
		}
		// Below what the files can express.
		if r2.Norm(r2.Sub(c, centre)) > 1e-7 || math.Abs(r-radius) > 1e-7 {
			return centre, radius, false
		}
	}
	// Joined arcs on one circle, all the same way: the loop goes round it once,
	// for it does not cross itself.
	return centre, radius, len(l) > 0
}

func finite(v float64) bool { return v-v == 0 }

// length formats a length to 1 nm and always with a decimal point, which some
// readers of DXF need to take it for a real number.
func length(v float64) string {
	s := strings.TrimRight(strconv.FormatFloat(v, 'f', 6, 64), "0")
	if strings.HasSuffix(s, ".") {
		s += "0"
	}
	if s == "-0.0" {
		s = "0.0"
	}
	return s
}
