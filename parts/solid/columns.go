package solid

import (
	"math"

	"tuckfinger/parts/profile"
)

// Column is a region over which material, or the space between material, reaches
// from Z0 to Z1 without a break.
type Column struct {
	Z0, Z1 float64
	Region profile.Region
}

// Columns divides the solid, its edges taken as sharp, into columns of material
// from a downward to an upward face: floors, roofs and webs with their thickness
// along z. Together they are the solid. Where walls of layers above each other
// stand nearer than 1e-4 mm in plan, the strip between them is left out.
func (l *Layered) Columns() ([]Column, error) { return l.columns(false) }

// Voids divides the space between material below and above it into columns: the
// gaps along z that a printer must bridge and a tool must enter.
func (l *Layered) Voids() ([]Column, error) { return l.columns(true) }

func (l *Layered) columns(void bool) ([]Column, error) {
	var done, open []Column
	var seen profile.Region // all material below
	for k, z := range l.cuts {
		var layer []profile.Region
		for i := range l.slabs {
			s := &l.slabs[i]
			if k+1 < len(l.cuts) && s.Z0 <= z+zTol && s.Z1 >= l.cuts[k+1]-zTol {
				layer = append(layer, s.Region)
			}
		}
		fill, err := profile.UnionAll(layer...)
		if err != nil {
			return nil, err
		}
		goesOn, starts := fill, fill
		if void {
			if goesOn, err = profile.Subtract(seen, fill); err != nil {
				return nil, err
			}
			starts = goesOn
			if seen, err = profile.Union(seen, fill); err != nil {
				return nil, err
			}
		}
		var next []Column
		for _, c := range open {
			on, err := profile.Intersect(c.Region, goesOn)
			if err != nil {
				return nil, err
			}
			off, err := profile.Subtract(c.Region, goesOn)
			if err != nil {
				return nil, err
			}
			if off = thick(off); !off.IsEmpty() && (!void || k+1 < len(l.cuts)) {
				done = append(done, Column{c.Z0, z, off})
			}
			if on = thick(on); !on.IsEmpty() {
				next = append(next, Column{Z0: c.Z0, Region: on})
				if starts, err = profile.Subtract(starts, on); err != nil {
					return nil, err
				}
			}
		}
		if starts = thick(starts); !starts.IsEmpty() {
			next = append(next, Column{Z0: z, Region: starts})
		}
		open = next
	}
	return done, nil
}

// thick leaves out the parts of a region that are slivers.
func thick(r profile.Region) profile.Region { return solidParts(r, 1e-4) }

// MinHeight returns the thinnest column along z, +Inf without any.
func MinHeight(cs []Column) (Column, float64) {
	var at Column
	h := math.Inf(1)
	for _, c := range cs {
		if c.Z1-c.Z0 < h {
			at, h = c, c.Z1-c.Z0
		}
	}
	return at, h
}

// Wall is the thickness of a wall, or the width of a gap, of a slab in the plane.
type Wall struct {
	profile.Wall
	Z0, Z1 float64 // of the slab
}

// MinThickness returns the thinnest wall in the plane of any slab, its edges taken as
// sharp, found from rays that start at most spacing mm apart and refined
// (profile.MinThickness); ok is false when no two walls face each other.
func (l *Layered) MinThickness(spacing float64) (w Wall, ok bool, err error) {
	return l.across(spacing, profile.MinThickness)
}

// MinGap returns the narrowest slit or hole in the plane of any slab; see MinThickness.
func (l *Layered) MinGap(spacing float64) (w Wall, ok bool, err error) {
	return l.across(spacing, profile.MinGap)
}

func (l *Layered) across(spacing float64, f func(profile.Region, float64) (profile.Wall, bool, error)) (best Wall, found bool, err error) {
	for i := range l.slabs {
		s := &l.slabs[i]
		w, ok, err := f(s.Region, spacing)
		if err != nil {
			return best, false, err
		}
		if ok && (!found || w.Width < best.Width) {
			best, found = Wall{w, s.Z0, s.Z1}, true
		}
	}
	return best, found, nil
}
