package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Work is the kernel for one goroutine: closure equations, Jacobian, a
// rank-revealing factorisation and its solves. It allocates only in NewWork.
//
// The equations are those of all joints, then one per target (coordinate less
// value). Columns run over the poses of the moving bodies.
type Work struct {
	m       *Mechanism
	Targets []Target
	Q       []float64 // configuration, length Size; write with Set
	// Residual of every equation; mm, or rad times Mechanism.Scale.
	Residual []float64
	// Free lists the columns (places in Q) that the factors leave independent.
	Free []int

	n, nr, rank int
	sin, cos    []float64 // per body
	j           []float64 // nr × n, scaled: angle columns per Scale
	lu          []float64
	rp, cp      []int // pivot rows and columns
	pivot       []float64
	ordered     bool      // an order of pivots is known
	keep        bool      // it may not change
	forced      bool      // slots keep to the piece that the start search tries
	row         []float64 // length Size
	x, y        []float64
	qcol        []int // column -> place in Q
	scratch     []float64
}

// NewWork makes a kernel whose targets are given by coordinate; their values
// are set in Targets. Rank is the number of independent equations.
func (m *Mechanism) NewWork(targets ...Coord) *Work {
	w := &Work{m: m, n: m.nq, nr: m.nrow + len(targets)}
	w.rank = m.rank + len(targets)
	if w.rank > w.n {
		w.rank = w.n
	}
	for _, c := range targets {
		w.Targets = append(w.Targets, Target{Coord: c})
	}
	w.Q = append([]float64(nil), m.Start...)
	if w.Q == nil {
		w.Q = make([]float64, m.Size())
	}
	w.Residual = make([]float64, w.nr)
	w.sin, w.cos = make([]float64, len(m.Bodies)), make([]float64, len(m.Bodies))
	w.j, w.lu = make([]float64, w.nr*w.n), make([]float64, w.nr*w.n)
	w.rp, w.cp = make([]int, w.nr), make([]int, w.n)
	w.pivot = make([]float64, w.rank)
	w.row = make([]float64, m.Size())
	w.x, w.y = make([]float64, w.n+w.nr), make([]float64, w.n+w.nr)
	for i := range m.Bodies {
		if m.Bodies[i].col >= 0 {
			w.qcol = append(w.qcol, 3*i, 3*i+1, 3*i+2)
		}
	}
	w.Free = make([]int, w.n-w.rank)
	return w
}

// Set copies a configuration.
func (w *Work) Set(q []float64) { copy(w.Q, q) }

// Freedom is the number of independent columns.
func (w *Work) Freedom() int { return w.n - w.rank }

// put stores the derivatives of row r for a body; dt is per radian.
func (w *Work) put(r, body int, dx, dy, dt float64) {
	c := w.m.Bodies[body].col
	if c < 0 {
		return
	}
	k := r*w.n + c
	w.j[k] += dx
	w.j[k+1] += dy
	w.j[k+2] += dt / w.m.Scale
}

// Eval computes Residual and the Jacobian at Q and returns the largest
// residual.
func (w *Work) Eval() float64 {
	m := w.m
	for i := range w.j {
		w.j[i] = 0
	}
	for b := range m.Bodies {
		if m.Bodies[b].col >= 0 {
			w.sin[b], w.cos[b] = math.Sincos(w.Q[3*b+2])
		} else {
			w.sin[b], w.cos[b] = 0, 1
		}
	}
	for i := range m.Joints {
		w.evalJoint(&m.Joints[i])
	}
	for i, t := range w.Targets {
		r := m.nrow + i
		scale := 1.0
		if m.angular(t.Coord) {
			scale = m.Scale
		}
		w.Residual[r] = scale * (m.Coord(w.Q, t.Coord) - t.Value)
		m.Gradient(w.Q, t.Coord, w.row)
		for c, k := range w.qcol {
			g := scale * w.row[k]
			if c%3 == 2 {
				g /= m.Scale
			}
			w.j[r*w.n+c] = g
		}
	}
	worst := 0.0
	for _, v := range w.Residual {
		if v = math.Abs(v); v > worst || v != v {
			worst = v
		}
	}
	return worst
}

