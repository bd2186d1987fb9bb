package solid

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/parts/mesh"
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
	// MinHeight is the least height of a triangle in mm, 0 where it is not known.
	MinHeight float64
	// Added counts points that no outline has, on ridges where chamfers meet.
	Added int
	// Bias is by how many mm³ the mesh is larger than the solid, negative if it is
	// smaller: of walls exactly, of chamfers too where no point is added, else by sampling.
	Bias float64
}

// add counts a chamfer.
func (r *Report) add(b *band) {
	r.Deviation, r.Added, r.Bias = max(r.Deviation, b.worst), r.Added+len(b.height), r.Bias+b.bias
}

// contour is a flattened region: loops of point indices.
type contour struct {
	loops [][]int32
}

// mesher holds the plane points of all contours. Every wall is vertical, so a
// point serves all heights; one vertex is made per point and height.
type mesher struct {
	fine   float64 // mm, height of arcs over chords
	tol    float64 // mm, deviation of chamfers
	inner  bool    // all points of chords lie on the arcs
	at     []r2.Vec
	near   map[[2]int64][]int32
	arcs   map[[2]int32][]arcRun
	bent   map[[2]int32]bool // ends of arcs that need an inner point
	room   bool              // fine leaves room to move points by 2·slimmest
	nudges map[r2.Vec]r2.Vec // where points go that would make slivers
	split  map[[2]int32]int32
	levels []level
	out    *mesh.Mesh
	seam   bool    // bodies touch along an edge
	top    []int32 // of every point the highest level that walls reach there
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
// Before it is returned it is validated. No triangle is less than 1e-4 mm high,
// unless outlines come as close as that in a way that no division into chords
// avoids; Report.MinHeight tells.
//
// It returns an error when the deviation is not positive, the solid is empty,
// or outlines touch or lie so close together that no division into chords gives
// a valid mesh within the deviation; it names the place.
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
	// make slivers; small or jagged parts keep their volume only with more points.
	// Finer chords are other chords, so either is tried again.
	const tries = 12
	m := &mesher{fine: fine, tol: deviation}
	var best *mesh.Mesh // valid, but with slivers or biased
	var bestRep Report
	for try := range tries {
		m = &mesher{fine: m.fine, tol: m.tol, inner: m.inner, room: m.room, nudges: m.nudges}
		rep, e := m.build(l, regions)
		if e == nil {
			e = m.check(&rep, deviation)
		}
		if e == nil && (m.seam || rep.MinHeight < slimmest) && !m.room && deviation > 10*slimmest {
			// Make room for points to move, then look again.
			m.room, m.fine = true, min(m.fine, deviation-2*slimmest)
			continue
		}
		if e == nil {
			slim := rep.MinHeight < slimmest
			share := math.Abs(rep.Bias) / m.out.Volume()
			if !slim && share <= mostBias {
				return m.out, rep, nil
			}
			if best == nil || slim == (bestRep.MinHeight < slimmest) && (slim && rep.MinHeight > bestRep.MinHeight || !slim && math.Abs(rep.Bias) < math.Abs(bestRep.Bias)) ||
				!slim && bestRep.MinHeight < slimmest {
				best, bestRep = m.out, rep
			}
			if slim {
				switch {
				case try >= tries/2:
					return best, bestRep, nil
				case !m.room || !m.nudge():
					m.fine, m.inner = m.fine*0.77, !m.inner
				}
				continue
			}
			f := max(0.3, min(0.7, 0.7*mostBias/share))
			m.fine, m.tol, m.inner = m.fine*f, m.tol*f, false
			continue
		}
		var x *crossing
		switch {
		case errors.As(e, &x):
			e = fmt.Errorf("solid: outlines cross near (%.4g, %.4g) however finely they are divided (%.2g mm); they touch or lie too close",
				m.at[x.a].X, m.at[x.a].Y, m.fine)
			m.fine /= 2
		case errors.As(e, new(mesh.Invalid)) || errors.Is(e, errPoor):
			m.fine *= 0.77
		default:
			return nil, Report{}, e
		}
		m.inner = !m.inner
		err = e
	}
	if best != nil {
		return best, bestRep, nil
	}
	return nil, Report{}, err
}

