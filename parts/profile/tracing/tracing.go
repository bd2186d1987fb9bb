// Package tracing turns plane fields that nothing is known of but their values
// into profiles of lines and arcs, so that what another library has composed can
// be layered, meshed, measured and drawn like everything else.
//
// A map: Region, the search for the outline on a grid, this file; pieces.go
// follows the outline between grid lines, finds its corners and arcs; fit.go
// joins pieces into the fewest lines and arcs.
package tracing

import (
	"errors"
	"fmt"
	"math"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/profile"
)

// maxNodes bounds the grid.
const maxNodes = 16 << 20

// ErrLipschitz says that a field changes faster than it was said to.
var ErrLipschitz = errors.New("the field changes faster than its Lipschitz bound allows")

// ErrFine says that the field has features smaller than the cells.
var ErrFine = errors.New("the field has features smaller than a cell")

// Region returns the region where the field is negative, bounded by lines and
// circular arcs that lie within deviation mm of the field's zero line; corners
// stay sharp, and lines and arcs of the field come out as such.
//
// lipschitz bounds the change of the field per mm. cell is the spacing in mm at
// which the zero line is looked for: walls and gaps must be wider. Between grid
// lines it is followed as finely as it needs. The field's box must hold the
// region.
//
// Errors: bad numbers, a field that is not finite, ErrLipschitz and ErrFine with
// the place where they show, and a zero line that no arcs follow within the
// deviation.
func Region(f sdf.SDF2, lipschitz, cell, deviation float64) (profile.Region, error) {
	for _, v := range []float64{lipschitz, cell, deviation} {
		if !(v > 0) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("tracing: Lipschitz bound %g, cell %g mm and deviation %g mm must be positive", lipschitz, cell, deviation)
		}
	}
	t := &tracer{f: f, lip: lipschitz, h: cell, dev: deviation}
	if err := t.grid(); err != nil {
		return nil, fmt.Errorf("tracing: %w", err)
	}
	loops, err := t.loops()
	if err != nil {
		return nil, fmt.Errorf("tracing: %w", err)
	}
	var out []profile.Loop
	for _, l := range loops {
		pieces, err := t.follow(l)
		if err != nil {
			return nil, fmt.Errorf("tracing: %w", err)
		}
		if l := t.fit(pieces); len(l) > 1 {
			out = append(out, l)
		}
	}
	if err := t.verify(out); err != nil {
		return nil, fmt.Errorf("tracing: %w", err)
	}
	return profile.Clean(out...)
}

// errOutside says that a region reaches beyond its box.
var errOutside = errors.New("the field is negative at the edge of its box")

type tracer struct {
	f           sdf.SDF2
	lip, h, dev float64
	origin      r2.Vec
	nx, ny      int       // nodes
	val         []float64 // of nodes, NaN where not needed yet
	next        map[int]int
	at          map[int]r2.Vec
	order       []int // starts in the order they were found
	bad         error
}

func (t *tracer) eval(p r2.Vec) float64 {
	v := t.f.Evaluate(sdf.V2{X: p.X, Y: p.Y})
	if (math.IsNaN(v) || math.IsInf(v, 0)) && t.bad == nil {
		t.bad = fmt.Errorf("the field is %v at (%g, %g) mm", v, p.X, p.Y)
	}
	return v
}

// grid lays out the nodes. They are shifted by an odd share of a cell, so that
// edges at round coordinates do not run along grid lines.
func (t *tracer) grid() error {
	b := t.f.BoundingBox()
	const shift = 0.38196601125
	size := r2.Vec{X: b.Max.X - b.Min.X, Y: b.Max.Y - b.Min.Y}
	if !(size.X > 0 && size.Y > 0) || math.IsInf(size.X+size.Y, 0) {
		return fmt.Errorf("the field's box is %g × %g mm", size.X, size.Y)
	}
	t.origin = r2.Vec{X: b.Min.X - (1+shift)*t.h, Y: b.Min.Y - (1+shift)*t.h}
	nx, ny := math.Ceil(size.X/t.h)+4, math.Ceil(size.Y/t.h)+4
	if nx*ny > maxNodes {
		return fmt.Errorf("cells of %g mm make a grid of %.0f nodes, at most %d are allowed; use larger cells", t.h, nx*ny, maxNodes)
	}
	t.nx, t.ny = int(nx), int(ny)
	t.val = make([]float64, t.nx*t.ny)
	for i := range t.val {
		t.val[i] = math.NaN()
	}
	t.next, t.at = map[int]int{}, map[int]r2.Vec{}
	side := 1
	for side < max(t.nx, t.ny)-1 {
		side *= 2
	}
	t.search(0, 0, side)
	return t.bad
}

func (t *tracer) node(i, j int) r2.Vec {
	return r2.Vec{X: t.origin.X + float64(i)*t.h, Y: t.origin.Y + float64(j)*t.h}
}

func (t *tracer) value(i, j int) float64 {
	k := j*t.nx + i
	if v := t.val[k]; v == v {
		return v
	}
	t.val[k] = t.eval(t.node(i, j))
	return t.val[k]
}

