package mesh

import (
	"math"
	"math/bits"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	// cellMargin keeps vertices off the walls of their cell, in cells, so that
	// no two coincide and every envelope has volume. It is also the most by
	// which a sharp feature on a wall is cut.
	cellMargin = 1e-3
	// flatWithin is how far the corner values of a cell may lie from an affine
	// function, in cells, for its surface to count as smooth: an edge of 5° in
	// the middle of a cell exceeds it.
	flatWithin = 0.02
	// surfaceWithin is how near to the surface a smooth cell's vertex must be
	// found, in cells.
	surfaceWithin = 2e-3
	// exactWithin is how near to a plane values must come, in cells, for only
	// that plane to explain them.
	exactWithin = 1e-6
)

// plane is the affine function grad·(x − p), seen to fit a cell of the block.
type plane struct{ p, grad r3.Vec }

// hermite is a point where a lattice edge meets the surface, with the unit
// normal there (zero where the field has none).
type hermite struct{ p, n r3.Vec }

var unitCorner = func() (c [8]r3.Vec) {
	for i := range c {
		c[i] = r3.Vec{X: float64(i & 1), Y: float64(i >> 1 & 1), Z: float64(i >> 2)}
	}
	return c
}()

// cellRef is a cell at work: its place in the block, mask and low corner.
type cellRef struct {
	i, j, k int
	mask    uint8
	lo      r3.Vec
}

func (s *sampler) placeAll() {
	b := s.b
	b.vert = make([]int32, len(b.cell))
	b.pos = make([]r3.Vec, 0, len(b.cell))
	n := 0
	for k := range blockCells {
		for j := range blockCells {
			for row := b.row[k*blockCells+j]; row != 0; row &= row - 1 {
				i := bits.TrailingZeros32(row)
				c := cellRef{i, j, k, uint8(b.cell[n]), s.point(i, j, k)}
				b.vert[n] = int32(len(b.pos))
				if !openMask[c.mask] {
					p, ok := s.onKnownPlane(&c)
					if !ok {
						p, ok = s.smooth(&c)
					}
					if !ok {
						var loose bool
						if p, loose = s.sharp(&c); loose {
							b.cell[n] |= looseBit
						}
					}
					b.pos = append(b.pos, p)
				}
				if s.err != nil {
					return
				}
				n++
			}
		}
	}
}

// onKnownPlane tries planes found in cells before: those of the cells below
// and before in the grid, which fit on any wall that is straight along z or y,
// and the last four used. On such walls this saves most evaluations.
func (s *sampler) onKnownPlane(c *cellRef) (r3.Vec, bool) {
	col := c.j*blockCells + c.i
	if p, ok := s.onPlane(c, &s.column[col]); ok {
		return p, true
	}
	if c.j > 0 {
		if p, ok := s.onPlane(c, &s.column[col-blockCells]); ok {
			return p, true
		}
	}
	for n := len(s.planes) - 1; n >= 0; n-- {
		if p, ok := s.onPlane(c, &s.planes[n]); ok {
			pl := s.planes[n]
			s.planes = append(append(s.planes[:n], s.planes[n+1:]...), pl)
			return p, true
		}
	}
	return r3.Vec{}, false
}

// onPlane tries one plane: it must give all eight corners their signs and the
// values known there. Unless four of these fit it exactly, one evaluation at
// the vertex must confirm it.
func (s *sampler) onPlane(c *cellRef, pl *plane) (r3.Vec, bool) {
	h := s.g.cell
	g := r3.Scale(h, pl.grad)
	if g == (r3.Vec{}) {
		return r3.Vec{}, false
	}
	f0 := r3.Dot(pl.grad, r3.Sub(c.lo, pl.p))
	f := [8]float64{f0, f0 + g.X}
	f[2], f[3] = f0+g.Y, f[1]+g.Y
	for v := range 4 {
		f[v+4] = f[v] + g.Z
	}
	for v := range f {
		if (f[v] < 0) != (c.mask>>v&1 != 0) {
			return r3.Vec{}, false
		}
	}
	slope := math.Sqrt(r3.Norm2(g))
	off, known := 0.0, 0
	for n := range 4 {
		r := (c.k+n>>1)*blockPoints + c.j + n&1
		have := s.have[r] >> c.i
		if at := r*blockPoints + c.i; have&1 != 0 {
			off, known = max(off, math.Abs(s.val[at]-f[2*n])), known+1
		}
		if at := r*blockPoints + c.i + 1; have&2 != 0 {
			off, known = max(off, math.Abs(s.val[at]-f[2*n+1])), known+1
		}
	}
	if off > flatWithin/2*slope {
		return r3.Vec{}, false
	}
	p := r3.Add(c.lo, r3.Scale(h, crossingMean(c.mask, &f)))
	if known < 4 || off > exactWithin*slope {
		e := s.eval(p)
		if math.Abs(e) > 1.5*surfaceWithin*slope {
			return r3.Vec{}, false
		}
		p = r3.Sub(p, r3.Scale(e*h*h/(slope*slope), pl.grad))
	}
	p = s.g.clamp(c.lo, p)
	s.column[c.j*blockCells+c.i] = plane{p, pl.grad}
	return p, true
}

