package sweep

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// syncEvery is how often a journal is forced to the disk. A killed process
// loses nothing that it wrote; a machine that stops loses this much.
const syncEvery = 2 * time.Second

// journal is the file that a running sweep appends to.
type journal struct {
	file   *os.File
	synced time.Time
}

// found is what a journal held when it was opened.
type found struct {
	order  *order[struct{}]
	errors int // rows with an error
}

// openJournal opens or begins the journal of a shard and keeps it from other
// processes. An incomplete last record is cut off.
func openJournal(path string, h Header, s Shard) (j *journal, fd found, err error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, fd, err
	}
	defer func() {
		if err != nil {
			f.Close()
		}
	}()
	if err := lock(f); err != nil {
		return nil, fd, fmt.Errorf("%s is in use by another run: %w", path, err)
	}
	fd.order = newOrder[struct{}](s, h.Variants)
	r := &reader{buf: bufio.NewReader(f), name: path}
	old, _, err := r.header()
	switch {
	case err == io.EOF || err == errTorn && r.at == 0:
		return beginJournal(f, h, fd)
	case err != nil:
		return nil, fd, err
	}
	if what := old.differs(h); what != "" {
		return nil, fd, fmt.Errorf("%s belongs to another sweep: its %s differs; take another folder, or delete it to begin again", path, what)
	}
	for {
		p, err := r.next()
		if err == io.EOF || err == errTorn {
			break
		}
		if err != nil {
			return nil, fd, err
		}
		row, err := decodeRow(p)
		if err == nil {
			err = fd.order.add(row.Index, struct{}{}, nil)
		}
		if err != nil {
			return nil, fd, fmt.Errorf("%s: %w", path, err)
		}
		if row.Err != "" {
			fd.errors++
		}
	}
	if err := f.Truncate(r.at); err != nil {
		return nil, fd, err
	}
	if _, err := f.Seek(r.at, io.SeekStart); err != nil {
		return nil, fd, err
	}
	return &journal{file: f, synced: time.Now()}, fd, nil
}

// beginJournal writes the header of a new journal.
func beginJournal(f *os.File, h Header, fd found) (*journal, found, error) {
	b, err := line(h)
	if err != nil {
		return nil, fd, err
	}
	if err := f.Truncate(0); err != nil {
		return nil, fd, err
	}
	if _, err := f.WriteAt(b, 0); err != nil {
		return nil, fd, err
	}
	if _, err := f.Seek(int64(len(b)), io.SeekStart); err != nil {
		return nil, fd, err
	}
	if err := f.Sync(); err != nil {
		return nil, fd, err
	}
	syncFolder(filepath.Dir(f.Name()))
	return &journal{file: f, synced: time.Now()}, fd, nil
}

// syncFolder makes a new file's name last. Some systems can't, and then it is
// not needed.
func syncFolder(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		d.Close()
	}
}

// append writes finished lines.
func (j *journal) append(lines []byte) error {
	if _, err := j.file.Write(lines); err != nil {
		return err
	}
	if time.Since(j.synced) < syncEvery {
		return nil
	}
	j.synced = time.Now()
	return j.file.Sync()
}

func (j *journal) close() error { return errors.Join(j.file.Sync(), j.file.Close()) }

// differs names the first thing in which two headers differ, "" if none.
func (h Header) differs(o Header) string {
	switch {
	case h.ID != o.ID:
		return "input"
	case h.Variants != o.Variants:
		return "number of variants"
	case h.Shard != o.Shard:
		return "shard"
	case !slices.Equal(h.Names, o.Names):
		return "list of dimensions"
	case !slices.Equal(h.Measures, o.Measures):
		return "list of measures"
	}
	return ""
}
