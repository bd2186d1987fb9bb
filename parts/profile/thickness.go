package profile

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// MaxWedge is the largest angle, in rad, between two opposite walls that still
// count as a wall or a slit. A corner is one too: near a corner of 60° inward rays meet the
// other side after next to nothing, and mean nothing. A wedge sharper than 30°
// is a knife edge, whose thickness near the tip is really next to nothing.
const MaxWedge = math.Pi / 6

// Wall is the distance across material, or a gap, at a point of the boundary.
type Wall struct {
	P        r2.Vec  // on the boundary
	Tag      int32   // of the edge at P
	Loop     int     // of P
	Edge     int     // of P
	Across   r2.Vec  // the opposite point
	OtherTag int32   // of the edge at Across
	Width    float64 // mm
}

// Thickness returns the wall thickness at points spaced at most spacing mm along all
// edges (at least three per edge): the length of the inward normal up to the
// opposite edge, if that edge faces it within MaxWedge. Points without an
// opposite wall (corners, the inside of a bend) are left out. Walls
// between two loops, and of one loop with itself, are found alike.
func Thickness(r Region, spacing float64) ([]Wall, error) {
	return across(r, spacing, -1)
}

// Gaps returns the widths of slits and holes at points spaced at most spacing mm:
// as Thickness, along the outward normal. Points that see nothing are left out.
func Gaps(r Region, spacing float64) ([]Wall, error) {
	return across(r, spacing, 1)
}

func across(r Region, spacing float64, side float64) ([]Wall, error) {
	if !(spacing > 0) {
		return nil, fmt.Errorf("spacing %g mm, must be positive", spacing)
	}
	f := NewField(r)
	var out []Wall
	r.Edges(func(i, j int, e Edge) {
		n := max(3, int(math.Ceil(e.Length()/spacing)))
		for k := range n {
			if w, ok := f.wallAt(i, j, e, (float64(k)+0.5)/float64(n), side); ok {
				out = append(out, w)
			}
		}
	})
	return out, nil
}

// wallAt casts one ray from the fraction t of an edge.
func (f *Field) wallAt(loop, edge int, e Edge, t, side float64) (Wall, bool) {
	p, tan := e.At(t)
	dir := r2.Scale(side, right(tan))
	h, ok := f.Ray(p, dir, 10*Tol, math.Inf(1))
	if !ok {
		return Wall{}, false
	}
	// The opposite normal points along the ray through material, against it in a gap.
	if -side*r2.Dot(h.Normal, dir) < math.Cos(MaxWedge) {
		return Wall{}, false
	}
	return Wall{P: p, Tag: e.Tag, Loop: loop, Edge: edge, Across: h.P, OtherTag: h.Tag, Width: h.T}, true
}

// MinThickness returns the thinnest wall; ok is false if there is none. The
// thinnest samples, spaced as given, are refined along their edges.
func MinThickness(r Region, spacing float64) (w Wall, ok bool, err error) {
	return minAcross(r, spacing, -1)
}

// MinGap returns the narrowest slit or hole; ok is false if there is none.
func MinGap(r Region, spacing float64) (w Wall, ok bool, err error) {
	return minAcross(r, spacing, 1)
}

func minAcross(r Region, spacing float64, side float64) (best Wall, ok bool, err error) {
	ws, err := across(r, spacing, side)
	if err != nil || len(ws) == 0 {
		return best, false, err
	}
	f := NewField(r)
	low := math.Inf(1)
	for _, w := range ws {
		low = math.Min(low, w.Width)
	}
	best.Width = math.Inf(1)
	for _, w := range ws {
		// A sample this close can hide a smaller width within its spacing; the walls
		// close by at most tan(MaxWedge) to either side.
		if w.Width > low+spacing*math.Tan(MaxWedge) {
			continue
		}
		e := r[w.Loop].Edge(w.Edge)
		l := e.Length()
		step := l / float64(max(3, int(math.Ceil(l/spacing))))
		w = f.refine(w, e, e.param(w.P), step/l, side)
		if w.Width < best.Width {
			best = w
		}
	}
	return best, true, nil
}

// refine narrows in on the smallest width within one spacing to either side.
func (f *Field) refine(w Wall, e Edge, t, h, side float64) Wall {
	for ; h > 1e-9; h /= 2 {
		for _, x := range [2]float64{t - h, t + h} {
			if x < 0 || x > 1 {
				continue
			}
			if v, ok := f.wallAt(w.Loop, w.Edge, e, x, side); ok && v.Width < w.Width {
				w, t = v, x
			}
		}
	}
	return w
}