// search looks for the zero line in a square of cells; squares that the
// Lipschitz bound keeps clear of it are passed over.
func (t *tracer) search(i, j, side int) {
	if i >= t.nx-1 || j >= t.ny-1 || t.bad != nil {
		return
	}
	half := float64(side) / 2 * t.h
	c := r2.Add(t.node(i, j), r2.Vec{X: half, Y: half})
	mid := t.eval(c)
	if math.Abs(mid) > t.lip*half*math.Sqrt2 {
		if mid < 0 && (i == 0 || j == 0 || i+side >= t.nx-1 || j+side >= t.ny-1) && t.bad == nil {
			t.bad = fmt.Errorf("%w near (%.4g, %.4g) mm", errOutside, c.X, c.Y)
		}
		return
	}
	if side == 1 {
		t.cell(i, j, mid)
		return
	}
	for k := range 4 {
		t.search(i+k%2*side/2, j+k/2*side/2, side/2)
	}
}

// Edges of the grid are numbered by their lower left node: 2k runs to the right,
// 2k+1 up.
func (t *tracer) cell(i, j int, mid float64) {
	k := j*t.nx + i
	edges := [4]int{2 * k, 2*(k+1) + 1, 2 * (k + t.nx), 2*k + 1}
	corner := [4][2]int{{i, j}, {i + 1, j}, {i + 1, j + 1}, {i, j + 1}}
	var in [4]bool
	n := 0
	for c, p := range corner {
		if in[c] = t.value(p[0], p[1]) < 0; in[c] {
			n++
		}
	}
	if n == 0 || n == 4 {
		if t.hidden(t.node(i, j), t.h, in[0], mid, 3) && t.bad == nil {
			p := t.node(i, j)
			t.bad = fmt.Errorf("%w of %g mm near (%.4g, %.4g) mm; use smaller cells", ErrFine, t.h, p.X, p.Y)
		}
		return
	}
	// Going round the cell counter-clockwise, the zero line with the inside on its
	// left starts where the inside is left and ends where it is entered.
	link := func(from, to int) {
		for _, e := range []int{from, to} {
			if _, ok := t.at[edges[e]]; !ok {
				a, b := corner[e], corner[(e+1)%4]
				t.at[edges[e]] = t.cross(t.node(a[0], a[1]), t.node(b[0], b[1]), t.value(a[0], a[1]), t.value(b[0], b[1]))
			}
		}
		t.next[edges[from]] = edges[to]
		t.order = append(t.order, edges[from])
	}
	for e := range 4 {
		if !in[e] || in[(e+1)%4] {
			continue
		}
		// In a saddle the middle says which corners hang together.
		to := (e + 3) % 4
		if n == 2 && in[(e+2)%4] && mid < 0 {
			to = (e + 1) % 4
		}
		for in[to] || !in[(to+1)%4] {
			to = (to + 3) % 4
		}
		link(e, to)
	}
}

// hidden reports whether a square whose corners are all on one side has a place
// on the other, as far as halving it depth times shows.
func (t *tracer) hidden(low r2.Vec, side float64, in bool, mid float64, depth int) bool {
	if (mid < 0) != in {
		return true
	}
	if depth == 0 || math.Abs(mid) > t.lip*side*math.Sqrt2/2 {
		return false
	}
	for k := range 4 {
		q := r2.Vec{X: low.X + float64(k%2)*side/2, Y: low.Y + float64(k/2)*side/2}
		if t.hidden(q, side/2, in, t.eval(r2.Vec{X: q.X + side/4, Y: q.Y + side/4}), depth-1) {
			return true
		}
	}
	return false
}

// cross finds the zero between two nodes by the Illinois form of false position.
func (t *tracer) cross(a, b r2.Vec, fa, fb float64) r2.Vec {
	u0, u1 := 0.0, 1.0
	u := 0.5
	for range 60 {
		u = (u0*fb - u1*fa) / (fb - fa)
		if !(u > u0 && u < u1) {
			u = (u0 + u1) / 2
		}
		v := t.eval(r2.Add(a, r2.Scale(u, r2.Sub(b, a))))
		if math.Abs(v) < 1e-11*t.lip || (u1-u0)*t.h < 1e-12 {
			break
		}
		if (v < 0) == (fa < 0) {
			u0, fa = u, v
			fb /= 2
		} else {
			u1, fb = u, v
			fa /= 2
		}
	}
	return r2.Add(a, r2.Scale(u, r2.Sub(b, a)))
}

// loops chains the crossings.
func (t *tracer) loops() ([][]r2.Vec, error) {
	done := make(map[int]bool, len(t.order))
	var out [][]r2.Vec
	for _, start := range t.order {
		if done[start] {
			continue
		}
		var l []r2.Vec
		e := start
		for {
			done[e] = true
			p := t.at[e]
			// A zero line through a node crosses two grid lines at one place.
			if n := len(l); n == 0 || r2.Norm(r2.Sub(l[n-1], p)) > 1e-7 {
				l = append(l, p)
			}
			to, ok := t.next[e]
			if !ok {
				return nil, fmt.Errorf("%w near (%.4g, %.4g) mm", ErrLipschitz, p.X, p.Y)
			}
			if e = to; e == start {
				break
			}
			if done[e] {
				return nil, fmt.Errorf("%w near (%.4g, %.4g) mm", ErrLipschitz, p.X, p.Y)
			}
		}
		if n := len(l); n > 1 && r2.Norm(r2.Sub(l[0], l[n-1])) <= 1e-7 {
			l = l[:n-1]
		}
		if len(l) > 2 {
			out = append(out, l)
		}
	}
	return out, t.bad
}
