package bom

import (
	"bytes"
	"encoding/csv"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tuckfinger/export/internal/solids"
)

// The designations are of ISO 2338 (parallel pins) and ISO 4762 (socket screws).
func pieces() []Instance {
	pin := func(length float64, where string) Instance {
		return Instance{Kind: Pin, Item: "parallel pin", Standard: "ISO 2338", Size: "3 m6", Length: length, Mass: 0.888, Material: "steel", Where: where}
	}
	screw := func(size string) Instance {
		return Instance{Kind: Screw, Item: "socket screw", Standard: "ISO 4762", Size: size, Length: 12, Where: "mount"}
	}
	return []Instance{
		screw("M10"), pin(16, "E"), {Kind: Printed, Item: "tip", Size: "38 × 18 × 5 mm", Mass: 3.2, Material: "PETG", Where: "link"},
		pin(20, "C"), screw("M2.5"), pin(16.0000001, "A"), screw("M2.5"), {Kind: Pad, Item: "rubber sheet", Size: `2 mm, 60° "A"`, Where: "tip", Note: "glue"},
		{Kind: Printed, Item: "jaw", Mass: 4.25, Material: "PETG"}, {Kind: Printed, Item: "tip", Size: "38 × 18 × 5 mm", Mass: 3.2, Material: "PA | 12_x"},
		pin(16, "B"), {Kind: Pad, Item: "rubber sheet", Size: `2 mm, 60° "A"`, Where: "jaw", Note: "clean"},
	}
}

func TestCollect(t *testing.T) {
	want := Bill{
		{Kind: Printed, Item: "jaw", Count: 1, Mass: 4.25, Material: "PETG"},
		{Kind: Printed, Item: "tip", Size: "38 × 18 × 5 mm", Count: 1, Mass: 3.2, Material: "PA | 12_x"},
		{Kind: Printed, Item: "tip", Size: "38 × 18 × 5 mm", Count: 1, Mass: 3.2, Material: "PETG", Where: []string{"link"}},
		{Kind: Pin, Item: "parallel pin", Standard: "ISO 2338", Size: "3 m6", Length: 16, Count: 3, Mass: 0.888, Material: "steel", Where: []string{"A", "B", "E"}},
		{Kind: Pin, Item: "parallel pin", Standard: "ISO 2338", Size: "3 m6", Length: 20, Count: 1, Mass: 0.888, Material: "steel", Where: []string{"C"}},
		{Kind: Screw, Item: "socket screw", Standard: "ISO 4762", Size: "M2.5", Length: 12, Count: 2, Where: []string{"mount (2)"}},
		{Kind: Screw, Item: "socket screw", Standard: "ISO 4762", Size: "M10", Length: 12, Count: 1, Where: []string{"mount"}},
		{Kind: Pad, Item: "rubber sheet", Size: `2 mm, 60° "A"`, Count: 2, Where: []string{"jaw", "tip"}, Note: "clean; glue"},
	}
	rng := rand.New(rand.NewPCG(1, 1))
	for range 20 {
		in := pieces()
		rng.Shuffle(len(in), func(i, j int) { in[i], in[j] = in[j], in[i] })
		got, err := Collect(in)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Fatal(d)
		}
	}
	// By hand: 3.2 + 3.2 + 4.25 printed; 4 pins of 0.888.
	tot := want.Totals()
	if tot.Printed != 3 || tot.Bought != 9 || tot.Unweighed != 5 || math.Abs(tot.PrintedMass-10.65) > 1e-9 || math.Abs(tot.Mass-14.202) > 1e-9 {
		t.Errorf("%+v", tot)
	}
}

func TestNatural(t *testing.T) {
	sorted := []string{"", "2", "10", "M2", "M2.5", "M2.50", "M2.5 x", "M3", "M10", "M10.2", "a", "a1b2", "a1b10", "b"}
	for i, a := range sorted {
		for j, b := range sorted {
			got := natural(a, b)
			if i < j && got >= 0 || i > j && got <= 0 || i == j && got != 0 {
				t.Errorf("natural(%q, %q) = %d", a, b, got)
			}
		}
	}
}

