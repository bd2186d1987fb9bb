package solid

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
)

// field is a solid that is known by its signed distance only.
type field struct {
	sdf.SDF3
	lipschitz float64
	precision Precision
}

func (f *field) Lipschitz() float64   { return f.lipschitz }
func (f *field) Precision() Precision { return f.precision }

// ErrLipschitz says that a field changes faster than was declared. A mesher that
// relied on the declaration would leave holes.
var ErrLipschitz = errors.New("the field changes faster than declared")

// FromSDF3 makes a solid of any sdfx body, so that it can be meshed, checked and
// exported. lipschitz bounds how much the field changes per mm: 1 for bodies
// made of primitives by unions, differences, rigid transforms and extrusions
// along z; more for scaled, twisted and lofted extrusions and for rounded or
// chamfered combinations (RoundMin, ChamferMin), which over-state distance.
//
// Its precision is Bound if lipschitz is 1 and SignOnly otherwise: minima and
// maxima of fields under-state distance on one side even where every part is
// exact, and nothing in an sdfx body tells.
//
// It returns an error when there is no body or no finite box with a size in all
// directions, when the field is NaN or infinite in it, and, as ErrLipschitz
// with the place and the rate, when it is seen to change faster than declared.
// The look is at 4,096 pairs of fixed places: it finds a wrong declaration, it
// does not prove a right one.
func FromSDF3(body sdf.SDF3, lipschitz float64) (Solid, error) {
	if body == nil || reflect.ValueOf(body).Kind() == reflect.Pointer && reflect.ValueOf(body).IsNil() {
		return nil, errors.New("solid: there is no body; sdfx makes none of nothing")
	}
	if !(lipschitz > 0) || math.IsInf(lipschitz, 0) {
		return nil, fmt.Errorf("solid: Lipschitz constant %g must be positive and finite", lipschitz)
	}
	b := body.BoundingBox()
	size := b.Max.Sub(b.Min)
	if !(size.X > 0 && size.Y > 0 && size.Z > 0) || math.IsInf(size.X+size.Y+size.Z, 0) {
		return nil, fmt.Errorf("solid: the body's box is %g × %g × %g mm", size.X, size.Y, size.Z)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for range 4096 {
		p := sdf.V3{X: b.Min.X + rng.Float64()*size.X, Y: b.Min.Y + rng.Float64()*size.Y, Z: b.Min.Z + rng.Float64()*size.Z}
		// A short way in a random direction.
		h := 1e-3 * max(size.X, size.Y, size.Z)
		q := p.Add(sdf.V3{X: h * (2*rng.Float64() - 1), Y: h * (2*rng.Float64() - 1), Z: h * (2*rng.Float64() - 1)})
		f, g := body.Evaluate(p), body.Evaluate(q)
		if math.IsNaN(f) || math.IsInf(f, 0) {
			return nil, fmt.Errorf("solid: the field is %g at (%.4g, %.4g, %.4g) mm", f, p.X, p.Y, p.Z)
		}
		if way := q.Sub(p).Length(); math.Abs(f-g) > lipschitz*way*(1+1e-6)+1e-12 {
			return nil, fmt.Errorf("solid: %w: by %.4g per mm at (%.4g, %.4g, %.4g) mm, declared %g",
				ErrLipschitz, math.Abs(f-g)/way, p.X, p.Y, p.Z, lipschitz)
		}
	}
	precision := Bound
	if lipschitz > 1 {
		precision = SignOnly
	}
	return &field{body, lipschitz, precision}, nil
}

// Union returns the points in at least one of the solids. Outside its field is
// as precise as the least precise; inside it is a lower bound.
func Union(first Solid, more ...Solid) Solid {
	all := []sdf.SDF3{first}
	lip, precise := first.Lipschitz(), first.Precision()
	for _, s := range more {
		all = append(all, s)
		lip, precise = max(lip, s.Lipschitz()), max(precise, s.Precision())
	}
	if len(more) == 0 {
		return first
	}
	if precise < Bound {
		precise = Bound
	}
	return &field{sdf.Union3D(all...), lip, precise}
}

// Difference returns the points of a that are not in b. Where both fields are
// exact its own is exact inside; outside it is a lower bound.
func Difference(a, b Solid) Solid {
	precise := max(a.Precision(), b.Precision(), ExactInside)
	if b.Precision() == ExactInside {
		precise = max(precise, Bound) // inside a\b counts how true b is outside
	}
	return &field{&difference{a, b}, max(a.Lipschitz(), b.Lipschitz()), precise}
}

// difference is the field of a less b.
type difference struct{ a, b Solid }

func (d *difference) Evaluate(p sdf.V3) float64 { return max(d.a.Evaluate(p), -d.b.Evaluate(p)) }
func (d *difference) BoundingBox() sdf.Box3     { return d.a.BoundingBox() }

// firstCell is the cell in mm that field meshes begin with.
const firstCell = 0.2

// Mesh returns the surface of the field within deviation mm, by dual contouring
// on cells of 0.2 mm (less for deviations below 0.01 mm), then simplified as far
// as the deviation allows. Where that is not enough the cells are halved, at
// most three times. The deviation is measured, at 20,000 points and more;
// what is thinner than a cell is looked for, and an error if it is still lost
// in the smallest cells. With a SignOnly field the measure is of the field.
func (f *field) Mesh(deviation float64) (*mesh.Mesh, Report, error) {
	if !(deviation > 0) || math.IsInf(deviation, 0) {
		return nil, Report{}, fmt.Errorf("solid: deviation is %g mm; it must be positive", deviation)
	}
	b := f.BoundingBox()
	box := r3.Box{Min: r3.Vec{X: b.Min.X, Y: b.Min.Y, Z: b.Min.Z}, Max: r3.Vec{X: b.Max.X, Y: b.Max.Y, Z: b.Max.Z}}
	// A chord of one cell on a curve of radius 0.5 mm stands off by cell²/4.
	cell := min(firstCell, 2*math.Sqrt(deviation))
	for try := 0; ; try++ {
		m, rep, err := mesh.Dual(f.SDF3, f.lipschitz, box, cell, mesh.DualOptions{MaxDeviation: deviation})
		coarse := rep.Deviation.Max > deviation || rep.Lost > deviation
		switch {
		case coarse && try < 3:
			cell /= 2
			continue
		case err != nil:
			return nil, Report{}, err
		case rep.Lost > deviation:
			p := rep.LostAt
			return nil, Report{}, fmt.Errorf("solid: what is thinner than %.3g mm near (%.4g, %.4g, %.4g) mm would be lost", cell, p.X, p.Y, p.Z)
		}
		return m, Report{Deviation: max(rep.Deviation.Max, rep.Lost), Triangles: rep.Triangles, Fineness: cell}, nil
	}
}
