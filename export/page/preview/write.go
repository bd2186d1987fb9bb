package preview

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"tuckfinger/params"
)

// errWrite marks a failure to write, as against a value that can't be set.
var errWrite = errors.New("the file could not be written")

// write puts one dimension into the file and forgets that it was moved. Only the
// characters of that number change.
func (e *engine) write(in request) error {
	e.mu.Lock()
	value, ok := e.moved[in.Name]
	e.mu.Unlock()
	if !ok {
		return fmt.Errorf("dimension %q has not been moved", in.Name)
	}
	file, err := filepath.EvalSymlinks(e.File)
	if err != nil {
		return fmt.Errorf("%w: %v", errWrite, err)
	}
	raw, err := os.ReadFile(file)
	if err != nil {
		return fmt.Errorf("%w: %v", errWrite, err)
	}
	next, err := params.SetDimension(raw, in.Name, value)
	if err != nil {
		return err
	}
	if err := replace(file, next); err != nil {
		return fmt.Errorf("%w: %v", errWrite, err)
	}
	e.watch.fresh() // the change is known
	e.mu.Lock()
	if e.moved[in.Name] == value { // it may have been moved on meanwhile
		delete(e.moved, in.Name)
	}
	e.mu.Unlock()
	e.change()
	return nil
}

// replace writes a file whole or not at all, with the permissions it has.
func replace(file string, data []byte) error {
	info, err := os.Stat(file)
	if err != nil {
		return err
	}
	tmp, err := os.CreateTemp(filepath.Dir(file), "."+filepath.Base(file)+".*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name())
	_, err = tmp.Write(data)
	err = errors.Join(err, tmp.Chmod(info.Mode().Perm()), tmp.Sync(), tmp.Close())
	if err != nil {
		return err
	}
	return os.Rename(tmp.Name(), file)
}
