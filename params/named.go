package params

import (
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
)

// Named is an ordered section of named entries; order is the file's.
type Named[T any] struct {
	Names  []string
	Values []T
}

// Len returns the number of entries.
func (n *Named[T]) Len() int { return len(n.Names) }

// Get returns the entry of that name, or nil.
func (n *Named[T]) Get(name string) *T {
	for i, s := range n.Names {
		if s == name {
			return &n.Values[i]
		}
	}
	return nil
}

// Add appends an entry. It does not look for an earlier one of the same name.
func (n *Named[T]) Add(name string, v T) {
	n.Names = append(n.Names, name)
	n.Values = append(n.Values, v)
}

// Spot is a place on a body: the joint of that name, or a point in the body's
// frame (mm). In a file: a name, [x, y], or {radius: r, angle: a}.
type Spot struct {
	Joint string
	Point r2.Vec
}

// Span is a z range. In a file: a layer's name, a list of names (their hull),
// or {from: z, to: z}. The decoder fills From and To in every case.
type Span struct {
	Layers   []string
	From, To float64 // mm
}

// Pos is a place in a file; lines and columns count from 1.
type Pos struct {
	File      string
	Line, Col int
}

// Origin maps a value's path ("ramps.detent.rail.thickness",
// "bodies.tip.features[2].hole.at") to its place and its dimensions.
type Origin struct {
	Pos  map[string]Pos
	Uses map[string][]string // path -> names of dimensions, direct and indirect, sorted
}

// Within tells whether a path lies in the group of another.
func Within(path, group string) bool {
	rest, ok := strings.CutPrefix(path, group)
	return ok && rest != "" && (rest[0] == '.' || rest[0] == '[')
}

// Group tells whether a path of the file holds others and not a value.
func (o *Origin) Group(path string) bool {
	if o == nil {
		return false
	}
	for p := range o.Pos {
		if Within(p, path) {
			return true
		}
	}
	for p := range o.Uses {
		if Within(p, path) {
			return true
		}
	}
	return false
}
