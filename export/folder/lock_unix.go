//go:build unix && !solaris && !aix

package folder

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// lock is an advisory lock, flock(2): the system gives it back when the process
// dies, so no dead build can block the next.
type lock struct {
	f    *os.File
	path string
}

func acquire(path string) (*lock, error) {
	for {
		f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o666)
		if err != nil {
			return nil, err
		}
		err = unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
		for errors.Is(err, unix.EINTR) {
			err = unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
		}
		if err != nil {
			f.Close()
			if errors.Is(err, unix.EWOULDBLOCK) {
				err = ErrBusy
			}
			return nil, err
		}
		// The last holder may have removed the file between open and flock;
		// then this lock is on a file that nobody else will find.
		held, err1 := f.Stat()
		named, err2 := os.Stat(path)
		if err1 == nil && err2 == nil && os.SameFile(held, named) {
			return &lock{f, path}, nil
		}
		f.Close()
	}
}

// release removes the file while the lock is still held.
func (l *lock) release() error {
	return errors.Join(os.Remove(l.path), l.f.Close())
}

func syncDir(path string) error {
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	err = d.Sync()
	// Some file systems can't sync a folder; there is nothing more to do then.
	if errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOTSUP) {
		err = nil
	}
	return errors.Join(err, d.Close())
}