// RFC 4180 section 2: CRLF, quoting, doubled quotes, equal field counts.
func TestCSV(t *testing.T) {
	b, err := Collect(pieces())
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := CSV(&out, b); err != nil {
		t.Fatal(err)
	}
	s := out.String()
	if n := strings.Count(s, "\n"); n != len(b)+1 || n != strings.Count(s, "\r\n") {
		t.Errorf("%d line ends for %d lines", n, len(b)+1)
	}
	if !strings.Contains(s, `"2 mm, 60° ""A"""`) {
		t.Errorf("quotes:\n%s", s)
	}
	rows, err := csv.NewReader(&out).ReadAll() // checks the field count
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{
		{"kind", "item", "standard", "size", "length [mm]", "count", "mass of one [g]", "mass [g]", "material", "where", "note"},
		{"pin", "parallel pin", "ISO 2338", "3 m6", "16", "3", "0.888", "2.664", "steel", "A, B, E", ""},
		{"screw", "socket screw", "ISO 4762", "M10", "12", "1", "", "", "", "mount", ""},
	}
	if d := cmp.Diff(want, [][]string{rows[0], rows[4], rows[7]}); d != "" {
		t.Error(d)
	}
}

func TestMarkdown(t *testing.T) {
	b, err := Collect(pieces())
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := Markdown(&out, "Rack\nlifter", b); err != nil {
		t.Fatal(err)
	}
	want := `# Rack lifter

| | Item | Standard | Size | Length mm | Count | Mass g | Material | Where | Note |
|---|---|---|---|---:|---:|---:|---|---|---|
| printed part | jaw |  |  |  | 1 | 4.25 | PETG |  |  |
|  | tip |  | 38 × 18 × 5 mm |  | 1 | 3.2 | PA \| 12\_x |  |  |
|  | tip |  | 38 × 18 × 5 mm |  | 1 | 3.2 | PETG | link |  |
| pin | parallel pin | ISO 2338 | 3 m6 | 16 | 3 | 2.66 | steel | A, B, E |  |
|  | parallel pin | ISO 2338 | 3 m6 | 20 | 1 | 0.89 | steel | C |  |
| screw | socket screw | ISO 4762 | M2.5 | 12 | 2 |  |  | mount (2) |  |
|  | socket screw | ISO 4762 | M10 | 12 | 1 |  |  | mount |  |
| pad | rubber sheet |  | 2 mm, 60° "A" |  | 2 |  |  | jaw, tip | clean; glue |

3 printed (10.65 g) and 9 bought pieces, at least 14.2 g in all: the mass of 5 is not known.
`
	if d := cmp.Diff(want, out.String()); d != "" {
		t.Error(d)
	}
	out.Reset()
	if err := Markdown(&out, "x", Bill{{Kind: Printed, Item: "a", Count: 2, Mass: 1.5}}); err != nil || !strings.HasSuffix(out.String(), "\n2 printed (3 g) and 0 bought pieces, 3 g in all.\n") {
		t.Errorf("%v\n%s", err, out.String())
	}
}

func TestErrors(t *testing.T) {
	for want, p := range map[string]Instance{
		`bill of materials: piece 1: kind "bolt", item "x"`:       {Kind: "bolt", Item: "x"},
		`bill of materials: piece 1: kind "pin", item " "`:        {Kind: Pin, Item: " "},
		"bill of materials: piece 1, x: length -1 mm, mass 0 g":   {Kind: Pin, Item: "x", Length: -1},
		"bill of materials: piece 1, x: length 0 mm, mass NaN g":  {Kind: Pin, Item: "x", Mass: math.NaN()},
		"bill of materials: piece 1, x: length +Inf mm, mass 0 g": {Kind: Pin, Item: "x", Length: math.Inf(1)},
	} {
		if _, err := Collect([]Instance{p}); err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}

func TestFailingWriter(t *testing.T) {
	b, err := Collect(pieces())
	if err != nil {
		t.Fatal(err)
	}
	for _, left := range []int{0, 50, 300} {
		if err := CSV(&solids.Failing{Left: left}, b); !errors.Is(err, solids.ErrFull) {
			t.Errorf("CSV, %d bytes: %v", left, err)
		}
		if err := Markdown(&solids.Failing{Left: left}, "x", b); !errors.Is(err, solids.ErrFull) {
			t.Errorf("Markdown, %d bytes: %v", left, err)
		}
	}
}
