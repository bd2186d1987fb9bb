package solid

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
	"tuckfinger/parts/profile"
)

// Report says what a mesh promises and what was spent on it.
type Report struct {
	// Deviation bounds the distance in mm between the mesh and the surface of
	// the solid, either way.
	Deviation float64
	Triangles int
	// Fineness is the largest height in mm of an arc over its chord; it is
	// smaller than the deviation asked for where outlines lie close together.
	Fineness float64
	// Added counts points that no outline has, on ridges where chamfers meet.
	Added int
}

// contour is a flattened region: loops of point indices.
type contour struct {
	loops [][]int32
}

// mesher holds the plane points of all contours. Every wall is vertical, so a
// point serves all heights; one vertex is made per point and height.
type mesher struct {
	fine   float64
	inner  bool // all points of chords lie on the arcs
	at     []r2.Vec
	near   map[[2]int64][]int32
	arcs   map[[2]int32][]arcRun
	split  map[[2]int32]int32
	levels []level
	out    *mesh.Mesh
	seam   bool // some edge has four faces
}

type arcRun struct {
	bulge float64
	mid   []int32
}

type level struct {
	z      float64
	vertex []int32
}

// layerContours are the three contours of a body; without a chamfer a face is
// the region itself.
type layerContours struct {
	region, lower, upper *contour
}

var errNoTriangles = errors.New("solid: the solid is empty, there is nothing to mesh")

// Mesh returns a closed, oriented, edge-manifold triangle surface that keeps
// every sharp edge and lies within deviation (mm) of the solid's surface, and
// the report of what it is. Arcs become chords; walls, faces and chamfers are
// flat between them. Nothing else is approximated except ridges between
// chamfers of curved edges, which get as many points as they need.
//
// Before it is returned it is validated, and no triangle is less than 1e-4 mm high.
//
// It returns an error when the deviation is not positive, the solid is empty,
// or outlines touch or lie so close together that no division into chords gives
// such a mesh; it names the place.
func (l *Layered) Mesh(deviation float64) (*mesh.Mesh, Report, error) {
	if !(deviation > 0) || math.IsInf(deviation, 0) {
		return nil, Report{}, fmt.Errorf("solid: deviation is %g mm; it must be positive", deviation)
	}
	if l.IsEmpty() {
		return nil, Report{}, errNoTriangles
	}
	fine := deviation
	for i := range l.bodies {
		b := &l.bodies[i]
		for _, c := range []float64{b.cb, b.ct} {
			if c > 0 {
				fine = min(fine, c/4)
			}
		}
	}
	regions, err := l.imprint()
	if err != nil {
		return nil, Report{}, err
	}
	// Chords of neighbouring outlines may cross where the arcs do not, less so
	// when their ends lie on the arcs; points that fall unluckily near others
	// make slivers. Finer chords are other chords, so either is tried again.
	const tries = 10
	for try := range tries {
		m := &mesher{fine: fine, inner: try%2 > 0}
		rep, e := m.build(l, regions, deviation)
		if e == nil {
			e = m.check(&rep, deviation)
		}
		if e == nil {
			return m.out, rep, nil
		}
		var x *crossing
		switch {
		case errors.As(e, &x):
			e = fmt.Errorf("solid: outlines cross near (%.4g, %.4g) however finely they are divided (%.2g mm); they touch or lie too close",
				m.at[x.a].X, m.at[x.a].Y, fine)
			fine /= 2
		case errors.As(e, new(mesh.Invalid)) || errors.Is(e, errPoor):
			fine *= 0.77
		default:
			return nil, Report{}, e
		}
		err = e
	}
	return nil, Report{}, err
}

var errPoor = errors.New("the mesh is not good enough")

// slimmest is the least height of a triangle in mm that a mesh may have: what
// survives being written in single precision.
const slimmest = 1e-4

