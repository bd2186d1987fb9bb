package mesh

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"github.com/deadsy/sdfx/sdf"
	"gonum.org/v1/gonum/spatial/r3"
)

// Deviation says how far a mesh was found to lie from a field's zero surface.
type Deviation struct {
	Max     float64 // largest |field| over the samples, mm
	At      r3.Vec  // where
	RMS     float64 // over the samples, mm
	Samples int
}

// MeasureDeviation evaluates the field at every vertex, at the middle of every
// edge and at faceSamples points spread over the faces by area (at least one,
// the centroid, on every face). The points depend on the mesh alone.
//
// A field that under-states distance, as any union or difference made by min
// and max does on one side of its surface, under-states the deviation there by
// the same factor. The field must be safe for concurrent use. A NaN or
// infinite value is an error that names the place.
func MeasureDeviation(m *Mesh, field sdf.SDF3, faceSamples int) (Deviation, error) {
	area := m.Area()
	type sum struct {
		lo, n   int
		d       Deviation
		sq      float64
		badAt   r3.Vec
		badness float64
	}
	var mu sync.Mutex
	var parts []sum
	run := func(n int, points func(i int, visit func(r3.Vec))) {
		parts = parts[:0]
		parallel(n, 512, func(lo, hi int) {
			s := sum{lo: lo}
			for i := lo; i < hi; i++ {
				points(i, func(p r3.Vec) {
					v := math.Abs(evaluate(field, p))
					s.n++
					s.sq += v * v
					if v > s.d.Max {
						s.d.Max, s.d.At = v, p
					}
					if v-v != 0 && s.badness == 0 {
						s.badAt, s.badness = p, v
					}
				})
			}
			mu.Lock()
			parts = append(parts, s)
			mu.Unlock()
		})
		slices.SortFunc(parts, func(a, b sum) int { return a.lo - b.lo })
	}
	var out Deviation
	sq := 0.0
	gather := func() error {
		for _, s := range parts {
			if s.badness != 0 {
				return fmt.Errorf("mesh: the field is %g at (%.4g, %.4g, %.4g) mm", s.badness, s.badAt.X, s.badAt.Y, s.badAt.Z)
			}
			if s.d.Max > out.Max {
				out.Max, out.At = s.d.Max, s.d.At
			}
			out.Samples += s.n
			sq += s.sq
		}
		return nil
	}
	run(len(m.Vertices), func(i int, visit func(r3.Vec)) { visit(m.Vertices[i]) })
	if err := gather(); err != nil {
		return out, err
	}
	run(len(m.Triangles), func(i int, visit func(r3.Vec)) {
		t := m.Triangles[i]
		a, b, c := m.Corners(i)
		p := [3]r3.Vec{a, b, c}
		for k := range 3 {
			// Of a closed mesh every edge is met once in this direction.
			if t[k] < t[next3[k]] {
				visit(r3.Scale(0.5, r3.Add(p[k], p[next3[k]])))
			}
		}
		visit(r3.Scale(1./3, r3.Add(a, r3.Add(b, c))))
		share := 0.5 * r3.Norm(r3.Cross(r3.Sub(b, a), r3.Sub(c, a))) / area
		for k := 1; k < int(math.Round(share*float64(faceSamples))); k++ {
			// Fractional multiples of 1/g and 1/g², g³ = g+1, fill a square
			// evenly (M. Roberts' R2 sequence, from memory); the half beyond
			// the diagonal is folded back onto the triangle.
			u := frac(0.5 + float64(k)*0.7548776662466927)
			v := frac(0.5 + float64(k)*0.5698402909980532)
			if u+v > 1 {
				u, v = 1-u, 1-v
			}
			visit(r3.Add(a, r3.Add(r3.Scale(u, r3.Sub(b, a)), r3.Scale(v, r3.Sub(c, a)))))
		}
	})
	if err := gather(); err != nil {
		return out, err
	}
	if out.Samples > 0 {
		out.RMS = math.Sqrt(sq / float64(out.Samples))
	}
	return out, nil
}

func frac(x float64) float64 { return x - math.Floor(x) }

func evaluate(f sdf.SDF3, p r3.Vec) float64 { return f.Evaluate(sdf.V3{X: p.X, Y: p.Y, Z: p.Z}) }