// crossingMean returns the mean of the points where the edges of the unit cell
// are crossed, by linear interpolation between its corner values.
func crossingMean(mask uint8, f *[8]float64) r3.Vec {
	var x, y, z float64
	edges := crossedEdges[mask]
	n := float64(bits.OnesCount16(edges))
	for ; edges != 0; edges &= edges - 1 {
		e := bits.TrailingZeros16(edges)
		a, b := cellEdge[e][0], cellEdge[e][1]
		t := f[a] / (f[a] - f[b])
		p := &unitCorner[a]
		x, y, z = x+p.X, y+p.Y, z+p.Z
		switch {
		case e < 4:
			x += t
		case e < 8:
			y += t
		default:
			z += t
		}
	}
	return r3.Vec{X: x / n, Y: y / n, Z: z / n}
}

// smooth places the vertex of a cell whose corner values are nearly affine.
func (s *sampler) smooth(c *cellRef) (r3.Vec, bool) {
	var f [8]float64
	mean := 0.0
	for v := range f {
		f[v] = s.value(c.i+(v&1), c.j+(v>>1&1), c.k+v>>2)
		mean += f[v] / 8
	}
	g := r3.Vec{
		X: (f[1] - f[0] + f[3] - f[2] + f[5] - f[4] + f[7] - f[6]) / 4,
		Y: (f[2] - f[0] + f[3] - f[1] + f[6] - f[4] + f[7] - f[5]) / 4,
		Z: (f[4] - f[0] + f[5] - f[1] + f[6] - f[2] + f[7] - f[3]) / 4,
	}
	slope := math.Sqrt(r3.Norm2(g))
	h := s.g.cell
	s.checkSlope(c, &f, g, slope)
	for v := range f {
		u := unitCorner[v]
		if r := f[v] - mean - g.X*(u.X-0.5) - g.Y*(u.Y-0.5) - g.Z*(u.Z-0.5); !(math.Abs(r) <= flatWithin*slope) {
			return r3.Vec{}, false
		}
	}
	// An edge of the solid close to a lattice edge hardly shows in the values,
	// but turns the normal where it crosses that lattice edge, whose ends are
	// then both close to the surface.
	for e, v := range cellEdge {
		if (c.mask>>v[0]^c.mask>>v[1])&1 != 0 && math.Abs(f[v[0]]-f[v[1]]) < 8*flatWithin*slope {
			if n := s.hermite(c, e).n; !(r3.Dot(n, g) >= 0.97*slope) {
				return r3.Vec{}, false
			}
		}
	}
	p := r3.Add(c.lo, r3.Scale(h, crossingMean(c.mask, &f)))
	e := s.eval(p)
	if !(math.Abs(e) <= flatWithin*slope) {
		return r3.Vec{}, false
	}
	step := r3.Scale(-h/(slope*slope), g)
	if math.Abs(e) > surfaceWithin*slope/4 {
		p = s.g.clamp(c.lo, r3.Add(p, r3.Scale(e, step)))
		if e = s.eval(p); !(math.Abs(e) <= surfaceWithin*slope) {
			return r3.Vec{}, false
		}
	}
	p = s.g.clamp(c.lo, r3.Add(p, r3.Scale(e, step)))
	if len(s.planes) == 4 {
		copy(s.planes, s.planes[1:])
		s.planes = s.planes[:3]
	}
	pl := plane{p, r3.Scale(1/h, g)}
	s.planes = append(s.planes, pl)
	s.column[c.j*blockCells+c.i] = pl
	return p, true
}

// checkSlope looks for evidence against the Lipschitz bound: between corners,
// and, where the mean slope exceeds the bound, along it.
func (s *sampler) checkSlope(c *cellRef, f *[8]float64, g r3.Vec, slope float64) {
	for a := range 4 {
		if b := 7 - a; math.Abs(f[a]-f[b]) > s.g.lip*s.g.cell*math.Sqrt(3)*(1+1e-6) {
			s.report(c, a, b, f)
		}
	}
	for _, e := range cellEdge {
		if math.Abs(f[e[0]]-f[e[1]]) > s.g.lip*s.g.cell*(1+1e-6) {
			s.report(c, int(e[0]), int(e[1]), f)
		}
	}
	if slope <= s.g.lip*s.g.cell*1.01 {
		return
	}
	mid := r3.Add(c.lo, r3.Scale(s.g.cell/2, r3.Vec{X: 1, Y: 1, Z: 1}))
	d := r3.Scale(s.g.cell/2/slope, g)
	p, q := r3.Sub(mid, d), r3.Add(mid, d)
	if a, b := s.eval(p), s.eval(q); s.err == nil && s.g.tooSteep(p, q, a, b) {
		s.err = s.g.steep(p, q, a, b)
	}
}

