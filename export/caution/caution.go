// Package caution holds the warnings that go wherever a person meets the finger:
// the report, the guide and the folder's README. They are short on purpose.
package caution

import (
	"fmt"
	"strings"

	"tuckfinger/params"
)

// For returns the cautions for a finger, in the order in which they are shown;
// they speak of what it has only.
func For(d *params.Design) []string {
	return []string{
		"Pinch points: links close with the motor's full force. Keep hands out while it is powered.",
		sudden(d),
		"Power: the finger may move or open when power is lost or returns.",
		"Load: printed parts creep and break without warning. Never lift over people; expect a drop.",
		"Material data are unproven for your printer until you have tested your own prints.",
		"No contact with people, and none with food unless material and post-processing are approved for it.",
		"A risk assessment (ISO 12100, ISO 10218, ISO/TS 15066), local codes and licensed practice decide on any use.",
	}
}

// sudden is the caution about what lets go at once.
func sudden(d *params.Design) string {
	var what []string
	for _, k := range []struct {
		name string
		n    int
	}{{"clip", len(d.Clips.Names)}, {"ramp", len(d.Ramps.Names)}, {"hold", len(d.Holds.Names)}, {"spring", len(d.Springs.Names)}} {
		switch k.n {
		case 0:
		case 1:
			what = append(what, "the "+k.name)
		default:
			what = append(what, "the "+k.name+"s")
		}
	}
	if len(what) == 0 {
		return "Eyes: printed parts that break may fly off. Wear eye protection at first tests."
	}
	last := what[len(what)-1]
	verb := "let"
	if len(what) == 1 {
		if !strings.HasSuffix(last, "s") {
			verb = "lets"
		}
	} else {
		last = strings.Join(what[:len(what)-1], ", ") + " and " + last
	}
	return fmt.Sprintf("Sudden moves: %s %s go at once. Wear eye protection at first tests.", last, verb)
}
