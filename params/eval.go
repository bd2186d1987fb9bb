package params

import (
	"math"
	"slices"
	"strings"
)

// qty is the value of an expression. A free value is built from bare literals
// only and takes the unit that is needed beside it in a sum.
type qty struct {
	v    float64
	u    unit
	free bool
}

// lookup returns a dimension's value. ok is false if there is no such
// dimension or if it is faulty; in the latter case msg is "".
type lookup func(name string) (q qty, msg string, ok bool)

// eval computes an expression. ok is false without an error if a dimension in
// it is faulty and was reported elsewhere.
func (e *expr) eval(find lookup) (q qty, ok bool, err *exprError) {
	switch e.op {
	case '#':
		if e.unit != "" {
			return qty{v: e.num, u: unitOf(e.unit)}, true, nil
		}
		return qty{v: e.num, free: true}, true, nil
	case 'd':
		q, msg, ok := find(e.name)
		if msg != "" {
			return qty{}, false, &exprError{e.off, msg}
		}
		return q, ok, nil
	case 'n':
		q, ok, err := e.l.eval(find)
		q.v = -q.v
		return q, ok, err
	}
	// A long sum leans to the left: walk down it without recursion.
	var spine []*expr
	for ; strings.IndexByte("+-*/", e.op) >= 0; e = e.l {
		spine = append(spine, e)
	}
	q, ok, err = e.eval(find)
	for _, n := range slices.Backward(spine) {
		if err != nil {
			return qty{}, false, err
		}
		r, rok, rerr := n.r.eval(find)
		if rerr != nil {
			return qty{}, false, rerr
		}
		if ok = ok && rok; !ok {
			continue
		}
		q, err = n.apply(q, r)
	}
	return q, ok && err == nil, err
}

func (e *expr) apply(a, b qty) (qty, *exprError) {
	out := qty{free: a.free && b.free}
	switch e.op {
	case '+', '-':
		switch {
		case a.free:
			out.u = b.u
		case b.free || a.u == b.u:
			out.u = a.u
		default:
			verb, with := "add", "and"
			if e.op == '-' {
				verb, with = "subtract", "from"
				a, b = b, a
			}
			return out, &exprError{e.off, "cannot " + verb + " " + unitWord(a.u) + " " + with + " " + unitWord(b.u) + "; both sides must have the same unit"}
		}
		if out.v = a.v + b.v; e.op == '-' {
			out.v = a.v - b.v
		}
	case '*', '/':
		sign := int8(1)
		if out.v = a.v * b.v; e.op == '/' {
			sign = -1
			if b.v == 0 {
				return out, &exprError{e.off, "divides by zero; the right side of / is 0"}
			}
			out.v = a.v / b.v
		}
		var ok bool
		if out.u, ok = a.u.mul(b.u, sign); !ok {
			return out, &exprError{e.off, "has a unit that cannot be computed with: " + a.u.String() + " and " + b.u.String()}
		}
	}
	if math.IsInf(out.v, 0) || math.IsNaN(out.v) {
		return out, &exprError{e.off, "is too large for a number"}
	}
	return out, nil
}

func unitWord(u unit) string {
	if u == pure {
		return "a pure number"
	}
	return u.String()
}

// names adds the dimensions of an expression to the set.
func (e *expr) names(set map[string]bool) {
	for ; e != nil; e = e.l {
		if e.op == 'd' {
			set[e.name] = true
		}
		if e.r != nil {
			e.r.names(set)
		}
	}
}
