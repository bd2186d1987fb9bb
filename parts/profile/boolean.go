package profile

import (
	"cmp"
	"fmt"
	"slices"
)

// combine evaluates a rule over regions in channels 0 and 1.
func combine(what string, in rule, first, second []Region) (Region, error) {
	ar := newArrangement(Tol)
	for ch, rs := range [2][]Region{first, second} {
		for i, r := range rs {
			if err := ar.addRegion(r, int8(ch)); err != nil {
				return nil, fmt.Errorf("%s: region %d: %w", what, i+ch*len(first), err)
			}
		}
	}
	out, err := ar.evaluate(in)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	return out, nil
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
// meet; see ImprintAll.
func Imprint(a, b Region) (Region, Region, error) {
	rs, err := ImprintAll(a, b)
	if err != nil {
		return nil, nil, err
	}
	return rs[0], rs[1], nil
}

// ImprintAll returns the regions with vertices added wherever boundaries meet. On
// shared stretches all then have the same edges, equal to the last bit but for
// direction and tag, so that flattening gives the same points. Shapes move by Tol at
// most, where boundaries nearly touch. Nothing is joined.
func ImprintAll(rs ...Region) ([]Region, error) {
	ar := newArrangement(Tol)
	type owner struct{ region, loop int }
	var own []owner // of sources
	for i, r := range rs {
		for j, l := range r {
			if err := ar.addLoop(l, 0); err != nil {
				return nil, fmt.Errorf("imprint: region %d: loop %d: %w", i, j, err)
			}
			for len(own) < len(ar.src) {
				own = append(own, owner{i, j})
			}
		}
	}
	if err := ar.split(); err != nil {
		return nil, fmt.Errorf("imprint: %w", err)
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
	out := make([]Region, len(rs))
	for i, r := range rs {
		out[i] = make(Region, len(r))
	}
	for _, i := range at {
		p := &ar.pieces[i]
		b := &bs[of[i]]
		v := Vertex{P: ar.pos[p.a], Bulge: b.bulge, Tag: ar.src[p.src].tag}
		if p.a != b.a {
			v.Bulge = -v.Bulge
		}
		o := own[p.src]
		out[o.region][o.loop] = append(out[o.region][o.loop], v)
	}
	for i := range out {
		out[i] = slices.DeleteFunc(out[i], func(l Loop) bool { return len(l) < 2 })
	}
	return out, nil
}
