package mesh

// pull is an entry of the queue of curved pulls.
type pull struct {
	cost   float64
	vertex int32
}

// pulls is a binary heap with the least pull first.
type pulls []pull

func (p pull) before(q pull) bool {
	return p.cost < q.cost || p.cost == q.cost && p.vertex < q.vertex
}

func (p *pulls) push(x pull) {
	*p = append(*p, x)
	h := *p
	i := len(h) - 1
	for ; i > 0 && x.before(h[(i-1)/2]); i = (i - 1) / 2 {
		h[i] = h[(i-1)/2]
	}
	h[i] = x
}

func (p *pulls) pop() pull {
	h := *p
	top, n := h[0], len(h)-1
	x := h[n]
	h = h[:n]
	i := 0
	for k := 1; k < n; k = 2*i + 1 {
		if k+1 < n && h[k+1].before(h[k]) {
			k++
		}
		if !h[k].before(x) {
			break
		}
		h[i], i = h[k], k
	}
	if n > 0 {
		h[i] = x
	}
	*p = h
	return top
}
