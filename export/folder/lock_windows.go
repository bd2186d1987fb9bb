package folder

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lock is a file opened without sharing and removed on close: the system gives
// it back when the process dies.
type lock struct{ h windows.Handle }

func acquire(path string) (*lock, error) {
	p, err := windows.UTF16PtrFromString(path)
	if err != nil {
		return nil, err
	}
	h, err := windows.CreateFile(p, windows.GENERIC_READ|windows.GENERIC_WRITE, 0, nil,
		windows.OPEN_ALWAYS, windows.FILE_ATTRIBUTE_HIDDEN|windows.FILE_FLAG_DELETE_ON_CLOSE, 0)
	if errors.Is(err, windows.ERROR_SHARING_VIOLATION) {
		return nil, ErrBusy
	}
	if err != nil {
		return nil, &os.PathError{Op: "open", Path: path, Err: err}
	}
	return &lock{h}, nil
}

func (l *lock) release() error { return windows.CloseHandle(l.h) }

// syncDir has nothing to do: a folder can't be synced by itself on Windows.
func syncDir(string) error { return nil }
