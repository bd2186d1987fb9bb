package linkage

import "math"

// The Jacobian is small but sparse: two bodies to a row. Its factors are made in
// an order chosen once (the largest pivots, and among those the ones that fill
// in least) and compiled into a list of the multiplications that are needed;
// later configurations run the list until a pivot has become too small.

const (
	// reuse is the share of its former size below which a pivot makes Factor
	// look for a new order.
	reuse = 0.1
	// threshold is the share of the largest entry that a pivot must have.
	threshold = 0.3
)

// plan is a compiled elimination order. All lists hold places in the factors.
type plan struct {
	// elim: per pivot its place and a count of rows; per row the place of its
	// multiplier and a count of pairs; per pair destination and source.
	elim []int32
	// fwd: triples (row changed, place in L, row of the pivot).
	fwd []int32
	// back, ut, lt: per pivot a count, then pairs (place, index of pivot).
	back, ut, lt []int32
	// indep: per independent column a count, then pairs (row, place in J).
	indep []int32
}

// Factor factors the Jacobian of the last Eval. With fresh false it keeps the
// former choice of independent columns as long as the pivots stay good. It
// returns the smallest over the largest pivot.
func (w *Work) Factor(fresh bool) float64 {
	if w.ordered && !fresh {
		if ratio, ok := w.follow(); ok {
			return ratio
		}
	}
	ratio := w.order()
	w.ordered = true
	for i := range w.Free {
		w.Free[i] = w.qcol[w.cp[w.rank+i]]
	}
	return ratio
}

// Hold makes Factor keep its independent columns, however small the pivots
// become, until Hold(false).
func (w *Work) Hold(on bool) { w.keep = on && w.ordered }

// Adopt takes over the order of another kernel of the same targets, so that
// both have the same independent columns.
func (w *Work) Adopt(from *Work) {
	copy(w.rp, from.rp)
	copy(w.cp, from.cp)
	copy(w.pivot, from.pivot)
	copy(w.Free, from.Free)
	w.ordered = from.ordered
	w.plan = from.plan // lists are replaced, not changed, by a new order
}

// order chooses pivots, factors and compiles the plan.
func (w *Work) order() float64 {
	n, nr, a := w.n, w.nr, w.lu
	w.findPattern()
	copy(a, w.j)
	mask := append([]bool(nil), w.pattern...)
	for i := range w.rp {
		w.rp[i] = i
	}
	for i := range w.cp {
		w.cp[i] = i
	}
	least, most := math.Inf(1), 0.0
	for k := 0; k < w.rank; k++ {
		bi, bj := w.choose(k, mask)
		w.rp[k], w.rp[bi] = w.rp[bi], w.rp[k]
		w.cp[k], w.cp[bj] = w.cp[bj], w.cp[k]
		pr, pc := w.rp[k], w.cp[k]
		p := a[pr*n+pc]
		if w.inverse[k] = 0; p != 0 {
			w.inverse[k] = 1 / p
		}
		w.pivot[k] = math.Abs(p)
		least, most = min(least, w.pivot[k]), max(most, w.pivot[k])
		for i := k + 1; i < nr; i++ {
			r := w.rp[i]
			if !mask[r*n+pc] {
				continue
			}
			f := 0.0
			if p != 0 {
				f = a[r*n+pc] / p
			}
			a[r*n+pc] = f
			for _, c := range w.cp[k+1:] {
				if mask[pr*n+c] {
					a[r*n+c] -= f * a[pr*n+c]
					mask[r*n+c] = true
				}
			}
		}
	}
	w.compile(mask)
	if most == 0 {
		return 0
	}
	return least / most
}

// choose picks the pivot of step k: large, with little fill-in.
func (w *Work) choose(k int, mask []bool) (bi, bj int) {
	n := w.n
	most := 0.0
	for i := k; i < w.nr; i++ {
		for j := k; j < n; j++ {
			most = max(most, math.Abs(w.lu[w.rp[i]*n+w.cp[j]]))
		}
	}
	bi, bj = k, k
	best, size := math.MaxInt, -1.0
	for i := k; i < w.nr; i++ {
		inRow := 0
		for _, c := range w.cp[k:] {
			if mask[w.rp[i]*n+c] {
				inRow++
			}
		}
		for j := k; j < n; j++ {
			v := math.Abs(w.lu[w.rp[i]*n+w.cp[j]])
			if v < threshold*most || v == 0 {
				continue
			}
			inCol := 0
			for _, r := range w.rp[k:] {
				if mask[r*n+w.cp[j]] {
					inCol++
				}
			}
			if cost := (inRow - 1) * (inCol - 1); cost < best || cost == best && v > size {
				best, size, bi, bj = cost, v, i, j
			}
		}
	}
	return bi, bj
}

// findPattern learns the places that are not always 0 at a configuration where
// nothing lines up.
func (w *Work) findPattern() {
	if w.pattern != nil {
		return
	}
	w.pattern = make([]bool, len(w.j))
	keepQ, keepJ, keepR := append([]float64(nil), w.Q...), append([]float64(nil), w.j...), append([]float64(nil), w.Residual...)
	for i := range w.Q {
		if w.m.Bodies[i/3].col >= 0 {
			w.Q[i] += w.m.Scale * (0.6 + 0.3*math.Sin(1+2.3*float64(i)))
			if i%3 == 2 {
				w.Q[i] = keepQ[i] + 0.4 + 0.3*math.Sin(1+1.7*float64(i))
			}
		}
	}
	w.Eval()
	for i, v := range w.j {
		w.pattern[i] = v != 0 || keepJ[i] != 0
	}
	copy(w.Q, keepQ)
	w.Eval()
	copy(w.Residual, keepR)
}