// check holds the mesh against what Mesh promises.
func (m *mesher) check(rep *Report, deviation float64) error {
	err := m.out.Validate()
	if err != nil {
		// Parts of a layer may touch in a corner.
		m.out = openSeams(m.out)
		err = m.out.Validate()
	}
	if err != nil {
		return fmt.Errorf("solid: %w", err)
	}
	if rep.Deviation > deviation*(1+1e-9) {
		return fmt.Errorf("solid: %w: a chamfer deviates by %.3g mm, asked for was %g mm", errPoor, rep.Deviation, deviation)
	}
	if h, i := m.out.MinHeight(); h < slimmest {
		p, _, _ := m.out.Corners(i)
		return fmt.Errorf("solid: %w: a triangle at (%.4g, %.4g, %.4g) mm is only %.2g mm high; outlines come too close there", errPoor, p.X, p.Y, p.Z, h)
	}
	return nil
}

// imprinted are the regions of a body with the vertices of its neighbours
// above and below. Entries that are the same region share the pointer.
type imprinted struct{ region, lower, upper *profile.Region }

// imprint gives outlines that meet in a face common vertices. One pass up and
// one down carry every vertex as far as walls continue.
func (l *Layered) imprint() ([]imprinted, error) {
	out := make([]imprinted, len(l.bodies))
	type pair struct{ a, b *profile.Region }
	var pairs []pair
	for i := range l.bodies {
		b := &l.bodies[i]
		p := &out[i]
		r := b.region
		p.region = &r
		p.lower, p.upper = p.region, p.region
		if b.cb > 0 {
			lo := b.lower
			p.lower = &lo
		}
		if b.ct > 0 {
			up := b.upper
			p.upper = &up
		}
	}
	for _, z := range l.cuts {
		for i := range l.bodies {
			if math.Abs(l.bodies[i].Z1-z) > zTol {
				continue
			}
			if len(l.bodies[i].SharpTop) > 0 && l.bodies[i].ct > 0 {
				pairs = append(pairs, pair{out[i].region, out[i].upper})
			}
			for j := range l.bodies {
				if math.Abs(l.bodies[j].Z0-z) <= zTol && boxesMeet(*out[i].upper, *out[j].lower) {
					pairs = append(pairs, pair{out[i].upper, out[j].lower})
				}
			}
		}
		for j := range l.bodies {
			b := &l.bodies[j]
			if math.Abs(b.Z0-z) <= zTol && len(b.SharpBottom) > 0 && b.cb > 0 {
				pairs = append(pairs, pair{out[j].lower, out[j].region})
			}
		}
	}
	join := func(p pair) error {
		a, b, err := profile.Imprint(*p.a, *p.b)
		if err != nil {
			return fmt.Errorf("solid: joining layers: %w", err)
		}
		*p.a, *p.b = a, b
		return nil
	}
	for _, p := range pairs {
		if err := join(p); err != nil {
			return nil, err
		}
	}
	for i := len(pairs) - 2; i >= 0; i-- {
		if err := join(pairs[i]); err != nil {
			return nil, err
		}
	}
	for i := range out {
		p := &out[i]
		if p.lower != p.upper && p.lower != p.region && p.upper != p.region && identical(*p.lower, *p.upper) {
			p.upper = p.lower
		}
	}
	return out, nil
}

func identical(a, b profile.Region) bool {
	return slices.EqualFunc(a, b, func(p, q profile.Loop) bool { return slices.Equal(p, q) })
}

func boxesMeet(a, b profile.Region) bool {
	p, ok := a.Box()
	q, ok2 := b.Box()
	return ok && ok2 && p.Min.X <= q.Max.X && q.Min.X <= p.Max.X && p.Min.Y <= q.Max.Y && q.Min.Y <= p.Max.Y
}

