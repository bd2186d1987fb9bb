package mesh

import (
	"fmt"
	"math"
	"sync/atomic"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r3"
)

// DualOptions are the choices of Dual that have a default.
type DualOptions struct {
	// MaxDeviation, when not 0, has the mesh simplified as far as it stays
	// within this distance of the field's surface, in mm (see Simplify); it is
	// an error when the deviation measured is larger after all.
	MaxDeviation float64
	// MaxCells stops the work with an error when the surface passes through
	// more lattice cells; 0 stands for 50 million (some 4 GB).
	MaxCells int
	// FaceSamples is how many points between vertices the deviation in the
	// report is measured at; 0 stands for 20,000.
	FaceSamples int
}

// DualReport says what Dual did.
type DualReport struct {
	Cell         float64 // edge of a lattice cell, mm
	Blocks       int     // blocks of 32³ cells the surface may pass through
	Evaluations  int     // of the field while meshing
	SurfaceCells int     // cells the surface passes through
	OpenCells    int     // of these, with a face whose signs alternate or two sheets
	Fans         int     // quadrilaterals divided about a fifth point
	Retreats     int     // vertices drawn back from a sharp feature
	// Lost is the largest distance found from the field's surface to the mesh,
	// in mm, at LostAt: there a part or gap thinner than a cell, or the tip of
	// an acute wedge, slips between lattice points. It is at most two cells.
	// Where that matters a smaller cell is needed. Only surface that lies in no
	// cell with a vertex is looked at, from lattice points less than a cell
	// away: 0 does not prove that nothing is lost.
	Lost   float64
	LostAt r3.Vec
	// Triangles before simplification and in the result.
	DualTriangles, Triangles int
	// Deviation of the result, measured against the field.
	Deviation Deviation
}

// latticeShift moves the lattice off the box by fractions of a cell that no
// common dimension is a multiple of, so that faces of parts do not fall upon
// lattice points.
var latticeShift = r3.Vec{X: 0.3819660113, Y: 0.4142135624, Z: 0.3027756377}

// Dual meshes the surface field = 0 on a lattice of cubic cells with edge cell
// (mm), keeping sharp edges and corners.
//
// The field must be negative inside, safe for concurrent use, and change by at
// most lipschitz per mm in any direction: 1 for true distances and for min/max
// combinations of them. That bound, not a guess, decides which cells are left
// out, and all lattice signs; features that pass between lattice points are
// not seen. The box (mm) must hold the solid; a margin of at least one cell is
// added to it.
//
// Method: dual contouring (T. Ju et al., Dual contouring of Hermite data,
// 2002) with one vertex per sheet in a cell, so that the mesh is always closed,
// oriented, edge- and vertex-manifold. Vertices stay in their cells and each
// quadrilateral lies in its own envelope (after T. Ju and T. Udeshi,
// Intersection-free contouring on an octree grid, 2006), so that triangles do
// not cross; around cells with several sheets this is tested exactly and
// vertices are drawn back where needed. The result is the same, bit for bit,
// at any GOMAXPROCS.
//
// It returns an error, and no mesh, when an argument is out of range, when the
// field is nil, NaN or infinite somewhere, evidently changes faster than
// lipschitz, has no surface in the box or reaches past it, when the mesh would
// be too large, when a crossing could not be removed, or when MaxDeviation is
// not met; each with its place.
func Dual(field sdf.SDF3, lipschitz float64, box r3.Box, cell float64, opt DualOptions) (*Mesh, DualReport, error) {
	rep := DualReport{Cell: cell}
	g, err := newLattice(field, lipschitz, box, cell)
	if err != nil {
		return nil, rep, err
	}
	if g.maxCells = int64(opt.MaxCells); opt.MaxCells <= 0 {
		g.maxCells = 50_000_000
	}
	if err := g.probe(box); err != nil {
		return nil, rep, err
	}
	if err := g.sample(); err != nil {
		return nil, rep, err
	}
	if len(g.blocks) == 0 {
		if len(g.hidden) > 0 {
			return nil, rep, fmt.Errorf("mesh: the body at %s mm is thinner than a cell of %g mm everywhere; use a smaller cell", place(g.hidden[0]), cell)
		}
		return nil, rep, fmt.Errorf("mesh: no surface found in the box from %s to %s mm at a cell of %g mm", place(box.Min), place(box.Max), cell)
	}
	if err := g.resolve(); err != nil {
		return nil, rep, err
	}
	m, err := g.connect()
	if err != nil {
		return nil, rep, err
	}
	if m, err = g.separate(m); err != nil {
		return nil, rep, err
	}
	g.fill(&rep)
	rep.Lost, rep.LostAt = g.lost(m)
	rep.DualTriangles, rep.Triangles = len(m.Triangles), len(m.Triangles)
	samples := opt.FaceSamples
	if samples <= 0 {
		samples = 20_000
	}
	if opt.MaxDeviation == 0 {
		rep.Deviation, err = g.spotCheck(m, samples)
	} else {
		m, err = reduce(m, field, opt.MaxDeviation, samples, &rep)
	}
	if err != nil {
		return nil, rep, err
	}
	return m, rep, nil
}

