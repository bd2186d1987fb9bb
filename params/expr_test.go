package params

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// evalText evaluates an expression over a few dimensions.
func evalText(text, want string) (qty, error) {
	e, err := parseExpr(text, want)
	if err != nil {
		return qty{}, fmt.Errorf("%d: %s", err.off, err.msg)
	}
	dims := map[string]qty{
		"pin": {v: 3, u: unitOf("mm")}, "swing": {v: 45, u: unitOf("deg")}, "force": {v: 12, u: unitOf("N")},
		"modulus": {v: 1800, u: unitOf("MPa")}, "ratio": {v: 0.5}, "weight": {v: 250, u: unitOf("g")},
	}
	q, ok, err := e.eval(func(name string) (qty, string, bool) {
		q, has := dims[name]
		if !has {
			return q, "unknown " + name, false
		}
		return q, "", true
	})
	if err != nil {
		return qty{}, fmt.Errorf("%d: %s", err.off, err.msg)
	}
	if !ok {
		return qty{}, errors.New("poisoned")
	}
	return q, nil
}

// Values are the rules of arithmetic, units those of physics: N/mm² is MPa
// (1 MPa = 1 N/mm², ISO 80000-4), N·mm is a torque.
func TestArithmetic(t *testing.T) {
	for _, c := range []struct {
		text string
		v    float64
		unit string
	}{
		{"1 + 2*3", 7, "1"}, {"(1 + 2)*3", 9, "1"}, {"8/4/2", 1, "1"}, {"8 - 4 - 2", 2, "1"}, {"-2*-3", 6, "1"},
		{"--2", 2, "1"}, {"+2", 2, "1"}, {"-(1+2)", -3, "1"}, {"1e3", 1000, "1"}, {"1.5e-3", 0.0015, "1"},
		{".5", 0.5, "1"}, {"5.", 5, "1"}, {"0", 0, "1"}, {"0.25", 0.25, "1"}, {"2E2", 200, "1"},
		{"pin", 3, "mm"}, {"pin/2 + 0.1", 1.6, "mm"}, {"0.1 + pin/2", 1.6, "mm"}, {"2*pin - 1", 5, "mm"},
		{"(1 + 2)*pin", 9, "mm"}, {"pin*pin", 9, "mm²"}, {"pin*pin*pin", 27, "mm³"}, {"pin/pin", 1, "1"},
		{"pin*ratio", 1.5, "mm"}, {"1/pin*pin", 1, "1"}, {"swing/2", 22.5, "deg"}, {"-swing", -45, "deg"},
		{"force/pin/pin", 12.0 / 9, "MPa"}, {"force/(pin*pin)", 12.0 / 9, "MPa"}, {"force*pin", 36, "N·mm"},
		{"force/pin", 4, "N/mm"}, {"modulus*pin*pin", 16200, "N"}, {"force*pin/swing", 0.8, "N·mm/deg"},
		{"10 mm * ratio", 5, "mm"}, {"2 N*mm + force*pin", 38, "N·mm"}, {"3 N/mm*pin", 9, "N"}, {"pin + 1 mm", 4, "mm"},
		{"2 N·mm/deg * swing", 90, "N·mm"}, {"weight/2 + 5", 130, "g"}, {"force*force/pin", 48, "N²/mm"},
		{"1/(pin*weight)", 1.0 / 750, "1/(mm·g)"}, {" 1+\t2 ", 3, "1"},
	} {
		q, err := evalText(c.text, "")
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if math.Abs(q.v-c.v) > 1e-12*math.Abs(c.v) || q.u.String() != c.unit {
			t.Errorf("%q = %v %s, want %v %s", c.text, q.v, q.u, c.v, c.unit)
		}
	}
}

