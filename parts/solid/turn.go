package solid

import (
	"fmt"
	"math"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
)

// PlaneXZ returns the turn of a body that is drawn in the x–z plane: drawn x is
// finger x, drawn y is finger −z, and its layers run along finger +y.
func PlaneXZ() *r3.Mat {
	return r3.NewMat([]float64{
		1, 0, 0,
		0, 0, 1,
		0, -1, 0,
	})
}

// Turned returns the solid with every point p moved to a·p + t, where a is a
// turn without mirroring. Its mesh is that of s, moved. It returns an error when
// a is not a turn, to 1e-9.
func Turned(s Solid, a *r3.Mat, t r3.Vec) (Solid, error) {
	for i := range 3 {
		for j := range 3 {
			dot, want := 0.0, 0.0
			for k := range 3 {
				dot += a.At(k, i) * a.At(k, j)
			}
			if i == j {
				want = 1
			}
			if !(math.Abs(dot-want) <= 1e-9) {
				return nil, fmt.Errorf("solid: the matrix is not a turn: its columns %d and %d have the product %g", i+1, j+1, dot)
			}
		}
	}
	if a.Det() < 0 {
		return nil, fmt.Errorf("solid: the matrix mirrors")
	}
	if d := t.X + t.Y + t.Z; math.IsNaN(d) || math.IsInf(d, 0) {
		return nil, fmt.Errorf("solid: shift %v is not finite", t)
	}
	m := r3.NewMat(nil)
	m.CloneFrom(a)
	return &turned{Solid: s, a: m, t: t}, nil
}

type turned struct {
	Solid
	a *r3.Mat
	t r3.Vec
}

func (s *turned) Evaluate(p sdf.V3) float64 {
	return s.Solid.Evaluate(sdf.V3(s.a.MulVecTrans(r3.Sub(r3.Vec(p), s.t))))
}

// BoundingBox returns the box about the turned corners of the box.
func (s *turned) BoundingBox() sdf.Box3 {
	b := s.Solid.BoundingBox()
	inf := math.Inf(1)
	out := sdf.Box3{Min: sdf.V3{X: inf, Y: inf, Z: inf}, Max: sdf.V3{X: -inf, Y: -inf, Z: -inf}}
	for i := range 8 {
		c := r3.Vec(b.Min)
		if i&1 > 0 {
			c.X = b.Max.X
		}
		if i&2 > 0 {
			c.Y = b.Max.Y
		}
		if i&4 > 0 {
			c.Z = b.Max.Z
		}
		q := sdf.V3(r3.Add(s.a.MulVec(c), s.t))
		out.Min, out.Max = out.Min.Min(q), out.Max.Max(q)
	}
	return out
}

func (s *turned) Mesh(deviation float64) (*mesh.Mesh, Report, error) {
	m, rep, err := s.Solid.Mesh(deviation)
	if err != nil {
		return nil, rep, err
	}
	m, err = m.Transform(s.a, s.t)
	return m, rep, err
}
