// Package sample chooses the points at which a design is tried: full grids,
// lists, random and Latin hypercube samples, Halton and Sobol sequences.
//
// Every plan gives its point i from i alone. No state runs from point to
// point, so a plan may be read in any order, by any number of threads and by
// several machines, and its memory does not grow with its length.
//
//	Grid, List                 give values
//	Random, Latin              give seeded points of the unit cube
//	Halton, Sobol              give low-discrepancy points of the unit cube
//	Transform                  turns points of the unit cube into values
package sample

import (
	"fmt"
	"math"
	"slices"
)

// Plan is a finite sequence of points. Implementations are immutable and safe
// for concurrent use.
type Plan interface {
	// Len is the number of points.
	Len() int
	// Dim is the number of coordinates of a point.
	Dim() int
	// At writes point i, 0 <= i < Len, to x, which has length Dim.
	At(i int, x []float64)
}

// Point returns point i of p.
func Point(p Plan, i int) []float64 {
	x := make([]float64, p.Dim())
	p.At(i, x)
	return x
}

// size is what the plans have in common.
type size struct{ n, dim int }

func (s size) Len() int { return s.n }
func (s size) Dim() int { return s.dim }

func (s size) check() error {
	if s.n < 0 {
		return fmt.Errorf("a plan of %d points; give 0 or more", s.n)
	}
	if s.dim < 1 {
		return fmt.Errorf("points of %d dimensions; give 1 or more", s.dim)
	}
	return nil
}

// Grid is every combination of the values of some axes. The last axis runs
// fastest.
type Grid struct {
	size
	axes [][]float64
}

// NewGrid makes a grid. It is an error if there is no axis, one has no values,
// or there are more than 2⁵³ combinations.
func NewGrid(axes ...[]float64) (*Grid, error) {
	if len(axes) == 0 {
		return nil, fmt.Errorf("a grid without axes")
	}
	g := &Grid{size: size{1, len(axes)}}
	for k, a := range axes {
		if len(a) == 0 {
			return nil, fmt.Errorf("axis %d of the grid has no values", k+1)
		}
		if g.n > 1<<53/len(a) {
			return nil, fmt.Errorf("the grid has more than 2⁵³ points")
		}
		g.n *= len(a)
		g.axes = append(g.axes, slices.Clone(a))
	}
	return g, nil
}

// At implements Plan.
func (g *Grid) At(i int, x []float64) {
	for k := len(g.axes) - 1; k >= 0; k-- {
		a := g.axes[k]
		x[k] = a[i%len(a)]
		i /= len(a)
	}
}

// Range returns n equally spaced values from low to high, both included
// exactly; n = 1 gives the middle.
func Range(low, high float64, n int) ([]float64, error) {
	if n < 1 || math.IsNaN(high-low) || math.IsInf(high-low, 0) {
		return nil, fmt.Errorf("%d values from %g to %g; give one or more between finite ends", n, low, high)
	}
	if n == 1 {
		return []float64{(low + high) / 2}, nil
	}
	v := make([]float64, n)
	for i := range v {
		v[i] = low + (high-low)*float64(i)/float64(n-1)
	}
	v[n-1] = high
	return v, nil
}

// List is points that are given one by one.
type List struct {
	size
	rows [][]float64
}

// NewList makes a list of points with dim coordinates each.
func NewList(dim int, rows [][]float64) (*List, error) {
	l := &List{size: size{len(rows), dim}}
	if err := l.check(); err != nil {
		return nil, err
	}
	for i, r := range rows {
		if len(r) != dim {
			return nil, fmt.Errorf("row %d of the list has %d values; give %d", i+1, len(r), dim)
		}
		l.rows = append(l.rows, slices.Clone(r))
	}
	return l, nil
}

// At implements Plan.
func (l *List) At(i int, x []float64) { copy(x, l.rows[i]) }
