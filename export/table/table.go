// Package table writes tables as CSV after RFC 4180: records end in CRLF,
// fields with commas, quotes or line breaks are quoted, every record has as many
// fields as the header. The text is UTF-8 and the header pure ASCII, so that
// programs that guess the encoding guess right.
//
// A text that a spreadsheet would take for a formula gets an apostrophe before
// it, which spreadsheets show as text: files of others are built too, and their
// words end up in our tables. Numbers are left as they are.
package table

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"tuckfinger/export/num"
)

// Column is one column of a table.
type Column struct {
	Name string
	// Unit goes into the header, in square brackets: "s [mm]". Empty or "1": none.
	Unit string
	// Digits is the number of significant digits of float values; 0 is num.Digits.
	Digits int
}

// Header returns the column's heading: "force [N mm]". Signs of units outside
// ASCII are spelt out: a product as a space (ISO 80000-1 allows both), ° as deg.
func (c Column) Header() string {
	unit := strings.NewReplacer("·", " ", "°", "deg", "²", "^2", "³", "^3", "⁴", "^4", "µ", "u", "μ", "u", "Ω", "Ohm").Replace(c.Unit)
	if unit == "" || unit == "1" {
		return c.Name
	}
	return c.Name + " [" + unit + "]"
}

// Writer writes the records of a table one by one.
type Writer struct {
	columns []Column
	csv     *csv.Writer
	record  []string
	rows    int
	err     error
}

// NewWriter starts a table with its header. It returns an error when there are
// no columns, or two with the same heading, or one that is not ASCII.
func NewWriter(w io.Writer, columns ...Column) (*Writer, error) {
	if len(columns) == 0 {
		return nil, fmt.Errorf("table: no columns")
	}
	t := &Writer{columns: columns, csv: csv.NewWriter(w), record: make([]string, len(columns))}
	t.csv.UseCRLF = true
	seen := map[string]bool{}
	for i, c := range columns {
		h := c.Header()
		if c.Name == "" || seen[h] {
			return nil, fmt.Errorf("table: column %d: heading %q is empty or used twice", i+1, h)
		}
		if j := strings.IndexFunc(h, func(r rune) bool { return r < ' ' || r > '~' }); j >= 0 {
			return nil, fmt.Errorf("table: column %d: heading %q is not plain ASCII", i+1, h)
		}
		seen[h] = true
		t.record[i] = h
	}
	return t, t.csv.Write(t.record)
}

// Row writes one record. Cells are strings, integers, bools ("true", "false"),
// float64, *float64, or nil; nil and a nil pointer are an empty field: not
// known, or no such thing. NaN and infinities are errors that name row and
// column, for a reader could not tell them from a number that is missing.
// After an error the table takes no more rows.
func (t *Writer) Row(cells ...any) error {
	if t.err == nil {
		t.err = t.row(cells)
	}
	return t.err
}

func (t *Writer) row(cells []any) error {
	t.rows++
	if len(cells) != len(t.columns) {
		return fmt.Errorf("table: row %d has %d cells, the table %d columns", t.rows, len(cells), len(t.columns))
	}
	for i, c := range cells {
		s, err := text(c, t.columns[i].Digits)
		if err != nil {
			return fmt.Errorf("table: row %d, column %q: %w", t.rows, t.columns[i].Header(), err)
		}
		t.record[i] = s
	}
	return t.csv.Write(t.record)
}

// Close writes what is buffered and returns the first error of the table. It
// does not close the underlying writer.
func (t *Writer) Close() error {
	t.csv.Flush()
	if t.err == nil {
		t.err = t.csv.Error()
	}
	return t.err
}

func text(cell any, digits int) (string, error) {
	if digits == 0 {
		digits = num.Digits
	}
	switch v := cell.(type) {
	case nil:
		return "", nil
	case string:
		return harmless(v), nil
	case bool:
		return strconv.FormatBool(v), nil
	case int:
		return strconv.Itoa(v), nil
	case int64:
		return strconv.FormatInt(v, 10), nil
	case *float64:
		if v == nil {
			return "", nil
		}
		return text(*v, digits)
	case float64:
		if !num.Finite(v) {
			return "", fmt.Errorf("%g is not a finite number", v)
		}
		return num.Text(v, digits), nil
	case fmt.Stringer:
		return harmless(v.String()), nil
	}
	return "", fmt.Errorf("a cell can't be a %T", cell)
}

// harmless keeps a text from being a formula: what begins with one of = + - @,
// a tab or a carriage return and is no number (CWE-1236).
func harmless(s string) string {
	if s == "" || !strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return s
	}
	if _, err := strconv.ParseFloat(s, 64); err == nil {
		return s
	}
	return "'" + s
}
