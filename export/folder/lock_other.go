//go:build (!unix && !windows) || solaris || aix

package folder

import (
	"errors"
	"io/fs"
	"os"
)

// lock is a file that must not exist yet. A killed build leaves it behind and
// the user has to remove it, which the error says.
type lock struct{ path string }

func acquire(path string) (*lock, error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return nil, errors.Join(ErrBusy, errors.New("if no build is running, remove "+path))
	}
	if err != nil {
		return nil, err
	}
	return &lock{path}, f.Close()
}

func (l *lock) release() error { return os.Remove(l.path) }

func syncDir(string) error { return nil }
