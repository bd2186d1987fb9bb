package params

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Whole files that are not finger files, and all that is said about them.
func TestStrangeFiles(t *testing.T) {
	const needs = "it needs at least tuckfinger, name, layers, process, bodies, joints and drive"
	for _, c := range []struct {
		name, data string
		want       []string
	}{
		{"empty", "", []string{"f:1:1: the file is empty; " + needs}},
		{"comments only", "# nothing\n\n", []string{"f:1:1: the file is empty; " + needs}},
		{"document start only", "---\n", []string{`f:2:1: a finger file is "key: value" lines, starting with "tuckfinger: 1", not nothing`}},
		{"text", "hello\n", []string{`f:1:1: a finger file is "key: value" lines, starting with "tuckfinger: 1", not "hello"`}},
		{"list", "- 1\n", []string{`f:1:1: a finger file is "key: value" lines, starting with "tuckfinger: 1", not a list`}},
		{"latin-1", "name: caf\xe9\n", []string{"f:1:10: byte 0xe9 is not UTF-8 text; save the file as UTF-8"}},
		{"utf-16", "\xff\xfea\x00", []string{"f:1:1: the file is UTF-16 text; save it as UTF-8"}},
		{"nul", "name: a\x00b\n", []string{"f:1:8: character U+0000 is invisible and not allowed; delete it"}},
		{"bom inside", "name: a\n\ufeffnote: b\n", []string{"f:2:1: character U+FEFF is invisible and not allowed; delete it"}},
		{"line separator", "name: a\u2028", []string{"f:1:8: character U+2028 is invisible and not allowed; delete it"}},
		{"too large", "#" + strings.Repeat("x", maxBytes), []string{"f:1:1: the file has 1048577 bytes; at most 1048576 are read, so this is not a finger file"}},
		{"nested too deeply", strings.Repeat("[", 20000), []string{"f:1:1: the file is nested too deeply to be a finger file"}},
		{"anchored root", "&a\ntuckfinger: 1\n", []string{`f:1:1: "&a" is a YAML anchor, and this file form has none, so that each value stands where it is used; delete it`}},
		{"directive", "%YAML 9.9\n---\na: 1\n", []string{"f:1:1: this is not valid YAML: found incompatible YAML document"}},
	} {
		_, err := Parse("f", []byte(c.data), nil)
		var got []string
		if err != nil {
			got = strings.Split(err.Error(), "\n")
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

func TestSecondDocument(t *testing.T) {
	_, err := Parse("f", []byte(base(t)+"---\nname: second\n"), nil)
	want := `f:123:1: a second document starts after "---"; a file holds one, so delete the line or split the file`
	if err == nil || err.Error() != want {
		t.Errorf("%v\nwant %s", err, want)
	}
}

// Line ends and a byte order mark change neither values nor places.
func TestLineEnds(t *testing.T) {
	text := base(t)
	want, err := Parse("f", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	bad := strings.Replace(text, "height: 1\n", "height: 1 + pim\n", 1)
	for name, change := range map[string]func(string) string{
		"CRLF":     func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") },
		"CR":       func(s string) string { return strings.ReplaceAll(s, "\n", "\r") },
		"BOM":      func(s string) string { return "\ufeff" + s },
		"trailing": func(s string) string { return strings.ReplaceAll(s, "\n", " \t\n") },
	} {
		got, err := Parse("f", []byte(change(text)), nil)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if diff := cmp.Diff(want.Origin, got.Origin); diff != "" {
			t.Errorf("%s: origins differ:\n%s", name, diff)
		}
		if _, err := Parse("f", []byte(change(bad)), nil); err == nil || !strings.HasPrefix(err.Error(), "f:83:17: ") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestLoad(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		p := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(p), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return p
	}
	write("lib/mine.yaml", "materials:\n  mine:\n    like: PETG\n    modulus: {low: 1700, typical: 1800, high: 1900, source: measured}\n")
	write("lib/more.yaml", "materials:\n  PETG:\n    modulus: {low: 1500, typical: 1600, high: 1700, source: measured}\n")
	text := strings.Replace(base(t), "layers:", "tables: [../lib/mine.yaml, ../lib/more.yaml]\nlayers:", 1)
	text = strings.Replace(text, "material: PETG", "material: mine", 1)
	d, err := Load(write("fingers/a.yaml", text))
	if err != nil {
		t.Fatal(err)
	}
	if e := d.Lib.Materials.Get("mine").Modulus.Typical; e != 1800 {
		t.Errorf("modulus %v", e)
	}
	if e := d.Lib.Materials.Get("PETG").Modulus.Typical; e != 1600 {
		t.Errorf("overridden modulus %v", e)
	}
	_, err = Load(filepath.Join(dir, "none.yaml"))
	if err == nil || !errors.Is(err, os.ErrNotExist) || strings.Count(err.Error(), "none.yaml") != 1 {
		t.Errorf("missing file: %v", err)
	}
}

// Errors in table files have the places of the table file, and a name that the
// faulty table may define is not reported again.
func TestTableErrors(t *testing.T) {
	files := map[string]string{
		"a.yaml": "materials:\n  mine:\n    like: PETG\n    modulus: {low: 1700, typical: 1600, high: 1900, source: measured}\n" +
			"screws:\n  M2.5:\n    like: M33\nprinter: {}\n",
		"b.yaml": "motors:\n  m:\n    mass: 3 N\n    title: pin + 1\n    length: pin\n",
		"c.yaml": "- 1\n",
		"d.yaml": "materials:\n  mine:\n    like: PETG\n    modulus: {low: 1700, typical: 1600, high: 1900, source: measured}\n" +
			"screws:\n  M2.5:\n    like: M33\n",
	}
	read := func(rel string) ([]byte, error) {
		if s, ok := files[rel]; ok {
			return []byte(s), nil
		}
		return nil, os.ErrNotExist
	}
	text := strings.Replace(base(t), "material: PETG", "material: mine", 1)
	for list, want := range map[string][]string{
		"a.yaml": {`dir/a.yaml:8:1: "printer" is not a key here; did you mean "printers"?`},
		"b.yaml": {
			`dir/b.yaml:2:3: motors.m: needs "width", a number in mm, above 0: larger size across the output axis`,
			`dir/b.yaml:2:3: motors.m: needs "height", a number in mm, above 0: smaller size across the output axis`,
			`dir/b.yaml:2:3: motors.m: needs "source", text: where the values come from, or: common practice, no source`,
			`dir/b.yaml:2:3: motors.m: needs exactly one of rotary or linear`,
			`dir/b.yaml:3:11: motors.m.mass: is a force in N, but a mass in g is wanted`,
			`dir/b.yaml:5:13: motors.m.length: "pin" is not a number; only a finger file has dimensions to compute with`,
		},
		"c.yaml": {"dir/c.yaml:1:1: a table file holds sections (materials, printers, pins, screws, leadscrews, slides, motors), not a list"},
		"d.yaml": {
			`dir/d.yaml:4:5: materials.mine.modulus: low 1700, typical 1600, high 1900; must not fall`,
			`dir/d.yaml:7:11: screws.M2.5.like: no entry "M33"; nearest is "M3"; there are M2, M2.5, M3, M4, M5, M6`,
		},
		"d.yaml, d.yaml": {
			`dir/d.yaml:4:5: materials.mine.modulus: low 1700, typical 1600, high 1900; must not fall`,
			`dir/d.yaml:7:11: screws.M2.5.like: no entry "M33"; nearest is "M3"; there are M2, M2.5, M3, M4, M5, M6`,
			`dir/f.yaml:9:18: tables[1]: "d.yaml" is listed twice; delete one`,
		},
		"../x.yaml": {`dir/f.yaml:9:10: tables[0]: table file "../x.yaml" cannot be read: file does not exist; the path is relative to this file`},
	} {
		_, err := Parse("dir/f.yaml", []byte(strings.Replace(text, "layers:", "tables: ["+list+"]\nlayers:", 1)), read)
		var got []string
		if err != nil {
			got = strings.Split(err.Error(), "\n")
		}
		slices.Sort(got)
		slices.Sort(want)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", list, diff)
		}
	}
}

// What takes more than one edit of the base file to provoke.
func TestMoreContradictions(t *testing.T) {
	for _, c := range []struct {
		edits []string // old, new, old, new
		want  string
	}{
		{[]string{"joints:\n", "joints:\n  glue: {rigid: {body: tray, on: tip}}\n", "bodies:\n", "bodies:\n  tray: {}\n", "[snap, B]", "[snap, glue]"},
			`f:107:50: order.O2.while[1]: "glue" is a rigid joint and never moves; name a ramp, clip, hold or another joint`},
		{[]string{"[-2, 14]]\n      shares: C", "[-2, 14]]\n      shares: C", "{lower: [38, 0], middle: [0, 0]}", "{spine: [-2, 50], middle: [0, 0]}", "{from: E, to: C, width: 7}", "{from: E, to: [38, 0], width: 7}",
			"order:\n", "", "  O2: {stroke: out, holds: detent, while: [snap, B], margin: 1.5}\n", ""},
			`f:70:15: joints.guide.slot.shares: pin joint "C" fixes its pin to "spine", which has this slot, so the pin cannot run in it`},
		{[]string{"      shares: C", "      diameter: 3.3"},
			`f:70:17: joints.guide.slot.diameter: no ISO 2338 pin of diameter 3.3 mm; there are 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10 mm; choose one of these, or standard: printed`},
		{[]string{"dimensions:\n", "other:\n", "pin + 2}", "4}", "width: blade", "width: 8", "diameter: pin", "diameter: 3", "play: play", "play: 0.1", "angle: swing", "angle: 45", "first_face: swing", "first_face: 45", "at: 15\n", "at: 5 + five\n"},
			"f:4:1: \"other\" is not a key here; allowed are " + strings.Join(designSchema.KeyNames(), ", ") + "\n" +
				`f:82:13: ramps.detent.at: in "5 + five": "five" is not a number, and the file has no dimensions; write a number, or add five under dimensions
f:115:5: tune.free: "pin" is not a dimension; the file has none
f:116:5: tune.free: "swing" is not a dimension; the file has none`},
		{[]string{"joint: slide\n", "joint: slide\n  speed: 2 mm/s\n", "screw: {screw: Tr8x2, motor: stepper-28}", "direct: {motor: stepper-28}"},
			`f:78:19: drive.direct.motor: motor "stepper-28" turns a shaft, but this drive needs one that pushes a rod; choose actuator-30mm or actuator-50mm`},
		{[]string{"  travel: 22", "  travel: 22 # mm", "screw: {screw: Tr8x2, motor: stepper-28}", "rack: {module: 1, teeth: 7.5, motor: servo-9g}"},
			`f:77:28: drive.rack.teeth: is 7.5; it must be a whole number`},
		{[]string{"screw: {screw: Tr8x2, motor: stepper-28}", "rack: {module: 1, teeth: 12, motor: servo-9g}", "      - hole: {at: B}\n", "      - rack: {from: [4, 30], to: [4, 0], module: 0.8}\n"},
			`f:32:51: bodies.carriage.features[1].rack.module: is 0.8 mm, but the pinion of the drive has 1 mm; both must be equal to mesh`},
		{[]string{"dimensions:\n", "dimensions:\n  bad: {value: 2*(pin, unit: mm}\n  next: {value: bad + 1, unit: mm}\n", "height: 1\n", "height: next/3\n"},
			`f:5:18: dimensions.bad.value: in "2*(pin": has "(" without ")"; close it`},
	} {
		text := base(t)
		for i := 0; i < len(c.edits); i += 2 {
			if !strings.Contains(text, c.edits[i]) {
				t.Fatalf("%q is not in base.yaml", c.edits[i])
			}
			text = strings.ReplaceAll(text, c.edits[i], c.edits[i+1])
		}
		_, err := Parse("f", []byte(text), nil)
		if err == nil || err.Error() != c.want {
			t.Errorf("%q:\n%v\nwant\n%s", c.edits[1], err, c.want)
		}
	}
}

// The look-ups that the other packages use.
func TestLookups(t *testing.T) {
	d, err := Parse("f", []byte(strings.Replace(base(t), "    layer: mid\n", "    layer: mid\n    material: PLA\n", 1)), nil)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := d.Material("tip").Name, d.Material("upper").Name; a != "PLA" || b != "PETG" {
		t.Errorf("materials %s, %s", a, b)
	}
	if p := d.Printer().Name; p != "fdm-0.4" {
		t.Errorf("printer %s", p)
	}
	if w := d.SlotPin(d.Joints.Get("guide").Slot); w != 3 {
		t.Errorf("slot pin %v", w)
	}
	if got := d.ErrorAt("ramps.detent.peak_radius", "is odd").Error(); got != "f:80:3: ramps.detent.peak_radius: is odd" {
		t.Error(got)
	}
	if got := (&Design{}).ErrorAt("a.b", "is odd").Error(); got != ": a.b: is odd" {
		t.Error(got)
	}
	var target Error
	errs := Errors{{Pos{"f", 2, 1}, "b", "x"}, {Pos{"f", 1, 1}, "a", "y"}}
	if errs.Sort(); !errors.As(errs, &target) || target.Path != "a" {
		t.Errorf("As found %v", target)
	}
}

func BenchmarkParse(b *testing.B) {
	data := []byte(base(b))
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := Parse("f", data, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// A folder with a finger file in it is told which file to give.
func TestFolderForAFile(t *testing.T) {
	dir := t.TempDir()
	if _, err := Load(dir); err == nil || !strings.Contains(err.Error(), "cannot be read: is a directory") {
		t.Errorf("an empty folder: %v", err)
	}
	in := filepath.Join(dir, "finger.yaml")
	if err := os.WriteFile(in, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Load(dir); err == nil || err.Error() != dir+": is a folder; give the finger file in it, "+in {
		t.Errorf("a folder with a finger file: %v", err)
	}
}
