package outline

import (
	"bytes"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

type pair struct {
	code  int
	value string
}

var realNumber = regexp.MustCompile(`^-?\d+\.\d+(e[-+]\d+)?$`)

// pairs reads group codes and values, each on its line, and checks the type that
// belongs to the code (minimal DXF references: 0-9 string, 10-59 real,
// 60-79 integer, 999 comment).
func pairs(t testing.TB, s string) []pair {
	t.Helper()
	lines := strings.Split(s, "\r\n")
	if lines[len(lines)-1] != "" || len(lines)%2 != 1 || strings.Count(s, "\n") != len(lines)-1 {
		t.Fatalf("%d lines: not pairs of lines that end in CRLF", len(lines)-1)
	}
	var out []pair
	for i := 0; i+1 < len(lines); i += 2 {
		code, err := strconv.Atoi(strings.TrimSpace(lines[i]))
		if err != nil {
			t.Fatal(err)
		}
		value := lines[i+1]
		switch {
		case code >= 0 && code <= 9, code == 999:
		case code >= 10 && code <= 59:
			if !realNumber.MatchString(value) {
				t.Fatalf("group %d: %q is no real number", code, value)
			}
		case code >= 60 && code <= 79:
			if _, err := strconv.Atoi(strings.TrimSpace(value)); err != nil {
				t.Fatalf("group %d: %v", code, err)
			}
		default:
			t.Fatalf("group code %d is not one of R12", code)
		}
		for _, r := range value {
			if r < ' ' || r > '~' {
				t.Fatalf("group %d: %q is not ASCII", code, value)
			}
		}
		out = append(out, pair{code, value})
	}
	return out
}

// readDXF reads the entities.
func readDXF(t testing.TB, s string) []*drawn {
	t.Helper()
	ps := pairs(t, s)
	for i, p := range ps {
		if p == (pair{2, "ENTITIES"}) {
			ps = ps[i+1:]
			break
		}
	}
	// Entities begin with group 0.
	type entity struct {
		kind string
		text map[int]string
	}
	var es []entity
	for _, p := range ps {
		if p.code == 0 {
			es = append(es, entity{p.value, map[int]string{}})
		} else if len(es) > 0 {
			es[len(es)-1].text[p.code] = p.value
		}
	}
	num := func(e entity, code int) float64 {
		v, err := strconv.ParseFloat(e.text[code], 64)
		if err != nil {
			t.Fatalf("%s: group %d: %v", e.kind, code, err)
		}
		return v
	}
	var out []*drawn
	for i := 0; i < len(es); i++ {
		e := es[i]
		switch e.kind {
		case "CIRCLE":
			d := newDrawn(e.text[8])
			r := num(e, 40)
			c := r2.Vec{X: num(e, 10), Y: num(e, 20)}
			d.circle, d.area = true, math.Pi*r*r
			d.cover(r2.Add(c, r2.Vec{X: r, Y: r}))
			d.cover(r2.Sub(c, r2.Vec{X: r, Y: r}))
			out = append(out, d)
		case "POLYLINE":
			if strings.TrimSpace(e.text[66]) != "1" || strings.TrimSpace(e.text[70]) != "1" {
				t.Fatalf("polyline flags %v", e.text)
			}
			d := newDrawn(e.text[8])
			var ps []r2.Vec
			var bs []float64
			for i++; es[i].kind == "VERTEX"; i++ {
				if es[i].text[8] != d.layer {
					t.Fatalf("vertex on layer %s", es[i].text[8])
				}
				ps = append(ps, r2.Vec{X: num(es[i], 10), Y: num(es[i], 20)})
				b := 0.0
				if es[i].text[42] != "" {
					b = num(es[i], 42)
				}
				bs = append(bs, b)
			}
			if es[i].kind != "SEQEND" {
				t.Fatalf("polyline ends in %s", es[i].kind)
			}
			d.area = math.Abs(bulgeArea(ps, bs, d))
			out = append(out, d)
		case "ENDSEC", "EOF":
		default:
			t.Fatalf("entity %s", e.kind)
		}
	}
	return out
}

// bulgeArea walks along the arcs in small steps. It uses the meaning of the
// bulge only, tan of a quarter of the turn: each chord step is turned by the
// arc's turn over the number of steps.
func bulgeArea(ps []r2.Vec, bs []float64, d *drawn) float64 {
	area := 0.0
	for i, p := range ps {
		q := ps[(i+1)%len(ps)]
		const steps = 4000
		turn := 4 * math.Atan(bs[i])
		// The first small chord starts half the turn, less half a step, to the
		// right of the long one and is shorter by the ratio of the sines.
		step := turn / steps
		scale := 1.0 / steps
		if turn != 0 {
			scale = math.Sin(step/2) / math.Sin(turn/2)
		}
		c := r2.Scale(scale, r2.Sub(q, p))
		c = r2.Rotate(c, -turn/2+step/2, r2.Vec{})
		at := p
		for range steps {
			next := r2.Add(at, c)
			d.cover(at)
			area += r2.Cross(r2.Sub(at, ps[0]), r2.Sub(next, ps[0])) / 2
			at, c = next, r2.Rotate(c, step, r2.Vec{})
		}
	}
	return area
}

// Minimal DXF references: sections, version, end of file; and the layers that entities use are in
// the table, with names that R12 allows.
func TestDXFForm(t *testing.T) {
	d, _ := link()
	var b bytes.Buffer
	if err := DXF(&b, d); err != nil {
		t.Fatal(err)
	}
	ps := pairs(t, b.String())
	if n := len(ps); ps[n-1] != (pair{0, "EOF"}) || ps[n-2] != (pair{0, "ENDSEC"}) {
		t.Errorf("ends in %v", ps[n-2:])
	}
	open := ""
	layers, header := map[string]bool{}, map[string]string{}
	for i, p := range ps {
		switch {
		case p == (pair{0, "SECTION"}):
			if open != "" {
				t.Errorf("section in section %s", open)
			}
			open = ps[i+1].value
		case p == (pair{0, "ENDSEC"}):
			open = ""
		case p == (pair{9, "$ACADVER"}):
			if ps[i+1] != (pair{1, "AC1009"}) {
				t.Errorf("version %v", ps[i+1])
			}
		case p == (pair{0, "LAYER"}):
			name := ps[i+1].value
			layers[name] = true
			if !regexp.MustCompile(`^[A-Z0-9$_-]{1,31}$`).MatchString(name) {
				t.Errorf("layer name %q", name)
			}
		case p.code == 8 && !layers[p.value]:
			t.Errorf("layer %q is not in the table", p.value)
		case p == (pair{0, "LWPOLYLINE"}):
			t.Errorf("%v is later than AC1009", p)
		case p.code == 9 && open == "HEADER":
			header[p.value] = strings.TrimSpace(ps[i+1].value)
			if ps[i+1].code == 70 != (p.value == "$INSUNITS" || p.value == "$MEASUREMENT") {
				t.Errorf("%s has group code %d", p.value, ps[i+1].code)
			}
		}
	}
	// DXF reference, header section, from memory: group 70; insertion units 4 are
	// millimetres, measurement 1 is metric.
	if header["$INSUNITS"] != "4" || header["$MEASUREMENT"] != "1" {
		t.Errorf("units %q, measurement %q", header["$INSUNITS"], header["$MEASUREMENT"])
	}
	if len(layers) != int(kinds) {
		t.Errorf("layers %v", layers)
	}
}
