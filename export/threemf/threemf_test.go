package threemf

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/hpinc/go3mf"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/export/internal/solids"
	"tuckfinger/parts/mesh"
)

func example() Plate {
	return Plate{
		Title: "rack lifter, plate 1 of 2", Description: `links <&> "pins" · µ`, Designer: "somebody", Copyright: "© somebody", Licence: "CC-BY",
		Objects: []Object{
			{Name: "tip", PartNumber: "tip-1", Mesh: solids.Tube(3, 8, 2, 36), Places: []Place{{At: r3.Vec{X: 12, Y: 12}}, {Turned: true, At: r3.Vec{X: 40.0004, Y: 12.5}}}},
			{Name: "spine & <rail> \"ß\"", Mesh: solids.Box(r3.Vec{X: -1, Y: -2}, r3.Vec{X: 5, Y: 7, Z: 3.3333333}), Places: []Place{{Turned: true, At: r3.Vec{X: 100, Y: 50}}}},
		},
	}
}

func encode(t *testing.T, p Plate) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, p); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func unpack(t *testing.T, b []byte) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	parts := map[string]string{}
	for _, f := range z.File {
		// 3MF Core 1.4.0 section 1.1: deflate or stored only.
		if f.Method != zip.Deflate && f.Method != zip.Store {
			t.Errorf("%s: method %d", f.Name, f.Method)
		}
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		c, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if _, ok := parts[f.Name]; ok {
			t.Errorf("%s twice", f.Name)
		}
		parts[f.Name] = string(c)
	}
	return parts
}

// The rules below are read from the package with the XML reader of the standard
// library, without the library that wrote it.
type xmlModel struct {
	XMLName  xml.Name
	Unit     string    `xml:"unit,attr"`
	Metadata []xmlMeta `xml:"metadata"`
	Objects  []struct {
		ID         string `xml:"id,attr"`
		Type       string `xml:"type,attr"`
		Name       string `xml:"name,attr"`
		PartNumber string `xml:"partnumber,attr"`
		Vertices   []struct {
			X string `xml:"x,attr"`
			Y string `xml:"y,attr"`
			Z string `xml:"z,attr"`
		} `xml:"mesh>vertices>vertex"`
		Triangles []struct {
			V1 int `xml:"v1,attr"`
			V2 int `xml:"v2,attr"`
			V3 int `xml:"v3,attr"`
		} `xml:"mesh>triangles>triangle"`
	} `xml:"resources>object"`
	Items []struct {
		ObjectID  string `xml:"objectid,attr"`
		Transform string `xml:"transform,attr"`
	} `xml:"build>item"`
}

type xmlMeta struct {
	Name  string `xml:"name,attr"`
	Value string `xml:",chardata"`
}

// ST_Number of the 3MF Core schema.
var number = regexp.MustCompile(`^[+-]?(\d+(\.\d+)?|\.\d+)([eE][+-]?\d+)?$`)