func (s *sampler) report(c *cellRef, a, b int, f *[8]float64) {
	if s.err == nil {
		at := func(v int) r3.Vec { return s.point(c.i+(v&1), c.j+(v>>1&1), c.k+v>>2) }
		s.err = s.g.steep(at(a), at(b), f[a], f[b])
	}
}

// clamp moves p into the cell with the given low corner, a margin off its walls.
func (g *lattice) clamp(lo, p r3.Vec) r3.Vec {
	m, h := cellMargin*g.cell, g.cell
	p.X = min(max(p.X, lo.X+m), lo.X+h-m)
	p.Y = min(max(p.Y, lo.Y+m), lo.Y+h-m)
	p.Z = min(max(p.Z, lo.Z+m), lo.Z+h-m)
	return p
}

// sharp places the vertex of a cell with one sheet.
func (s *sampler) sharp(c *cellRef) (p r3.Vec, loose bool) {
	var at [12]hermite
	n := 0
	for e, v := range cellEdge {
		if (c.mask>>v[0]^c.mask>>v[1])&1 != 0 {
			at[n] = s.hermite(c, e)
			n++
		}
	}
	return s.fit(c.lo, at[:n], true)
}

// hermite returns where edge e of a cell meets the surface and the normal there.
func (s *sampler) hermite(c *cellRef, e int) hermite {
	v := cellEdge[e]
	x, y, z := c.i+int(v[0]&1), c.j+int(v[0]>>1&1), c.k+int(v[0]>>2)
	axis := e / 4
	key := ((z*blockPoints+y)*blockPoints+x)*3 + axis
	if n := s.slot[key]; n != 0 {
		return s.edges[n-1]
	}
	fa := s.value(x, y, z)
	fb := s.value(c.i+int(v[1]&1), c.j+int(v[1]>>1&1), c.k+int(v[1]>>2))
	a, b := s.point(x, y, z), s.point(c.i+int(v[1]&1), c.j+int(v[1]>>1&1), c.k+int(v[1]>>2))
	h, ok := s.again([3]int{x, y, z}, axis, a, fa, fb)
	if !ok {
		h = s.meet(a, b, fa, fb, s.guess(axis, fa, fb))
	}
	s.edges = append(s.edges, h)
	s.slot[key] = int32(len(s.edges))
	s.used = append(s.used, int32(key))
	return h
}

// stride is the distance of two neighbours along each axis, in points.
var stride = [3]int{1, blockPoints, blockPoints * blockPoints}

// again carries over what is known of the parallel lattice edge a step before
// in either direction, where the values at its ends were the same: on walls
// along a lattice axis this saves most evaluations. Both the point and the
// normal are confirmed.
func (s *sampler) again(low [3]int, axis int, a r3.Vec, fa, fb float64) (h hermite, ok bool) {
	near := 1e-7 * s.g.cell * s.g.lip
	point := (low[2]*blockPoints+low[1])*blockPoints + low[0]
	for _, d := range [2]int{prev3[axis], next3[axis]} {
		from := point - stride[d]
		if low[d] == 0 || s.slot[3*from+axis] == 0 {
			continue
		}
		if math.Abs(s.val[from]-fa) > near || math.Abs(s.val[from+stride[axis]]-fb) > near {
			continue
		}
		h := s.edges[s.slot[3*from+axis]-1]
		set(&h.p, d, get(a, d))
		f := s.eval(h.p)
		return h, math.Abs(f) <= rootWithin*s.g.cell*s.g.lip && s.steepest(h.p, f, h.n)
	}
	return h, false
}

// guess returns a normal that explains the slope along a lattice edge: of the
// planes and crossings seen last. It is zero where there is none.
func (s *sampler) guess(axis int, fa, fb float64) r3.Vec {
	slope := (fb - fa) / (s.g.cell * s.g.lip)
	for n := len(s.planes) - 1; n >= 0; n-- {
		g := r3.Scale(1/s.g.lip, s.planes[n].grad)
		if math.Abs(get(g, axis)-slope) < 1e-6 && math.Abs(r3.Norm2(g)-1) < 1e-6 {
			return g
		}
	}
	for n := len(s.edges) - 1; n >= max(0, len(s.edges)-8); n-- {
		if g := s.edges[n].n; math.Abs(get(g, axis)-slope) < 1e-6 {
			return g
		}
	}
	return r3.Vec{}
}
