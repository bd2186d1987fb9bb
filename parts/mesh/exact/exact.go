// Package exact decides on which side of a line or plane a point lies, without
// error: a sign never contradicts another, so that triangulations and
// intersection tests built on them are consistent. Coordinates must be finite
// and products of three of them neither overflow nor underflow.
package exact

import (
	"math"
	"math/big"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// How signs are found: a double-precision value decides when it exceeds
// its rounding bound (J. R. Shewchuk, Adaptive precision floating-point
// arithmetic and fast robust geometric predicates, 1997; bounds from memory);
// a pair of doubles decides most of the rest, rationals what remains.
const (
	ulp    = 1.0 / (1 << 53)
	bound2 = (3 + 16*ulp) * ulp
	bound3 = (7 + 56*ulp) * ulp
	// Fewer than 64 roundings of 2⁻¹⁰⁴ each lie between the input and a
	// determinant in pairs of doubles.
	boundPair = 1.0 / (1 << 32) / (1 << 32) / (1 << 32)
)

// pair is an unevaluated sum hi + lo with |lo| ≤ ulp(hi)/2.
type pair struct{ hi, lo float64 }

// pairDiff returns a − b exactly.
func pairDiff(a, b float64) pair {
	s := a - b
	bb := s - a
	return pair{s, (a - (s - bb)) + (-b - bb)}
}

func (p pair) mul(q pair) pair {
	h := p.hi * q.hi
	l := math.FMA(p.hi, q.hi, -h)
	l += p.hi*q.lo + p.lo*q.hi
	s := h + l
	return pair{s, l - (s - h)}
}

func (p pair) add(q pair) pair {
	s := p.hi + q.hi
	bb := s - p.hi
	e := (p.hi - (s - bb)) + (q.hi - bb)
	t := p.lo + q.lo
	bb = t - p.lo
	f := (p.lo - (t - bb)) + (q.lo - bb)
	e += t
	h := s + e
	e -= h - s
	e += f
	r := h + e
	return pair{r, e - (r - h)}
}

func (p pair) neg() pair { return pair{-p.hi, -p.lo} }

func sign(x float64) int {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}

// Orient2 returns a positive number when a, b, c turn left, a negative one when
// they turn right and 0 when they lie on one line. The sign is exact. The size
// is twice the triangle's area where rounding cannot change its sign, else 1.
func Orient2(a, b, c r2.Vec) float64 {
	l := (a.X - c.X) * (b.Y - c.Y)
	r := (a.Y - c.Y) * (b.X - c.X)
	det := l - r
	if e := bound2 * (math.Abs(l) + math.Abs(r)); det > e || -det > e {
		return det
	}
	return orient2(a, b, c, math.Abs(l)+math.Abs(r))
}

// orient2 decides where double precision cannot; size is the sum of the products.
func orient2(a, b, c r2.Vec, size float64) float64 {
	// One factor of each product is an exact zero.
	if (a.X == c.X || b.Y == c.Y) && (a.Y == c.Y || b.X == c.X) {
		return 0
	}
	ax, ay, bx, by := pairDiff(a.X, c.X), pairDiff(a.Y, c.Y), pairDiff(b.X, c.X), pairDiff(b.Y, c.Y)
	p, q := ax.mul(by), ay.mul(bx)
	if d := p.add(q.neg()).hi; math.Abs(d) > boundPair*size {
		return float64(sign(d))
	}
	return float64(orient2Rat(a, b, c))
}

func orient2Rat(a, b, c r2.Vec) int {
	x := new(big.Rat).Mul(ratDiff(a.X, c.X), ratDiff(b.Y, c.Y))
	return x.Cmp(new(big.Rat).Mul(ratDiff(a.Y, c.Y), ratDiff(b.X, c.X)))
}

// Side2 is the sign of Orient2: +1 left, -1 right, 0 on one line.
func Side2(a, b, c r2.Vec) int { return sign(Orient2(a, b, c)) }

// Side3 returns +1 when d lies on the side of the plane a, b, c from which
// they are seen to turn right, that is below a counter-clockwise triangle; -1
// on the other side, 0 on the plane, exactly.
func Side3(a, b, c, d r3.Vec) int {
	adx, ady, adz := a.X-d.X, a.Y-d.Y, a.Z-d.Z
	bdx, bdy, bdz := b.X-d.X, b.Y-d.Y, b.Z-d.Z
	cdx, cdy, cdz := c.X-d.X, c.Y-d.Y, c.Z-d.Z
	bc, cb := bdx*cdy, cdx*bdy
	ca, ac := cdx*ady, adx*cdy
	ab, ba := adx*bdy, bdx*ady
	det := adz*(bc-cb) + bdz*(ca-ac) + cdz*(ab-ba)
	perm := (math.Abs(bc)+math.Abs(cb))*math.Abs(adz) +
		(math.Abs(ca)+math.Abs(ac))*math.Abs(bdz) +
		(math.Abs(ab)+math.Abs(ba))*math.Abs(cdz)
	if e := bound3 * perm; det > e || -det > e {
		return sign(det)
	}
	// Points on one axis-parallel plane are common and exactly flat.
	if adz == 0 && bdz == 0 && cdz == 0 || ady == 0 && bdy == 0 && cdy == 0 || adx == 0 && bdx == 0 && cdx == 0 {
		return 0
	}
	ax, ay, az := pairDiff(a.X, d.X), pairDiff(a.Y, d.Y), pairDiff(a.Z, d.Z)
	bx, by, bz := pairDiff(b.X, d.X), pairDiff(b.Y, d.Y), pairDiff(b.Z, d.Z)
	cx, cy, cz := pairDiff(c.X, d.X), pairDiff(c.Y, d.Y), pairDiff(c.Z, d.Z)
	u := az.mul(bx.mul(cy).add(cx.mul(by).neg()))
	v := bz.mul(cx.mul(ay).add(ax.mul(cy).neg()))
	w := cz.mul(ax.mul(by).add(bx.mul(ay).neg()))
	if s := u.add(v).add(w).hi; math.Abs(s) > boundPair*perm {
		return sign(s)
	}
	return side3Rat(a, b, c, d)
}

func side3Rat(a, b, c, d r3.Vec) int {
	cross := func(p, q, r, s *big.Rat) *big.Rat {
		x := new(big.Rat).Mul(p, q)
		return x.Sub(x, new(big.Rat).Mul(r, s))
	}
	ax, ay, az := ratDiff(a.X, d.X), ratDiff(a.Y, d.Y), ratDiff(a.Z, d.Z)
	bx, by, bz := ratDiff(b.X, d.X), ratDiff(b.Y, d.Y), ratDiff(b.Z, d.Z)
	cx, cy, cz := ratDiff(c.X, d.X), ratDiff(c.Y, d.Y), ratDiff(c.Z, d.Z)
	sum := new(big.Rat).Mul(az, cross(bx, cy, cx, by))
	sum.Add(sum, new(big.Rat).Mul(bz, cross(cx, ay, ax, cy)))
	sum.Add(sum, new(big.Rat).Mul(cz, cross(ax, by, bx, ay)))
	return sum.Sign()
}

// ratDiff returns a − b; both must be finite.
func ratDiff(a, b float64) *big.Rat {
	x := new(big.Rat).SetFloat64(a)
	return x.Sub(x, new(big.Rat).SetFloat64(b))
}

// InCircle reports whether d lies inside the circle about the left-turning a, b,
// c by more than rounding can hide: where it is true it is true exactly, so that
// flipping edges by it always ends.
func InCircle(a, b, c, d r2.Vec) bool {
	ax, ay, bx, by, cx, cy := a.X-d.X, a.Y-d.Y, b.X-d.X, b.Y-d.Y, c.X-d.X, c.Y-d.Y
	a2, b2, c2 := ax*ax+ay*ay, bx*bx+by*by, cx*cx+cy*cy
	p, q, r := bx*cy-by*cx, ax*cy-ay*cx, ax*by-ay*bx
	e := a2*(math.Abs(bx*cy)+math.Abs(by*cx)) + b2*(math.Abs(ax*cy)+math.Abs(ay*cx)) + c2*(math.Abs(ax*by)+math.Abs(ay*bx))
	return a2*p-b2*q+c2*r > 1.2e-15*e
}
