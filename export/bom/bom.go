// Package bom makes the bill of materials from the pieces that are placed in
// the assembly: equal ones become one line, counted.
package bom

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tuckfinger/export/num"
)

// Kind groups lines; bills list the kinds in the order below.
type Kind string

// The kinds of pieces.
const (
	Printed Kind = "printed part"
	Pin     Kind = "pin"
	Screw   Kind = "screw"
	Nut     Kind = "nut"
	Washer  Kind = "washer"
	Insert  Kind = "insert"
	Spring  Kind = "spring"
	Pad     Kind = "pad"
	Drive   Kind = "drive"
	Other   Kind = "other"
)

var order = []Kind{Printed, Pin, Screw, Nut, Washer, Insert, Spring, Pad, Drive, Other}

// Instance is one piece at one place of the assembly.
type Instance struct {
	Kind     Kind
	Item     string  // what it is: "tip", "parallel pin"
	Standard string  // "ISO 2338", empty for printed parts
	Size     string  // "3 m6", "M3", "60 × 18 × 5 mm"
	Length   float64 // mm, 0: it has none of its own
	Mass     float64 // g, 0: not known
	Material string
	Where    string // joint or body, empty: nowhere in particular
	Note     string
}

// Line is one line of the bill: Count equal pieces.
type Line struct {
	Kind     Kind     `json:"kind"`
	Item     string   `json:"item"`
	Standard string   `json:"standard,omitempty"`
	Size     string   `json:"size,omitempty"`
	Length   float64  `json:"length_mm,omitempty"` // of one, mm, 0: none
	Count    int      `json:"count"`
	Mass     float64  `json:"mass_each_g,omitempty"` // of one, g, 0: not known
	Material string   `json:"material,omitempty"`
	Where    []string `json:"where,omitempty"` // sorted; a place with two is listed once, as "tip (2)"
	Note     string   `json:"note,omitempty"`
}

// Bill is a bill of materials, its lines in order: kind, item, standard, size
// (numbers by value), length, material, mass.
type Bill []Line

// Totals are sums over a bill.
type Totals struct {
	Printed     int     `json:"printed"`        // pieces
	Bought      int     `json:"bought"`         // pieces
	PrintedMass float64 `json:"printed_mass_g"` // g
	Mass        float64 `json:"mass_g"`         // of all with a known mass, g
	Unweighed   int     `json:"unweighed"`      // pieces without a known mass; Mass is then a lower bound
}

// Collect counts equal pieces. Two are equal when they differ in place and note
// at most; lengths and masses are compared to 0.001 mm and 0.001 g. Different
// notes of a line are joined. The order of the instances does not matter. An
// error names the piece that has an unknown kind, no item, or a length or mass
// that is negative or not finite.
func Collect(pieces []Instance) (Bill, error) {
	type key struct {
		kind                           Kind
		item, standard, size, material string
		length, mass                   int64 // thousandths
	}
	type group struct {
		line  Line
		where map[string]int
		notes []string
	}
	groups := map[key]*group{}
	for i, p := range pieces {
		if !slices.Contains(order, p.Kind) || strings.TrimSpace(p.Item) == "" {
			return nil, fmt.Errorf("bill of materials: piece %d: kind %q, item %q", i+1, p.Kind, p.Item)
		}
		if !(p.Length >= 0 && p.Length < 1e9 && p.Mass >= 0 && p.Mass < 1e9) {
			return nil, fmt.Errorf("bill of materials: piece %d, %s: length %g mm, mass %g g", i+1, p.Item, p.Length, p.Mass)
		}
		k := key{p.Kind, p.Item, p.Standard, p.Size, p.Material, int64(math.Round(p.Length * 1e3)), int64(math.Round(p.Mass * 1e3))}
		g := groups[k]
		if g == nil {
			// From the key, so that no instance's last digits are preferred.
			g = &group{where: map[string]int{}, line: Line{Kind: p.Kind, Item: p.Item, Standard: p.Standard, Size: p.Size,
				Material: p.Material, Length: float64(k.length) / 1e3, Mass: float64(k.mass) / 1e3}}
			groups[k] = g
		}
		g.line.Count++
		if p.Where != "" {
			g.where[p.Where]++
		}
		if p.Note != "" && !slices.Contains(g.notes, p.Note) {
			g.notes = append(g.notes, p.Note)
		}
	}
	bill := Bill{}
	for _, g := range groups {
		for w, n := range g.where {
			if n > 1 {
				w = fmt.Sprintf("%s (%d)", w, n)
			}
			g.line.Where = append(g.line.Where, w)
		}
		slices.SortFunc(g.line.Where, natural)
		slices.Sort(g.notes)
		g.line.Note = strings.Join(g.notes, "; ")
		bill = append(bill, g.line)
	}
	slices.SortFunc(bill, func(a, b Line) int {
		return cmp.Or(
			cmp.Compare(slices.Index(order, a.Kind), slices.Index(order, b.Kind)),
			natural(a.Item, b.Item), natural(a.Standard, b.Standard), natural(a.Size, b.Size),
			cmp.Compare(a.Length, b.Length), natural(a.Material, b.Material), cmp.Compare(a.Mass, b.Mass))
	})
	return bill, nil
}

// Totals adds up the bill.
func (b Bill) Totals() Totals {
	var t Totals
	for _, l := range b {
		m := float64(l.Count) * l.Mass
		if l.Kind == Printed {
			t.Printed += l.Count
			t.PrintedMass += m
		} else {
			t.Bought += l.Count
		}
		t.Mass += m
		if l.Mass == 0 {
			t.Unweighed += l.Count
		}
	}
	return t
}

// natural compares texts with the numbers in them by value, so that M2.5 comes
// before M10; texts that are equal so far are compared letter by letter.
func natural(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		nx, rx, okx := leading(x)
		ny, ry, oky := leading(y)
		if okx && oky {
			if c := cmp.Compare(nx, ny); c != 0 {
				return c
			}
			x, y = rx, ry
			continue
		}
		if x[0] != y[0] {
			return cmp.Compare(x[0], y[0])
		}
		x, y = x[1:], y[1:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), strings.Compare(a, b))
}

// leading splits off an unsigned decimal number.
func leading(s string) (v float64, rest string, ok bool) {
	i, scale := 0, 0.0
	for ; i < len(s); i++ {
		switch c := s[i]; {
		case c >= '0' && c <= '9':
			v = v*10 + float64(c-'0')
			scale *= 10
		case c == '.' && scale == 0 && i > 0 && i+1 < len(s) && s[i+1] >= '0' && s[i+1] <= '9':
			scale = 1
		default:
			if i == 0 {
				return 0, s, false
			}
			return v / max(scale, 1), s[i:], true
		}
	}
	return v / max(scale, 1), "", i > 0
}

// grams formats a mass for a person.
func grams(m float64) string { return num.Text(math.Round(m*100)/100, 9) }