func (w *Work) evalJoint(j *Joint) {
	q, r := w.Q, j.Row
	ax, ay, at := q[3*j.A], q[3*j.A+1], q[3*j.A+2]
	bx, by, bt := q[3*j.B], q[3*j.B+1], q[3*j.B+2]
	sa, ca, sb, cb := w.sin[j.A], w.cos[j.A], w.sin[j.B], w.cos[j.B]
	switch j.Kind {
	case Pin, Rigid:
		pax, pay := ca*j.PA.X-sa*j.PA.Y, sa*j.PA.X+ca*j.PA.Y
		var pbx, pby float64
		if j.Kind == Pin {
			pbx, pby = cb*j.PB.X-sb*j.PB.Y, sb*j.PB.X+cb*j.PB.Y
		}
		w.Residual[r] = bx + pbx - ax - pax
		w.Residual[r+1] = by + pby - ay - pay
		w.put(r, j.A, -1, 0, pay)
		w.put(r, j.B, 1, 0, -pby)
		w.put(r+1, j.A, 0, -1, -pax)
		w.put(r+1, j.B, 0, 1, pbx)
		if j.Kind == Rigid {
			w.turn(r+2, j, bt-at)
		}
	case Slide:
		ux, uy := ca*j.cosAxis-sa*j.sinAxis, sa*j.cosAxis+ca*j.sinAxis
		dx, dy := bx-ax, by-ay
		w.Residual[r] = -uy*dx + ux*dy - (-j.sinAxis*j.PA.X + j.cosAxis*j.PA.Y)
		w.put(r, j.A, uy, -ux, -ux*dx-uy*dy)
		w.put(r, j.B, -uy, ux, 0)
		w.turn(r+1, j, bt-at)
	case Slot:
		armx, army := cb*j.PB.X-sb*j.PB.Y, sb*j.PB.X+cb*j.PB.Y
		dx, dy := bx+armx-ax, by+army-ay
		wx, wy := ca*dx+sa*dy, -sa*dx+ca*dy
		var f Foot
		if j.piece > 0 && w.forced {
			f = j.Path.pieces[j.piece-1].foot(r2.Vec{X: wx, Y: wy})
		} else {
			f = j.Path.Project(r2.Vec{X: wx, Y: wy})
		}
		nx, ny := ca*f.Normal.X-sa*f.Normal.Y, sa*f.Normal.X+ca*f.Normal.Y
		w.Residual[r] = f.Lateral
		w.put(r, j.A, -nx, -ny, f.Normal.X*wy-f.Normal.Y*wx)
		w.put(r, j.B, nx, ny, ny*armx-nx*army)
	}
}

// turn writes the equation of a fixed angle between the bodies of a joint.
func (w *Work) turn(r int, j *Joint, rel float64) {
	w.Residual[r] = w.m.Scale * (rel - j.Angle)
	w.put(r, j.A, 0, 0, -w.m.Scale)
	w.put(r, j.B, 0, 0, w.m.Scale)
}

// reuse is the share of its former size below which a pivot makes Factor look
// for a new order.
const reuse = 0.2

// Factor factors the Jacobian of the last Eval. With fresh false it keeps the
// former choice of independent columns as long as the pivots stay good. It
// returns the smallest over the largest pivot.
func (w *Work) Factor(fresh bool) float64 {
	if w.ordered && !fresh {
		if ratio, ok := w.eliminate(false); ok {
			return ratio
		}
	}
	ratio, _ := w.eliminate(true)
	w.ordered = true
	for i := range w.Free {
		w.Free[i] = w.qcol[w.cp[w.rank+i]]
	}
	return ratio
}

// Hold makes Factor keep its independent columns, however small the pivots
// become, until Hold(false).
func (w *Work) Hold(on bool) { w.keep = on && w.ordered }

func (w *Work) eliminate(search bool) (ratio float64, ok bool) {
	n, nr, a := w.n, w.nr, w.lu
	copy(a, w.j)
	if search {
		for i := range w.rp {
			w.rp[i] = i
		}
		for i := range w.cp {
			w.cp[i] = i
		}
	}
	least, most := math.Inf(1), 0.0
	for k := 0; k < w.rank; k++ {
		if search {
			bi, bj, best := k, k, -1.0
			for i := k; i < nr; i++ {
				base := w.rp[i] * n
				for jj := k; jj < n; jj++ {
					if v := math.Abs(a[base+w.cp[jj]]); v > best {
						bi, bj, best = i, jj, v
					}
				}
			}
			w.rp[k], w.rp[bi] = w.rp[bi], w.rp[k]
			w.cp[k], w.cp[bj] = w.cp[bj], w.cp[k]
		}
		prow := a[w.rp[k]*n : w.rp[k]*n+n]
		pc := w.cp[k]
		p := prow[pc]
		ap := math.Abs(p)
		if search {
			w.pivot[k] = ap
		} else if ap < reuse*w.pivot[k] && !w.keep {
			return 0, false
		}
		least, most = math.Min(least, ap), math.Max(most, ap)
		if ap == 0 {
			continue
		}
		inv := 1 / p
		for i := k + 1; i < nr; i++ {
			irow := a[w.rp[i]*n : w.rp[i]*n+n]
			f := irow[pc]
			if f == 0 {
				continue
			}
			f *= inv
			irow[pc] = f
			for _, c := range w.cp[k+1:] {
				irow[c] -= f * prow[c]
			}
		}
	}
	if most == 0 {
		return 0, true
	}
	return least / most, true
}

