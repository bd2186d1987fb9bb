package profile

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Results of booleans are canonical: no edge shorter than Tol, neighbours on the
// same line or circle with equal tags joined, arcs up to half a turn (a larger
// one is two equal halves), loops starting at their leftmost vertex, outer loops
// sorted by that vertex and each followed by its holes.
//
// Where boundaries of both operands coincide, the edge keeps the shape of the
// first operand and the tag of the first operand that runs in the direction of
// the result.

// retries are the factors on Tol tried in turn. Above the first, outlines that
// lie a few tolerances apart are snapped together, which moves them by that much.
var retries = []float64{1, 3, 10}

// combine evaluates a rule over regions in channels 0 and 1.
func combine(what string, in rule, first, second []Region) (Region, error) {
	var err error
	for _, f := range retries {
		ar := newArrangement(f * Tol)
		for ch, rs := range [2][]Region{first, second} {
			for i, r := range rs {
				if err := ar.addRegion(r, int8(ch)); err != nil {
					return nil, fmt.Errorf("%s: region %d: %w", what, i+ch*len(first), err)
				}
			}
		}
		var out Region
		if out, err = ar.evaluate(in); err == nil {
			return out, nil
		}
	}
	return nil, fmt.Errorf("%s: %w", what, err)
}

// Union returns the points in a or b.
func Union(a, b Region) (Region, error) { return UnionAll(a, b) }

// UnionAll returns the points in at least one of the regions.
func UnionAll(rs ...Region) (Region, error) {
	return combine("union", func(w, _ int) bool { return w > 0 }, rs, nil)
}

// Intersect returns the points in a and b. Where they only touch, nothing is left.
func Intersect(a, b Region) (Region, error) {
	return combine("intersection", func(w0, w1 int) bool { return w0 > 0 && w1 > 0 }, []Region{a}, []Region{b})
}

// Subtract returns the points in a that are in none of bs. The walls it cuts have
// the tags of bs.
func Subtract(a Region, bs ...Region) (Region, error) {
	rev := make([]Region, len(bs))
	for i, b := range bs {
		rev[i] = b.Reverse()
	}
	return combine("subtraction", func(w0, w1 int) bool { return w0 > 0 && w1 == 0 }, []Region{a}, rev)
}

// Clean makes a region of loops that may cross themselves and each other: the
// points around which they run counter-clockwise at least once more than
// clockwise (positive winding).
func Clean(loops ...Loop) (Region, error) {
	return combine("clean", func(w, _ int) bool { return w > 0 }, []Region{loops}, nil)
}

// Imprint returns both regions with vertices added wherever their boundaries
// meet. On shared stretches both then have the same edges, equal to the last
// bit but for direction, so that flattening gives both the same points. Shapes
// move by Tol at most, where boundaries nearly touch. Nothing is joined.
func Imprint(a, b Region) (Region, Region, error) {
	ar := newArrangement(Tol)
	for ch, r := range [2]Region{a, b} {
		if err := ar.addRegion(r, int8(ch)); err != nil {
			return nil, nil, fmt.Errorf("imprint: region %d: %w", ch, err)
		}
	}
	nsrc := make([]int, 0, len(a)+len(b)) // sources per loop
	for _, r := range [2]Region{a, b} {
		for _, l := range r {
			n := 0
			for _, v := range l {
				n++
				if math.Abs(v.Bulge) > 1 {
					n++
				}
			}
			nsrc = append(nsrc, n)
		}
	}
	if err := ar.split(); err != nil {
		return nil, nil, fmt.Errorf("imprint: %w", err)
	}
	bs, of := ar.bundles()
	at := make([]int32, len(ar.pieces))
	for i := range at {
		at[i] = int32(i)
	}
	slices.SortFunc(at, func(i, j int32) int {
		p, q := &ar.pieces[i], &ar.pieces[j]
		return cmp.Or(cmp.Compare(p.src, q.src), cmp.Compare(p.s0, q.s0), cmp.Compare(p.s1, q.s1))
	})
	var out [2]Region
	src, k := 0, 0
	for li, n := range nsrc {
		var l Loop
		for ; k < len(at) && int(ar.pieces[at[k]].src) < src+n; k++ {
			p := &ar.pieces[at[k]]
			bn := &bs[of[at[k]]]
			bulge := bn.bulge
			if p.a != bn.a {
				bulge = -bulge
			}
			l = append(l, Vertex{P: ar.pos[p.a], Bulge: bulge, Tag: ar.src[p.src].tag})
		}
		src += n
		ch := 0
		if li >= len(a) {
			ch = 1
		}
		if len(l) >= 2 {
			out[ch] = append(out[ch], l)
		}
	}
	return out[0], out[1], nil
}
