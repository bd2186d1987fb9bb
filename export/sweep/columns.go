// Package sweep writes the results of a sweep: tables for other programs (CSV,
// Parquet) and a page for people. Everything is read from the journals row by
// row, so memory does not grow with the number of variants, and the bytes are
// the same for any number of shards, threads and interruptions.
package sweep

import (
	"fmt"
	"io"
	"math"
	"reflect"
	"strings"

	"github.com/parquet-go/parquet-go"

	"tuckfinger/assembly/study/sweep"
	"tuckfinger/export/num"
	"tuckfinger/export/table"
	"tuckfinger/params"
)

// About is what the results say beside the rows.
type About struct {
	Finger string // name of the finger
	File   string // name of the sweep file
	Note   string
	Checks string // all or stroke
	Tool   string // program and version
	// Dimensions are the swept ones, in the order of the plan, with their units;
	// Order are the margins that order rules ask for, by measure.
	Units map[string]string
	Order map[string]float64
	// Built is the folder of a built variant relative to the page, "" where
	// nothing was built.
	Built func(index int) string
}

// NewAbout gathers what the page says about a sweep file.
func NewAbout(s *params.Sweep, file, tool string, built func(index int) string) About {
	a := About{Finger: s.Design.Name, File: file, Note: s.Note, Checks: s.Checks, Tool: tool, Units: map[string]string{}, Order: map[string]float64{}, Built: built}
	for i, name := range s.Design.Dimensions.Names {
		a.Units[name] = s.Design.Dimensions.Values[i].Unit
	}
	for i, name := range s.Design.Order.Names {
		a.Order["order."+name] = s.Design.Order.Values[i].Margin
	}
	return a
}

// Verdicts of a variant.
const (
	pass  = "pass"
	fail  = "fail"
	fault = "error" // could not be computed
)

func verdict(r *sweep.Row) string {
	switch {
	case r.Err != "":
		return fault
	case len(r.Failed) > 0:
		return fail
	}
	return pass
}

// CSV writes the variants in the plan's order, one a line: their number from 0,
// the dimensions, the verdict, the measures, the checks that fail, and why a
// variant could not be computed. An undetermined measure is empty; inf is an
// order that no force breaks.
func CSV(w io.Writer, res *sweep.Results, a About) error {
	columns := []table.Column{{Name: "variant"}}
	for _, n := range res.Names {
		columns = append(columns, table.Column{Name: n, Unit: a.Units[n], Digits: 15})
	}
	columns = append(columns, table.Column{Name: "verdict"})
	for _, m := range res.Measures {
		columns = append(columns, table.Column{Name: m.Name, Unit: m.Unit})
	}
	columns = append(columns, table.Column{Name: "failed"}, table.Column{Name: "error"})
	t, err := table.NewWriter(w, columns...)
	if err != nil {
		return err
	}
	for r, err := range res.Rows() {
		if err != nil {
			return err
		}
		cells := []any{r.Index}
		for _, v := range r.Values {
			cells = append(cells, v)
		}
		cells = append(cells, verdict(&r))
		for i := range res.Measures {
			cells = append(cells, cell(r, i))
		}
		if err := t.Row(append(cells, strings.Join(r.Failed, "; "), r.Err)...); err != nil {
			return err
		}
	}
	return t.Close()
}

// cell is a measure of a row for a table.
func cell(r sweep.Row, i int) any {
	switch {
	case r.Err != "" || math.IsNaN(r.Measures[i]):
		return nil
	case math.IsInf(r.Measures[i], 1):
		return "inf"
	case math.IsInf(r.Measures[i], -1):
		return "-inf"
	}
	return r.Measures[i]
}

// rowGroup is the number of rows of a group of the Parquet file.
const rowGroup = 10000

// Parquet writes the same table as a Parquet file (format 2), with the units of
// the columns as metadata ("unit.slide.out": "N"). Undetermined is null.
func Parquet(w io.Writer, res *sweep.Results, a About) error {
	var fields []column
	add := func(name, unit string, node parquet.Node) {
		fields = append(fields, column{name, unit, node})
	}
	number := func() parquet.Node { return parquet.Leaf(parquet.DoubleType) }
	text := func() parquet.Node { return parquet.String() }
	add("variant", "", parquet.Leaf(parquet.Int64Type))
	for _, n := range res.Names {
		add(n, a.Units[n], number())
	}
	add("verdict", "", text())
	for _, m := range res.Measures {
		add(m.Name, m.Unit, parquet.Optional(number()))
	}
	add("failed", "", text())
	add("error", "", text())
	options := []parquet.WriterOption{
		parquet.NewSchema("variant", newOrdered(fields)), parquet.MaxRowsPerRowGroup(rowGroup), parquet.CreatedBy("tuckfinger", "", ""),
		parquet.Compression(&parquet.Snappy),
		parquet.KeyValueMetadata("finger", a.Finger), parquet.KeyValueMetadata("sweep", res.ID),
	}
	for _, f := range fields {
		if f.unit != "" && f.unit != "1" {
			options = append(options, parquet.KeyValueMetadata("unit."+f.name, f.unit))
		}
	}
	out := parquet.NewWriter(w, options...)
	for r, err := range res.Rows() {
		if err != nil {
			return err
		}
		var row parquet.Row
		put := func(v parquet.Value, defined int) { row = append(row, v.Level(0, defined, len(row))) }
		put(parquet.Int64Value(int64(r.Index)), 0)
		for _, v := range r.Values {
			put(parquet.DoubleValue(v), 0)
		}
		put(parquet.ByteArrayValue([]byte(verdict(&r))), 0)
		for i := range res.Measures {
			if r.Err != "" || math.IsNaN(r.Measures[i]) {
				put(parquet.NullValue(), 0)
			} else {
				put(parquet.DoubleValue(num.Round(r.Measures[i], num.Digits)), 1)
			}
		}
		put(parquet.ByteArrayValue([]byte(strings.Join(r.Failed, "; "))), 0)
		put(parquet.ByteArrayValue([]byte(r.Err)), 0)
		if _, err := out.WriteRows([]parquet.Row{row}); err != nil {
			return fmt.Errorf("parquet: variant %d: %w", r.Index, err)
		}
	}
	return out.Close()
}

// column is a column of the Parquet file.
type column struct {
	name, unit string
	node       parquet.Node
}

// ordered is a group whose fields keep their order, which parquet.Group sorts.
type ordered struct {
	parquet.Group
	columns []column
}

func newOrdered(columns []column) ordered {
	g := ordered{parquet.Group{}, columns}
	for _, c := range columns {
		g.Group[c.name] = c.node
	}
	return g
}

// Fields implements parquet.Node.
func (g ordered) Fields() []parquet.Field {
	out := make([]parquet.Field, len(g.columns))
	for i, c := range g.columns {
		out[i] = orderedField{c.node, c.name}
	}
	return out
}

// orderedField is a column of rows that are written value by value, so it never
// stands for a field of a Go struct.
type orderedField struct {
	parquet.Node
	name string
}

// Name implements parquet.Field.
func (f orderedField) Name() string { return f.name }

// Value implements parquet.Field.
func (f orderedField) Value(base reflect.Value) reflect.Value { return base.FieldByName(f.name) }