// Step solves J·dq = rhs for the change dq of a configuration (length Size)
// whose independent columns move by free (length Freedom; mm or rad). rhs has
// one number per equation, in the units of Residual; nil means zeros.
func (w *Work) Step(rhs, free, dq []float64) {
	n := w.n
	x := w.x[:w.nr]
	for i := range x {
		x[i] = 0
	}
	copy(x, rhs)
	for i := range dq {
		dq[i] = 0
	}
	for i := range w.Free {
		if free == nil || free[i] == 0 {
			continue
		}
		c := w.cp[w.rank+i]
		v := free[i]
		dq[w.qcol[c]] = v
		if c%3 == 2 {
			v *= w.m.Scale
		}
		for r := 0; r < w.nr; r++ {
			x[r] -= v * w.j[r*n+c]
		}
	}
	// Forward with unit lower factors, then back.
	for k := 0; k < w.rank; k++ {
		v := x[w.rp[k]]
		if v == 0 {
			continue
		}
		pc := w.cp[k]
		for i := k + 1; i < w.rank; i++ {
			r := w.rp[i]
			x[r] -= w.lu[r*n+pc] * v
		}
	}
	for k := w.rank - 1; k >= 0; k-- {
		base := w.rp[k] * n
		v := x[w.rp[k]]
		for i := k + 1; i < w.rank; i++ {
			v -= w.lu[base+w.cp[i]] * w.y[i]
		}
		p := w.lu[base+w.cp[k]]
		if p != 0 {
			v /= p
		} else {
			v = 0
		}
		w.y[k] = v
		c := w.cp[k]
		if c%3 == 2 {
			v /= w.m.Scale
		}
		dq[w.qcol[c]] = v
	}
}

// Multipliers solves Jᵀ·λ = −f over the dependent columns: the forces that hold
// the joints and targets against the generalised force f (length Size; N and
// N·mm). lambda has one number per equation: N for a length, N·mm for an angle
// (the fixed angle of a slide or rigid connection, an angular target).
// Equations that are redundant get 0.
func (w *Work) Multipliers(f, lambda []float64) {
	n := w.n
	// Uᵀ z = −f, then Lᵀ λ = z.
	for k := 0; k < w.rank; k++ {
		c := w.cp[k]
		v := -f[w.qcol[c]]
		if c%3 == 2 {
			v /= w.m.Scale
		}
		for i := 0; i < k; i++ {
			v -= w.lu[w.rp[i]*n+c] * w.y[i]
		}
		if p := w.lu[w.rp[k]*n+c]; p != 0 {
			v /= p
		} else {
			v = 0
		}
		w.y[k] = v
	}
	for i := range lambda {
		lambda[i] = 0
	}
	for k := w.rank - 1; k >= 0; k-- {
		v := w.y[k]
		pc := w.cp[k]
		for i := k + 1; i < w.rank; i++ {
			v -= w.lu[w.rp[i]*n+pc] * w.y[i]
		}
		w.y[k] = v
		lambda[w.rp[k]] = v
	}
	for i := range w.m.Joints {
		j := &w.m.Joints[i]
		if j.Kind == Slide || j.Kind == Rigid {
			lambda[j.Row+j.Rows()-1] *= w.m.Scale
		}
	}
	for i, t := range w.Targets {
		if w.m.angular(t.Coord) {
			lambda[w.m.nrow+i] *= w.m.Scale
		}
	}
}

// Close brings Q onto the closure by Newton steps that leave the independent
// columns where they are, down to tol (mm). It returns the residual reached and
// whether that is below tol. The factors are left at the final Q when it
// converges.
func (w *Work) Close(tol float64, dq []float64) (float64, bool) {
	r := w.Eval()
	for it := 0; it < 12; it++ {
		if r <= tol {
			w.Factor(false)
			return r, true
		}
		if r != r || r > 1e6 {
			return r, false
		}
		w.Factor(false)
		rhs := w.Residual
		for i := range rhs {
			rhs[i] = -rhs[i]
		}
		w.Step(rhs, nil, dq)
		for i := range w.Q {
			w.Q[i] += dq[i]
		}
		r = w.Eval()
	}
	return r, r <= tol
}

// Worst names the joint of the equation with the largest residual.
func (w *Work) Worst() string {
	worst, at := -1.0, 0
	for i, v := range w.Residual {
		if v = math.Abs(v); v > worst || v != v {
			worst, at = v, i
		}
	}
	return w.m.equation(at, w.Targets)
}

// Weakest names the joint of the equation with the smallest pivot.
func (w *Work) Weakest() string {
	least, at := math.Inf(1), 0
	for k := 0; k < w.rank; k++ {
		if v := math.Abs(w.lu[w.rp[k]*w.n+w.cp[k]]); v < least {
			least, at = v, w.rp[k]
		}
	}
	return w.m.equation(at, w.Targets)
}

// equation names the joint or target of an equation.
func (m *Mechanism) equation(row int, targets []Target) string {
	if row >= m.nrow {
		c := targets[row-m.nrow].Coord
		if c.Joint < 0 {
			return m.Bodies[c.Body].Name
		}
		return m.Joints[c.Joint].Name
	}
	for i := range m.Joints {
		if j := &m.Joints[i]; row >= j.Row && row < j.Row+j.Rows() {
			return j.Name
		}
	}
	return ""
}
