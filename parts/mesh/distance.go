package mesh

import "gonum.org/v1/gonum/spatial/r3"

// distance2 returns the squared distance of p from triangle a, b, c (by
// regions of the triangle's plane: C. Ericson, Real-Time Collision Detection,
// 2005, 5.1.5, from memory).
func distance2(p, a, b, c r3.Vec) float64 {
	ab, ac, ap := r3.Sub(b, a), r3.Sub(c, a), r3.Sub(p, a)
	d1, d2 := r3.Dot(ab, ap), r3.Dot(ac, ap)
	if d1 <= 0 && d2 <= 0 {
		return r3.Norm2(ap)
	}
	bp := r3.Sub(p, b)
	d3, d4 := r3.Dot(ab, bp), r3.Dot(ac, bp)
	if d3 >= 0 && d4 <= d3 {
		return r3.Norm2(bp)
	}
	if vc := d1*d4 - d3*d2; vc <= 0 && d1 >= 0 && d3 <= 0 {
		return r3.Norm2(r3.Sub(ap, r3.Scale(d1/(d1-d3), ab)))
	}
	cp := r3.Sub(p, c)
	d5, d6 := r3.Dot(ab, cp), r3.Dot(ac, cp)
	if d6 >= 0 && d5 <= d6 {
		return r3.Norm2(cp)
	}
	vb := d5*d2 - d1*d6
	if vb <= 0 && d2 >= 0 && d6 <= 0 {
		return r3.Norm2(r3.Sub(ap, r3.Scale(d2/(d2-d6), ac)))
	}
	va := d3*d6 - d5*d4
	if va <= 0 && d4-d3 >= 0 && d5-d6 >= 0 {
		w := (d4 - d3) / (d4 - d3 + d5 - d6)
		return r3.Norm2(r3.Sub(bp, r3.Scale(w, r3.Sub(c, b))))
	}
	n := r3.Cross(ab, ac)
	h := r3.Dot(n, ap)
	return h * h / r3.Norm2(n)
}
