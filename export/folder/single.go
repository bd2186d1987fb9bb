package folder

import (
	"errors"
	"os"
	"path/filepath"
)

// WriteFile writes one file whole or not at all: to a temporary name beside it,
// synced, then renamed. An existing file is replaced.
func WriteFile(name string, data []byte) (err error) {
	dir, base := filepath.Split(name)
	if dir == "" {
		dir = "."
	}
	f, err := os.CreateTemp(dir, prefix+base+"-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	if _, err = f.Write(data); err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	if err = os.Chmod(f.Name(), 0o644); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}
