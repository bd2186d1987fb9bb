package solid

import (
	"fmt"
	"math"
	"slices"

	"tuckfinger/parts/profile"
)

// thinnest is the width in mm of remains of a chamfered face that are meshed as
// a ridge, at the height that they have. Thinner ones make slivers.
const thinnest = 5e-3

// imprinted are the regions of a body with the vertices of its neighbours
// above and below. Entries that are the same region share the pointer.
type imprinted struct{ region, lower, upper *profile.Region }

// imprint gives outlines that meet in a face, or beside each other in a corner,
// common vertices. One pass up and one down carry every vertex as far as walls
// continue.
func (l *Layered) imprint() ([]imprinted, error) {
	out := make([]imprinted, len(l.bodies))
	type pair struct{ a, b *profile.Region }
	var pairs []pair
	for i := range l.bodies {
		b := &l.bodies[i]
		p := &out[i]
		r := b.region
		p.region = &r
		p.lower, p.upper = p.region, p.region
		if b.cb > 0 {
			lo := solidParts(b.lower, thinnest)
			p.lower = &lo
		}
		if b.ct > 0 {
			up := solidParts(b.upper, thinnest)
			p.upper = &up
		}
	}
	for _, z := range l.cuts {
		for i := range l.bodies {
			if math.Abs(l.bodies[i].Z1-z) > zTol {
				continue
			}
			if len(l.bodies[i].SharpTop) > 0 && l.bodies[i].ct > 0 {
				pairs = append(pairs, pair{out[i].region, out[i].upper})
			}
			for j := range l.bodies {
				if math.Abs(l.bodies[j].Z0-z) <= zTol && boxesMeet(*out[i].upper, *out[j].lower) {
					pairs = append(pairs, pair{out[i].upper, out[j].lower})
				}
			}
		}
		for j := range l.bodies {
			b := &l.bodies[j]
			if math.Abs(b.Z0-z) > zTol {
				continue
			}
			if len(b.SharpBottom) > 0 && b.cb > 0 {
				pairs = append(pairs, pair{out[j].lower, out[j].region})
			}
			for i := range l.bodies[:j] { // none of them begins above
				if l.bodies[i].Z1 > z+zTol && boxesMeet(*out[i].region, *out[j].region) {
					pairs = append(pairs, pair{out[i].region, out[j].region})
				}
			}
		}
	}
	join := func(p pair) error {
		a, b, err := profile.Imprint(*p.a, *p.b)
		if err != nil {
			return fmt.Errorf("solid: joining layers: %w", err)
		}
		*p.a, *p.b = a, b
		return nil
	}
	for _, p := range pairs {
		if err := join(p); err != nil {
			return nil, err
		}
	}
	for i := len(pairs) - 2; i >= 0; i-- {
		if err := join(pairs[i]); err != nil {
			return nil, err
		}
	}
	for i := range out {
		p := &out[i]
		if p.lower != p.upper && p.lower != p.region && p.upper != p.region && identical(*p.lower, *p.upper) {
			p.upper = p.lower
		}
	}
	return out, nil
}

func identical(a, b profile.Region) bool {
	return slices.EqualFunc(a, b, func(p, q profile.Loop) bool { return slices.Equal(p, q) })
}

func boxesMeet(a, b profile.Region) bool {
	p, ok := a.Box()
	q, ok2 := b.Box()
	return ok && ok2 && p.Min.X <= q.Max.X && q.Min.X <= p.Max.X && p.Min.Y <= q.Max.Y && q.Min.Y <= p.Max.Y
}
