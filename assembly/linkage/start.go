package linkage

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mat"

	"tuckfinger/params"
)

// closeTol is the residual (mm) below which the closure counts as closed.
const closeTol = 1e-12

// findStart solves the tucked pose: joints closed, start angles exact, slide
// coordinates free. It sets Start, Mobility, the rank and the slide offsets.
func (m *Mechanism) findStart(d *params.Design) error {
	guess, unknown, exact := m.startAngles(d)
	var starts []Coord
	var values []float64
	for _, b := range exact {
		starts, values = append(starts, BodyAngle(b)), append(values, guess[b])
	}
	for i := range m.Joints {
		if s := d.Joints.Values[i].Slot; s != nil && s.Start != nil {
			starts, values = append(starts, JointCoord(i)), append(values, *s.Start)
		}
	}
	sols, best, near := m.closures(guess, unknown, starts, values)
	if len(sols) == 0 {
		// Too many start angles contradict each other: say that instead.
		if free, _, _ := m.closures(guess, unknown, nil, nil); len(free) > 0 {
			if mob := m.mobilityAt(free[0]); len(starts) > mob.Freedoms {
				return m.tooMany(free[0], starts, mob)
			}
		}
		return &ClosureError{Joint: near, Residual: best, Reason: "the links do not reach each other in the tucked pose with the start angles given"}
	}
	if len(sols) > 1 {
		var names []string
		for _, b := range unknown {
			names = append(names, m.Bodies[b].Name)
		}
		return &InputError{Path: "bodies", Problem: fmt.Sprintf("the links close in %d ways; give a near angle to %s", len(sols), strings.Join(names, ", "))}
	}
	q := sols[0]
	if err := m.checkMobility(q); err != nil {
		return err
	}
	rank := m.rankWith(q, starts)
	if rank < m.rank+len(starts) {
		return m.tooMany(q, starts, m.Mobility)
	}
	if rank < m.nq {
		return m.tooFew(q, starts, rank)
	}
	m.Start = q
	for i := range m.Joints {
		if m.Joints[i].Kind == Slide {
			m.Joints[i].Offset += m.Coord(q, JointCoord(i))
		}
	}
	return nil
}

// startAngles gathers what is known of each body's angle; fixed angles of
// slides and rigid connections are carried on from body to body.
func (m *Mechanism) startAngles(d *params.Design) (guess []float64, unknown, exact []int) {
	guess = make([]float64, len(m.Bodies))
	known := make([]bool, len(m.Bodies))
	for i := range m.Bodies {
		b := &d.Bodies.Values[i]
		switch {
		case m.Bodies[i].Ground:
			known[i] = true
		case b.Start != nil:
			guess[i], known[i] = b.Start.Angle, true
			exact = append(exact, i)
		case b.Near != nil:
			guess[i], known[i] = b.Near.Angle, true
		}
	}
	for changed := true; changed; {
		changed = false
		for i := range m.Joints {
			j := &m.Joints[i]
			if j.Kind != Slide && j.Kind != Rigid {
				continue
			}
			if known[j.A] && !known[j.B] {
				guess[j.B], known[j.B], changed = guess[j.A]+j.Angle, true, true
			} else if known[j.B] && !known[j.A] {
				guess[j.A], known[j.A], changed = guess[j.B]-j.Angle, true, true
			}
		}
	}
	for i := range known {
		if !known[i] {
			unknown = append(unknown, i)
		}
	}
	return guess, unknown, exact
}

// closures returns the distinct closed configurations reached from the guess;
// unknown angles are tried all around. Without any it returns the smallest gap
// and its joint.
func (m *Mechanism) closures(guess []float64, unknown []int, starts []Coord, values []float64) (sols [][]float64, best float64, joint string) {
	tries := 1
	if len(unknown) > 0 {
		tries = min(96, int(math.Pow(8, float64(len(unknown)))))
	}
	best = math.Inf(1)
	w := m.bare(starts...)
	for i, v := range values {
		w.Targets[i].Value = v
	}
	for t := 0; t < tries*m.pieceChoices(); t++ {
		m.choosePieces(t / tries)
		angles := append([]float64(nil), guess...)
		for k, b := range unknown {
			angles[b] = 2*math.Pi*halton(t%tries+1, primes[k%len(primes)]) - math.Pi
		}
		q := m.place(angles)
		w.forced = true
		descend(w, q)
		w.forced = false
		gap, name := descend(w, q)
		if gap < best {
			best, joint = gap, name
		}
		if gap > closeTol*math.Max(1, m.Scale) || !m.insideSlots(q) && (len(unknown) > 0 || m.pieceChoices() > 1) {
			continue
		}
		if !m.hasLike(sols, q) {
			sols = append(sols, q)
		}
		if len(unknown) == 0 {
			break // the guess decides the branch
		}
	}
	return sols, best, joint
}

// pieceChoices is the number of ways to put every slot's pin on one piece.
func (m *Mechanism) pieceChoices() int {
	n := 1
	for i := range m.Joints {
		if m.Joints[i].Kind == Slot && n < 64 {
			n *= m.Joints[i].Path.Pieces()
		}
	}
	return n
}

// choosePieces sets the k-th of these ways.
func (m *Mechanism) choosePieces(k int) {
	for i := range m.Joints {
		if m.Joints[i].Kind == Slot {
			n := m.Joints[i].Path.Pieces()
			m.Joints[i].piece = 1 + k%n
			k /= n
		}
	}
}

var primes = [...]int{2, 3, 5, 7, 11, 13}

