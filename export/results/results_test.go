package results

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"tuckfinger/export/internal/solids"
)

type base struct {
	Kind string `json:"kind"`
}

type step struct {
	base
	S     float64            `json:"s"`
	Fine  float64            `json:"fine" digits:"9"`
	Pose  r2.Vec             `json:"pose"`
	Load  *float64           `json:"load"`
	Note  string             `json:"note,omitempty"`
	Names map[string]float64 `json:"names,omitempty"`
	Skip  float64            `json:"-"`
	inner float64
}

type self struct{ v string }

func (s self) MarshalJSON() ([]byte, error) {
	if s.v == "bad" {
		return nil, errors.New("refused")
	}
	return []byte(s.v), nil
}

type word int

func (w word) MarshalText() ([]byte, error) { return []byte([]string{"pass", "fail"}[w]), nil }

func encode(t *testing.T, v any) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, v, 0); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestLayout(t *testing.T) {
	load := 2.0 / 3
	got := encode(t, Object{
		{"z", 1}, {"a", []step{
			{base: base{"out"}, S: math.Pi, Fine: math.Pi, Pose: r2.Vec{X: 1e-17, Y: -2}, Skip: math.NaN(), inner: math.Inf(1)},
			{S: 1e6, Load: &load, Note: `"≥ <b>"`, Names: map[string]float64{"b": 1, "a": 2}},
		}},
		{"at", r3.Vec{X: 1, Y: 2, Z: 3}}, {"none", nil}, {"status", word(1)}, {"words", []word{0, 1}}, {"empty", []int{}}, {"nil", []int(nil)}, {"object", Object{}},
		{"own", self{`{"y": 0.33333333333, "x": [12345678, 1.0, null, true]}`}}, {"count", uint8(3)}, {"f32", float32(0.1)}, {"rows", [][]float64{{1, 2}, {3, 4}}},
	})
	want := `{
 "z": 1,
 "a": [
  {
   "kind": "out",
   "s": 3.14159,
   "fine": 3.14159265,
   "pose": [0, -2],
   "load": null
  },
  {
   "kind": "",
   "s": 1000000,
   "fine": 0,
   "pose": [0, 0],
   "load": 0.666667,
   "note": "\"≥ <b>\"",
   "names": {
    "a": 2,
    "b": 1
   }
  }
 ],
 "at": [1, 2, 3],
 "none": null,
 "status": "fail",
 "words": ["pass", "fail"],
 "empty": [],
 "nil": null,
 "object": {},
 "own": {
  "y": 0.333333,
  "x": [12345678, 1, null, true]
 },
 "count": 3,
 "f32": 0.1,
 "rows": [
  [1, 2],
  [3, 4]
 ]
}
`
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

func TestFaults(t *testing.T) {
	type loop struct {
		Next any `json:"next"`
	}
	ring := &loop{}
	ring.Next = ring
	type untagged struct{ A float64 }
	type wrong struct {
		A float64 `json:"a" digits:"18"`
	}
	nan, inf := math.NaN(), math.Inf(1)
	for want, v := range map[string]any{
		"results: (top): NaN is not a finite number":                                                 nan,
		"results: a.b[1].s: NaN is not a finite number; a.b[1].pose[1]: +Inf is not a finite number": Object{{"a", Object{{"b", []step{{}, {S: nan, Pose: r2.Vec{Y: inf}}}}}}},
		"results: m.x: -Inf is not a finite number":                                                  map[string]any{"m": map[string]float64{"x": math.Inf(-1), "y": 1}},
		`results: a: key "a" is empty or used twice`:                                                 Object{{"a", 1}, {"a", 2}},
		`results: c: a chan int can't stand in JSON`:                                                 Object{{"c", make(chan int)}},
		"results: (top): field A of results.untagged has no json tag":                                untagged{},
		`results: (top): field A of results.wrong: digits "18", allowed 1 to 17`:                     wrong{},
		"results: (top): a map with keys of type int can't stand in JSON":                            map[int]int{1: 2},
		`results: (top): "\xff" is not UTF-8`:                                                        "\xff",
		"results: x: refused":                                                                        Object{{"x", self{"bad"}}},
		"results: (top): results.self makes no JSON of itself: more than one value":                  self{"1 2"},
	} {
		var b bytes.Buffer
		err := Write(&b, v, 0)
		if err == nil || err.Error() != want {
			t.Errorf("got  %v\nwant %s", err, want)
		}
		if b.Len() > 0 {
			t.Errorf("%s: %d bytes written", want, b.Len())
		}
	}
	if err := Write(&bytes.Buffer{}, ring, 0); err == nil || !strings.Contains(err.Error(), "deeper than 100 levels") {
		t.Errorf("ring: %v", err)
	}
	many := make([]float64, 50)
	for i := range many {
		many[i] = nan
	}
	if err := Write(&bytes.Buffer{}, many, 0); err == nil || !strings.HasSuffix(err.Error(), "[9]: NaN is not a finite number; and 40 more") {
		t.Errorf("many: %v", err)
	}
}

// The standard library reads the same values back, and a second write of what
// was read is the same text.
func TestReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := map[string]any{
			"f": rapid.SliceOf(rapid.Float64Range(-1e9, 1e9)).Draw(t, "f"),
			"s": rapid.MapOf(rapid.StringN(1, 5, -1), rapid.String()).Draw(t, "s"),
		}
		var b, again bytes.Buffer
		if err := Write(&b, v, 0); err != nil {
			t.Fatal(err)
		}
		var got struct {
			F []float64
			S map[string]string
		}
		if err := json.Unmarshal(b.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(v["s"], got.S); d != "" {
			t.Fatal(d)
		}
		for i, f := range v["f"].([]float64) {
			if math.Abs(got.F[i]-f) > 0.51e-5*math.Abs(f)+1e-12 {
				t.Fatalf("%g became %g", f, got.F[i])
			}
		}
		if err := Write(&again, map[string]any{"f": got.F, "s": got.S}, 0); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(b.Bytes(), again.Bytes()) {
			t.Fatalf("not stable:\n%s\n%s", b.Bytes(), again.Bytes())
		}
	})
}

func TestFailingWriter(t *testing.T) {
	if err := Write(&solids.Failing{Left: 3}, []int{1, 2, 3}, 0); !errors.Is(err, solids.ErrFull) {
		t.Error(err)
	}
}
