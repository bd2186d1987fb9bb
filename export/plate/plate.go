// Package plate arranges printed parts on as few print plates as it can.
//
// Parts are taken as the rectangles that they cover on the bed, as drawn or
// after a quarter turn; nothing lies in another part's window or notch. Many
// orders and placing rules are tried, always the same ones, so the same parts
// give the same plates.
package plate

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Bed is the printer's space in mm. Its frame has the origin in the front left
// corner of the bed, x to the right, y to the back, z up.
type Bed struct {
	X, Y, Z float64 // size
	Margin  float64 // kept free along the edges of the bed
	Spacing float64 // kept free between parts
}

// Part is one mesh to be printed.
type Part struct {
	Name   string
	Box    r3.Box // of the mesh as it is printed, z up
	Copies int
}

// Spot is a copy's place on its plate. The mesh is turned a quarter
// counter-clockwise about z if Turned, then shifted by At.
type Spot struct {
	Part   int // index into the parts given
	Copy   int // from 0
	Turned bool
	At     r3.Vec
	Area   r2.Box // what it covers on the bed
}

// Plate is what is printed in one go: spots in the order of parts and copies.
type Plate []Spot

// Oversize is a part that the bed can't hold.
type Oversize struct {
	Part   int
	Name   string
	Size   r3.Vec // mm
	Usable r3.Vec // mm
	// Diagonal is the angle, in radians, at which the part would fit when
	// turned about z; 0 when none would do.
	Diagonal float64
}

func (o Oversize) String() string {
	s := fmt.Sprintf("%s is %.1f × %.1f × %.1f mm, the usable bed %.1f × %.1f × %.1f mm",
		o.Name, o.Size.X, o.Size.Y, o.Size.Z, o.Usable.X, o.Usable.Y, o.Usable.Z)
	if o.Diagonal > 0 {
		s += fmt.Sprintf("; it would fit by itself, turned by %.0f°", o.Diagonal*180/math.Pi)
	}
	return s
}

// TooLarge lists all parts that the bed can't hold, in the order of parts.
type TooLarge []Oversize

func (t TooLarge) Error() string {
	lines := make([]string, len(t))
	for i, o := range t {
		lines[i] = o.String()
	}
	return "too large for the printer: " + strings.Join(lines, "; ")
}

// item is a copy to be placed.
type item struct {
	part, copy int
	w, h       float64 // with the spacing
}

// Arrange places every copy of every part. Parts that the bed can't hold are
// left out and come back in an error of type TooLarge, together with the plates
// of all others. Other errors are of the input: sizes that are not positive and
// finite, a margin that leaves nothing.
func Arrange(bed Bed, parts []Part) ([]Plate, error) {
	usable := r3.Vec{X: bed.X - 2*bed.Margin, Y: bed.Y - 2*bed.Margin, Z: bed.Z}
	if !positive(usable.X) || !positive(usable.Y) || !positive(usable.Z) || !(bed.Margin >= 0) || !(bed.Spacing >= 0) || math.IsInf(bed.Spacing, 0) {
		return nil, fmt.Errorf("plate: a bed of %g × %g × %g mm with a margin of %g and a spacing of %g mm holds nothing",
			bed.X, bed.Y, bed.Z, bed.Margin, bed.Spacing)
	}
	var items []item
	var large TooLarge
	for i, p := range parts {
		size := r3.Sub(p.Box.Max, p.Box.Min)
		if !positive(size.X) || !positive(size.Y) || !positive(size.Z) || p.Copies < 0 {
			return nil, fmt.Errorf("plate: %s: size %g × %g × %g mm, %d copies", p.Name, size.X, size.Y, size.Z, p.Copies)
		}
		upright := fits(size.X, size.Y, usable) || fits(size.Y, size.X, usable)
		if !upright || size.Z > usable.Z+slack {
			o := Oversize{Part: i, Name: p.Name, Size: size, Usable: usable}
			if !upright && size.Z <= usable.Z+slack {
				o.Diagonal = diagonal(size, usable)
			}
			large = append(large, o)
			continue
		}
		for c := range p.Copies {
			items = append(items, item{i, c, size.X + bed.Spacing, size.Y + bed.Spacing})
		}
	}
	// The spacing of the outermost parts may reach over the margin.
	sheets := best(items, usable.X+bed.Spacing, usable.Y+bed.Spacing)
	plates := make([]Plate, len(sheets))
	for i, s := range sheets {
		plates[i] = s.plate(bed, parts)
	}
	if len(large) > 0 {
		return plates, large
	}
	return plates, nil
}

// slack forgives the rounding of sums of lengths, in mm.
const slack = 1e-9

func positive(v float64) bool { return v > 0 && !math.IsInf(v, 0) }

func fits(w, h float64, usable r3.Vec) bool { return w <= usable.X+slack && h <= usable.Y+slack }

// diagonal looks for an angle at which the turned rectangle's bounds fit, in
// steps of half a degree, and returns the smallest, or 0.
func diagonal(size, usable r3.Vec) float64 {
	for step := 1; step < 360; step++ {
		a := float64(step) * math.Pi / 360
		s, c := math.Abs(math.Sin(a)), math.Abs(math.Cos(a))
		if fits(size.X*c+size.Y*s, size.X*s+size.Y*c, usable) {
			return a
		}
	}
	return 0
}

// plate turns a packed sheet into spots, the whole in the middle of the bed.
func (s sheet) plate(bed Bed, parts []Part) Plate {
	used := s.extent()
	// used reaches over the last part's spacing.
	origin := r2.Vec{X: (bed.X - (used.X - bed.Spacing)) / 2, Y: (bed.Y - (used.Y - bed.Spacing)) / 2}
	var out Plate
	for _, p := range s.placed {
		box := parts[p.part].Box
		lo := r2.Add(origin, r2.Vec{X: p.x, Y: p.y})
		spot := Spot{Part: p.part, Copy: p.copy, Turned: p.turned,
			Area: r2.Box{Min: lo, Max: r2.Add(lo, r2.Vec{X: p.w - bed.Spacing, Y: p.h - bed.Spacing})}}
		// Lowest corner of the mesh once it is turned.
		corner := r3.Vec{X: box.Min.X, Y: box.Min.Y, Z: box.Min.Z}
		if p.turned {
			corner.X, corner.Y = -box.Max.Y, box.Min.X
		}
		spot.At = r3.Sub(r3.Vec{X: lo.X, Y: lo.Y}, corner)
		out = append(out, spot)
	}
	sortSpots(out)
	return out
}