// halton is the radical inverse of i, a point of an even spread over 0..1.
func halton(i, base int) float64 {
	f, r := 1.0, 0.0
	for ; i > 0; i /= base {
		f /= float64(base)
		r += f * float64(i%base)
	}
	return r
}

func (m *Mechanism) insideSlots(q []float64) bool {
	for i := range m.Joints {
		if j := &m.Joints[i]; j.Kind == Slot {
			if u := m.Coord(q, JointCoord(i)); u < -1e-6 || u > j.Path.Length()+1e-6 {
				return false
			}
		}
	}
	return true
}

func (m *Mechanism) hasLike(sols [][]float64, q []float64) bool {
	for _, s := range sols {
		same := true
		for b := range m.Bodies {
			if math.Abs(wrap(s[3*b+2]-q[3*b+2])) > 1e-6 || math.Hypot(s[3*b]-q[3*b], s[3*b+1]-q[3*b+1]) > 1e-6 {
				same = false
				break
			}
		}
		if same {
			return true
		}
	}
	return false
}

// place returns the configuration of given angles whose bodies fit their joints
// as well as they can: with angles fixed every joint is linear in the origins
// (a slot is taken as its chord).
func (m *Mechanism) place(angles []float64) []float64 {
	q := make([]float64, m.Size())
	for b := range m.Bodies {
		if !m.Bodies[b].Ground {
			q[3*b+2] = angles[b]
		}
	}
	w := m.bare()
	w.forced = true
	for it := 0; it < 3; it++ {
		w.Set(q)
		w.Eval()
		// Least squares over the x and y columns, lightly held.
		var cols []int
		for c := range w.qcol {
			if c%3 != 2 {
				cols = append(cols, c)
			}
		}
		a := mat.NewDense(w.nr+len(cols), len(cols), nil)
		rhs := mat.NewVecDense(w.nr+len(cols), nil)
		for r := 0; r < w.nr; r++ {
			for i, c := range cols {
				a.Set(r, i, w.j[r*w.n+c])
			}
			rhs.SetVec(r, -w.Residual[r])
		}
		for i := range cols {
			a.Set(w.nr+i, i, 1e-4)
		}
		var x mat.VecDense
		if err := x.SolveVec(a, rhs); err != nil {
			return q
		}
		for i, c := range cols {
			q[w.qcol[c]] += x.AtVec(i)
		}
	}
	return q
}

// descend is Levenberg–Marquardt on the residual, then least-squares Newton
// steps to the last digit. q is improved in place.
func descend(w *Work, q []float64) (gap float64, joint string) {
	w.Set(q)
	gap = w.Eval()
	mu := 1e-3
	x := mat.NewVecDense(w.n, nil)
	for it := 0; it < 200 && gap > closeTol/10; it++ {
		a := mat.NewDense(w.nr+w.n, w.n, nil)
		rhs := mat.NewVecDense(w.nr+w.n, nil)
		for r := 0; r < w.nr; r++ {
			a.SetRow(r, w.j[r*w.n:(r+1)*w.n])
			rhs.SetVec(r, -w.Residual[r])
		}
		for c := 0; c < w.n; c++ {
			a.Set(w.nr+c, c, mu)
		}
		var qr mat.QR
		qr.Factorize(a)
		if err := qr.SolveVecTo(x, false, rhs); err != nil {
			break
		}
		before := norm(w.Residual)
		for c, k := range w.qcol {
			v := x.AtVec(c)
			if c%3 == 2 {
				v /= w.m.Scale
			}
			w.Q[k] = q[k] + v
		}
		next := w.Eval()
		if norm(w.Residual) < before {
			copy(q, w.Q)
			gap = next
			mu = math.Max(mu/5, 1e-9)
			continue
		}
		if before < 1e-11 {
			w.Set(q)
			gap = w.Eval()
			break
		}
		w.Set(q)
		gap = w.Eval()
		if mu *= 4; mu > 1e6 {
			break
		}
	}
	return gap, w.Worst()
}

// rankWith returns the rank of the closure with start angles added.
func (m *Mechanism) rankWith(q []float64, starts []Coord) int {
	w := m.bare(starts...)
	w.Set(q)
	w.Eval()
	return rankOf(mat.NewDense(w.nr, w.n, append([]float64(nil), w.j...)))
}

func (m *Mechanism) tooMany(q []float64, starts []Coord, mob Mobility) error {
	w := m.bare(starts...)
	w.Set(q)
	w.Eval()
	a := mat.NewDense(w.nr, w.n, append([]float64(nil), w.j...))
	var names []string
	for _, s := range dependent(a, func(r int) string {
		if r < m.nrow {
			return ""
		}
		if c := starts[r-m.nrow]; c.Joint >= 0 {
			return m.Joints[c.Joint].Name
		} else {
			return m.Bodies[c.Body].Name
		}
	}) {
		if s != "" {
			names = append(names, s)
		}
	}
	return &MobilityError{Mobility: mob, Joints: names,
		Reason: fmt.Sprintf("%d start values are given, the mechanism takes %d; drop the start, or make it near, of", len(starts), mob.Freedoms)}
}

func (m *Mechanism) tooFew(q []float64, starts []Coord, rank int) error {
	var names []string
	for b := range m.Bodies {
		if !m.Bodies[b].Ground && m.rankWith(q, append(append([]Coord(nil), starts...), BodyAngle(b))) > rank {
			names = append(names, m.Bodies[b].Name)
		}
	}
	return &MobilityError{Mobility: m.Mobility, Joints: names,
		Reason: fmt.Sprintf("%d start angles are given, the mechanism needs %d; give a start angle to one of", len(starts), m.Mobility.Freedoms)}
}
