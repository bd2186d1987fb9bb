package scatter

import "sync/atomic"

// counter tells a listener how many evaluations are done.
type counter struct {
	f           func(done, total int)
	done, total int
	more        atomic.Int64
}

func (c *counter) add() {
	n := int(c.more.Add(1))
	if c.f != nil {
		c.f(c.done+n, c.total)
	}
}
