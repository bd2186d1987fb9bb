package params

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"testing"

	"gopkg.in/yaml.v3"
	"pgregory.net/rapid"
)

// sound checks an accepted design: every number finite and, where it was given
// as a number in the file's own unit, within its bounds.
func sound(t interface{ Errorf(string, ...any) }, k *Key, v reflect.Value, path string) {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return
		}
		v = v.Elem()
	}
	switch k.Kind {
	case Number, Whole:
		x, scale := 0.0, 1.0
		if k.Kind == Whole {
			x = float64(v.Int())
		} else {
			x = v.Float()
		}
		if k.Unit != "own" {
			scale = unitOf(k.Unit).inside(1)
		}
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Errorf("%s is %v", path, x)
		}
		// Degrees to radians and back is good to a few last bits.
		slip := 1e-15 * math.Abs(x/scale) * 4
		if k.Above != nil && x <= *k.Above || k.Min != nil && x/scale < *k.Min-slip || k.Max != nil && x/scale > *k.Max+slip {
			t.Errorf("%s is %v, out of bounds", path, x/scale)
		}
	case Group:
		for _, c := range k.Keys {
			sound(t, c, v.Field(c.field), join(path, c.Name))
		}
	case Section:
		for i := range v.Field(1).Len() {
			sound(t, k.Elem, v.Field(1).Index(i), join(path, v.Field(0).Index(i).String()))
		}
	case List:
		for i := range v.Len() {
			sound(t, k.Elem, v.Index(i), index(path, i))
		}
	case Point:
		finite(t, path, v.Field(0).Float(), v.Field(1).Float())
	case Place2D:
		s := v.Interface().(Spot)
		finite(t, path, s.Point.X, s.Point.Y)
	case ZRange:
		s := v.Interface().(Span)
		finite(t, path, s.From, s.To)
		if s.From >= s.To {
			t.Errorf("%s: empty z range", path)
		}
	}
}

func finite(t interface{ Errorf(string, ...any) }, path string, xs ...float64) {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Errorf("%s is %v", path, x)
		}
	}
}

// badVerb is what package fmt prints for a wrong format.
var badVerb = regexp.MustCompile(`%![a-z]?\((EXTRA|MISSING|NOVERB|BADINDEX|[a-z]+=)`)

// FuzzParse: no text makes the reader panic; errors have places in the file and
// are sorted; what is accepted is sound, and reads the same again.
func FuzzParse(f *testing.F) {
	good, err := os.ReadFile("testdata/base.yaml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(good)
	files, _ := filepath.Glob("../examples/*/finger.yaml")
	for _, file := range files {
		if data, err := os.ReadFile(file); err == nil {
			f.Add(data)
		}
	}
	for _, s := range []string{"", "---", "a: &b [*b]", "dimensions: {a: {value: a, unit: mm}}", "tuckfinger: {? [] : 1}", "layers: {a: [}", "\ufeff\r\n",
		"dimensions:\n  a: {value: !!x 1}\n", "bodies: {a: {features: [{boss: {at: {radius: 1}}}]}}", "joints: {a: {pin: {at: {b: {radius: , angle: }}}}}",
		"*a : b", "? &x y", "!!map {a: 1}", "a: |\n", "order: {a: {while: {a}}}"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		d, err := Parse("f", data, nil)
		if _, editErr := SetDimension(data, "pin", 3); err == nil && d.Dimensions.Get("pin") == nil && editErr == nil {
			t.Error("a dimension that is not there was set")
		}
		if err == nil {
			sound(t, designSchema, reflect.ValueOf(d).Elem(), "")
			return
		}
		errs, ok := err.(Errors)
		if !ok || len(errs) == 0 {
			t.Fatalf("error %T %v", err, err)
		}
		lines := bytes.Count(data, []byte("\n")) + bytes.Count(data, []byte("\r")) + 2
		for i, e := range errs {
			if e.Line < 1 || e.Line > lines || e.Col < 1 || e.File != "f" || e.Msg == "" || badVerb.MatchString(e.Msg) {
				t.Errorf("error %q", e)
			}
			if i > 0 && (errs[i-1].Line > e.Line || errs[i-1].Line == e.Line && errs[i-1].Col > e.Col) {
				t.Errorf("errors out of order: %q before %q", errs[i-1], e)
			}
		}
	})
}

// scalars lists the plain values of a file with their place.
func scalars(n *yaml.Node, out *[]*yaml.Node) {
	if n.Kind == yaml.ScalarNode {
		*out = append(*out, n)
		return
	}
	for i, c := range n.Content {
		if n.Kind == yaml.MappingNode && i%2 == 0 {
			continue
		}
		scalars(c, out)
	}
}

// Files whose values are replaced at random are refused with errors or are
// sound; and the base is not so brittle that all of them are refused.
func TestRandomValues(t *testing.T) {
	text := base(t)
	var root yaml.Node
	if err := yaml.Unmarshal([]byte(text), &root); err != nil {
		t.Fatal(err)
	}
	var nodes []*yaml.Node
	scalars(&root, &nodes)
	var accepted, refused int
	rapid.Check(t, func(t *rapid.T) {
		data := []byte(text)
		// From the end, so that earlier places stay right.
		for range rapid.IntRange(1, 2).Draw(t, "edits") {
			n := nodes[rapid.IntRange(0, len(nodes)-1).Draw(t, "node")]
			value := rapid.OneOf(
				rapid.SampledFrom([]string{"pin", "swing", "-pin", "pin/0", "2*pin", "play", "true", "A", "tip", "0", "-1", "1e308", "\"3\"", ".inf", "low", "~", "[1, 2]", "{radius: 1, angle: 2}"}),
				rapid.Map(rapid.Float64Range(-100, 100), exactNum)).Draw(t, "value")
			start, ok := offset(data, n.Line, n.Column)
			if !ok || !bytes.HasPrefix(data[start:], []byte(n.Value)) {
				continue
			}
			data = append(append(append([]byte{}, data[:start]...), value...), data[start+len(n.Value):]...)
		}
		d, err := Parse("f", data, nil)
		if err != nil {
			refused++
			return
		}
		accepted++
		sound(t, designSchema, reflect.ValueOf(d).Elem(), "")
	})
	if accepted == 0 || refused == 0 {
		t.Errorf("%d accepted, %d refused: the test shows nothing", accepted, refused)
	}
}
