package figures

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"math"
	"os"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/linkage"
	"tuckfinger/export/internal/solids"
	"tuckfinger/export/page"
	"tuckfinger/params/finding"
	"tuckfinger/parts/profile"
)

// data is a bar that turns by a right angle, with a snap on the way out.
func data(t testing.TB) *page.Data {
	t.Helper()
	bar, err := profile.Bar(r2.Vec{}, r2.Vec{X: 30}, 8, 0)
	if err != nil {
		t.Fatal(err)
	}
	d := &page.Data{Name: "try", Bodies: []page.Body{{Name: "bar", Slices: []page.Slice{{Z0: 0, Z1: 4, Region: bar}}}}}
	st := &page.Stroke{Travel: 10, Speed: 5, Turn: 100, Grasp: -1}
	open := page.Series{Name: "jaw opening", Unit: "mm", Key: "opening"}
	for i := range 201 {
		s := 10 - math.Abs(float64(i-100))/10
		f := page.Frame{S: s, Force: 3 * math.Sin(s), Poses: []linkage.Pose{{Theta: s / 10 * math.Pi / 2}}}
		if i > 100 {
			f.Force = -f.Force - 1
		}
		st.Frames = append(st.Frames, f)
		v := 40 - 2*s
		if s < 5 {
			v = math.NaN()
		}
		open.Values = append(open.Values, v)
	}
	st.Series = []page.Series{open}
	st.Events = []page.Event{{Frame: 30, Text: "ramp met"}, {Frame: 31, Text: "clip snapped"}, {Frame: 80, Text: "B starts", Joint: true}, {Frame: 150, Text: "clip released"}}
	for i := range st.Events {
		e := &st.Events[i]
		e.S, e.Force, e.Back = st.Frames[e.Frame].S, st.Frames[e.Frame].Force, e.Frame > st.Turn
	}
	d.Stroke = st
	d.Rules = []page.Rule{{Name: "O1", Holding: 6, Driving: 2, Margin: 3, Want: 1.5, Verdict: "kept", Status: finding.Pass},
		{Name: "O2", Holding: math.Inf(1), Driving: 4, Margin: math.Inf(1), Want: 1.5, Verdict: "kept"},
		{Name: "B1", Holding: 1, Driving: math.NaN(), Margin: math.NaN(), Want: 1.5, Verdict: "undetermined"}}
	d.Measured = &page.Measured{Name: "bench", S: []float64{0, 5, 10}, Force: []float64{0, 1, 2}}
	return d
}

func all(t testing.TB, d *page.Data) map[string][]byte {
	t.Helper()
	files, err := Files(d)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, f := range files {
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			t.Fatal(err)
		}
		out[f.Name] = b.Bytes()
	}
	return out
}

func TestForms(t *testing.T) {
	got := all(t, data(t))
	for _, name := range []string{"force", "opening", "margins"} {
		if b := got[name+".pdf"]; !bytes.HasPrefix(b, []byte("%PDF-")) || !bytes.HasSuffix(bytes.TrimSpace(b), []byte("%%EOF")) {
			t.Errorf("%s.pdf is no PDF", name)
		}
		if _, err := png.Decode(bytes.NewReader(got[name+".png"])); err != nil {
			t.Errorf("%s.png: %v", name, err)
		}
	}
	for _, name := range []string{"force.svg", "opening.svg", "margins.svg", "poses.svg"} {
		dec := xml.NewDecoder(bytes.NewReader(got[name]))
		for {
			if _, err := dec.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Errorf("%s: %v", name, err)
				break
			}
		}
		if strings.Contains(string(got[name]), "NaN") || strings.Contains(string(got[name]), "Inf") {
			t.Errorf("%s holds a number that is none", name)
		}
	}
	svg := string(got["force.svg"])
	for _, want := range []string{"slide coordinate s, mm", "force on the slide, N", "measured", ">1–2<", ">3<"} {
		if !strings.Contains(svg, want) {
			t.Errorf("force.svg has no %q", want)
		}
	}
	if n := strings.Count(string(got["poses.svg"]), "s = "); n != poses {
		t.Errorf("%d poses", n)
	}
	if dir := os.Getenv("FIGURES"); dir != "" {
		for name, b := range got {
			os.WriteFile(dir+"/"+name, b, 0o644)
		}
	}
}

// A bar that turns evenly: poses are at equal angles.
func TestPosesDivideTheMotion(t *testing.T) {
	svg := string(all(t, data(t))["poses.svg"])
	turns := regexp.MustCompile(`rotate\(([-0-9.]+)\)`).FindAllStringSubmatch(svg, -1)
	if len(turns) != poses-1 { // the tucked pose is not turned
		t.Fatalf("%d poses are turned", len(turns))
	}
	for i, m := range turns {
		got, _ := strconv.ParseFloat(m[1], 64)
		if want := 90 * float64(i+1) / (poses - 1); math.Abs(got-want) > 0.9 { // a frame
			t.Errorf("pose %d is turned by %g°, want %g°", i+1, got, want)
		}
	}
}

func TestSameBytes(t *testing.T) {
	first := all(t, data(t))
	old := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(old)
	for name, b := range all(t, data(t)) {
		if !bytes.Equal(b, first[name]) {
			t.Errorf("%s differs from one time to the next", name)
		}
	}
}

func TestLess(t *testing.T) {
	d := data(t)
	d.Rules, d.Stroke.Series, d.Measured = nil, nil, nil
	if n := len(all(t, d)); n != 4 {
		t.Errorf("%d files of a finger without pads and rules", n)
	}
	d.Stroke = nil
	if _, err := Files(d); err == nil {
		t.Error("figures without a stroke")
	}
}

func TestFailingWriter(t *testing.T) {
	files, err := Files(data(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if err := f.Write(&solids.Failing{Left: 100}); !errors.Is(err, solids.ErrFull) {
			t.Errorf("%s: %v", f.Name, err)
		}
	}
}