// reduce simplifies m, measures, and tries again with a smaller distance when
// the samples of Simplify missed the worst place.
func reduce(m *Mesh, field sdf.SDF3, within float64, samples int, rep *DualReport) (*Mesh, error) {
	for _, d := range [3]float64{within, 0.85 * within, 0.6 * within} {
		out, err := Simplify(m, field, d)
		if err != nil {
			return nil, err
		}
		rep.Triangles = len(out.Triangles)
		if rep.Deviation, err = MeasureDeviation(out, field, samples); err != nil {
			return nil, err
		}
		if rep.Deviation.Max <= within {
			return out, nil
		}
	}
	return nil, fmt.Errorf("mesh: the deviation is %.4g mm at %s mm, more than the %.4g asked for, at a cell of %g mm; use a smaller cell",
		rep.Deviation.Max, place(rep.Deviation.At), within, rep.Cell)
}

// lattice is the state of one call of Dual. Lattice points have integer
// coordinates; point (0, 0, 0) is org.
type lattice struct {
	field    sdf.SDF3
	lip      float64
	org      r3.Vec
	cell     float64
	size     [3]int // in blocks
	maxCells int64
	cells    atomic.Int64
	evals    atomic.Int64
	blocks   []*dualBlock
	index    map[[3]int]int32
	retreats int
	hidden   []r3.Vec // surface points in cells that are not crossed
}

func place(p r3.Vec) string { return fmt.Sprintf("(%.4g, %.4g, %.4g)", p.X, p.Y, p.Z) }

func newLattice(field sdf.SDF3, lip float64, box r3.Box, cell float64) (*lattice, error) {
	if field == nil {
		return nil, fmt.Errorf("mesh: the field is nil")
	}
	if !(lip > 0) || math.IsInf(lip, 0) {
		return nil, fmt.Errorf("mesh: a Lipschitz bound of %g is not positive and finite", lip)
	}
	if !(cell > 0) || math.IsInf(cell, 0) {
		return nil, fmt.Errorf("mesh: a cell of %g mm is not positive and finite", cell)
	}
	size := r3.Sub(box.Max, box.Min)
	if !finite(box.Min) || !finite(box.Max) || !(size.X > 0 && size.Y > 0 && size.Z > 0) {
		return nil, fmt.Errorf("mesh: the box from %s to %s mm has no volume", place(box.Min), place(box.Max))
	}
	g := &lattice{field: field, lip: lip, cell: cell}
	g.org = r3.Sub(box.Min, r3.Scale(cell, r3.Add(r3.Vec{X: 1, Y: 1, Z: 1}, latticeShift)))
	for a, s := range [3]float64{size.X, size.Y, size.Z} {
		n := s/cell + 3
		if n > 1<<20 {
			return nil, fmt.Errorf("mesh: %.3g cells of %g mm along one side of the box, the limit is %d", n, cell, 1<<20)
		}
		// Lattice coordinates stay exact and distinct only well above rounding.
		if o := [3]float64{box.Min.X, box.Min.Y, box.Min.Z}[a]; cell < 1e-9*max(math.Abs(o), math.Abs(o+s)) {
			return nil, fmt.Errorf("mesh: a cell of %g mm is too small for coordinates of %.3g mm", cell, max(math.Abs(o), math.Abs(o+s)))
		}
		g.size[a] = (int(math.Ceil(n)) + blockCells - 1) / blockCells
	}
	return g, nil
}

