package folder

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"slices"
	"sync"
)

// Memory keeps files in memory under the same rules for names as Output. The
// zero value is empty and ready; it may be used from several goroutines at once.
type Memory struct {
	mu    sync.Mutex
	fold  map[string]string
	files map[string][]byte
}

// Add implements Files. A file whose write failed is not kept.
func (m *Memory) Add(name string, write func(io.Writer) error) error {
	err := checkName(name)
	if err == nil {
		m.mu.Lock()
		if m.files == nil {
			m.fold, m.files = map[string]string{}, map[string][]byte{}
		}
		err = claim(m.fold, name)
		m.mu.Unlock()
	}
	var b bytes.Buffer
	if err == nil {
		err = write(&b)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.files[name] = b.Bytes()
	return nil
}

// Names returns the names of the complete files, sorted.
func (m *Memory) Names() []string {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.Sorted(maps.Keys(m.files))
}

// Content returns the bytes of a file; they are not to be changed. The error is
// fs.ErrNotExist when there is none of that name.
func (m *Memory) Content(name string) ([]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	b, ok := m.files[name]
	if !ok {
		return nil, fmt.Errorf("%s: %w", name, fs.ErrNotExist)
	}
	return b, nil
}

// CopyTo adds every file to another Files, in the order of names.
func (m *Memory) CopyTo(to Files) error {
	var fails []error
	for _, name := range m.Names() {
		b, err := m.Content(name)
		if err != nil {
			return err
		}
		fails = append(fails, to.Add(name, func(w io.Writer) error {
			_, err := w.Write(b)
			return err
		}))
	}
	return errors.Join(fails...)
}
