package preview

import "sync"

// inbox holds what a page has not been sent yet.
type inbox struct {
	mu    sync.Mutex
	list  [][]byte
	ready chan struct{}
}

// most is how many states wait for a slow page; of more the oldest are dropped,
// for each state is complete.
const most = 8

func (b *inbox) put(text []byte) {
	b.mu.Lock()
	b.list = append(b.list, text)
	if len(b.list) > most {
		b.list = b.list[len(b.list)-most:]
	}
	b.mu.Unlock()
	ring(b.ready)
}

func (b *inbox) take() [][]byte {
	b.mu.Lock()
	defer b.mu.Unlock()
	list := b.list
	b.list = nil
	return list
}

// join adds a page; it gets the last good state and what is wrong since.
func (e *engine) join() (*inbox, func()) {
	b := &inbox{ready: make(chan struct{}, 1)}
	e.mu.Lock()
	defer e.mu.Unlock()
	for _, text := range [][]byte{e.pushed, e.trouble} {
		if text != nil {
			b.put(text)
		}
	}
	e.pages[b] = true
	return b, func() {
		e.mu.Lock()
		defer e.mu.Unlock()
		delete(e.pages, b)
	}
}