func TestArithmeticErrors(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"pin + swing", "4: cannot add mm and deg; both sides must have the same unit"},
		{"swing - pin", "6: cannot subtract mm from deg; both sides must have the same unit"},
		{"pin + ratio", "4: cannot add mm and a pure number; both sides must have the same unit"},
		{"1 + (2 + pim)", "9: unknown pim"},
		{"1/0", "1: divides by zero; the right side of / is 0"},
		{"1/(1 - 1)", "1: divides by zero; the right side of / is 0"},
		{"1e308*10", "5: is too large for a number"},
		{"0x1F", `0: "0x1F" is not a decimal number; write it in plain decimal digits, 31`},
		{"0b11", `0: "0b11" is not a decimal number; write it in plain decimal digits, 3`},
		{"00", `0: "00" starts with 0, which some programs read as octal; write 0`},
		{"1 + 007", `4: "007" starts with 0, which some programs read as octal; write 7`},
		{"1.2.3", `3: "." cannot stand here; a number is digits with a decimal point, or arithmetic with + - * / ( ) and dimensions`},
		{"1 + .", `4: "." is not a number`},
		{"2 3", `2: "3" cannot stand here; a number is digits with a decimal point, or arithmetic with + - * / ( ) and dimensions`},
		{"1 in", `2: "in" is not a unit of this file form; write 25.4 mm`},
		{"2**3", "2: there are no powers; write a*a"}, {"2^3", "1: there are no powers; write a*a"},
		{"a b", `2: "b" cannot stand here; a number is digits with a decimal point, or arithmetic with + - * / ( ) and dimensions`},
		{"$", `0: "$" cannot stand here; a number is digits with a decimal point, or arithmetic with + - * / ( ) and dimensions`},
		{"", "0: has no value; write a number"},
		{"()", `1: ")" has no "(" before it`},
		{strings.Repeat("(", 65) + "1", "64: is nested too deeply; at most 64 parentheses and signs may stand inside each other"},
	} {
		if _, err := evalText(c.text, ""); err == nil || err.Error() != c.want {
			t.Errorf("%.20q: error %v\nwant %s", c.text, err, c.want)
		}
	}
}

// Any sum, product or fraction of literals and lengths gives what Go gives.
func TestArithmeticAgreesWithGo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(0.001, 1000).Draw(t, "v")
		text, want := exactNum(v), v
		for range rapid.IntRange(0, 12).Draw(t, "n") {
			x := rapid.Float64Range(0.001, 1000).Draw(t, "x")
			switch rapid.IntRange(0, 3).Draw(t, "op") {
			case 0:
				text, want = "("+text+") + "+exactNum(x), want+x
			case 1:
				text, want = "("+text+") - "+exactNum(x), want-x
			case 2:
				text, want = exactNum(x)+"*("+text+")", x*want
			case 3:
				text, want = "("+text+")/"+exactNum(x), want/x
			}
		}
		q, err := evalText(text, "")
		if err != nil || q.v != want {
			t.Fatalf("%s = %v (%v), want %v", text, q.v, err, want)
		}
	})
}

// A long sum needs no stack and time in proportion.
func TestLongSum(t *testing.T) {
	q, err := evalText("1"+strings.Repeat("+1", 200_000), "")
	if err != nil || q.v != 200_001 {
		t.Errorf("%v %v", q.v, err)
	}
}

// The column of a message is that of the offending place, also in quotes, after
// letters that take several bytes, and in flow lists.
func TestColumns(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"at: 15\n", "at: 1 + pim\n", "82:13"},
		{"at: 15\n", "at: \"1 + pim\"\n", "82:14"},
		{"at: 15\n", "at: '1 + pim'\n", "82:14"},
		{"at: 15\n", "at:   1 +  pim  # µm\n", "82:16"},
		{"at: 15\n", "at: 1 +\n      pim\n", "82:9"},    // folded: the start of the value
		{"at: 15\n", "at: \"1 \\u002b pim\"\n", "82:9"}, // escaped: likewise
		{"at: {spine: [3, 0]", "at: {spine: [3, 1 + pim]", "61:33"},
		{"note: printed", "note: printed", ""},
	} {
		_, err := Parse("f", []byte(strings.Replace(base(t), c.old, c.new, 1)), nil)
		if c.want == "" {
			continue
		}
		var errs Errors
		if !errors.As(err, &errs) || len(errs) != 1 || errs[0].Pos.String() != "f:"+c.want {
			t.Errorf("%q: %v, want place %s", c.new, err, c.want)
		}
	}
}

// Radians come from degrees by π/180 and torques per degree become torques per
// radian; dimensions keep their unit.
func TestConversion(t *testing.T) {
	d, err := Parse("f", []byte(strings.Replace(base(t), "springs:",
		"springs:\n  coil: {torsion: {joint: B, rate: 2, free_angle: 90}}", 1)), nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"attitude, by default -90", d.Attitude, -math.Pi / 2},
		{"first_face, a dimension", d.Ramps.Get("detent").First, math.Pi / 4},
		{"dimension", d.Dimensions.Get("swing").Value, 45},
		{"rate", d.Springs.Get("coil").Torsion.Rate, 2 * 180 / math.Pi},
		{"free angle", d.Springs.Get("coil").Torsion.Free, math.Pi / 2},
		{"blade", d.Dimensions.Get("blade").Value, 14.2},
		{"polar x", d.Joints.Get("E").Pin.At.Get("tip").X, 7 * math.Cos(205*math.Pi/180)},
		{"polar y", d.Joints.Get("E").Pin.At.Get("tip").Y, 7 * math.Sin(205*math.Pi/180)},
		{"hull", d.Bodies.Get("middle").Features[1].Post.Layer.To, 8.4},
		{"joint's point", d.Bodies.Get("tip").Features[1].Bar.To.Point.X, 7 * math.Cos(205*math.Pi/180)},
		{"face from the place", d.Object.Face, 8},
	} {
		if math.Abs(c.got-c.want) > 1e-12 {
			t.Errorf("%s: %v, want %v", c.what, c.got, c.want)
		}
	}
}