// build makes the mesh with chords of height fine.
func (m *mesher) build(l *Layered, regions []imprinted, deviation float64) (Report, error) {
	m.near = map[[2]int64][]int32{}
	m.arcs = map[[2]int32][]arcRun{}
	m.split = map[[2]int32]int32{}
	m.out = &mesh.Mesh{}
	cs := make([]layerContours, len(regions))
	for i, r := range regions {
		b := &l.bodies[i]
		c := max(b.cb, b.ct)
		cs[i].region = m.flatten(r.region, 0, c)
		cs[i].lower, cs[i].upper = cs[i].region, cs[i].region
		if r.lower != r.region {
			cs[i].lower = m.flatten(r.lower, c, 0)
		}
		switch {
		case r.upper == r.lower:
			cs[i].upper = cs[i].lower
		case r.upper != r.region:
			cs[i].upper = m.flatten(r.upper, c, 0)
		}
	}
	tops := make([][]*contour, len(l.cuts))
	bottoms := make([][]*contour, len(l.cuts))
	at := func(z float64) int {
		k, _ := slices.BinarySearchFunc(l.cuts, z-zTol, func(a, b float64) int {
			if a < b {
				return -1
			}
			return 1
		})
		return k
	}
	for i := range cs {
		b := &l.bodies[i]
		bottoms[at(b.Z0)] = append(bottoms[at(b.Z0)], cs[i].lower)
		tops[at(b.Z1)] = append(tops[at(b.Z1)], cs[i].upper)
	}
	m.joinClose(cs)
	for k := range l.cuts {
		if len(tops[k]) > 0 && len(bottoms[k]) > 0 {
			m.cutChords(tops[k], bottoms[k])
		}
	}
	if len(m.split) > 0 {
		for _, c := range m.contours(cs) {
			m.refine(c)
		}
	}
	rep := Report{Fineness: m.fine, Deviation: m.fine}
	var prev *plane
	var prevC *contour
	for k, z := range l.cuts {
		var only *contour
		if len(tops[k])+len(bottoms[k]) == 1 {
			only = append(slices.Clone(tops[k]), bottoms[k]...)[0]
		}
		p := prev
		var err error
		if only == nil || only != prevC {
			if p, err = m.face(tops[k], bottoms[k]); err != nil {
				return rep, err
			}
			prev, prevC = p, only
		}
		if p != nil {
			// A triangulation made for a bottom serves a top of the same outline.
			m.emitFace(p, z, only != nil && len(tops[k]) == 1, only != nil && len(bottoms[k]) == 1)
		}
	}
	for i := range cs {
		b := &l.bodies[i]
		za, zb := m.level(b.za), m.level(b.zb)
		if zb != za {
			m.walls(cs[i].region.loops, za, zb)
		}
		if len(b.SharpBottom) > 0 && b.cb > 0 {
			m.walls(common(cs[i].region, cs[i].lower), m.level(b.Z0), za)
		}
		if len(b.SharpTop) > 0 && b.ct > 0 {
			m.walls(common(cs[i].region, cs[i].upper), zb, m.level(b.Z1))
		}
		var band *band
		if b.cb > 0 {
			var err error
			if band, err = m.band(cs[i].region, cs[i].lower, b.distB, b.cb, deviation); err != nil {
				return rep, err
			}
			m.emitBand(band, za, m.level(b.Z0), b.za, -1)
			rep.Deviation, rep.Added = max(rep.Deviation, band.worst), rep.Added+len(band.height)
		}
		if b.ct > 0 {
			if band == nil || cs[i].upper != cs[i].lower || b.ct != b.cb || b.distT != b.distB {
				var err error
				if band, err = m.band(cs[i].region, cs[i].upper, b.distT, b.ct, deviation); err != nil {
					return rep, err
				}
			}
			m.emitBand(band, zb, m.level(b.Z1), b.zb, 1)
			rep.Deviation, rep.Added = max(rep.Deviation, band.worst), rep.Added+len(band.height)
		}
	}
	if m.seam {
		m.out = openSeams(m.out)
	}
	rep.Triangles = len(m.out.Triangles)
	if rep.Triangles == 0 {
		return rep, errNoTriangles
	}
	return rep, nil
}

