package sweep

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"

	"tuckfinger/assembly/study"
)

// Results are the rows of a finished sweep.
type Results struct {
	ID       string
	Names    []string // of the dimensions
	Measures []study.Measure
	Variants int
	paths    []string // by shard
}

// Open puts the journals of all shards of a sweep together, in any order; a
// sweep on one machine has one. It reads all of them and is an error, with
// every reason, if one belongs to another sweep, is not finished, is missing or
// given twice, or if a variant is missing or doubled.
func Open(paths ...string) (*Results, error) {
	if len(paths) == 0 {
		return nil, errors.New("no journal is given")
	}
	var (
		errs  []error
		first Header
		where []string // path of each shard
	)
	for n, path := range paths {
		h, s, err := verify(path)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		if where == nil {
			first, where = h, make([]string, s.count())
		}
		same := h
		same.Shard = first.Shard
		switch what := same.differs(first); {
		case what != "":
			errs = append(errs, fmt.Errorf("%s and %s are of different sweeps: %s", path, paths[0], what))
		case s.count() != len(where):
			errs = append(errs, fmt.Errorf("%s is shard %s, of another number of shards than %s, %s", path, s, paths[0], first.Shard))
		case where[s.Index] != "":
			errs = append(errs, fmt.Errorf("shard %s is there twice: %s and %s", s, where[s.Index], paths[n]))
		default:
			where[s.Index] = path
		}
	}
	if len(errs) == 0 {
		for i, p := range where {
			if p == "" {
				errs = append(errs, fmt.Errorf("shard %s is missing", Shard{i, len(where)}))
			}
		}
	}
	if len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	return &Results{first.ID, first.Names, first.Measures, first.Variants, where}, nil
}

// verify reads a journal and makes sure that it has each of its shard's
// variants once.
func verify(path string) (Header, Shard, error) {
	c, err := openCursor(path)
	if err != nil {
		return Header{}, Shard{}, err
	}
	defer c.file.Close()
	for {
		if _, err := c.row(); err == io.EOF {
			return c.head, c.shard, nil
		} else if err != nil {
			return c.head, c.shard, err
		}
	}
}

// Rows gives the rows in the plan's order. It reads the journals as it goes and
// ends after an error, which comes with an empty row.
func (r *Results) Rows() iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		cursors := make([]*cursor, len(r.paths))
		for i, p := range r.paths {
			c, err := openCursor(p)
			if err != nil {
				yield(Row{}, err)
				return
			}
			defer c.file.Close()
			cursors[i] = c
		}
		for i := range r.Variants {
			row, err := cursors[i%len(cursors)].row()
			if err == nil && row.Index != i {
				err = fmt.Errorf("%s has changed: variant %d where %d was", r.paths[i%len(cursors)], row.Index, i)
			}
			if err != nil {
				yield(Row{}, err)
				return
			}
			if !yield(row, nil) {
				return
			}
		}
	}
}

// cursor reads a journal's rows in the plan's order.
type cursor struct {
	*reader
	file  *os.File
	head  Header
	shard Shard
	order *order[Row]
	ready []Row // next in order
}

func openCursor(path string) (*cursor, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	c := &cursor{file: f, reader: &reader{buf: bufio.NewReader(f), name: path}}
	if c.head, c.shard, err = c.header(); err != nil {
		f.Close()
		if err == io.EOF || err == errTorn {
			err = fmt.Errorf("%s has not been begun; run it again", path)
		}
		return nil, err
	}
	c.order = newOrder[Row](c.shard, c.head.Variants)
	return c, nil
}

// row returns the next row, io.EOF after the last.
func (c *cursor) row() (Row, error) {
	for len(c.ready) == 0 {
		p, err := c.next()
		switch {
		case err == io.EOF && c.order.low == c.order.total:
			return Row{}, io.EOF
		case err == io.EOF || err == errTorn:
			return Row{}, fmt.Errorf("%s, shard %s, is not finished: %d of %d variants; run it again to go on", c.name, c.shard, c.order.count, c.order.total)
		case err != nil:
			return Row{}, err
		}
		row, err := decodeRow(p)
		if err == nil {
			err = c.order.add(row.Index, row, func(r Row) error {
				c.ready = append(c.ready, r)
				return nil
			})
		}
		if err != nil {
			return Row{}, fmt.Errorf("%s: %w", c.name, err)
		}
	}
	row := c.ready[0]
	c.ready = c.ready[1:]
	return row, nil
}
