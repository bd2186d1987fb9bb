package mesh

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// boxTree is a binary tree of boxes over items sorted along a space-filling
// curve. Node k has children 2k+1 and 2k+2; the leaves, all on the last level,
// hold leafSize consecutive items.
type boxTree struct {
	item   []int32 // in curve order
	box    []r3.Box
	node   []r3.Box
	leaves int // a power of two
}

const leafSize = 4

// newBoxTree builds a tree over the boxes of the listed items. box is indexed
// by item.
func newBoxTree(items []int32, box func(int32) r3.Box) *boxTree {
	t := &boxTree{item: make([]int32, len(items)), box: make([]r3.Box, len(items)), leaves: 1}
	all := emptyBox()
	for _, i := range items {
		all = join(all, box(i))
	}
	size := r3.Sub(all.Max, all.Min)
	scale := 1023 / max(size.X, size.Y, size.Z, math.SmallestNonzeroFloat64)
	key := make([]uint64, len(items))
	for k, i := range items {
		b := box(i)
		c := r3.Scale(0.5, r3.Add(b.Min, b.Max))
		key[k] = spread((c.X-all.Min.X)*scale)<<2 | spread((c.Y-all.Min.Y)*scale)<<1 | spread((c.Z-all.Min.Z)*scale)
		key[k] = key[k]<<32 | uint64(k)
	}
	slices.Sort(key)
	for k, v := range key {
		t.item[k] = items[v&math.MaxUint32]
		t.box[k] = box(t.item[k])
	}
	for t.leaves*leafSize < len(items) {
		t.leaves *= 2
	}
	t.node = make([]r3.Box, 2*t.leaves-1)
	for l := range t.leaves {
		b := emptyBox()
		for k := l * leafSize; k < min((l+1)*leafSize, len(items)); k++ {
			b = join(b, t.box[k])
		}
		t.node[t.leaves-1+l] = b
	}
	for k := t.leaves - 2; k >= 0; k-- {
		t.node[k] = join(t.node[2*k+1], t.node[2*k+2])
	}
	return t
}

// query calls f with the position in curve order of every item whose box
// meets b. stack is scratch, returned for reuse.
func (t *boxTree) query(b r3.Box, stack []int32, f func(pos int)) []int32 {
	stack = append(stack[:0], 0)
	for len(stack) > 0 {
		k := int(stack[len(stack)-1])
		stack = stack[:len(stack)-1]
		if !meets(t.node[k], b) {
			continue
		}
		if k < t.leaves-1 {
			stack = append(stack, int32(2*k+2), int32(2*k+1))
			continue
		}
		l := k - (t.leaves - 1)
		for p := l * leafSize; p < min((l+1)*leafSize, len(t.item)); p++ {
			if meets(t.box[p], b) {
				f(p)
			}
		}
	}
	return stack
}

// spread returns the low ten bits of x, two zeros between each.
func spread(x float64) uint64 {
	v := uint64(x) & 0x3ff
	v = (v | v<<16) & 0x030000ff
	v = (v | v<<8) & 0x0300f00f
	v = (v | v<<4) & 0x030c30c3
	v = (v | v<<2) & 0x09249249
	return v
}

func emptyBox() r3.Box {
	inf := math.Inf(1)
	return r3.Box{Min: r3.Vec{X: inf, Y: inf, Z: inf}, Max: r3.Vec{X: -inf, Y: -inf, Z: -inf}}
}

func join(a, b r3.Box) r3.Box {
	return r3.Box{
		Min: r3.Vec{X: min(a.Min.X, b.Min.X), Y: min(a.Min.Y, b.Min.Y), Z: min(a.Min.Z, b.Min.Z)},
		Max: r3.Vec{X: max(a.Max.X, b.Max.X), Y: max(a.Max.Y, b.Max.Y), Z: max(a.Max.Z, b.Max.Z)},
	}
}

// meets reports whether two closed boxes share a point.
func meets(a, b r3.Box) bool {
	return a.Min.X <= b.Max.X && b.Min.X <= a.Max.X &&
		a.Min.Y <= b.Max.Y && b.Min.Y <= a.Max.Y &&
		a.Min.Z <= b.Max.Z && b.Min.Z <= a.Max.Z
}

// triangleBox returns the box of triangle i.
func (m *Mesh) triangleBox(i int32) r3.Box {
	a, b, c := m.Corners(int(i))
	return r3.Box{
		Min: r3.Vec{X: min(a.X, b.X, c.X), Y: min(a.Y, b.Y, c.Y), Z: min(a.Z, b.Z, c.Z)},
		Max: r3.Vec{X: max(a.X, b.X, c.X), Y: max(a.Y, b.Y, c.Y), Z: max(a.Z, b.Z, c.Z)},
	}
}