// point returns the index of a contour vertex. Vertices within a few tolerances
// are one: repeated imprinting may move them by one tolerance each.
func (m *mesher) point(p r2.Vec) int32 {
	const cell = 64 * profile.Tol
	const same = 8 * profile.Tol
	ix, iy := math.Floor(p.X/cell), math.Floor(p.Y/cell)
	kx, ky := int64(ix), int64(iy)
	x0, x1, y0, y1 := kx, kx, ky, ky
	if p.X-ix*cell < same {
		x0--
	} else if (ix+1)*cell-p.X < same {
		x1++
	}
	if p.Y-iy*cell < same {
		y0--
	} else if (iy+1)*cell-p.Y < same {
		y1++
	}
	for x := x0; x <= x1; x++ {
		for y := y0; y <= y1; y++ {
			for _, i := range m.near[[2]int64{x, y}] {
				if math.Abs(m.at[i].X-p.X) <= same && math.Abs(m.at[i].Y-p.Y) <= same {
					return i
				}
			}
		}
	}
	i := m.fresh(p)
	m.near[[2]int64{kx, ky}] = append(m.near[[2]int64{kx, ky}], i)
	return i
}

func (m *mesher) fresh(p r2.Vec) int32 {
	m.at = append(m.at, p)
	return int32(len(m.at) - 1)
}

// flatten turns a region into chords. An arc gets as many as it, or the arc in
// the border of a chamfer that is at most grow wider or narrower, needs, so
// that both edges of a chamfer have the same number.
func (m *mesher) flatten(r *profile.Region, convex, concave float64) *contour {
	c := &contour{}
	for _, l := range *r {
		loop := make([]int32, 0, 4*len(l))
		for i := range l {
			e := l.Edge(i)
			a, b := m.point(e.A), m.point(e.B)
			if a == b && math.Abs(e.Bulge) < 0.1 {
				continue // shorter than the tolerance
			}
			loop = append(loop, a)
			if !e.IsLine() {
				loop = m.arc(loop, a, b, e, convex, concave)
			}
		}
		if len(loop) >= 3 {
			c.loops = append(c.loops, loop)
		}
	}
	return c
}

// arc appends the inner points of an arc. A stretch that two regions share has
// the same points in both.
func (m *mesher) arc(loop []int32, a, b int32, e profile.Edge, convex, concave float64) []int32 {
	key, bulge := [2]int32{a, b}, e.Bulge
	if a > b {
		key, bulge = [2]int32{b, a}, -e.Bulge
	}
	for _, r := range m.arcs[key] {
		if math.Abs(r.bulge-bulge) <= 1e-6*(1+math.Abs(bulge)) {
			if a > b {
				for i := len(r.mid) - 1; i >= 0; i-- {
					loop = append(loop, r.mid[i])
				}
				return loop
			}
			return append(loop, r.mid...)
		}
	}
	mid := m.chords(e, convex, concave)
	loop = append(loop, mid...)
	if a > b {
		slices.Reverse(mid)
	}
	m.arcs[key] = append(m.arcs[key], arcRun{bulge, mid})
	return loop
}

// chords places the inner points of an arc. They lie outside it, so far that the
// area is right where the deviation allows it, and the middles of the chords
// inside: fewer points than on the arc itself are needed. With half turns φ per
// chord of an arc of radius r, points rφ²/4 outside lie as far off as the middles
// (φ = √(4δ/r) for a deviation δ) and points rφ²/3 outside keep the area
// (φ = √(3δ/r)); 3.3 is near the latter. The two chords that start on the arc
// turn √¾ as far, for the same deviation.
func (m *mesher) chords(e profile.Edge, convex, concave float64) []int32 {
	fine := 0.998 * m.fine // the angles are good to second order
	centre, r, start, sweep := e.Arc()
	wide := r + concave
	if sweep > 0 {
		wide = r + convex
	}
	turn := math.Abs(sweep)
	// Never more than an eighth of a turn each, so that tiny holes stay holes.
	most, one := math.Pi/8, math.Pi/8
	if fine < wide {
		most = min(most, math.Sqrt(3.3*fine/wide))
		one = min(one, math.Acos(1-fine/wide))
	}
	if turn <= 2*one {
		return nil
	}
	outer := math.Sqrt(0.75)
	if m.inner {
		most, outer = one, 1
	}
	n := max(2, int(math.Ceil(turn/(2*most)+2*(1-outer)-1e-6)))
	half := turn / 2 / (float64(n) - 2*(1-outer))
	rho := r
	if !m.inner {
		// The radius at which triangles over the chords have the sector's area.
		a, b := float64(n-2)*math.Sin(2*half), math.Sin(2*half*outer)
		rho = r * turn / (b + math.Sqrt(b*b+a*turn))
		rho = min(rho, r+fine)
	}
	mid := make([]int32, n-1)
	for i := range mid {
		a := start + math.Copysign(2*half*(outer+float64(i)), sweep)
		s, c := math.Sincos(a)
		mid[i] = m.fresh(r2.Vec{X: centre.X + rho*c, Y: centre.Y + rho*s})
	}
	return mid
}