func TestOrigin(t *testing.T) {
	d, err := Parse("finger.yaml", []byte(base(t)), nil)
	if err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{
		"name":                           "finger.yaml:2:7",
		"ramps.detent":                   "finger.yaml:79:3",
		"ramps.detent.rail.thickness":    "finger.yaml:86:23",
		"ramps.detent.peak_radius":       "finger.yaml:79:3", // by default: the group
		"bodies.tip.features[2].hole.at": "finger.yaml:39:20",
		"joints.K.pin.at.upper.angle":    "finger.yaml:72:61",
		"joints.A.pin.at.spine[0]":       "finger.yaml:61:26",
		"clips.snap.arm.nose_radius":     "finger.yaml:89:5",
		"order.O2.while[1]":              "finger.yaml:105:50",
		"attitude":                       "finger.yaml:1:1",
	} {
		if got := d.Origin.At(path).String(); got != want {
			t.Errorf("%s stands at %s, want %s", path, got, want)
		}
	}
	want := map[string][]string{
		"dimensions.blade.value":             {"pin", "play"},
		"bodies.spine.features[0].bar.width": {"blade", "pin", "play"},
		"joints.K.pin.at.upper":              {"swing"},
		"ramps.detent.first_face":            {"swing"},
	}
	for path, uses := range want {
		if diff := cmp.Diff(uses, d.Origin.Uses[path]); diff != "" {
			t.Errorf("%s uses (-want +got):\n%s", path, diff)
		}
	}
	// A value that is used where a joint or layer is named counts too.
	text := strings.Replace(base(t), "mid: {from: 4.4", "mid: {from: 4 + 4*play", 1)
	text = strings.Replace(text, "at: {carriage: [-1, 0]", "at: {carriage: [pin - 4, 0]", 1)
	if d, err = Parse("f", []byte(text), nil); err != nil {
		t.Fatal(err)
	}
	for path, uses := range map[string][]string{
		"bodies.tip.layer":                     {"play"},
		"bodies.carriage.features[1].hole.at":  {"pin"},
		"bodies.middle.features[1].post.layer": {"play"},
	} {
		if diff := cmp.Diff(uses, d.Origin.Uses[path]); diff != "" {
			t.Errorf("%s uses (-want +got):\n%s", path, diff)
		}
	}
}

func TestWarnings(t *testing.T) {
	text := strings.Replace(base(t), "  swing:", "  spare: {value: 1 + 0*extra, unit: mm}\n  extra: {value: 1, unit: mm}\n  swing:", 1)
	text = strings.Replace(text, "      - slot: {joint: guide}\n", "", 1)
	text = strings.Replace(text, "      - arm: {clip: snap}\n", "", 1)
	d, err := Parse("f", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	got := strings.Split(d.Warnings.Error(), "\n")
	want := []string{
		`f:7:3: dimensions.spare: is not used by anything; use it or delete it`,
		`f:8:3: dimensions.extra: is not used by anything; use it or delete it`,
		`f:64:3: joints.guide: body "spine" has no "slot" feature for it, so it will be missing from the print`,
		`f:89:5: clips.snap.arm: body "upper" has no "arm" feature for it, so it will be missing from the print`,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("warnings (-want +got):\n%s", diff)
	}
}

// A chain of dimensions lists indirect ones, whatever their order in the file.
func TestIndirectUses(t *testing.T) {
	text := strings.Replace(base(t), "dimensions:\n", "dimensions:\n  c: {value: b + 1, unit: mm}\n  b: {value: 2*a, unit: mm}\n  a: {value: 3, unit: mm}\n", 1)
	text = strings.Replace(text, "travel: 22", "travel: c + 15", 1)
	d, err := Parse("f", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	if got := d.Origin.Uses["drive.travel"]; !slices.Equal(got, []string{"a", "b", "c"}) {
		t.Errorf("uses %v", got)
	}
	if d.Drive.Travel != 22 {
		t.Errorf("travel %v", d.Drive.Travel)
	}
}
