package assembly

import (
	"errors"
	"strings"
	"testing"

	"tuckfinger/assembly/stroke"
	"tuckfinger/params"
)

// A rail needs to reach as far as the pin's centre is lifted, and no farther: a
// ramp may stand near its end. One that the pin meets before the rail begins is an
// error with its place.
func TestRampNearTheEndOfItsRail(t *testing.T) {
	second := func(at string) *params.Design {
		return example(t, "lid-lifter", "\nclips:\n", `
  second: {slot: near_pin, wall: right, at: `+at+`, height: 0.4, first_face: 30, last_face: 30,
           rail: {thickness: 0.9, from: 0, to: guide + collapse, slit: 1.2}}

clips:
`)
	}
	a := examine(t, second("2"))
	if a.Stroke.Find(stroke.RampPeak, "second", false) == nil {
		t.Error("the second ramp is not passed")
	}
	var list params.Errors
	_, err := Examine(second("0.3"), nil)
	if !errors.As(err, &list) || list[0].Line == 0 || list[0].Path != "ramps.second.rail" || !strings.Contains(list[0].Msg, "reaches from 0 to 22.2 mm") {
		t.Errorf("%v", err)
	}
}
