package linkage

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Mobility is the number of freedoms of a mechanism, counted twice.
type Mobility struct {
	// Kutzbach is 3(L−1) − 2·J1 − J2, with L bodies, J1 pins and slides (a
	// rigid connection takes 3) and J2 slots.
	Kutzbach int
	// Freedoms is the number of columns of the closure's Jacobian less its rank
	// in the tucked pose.
	Freedoms int
	// Redundant names joints with an equation that follows from the others, in
	// file order; such a joint's forces are not determined by statics.
	Redundant []string
}

// rankTol is the singular value, relative to the largest, below which the
// Jacobian (angles scaled to lengths) counts as rank deficient.
const rankTol = 1e-8

// kutzbach returns the count of freedoms by the Chebychev–Grübler–Kutzbach rule.
func (m *Mechanism) kutzbach() int { return m.nq - m.nrow }

// jacobian returns the closure's Jacobian with scaled angle columns.
func (m *Mechanism) jacobian(q []float64) *mat.Dense {
	w := &Work{}
	*w = *m.bare()
	w.Set(q)
	w.Eval()
	return mat.NewDense(w.nr, w.n, append([]float64(nil), w.j...))
}

// bare makes a kernel before the rank is known.
func (m *Mechanism) bare(targets ...Coord) *Work {
	keep := m.rank
	m.rank = min(m.nrow, m.nq-min(m.nq, len(targets)))
	w := m.NewWork(targets...)
	m.rank = keep
	return w
}

// rankOf returns the numerical rank of a matrix.
func rankOf(a mat.Matrix) int {
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDNone) {
		return 0
	}
	s := svd.Values(nil)
	r := 0
	for _, v := range s {
		if v > rankTol*s[0] {
			r++
		}
	}
	return r
}

// mobilityAt counts freedoms at a configuration.
func (m *Mechanism) mobilityAt(q []float64) Mobility {
	mob := Mobility{Kutzbach: m.kutzbach()}
	if m.nrow == 0 {
		mob.Freedoms = m.nq
		return mob
	}
	a := m.jacobian(q)
	rank := rankOf(a)
	mob.Freedoms = m.nq - rank
	if rank == m.nrow {
		return mob
	}
	mob.Redundant = dependent(a, func(r int) string { return m.equation(r, nil) })
	return mob
}

// dependent names, once each, the rows that depend linearly on rows before them.
func dependent(a *mat.Dense, name func(row int) string) []string {
	nr, n := a.Dims()
	var basis [][]float64
	var out []string
	for r := 0; r < nr; r++ {
		v := append([]float64(nil), a.RawRowView(r)...)
		size := norm(v)
		for pass := 0; pass < 2; pass++ {
			for _, b := range basis {
				d := 0.0
				for i := 0; i < n; i++ {
					d += v[i] * b[i]
				}
				for i := 0; i < n; i++ {
					v[i] -= d * b[i]
				}
			}
		}
		if l := norm(v); l > 1e-7*size && l > 0 {
			for i := range v {
				v[i] /= l
			}
			basis = append(basis, v)
			continue
		}
		if s := name(r); len(out) == 0 || out[len(out)-1] != s {
			out = append(out, s)
		}
	}
	return out
}

func norm(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x * x
	}
	return math.Sqrt(s)
}

// checkMobility refuses mechanisms that can't move or whose drive can't.
func (m *Mechanism) checkMobility(q []float64) error {
	m.Mobility = m.mobilityAt(q)
	m.rank = m.nq - m.Mobility.Freedoms
	if m.Mobility.Freedoms < 1 {
		return &MobilityError{Mobility: m.Mobility, Joints: m.Mobility.Redundant, Reason: "over-constrained: nothing can move; the joints that close it too often"}
	}
	if m.Drive < 0 {
		return nil
	}
	w := m.bare(JointCoord(m.Drive))
	w.Set(q)
	w.Eval()
	if rankOf(mat.NewDense(w.nr, w.n, append([]float64(nil), w.j...))) == m.rank {
		return &MobilityError{Mobility: m.Mobility, Joints: []string{m.Joints[m.Drive].Name},
			Reason: "the drive can't move in the tucked pose (s = 0); its slide"}
	}
	return nil
}
