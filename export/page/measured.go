package page

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// ReadMeasured reads a bench test: a table of text with the slide coordinate s in
// mm and the force on the slide in N, a row per sample, in the order of the test.
// Columns are parted by commas, semicolons, tabs or spaces. A first row of names
// says which columns they are ("s" or "s [mm]", "force" or "force [N]"); without
// one they are the first two. Lines that are empty or start with # are left out.
// An error names the line.
func ReadMeasured(name string, r io.Reader) (*Measured, error) {
	m := &Measured{Name: name}
	in := bufio.NewScanner(r)
	in.Buffer(nil, 1<<20)
	cs, cf, rows := 0, 1, 0
	for line := 1; in.Scan(); line++ {
		text := strings.TrimSpace(strings.TrimPrefix(in.Text(), "\ufeff"))
		if text == "" || text[0] == '#' {
			continue
		}
		cells := split(text)
		rows++
		if rows == 1 {
			if _, err := strconv.ParseFloat(cells[0], 64); err != nil {
				if cs, cf = column(cells, "s"), column(cells, "force", "slide_force", "f"); cs < 0 || cf < 0 {
					return nil, fmt.Errorf("%s:%d: the names %q hold no column s and no column force", name, line, text)
				}
				continue
			}
		}
		var v [2]float64
		for k, c := range []int{cs, cf} {
			if c >= len(cells) {
				return nil, fmt.Errorf("%s:%d: has %d columns, %d are needed", name, line, len(cells), c+1)
			}
			x, err := strconv.ParseFloat(cells[c], 64)
			if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
				return nil, fmt.Errorf("%s:%d: %q in column %d is not a number; decimals take a point", name, line, cells[c], c+1)
			}
			v[k] = x
		}
		m.S, m.Force = append(m.S, v[0]), append(m.Force, v[1])
	}
	if err := in.Err(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(m.S) < 2 {
		return nil, fmt.Errorf("%s: has %d rows of numbers, a curve takes two", name, len(m.S))
	}
	return m, nil
}

// split parts a row by the first sign of its kind that it has.
func split(text string) []string {
	for _, sep := range []string{";", "\t", ","} {
		if strings.Contains(text, sep) {
			cells := strings.Split(text, sep)
			for i := range cells {
				cells[i] = strings.Trim(strings.TrimSpace(cells[i]), `"`)
			}
			return cells
		}
	}
	return strings.Fields(text)
}

// column finds the first of some names, with or without a unit behind it.
func column(cells []string, names ...string) int {
	for _, name := range names {
		for i, c := range cells {
			c, _, _ = strings.Cut(strings.ToLower(c), "[")
			c, _, _ = strings.Cut(c, "(")
			if strings.TrimSpace(c) == name {
				return i
			}
		}
	}
	return -1
}
