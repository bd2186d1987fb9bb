package check

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tuckfinger/params/finding"
)

// passages are the findings of an example after replacements in its file.
func passages(t *testing.T, example string, replace ...string) []finding.Finding {
	t.Helper()
	in := changed(t, example, replace...)
	out := &Findings{in: in, name: "passage"}
	if err := passage(in, out); err != nil || out.err != nil {
		t.Fatal(err, out.err)
	}
	return out.list
}

// changed is an example after replacements in its file.
func changed(t *testing.T, example string, replace ...string) *Input {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "examples", example, "finger.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	file := string(text)
	for i := 0; i < len(replace); i += 2 {
		if strings.Count(file, replace[i]) != 1 {
			t.Fatalf("%q is not once in %s", replace[i], example)
		}
		file = strings.Replace(file, replace[i], replace[i+1], 1)
	}
	name := filepath.Join(t.TempDir(), "finger.yaml")
	if err := os.WriteFile(name, []byte(file), 0o666); err != nil {
		t.Fatal(err)
	}
	return cycleOf(t, name, 200)
}

func TestPassage(t *testing.T) {
	for _, example := range []string{"rack-lifter", "lid-lifter", "ring-hook"} {
		for _, f := range passages(t, example) {
			if f.Status != finding.Pass {
				t.Errorf("%s: %s %s: %s", example, f.Status, f.Subject, f.Detail)
			}
		}
	}
	// The printer's fits: press -0.1 mm, turning +0.12 mm on the diameter.
	for _, c := range []struct {
		name, example   string
		replace         []string
		subject         string
		spare           float64
		detail, changes []string
	}{
		{"a hole that ends below the boss around it", "rack-lifter",
			[]string{"hole: {at: K, layer: [inner, lower]}", "hole: {at: K}"},
			"pin K in middle", -(3 - 0.1) / 2,
			[]string{"overlaps plastic by 1.45 mm", "boss K of middle", "layer lower, z 9.30 to 13.60 mm"},
			[]string{"bodies.middle.features[4].hole.layer", "bodies.middle.features[1].boss"}},
		// A disc of radius 1 about (2.2, 0) comes within 1.2 mm of the axis.
		{"a disc that grows into a hole", "ring-hook",
			[]string{"      - hole: {at: A}\n      - hole: {at: E}\n", "      - hole: {at: A}\n      - hole: {at: E}\n      - boss: {at: [2.2, 0], radius: 1}\n"},
			"pin A in hook", 1.2 - (3+0.12)/2,
			[]string{"overlaps plastic by 0.36 mm", "layer hook", "at s = "}, []string{"bodies.hook.features[6].boss"}},
		// Slot and pin are as wide, less half the play of 0.1 mm; the disc about
		// (1, 50) of radius 2 comes within 1 mm of the pin's line, x = -2.
		{"a disc that grows into a slot", "rack-lifter",
			[]string{"      - slot: {joint: guide_slot}\n", "      - slot: {joint: guide_slot}\n      - boss: {at: [1, 40], radius: 2}\n"},
			"pin C in spine", 1 - (3+0.1)/2,
			[]string{"of spine, layer frame"}, []string{"bodies.spine.features[10].slot.layer or bodies.spine.features[11].boss"}},
		// 16 mm below the cover's top, 21.2 mm, is 2.8 mm below the end of the hole.
		{"a screw that is longer than its hole", "ring-hook",
			[]string{"screw: M3, hole: medium, listed: true}", "screw: M3, hole: medium, listed: true, length: 16}"},
			"cover M3 medium at (-12.0, 68.0) in spine", -1.5,
			[]string{"overlaps plastic by 1.50 mm", "z 5.20 to 8.00 mm"}, []string{"bodies.cover.features[1].screws"}},
		// Screws of the mount at z = 8 ± 4.95 mm lie in the spine's neck, z 0 to 5 mm.
		{"a screw across the layers of another body", "rack-lifter",
			[]string{"circle: 50, count: 4", "circle: 14, count: 4"},
			"mount M6 medium at (4.9, -3.1) in spine", -3,
			[]string{"overlaps plastic by 3.00 mm", "z 0.00 to 5.00 mm"}, []string{"bodies.mount.features[3].screws"}},
	} {
		found := false
		for _, f := range passages(t, c.example, c.replace...) {
			if f.Subject != c.subject {
				if f.Status != finding.Pass {
					t.Errorf("%s: %s %s: %s", c.name, f.Status, f.Subject, f.Detail)
				}
				continue
			}
			found = true
			if f.Status != finding.Fail || math.Abs(f.Value-c.spare) > 5e-3 { // poses stand apart
				t.Errorf("%s: %s, %.4f mm, want %.4f", c.name, f.Status, f.Value, c.spare)
			}
			for _, d := range c.detail {
				if !strings.Contains(f.Detail, d) {
					t.Errorf("%s: %q lacks %q", c.name, f.Detail, d)
				}
			}
			for _, d := range c.changes {
				if !strings.Contains(f.Change, d) {
					t.Errorf("%s: %q lacks %q", c.name, f.Change, d)
				}
			}
		}
		if !found {
			t.Errorf("%s: no finding %q", c.name, c.subject)
		}
	}
}