func value(t *testing.T, s string) float64 {
	t.Helper()
	// 3MF Core 1.4.0 ST_Number.
	if !number.MatchString(s) {
		t.Fatalf("%q is no ST_Number", s)
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestCoreSpecification(t *testing.T) {
	p := example()
	parts := unpack(t, encode(t, p))
	var names []string
	for n, body := range parts {
		names = append(names, n)
		// 3MF Core 2.2 and 2.3: UTF-8, no DTD.
		if !utf8.ValidString(body) || strings.Contains(body, "<!DOCTYPE") || !strings.HasPrefix(body, `<?xml version="1.0" encoding="UTF-8"?>`) {
			t.Errorf("%s: not UTF-8 XML without a DTD", n)
		}
	}
	slices.Sort(names)
	// 3MF Core, table 2-1: what OPC needs and the 3D Model part.
	if d := cmp.Diff([]string{"3D/3dmodel.model", "[Content_Types].xml", "_rels/.rels"}, names); d != "" {
		t.Error(d)
	}
	var types struct {
		Defaults []struct {
			Extension   string `xml:",attr"`
			ContentType string `xml:",attr"`
		} `xml:"Default"`
	}
	if err := xml.Unmarshal([]byte(parts["[Content_Types].xml"]), &types); err != nil {
		t.Fatal(err)
	}
	byExt := map[string]string{}
	for _, d := range types.Defaults {
		byExt[d.Extension] = d.ContentType
	}
	// 3MF Core, appendix C: exact strings.
	if got, want := byExt["model"], "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"; got != want {
		t.Errorf("content type %s", got)
	}
	if got, want := byExt["rels"], "application/vnd.openxmlformats-package.relationships+xml"; got != want {
		t.Errorf("content type %s", got)
	}
	var rel struct {
		Relationship []struct {
			Type   string `xml:",attr"`
			Target string `xml:",attr"`
		}
	}
	if err := xml.Unmarshal([]byte(parts["_rels/.rels"]), &rel); err != nil {
		t.Fatal(err)
	}
	if len(rel.Relationship) != 1 || rel.Relationship[0].Type != "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" ||
		rel.Relationship[0].Target != "/3D/3dmodel.model" { // 2.2: absolute
		t.Errorf("relationships %+v", rel.Relationship)
	}

	body := parts["3D/3dmodel.model"]
	// 3MF Core: exactly one model, resources and build, in this order.
	for _, tag := range []string{"<model ", "<resources>", "<build>"} {
		if n := strings.Count(body, tag); n != 1 {
			t.Errorf("%d times %s", n, tag)
		}
	}
	if strings.Index(body, "<build>") < strings.Index(body, "</resources>") {
		t.Error("build before resources")
	}
	var m xmlModel
	if err := xml.Unmarshal([]byte(body), &m); err != nil {
		t.Fatal(err)
	}
	if m.XMLName.Space != "http://schemas.microsoft.com/3dmanufacturing/core/2015/02" { // appendix C
		t.Errorf("namespace %s", m.XMLName.Space)
	}
	if m.Unit != "millimeter" { // 3.4
		t.Errorf("unit %q", m.Unit)
	}
	// 3MF Core 3.4.1.
	allowed := []string{"Title", "Designer", "Description", "Copyright", "LicenseTerms", "Rating", "CreationDate", "ModificationDate", "Application"}
	got := map[string]string{}
	for _, d := range m.Metadata {
		if _, twice := got[d.Name]; twice || !slices.Contains(allowed, d.Name) {
			t.Errorf("metadata %s twice or not allowed", d.Name)
		}
		got[d.Name] = d.Value
	}
	if d := cmp.Diff(map[string]string{"Title": p.Title, "Description": p.Description, "Designer": p.Designer,
		"Copyright": p.Copyright, "LicenseTerms": p.Licence, "Application": "tuckfinger"}, got); d != "" {
		t.Error(d)
	}
	if len(m.Objects) != len(p.Objects) {
		t.Fatalf("%d objects", len(m.Objects))
	}
	ids := map[string]int{}
	for i, o := range m.Objects {
		if n, err := strconv.Atoi(o.ID); err != nil || n < 1 { // ST_ResourceID
			t.Errorf("id %q", o.ID)
		}
		if _, twice := ids[o.ID]; twice { // ids are unique
			t.Errorf("id %s twice", o.ID)
		}
		ids[o.ID] = i
		if o.Type != "" && o.Type != "model" { // 4: the default is model
			t.Errorf("type %q", o.Type)
		}
		if o.Name != p.Objects[i].Name || o.PartNumber != p.Objects[i].PartNumber {
			t.Errorf("name %q, part number %q", o.Name, o.PartNumber)
		}
		got := &mesh.Mesh{}
		for _, v := range o.Vertices {
			got.Vertices = append(got.Vertices, r3.Vec{X: value(t, v.X), Y: value(t, v.Y), Z: value(t, v.Z)})
		}
		edges := map[[2]int]int{}
		for _, tr := range o.Triangles {
			v := [3]int{tr.V1, tr.V2, tr.V3}
			if v[0] == v[1] || v[1] == v[2] || v[2] == v[0] { // 4.1.4
				t.Errorf("triangle %v", v)
			}
			for k := range v {
				edges[[2]int{v[k], v[(k+1)%3]}]++
			}
			got.Triangles = append(got.Triangles, [3]int32{int32(v[0]), int32(v[1]), int32(v[2])})
		}
		if len(o.Triangles) < 4 { // 4.1.4
			t.Errorf("%d triangles", len(o.Triangles))
		}
		for e, n := range edges { // 4.1: one other triangle, the other way round
			if n != 1 || edges[[2]int{e[1], e[0]}] != 1 {
				t.Fatalf("object %s: edge %v", o.Name, e)
			}
		}
		want := p.Objects[i].Mesh
		if v := got.Volume(); v <= 0 || math.Abs(v-want.Volume()) > 1e-4*want.Volume() { // 4.1
			t.Errorf("volume %g mm³, want %g", v, want.Volume())
		}
		for k, v := range got.Vertices {
			// The library writes four decimals.
			if d := r3.Norm(r3.Sub(v, want.Vertices[k])); d > 0.5001e-4*math.Sqrt(3) {
				t.Fatalf("vertex %d off by %g mm", k, d)
			}
		}
	}
	k := 0
	for i, o := range p.Objects {
		for _, at := range o.Places {
			item := m.Items[k]
			k++
			if j, ok := ids[item.ObjectID]; !ok || j != i { // defined before use
				t.Fatalf("item %d is object %s", k, item.ObjectID)
			}
			// 3.3: 12 numbers, row vectors, the shift in the last three.
			f := strings.Fields(item.Transform)
			if len(f) != 12 {
				t.Fatalf("transform %q", item.Transform)
			}
			var x [12]float64
			for n, s := range f {
				x[n] = value(t, s)
			}
			move := func(v r3.Vec) r3.Vec {
				return r3.Vec{X: v.X*x[0] + v.Y*x[3] + v.Z*x[6] + x[9], Y: v.X*x[1] + v.Y*x[4] + v.Z*x[7] + x[10], Z: v.X*x[2] + v.Y*x[5] + v.Z*x[8] + x[11]}
			}
			for _, v := range []r3.Vec{{X: 1}, {Y: 1}, {Z: 1}, {X: 2, Y: 3, Z: 4}} {
				want := v
				if at.Turned {
					want.X, want.Y = -v.Y, v.X // a quarter turn counter-clockwise
				}
				if d := r3.Norm(r3.Sub(move(v), r3.Add(want, at.At))); d > 0.0005*math.Sqrt(3)+1e-9 {
					t.Errorf("item %d moves %v to %v", k, v, move(v))
				}
			}
		}
	}
	if k != len(m.Items) {
		t.Errorf("%d items, want %d", len(m.Items), k)
	}
}

// The library reads it back in strict mode and finds nothing wrong.
func TestLibraryReadsBack(t *testing.T) {
	p := example()
	b := encode(t, p)
	var m go3mf.Model
	if err := go3mf.NewDecoder(bytes.NewReader(b), int64(len(b))).Decode(&m); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(m.Validate(), m.ValidateCoherency()); err != nil {
		t.Error(err)
	}
	if m.Units != go3mf.UnitMillimeter || len(m.Resources.Objects) != 2 || len(m.Build.Items) != 3 {
		t.Errorf("unit %v, %d objects, %d items", m.Units, len(m.Resources.Objects), len(m.Build.Items))
	}
	// Outermost placed points, by hand: ring of radius 8 about (12, 12); turned
	// box x −1…5 about x = 100 becomes y 50−1…50+5 and x 100−7…100+2.
	box := m.BoundingBox()
	want := go3mf.Box{Min: go3mf.Point3D{4, 4, 0}, Max: go3mf.Point3D{102, 55, 3.3333}}
	for i := range 3 {
		if math.Abs(float64(box.Min[i]-want.Min[i])) > 1e-3 || math.Abs(float64(box.Max[i]-want.Max[i])) > 1e-3 {
			t.Errorf("box %v, want %v", box, want)
		}
	}
}

func TestSameBytes(t *testing.T) {
	if !bytes.Equal(encode(t, example()), encode(t, example())) {
		t.Error("two writes differ")
	}
	z, err := zip.NewReader(bytes.NewReader(encode(t, example())), int64(len(encode(t, example()))))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range z.File {
		if f.Modified.UTC().Year() != 1980 {
			t.Errorf("%s carries the date %v", f.Name, f.Modified)
		}
	}
}

func TestErrors(t *testing.T) {
	ring := solids.Tube(3, 8, 2, 6)
	open := ring.Clone()
	open.Triangles = open.Triangles[1:]
	inside := ring.Clone()
	for i, tr := range inside.Triangles {
		inside.Triangles[i] = [3]int32{tr[0], tr[2], tr[1]}
	}
	at := []Place{{}}
	for want, objects := range map[string][]Object{
		"it is empty": nil,
		`object 1: name "" is empty, used twice, or holds control characters`:      {{Mesh: ring, Places: at}},
		`object 2: name "a" is empty, used twice, or holds control characters`:     {{Name: "a", Mesh: ring, Places: at}, {Name: "a", Mesh: ring, Places: at}},
		`object 1: name "a\x00" is empty, used twice, or holds control characters`: {{Name: "a\x00", Mesh: ring, Places: at}},
		"object a: it has no place on the plate":                                   {{Name: "a", Mesh: ring}},
		"object a: it has no mesh":                                                 {{Name: "a", Places: at}},
		"object a: mesh: open edge":                                                {{Name: "a", Mesh: open, Places: at}},
		"object a: mesh: volume not positive":                                      {{Name: "a", Mesh: inside, Places: at}},
		"object a: place (NaN, 0, 0) mm":                                           {{Name: "a", Mesh: ring, Places: []Place{{At: r3.Vec{X: math.NaN()}}}}},
	} {
		var b bytes.Buffer
		err := Write(&b, Plate{Title: "t", Objects: objects})
		if err == nil || !strings.HasPrefix(err.Error(), `3MF plate "t": `+want) {
			t.Errorf("got %v, want %s", err, want)
		}
		if b.Len() > 0 {
			t.Errorf("%s: %d bytes written", want, b.Len())
		}
	}
}

func TestFailingWriter(t *testing.T) {
	size := len(encode(t, example()))
	for left := 0; left < size; left += 1 + size/50 {
		if err := Write(&solids.Failing{Left: left}, example()); !errors.Is(err, solids.ErrFull) {
			t.Errorf("%d bytes of %d: %v", left, size, err)
		}
	}
}

func BenchmarkWrite(b *testing.B) {
	p := Plate{Title: "t", Objects: []Object{{Name: "ring", Mesh: solids.Tube(3, 8, 2, 14_339), Places: []Place{{}}}}}
	for b.Loop() {
		if err := Write(io.Discard, p); err != nil {
			b.Fatal(err)
		}
	}
}