// level returns the number of a height.
func (m *mesher) level(z float64) int {
	for i := range m.levels {
		if math.Abs(m.levels[i].z-z) <= zTol {
			return i
		}
	}
	v := make([]int32, len(m.at))
	for i := range v {
		v[i] = -1
	}
	m.levels = append(m.levels, level{z, v})
	return len(m.levels) - 1
}

// vertex returns the mesh vertex over point i at a level.
func (m *mesher) vertex(lv int, i int32) int32 {
	v := &m.levels[lv].vertex[i]
	if *v < 0 {
		*v = int32(len(m.out.Vertices))
		p := m.at[i]
		m.out.Vertices = append(m.out.Vertices, r3.Vec{X: p.X, Y: p.Y, Z: m.levels[lv].z})
	}
	return *v
}

func (m *mesher) triangle(a, b, c int32) {
	m.out.Triangles = append(m.out.Triangles, [3]int32{a, b, c})
}

// common returns the loops of a that run along loops of b: walls of sharp holes
// beside a chamfer.
func common(a, b *contour) [][]int32 {
	in := map[int32]bool{}
	for _, l := range b.loops {
		for _, i := range l {
			in[i] = true
		}
	}
	var out [][]int32
	for _, l := range a.loops {
		if !slices.ContainsFunc(l, func(i int32) bool { return !in[i] }) {
			out = append(out, l)
		}
	}
	return out
}

// walls adds the vertical faces over loops.
func (m *mesher) walls(loops [][]int32, lo, hi int) {
	for _, l := range loops {
		a := l[len(l)-1]
		for _, b := range l {
			a0, b0, a1, b1 := m.vertex(lo, a), m.vertex(lo, b), m.vertex(hi, a), m.vertex(hi, b)
			m.triangle(a0, b0, b1)
			m.triangle(a0, b1, a1)
			a = b
		}
	}
}

// face triangulates a horizontal face from the outlines of what lies below and
// above it.
func (m *mesher) face(below, above []*contour) (*plane, error) {
	var ids []int32
	for _, c := range append(slices.Clone(below), above...) {
		for _, l := range c.loops {
			ids = append(ids, l...)
		}
	}
	if len(ids) == 0 {
		return nil, nil
	}
	return m.triangulate(ids, below, above)
}

func (m *mesher) triangulate(ids []int32, sets ...[]*contour) (*plane, error) {
	p, err := newPlane(m.at, ids)
	if err != nil {
		return nil, err
	}
	for s, cs := range sets {
		for _, c := range cs {
			for _, l := range c.loops {
				a := l[len(l)-1]
				for _, b := range l {
					if err := p.constrain(a, b, s); err != nil {
						return nil, err
					}
					a = b
				}
			}
		}
	}
	p.label()
	return p, nil
}

// emitFace adds the parts of a face with material on one side only. With top or
// bottom set, the plane holds one outline, whichever way it was labelled.
func (m *mesher) emitFace(p *plane, z float64, top, bottom bool) {
	lv := m.level(z)
	for i := range p.tri {
		t := &p.tri[i]
		below, above := t.wind[0] > 0, t.wind[1] > 0
		if top || bottom {
			in := below || above
			below, above = in && top, in && bottom
		}
		if !top && !bottom {
			for _, s := range t.step {
				m.seam = m.seam || s[0]*s[1] < 0
			}
		}
		if below == above {
			continue
		}
		a, b, c := m.vertex(lv, t.v[0]), m.vertex(lv, t.v[1]), m.vertex(lv, t.v[2])
		if below {
			m.triangle(a, b, c)
		} else {
			m.triangle(a, c, b)
		}
	}
}
