package solid

import (
	"fmt"
	"math"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
)

// drilled is a layered solid with bores.
type drilled struct {
	*field // of the whole
	base   *Layered
	bores  []Bore
}

// Drill cuts a bore. It returns an error for one without length or diameter.
func Drill(s Solid, b Bore) (Solid, error) {
	way := r2.Sub(b.To, b.From)
	l := r2.Norm(way)
	if !(l > 0) || !(b.Diameter > 0) || math.IsInf(l+b.Diameter+b.Z, 0) || math.IsNaN(b.Z) {
		return nil, fmt.Errorf("solid: bore of diameter %g mm and length %g mm at z = %g mm; both must be positive", b.Diameter, l, b.Z)
	}
	c, err := sdf.Cylinder3D(l, b.Diameter/2, 0)
	if err != nil {
		return nil, fmt.Errorf("solid: bore: %w", err)
	}
	// From along z to along the axis.
	turn := sdf.RotateZ(math.Atan2(way.Y, way.X)).Mul(sdf.RotateY(math.Pi / 2))
	at := sdf.Translate3d(sdf.V3{X: (b.From.X + b.To.X) / 2, Y: (b.From.Y + b.To.Y) / 2, Z: b.Z})
	whole := Difference(s, &field{sdf.Transform3D(c, at.Mul(turn)), 1, Exact})
	switch s := s.(type) {
	case *Layered:
		return &drilled{whole.(*field), s, []Bore{b}}, nil
	case *drilled:
		return &drilled{whole.(*field), s.base, append(s.bores[:len(s.bores):len(s.bores)], b)}, nil
	}
	return whole, nil
}

// Mesh returns the surface of the layered solid with the bores cut from it as
// prisms. The deviation from the field is measured, at 20,000 points and more;
// where a bore meets a surface at a small angle it is larger than that of either,
// and both are made finer. Where the two only touch, or leave something too thin to
// be told apart, the surface is that of the field alone. Bias takes bores as if they
// met surfaces at right angles and not each other.
func (d *drilled) Mesh(deviation float64) (*mesh.Mesh, Report, error) {
	if !(deviation > 0) || math.IsInf(deviation, 0) {
		return d.field.Mesh(deviation) // says what is wrong
	}
	const (
		finest = 1. / 16
		tries  = 8
		low    = 2e-5 // mm: a triangle this high still is one in a file of 32-bit numbers
	)
	for fine := 0.9 * deviation; fine > finest*deviation; fine /= 2 {
		base, plain, err := d.base.Mesh(fine)
		if err != nil {
			return nil, Report{}, err
		}
		var best *mesh.Mesh
		var report Report
		// Turned, the prisms may miss what they touch or leave no slivers.
		for try := 0; try < tries && report.MinHeight < slimmest; try++ {
			m, rep, err := d.carved(base, plain, fine, 0.137+0.211*float64(try))
			if err == nil && rep.MinHeight > max(low, report.MinHeight) {
				best, report = m, rep
			}
		}
		if best == nil {
			break
		}
		measured, err := mesh.MeasureDeviation(best, d.field, 20_000)
		if err != nil {
			return nil, Report{}, err
		}
		if measured.Max <= deviation {
			report.Deviation, report.Triangles = max(report.Deviation, measured.Max), len(best.Triangles)
			return best, report, nil
		}
	}
	return d.field.Mesh(deviation)
}

// carved cuts the bores, as prisms within deviation mm, from a mesh of the layered
// solid and brings its report up to date; phase (rad) turns the prisms.
func (d *drilled) carved(m *mesh.Mesh, rep Report, deviation, phase float64) (*mesh.Mesh, Report, error) {
	for i, b := range d.bores {
		b, err := d.open(b)
		if err != nil {
			return nil, rep, err
		}
		tool := prism(b, deviation, phase+0.0619*float64(i)) // no two alike
		var first int
		if m, first, err = carve(m, tool); err != nil {
			return nil, rep, err
		}
		// What lies between arc and chord, as wide as its area over its length.
		turn := 4 * math.Pi / float64(len(tool.Vertices))
		rep.Bias += b.Diameter / 8 * (turn - math.Sin(turn)) / math.Sin(turn/2) * sides(m, first, newTube(b))
	}
	if err := m.Validate(); err != nil {
		return nil, rep, err
	}
	if c := m.SelfIntersections(); len(c) > 0 {
		return nil, rep, fmt.Errorf("solid: %v", c[0])
	}
	rep.MinHeight, _ = m.MinHeight()
	return m, rep, nil
}

// sides is the area of the triangles from first on that lie along a bore, mm².
func sides(m *mesh.Mesh, first int, t tube) float64 {
	area := 0.0
	for i := first; i < len(m.Triangles); i++ {
		a, b, c := m.Corners(i)
		n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		if size := r3.Norm(n); math.Abs(n.X*t.along.X+n.Y*t.along.Y) < 0.5*size {
			area += size / 2
		}
	}
	return area
}

// open lengthens a bore at the ends that lie free, so that its flat ends meet no
// surface of the solid.
func (d *drilled) open(b Bore) (Bore, error) {
	const more = 0.1 // mm
	along := r2.Scale(more, r2.Unit(r2.Sub(b.To, b.From)))
	for _, end := range []struct {
		p *r2.Vec
		d r2.Vec
	}{{&b.From, r2.Scale(-1, along)}, {&b.To, along}} {
		beyond := r2.Add(*end.p, end.d)
		room, err := d.base.RoomLying(*end.p, beyond, b.Z, b.Diameter/2)
		if err != nil {
			return b, err
		}
		if math.IsInf(room.Radius, 1) {
			*end.p = beyond
		}
	}
	return b, nil
}

// prism is a bore with so many sides that none is farther than deviation from it.
func prism(b Bore, deviation, phase float64) *mesh.Mesh {
	t := newTube(b)
	n := int32(max(8, math.Ceil(math.Pi/math.Acos(max(0, 1-deviation/t.r)))))
	m := &mesh.Mesh{}
	for k := range n {
		sin, cos := math.Sincos(phase + 2*math.Pi*float64(k)/float64(n))
		for _, x := range [2]float64{0, t.l} {
			m.Vertices = append(m.Vertices, r3.Vec(t.point(x, t.r*cos, t.r*sin)))
		}
	}
	for k := range n {
		a, c := 2*k, 2*((k+1)%n) // at the start; the end is one more
		m.Triangles = append(m.Triangles, [3]int32{a, c, a + 1}, [3]int32{c, c + 1, a + 1})
		if k > 0 && k+1 < n {
			m.Triangles = append(m.Triangles, [3]int32{0, c, a}, [3]int32{1, a + 1, c + 1})
		}
	}
	return m
}