// compile writes the lists for the present order; mask marks the filled factors.
func (w *Work) compile(mask []bool) {
	n, nr, rank := w.n, w.nr, w.rank
	var p plan
	at := func(i, j int) int32 { return int32(w.rp[i]*n + w.cp[j]) }
	has := func(i, j int) bool { return mask[w.rp[i]*n+w.cp[j]] }
	for k := 0; k < rank; k++ {
		head := len(p.elim)
		p.elim = append(p.elim, at(k, k), 0)
		for i := k + 1; i < nr; i++ {
			if !has(i, k) {
				continue
			}
			p.elim[head+1]++
			row := len(p.elim)
			p.elim = append(p.elim, at(i, k), 0)
			for j := k + 1; j < n; j++ {
				if has(k, j) {
					p.elim[row+1]++
					p.elim = append(p.elim, at(i, j), at(k, j))
				}
			}
			if i < rank {
				p.fwd = append(p.fwd, int32(w.rp[i]), at(i, k), int32(w.rp[k]))
			}
		}
	}
	gather := func(dst []int32, k, from, to int, low bool) []int32 {
		head := len(dst)
		dst = append(dst, 0)
		for i := from; i < to; i++ {
			a, b := k, i
			if low {
				a, b = i, k
			}
			if has(a, b) {
				dst[head]++
				dst = append(dst, at(a, b), int32(i))
			}
		}
		return dst
	}
	for k := rank - 1; k >= 0; k-- {
		p.back = gather(p.back, k, k+1, rank, false)
		p.lt = gather(p.lt, k, k+1, rank, true)
	}
	for k := 0; k < rank; k++ {
		p.ut = gather(p.ut, k, 0, k, true)
	}
	for j := rank; j < n; j++ {
		head := len(p.indep)
		p.indep = append(p.indep, 0)
		for r := 0; r < nr; r++ {
			if w.pattern[r*n+w.cp[j]] {
				p.indep[head]++
				p.indep = append(p.indep, int32(r), int32(r*n+w.cp[j]))
			}
		}
	}
	w.plan = p
}

// follow factors along the plan; ok is false where a pivot has become small.
func (w *Work) follow() (ratio float64, ok bool) {
	a := w.lu
	copy(a, w.j)
	least, most := math.Inf(1), 0.0
	e := w.plan.elim
	for k := 0; k < w.rank; k++ {
		p := a[e[0]]
		nrows := int(e[1])
		e = e[2:]
		ap := math.Abs(p)
		if ap < reuse*w.pivot[k] && !w.keep {
			return 0, false
		}
		if ap < least {
			least = ap
		}
		if ap > most {
			most = ap
		}
		inv := 0.0
		if p != 0 {
			inv = 1 / p
		}
		w.inverse[k] = inv
		for ; nrows > 0; nrows-- {
			pairs := 2 * int(e[1])
			f := a[e[0]] * inv
			a[e[0]] = f
			list := e[2 : 2+pairs]
			for i := 0; i+1 < len(list); i += 2 {
				a[list[i]] -= f * a[list[i+1]]
			}
			e = e[2+pairs:]
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
	x := w.x[:w.nr]
	if rhs == nil {
		for i := range x {
			x[i] = 0
		}
	} else {
		copy(x, rhs)
	}
	for i := range dq {
		dq[i] = 0
	}
	list := w.plan.indep
	for i := range w.Free {
		pairs := 2 * int(list[0])
		if free != nil && free[i] != 0 {
			c := w.cp[w.rank+i]
			v := free[i]
			dq[w.qcol[c]] = v
			if c%3 == 2 {
				v *= w.m.Scale
			}
			for k := 1; k < 1+pairs; k += 2 {
				x[list[k]] -= v * w.j[list[k+1]]
			}
		}
		list = list[1+pairs:]
	}
	f := w.plan.fwd
	for i := 0; i+2 < len(f); i += 3 {
		x[f[i]] -= w.lu[f[i+1]] * x[f[i+2]]
	}
	list = w.plan.back
	for k := w.rank - 1; k >= 0; k-- {
		v := x[w.rp[k]]
		pairs := list[1 : 1+2*list[0]]
		list = list[1+len(pairs):]
		for ; len(pairs) > 1; pairs = pairs[2:] {
			v -= w.lu[pairs[0]] * w.y[pairs[1]]
		}
		c := w.cp[k]
		v *= w.inverse[k]
		w.y[k] = v
		dq[w.qcol[c]] = v * w.scale[c]
	}
}

// Multipliers solves Jᵀ·λ = −f over the dependent columns: the forces that hold
// the joints and targets against the generalised force f (length Size; N and
// N·mm). lambda has one number per equation: N for a length, N·mm for an angle
// (the fixed angle of a slide or rigid connection, an angular target).
// Equations that are redundant get 0.
func (w *Work) Multipliers(f, lambda []float64) {
	list := w.plan.ut
	for k := 0; k < w.rank; k++ {
		c := w.cp[k]
		v := -f[w.qcol[c]] * w.scale[c]
		pairs := list[1 : 1+2*list[0]]
		list = list[1+len(pairs):]
		for ; len(pairs) > 1; pairs = pairs[2:] {
			v -= w.lu[pairs[0]] * w.y[pairs[1]]
		}
		v *= w.inverse[k]
		w.y[k] = v
	}
	clear(lambda)
	list = w.plan.lt
	for k := w.rank - 1; k >= 0; k-- {
		v := w.y[k]
		pairs := list[1 : 1+2*list[0]]
		list = list[1+len(pairs):]
		for ; len(pairs) > 1; pairs = pairs[2:] {
			v -= w.lu[pairs[0]] * w.y[pairs[1]]
		}
		w.y[k] = v
		lambda[w.rp[k]] = v
	}
	for _, r := range w.angles {
		lambda[r] *= w.m.Scale
	}
}
