package table

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// RFC 4180 section 2: rules 1, 5, 6 and 7, letter for letter.
func TestRFC4180(t *testing.T) {
	var b bytes.Buffer
	w, err := NewWriter(&b, Column{Name: "part"}, Column{Name: "s", Unit: "mm"}, Column{Name: "torque", Unit: "N·mm", Digits: 3}, Column{Name: "share", Unit: "1"})
	if err != nil {
		t.Fatal(err)
	}
	half := 0.5
	for _, row := range [][]any{
		{`a"b`, 1.0, 2.0 / 3, true},
		{"a,b", 2, -1e-15, &half},
		{"a\nb", int64(3), 1234567.0, nil},
		{"", (*float64)(nil), 1e-9, "µ"},
	} {
		if err := w.Row(row...); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	want := "part,s [mm],torque [N mm],share\r\n" +
		"\"a\"\"b\",1,0.667,true\r\n" +
		"\"a,b\",2,0,0.5\r\n" +
		"\"a\r\nb\",3,1230000,\r\n" +
		",,1e-09,µ\r\n"
	if d := cmp.Diff(want, b.String()); d != "" {
		t.Error(d)
	}
}

// No text is a formula for a spreadsheet (CWE-1236: cells that begin with = + - @,
// tab or carriage return); numbers stay numbers, as text too.
func TestNoFormulas(t *testing.T) {
	var b bytes.Buffer
	w, err := NewWriter(&b, Column{Name: "text"}, Column{Name: "x"})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []string{"=1+1", "+1 mm", "-cmd", "@SUM(A1)", "\t=1", "-3.5", "+2", "a=b", ""} {
		if err := w.Row(s, -3.5); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	want := "text,x\r\n'=1+1,-3.5\r\n'+1 mm,-3.5\r\n'-cmd,-3.5\r\n'@SUM(A1),-3.5\r\n'\t=1,-3.5\r\n-3.5,-3.5\r\n+2,-3.5\r\na=b,-3.5\r\n,-3.5\r\n"
	if d := cmp.Diff(want, b.String()); d != "" {
		t.Error(d)
	}
}

// Whatever stands in the fields, an independent reading of the rules finds the
// same table again.
func TestReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cell := rapid.StringOf(rapid.SampledFrom([]rune("a,\"\n ;é")))
		rows := rapid.SliceOf(rapid.SliceOfN(cell, 2, 2)).Draw(t, "rows")
		var b bytes.Buffer
		w, err := NewWriter(&b, Column{Name: "x"}, Column{Name: "y"})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rows {
			if err := w.Row(r[0], r[1]); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		got, err := csv.NewReader(bytes.NewReader(b.Bytes())).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(append([][]string{{"x", "y"}}, rows...), got); d != "" {
			t.Fatal(d)
		}
		if n := strings.Count(strings.ReplaceAll(b.String(), "\r\n", ""), "\n"); n > 0 {
			t.Fatalf("%d line ends are not CRLF", n)
		}
	})
}

func TestErrors(t *testing.T) {
	for _, cols := range [][]Column{nil, {{}}, {{Name: "a"}, {Name: "a"}}, {{Name: "ä"}}, {{Name: "a", Unit: "℃"}}} {
		if _, err := NewWriter(io.Discard, cols...); err == nil {
			t.Errorf("%v was taken", cols)
		}
	}
	for want, row := range map[string][]any{
		`table: row 1, column "s [mm]": NaN is not a finite number`:  {"a", math.NaN()},
		`table: row 1, column "s [mm]": +Inf is not a finite number`: {"a", math.Inf(1)},
		`table: row 1 has 1 cells, the table 2 columns`:              {"a"},
		`table: row 1, column "a": a cell can't be a []int`:          {[]int{1}, 1.0},
	} {
		w, err := NewWriter(io.Discard, Column{Name: "a"}, Column{Name: "s", Unit: "mm"})
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Row(row...); err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
		if w.Row("a", 1.0) == nil || w.Close() == nil {
			t.Errorf("%s: the table went on", want)
		}
	}
}

type failing struct{ left int }

var errFull = errors.New("disk full")

func (f *failing) Write(p []byte) (int, error) {
	n := min(len(p), f.left)
	f.left -= n
	if n < len(p) {
		return n, errFull
	}
	return n, nil
}

func TestFailingWriter(t *testing.T) {
	for _, left := range []int{0, 10, 5000} {
		w, err := NewWriter(&failing{left}, Column{Name: "a"})
		if err != nil {
			t.Fatal(err)
		}
		for range 2000 {
			if err = w.Row("some text"); err != nil {
				break
			}
		}
		if cerr := w.Close(); !errors.Is(cerr, errFull) {
			t.Errorf("%d bytes: Row %v, Close %v", left, err, cerr)
		}
	}
}
