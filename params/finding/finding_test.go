package finding

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func wall(value float64) Finding {
	return Finding{Check: "wall", Subject: "jaw", Value: value, Limit: 0.8, Unit: "mm",
		Change: "thicken dimensions.rail", Source: "printers.fdm-0.4.minimum"}
}

func must(t *testing.T) func(Finding, error) Finding {
	return func(f Finding, err error) Finding {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
}

func TestBounds(t *testing.T) {
	for _, c := range []struct {
		name        string
		make        func(Finding, float64) (Finding, error)
		value, warn float64
		want        Status
	}{
		{"below a least", AtLeast, 0.3, 0.1, Fail},
		{"on a least with a band", AtLeast, 0.8, 0.1, Warn},
		{"on a least without a band", AtLeast, 0.8, 0, Pass},
		{"in the band", AtLeast, 0.85, 0.1, Warn},
		{"at the end of the band", AtLeast, 0.9, 0.1, Pass},
		{"over a least", AtLeast, 2, 0.1, Pass},
		{"least, last bit", AtLeast, math.Nextafter(0.8, 0), 0, Pass},
		{"least, a nanometre short", AtLeast, 0.8 - 1e-6, 0, Fail},
		{"over a most", AtMost, 0.81, 0.1, Fail},
		{"on a most", AtMost, 0.8, 0.1, Warn},
		{"on a most without a band", AtMost, 0.8, 0, Pass},
		{"band of a most", AtMost, 0.75, 0.1, Warn},
		{"at the end of a most's band", AtMost, 0.7, 0.1, Pass},
		{"under a most", AtMost, -3, 0.1, Pass},
		{"most, last bit", AtMost, math.Nextafter(0.8, 1), 0, Pass},
	} {
		f := must(t)(c.make(wall(c.value), c.warn))
		if f.Status != c.want {
			t.Errorf("%s: %v, want %v", c.name, f.Status, c.want)
		}
	}
}

func TestFaultyFindings(t *testing.T) {
	with := func(change func(*Finding)) Finding {
		f := wall(1)
		change(&f)
		return f
	}
	for _, c := range []struct {
		f    Finding
		warn float64
		want []string // every line of the error
	}{
		{with(func(f *Finding) { f.Value = math.NaN() }), 0, []string{"finding wall of jaw: value is NaN"}},
		{with(func(f *Finding) { f.Value = math.Inf(1) }), 0, []string{"finding wall of jaw: value is +Inf"}},
		{with(func(f *Finding) { f.Limit = math.Inf(-1) }), 0, []string{"finding wall of jaw: limit is -Inf"}},
		{with(func(f *Finding) { f.Unit = "furlong" }), 0, []string{`finding wall of jaw: unit "furlong" is not one of ` + strings.Join(Units, ", ")}},
		{with(func(f *Finding) { f.Unit = "" }), 0, []string{`finding wall of jaw: a number needs a unit ("1" for a pure number)`}},
		{wall(1), -1, []string{"finding wall of jaw: warn band is -1, must be finite and not negative"}},
		{wall(1), math.NaN(), []string{"finding wall of jaw: warn band is NaN, must be finite and not negative"}},
		{with(func(f *Finding) { f.Change, f.Source = "", "a\nb" }), 0, []string{
			"finding wall of jaw: change is empty", "finding wall of jaw: source has more than one line"}},
	} {
		for _, make := range []func(Finding, float64) (Finding, error){AtLeast, AtMost} {
			f, err := make(c.f, c.warn)
			if err == nil {
				t.Errorf("%+v: accepted", c.f)
				continue
			}
			if diff := cmp.Diff(c.want, strings.Split(err.Error(), "\n")); diff != "" {
				t.Error(diff)
			}
			if f != (Finding{}) {
				t.Errorf("a faulty finding was returned: %+v", f)
			}
		}
	}
	if _, err := State("order", "jaw", Fail, "raise ramps.a.height", "order.O1", ""); err == nil {
		t.Error("a finding that says nothing was accepted")
	}
	if _, err := State("order", "jaw", None, "raise ramps.a.height", "order.O1", "tie"); err == nil {
		t.Error("a finding without a status was accepted")
	}
	lie := must(t)(AtLeast(wall(0.3), 0))
	lie.Status = Pass
	if _, err := json.Marshal(lie); err == nil {
		t.Error("a status that contradicts the numbers was written")
	}
}

func TestLine(t *testing.T) {
	set := func(value, limit float64, unit string) Finding {
		f := wall(value)
		f.Limit, f.Unit = limit, unit
		return f
	}
	check := must(t)
	state := check(State("order", "jaw before tip", Fail, "raise ramps.a.height", "order.O1", "undetermined: both 0 N\nmore"))
	for _, c := range []struct {
		f    Finding
		want string
	}{
		{check(AtLeast(wall(0.3), 0)), "fail  wall  jaw: 0.30 mm, at least 0.80 mm — thicken dimensions.rail"},
		{check(AtLeast(wall(1.25), 0)), "pass  wall  jaw: 1.25 mm, at least 0.80 mm"},
		{check(AtLeast(wall(0.7999), 0)), "fail  wall  jaw: 0.7999 mm, at least 0.8000 mm — thicken dimensions.rail"},
		{check(AtMost(set(0.0171, 0.02, "1"), 0.01)), "warn  wall  jaw: 0.017, at most 0.020 — thicken dimensions.rail"},
		{check(AtMost(set(46, 45, "deg"), 0)), "fail  wall  jaw: 46.0°, at most 45.0° — thicken dimensions.rail"},
		{check(AtMost(set(-1e-9, 0, "N"), 0)), "pass  wall  jaw: -1e-09 N, at most 0 N"},
		{check(AtMost(set(math.Copysign(0, -1), 5, "N·mm"), 0)), "pass  wall  jaw: 0.0 N·mm, at most 5.0 N·mm"},
		{check(AtLeast(set(-1.6e-5, -0.05, "mm"), 0)), "pass  wall  jaw: 0.000 mm, at least -0.050 mm"},
		{check(AtMost(set(1, 1, "1"), 0)), "pass  wall  jaw: 1, at most 1"},
		{check(AtMost(set(2, 1, "1"), 0)), "fail  wall  jaw: 2, at most 1 — thicken dimensions.rail"},
		{check(AtLeast(set(2.5e12, 1, "MPa"), 0)), "pass  wall  jaw: 2.5e+12 MPa, at least 1 MPa"},
		{state, "fail  order  jaw before tip: undetermined: both 0 N — raise ramps.a.height"},
	} {
		if got := c.f.String(); got != c.want {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
	}
}

func TestJSON(t *testing.T) {
	f := must(t)(AtLeast(wall(0.3), 0))
	f.Detail = "a < b"
	b, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	// json.Marshal compacts and escapes what a Marshaler returns.
	want := `{"check":"wall","subject":"jaw","status":"fail","value":0.3,"limit":0.8,"unit":"mm","at_least":true,` +
		`"change":"thicken dimensions.rail","source":"printers.fdm-0.4.minimum","detail":"a \u003c b"}`
	if string(b) != want {
		t.Errorf("got  %s\nwant %s", b, want)
	}
	zero := must(t)(AtMost(Finding{Check: "c", Subject: "s", Unit: "1", Change: "x", Source: "y"}, 0))
	if b, _ := json.Marshal(zero); !strings.Contains(string(b), `"value":0,"limit":0,"unit":"1","at_least":false`) {
		t.Errorf("zeros got lost: %s", b)
	}
	state := must(t)(State("closure", "s = 3 mm", Fail, "shorten bodies.lower", "closure", "no closure"))
	if b, _ := json.Marshal(state); strings.Contains(string(b), "value") || strings.Contains(string(b), "at_least") {
		t.Errorf("a number appeared: %s", b)
	}
	for _, f := range []Finding{f, zero, state} {
		b, err := json.Marshal(f)
		if err != nil {
			t.Fatal(err)
		}
		var back Finding
		if err := json.Unmarshal(b, &back); err != nil {
			t.Fatal(err)
		}
		if back != f {
			t.Errorf("read back %+v, wrote %+v", back, f)
		}
	}
	var back Finding
	for _, bad := range []string{`{"check":"c"}`, `{"status":"good"}`,
		strings.Replace(want, `"fail"`, `"pass"`, 1)} {
		if err := json.Unmarshal([]byte(bad), &back); err == nil {
			t.Errorf("read %s", bad)
		}
	}
}

func TestWorstAndSort(t *testing.T) {
	if Worst(nil) != None {
		t.Error("nothing checked counts as a verdict")
	}
	list := []Finding{
		{Check: "b", Subject: "x", Status: Pass}, {Check: "a", Subject: "y", Status: Warn, Detail: "1"},
		{Check: "a", Subject: "y", Status: Warn, Detail: "2"}, {Check: "c", Subject: "x", Status: Fail},
		{Check: "a", Subject: "x", Status: Warn}, {Check: "a", Subject: "z", Status: Pass},
	}
	if Worst(list) != Fail || Worst(list[:1]) != Pass || Worst(list[:3]) != Warn {
		t.Error("Worst is wrong")
	}
	if Count(list, Warn) != 3 || Count(list, Fail) != 1 {
		t.Error("Count is wrong")
	}
	Sort(list)
	var got []string
	for _, f := range list {
		got = append(got, f.Status.String()+f.Check+f.Subject+f.Detail)
	}
	want := []string{"failcx", "warnax", "warnay1", "warnay2", "passaz", "passbx"}
	if !slices.Equal(got, want) {
		t.Errorf("order %v, want %v", got, want)
	}
}

// Whatever finite numbers come, the line shows different texts for different
// numbers, no negative zero, and the JSON comes back the same.
func TestAnyNumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := wall(rapid.Float64().Draw(t, "value"))
		f.Limit = rapid.Float64().Draw(t, "limit")
		f.Unit = rapid.SampledFrom(Units).Draw(t, "unit")
		f, err := AtLeast(f, 0)
		if err != nil {
			t.Fatal(err)
		}
		b, err := json.Marshal(f)
		if err != nil {
			t.Fatal(err)
		}
		var back Finding
		if err := json.Unmarshal(b, &back); err != nil || back != f {
			t.Fatalf("%v %+v", err, back)
		}
		v, l := f.ValueText(), f.LimitText()
		if f.Status == Fail && v == l {
			t.Fatalf("fails, but reads %s against %s", v, l)
		}
		if strings.HasPrefix(v, "-0 ") || strings.HasPrefix(v, "-0.0 ") {
			t.Fatal(v)
		}
	})
}
