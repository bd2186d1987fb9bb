package bom

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"tuckfinger/export/num"
	"tuckfinger/export/table"
)

// CSV writes one record a line, without totals, so that the file can be counted
// and merged. Unknown lengths and masses are empty fields.
func CSV(w io.Writer, b Bill) error {
	t, err := table.NewWriter(w,
		table.Column{Name: "kind"}, table.Column{Name: "item"}, table.Column{Name: "standard"}, table.Column{Name: "size"},
		table.Column{Name: "length", Unit: "mm", Digits: 9}, table.Column{Name: "count"},
		table.Column{Name: "mass of one", Unit: "g"}, table.Column{Name: "mass", Unit: "g"},
		table.Column{Name: "material"}, table.Column{Name: "where"}, table.Column{Name: "note"})
	if err != nil {
		return err
	}
	known := func(v float64) any {
		if v == 0 {
			return nil
		}
		return v
	}
	for _, l := range b {
		if err := t.Row(string(l.Kind), l.Item, l.Standard, l.Size, known(l.Length), l.Count, known(l.Mass),
			known(float64(l.Count)*l.Mass), l.Material, strings.Join(l.Where, ", "), l.Note); err != nil {
			return err
		}
	}
	return t.Close()
}

// Markdown writes a table for people under the given heading, and the totals.
func Markdown(w io.Writer, heading string, b Bill) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "# %s\n\n", oneLine(heading))
	fmt.Fprint(out, "| | Item | Standard | Size | Length mm | Count | Mass g | Material | Where | Note |\n"+
		"|---|---|---|---|---:|---:|---:|---|---|---|\n")
	for i, l := range b {
		kind := ""
		if i == 0 || b[i-1].Kind != l.Kind {
			kind = string(l.Kind)
		}
		length, mass := "", ""
		if l.Length > 0 {
			length = num.Text(l.Length, 9)
		}
		if l.Mass > 0 {
			mass = grams(float64(l.Count) * l.Mass)
		}
		cells := []string{kind, l.Item, l.Standard, l.Size, length, fmt.Sprint(l.Count), mass, l.Material, strings.Join(l.Where, ", "), l.Note}
		for i := range cells {
			cells[i] = escape(cells[i])
		}
		fmt.Fprintf(out, "| %s |\n", strings.Join(cells, " | "))
	}
	t := b.Totals()
	fmt.Fprintf(out, "\n%d printed (%s g) and %d bought pieces", t.Printed, grams(t.PrintedMass), t.Bought)
	switch {
	case t.Unweighed > 0:
		fmt.Fprintf(out, ", at least %s g in all: the mass of %d is not known.\n", grams(t.Mass), t.Unweighed)
	default:
		fmt.Fprintf(out, ", %s g in all.\n", grams(t.Mass))
	}
	return out.Flush()
}

// escape keeps a text inside its cell and as it is: no markup, no line break.
func escape(s string) string {
	return strings.NewReplacer("\\", "\\\\", "|", "\\|", "`", "\\`", "*", "\\*", "_", "\\_", "<", "&lt;", "[", "\\[").Replace(oneLine(s))
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
