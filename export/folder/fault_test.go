package folder

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// faulty passes on to a real file until a budget of bytes is used up, and can
// refuse to sync or close.
type faulty struct {
	file
	left              *int
	write, sync, shut error
}

func (f *faulty) Write(p []byte) (int, error) {
	n := min(len(p), *f.left)
	*f.left -= n
	m, err := f.file.Write(p[:n])
	if err == nil && n < len(p) {
		err = f.write
	}
	return m, err
}

func (f *faulty) Sync() error {
	if f.sync != nil {
		return f.sync
	}
	return f.file.Sync()
}

func (f *faulty) Close() error { return errors.Join(f.shut, f.file.Close()) }

// With every kind of refusal of the disk, at every place, the earlier output
// stays as it was and nothing is left beside it.
func TestFaults(t *testing.T) {
	boom := errors.New("boom")
	withFile := func(change func(*faulty)) func(*system) {
		return func(s *system) {
			open, left := s.create, math.MaxInt
			budget := &left
			s.create = func(path string) (file, error) {
				f, err := open(path)
				if err != nil {
					return nil, err
				}
				ff := &faulty{file: f, left: budget}
				change(ff)
				return ff, nil
			}
		}
	}
	full := func(bytes int) func(*system) {
		left := bytes
		return withFile(func(f *faulty) { f.left, f.write = &left, syscall.ENOSPC })
	}
	cases := []struct {
		name string
		set  func(*system)
		want error
		old  bool // an earlier output is there
	}{
		{"disk full at once", full(0), syscall.ENOSPC, true},
		{"disk full within the first file", full(100), syscall.ENOSPC, true},
		{"disk full within the second file", full(70_100), syscall.ENOSPC, true},
		{"disk full within the manifest", full(140_010), syscall.ENOSPC, true},
		{"disk full, no earlier output", full(70_100), syscall.ENOSPC, false},
		{"sync refused", withFile(func(f *faulty) { f.sync = boom }), boom, true},
		{"close refused", withFile(func(f *faulty) { f.shut = boom }), boom, true},
		{"no permission", func(s *system) {
			s.create = func(path string) (file, error) {
				return nil, &fs.PathError{Op: "open", Path: path, Err: fs.ErrPermission}
			}
		}, fs.ErrPermission, true},
		{"exchange refused", func(s *system) { s.exchange = func(a, b string) error { return boom } }, boom, true},
		{"first rename refused", func(s *system) {
			s.exchange = func(a, b string) error { return errNoExchange }
			s.rename = func(a, b string) error { return boom }
		}, boom, true},
		{"second rename refused", func(s *system) {
			s.exchange = func(a, b string) error { return errNoExchange }
			calls := 0
			s.rename = func(a, b string) error {
				if calls++; calls == 2 {
					return boom
				}
				return os.Rename(a, b)
			}
		}, boom, true},
		{"rename refused, no earlier output", func(s *system) { s.rename = func(a, b string) error { return boom } }, boom, false},
		{"folder sync refused", func(s *system) { s.syncDir = func(string) error { return boom } }, boom, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			parent := t.TempDir()
			dst := filepath.Join(parent, "out")
			if c.old {
				if err := Write(dst, []File{text("a", "old")}, 0); err != nil {
					t.Fatal(err)
				}
			}
			before := tree(t, parent)
			sys := osSystem()
			c.set(&sys)
			out, err := create(dst, sys)
			if err != nil {
				t.Fatal(err)
			}
			var adds error
			for i := range 2 {
				name := fmt.Sprint("part", i)
				adds = errors.Join(adds, out.Add(name, func(w io.Writer) error {
					_, err := io.WriteString(w, strings.Repeat("x", 70_000))
					return err
				}))
			}
			err = out.Commit()
			if !errors.Is(err, c.want) {
				t.Errorf("Commit: %v, want %v", err, c.want)
			}
			if adds != nil && !errors.Is(adds, c.want) {
				t.Errorf("Add: %v, want %v", adds, c.want)
			}
			if d := cmp.Diff(before, tree(t, parent)); d != "" {
				t.Errorf("changed:\n%s", d)
			}
		})
	}
}

// A writer's own error comes back from Add and from Commit, by the file's name.
func TestWriterFails(t *testing.T) {
	boom := errors.New("boom")
	dst := filepath.Join(t.TempDir(), "out")
	err := Write(dst, []File{text("a", "1"), {"c", func(io.Writer) error { return boom }}, {"b", func(io.Writer) error { return boom }}}, 2)
	if want := fmt.Sprintf("output folder %s not written: b: boom\nc: boom", dst); err == nil || err.Error() != want || !errors.Is(err, boom) {
		t.Errorf("got %v, want %s", err, want)
	}
	if _, err := os.Stat(dst); !errors.Is(err, fs.ErrNotExist) {
		t.Error("a folder was made")
	}
	noLitter(t, filepath.Dir(dst))
	var m Memory
	if err := m.Add("x", func(io.Writer) error { return boom }); !errors.Is(err, boom) || len(m.Names()) != 0 {
		t.Errorf("%v, %v", err, m.Names())
	}
}