// at returns the position of a lattice point.
func (g *lattice) at(i, j, k int) r3.Vec {
	return r3.Vec{X: g.org.X + float64(i)*g.cell, Y: g.org.Y + float64(j)*g.cell, Z: g.org.Z + float64(k)*g.cell}
}

// eval evaluates the field and refuses what is not a number.
func (g *lattice) eval(p r3.Vec) (float64, error) {
	v := g.field.Evaluate(sdf.V3(p))
	if v-v != 0 {
		return v, g.undefined(v, p)
	}
	return v, nil
}

func (g *lattice) undefined(v float64, p r3.Vec) error {
	return fmt.Errorf("mesh: the field is %g at %s mm", v, place(p))
}

func (g *lattice) steep(p, q r3.Vec, fp, fq float64) error {
	return fmt.Errorf("mesh: the field goes from %.4g to %.4g between %s and %s mm, %.3g per mm: more than the stated bound of %g",
		fp, fq, place(p), place(q), math.Abs(fp-fq)/r3.Norm(r3.Sub(p, q)), g.lip)
}

// tooSteep reports whether two values contradict the Lipschitz bound beyond
// rounding.
func (g *lattice) tooSteep(p, q r3.Vec, fp, fq float64) bool {
	d := r3.Norm(r3.Sub(p, q))
	return math.Abs(fp-fq) > g.lip*d*(1+1e-6)+1e-9*g.cell*g.lip
}

// probe looks for evidence against the Lipschitz bound at points spread over
// the box: from each a step of half a cell along the gradient measured there.
func (g *lattice) probe(box r3.Box) error {
	const n = 256
	s := r3.Sub(box.Max, box.Min)
	h := 1e-3 * g.cell
	for k := range n {
		// The three-dimensional R sequence: multiples of 1/g, 1/g², 1/g³ with g⁴ = g+1.
		f := float64(k) + 0.5
		p := r3.Add(box.Min, r3.Vec{X: s.X * frac(f*0.8191725133961645), Y: s.Y * frac(f*0.6710436067037893), Z: s.Z * frac(f*0.5497004779019703)})
		v, err := g.eval(p)
		if err != nil {
			return err
		}
		var d [3]float64
		for a := range 3 {
			e := [3]float64{}
			e[a] = h
			w, err := g.eval(r3.Add(p, r3.Vec{X: e[0], Y: e[1], Z: e[2]}))
			if err != nil {
				return err
			}
			d[a] = w - v
		}
		dir := r3.Vec{X: d[0], Y: d[1], Z: d[2]}
		if r3.Norm(dir) == 0 {
			continue
		}
		q := r3.Add(p, r3.Scale(g.cell/2/r3.Norm(dir), dir))
		w, err := g.eval(q)
		if err != nil {
			return err
		}
		if g.tooSteep(p, q, v, w) {
			return g.steep(p, q, v, w)
		}
	}
	g.evals.Add(5 * n)
	return nil
}

func (g *lattice) fill(rep *DualReport) {
	rep.Blocks = len(g.blocks)
	for _, b := range g.blocks {
		rep.SurfaceCells += len(b.cell)
		rep.OpenCells += len(b.open)
		rep.Fans += b.fans
	}
	rep.Retreats = g.retreats
	rep.Evaluations = int(g.evals.Load())
}

// spotCheck measures the deviation of a mesh with too many triangles to look
// at each: at about n points, vertices, edges and faces taken in turn.
func (g *lattice) spotCheck(m *Mesh, n int) (Deviation, error) {
	part := &Mesh{}
	step := max(1, 5*len(m.Triangles)/n)
	for i := 0; i < len(m.Triangles); i += step {
		a, b, c := m.Corners(i)
		v := int32(len(part.Vertices))
		part.Vertices = append(part.Vertices, a, b, c)
		part.Triangles = append(part.Triangles, [3]int32{v, v + 1, v + 2})
	}
	return MeasureDeviation(part, g.field, 0)
}
