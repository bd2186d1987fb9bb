package assembly

import (
	"testing"

	"tuckfinger/params/finding"
)

// What a finding tells to change makes it better: each is done here, and measured
// again.
func TestSuggestionsHelp(t *testing.T) {
	const entering = "order:\n  IN: {stroke: out, holds: lock, while: [A]}\n"
	for _, c := range []struct {
		example, check, subject string
		change                  string
		old, new                string // the change done in the file
	}{
		{"ring-hook", "wall", "rod", "raise bodies.rod.features[0].bar.width", "from: E, to: B, width: 7", "from: E, to: B, width: 7.5"},
		{"ring-hook", "hole", "rod hole B", "raise dimensions.pin (joints.B.pin.diameter)", "pin: {value: 3", "pin: {value: 4"},
		{"ring-hook", "hole", "carriage hole at", "change bodies.carriage.features[2].screws", "[0, 58]], screw: M3", "[0, 58]], screw: M4"},
		{"ring-hook", "clearance", "rod / hook", "change dimensions.air (layers)", "air: {value: 0.3", "air: {value: 0.4"},
		{"ring-hook", "clearance", "rod / pin A", "change dimensions.rod (bodies.rod)", "rod: {value: 45", "rod: {value: 46"},
		{"ring-hook", "retention", "pin B", "lower dimensions.pin (joints.B.pin.diameter)", "pin: {value: 3", "pin: {value: 2.5"},
		{"ring-hook", "pin play", "rod on pin B", "change joints.B.pin.fits.rod", "carriage: press, rod: turning", "carriage: press, rod: sliding"},
		{"ring-hook", "motor", "stroke", "change drive.direct.motor", "motor: actuator-30mm", "motor: actuator-50mm"},
		{"rack-lifter", "guide", "slide, grip", "raise joints.slide.slide.length", "length: 40, play", "length: 50, play"},
		{"lid-lifter", "order", "IN", "raise clips.lock.arm.entry", "entry: 20", "entry: 30"},
		{"lid-lifter", "order", "B1", "raise clips.lock.arm.retention", "retention: 45", "retention: 50"},
	} {
		var got [2]finding.Finding
		for i, now := range []string{c.old, c.new} {
			change := []string{c.old, now}
			if c.check == "order" {
				change = append(change, "order:\n", entering)
			}
			d := example(t, c.example, change...)
			got[i] = findingOf(t, examine(t, d), c.check, c.subject)
		}
		if got[0].Change != c.change {
			t.Errorf("%s %s: %q, want %q", c.check, c.subject, got[0].Change, c.change)
		}
		if better := got[1].Value - got[0].Value; better == 0 || better > 0 != got[0].AtLeast {
			t.Errorf("%s %s: %g before %q, then %g", c.check, c.subject, got[0].Value, c.new, got[1].Value)
		}
	}
}
