package collect

import (
	"bytes"
	"html"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tuckfinger/export/page"
	"tuckfinger/params"
)

// kind is something that a finger may have or not.
type kind struct {
	has func(*params.Design) bool
	// words that a guide has at least one of with the kind, and none of without.
	words string
	drop  func(*params.Design)
}

func without(d *params.Design, drop func(f *params.Feature) bool) {
	for i := range d.Bodies.Values {
		b := &d.Bodies.Values[i]
		b.Features = slices.DeleteFunc(slices.Clone(b.Features), func(f params.Feature) bool { return drop(&f) })
	}
}

func feature(has func(f *params.Feature) bool) func(*params.Design) bool {
	return func(d *params.Design) bool {
		return slices.ContainsFunc(d.Bodies.Values, func(b params.Body) bool {
			return slices.ContainsFunc(b.Features, func(f params.Feature) bool { return has(&f) })
		})
	}
}

func inserts(f *params.Feature) bool { return f.Screws != nil && f.Screws.Hole == "insert" }

var kinds = map[string]kind{
	"clip": {func(d *params.Design) bool { return len(d.Clips.Names) > 0 }, "clips?|arms?", func(d *params.Design) {
		d.Clips = params.Named[params.Clip]{}
		without(d, func(f *params.Feature) bool { return f.Arm != nil || f.Post != nil })
	}},
	"ramp": {func(d *params.Design) bool { return len(d.Ramps.Names) > 0 }, "ramps?|rails?|slits?", func(d *params.Design) {
		d.Ramps = params.Named[params.Ramp]{}
	}},
	"slot": {feature(func(f *params.Feature) bool { return f.Slot != nil }), "slots?", nil},
	"hold": {func(d *params.Design) bool { return len(d.Holds.Names) > 0 }, "holds?", func(d *params.Design) {
		d.Holds = params.Named[params.Hold]{}
	}},
	"stop": {func(d *params.Design) bool { return len(d.Stops.Names) > 0 }, "stop met|stop left|stops", func(d *params.Design) {
		d.Stops = params.Named[params.Stop]{}
	}},
	"spring": {func(d *params.Design) bool { return len(d.Springs.Names) > 0 }, "springs?", func(d *params.Design) {
		d.Springs = params.Named[params.Spring]{}
	}},
	"pad": {func(d *params.Design) bool { return len(d.Pads.Names) > 0 }, "pads?|grip|glue", func(d *params.Design) {
		d.Pads, d.Grasp = params.Named[params.Pad]{}, nil
		without(d, func(f *params.Feature) bool { return f.Pad != nil })
	}},
	"object":  {func(d *params.Design) bool { return d.Object != nil }, "object", func(d *params.Design) { d.Object, d.Grasp = nil, nil }},
	"place":   {func(d *params.Design) bool { return d.Place != nil }, "place", func(d *params.Design) { d.Place = nil }},
	"passive": {func(d *params.Design) bool { return d.Passive != nil }, "floor", func(d *params.Design) { d.Passive = nil }},
	"insert":  {feature(inserts), "inserts?|soldering", func(d *params.Design) { without(d, inserts) }},
	"screws": {feature(func(f *params.Feature) bool { return f.Screws != nil }), "screws|hexagon keys", func(d *params.Design) {
		without(d, func(f *params.Feature) bool { return f.Screws != nil })
	}},
	"lead screw": {func(d *params.Design) bool { return d.Drive.Screw != nil }, "lead screw", nil},
	"rack":       {func(d *params.Design) bool { return d.Drive.Rack != nil }, "pinion|gear motor", nil},
	"actuator":   {func(d *params.Design) bool { return d.Drive.Servo != nil }, "actuator", nil},
}

var hidden = regexp.MustCompile(`(?s)<style.*?</style>|<svg.*?</svg>|<[^>]*>`)

// sentences is what a person reads in a guide, without the names that the file
// gives.
func sentences(t *testing.T, d *params.Design, data *page.Data) string {
	t.Helper()
	var b bytes.Buffer
	if err := page.Guide(&b, data); err != nil {
		t.Fatal(err)
	}
	text := html.UnescapeString(hidden.ReplaceAllString(b.String(), " "))
	for _, names := range [][]string{{d.Name}, d.Bodies.Names, d.Joints.Names, d.Clips.Names, d.Ramps.Names, d.Holds.Names, d.Stops.Names, d.Springs.Names, d.Pads.Names} {
		for _, n := range names {
			text = regexp.MustCompile(`\b`+regexp.QuoteMeta(n)+`\b`).ReplaceAllString(text, "#")
		}
	}
	return strings.ToLower(text)
}

func reads(t *testing.T, what string, d *params.Design) {
	t.Helper()
	d.Note = ""
	data, err := Quick(d)
	if err != nil {
		t.Fatal(err)
	}
	text := sentences(t, d, data)
	for name, k := range kinds {
		m := regexp.MustCompile(`\b(` + k.words + `)\b`).FindStringIndex(text)
		switch has := k.has(d); {
		case has && m == nil && name != "stop": // it may never be met
			t.Errorf("%s: the guide does not speak of its %s", what, name)
		case !has && m != nil:
			t.Errorf("%s: it has no %s, but the guide says %q", what, name, text[max(0, m[0]-60):min(len(text), m[1]+40)])
		}
	}
	if has := len(data.Events()) > 0; has != strings.Contains(text, "events below") || has != strings.Contains(text, "events listed") {
		t.Errorf("%s: %d events, and the guide says otherwise", what, len(data.Events()))
	}
}

// A guide speaks of what the finger has and of nothing that it has not.
func TestGuideSpeaksOfTheFinger(t *testing.T) {
	for _, name := range examples {
		reads(t, name, example(t, name))
	}
	full := func() *params.Design {
		return example(t, "rack-lifter", [2]string{"\nstops:\n", `
springs:
  band: {linear: {from: {body: spine, at: [-10, 90]}, to: {body: carriage, at: [0, 20]}, rate: 0.02, free_length: 5}}
passive: {body: tip, floor: -36, descent: 3, from: 2}

stops:
`})
	}
	reads(t, "with everything", full())
	drops := slices.DeleteFunc(slices.Sorted(maps.Keys(kinds)), func(k string) bool { return kinds[k].drop == nil })
	for _, k := range drops {
		d := full()
		d.Order = params.Named[params.Rule]{}
		kinds[k].drop(d)
		reads(t, "without "+k, d)
	}
	d := full()
	d.Order = params.Named[params.Rule]{}
	for _, k := range drops {
		kinds[k].drop(d)
	}
	reads(t, "with nothing", d)
}
