package preview

import (
	"context"
	"crypto/sha256"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/fsnotify/fsnotify"
)

// settle is how long a file must be quiet before it is read: editors write in
// several steps.
const settle = 25 * time.Millisecond

// watcher reports changes of the contents of some files. It watches their
// folders, so that files which are replaced, removed or made later are seen.
type watcher struct {
	notify *fsnotify.Watcher
	report func()

	mu      sync.Mutex
	watched map[string]bool     // folders
	seen    map[string][32]byte // files, by path; zero: not there
}

func newWatcher(report func()) (*watcher, error) {
	n, err := fsnotify.NewWatcher()
	if err != nil {
		return nil, err
	}
	return &watcher{notify: n, report: report, watched: map[string]bool{}, seen: map[string][32]byte{}}, nil
}

// files adds to what is watched. A file behind a link is watched in both places.
func (w *watcher) files(list ...string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, f := range list {
		if real, err := filepath.EvalSymlinks(f); err == nil && real != f {
			w.folder(filepath.Dir(real))
		}
		w.folder(filepath.Dir(f))
		if _, ok := w.seen[f]; !ok {
			w.seen[f] = digest(f)
		}
	}
}

func (w *watcher) folder(dir string) {
	if !w.watched[dir] && w.notify.Add(dir) == nil {
		w.watched[dir] = true
	}
}

func digest(file string) [32]byte {
	data, err := os.ReadFile(file)
	if err != nil {
		return [32]byte{}
	}
	return sha256.Sum256(data)
}

// fresh reports whether the contents of any file are new.
func (w *watcher) fresh() bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	any := false
	for f, old := range w.seen {
		if now := digest(f); now != old {
			w.seen[f] = now
			any = true
		}
	}
	return any
}

// run reports changes until ctx ends.
func (w *watcher) run(ctx context.Context) {
	defer w.notify.Close()
	timer := time.NewTimer(time.Hour)
	defer timer.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case _, ok := <-w.notify.Events:
			if !ok {
				return
			}
			timer.Reset(settle)
		case _, ok := <-w.notify.Errors: // such as a full queue: look at the files
			if !ok {
				return
			}
			timer.Reset(settle)
		case <-timer.C:
			if w.fresh() {
				w.report()
			}
		}
	}
}
