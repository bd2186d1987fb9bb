package solid

import (
	"fmt"
	"math"
	"slices"

	"tuckfinger/parts/profile"
)

// Builder makes a layered solid in steps: regions are added, cut and rounded in
// z ranges, each step acting on what the steps before have left.
type Builder struct {
	cuts   []float64        // heights where layers end, in order
	layers []profile.Region // layers[i] lies between cuts[i] and cuts[i+1]
}

// NewBuilder returns a builder that holds no material.
func NewBuilder() *Builder { return &Builder{} }

// Add adds region between z0 and z1 (mm, z0 < z1).
func (b *Builder) Add(region profile.Region, z0, z1 float64) error {
	return b.apply("add", z0, z1, true, func(r profile.Region) (profile.Region, error) {
		if r.IsEmpty() {
			return region, nil
		}
		return profile.Union(r, region)
	})
}

// Cut removes region between z0 and z1 (mm, z0 < z1).
func (b *Builder) Cut(region profile.Region, z0, z1 float64) error {
	return b.apply("cut", z0, z1, false, func(r profile.Region) (profile.Region, error) {
		if r.IsEmpty() {
			return r, nil
		}
		return profile.Subtract(r, region)
	})
}

// Round rounds the corners of all that lies between z0 and z1: re-entrant ones
// with radius inside, protruding ones with radius outside (mm, 0 leaves them).
// It is an error if that would remove or join parts (profile.ErrRound).
func (b *Builder) Round(inside, outside, z0, z1 float64) error {
	return b.apply("round", z0, z1, false, func(r profile.Region) (profile.Region, error) {
		return profile.Round(r, inside, outside)
	})
}

// apply changes the layers between z0 and z1, splitting those that reach
// beyond. On an error nothing has changed but for splits.
func (b *Builder) apply(what string, z0, z1 float64, extend bool, f func(profile.Region) (profile.Region, error)) error {
	if !(z1-z0 > zTol) || math.IsInf(z0, 0) || math.IsInf(z1, 0) {
		return fmt.Errorf("%s from z = %g to %g mm: the top must lie above the bottom", what, z0, z1)
	}
	if !extend {
		if len(b.cuts) == 0 {
			return nil
		}
		z0, z1 = max(z0, b.cuts[0]), min(z1, b.cuts[len(b.cuts)-1])
		if z1-z0 <= zTol {
			return nil
		}
	}
	i, j := b.cut(z0), b.cut(z1)
	if j <= i {
		return nil
	}
	// The height below may have come in front of the other.
	i = b.cut(z0)
	out := slices.Clone(b.layers)
	for k := i; k < j; k++ {
		if k > i && sameSlice(b.layers[k], b.layers[k-1]) {
			out[k] = out[k-1]
			continue
		}
		r, err := f(b.layers[k])
		if err != nil {
			return fmt.Errorf("%s in z %g to %g mm: %w", what, b.cuts[k], b.cuts[k+1], err)
		}
		out[k] = r
	}
	b.layers = out
	return nil
}

func sameSlice(a, b profile.Region) bool {
	return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0])
}

// cut returns the number of the height z, made if there is none within zTol.
func (b *Builder) cut(z float64) int {
	i, _ := slices.BinarySearch(b.cuts, z-zTol)
	if i < len(b.cuts) && b.cuts[i] <= z+zTol {
		return i
	}
	var split profile.Region
	if i > 0 && i < len(b.cuts) {
		split = b.layers[i-1]
	}
	b.cuts = slices.Insert(b.cuts, i, z)
	if len(b.cuts) > 1 {
		b.layers = slices.Insert(b.layers, min(i, len(b.layers)), split)
	}
	return i
}

// Build returns the solid, with its outer layer edges chamfered by bottom and
// top (mm, 0 for none).
//
// The bottom chamfer is put on everything that begins at the lowest height: what
// lies on the bed. The top chamfer is put on every upward edge whose whole
// outline is free, that is, material that goes on above stands at least the
// chamfer inside the outline. Holes that go on in the material above, or that it
// covers in part, keep sharp edges there and do not hinder the outline. A face
// whose outline continues above along any stretch stays sharp: half an edge
// cannot be chamfered without a notch.
func (b *Builder) Build(bottom, top float64) (*Layered, error) {
	if !(bottom >= 0) || !(top >= 0) {
		return nil, fmt.Errorf("solid: chamfers of %g and %g mm must not be negative", bottom, top)
	}
	var slabs []Slab
	for i, r := range b.layers {
		slabs = append(slabs, components(Slab{Z0: b.cuts[i], Z1: b.cuts[i+1], Region: r})...)
	}
	slabs = mergeSlabs(slabs)
	if len(slabs) > 0 && bottom > 0 {
		base := slabs[0].Z0
		for i := range slabs {
			if slabs[i].Z0-base <= zTol {
				slabs[i].ChamferBottom = bottom
			}
		}
	}
	if top > 0 {
		for i := range slabs {
			if err := chamferTop(slabs, i, top); err != nil {
				return nil, fmt.Errorf("solid: chamfer of %g mm at z = %g mm: %w", top, slabs[i].Z1, err)
			}
		}
	}
	return NewLayered(slabs...)
}

// chamferTop chamfers the upper face of slab i if its outline is free.
func chamferTop(slabs []Slab, i int, c float64) error {
	s := &slabs[i]
	var above []profile.Region
	for j := range slabs {
		if math.Abs(slabs[j].Z0-s.Z1) <= zTol && boxesMeet(s.Region, slabs[j].Region) {
			above = append(above, slabs[j].Region)
		}
	}
	var next profile.Region
	var err error
	if len(above) > 0 {
		if next, err = profile.UnionAll(above...); err != nil {
			return err
		}
		over, err := profile.Intersect(s.Region, next)
		if err != nil {
			return err
		}
		if over.IsEmpty() {
			next = nil
		}
	}
	if next.IsEmpty() {
		s.ChamferTop = c
		return nil
	}
	keep, sharp := profile.Region{}, profile.Region{}
	for _, l := range s.Region {
		if l.Area() < 0 {
			hole := profile.Region{l.Reverse()}
			near, err := profile.Offset(hole, c)
			if err != nil {
				return err
			}
			if near, err = profile.Intersect(near, next); err != nil {
				return err
			}
			if !near.IsEmpty() {
				sharp = append(sharp, hole...)
				continue
			}
		}
		keep = append(keep, l)
	}
	left, err := inset(keep, c)
	if err != nil {
		return err
	}
	for _, r := range []profile.Region{next, sharp} {
		out, err := profile.Subtract(r, left)
		if err != nil || !out.IsEmpty() {
			return err
		}
	}
	s.ChamferTop, s.SharpTop = c, sharp
	return nil
}