var errPoor = errors.New("the mesh is not good enough")

// slimmest is the least height of a triangle in mm that a mesh should have: what
// survives being written in single precision.
const slimmest = 1e-4

// mostBias is the largest share of its volume that a mesh should gain or lose.
const mostBias = 4e-4

// check holds the mesh against what Mesh promises.
func (m *mesher) check(rep *Report, deviation float64) error {
	err := m.out.Validate()
	if m.seam || err != nil {
		// Bodies may touch along an edge, parts of a layer in a corner.
		m.seam = true
		m.out = openSeams(m.out)
		if m.room {
			partSeams(m.out, slimmest/2)
		}
		err = m.out.Validate()
	}
	if err != nil {
		return fmt.Errorf("solid: %w", err)
	}
	if m.room {
		rep.Deviation += 2 * slimmest
	}
	if rep.Deviation > deviation*(1+1e-9) {
		return fmt.Errorf("solid: %w: a chamfer deviates by %.3g mm, asked for was %g mm", errPoor, rep.Deviation, deviation)
	}
	rep.Triangles = len(m.out.Triangles)
	rep.MinHeight, _ = m.out.MinHeight()
	return nil
}

// build makes the mesh with chords of height fine.
func (m *mesher) build(l *Layered, regions []imprinted) (Report, error) {
	m.near = map[[2]int64][]int32{}
	m.arcs = map[[2]int32][]arcRun{}
	m.split = map[[2]int32]int32{}
	m.out = &mesh.Mesh{}
	m.bend(regions)
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
	for i, p := range m.at {
		m.at[i] = m.nudged(p)
	}
	m.joinClose(cs)
	m.straighten(cs)
	for k := range l.cuts {
		if len(tops[k])+len(bottoms[k]) > 1 {
			m.cutChords(tops[k], bottoms[k])
		}
	}
	layers := l.beside(cs)
	for _, cs := range layers {
		m.cutChords(cs, nil)
	}
	if len(m.split) > 0 {
		for _, c := range m.contours(cs) {
			m.refine(c)
		}
	}
	for _, cs := range layers {
		if err := m.crossed(cs); err != nil {
			return Report{}, err
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
	m.top = slices.Repeat([]int32{-1}, len(m.at))
	for i := range cs { // in the order of heights
		b := &l.bodies[i]
		za, zb := m.level(b.za), m.level(b.zb)
		if len(b.SharpBottom) > 0 && b.cb > 0 {
			holes := common(cs[i].region, cs[i].lower)
			m.walls(holes, m.level(b.Z0), za)
			rep.Bias += (m.area(holes) + b.SharpBottom.Area()) * b.cb
		}
		if zb != za {
			m.walls(cs[i].region.loops, za, zb)
			rep.Bias += (m.area(cs[i].region.loops) - b.region.Area()) * (b.zb - b.za)
		}
		if len(b.SharpTop) > 0 && b.ct > 0 {
			holes := common(cs[i].region, cs[i].upper)
			m.walls(holes, zb, m.level(b.Z1))
			rep.Bias += (m.area(holes) + b.SharpTop.Area()) * b.ct
		}
		var band *band
		if b.cb > 0 {
			var err error
			if band, err = m.band(cs[i].region, cs[i].lower, b.chamferB, m.tol, layerVolume(b.region, b.lower, b.SharpBottom, b.cb)); err != nil {
				return rep, err
			}
			m.emitBand(band, za, m.level(b.Z0), b.za, -1)
			rep.add(band)
		}
		if b.ct > 0 {
			if band == nil || cs[i].upper != cs[i].lower || b.ct != b.cb || b.distT != b.distB {
				var err error
				if band, err = m.band(cs[i].region, cs[i].upper, b.chamferT, m.tol, layerVolume(b.region, b.upper, b.SharpTop, b.ct)); err != nil {
					return rep, err
				}
			}
			m.emitBand(band, zb, m.level(b.Z1), b.zb, 1)
			rep.add(band)
		}
	}
	rep.Triangles = len(m.out.Triangles)
	if rep.Triangles == 0 {
		return rep, errNoTriangles
	}
	return rep, nil
}
