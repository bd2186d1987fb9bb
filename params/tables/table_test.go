package tables

import (
	"math"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var fileName = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_.-]*$`)

func TestBuiltin(t *testing.T) {
	tab := Builtin()
	if err := tab.Validate(); err != nil {
		t.Error(err)
	}
	var fields []string
	for i := range reflect.TypeFor[Tables]().NumField() {
		fields = append(fields, key(reflect.TypeFor[Tables]().Field(i)))
	}
	if diff := cmp.Diff(fields, Sections()); diff != "" {
		t.Error(diff)
	}
	for _, section := range Sections() {
		names, ok := tab.Names(section)
		if !ok || len(names) == 0 {
			t.Errorf("%s is empty", section)
		}
		seen := map[string]bool{}
		for _, n := range names {
			if seen[n] {
				t.Errorf("%s.%s is there twice", section, n)
			}
			seen[n] = true
			// Only such names can stand as keys of a file, to be overridden.
			if !fileName.MatchString(n) {
				t.Errorf("%s.%s could not be a key of a table file", section, n)
			}
		}
	}
	if _, ok := tab.Names("gears"); ok {
		t.Error("there is a section gears")
	}
	if !reflect.DeepEqual(tab, Builtin()) {
		t.Error("two calls of Builtin differ")
	}
	// A caller's mistake in one copy must not reach another.
	tab.Materials.Get("PLA").Modulus.Typical = 1
	if Builtin().Materials.Get("PLA").Modulus.Typical == 1 {
		t.Error("two calls of Builtin share a group")
	}
	for i, m := range tab.Motors.Values {
		if m.Name != tab.Motors.Names[i] {
			t.Errorf("motor %q is filed as %q", m.Name, tab.Motors.Names[i])
		}
	}
}

// Every field that a file can give has the tags that the decoder, the schema and
// the reference page need.
func TestTags(t *testing.T) {
	units := []string{"mm", "N", "N·mm", "MPa", "deg", "g", "1", "g/cm3", "s", "mm/s"}
	var walk func(path string, s reflect.Type, sourced bool)
	walk = func(path string, s reflect.Type, sourced bool) {
		_, own := s.FieldByName("Source")
		if !own && !sourced && !strings.Contains("Material Printer Screw Tables", s.Name()) {
			t.Errorf("%s: the group has no source", path)
		}
		for i := range s.NumField() {
			f := s.Field(i)
			at := path + "." + f.Name
			if f.Tag.Get("tf") == "" {
				t.Errorf("%s: no tf", at)
			}
			if key(f) == "" {
				continue
			}
			if doc := f.Tag.Get("doc"); !strings.HasSuffix(doc, ".") {
				t.Errorf("%s: doc %q is not a sentence", at, doc)
			}
			e := f.Type
			for e.Kind() == reflect.Pointer || e.Kind() == reflect.Slice {
				e = e.Elem()
			}
			if e.Kind() == reflect.Float64 && !slices.Contains(units, f.Tag.Get("unit")) {
				t.Errorf("%s: unit %q", at, f.Tag.Get("unit"))
			}
			if f.Name == "Source" && f.Tag.Get("tf") != "source,req" {
				t.Errorf("%s: the source is not mandatory", at)
			}
			if e.Kind() == reflect.Struct {
				walk(at, e, own)
			}
		}
	}
	all := reflect.TypeFor[Tables]()
	for i := range all.NumField() {
		values, _ := all.Field(i).Type.FieldByName("Values")
		walk(all.Field(i).Name, values.Type.Elem(), false)
	}
}

func TestLookups(t *testing.T) {
	tab := Builtin()
	check := func(err error, want string) {
		t.Helper()
		if err == nil || err.Error() != want {
			t.Errorf("%v\nwant %s", err, want)
		}
	}
	_, err := tab.Material("PTEG")
	check(err, `no material "PTEG"; nearest is "PETG"; there are PLA, PETG, ABS, ASA, PA12, PC, TPU-95A, resin, steel, steel-hardened`)
	_, err = tab.Slide("rail7")
	check(err, `no slide "rail7"; nearest is "rail-7"; there are rail-5, rail-7, rail-9, rail-12`)
	_, err = tab.Screw("M8")
	check(err, `no screw "M8"; there are M2, M2.5, M3, M4, M5, M6`)
	_, err = tab.LeadScrew("quite another")
	check(err, `no lead screw "quite another"; there are Tr8x1.5, Tr8x2, Tr8x4P2, Tr8x8P2, Tr10x2, Tr12x3, Tr16x4, M3x0.5, M4x0.7, M5x0.8, M6x1, M8x1.25`)
	_, err = new(Tables).Motor("servo")
	check(err, `no motor "servo"; there are none`)
	for _, name := range tab.Slides.Names {
		if s, err := tab.Slide(name); err != nil || s.Name != name {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestNearest(t *testing.T) {
	names := []string{"PLA", "PETG", "TPU-95A", "fdm-0.4", "fdm-0.25", "thickness"}
	for name, want := range map[string]string{
		"petg": "PETG", "PTEG": "PETG", "PET": "PETG", "tpu95a": "TPU-95A", "fdm-0.5": "fdm-0.4",
		"fdm-.25": "fdm-0.25", "thikness": "thickness", "hticknses": "thickness", "copper": "", "": "", "x": "", "PETG": "PETG",
	} {
		if got := Nearest(name, names); got != want {
			t.Errorf("%q: %q, want %q", name, got, want)
		}
	}
	if got := Nearest("abc", []string{"abd", "abe"}); got != "abd" {
		t.Errorf("of equals the first: %q", got)
	}
	if got := Nearest("pla", nil); got != "" {
		t.Error(got)
	}
	// Distances by the definition of optimal string alignment; "ca" to "abc" is 3
	// where unrestricted distance would be 2.
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"", "abc", 3}, {"kitten", "sitting", 3}, {"ab", "ba", 1}, {"ca", "abc", 3}, {"µm", "mm", 1}} {
		if got := editDistance([]rune(c.a), []rune(c.b)); got != c.want {
			t.Errorf("%q to %q: %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

func TestEditDistanceProperties(t *testing.T) {
	word := rapid.SliceOfN(rapid.SampledFrom([]rune("abc")), 0, 8)
	rapid.Check(t, func(t *rapid.T) {
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		d := editDistance(a, b)
		if d != editDistance(b, a) {
			t.Fatal("not symmetric")
		}
		if (d == 0) != slices.Equal(a, b) {
			t.Fatalf("distance %d", d)
		}
		if diff := len(a) - len(b); d < max(diff, -diff) || d > max(len(a), len(b)) {
			t.Fatalf("distance %d of lengths %d and %d", d, len(a), len(b))
		}
	})
}

func TestWith(t *testing.T) {
	base := Builtin()
	var over Tables
	measured := &Stress{Low: 1750, Typical: 1800, High: 1850, Source: "own coupons"}
	over.Materials.Add("PETG", Material{Modulus: measured})
	over.Materials.Add("PETG-black", Material{Like: "PETG", Density: &Density{1.29, "scale"}})
	over.Printers.Add("bench", Printer{Like: "fdm-0.4", Bed: &Bed{180, 180, 150, "ruler"},
		Compensation: &Compensation{Source: "clearance coupon"}})
	over.Screws.Add("M2", Screw{Insert: &Insert{3.2, 0.1, 3.6, 4, 7.2, "data sheet"}})
	over.Motors.Add("servo-9g", Motor{Title: "mine", Mass: 10, Length: 1, Width: 1, Height: 1, Source: "label",
		Rotary: &Rotary{Rated: 1, Stall: 2, Turn: 1}})
	over.LeadScrews.Add("Tr8x1.5", LeadScrew{Form: "trapezoidal", Diameter: 8, Pitch: 1.5, Starts: 1, Source: "caliper"})
	over.Pins.Add("brass-2", Pin{Standard: "iso2338", Diameter: 2.2, Classes: []string{"h8"}, Lengths: []float64{40}, Material: "PETG-black", Source: "shelf"})

	got, err := base.With(over)
	if err != nil {
		t.Fatal(err)
	}
	petg, _ := got.Material("PETG")
	old, _ := base.Material("PETG")
	if petg.Modulus.Typical != 1800 || petg.Modulus.Source != "own coupons" {
		t.Errorf("modulus %+v", *petg.Modulus)
	}
	if !reflect.DeepEqual(petg.Strain, old.Strain) || petg.Title != old.Title || petg.Name != "PETG" {
		t.Error("what was not given was not kept")
	}
	if !slices.Equal(got.Materials.Names, append(slices.Clone(base.Materials.Names), "PETG-black")) {
		t.Errorf("order %v", got.Materials.Names)
	}
	// like sees what the same file set before.
	if m, _ := got.Material("PETG-black"); m.Modulus.Typical != 1800 || m.Density.Value != 1.29 || m.Name != "PETG-black" {
		t.Errorf("%+v", m)
	}
	// A compensation of 0 is given, not missing.
	if p, _ := got.Printer("bench"); p.Compensation.Hole != 0 || p.Bed.X != 180 || p.Fits.Turning != base.Printers.Get("fdm-0.4").Fits.Turning || p.Feed != "filament" {
		t.Errorf("%+v", p)
	}
	if s, _ := got.Screw("M2"); s.Insert == nil || s.Clearance.Fine != 2.2 {
		t.Errorf("%+v", s)
	}
	if m, _ := got.Motor("servo-9g"); m.Title != "mine" || m.Rotary.Hold != 0 {
		t.Errorf("%+v", m)
	}
	if l, _ := got.LeadScrew("Tr8x1.5"); l.Friction == nil || l.Source != "caliper" {
		t.Errorf("%+v", l)
	}
	if p, err := got.Pin("iso2338", 2.2); err != nil || p.Name != "brass-2" {
		t.Errorf("%+v, %v", p, err)
	}
	if !reflect.DeepEqual(base, Builtin()) {
		t.Error("With changed the tables it was called on")
	}
	if same, err := base.With(Tables{}); err != nil || !reflect.DeepEqual(same, base) {
		t.Errorf("adding nothing changed something: %v", err)
	}
	sources := map[string]Source{}
	for _, s := range got.Sources() {
		if s.Text == "" || s.Proven != Proven(s.Text) {
			t.Errorf("%+v", s)
		}
		sources[s.Path] = s
	}
	if s := sources["materials.PETG.modulus"]; s.Text != "own coupons" || !s.Proven {
		t.Errorf("%+v", s)
	}
	if s := sources["materials.PETG.strain"]; s.Proven {
		t.Errorf("%+v", s)
	}
	if s := sources["motors.servo-9g"]; s.Text != "label" {
		t.Errorf("%+v", s)
	}
	if !reflect.DeepEqual(got.Sources(), got.Sources()) {
		t.Error("two listings differ")
	}
}

func TestWithErrors(t *testing.T) {
	good := func(low, typical, high float64) *Ratio {
		return &Ratio{Low: low, Typical: typical, High: high, Source: "s"}
	}
	for _, c := range []struct {
		name string
		over func(*Tables)
		want []string
	}{
		{"twice and unknown like", func(o *Tables) {
			o.Materials.Add("A", Material{Like: "PTEG"})
			o.Screws.Add("M3", Screw{})
			o.Screws.Add("M3", Screw{})
			o.Screws.Add("M4", Screw{Washer: &Washer{4, 9, 0, "s"}})
		}, []string{
			`materials.A.like: no entry "PTEG"; nearest is "PETG"; there are PLA, PETG, ABS, ASA, PA12, PC, TPU-95A, resin, steel, steel-hardened`,
			`screws.M3: given twice`,
			`screws.M4.washer.thickness: 0 mm, must be above 0 mm`,
		}},
		{"nothing to take from", func(o *Tables) {
			o.Screws.Add("M8", Screw{Head: &Head{13, 8, 6, 4, "ISO 4762"}})
		}, []string{`screws.M8.thread: not given, and no entry to take it from; give it, or name a similar entry with like`}},
		{"numbers", func(o *Tables) {
			o.Materials.Add("PLA", Material{Modulus: &Stress{0, math.NaN(), math.Inf(1), ""},
				Poisson: good(0.3, 0.4, 0.5), FrictionSelf: good(0.3, 0.2, 0.6)})
			o.Materials.Add("ABS", Material{Poisson: good(0.3, 0.4, 0.5)})
		}, []string{
			"materials.PLA.modulus.low: 0 MPa, must be above 0 MPa",
			"materials.PLA.modulus.typical: NaN MPa, must be finite",
			"materials.PLA.modulus.high: +Inf MPa, must be finite",
			"materials.PLA.modulus.source: empty",
			"materials.PLA.friction_self: low 0.3, typical 0.2, high 0.6; must not fall",
			"materials.ABS.poisson.high: 0.5, must be below 0.5",
		}},
		{"words and angles", func(o *Tables) {
			o.Printers.Add("p", Printer{Like: "sls", Feed: "powdr", Overhang: &Overhang{Angle: 2, Span: 1, Bridge: 1, Source: "s"},
				Fits: &Fits{Press: 0.1, Source: "s"}})
		}, []string{
			`printers.p.feed: "powdr"; nearest is "powder"; allowed are filament, powder, resin`,
			"printers.p.overhang.angle: 114.592 deg, must be at most 90 deg",
			"printers.p.fits: press 0.1, location 0, turning 0, sliding 0 mm; must not fall, and press must be below location",
		}},
		{"pins", func(o *Tables) {
			o.Pins.Add("a", Pin{Standard: "iso2338", Diameter: 3, Chamfer: 2, Classes: []string{"m7"}, Lengths: []float64{3, 3}, Material: "stel", Source: "s"})
			o.Pins.Add("b", Pin{Standard: "iso2338", Diameter: 3, Chamfer: 2, Classes: []string{"m6"}, Lengths: []float64{3, 3}, Material: "steel", Source: "s"})
			o.Pins.Add("c", Pin{Standard: "iso2338", Diameter: 3, Source: "s"})
		}, []string{
			`pins.a.classes[0]: "m7"; allowed are m6, h6, h8, h11`,
			"pins.b.lengths[1]: 3 after 3; must rise",
			"pins.b.chamfer: 2 mm, two of them must be shorter than the shortest pin, 3 mm",
			"pins.c.classes: empty", "pins.c.lengths: empty", "pins.c.material: empty",
			`pins.a.material: no material "stel"; nearest is "steel"; there are PLA, PETG, ABS, ASA, PA12, PC, TPU-95A, resin, steel, steel-hardened`,
		}},
		{"drives", func(o *Tables) {
			o.LeadScrews.Add("l", LeadScrew{Form: "metric", Diameter: 4, Pitch: 2, Starts: 0, Source: "s"})
			o.LeadScrews.Add("n", LeadScrew{Form: "metric", Diameter: 4, Pitch: 2, Starts: 1, Source: "s", Friction: good(.1, .2, .3)})
			o.Motors.Add("m", Motor{Title: "t", Mass: 1, Length: 1, Width: 1, Height: 1, Source: "s"})
			o.Motors.Add("o", Motor{Title: "t", Mass: 1, Length: 1, Width: 1, Height: 1, Source: "s", Rotary: &Rotary{Rated: 3, Stall: 2, Turn: 1}})
		}, []string{
			"leadscrews.l.starts: 0, must be at least 1",
			"leadscrews.l.friction: not given, and no entry to take it from; give it, or name a similar entry with like",
			"leadscrews.n.pitch: 2 mm, must be below half of the diameter 4 mm",
			"motors.m: 0 of rotary, linear given, exactly one is needed",
			"motors.o.rotary.rated: 3, must be at most stall 2",
		}},
		{"screws", func(o *Tables) {
			o.Screws.Add("M3", Screw{Clearance: &Clearance{3, 2, 4, "s"}, Nut: &Nut{5, 1, 7, "s"}, Washer: &Washer{7, 3, 1, "s"},
				Insert: &Insert{4, 0, 3, 5, 2, "s"}, Lengths: &Lengths{[]float64{5, 4}, "s"}, Thread: &Thread{3, 2, "s"}})
		}, []string{
			"screws.M3.thread.pitch: 2 mm, must be below half of the diameter 3 mm",
			"screws.M3.lengths.list[1]: 4 after 5; must rise",
			"screws.M3.clearance: fine 3, medium 2, coarse 4 mm; must not fall",
			"screws.M3.washer.inner: 7 mm, must be below outer 3 mm",
			"screws.M3.nut.corners: 7 mm, must be above flats 5 mm and at most 5.774 mm (a sharp hexagon)",
			"screws.M3.insert: outer 3 mm must be above pilot 4 mm; boss 2 mm must be above outer 3 mm",
		}},
	} {
		var over Tables
		c.over(&over)
		got, err := Builtin().With(over)
		if err == nil || got != nil {
			t.Errorf("%s: accepted", c.name)
			continue
		}
		if diff := cmp.Diff(c.want, strings.Split(err.Error(), "\n")); diff != "" {
			t.Errorf("%s: (-want +got)\n%s", c.name, diff)
		}
	}
}
