// Package outline writes flat drawings of parts: DXF and SVG, with true arcs, in
// mm. A part has a profile for every height at which it is different, each on
// layers of its own, so that a blind hole or a boss is in the drawing too.
//
// Sizes are those of the part as it works: the clearance of each fit is in them,
// the printer's compensation and the chamfers are not. They are for cutting and
// for drawing on; what is printed are the meshes. The width of a cut is left to
// whoever cuts.
//
// Everything comes straight from the profile. Nothing is faceted: an arc of the
// part is an arc of the drawing, a round hole a circle.
package outline

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts"
	"tuckfinger/parts/profile"
)

// Drawing is one flat part.
type Drawing struct {
	// Title says what it is, Notes what else a reader must know; they go into the
	// file as text, not as geometry.
	Title  string
	Notes  []string
	Levels []Level
	// Line is the width of the lines in SVG in mm; 0 is Hairline, for cutters.
	Line float64
}

// Level is the profile of a part between two heights, mm. Without a height, Z0 =
// Z1, the profile is of no part of the z axis, and its layers have plain names.
type Level struct {
	Z0, Z1 float64
	Region profile.Region
}

// Of draws a part as it works, in its body's frame, from its lowest level up. The
// error says that profiles can't be joined.
func Of(title string, p *parts.Part) (Drawing, error) {
	d := Drawing{Title: title, Notes: []string{
		"sizes as the part works: with the clearance of each fit, without the printer's compensation, without chamfers",
		"seen from +z; a layer for each height, named by its z range in the finger file in mm, with _ for the decimal point",
	}}
	bores := 0
	for i := range p.Body.Features {
		if p.Body.Features[i].Bore != nil {
			bores++
		}
	}
	if bores > 0 {
		d.Notes = append(d.Notes, fmt.Sprintf("not drawn: %d bore(s) along the drawing plane", bores))
	}
	var cuts []float64
	for _, s := range p.Solid.Slabs() {
		cuts = append(cuts, s.Z0, s.Z1)
	}
	slices.Sort(cuts)
	for i := 1; i < len(cuts); i++ {
		if cuts[i]-cuts[i-1] < 1e-6 {
			continue // the same height
		}
		r, err := p.Solid.Section((cuts[i-1] + cuts[i]) / 2)
		if err != nil {
			return d, fmt.Errorf("outline of %s at z = %.3f mm: %w", p.Name, cuts[i-1], err)
		}
		if len(r) > 0 {
			d.Levels = append(d.Levels, Level{cuts[i-1], cuts[i], r})
		}
	}
	return d, nil
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

// names of the kinds in drawings.
var names = [kinds]string{"HOLES", "CUTOUTS", "OUTLINE"}

func (k Kind) String() string { return names[k] }

// layer is the name of the layer of a kind of loop on a level, such as
// HOLES-Z5_3-TO-9_3. R12 wants capitals, digits, $, - and _, at most 31 in all:
// heights of up to four digits and three decimals.
func (l *Level) layer(k Kind) string {
	if l.Z0 == l.Z1 {
		return k.String()
	}
	z := func(v float64) string {
		s := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(v, 'f', 3, 64), "0"), ".")
		if s == "-0" {
			s = "0"
		}
		return strings.Replace(s, ".", "_", 1)
	}
	return k.String() + "-Z" + z(l.Z0) + "-TO-" + z(l.Z1)
}

// group is what a layer holds.
type group struct {
	layer  string
	level  int
	kind   Kind
	shapes []shape
}

// shape is a loop, ready to draw.
type shape struct {
	loop   profile.Loop
	circle bool
	centre r2.Vec
	radius float64
}

// groups sorts the loops by level and kind, within a kind in the region's order,
// and returns the bounds. Inner shapes come first: a cutter has to do them while
// the part is still held (common practice, no source). It returns an error for
// an empty region, a loop that is not one, or a number that is not finite.
func (d Drawing) groups() ([]group, r2.Box, error) {
	var out []group
	var bounds r2.Box
	for n := range d.Levels {
		level := &d.Levels[n]
		var byKind [kinds][]shape
		for i, l := range level.Region {
			for j, v := range l {
				if !finite(v.P.X) || !finite(v.P.Y) || !finite(v.Bulge) {
					return nil, bounds, fmt.Errorf("loop %d, vertex %d: (%g, %g) mm with bulge %g", i, j, v.P.X, v.P.Y, v.Bulge)
				}
			}
			a := l.Area()
			if len(l) < 2 || a == 0 {
				return nil, bounds, fmt.Errorf("loop %d: %d vertices, area %g mm²", i, len(l), a)
			}
			s := shape{loop: l}
			s.centre, s.radius, s.circle = circle(l)
			kind := Outside
			if a < 0 {
				if kind = Cutout; s.circle {
					kind = Hole
				}
			}
			byKind[kind] = append(byKind[kind], s)
		}
		box, ok := level.Region.Box()
		if !ok {
			return nil, bounds, fmt.Errorf("there is nothing to draw")
		}
		if n == 0 {
			bounds = box
		}
		bounds.Min = r2.Vec{X: min(bounds.Min.X, box.Min.X), Y: min(bounds.Min.Y, box.Min.Y)}
		bounds.Max = r2.Vec{X: max(bounds.Max.X, box.Max.X), Y: max(bounds.Max.Y, box.Max.Y)}
		for k, shapes := range byKind {
			if len(shapes) > 0 {
				out = append(out, group{level.layer(Kind(k)), n, Kind(k), shapes})
			}
		}
	}
	if len(out) == 0 {
		return nil, bounds, fmt.Errorf("there is nothing to draw")
	}
	return out, bounds, nil
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
