package profile

import (
	"cmp"
	"math"
	"slices"
)

// bundle is a set of pieces that are one edge of the arrangement.
type bundle struct {
	a, b  int32
	geo   seg
	bulge float64
	src   int32 // the first source, which gives the shape
	s0    float64
	s1    float64
	n     [2]int32 // net count along a→b per channel
	fwd   int32    // first source along a→b, −1 if none
	back  int32    // first source along b→a, −1 if none
}

// bundles merges coincident pieces; of maps each piece to its bundle.
func (ar *arrangement) bundles() (bs []bundle, of []int32) {
	type key struct {
		lo, hi int32
		sag    float64 // sagitta seen from the lower vertex
	}
	n := len(ar.pieces)
	keys := make([]key, n)
	order := make([]int32, n)
	for i := range ar.pieces {
		p, g := &ar.pieces[i], &ar.geo[i]
		sag := 0.5 * math.Tan(g.sweep/4) * g.chord()
		k := key{p.a, p.b, sag}
		if p.a > p.b {
			k = key{p.b, p.a, -sag}
		}
		keys[i], order[i] = k, int32(i)
	}
	slices.SortFunc(order, func(i, j int32) int {
		x, y := keys[i], keys[j]
		return cmp.Or(cmp.Compare(x.lo, y.lo), cmp.Compare(x.hi, y.hi), cmp.Compare(x.sag, y.sag), cmp.Compare(i, j))
	})
	of = make([]int32, n)
	for k := 0; k < n; {
		end := k + 1
		x := keys[order[k]]
		for end < n {
			y := keys[order[end]]
			if y.lo != x.lo || y.hi != x.hi || y.sag-x.sag > ar.near {
				break
			}
			end++
		}
		group := order[k:end]
		first := slices.Min(group)
		p := &ar.pieces[first]
		b := bundle{
			a: p.a, b: p.b, geo: ar.geo[first], bulge: math.Tan(ar.geo[first].sweep / 4),
			src: p.src, s0: p.s0, s1: p.s1, fwd: -1, back: -1,
		}
		slices.Sort(group)
		for _, i := range group {
			q := &ar.pieces[i]
			of[i] = int32(len(bs))
			ch := ar.src[q.src].channel
			if q.a == b.a {
				b.n[ch]++
				if b.fwd < 0 {
					b.fwd = q.src
				}
			} else {
				b.n[ch]--
				if b.back < 0 {
					b.back = q.src
				}
			}
		}
		bs = append(bs, b)
		k = end
	}
	return bs, of
}
