package page

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/assembly/linkage"
	"tuckfinger/export/internal/solids"
	"tuckfinger/params/finding"
	"tuckfinger/parts/profile"
)

// hostile is text that must not become markup or script.
const hostile = `</script><img src=x onerror=alert(1)>" & 'x`

// small is two plates on a pin, one of which turns, with odd names.
func small(t testing.TB) *Data { return sized(t, 1) }

// sized is small with what the side view shows k times as large.
func sized(t testing.TB, k float64) *Data {
	t.Helper()
	bar, err := profile.Bar(r2.Vec{}, r2.Vec{X: 30 * k}, 8*k, 0)
	if err != nil {
		t.Fatal(err)
	}
	hole, err := profile.Circle(r2.Vec{X: 15 * k}, 2*k, 0)
	if err != nil {
		t.Fatal(err)
	}
	if bar, err = profile.Subtract(bar, hole); err != nil {
		t.Fatal(err)
	}
	box := solids.Box(r3.Vec{X: -4, Y: -4}, r3.Vec{X: 34, Y: 4, Z: 4})
	d := &Data{Name: "small", Note: hostile, Tool: "tuckfinger test", File: "finger.yaml", Source: hostile, Size: [3]float64{38, 8, 8.3}}
	d.Layers = []Layer{{hostile, 0, 4}, {"upper", 4.3, 8.3}}
	d.Bodies = []Body{{Name: "base", Ground: true, Slices: []Slice{{0, 4, bar}}, Mesh: box},
		{Name: hostile, Slices: []Slice{{4.3, 8.3, bar}}, Mesh: box}}
	d.Pins = []Pin{{Name: hostile, What: "pin", Body: 0, Z0: 0, Z1: 8, Radius: 1.5 * k}}
	st := &Stroke{Travel: 10, Speed: 5, Turn: 50, Grasp: -1}
	energy := Series{Name: hostile, Unit: "N·mm"}
	for i := range 101 {
		s := 10 - math.Abs(float64(i-50))/5
		st.Frames = append(st.Frames, Frame{S: s, Force: math.Sin(s), Poses: []linkage.Pose{{}, {Theta: s / 10}}})
		energy.Values = append(energy.Values, s*s)
	}
	st.Series = []Series{energy}
	st.Events = []Event{{Frame: 20, Text: hostile}, {Frame: 80, Text: "clip released"}}
	for i := range st.Events {
		e := &st.Events[i]
		e.S, e.Force, e.Back = st.Frames[e.Frame].S, st.Frames[e.Frame].Force, e.Frame > st.Turn
	}
	d.Stroke = st
	add := func(f finding.Finding, err error) {
		if err != nil {
			t.Fatal(err)
		}
		d.Findings = append(d.Findings, f)
	}
	add(finding.AtLeast(finding.Finding{Check: "wall", Subject: hostile, Value: 0.5, Limit: 0.8, Unit: "mm", Change: "raise it", Source: "test"}, 0))
	add(finding.AtLeast(finding.Finding{Check: "wall", Subject: "b", Value: 0.9, Limit: 0.8, Unit: "mm", Change: "raise it", Source: "test"}, 0.2))
	add(finding.AtMost(finding.Finding{Check: "new check", Subject: "c", Value: 1, Limit: 2, Unit: "mm", Change: "lower it", Source: "test"}, 0))
	add(finding.State("mobility", "whole", finding.Fail, "free it", "test", "it does not move"))
	d.Place = &Place{Wall: -10 * k, Gap: 20 * k, Depth: 30 * k, Floor: -12 * k}
	d.Object = &Object{Face: 10 * k, Bottom: -6 * k, Height: 12 * k, Mass: 100}
	d.Plates = []Plate{{Title: "plate 1", Items: []PlateItem{{Name: hostile, Body: 1, Region: bar.Move(r2.Vec{X: 20, Y: 20})}}}}
	d.Bed = [2]float64{100, 80}
	d.Steps = []Step{{Title: "Lay down", Body: 0, Things: []string{hostile}, Do: []string{"Do it."}, Pins: []int{0}}, {Title: "Add", Body: 1, Before: []int{0}, Do: []string{hostile}, Why: "so"}}
	d.Rules = []Rule{{Name: "O1", Holding: math.Inf(1), Driving: 2, Margin: math.Inf(1), Want: 1.5, Status: finding.Pass, Verdict: "kept"},
		{Name: "O2", Holding: math.NaN(), Driving: math.NaN(), Margin: math.NaN(), Want: 1.5, Status: finding.Fail, Verdict: "undetermined"}}
	return d
}

