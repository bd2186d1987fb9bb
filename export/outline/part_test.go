package outline

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/parts"
)

// heights reads the z range from the name of a layer.
func heights(t *testing.T, layer string) (z0, z1 float64) {
	t.Helper()
	_, span, ok := strings.Cut(strings.ToUpper(layer), "-Z")
	lo, hi, ok2 := strings.Cut(span, "-TO-")
	z0, err0 := strconv.ParseFloat(strings.Replace(lo, "_", ".", 1), 64)
	z1, err1 := strconv.ParseFloat(strings.Replace(hi, "_", ".", 1), 64)
	if !ok || !ok2 || err0 != nil || err1 != nil {
		t.Fatalf("layer %q has no z range", layer)
	}
	return z0, z1
}

func examples(t *testing.T) map[string]*parts.Part {
	t.Helper()
	out := map[string]*parts.Part{}
	for _, name := range []string{"rack-lifter", "lid-lifter", "ring-hook"} {
		d, err := params.Load("../../examples/" + name + "/finger.yaml")
		if err != nil {
			t.Fatal(err)
		}
		list, err := parts.Build(d)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range list {
			out[name+" "+p.Name] = p
		}
	}
	return out
}

// What a drawing shows, level by level, is the whole part: areas times heights
// are its volume, which the solid knows without levels.
func TestNothingOfAPartIsLost(t *testing.T) {
	for name, p := range examples(t) {
		d, err := Of(name, p)
		if err != nil {
			t.Fatal(err)
		}
		want, err := p.Solid.Volume()
		if err != nil {
			t.Fatal(err)
		}
		for form, read := range readers {
			got := 0.0
			for _, l := range read(t, d) {
				z0, z1 := heights(t, l.layer)
				if l.outer() {
					got += l.area * (z1 - z0)
				} else {
					got -= l.area * (z1 - z0)
				}
			}
			if math.Abs(got-want) > 1e-6*want {
				t.Errorf("%s of %s: %.4f mm³ over all levels, the part has %.4f", form, name, got, want)
			}
		}
	}
}

// By hand from the rack lifter's file: the seat of the magnets in the upper link
// is blind, from z = 15.9 to 17.9 mm; it is 3 mm, a press fit. The hole B goes
// through the layer of the link. Neither has the printer's compensation in it.
func TestBlindHoleAndSizes(t *testing.T) {
	p := examples(t)["rack-lifter upper"]
	d, err := Of("upper", p)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := DXF(&b, d); err != nil {
		t.Fatal(err)
	}
	circle := func(at r2.Vec) map[string]float64 {
		out := map[string]float64{}
		for _, l := range readDXF(t, b.String()) {
			centre := r2.Scale(0.5, r2.Add(l.lo, l.hi))
			if l.circle && !l.outer() && r2.Norm(r2.Sub(centre, at)) < 1e-4 {
				z0, z1 := heights(t, l.layer)
				out[fmt.Sprintf("%.1f-%.1f", z0, z1)] = l.hi.X - l.lo.X
			}
		}
		return out
	}
	blind := circle(r2.Vec{X: -1, Y: 5})
	if len(blind) != 1 || blind["15.9-17.9"] == 0 {
		t.Errorf("the blind seat is on %v", blind)
	}
	for _, h := range p.Holes {
		for z, got := range circle(h.At) {
			if want := h.Nominal + h.Clearance; math.Abs(got-want) > 2e-6 {
				t.Errorf("hole %s at z %s mm is %.4f mm wide, want %.4f as it works (%.4f as modelled for the printer)", h.Joint, z, got, want, h.Modelled)
			}
		}
	}
	if !strings.Contains(b.String(), "without the printer's compensation") {
		t.Error("the drawing does not say whether it is compensated")
	}
}

// A bore lies in the drawing plane and is no loop of any level; the drawing says
// so, in a part that has one.
func TestBoreIsNamed(t *testing.T) {
	p := examples(t)["ring-hook carriage"]
	body := *p.Body
	body.Features = append(body.Features[:len(body.Features):len(body.Features)], params.Feature{Bore: &params.Bore{}})
	bored := *p
	bored.Body = &body
	for want, p := range map[bool]*parts.Part{true: &bored, false: p} {
		d, err := Of("carriage", p)
		if err != nil {
			t.Fatal(err)
		}
		var dxf, svg bytes.Buffer
		if err := DXF(&dxf, d); err != nil {
			t.Fatal(err)
		}
		if err := SVG(&svg, d); err != nil {
			t.Fatal(err)
		}
		for _, s := range []string{dxf.String(), svg.String()} {
			if strings.Contains(s, "not drawn: 1 bore") != want {
				t.Errorf("bored: %v, but the file says\n%s", want, s[:300])
			}
		}
	}
}
