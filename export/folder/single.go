package folder

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// WriteFile writes one file whole or not at all: to a temporary name beside it,
// synced, then renamed. An existing file is replaced; through a link, the file
// that it leads to. A device or a pipe is written to and stays what it is. Errors
// name the file as it was given.
func WriteFile(name string, data []byte) error {
	err := writeFile(name, data)
	if err == nil {
		return nil
	}
	var path *fs.PathError
	var link *os.LinkError
	switch {
	case errors.Is(err, fs.ErrNotExist):
		err = errors.New("there is no such folder")
	case errors.As(err, &path):
		err = path.Err
	case errors.As(err, &link):
		err = link.Err
	}
	return fmt.Errorf("%s: cannot be written: %w", name, err)
}

func writeFile(name string, data []byte) (err error) {
	if fi, err := os.Stat(name); err == nil && !fi.Mode().IsRegular() {
		if fi.IsDir() {
			return errors.New("it is a folder; name a file")
		}
		f, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		_, err = f.Write(data)
		return errors.Join(err, f.Close())
	}
	if to, err := filepath.EvalSymlinks(name); err == nil {
		name = to
	}
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