// A screw across the layers of another body has its way where a bore is.
func TestPassageThroughBores(t *testing.T) {
	for _, f := range passages(t, "rack-lifter",
		"circle: 50, count: 4, angle: 45", "circle: 14, count: 2, angle: 45",
		"      - slot: {joint: guide_slot}\n", "      - slot: {joint: guide_slot}\n      - bore: {from: [4.95, 157], to: [4.95, 130], z: 3.05, diameter: 6.6}\n") {
		if f.Status != finding.Pass {
			t.Errorf("%s %s: %s", f.Status, f.Subject, f.Detail)
		}
	}
}

// The cover's screws may be cut into the spine: in a hole for that, or in a plain one
// of the core's size, M3 × 0.5: 2.5 mm. In a smaller one they are not.
func TestPassageOfThreads(t *testing.T) {
	const inserts = "screws: {at: [[-12, 68], [-12, 94], [8, 68], [8, 94]], screw: M3, hole: insert, layer: {from: 8, to: 17 + 4*air}}"
	plain := func(d string) string {
		var all []string
		for _, at := range []string{"[-12, 68]", "[-12, 94]", "[8, 68]", "[8, 94]"} {
			all = append(all, "hole: {at: "+at+", diameter: "+d+", fit: none, layer: {from: 8, to: 17 + 4*air}}")
		}
		return strings.Join(all, "\n      - ")
	}
	for _, c := range []struct {
		holes string
		spare float64
	}{
		{strings.Replace(inserts, "insert", "thread", 1), 0},
		{plain("2.5"), 0},
		{plain("2.4"), 1.2 - 1.5},
	} {
		found := false
		for _, f := range passages(t, "ring-hook", inserts, c.holes, "hole: medium, listed: true", "hole: medium, listed: true, length: 8") {
			if strings.HasPrefix(f.Subject, "cover M3 medium") && strings.HasSuffix(f.Subject, "in spine") {
				found = true
				if math.Abs(f.Value-c.spare) > 1e-6 {
					t.Errorf("%s: %s %.3f mm, want %.3f; %s", c.holes, f.Status, f.Value, c.spare, f.Detail)
				}
			}
		}
		if !found {
			t.Errorf("%s: no finding of the screws in the spine", c.holes)
		}
	}
}

// From where a screw comes that goes through a plate from 4 to 7 mm.
func TestScrewComesFrom(t *testing.T) {
	at := func(kind string, z0, z1 float64) seat { return seat{kind: kind, z0: z0, z1: z1} }
	for _, c := range []struct {
		name     string
		seats    seats
		down, up bool
		under    float64 // the head, coming from where it may, from above if from both
	}{
		{"nothing known", nil, true, true, 7},
		{"an insert below", seats{at("insert", 0, 4)}, true, false, 7},
		{"a nut above", seats{at("nut", 7, 9)}, false, true, 4},
		{"a counterbore", seats{at("head", 6, 7)}, true, false, 6},
		{"a counterbore below and its own hole", seats{at("hole", 4, 7), at("head", 4, 5)}, false, true, 5},
		{"a hole in another part above", seats{at("hole", 7, 12)}, false, true, 4},
		{"between two others", seats{at("hole", 0, 4), at("hole", 7, 12)}, true, true, 7},
		{"between two others, thread in the upper", seats{at("hole", 0, 4), at("thread", 7, 12)}, false, true, 4},
		{"head above, other hole above it", seats{at("head", 6, 7), at("hole", 7, 12)}, true, false, 6},
	} {
		down, up := c.seats.comes(4, 7)
		if under := c.seats.under(4, 7, down); down != c.down || up != c.up || under != c.under {
			t.Errorf("%s: from above %v, from below %v, head at %g mm; want %v, %v, %g", c.name, down, up, under, c.down, c.up, c.under)
		}
	}
}
