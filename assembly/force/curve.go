package force

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"tuckfinger/parts/profile"
)

// Curve is the curve of a pin centre beside a wall with a ramp.
//
// x (mm) runs along the slot path of the pin centre; the height (mm) is how far
// the wall pushes the centre away from that path towards the opposite wall when
// slot and pin have no play: 0 over the flat wall, positive over the ramp.
type Curve interface {
	// At returns the height and its exact slope dh/dx at x. At a corner the
	// slope is that of the piece on the +x side. Outside the span both are 0.
	At(x float64) (height, slope float64)
	// Span returns the x range outside of which the height is 0.
	Span() (from, to float64)
	// Corners returns the joints of the curve's pieces in rising order, ends
	// included. The caller must not change the slice.
	Corners() []float64
}

// piece is a line or arc of a Graph over [x0, x1).
type piece struct {
	x0, x1 float64
	y, m   float64 // line: height at x0 and slope
	cx, cy float64 // arc: centre,
	r      float64 // radius (0 for a line)
	up     float64 // and +1 for the upper half (a crest), −1 for the lower
}

func (p *piece) at(x float64) (h, slope float64) {
	if p.r == 0 {
		return p.y + p.m*(x-p.x0), p.m
	}
	u := x - p.cx
	// The two factors keep the accuracy near the ends of the half circle.
	s := math.Sqrt(math.Max(0, (p.r-u)*(p.r+u)))
	return p.cy + p.up*s, -p.up * u / s
}

// Graph is a Curve made of straight lines and circular arcs, exact.
type Graph struct {
	pieces  []piece
	corners []float64
}

// NewGraph makes a Curve from edges in (path coordinate, height) axes, in
// order of rising x and joined end to end: what the offset of a printed slot
// wall by the pin radius is, with the flat wall at height 0. It returns an
// error that names the edge if an edge does not run towards +x, an arc turns
// past the vertical, or two neighbours do not meet within 1e-6 mm.
func NewGraph(edges []profile.Edge) (*Graph, error) {
	if len(edges) == 0 {
		return nil, errors.New("force: pin-centre curve has no edges")
	}
	g := &Graph{pieces: make([]piece, 0, len(edges))}
	for i, e := range edges {
		if !(e.B.X > e.A.X) {
			return nil, fmt.Errorf("force: pin-centre curve edge %d runs from x %g to %g, must run towards +x", i, e.A.X, e.B.X)
		}
		if i > 0 {
			b := edges[i-1].B
			if gap := math.Hypot(b.X-e.A.X, b.Y-e.A.Y); gap > 1e-6 {
				return nil, fmt.Errorf("force: pin-centre curve edges %d and %d are %g mm apart", i-1, i, gap)
			}
		}
		if e.IsLine() {
			g.pieces = append(g.pieces, line(e.A.X, e.A.Y, e.B.X, e.B.Y))
			continue
		}
		c, r, start, sweep := e.Arc()
		up := -math.Copysign(1, e.Bulge) // travelling +x, a left turn is a valley
		// A monotone arc stays in the upper or lower half of its circle.
		const eps = 1e-12
		if up*math.Sin(start) < -eps || up*math.Sin(start+sweep) < -eps || math.Abs(sweep) > math.Pi+eps {
			return nil, fmt.Errorf("force: pin-centre curve edge %d is an arc that turns past the vertical", i)
		}
		g.pieces = append(g.pieces, piece{x0: e.A.X, x1: e.B.X, cx: c.X, cy: c.Y, r: r, up: up})
	}
	if a, b := edges[0].A.Y, edges[len(edges)-1].B.Y; math.Abs(a) > 1e-6 || math.Abs(b) > 1e-6 {
		return nil, fmt.Errorf("force: pin-centre curve ends at heights %g and %g mm, must start and end on the flat wall", a, b)
	}
	g.mark()
	return g, nil
}

func line(x0, y0, x1, y1 float64) piece {
	return piece{x0: x0, x1: x1, y: y0, m: (y1 - y0) / (x1 - x0)}
}

func (g *Graph) mark() {
	g.corners = make([]float64, 0, len(g.pieces)+1)
	for i := range g.pieces {
		g.corners = append(g.corners, g.pieces[i].x0)
	}
	g.corners = append(g.corners, g.pieces[len(g.pieces)-1].x1)
}

// At implements Curve.
func (g *Graph) At(x float64) (height, slope float64) {
	n := len(g.pieces)
	if x < g.pieces[0].x0 || x >= g.pieces[n-1].x1 {
		return 0, 0
	}
	i := 0
	if n <= 8 {
		for x >= g.pieces[i].x1 {
			i++
		}
	} else {
		i = sort.Search(n, func(i int) bool { return x < g.pieces[i].x1 })
	}
	return g.pieces[i].at(x)
}

// Span implements Curve.
func (g *Graph) Span() (from, to float64) { return g.corners[0], g.corners[len(g.corners)-1] }

// Corners implements Curve.
func (g *Graph) Corners() []float64 { return g.corners }

// crest returns the greatest height of a curve and where it is.
func crest(c Curve) (x, h float64) {
	cs := c.Corners()
	x, h = cs[0], math.Inf(-1)
	for i := 0; i+1 < len(cs); i++ {
		px, ph := goldenMax(func(x float64) float64 { y, _ := c.At(x); return y }, cs[i], cs[i+1], 24)
		if ph > h {
			x, h = px, ph
		}
	}
	return x, h
}

// goldenMax returns the largest value of f on [a, b] that a scan of n steps
// refined by golden section finds. The value is exact to about 1e-9 relative
// if f has no feature narrower than a step.
func goldenMax(f func(float64) float64, a, b float64, n int) (x, y float64) {
	x, y = a, f(a)
	best := 0
	for i := 1; i <= n; i++ {
		xi := a + (b-a)*float64(i)/float64(n)
		// The end of a piece belongs to it, not to its right neighbour.
		if i == n {
			xi = b - 1e-12*math.Max(1, math.Abs(b))
		}
		if yi := f(xi); yi > y {
			x, y, best = xi, yi, i
		}
	}
	step := (b - a) / float64(n)
	lo := math.Max(a, a+step*float64(best-1))
	hi := math.Min(b-1e-12*math.Max(1, math.Abs(b)), a+step*float64(best+1))
	const inv = 0.6180339887498949 // (√5−1)/2
	p, q := hi-inv*(hi-lo), lo+inv*(hi-lo)
	fp, fq := f(p), f(q)
	for range 48 {
		if fp > fq {
			hi, q, fq = q, p, fp
			p = hi - inv*(hi-lo)
			fp = f(p)
		} else {
			lo, p, fp = p, q, fq
			q = lo + inv*(hi-lo)
			fq = f(q)
		}
	}
	if fp > y {
		x, y = p, fp
	}
	if fq > y {
		x, y = q, fq
	}
	return x, y
}
