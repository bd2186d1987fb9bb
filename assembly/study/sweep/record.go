package sweep

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"strconv"

	"tuckfinger/assembly/study"
)

// Row is a finished variant.
type Row struct {
	Index  int       // in the plan
	Values []float64 // of the dimensions
	// Measures are empty if Err is not.
	Measures []float64
	Failed   []string // names of checks that fail
	Err      string   // why the variant could not be evaluated
}

// A journal is lines of text, each a checksum (CRC-32C of the rest, eight hex
// digits), a space and a JSON value: first a header, then a row for each
// finished variant in the order in which they were finished.

// window bounds by how much that order may differ from the plan's: a variant is
// not begun before all those window or more places ahead of it are recorded. So
// a journal can be read in the plan's order with little memory. It is part of
// the form of the file.
const window = 1024

// form is the version of the form of the file.
const form = 1

// Header says which sweep a journal belongs to.
type Header struct {
	Form     int             `json:"journal"`
	ID       string          `json:"id"`       // of the inputs, see Setup
	Variants int             `json:"variants"` // of the whole sweep
	Shard    string          `json:"shard"`    // i/n
	Names    []string        `json:"names"`    // of the dimensions
	Measures []study.Measure `json:"measures"`
}

// jsonRow is a row as it is written. Numbers are text, since JSON has no
// infinities; their shortest form that reads back exactly.
type jsonRow struct {
	Index    int      `json:"i"`
	Values   []number `json:"v"`
	Measures []number `json:"m,omitempty"`
	Failed   []string `json:"failed,omitempty"`
	Err      string   `json:"error,omitempty"`
}

type number float64

func (n number) MarshalText() ([]byte, error) {
	return strconv.AppendFloat(nil, float64(n), 'g', -1, 64), nil
}

func (n *number) UnmarshalText(b []byte) error {
	v, err := strconv.ParseFloat(string(b), 64)
	*n = number(v)
	return err
}

func numbers[To, From ~float64](x []From) []To {
	if x == nil {
		return nil
	}
	y := make([]To, len(x))
	for i, v := range x {
		y[i] = To(v)
	}
	return y
}

func (r Row) encode() ([]byte, error) {
	return line(jsonRow{r.Index, numbers[number](r.Values), numbers[number](r.Measures), r.Failed, r.Err})
}

func decodeRow(payload []byte) (Row, error) {
	var j jsonRow
	if err := json.Unmarshal(payload, &j); err != nil {
		return Row{}, err
	}
	return Row{j.Index, numbers[float64](j.Values), numbers[float64](j.Measures), j.Failed, j.Err}, nil
}

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// line makes a line of a journal.
func line(v any) ([]byte, error) {
	payload, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	b := fmt.Appendf(make([]byte, 0, len(payload)+10), "%08x ", crc32.Checksum(payload, castagnoli))
	return append(append(b, payload...), '\n'), nil
}

// payload checks a line, which ends in a newline, and returns its JSON value.
func payload(line []byte) ([]byte, bool) {
	var sum [4]byte
	if len(line) < 10 || line[8] != ' ' || line[len(line)-1] != '\n' {
		return nil, false
	}
	if _, err := hex.Decode(sum[:], line[:8]); err != nil {
		return nil, false
	}
	p := line[9 : len(line)-1]
	want := uint32(sum[0])<<24 | uint32(sum[1])<<16 | uint32(sum[2])<<8 | uint32(sum[3])
	return p, crc32.Checksum(p, castagnoli) == want
}

// reader reads a journal line by line.
type reader struct {
	buf  *bufio.Reader
	name string
	at   int64 // where the next line starts, behind the last good one
}

// errTorn says that the file ends in the middle of a line: its writer was
// killed, or the machine stopped.
var errTorn = errors.New("the journal's last record is incomplete")

// next returns the next line's JSON value; io.EOF at the end, errTorn where the
// last line is incomplete or its checksum is wrong, another error where a line
// before the last is damaged.
func (r *reader) next() ([]byte, error) {
	b, err := r.buf.ReadBytes('\n')
	if err != nil && err != io.EOF {
		return nil, err
	}
	if len(b) == 0 {
		return nil, io.EOF
	}
	p, ok := payload(b)
	if !ok {
		if _, err := r.buf.Peek(1); err == io.EOF {
			return nil, errTorn
		}
		return nil, fmt.Errorf("%s: the record at byte %d is damaged, though others follow; restore the file, or delete it to begin again", r.name, r.at)
	}
	r.at += int64(len(b))
	return p, nil
}

// header reads the first line.
func (r *reader) header() (h Header, s Shard, err error) {
	p, err := r.next()
	if err != nil {
		return h, s, err
	}
	dec := json.NewDecoder(bytes.NewReader(p))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&h); err != nil || h.Form != form {
		return h, s, fmt.Errorf("%s is not a sweep's journal of form %d", r.name, form)
	}
	if s, err = ParseShard(h.Shard); err != nil {
		return h, s, fmt.Errorf("%s: %w", r.name, err)
	}
	return h, s, nil
}