var writers = map[string]func(io.Writer, *Data) error{"report": Report, "guide": Guide, "live": Live,
	"strip": func(w io.Writer, d *Data) error { return Strip(w, d, 5) }}

func TestPages(t *testing.T) {
	for name, write := range writers {
		var one, two bytes.Buffer
		if err := write(&one, small(t)); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := write(&two, small(t)); err != nil || !bytes.Equal(one.Bytes(), two.Bytes()) {
			t.Errorf("%s: differs from one time to the next (%v)", name, err)
		}
		text := one.String()
		if strings.Contains(text, "<img src=x") || strings.Contains(text, `"</script>`) {
			t.Errorf("%s: text becomes markup", name)
		}
		if m := regexp.MustCompile(`NaN|Inf\b|%!`).FindString(strings.ReplaceAll(text, "Infinity", "")); m != "" {
			t.Errorf("%s: holds %q", name, m)
		}
		// Nothing from elsewhere; the name of the SVG language is no address.
		text = strings.ReplaceAll(text, `xmlns="http://www.w3.org/2000/svg"`, "")
		if m := regexp.MustCompile(`(?i)https?://|src="[^"]|@import|url\((?:[^)]|$)`).FindString(text); m != "" {
			t.Errorf("%s: refers to %q", name, m)
		}
		if err := write(&solids.Failing{Left: 99}, small(t)); !errors.Is(err, solids.ErrFull) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Long names of bodies have the room that they need beside the drawing, or are
// written narrower.
func TestRoomForNames(t *testing.T) {
	for count, want := range map[int]float64{4: 30, 20: 52, 24: 60, 60: 60} {
		d := small(t)
		d.Bodies[0].Name, d.Bodies[1].Name = strings.Repeat("n", count), "b"
		if got := d.labelWidth(); math.Abs(got-want) > 0.5 {
			t.Errorf("%d letters have %g units, want %g", count, got, want)
		}
		if narrow := strings.Contains(string(d.Player()), "textLength"); narrow != (count > 24) {
			t.Errorf("%d letters are written narrower: %v", count, narrow)
		}
	}
}

// Lines and letters of a drawing are as large beside it for small fingers as for
// large ones, and a strip is as wide as a page's text.
func TestDrawingsOfEverySize(t *testing.T) {
	of := func(k float64, text, pattern string) []float64 {
		m := regexp.MustCompile(pattern).FindStringSubmatch(text)
		if m == nil {
			t.Fatalf("size %g: no %s", k, pattern)
		}
		var out []float64
		for _, s := range m[1:] {
			x, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, x)
		}
		return out
	}
	const view = `viewBox="[-\d.]+ [-\d.]+ ([\d.]+) ([\d.]+)"`
	share := map[string]float64{}
	for _, k := range []float64{1, 1. / 3, 3, 40} {
		d := sized(t, k)
		var b bytes.Buffer
		if err := Strip(&b, d, 5); err != nil {
			t.Fatal(err)
		}
		strip := b.String()
		if w := of(k, strip, `<svg [^>]*width="([\d.]+)mm"`)[0]; w != stripWidth {
			t.Errorf("size %g: strip is %g mm wide", k, w)
		}
		found := map[string]float64{
			"strip":    of(k, strip, `text{font:([\d.]+)px`)[0] / of(k, strip, view)[0],
			"player":   of(k, string(d.Player()), `--u:([\d.]+)px`)[0] / of(k, string(d.Player()), view)[1],
			"thumb":    of(k, string(d.Thumbs()[0].Drawing), `--u:([\d.]+)px`)[0] / of(k, string(d.Thumbs()[0].Drawing), view)[1],
			"anchor":   of(k, string(d.Player()), ` r="([\d.]+)"/><text`)[0] / of(k, string(d.Player()), view)[1],
			"obliques": of(k, string(d.Thumbs()[0].Drawing), `l([\d.]+) -[\d.]+M`)[0] / of(k, string(d.Thumbs()[0].Drawing), view)[1],
		}
		for name, now := range found {
			if was, ok := share[name]; !ok {
				share[name] = now
			} else if math.Abs(now/was-1) > 0.05 { // units have two digits
				t.Errorf("size %g: %s %.4g of its drawing, %.4g at size 1", k, name, now, was)
			}
		}
	}
}

// A page of nothing still is one; a strip of nothing is an error.
func TestEmpty(t *testing.T) {
	for name, write := range writers {
		var b bytes.Buffer
		err := write(&b, &Data{Name: "none"})
		if name == "strip" {
			if err == nil {
				t.Error("a strip without a stroke")
			}
			continue
		}
		if err != nil || regexp.MustCompile(`NaN|\+Inf|-Inf`).MatchString(strings.ReplaceAll(b.String(), "Infinity", "")) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// What can't be better is not what a good design has least room in.
func TestSettledIsNotLeastRoom(t *testing.T) {
	var d Data
	for _, f := range []finding.Finding{
		{Check: "travel", Subject: "way out", Value: 9, Limit: 9, Unit: "mm"},
		{Check: "passage", Subject: "screw", Unit: "mm"},
		{Check: "one piece", Subject: "rod", Value: 1, Limit: 1, Unit: "1"},
		{Check: "wall", Subject: "rod", Value: 0.8, Limit: 0.8, Unit: "mm"},
		{Check: "slit", Subject: "rod", Value: 0.5, Limit: 0.4, Unit: "mm"},
	} {
		f.Change, f.Source = "change it", "test"
		got, err := finding.AtLeast(f, 0)
		if err != nil {
			t.Fatal(err)
		}
		d.Findings = append(d.Findings, got)
	}
	if top := d.Top(); len(top) != 2 || top[0].Check != "wall" || top[1].Check != "slit" {
		t.Errorf("%+v", top)
	}
}

func TestSummary(t *testing.T) {
	d := small(t)
	if got := d.Verdict(); got != "Fails: 2 of 4 checks fail, 1 warn" {
		t.Errorf("verdict %q", got)
	}
	var top []string
	for _, r := range d.Top() {
		top = append(top, r.Word+" "+r.Check)
	}
	if got := strings.Join(top, ", "); got != "fail mobility, fail wall, warn wall" {
		t.Errorf("top: %s", got)
	}
	var tables []string
	for _, f := range d.Tables() {
		tables = append(tables, f.Title+": "+f.Count())
	}
	if got := strings.Join(tables, "; "); got != "Mechanism, drive and grasp: 1 fail; Walls and printing: 1 fail, 1 warn; Further checks: 1 pass" {
		t.Errorf("tables: %s", got)
	}
	// The bar of a value at 0.5 of a limit of 0.8: its middle is the limit.
	if r := row(d.Findings[0]); math.Abs(r.Share-31.3) > 0.05 {
		t.Errorf("share %g", r.Share)
	}
}

// Frames that the page leaves out are on the lines between those it keeps.
func TestKeptFrames(t *testing.T) {
	st := small(t).Stroke
	kept := st.kept()
	if len(kept) >= len(st.Frames) || len(kept) < 10 {
		t.Errorf("%d of %d frames", len(kept), len(st.Frames))
	}
	for k := 1; k < len(kept); k++ {
		a, b := st.Frames[kept[k-1]], st.Frames[kept[k]]
		for i := kept[k-1]; i < kept[k]; i++ {
			f := (st.Frames[i].S - a.S) / (b.S - a.S)
			if e := math.Abs(a.Force + f*(b.Force-a.Force) - st.Frames[i].Force); e > 2*keepShare+1e-9 {
				t.Errorf("frame %d: force off by %g N", i, e)
			}
			if e := math.Abs(a.Poses[1].Theta + f*(b.Poses[1].Theta-a.Poses[1].Theta) - st.Frames[i].Poses[1].Theta); e > keepAngle {
				t.Errorf("frame %d: angle off by %g", i, e)
			}
		}
	}
}

func TestPackedMesh(t *testing.T) {
	m := solids.Tube(3.217, 50.3, 4, 31)
	p, err := packMesh(m)
	if err != nil {
		t.Fatal(err)
	}
	points, _ := base64.StdEncoding.DecodeString(p.Points)
	for i, v := range m.Vertices {
		for k, want := range [3]float64{v.X, v.Y, v.Z} {
			got := float64(p.Origin[k]) + p.Step*float64(binary.LittleEndian.Uint16(points[6*i+2*k:]))
			if math.Abs(got-want) > 0.0015 { // half a step of 101 mm, and the origin's rounding
				t.Fatalf("vertex %d: %g, want %g", i, got, want)
			}
		}
	}
	faces, _ := base64.StdEncoding.DecodeString(p.Faces)
	for i, tri := range m.Triangles {
		for k, want := range tri {
			if got := binary.LittleEndian.Uint16(faces[6*i+2*k:]); int32(got) != want {
				t.Fatalf("triangle %d: %d, want %d", i, got, want)
			}
		}
	}
}

func TestPackIsJSON(t *testing.T) {
	text, err := small(t).Pack()
	if err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal([]byte(text), &got); err != nil || strings.ContainsAny(string(text), "<>") {
		t.Errorf("%v", err)
	}
}

func TestTicks(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		n      int
		want   []float64
	}{{0, 18.4, 8, []float64{0, 5, 10, 15}}, {-15, 10, 6, []float64{-15, -10, -5, 0, 5, 10}}, {0, 1, 5, []float64{0, 0.2, 0.4, 0.6, 0.8, 1}}, {3, 3, 5, []float64{3}}} {
		got := Ticks(c.lo, c.hi, c.n)
		if len(got) != len(c.want) {
			t.Errorf("%g to %g: %v, want %v", c.lo, c.hi, got, c.want)
			continue
		}
		for i := range got {
			if math.Abs(got[i]-c.want[i]) > 1e-12 {
				t.Errorf("%g to %g: %v, want %v", c.lo, c.hi, got, c.want)
			}
		}
	}
}

// The oblique picture paints every point of paper last with what is nearest along
// the way of sight.
func TestObliqueHides(t *testing.T) {
	square := func(x, y, a float64) profile.Region {
		r, err := profile.Rect(r2.Vec{X: x, Y: y}, r2.Vec{X: x + a, Y: y + a}, 0)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	h := heap{blocks: []block{{z0: 0, z1: 10, region: square(0, 0, 10), class: "a"}, {z0: 0, z1: 4, region: square(10.5, -6, 10), class: "b"}, {z0: 4, z1: 6, region: square(12, -4, 3), class: "c"}}}
	s := &svg{}
	h.draw(s)
	paths := regexp.MustCompile(`class="(\w) (\w+)" d="M([-0-9.]+) ([-0-9.]+)L([-0-9.]+) ([-0-9.]+)(?:L([-0-9.]+) ([-0-9.]+))?(?:L([-0-9.]+) ([-0-9.]+))?`).FindAllStringSubmatch(s.String(), -1)
	if len(paths) < 10 {
		t.Fatalf("%d paths in %s", len(paths), s)
	}
	order := map[string]int{}
	for i, m := range paths {
		order[m[1]+" "+m[2]] = i
	}
	// The top of the low block comes before the top of what stands on it, and the
	// tall block's top comes last of all, for it is the highest.
	if !(order["b face"] < order["c face"] && order["c face"] < order["a face"] && order["a face"] == len(paths)-1) {
		t.Errorf("order %v", order)
	}
	// No wall is drawn that faces away: of a square two sides are seen.
	if n := strings.Count(s.String(), `class="c wall"`); n != 2 {
		t.Errorf("%d walls of a block are seen", n)
	}
}

// Long numbers on the axis stay clear of its name, and what rounds to nothing
// has no sign.
func TestSmallNumbers(t *testing.T) {
	left := func(y ...float64) float64 {
		c := chart{height: 300, curves: []curve{{"out", []float64{0, 1}, y}}}
		_, after, _ := strings.Cut(string(c.html()), `data-x="0 1 `)
		text, _, _ := strings.Cut(after, " ")
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	if short, long := left(0, 5), left(-0.05, -0.025); short != leastLeft || long < axisName+6*tickDigit-1 {
		t.Errorf("%g px left of short numbers, %g px of −0.045", short, long)
	}
	fix := funcs["fix"].(func(int, float64) string)
	for v, want := range map[float64]string{-0.04: "0.0", -0.06: "−0.1", 0: "0.0", -10: "−10.0"} {
		if got := fix(1, v); got != want {
			t.Errorf("%g is written %q, want %q", v, got, want)
		}
	}
	// Three digits tell small forces apart.
	for v, want := range map[float64]string{-31.41: "-31.4 N", 3.141: "3.14 N", 0.3141: "0.314 N", 0: "0.0 N"} {
		if got := force(v); got != want {
			t.Errorf("%g is written %q, want %q", v, got, want)
		}
	}
	d := small(t)
	for k, want := range map[float64]int{100: 1, 1: 3, 0.01: 3} { // the largest is below k
		for i := range d.Stroke.Frames {
			d.Stroke.Frames[i].Force = 0.9 * k * math.Sin(float64(i))
		}
		if got := d.ForceDigits(); got != want {
			t.Errorf("forces up to %g N have %d decimals, want %d", 0.9*k, got, want)
		}
	}
}
