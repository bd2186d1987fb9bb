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
	rp, cp      []int     // pivot rows and columns
	pivot       []float64 // as chosen
	inverse     []float64 // of the present pivots, 0 of one that is 0
	ordered     bool      // an order of pivots is known
	keep        bool      // it may not change
	forced      bool      // slots keep to the piece that the start search tries
	row         []float64 // length Size
	x, y        []float64
	qcol        []int     // column -> place in Q
	scale       []float64 // of a column: 1, or 1/Scale for an angle
	angles      []int     // equations of angles
	scratch     []float64
	pattern     []bool // places of the Jacobian that are not always 0
	plan        plan
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
	w.pivot, w.inverse = make([]float64, w.rank), make([]float64, w.rank)
	w.row = make([]float64, m.Size())
	w.x, w.y = make([]float64, w.n+w.nr), make([]float64, w.n+w.nr)
	for i := range m.Bodies {
		if m.Bodies[i].col >= 0 {
			w.qcol = append(w.qcol, 3*i, 3*i+1, 3*i+2)
			w.scale = append(w.scale, 1, 1, 1/m.Scale)
		}
	}
	for i := range m.Joints {
		if j := &m.Joints[i]; j.Kind == Slide || j.Kind == Rigid {
			w.angles = append(w.angles, j.Row+j.Rows()-1)
		}
	}
	for i, c := range targets {
		if m.angular(c) {
			w.angles = append(w.angles, m.nrow+i)
		}
	}
	w.Free = make([]int, w.n-w.rank)
	return w
}

// Set copies a configuration.
func (w *Work) Set(q []float64) { copy(w.Q, q) }

// Trig returns sine and cosine of every body's angle as of the last Eval. The
// caller must not change them.
func (w *Work) Trig() (sin, cos []float64) { return w.sin, w.cos }

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
	clear(w.j)
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
	for i := range w.Targets {
		w.evalTarget(m.nrow+i, &w.Targets[i])
	}
	worst := 0.0
	for _, v := range w.Residual {
		if v = math.Abs(v); v > worst || v != v {
			worst = v
		}
	}
	return worst
}

// evalTarget writes the equation of a target, by the trigonometry that Eval has
// at hand for the common kinds.
func (w *Work) evalTarget(r int, t *Target) {
	c := t.Coord
	if c.Joint < 0 {
		w.Residual[r] = w.m.Scale * (w.Q[3*c.Body+2] - t.Value)
		w.put(r, c.Body, 0, 0, w.m.Scale)
		return
	}
	j, q := &w.m.Joints[c.Joint], w.Q
	switch j.Kind {
	case Pin:
		w.Residual[r] = w.m.Scale * (q[3*j.B+2] - q[3*j.A+2] - t.Value)
		w.put(r, j.A, 0, 0, -w.m.Scale)
		w.put(r, j.B, 0, 0, w.m.Scale)
	case Slide:
		sa, ca := w.sin[j.A], w.cos[j.A]
		ux, uy := ca*j.cosAxis-sa*j.sinAxis, sa*j.cosAxis+ca*j.sinAxis
		dx, dy := q[3*j.B]-q[3*j.A], q[3*j.B+1]-q[3*j.A+1]
		w.Residual[r] = ux*dx + uy*dy - (j.cosAxis*j.PA.X + j.sinAxis*j.PA.Y) - j.Offset - t.Value
		w.put(r, j.A, -ux, -uy, -uy*dx+ux*dy)
		w.put(r, j.B, ux, uy, 0)
	default:
		w.Residual[r] = w.m.Coord(q, c) - t.Value
		w.m.Gradient(q, c, w.row)
		for b := range w.m.Bodies {
			w.put(r, b, w.row[3*b], w.row[3*b+1], w.row[3*b+2])
		}
	}
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

// Close brings Q onto the closure by Newton steps that leave the independent
// columns where they are, down to tol (mm). It returns the residual reached and
// whether that is below tol. The factors belong to the final Q when it
// converges. The factors of the first step are used as long as the residual
// falls fast.
func (w *Work) Close(tol float64, dq []float64) (float64, bool) {
	r := w.Eval()
	fresh := false
	for it := 0; it < 25 && r > tol; it++ {
		if r != r || r > 1e6 {
			return r, false
		}
		if !fresh {
			w.Factor(false)
			fresh = true
		}
		rhs := w.Residual
		for i := range rhs {
			rhs[i] = -rhs[i]
		}
		w.Step(rhs, nil, dq)
		for i := range w.Q {
			w.Q[i] += dq[i]
		}
		before := r
		r = w.Eval()
		fresh = r < 0.02*before
	}
	if r > tol || r != r {
		return r, false
	}
	w.Factor(false)
	return r, true
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
