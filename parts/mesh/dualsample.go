package mesh

import (
	"fmt"
	"math"
	"sync"
)

// sample finds the blocks that the surface may pass through, settles their
// lattice signs and places their vertices.
func (g *lattice) sample() error {
	n := 1
	for n < max(g.size[0], g.size[1], g.size[2]) {
		n *= 2
	}
	if err := g.descend([3]int{}, n); err != nil {
		return err
	}
	pool := sync.Pool{New: func() any { return &sampler{prober: prober{g: g}} }}
	parallel(len(g.blocks), 1, func(lo, _ int) {
		b := g.blocks[lo]
		if g.cells.Load() > g.maxCells {
			return
		}
		s := pool.Get().(*sampler)
		s.run(b)
		pool.Put(s)
		g.cells.Add(int64(len(b.cell)))
	})
	if g.cells.Load() > g.maxCells {
		return fmt.Errorf("mesh: the surface passes through more than %d cells of %g mm", g.maxCells, g.cell)
	}
	kept := g.blocks[:0]
	g.index = make(map[[3]int]int32, len(g.blocks))
	var total int64
	for _, b := range g.blocks {
		if b.err != nil {
			return b.err
		}
		g.hidden = append(g.hidden, b.hidden...)
		if len(b.cell) > 0 {
			g.index[b.at] = int32(len(kept))
			total += int64(len(b.pos) + 4*len(b.open)) // at most
			kept = append(kept, b)
		}
	}
	g.blocks = kept
	if total > math.MaxInt32/2 {
		return fmt.Errorf("mesh: %d vertices at a cell of %g mm exceed what one mesh can hold", total, g.cell)
	}
	return nil
}

// descend visits a cube of n³ blocks, splits it where the surface may pass
// through, and lists the single blocks left.
func (g *lattice) descend(at [3]int, n int) error {
	edge := false
	for a := range 3 {
		if at[a] >= g.size[a] {
			return nil
		}
		edge = edge || at[a] == 0 || at[a]+n >= g.size[a]
	}
	half := n * blockCells / 2
	p := g.at(at[0]*blockCells+half, at[1]*blockCells+half, at[2]*blockCells+half)
	v, err := g.eval(p)
	if err != nil {
		return err
	}
	g.evals.Add(1)
	if math.Abs(v) > g.lip*g.cell*float64(half)*math.Sqrt(3)*(1+1e-9) {
		if v < 0 && edge {
			return g.past(p)
		}
		return nil
	}
	if n == 1 {
		g.blocks = append(g.blocks, &dualBlock{at: at})
		return nil
	}
	for c := range 8 {
		h := n / 2
		if err := g.descend([3]int{at[0] + h*(c&1), at[1] + h*(c>>1&1), at[2] + h*(c>>2)}, h); err != nil {
			return err
		}
	}
	return nil
}
