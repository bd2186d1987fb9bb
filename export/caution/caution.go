// Package caution holds the warnings that go wherever a person meets the finger:
// the report, the guide and the folder's README. They are short on purpose.
package caution

// All are the cautions, in the order in which they are shown.
var All = []string{
	"Pinch points: links close with the motor's full force. Keep hands out while it is powered.",
	"Snaps: the clip and the ramp let go suddenly. Wear eye protection at first tests.",
	"Power: the finger may move or open when power is lost or returns.",
	"Load: printed parts creep and break without warning. Never lift over people; expect a drop.",
	"Material data are unproven for your printer until you have tested your own prints.",
	"No contact with people, and none with food unless material and post-processing are approved for it.",
	"A risk assessment (ISO 12100, ISO 10218, ISO/TS 15066), local codes and licensed practice decide on any use.",
}
