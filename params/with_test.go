package params

import (
	"errors"
	"math"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// sameDesign compares designs by what they say; places in the file differ by
// the length of a number.
var sameDesign = cmp.Options{
	cmpopts.IgnoreUnexported(Design{}),
	cmpopts.IgnoreFields(Design{}, "Lib", "Text"),
	cmpopts.IgnoreFields(Pos{}, "Col"),
}

// With gives what the changed file gives, good or bad.
func TestWithAgreesWithTheFile(t *testing.T) {
	text := base(t)
	d, err := Parse("f", []byte(text), noTables)
	if err != nil {
		t.Fatal(err)
	}
	rooms := map[string][2]float64{"play": {-0.2, 1}, "swing": {-20, 100}}
	good, bad := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		values, data := map[string]float64{}, []byte(text)
		for _, name := range []string{"pin", "play", "swing"} {
			if !rapid.Bool().Draw(t, "change "+name) {
				continue
			}
			v := rapid.Float64Range(rooms[name][0], rooms[name][1]).Draw(t, name)
			if name == "pin" {
				v = rapid.SampledFrom([]float64{1.5, 2, 2.5, 3, 3.3, 4, 5, 6}).Draw(t, name)
			}
			values[name] = v
			var err error
			if data, err = SetDimension(data, name, v); err != nil {
				t.Fatal(err)
			}
		}
		want, wantErr := Parse("f", data, noTables)
		got, gotErr := d.With(values)
		if wantErr != nil || gotErr != nil {
			bad++
			var w, g Errors
			if !errors.As(wantErr, &w) || !errors.As(gotErr, &g) {
				t.Fatalf("With says %v, the file %v", gotErr, wantErr)
			}
			if diff := cmp.Diff(w, g, cmpopts.IgnoreFields(Pos{}, "Col")); diff != "" {
				t.Fatal(diff)
			}
			return
		}
		good++
		if diff := cmp.Diff(want, got, sameDesign); diff != "" {
			t.Fatal(diff)
		}
	})
	least := 10
	if testing.Short() {
		least = 3 // of 20 cases instead of 100
	}
	if good < least || bad < least {
		t.Errorf("%d good and %d bad files; the test looks at one side only", good, bad)
	}
}

// A body without a dimension of its own changes with the place of its joints and
// with its layers.
func TestWithMovesWhatHangsOnJointsAndLayers(t *testing.T) {
	text := strings.NewReplacer("- bar: {from: B, to: [20, 0], width: 8}", "- bar: {from: B, to: K, width: 8}",
		"mid: {from: 4.4, to: 8.4}", "mid: {from: 4 + 4*play, to: 8.4}").Replace(base(t))
	d, err := Parse("f", []byte(text), noTables)
	if err != nil {
		t.Fatal(err)
	}
	for name, v := range map[string]float64{"swing": 50, "play": 0.2} {
		data, err := SetDimension([]byte(text), name, v)
		if err != nil {
			t.Fatal(err)
		}
		want, err := Parse("f", data, noTables)
		if err != nil {
			t.Fatal(err)
		}
		got, err := d.With(map[string]float64{name: v})
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got, sameDesign); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
		if cmp.Equal(d.Bodies, got.Bodies) {
			t.Errorf("%s: no body has changed", name)
		}
	}
}

func TestWithAddsUp(t *testing.T) {
	d, err := Parse("f", []byte(base(t)), noTables)
	if err != nil {
		t.Fatal(err)
	}
	a, err := d.With(map[string]float64{"pin": 4})
	if err != nil {
		t.Fatal(err)
	}
	b, err := a.With(map[string]float64{"play": 0.2})
	if err != nil {
		t.Fatal(err)
	}
	if v := b.Dimensions.Get("blade").Value; math.Abs(v-15.4) > 1e-12 {
		t.Errorf("blade is %v, want 4 + 2·0.2 + 11", v)
	}
	if v := d.Dimensions.Get("pin").Value; v != 3 {
		t.Errorf("the first design has changed: pin is %v", v)
	}
	for want, values := range map[string]map[string]float64{
		`the file has no dimension "pim"; did you mean "pin"?`:                                                      {"pim": 3},
		"dimensions.blade.value: is computed from pin and play; set the dimensions in it":                           {"blade": 3},
		"dimensions.pin: NaN is not a finite number":                                                                {"pin": math.NaN()},
		"f:5:16: dimensions.pin.value: is 10000000000 mm; no number in a finger file may be larger than 1000000000": {"pin": 1e10},
		"f:5:16: dimensions.pin.value: is 7 mm, outside its range of 2 to 5 mm; change the value":                   {"pin": 7},
		"f:69:13: joints.guide.slot.play: is -1 mm; it must be at least 0 mm":                                       {"play": -1},
		"f:69:13: joints.guide.slot.play: is -0.00452104 mm; it must be at least 0 mm":                              {"play": -0.004521042168832909},
		"f:83:13: ramps.detent.first_face: is 95 deg; it must be above 0 and at most 89 deg":                        {"swing": 95},
	} {
		if _, err := d.With(values); err == nil || !strings.Contains(err.Error(), want[strings.Index(want, ": ")+1:]) {
			t.Errorf("%v: %v\nwant %s", values, err, want)
		}
	}
	if _, err := (&Design{}).With(nil); err == nil {
		t.Error("a design without a file was changed")
	}
}

// A copy deviates in computed dimensions too, and may leave ranges.
func TestCopy(t *testing.T) {
	d, err := Parse("f", []byte(base(t)), noTables)
	if err != nil {
		t.Fatal(err)
	}
	d, err = d.With(map[string]float64{"pin": 5})
	if err != nil {
		t.Fatal(err)
	}
	c, err := d.Copy(map[string]float64{"pin": 0.25, "blade": 1})
	if err != nil {
		t.Fatal(err)
	}
	if p, b := c.Dimensions.Get("pin").Value, c.Dimensions.Get("blade").Value; p != 5.25 || math.Abs(b-17.45) > 1e-12 {
		t.Errorf("pin %v, blade %v, want 5.25 and 5.25 + 2·0.1 + 11 + 1", p, b)
	}
	if v := c.Joints.Get("A").Pin.Diameter; v != 5.25 {
		t.Errorf("the pin is %v, want 5.25", v)
	}
	if _, err := d.Copy(map[string]float64{"play": -0.2}); err == nil || !strings.Contains(err.Error(), "it must be at least 0") {
		t.Errorf("a slot narrower than its pin: %v", err)
	}
}

func TestWithIsSafeForThreads(t *testing.T) {
	d, err := Parse("f", []byte(base(t)), noTables)
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			for k := range 20 {
				v := float64(i*20+k) / 600
				w, err := d.With(map[string]float64{"play": v})
				if err != nil || w.Joints.Get("guide").Slot.Play != v {
					t.Errorf("%v: %v", v, err)
				}
			}
		})
	}
	wg.Wait()
}

func BenchmarkWith(b *testing.B) {
	d, err := Parse("f", []byte(base(b)), noTables)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := d.With(map[string]float64{"play": 0.2}); err != nil {
			b.Fatal(err)
		}
	}
}
