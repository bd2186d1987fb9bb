// Package threemf writes one print plate as one 3MF package (3MF Core
// Specification 1.4.0): named objects in millimetres, each a closed mesh, placed
// on the bed. The bytes depend on the plate alone: entries carry no date.
package threemf

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode"

	"github.com/hpinc/go3mf"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
)

// Plate is what is printed in one go.
type Plate struct {
	Title       string
	Description string
	Designer    string // who designed it, empty: not said
	Copyright   string
	Licence     string
	Objects     []Object
}

// Object is one mesh and every place where it lies.
type Object struct {
	Name       string // shown by the program that prints
	PartNumber string // may be empty
	// Mesh is the part as it is printed, z up, mm. It must bound a solid.
	Mesh   *mesh.Mesh
	Places []Place
}

// Place puts a copy on the bed: a quarter turn counter-clockwise about z if
// Turned, then a shift by At (mm, kept to 1 µm).
type Place struct {
	Turned bool
	At     r3.Vec
}

const (
	contentTypes = "[Content_Types].xml"
	rels         = "_rels/.rels"
)

// Write writes the plate. Every mesh is checked first: the standard demands
// closed, oriented meshes of positive volume (4.1). An error names the object.
func Write(w io.Writer, p Plate) error {
	m, err := p.model()
	if err != nil {
		return fmt.Errorf("3MF plate %q: %w", p.Title, err)
	}
	if err := m.Validate(); err != nil {
		return fmt.Errorf("3MF plate %q: %w", p.Title, err)
	}
	body, err := go3mf.MarshalModel(m)
	if err != nil {
		return fmt.Errorf("3MF plate %q: %w", p.Title, err)
	}
	if err := pack(w, body); err != nil {
		return fmt.Errorf("3MF plate %q: %w", p.Title, err)
	}
	return nil
}

func (p Plate) model() (*go3mf.Model, error) {
	m := &go3mf.Model{Units: go3mf.UnitMillimeter, Language: "en-US"}
	for _, d := range []struct{ name, value string }{
		{"Title", p.Title}, {"Designer", p.Designer}, {"Description", p.Description},
		{"Copyright", p.Copyright}, {"LicenseTerms", p.Licence}, {"Application", "tuckfinger"},
	} {
		if d.value != "" {
			m.Metadata = append(m.Metadata, go3mf.Metadata{Name: xml.Name{Local: d.name}, Value: d.value, Preserve: true})
		}
	}
	names := map[string]bool{}
	for i, o := range p.Objects {
		if strings.TrimSpace(o.Name) == "" || names[o.Name] || strings.ContainsFunc(o.Name, unicode.IsControl) {
			return nil, fmt.Errorf("object %d: name %q is empty, used twice, or holds control characters", i+1, o.Name)
		}
		names[o.Name] = true
		if len(o.Places) == 0 {
			return nil, fmt.Errorf("object %s: it has no place on the plate", o.Name)
		}
		if o.Mesh == nil {
			return nil, fmt.Errorf("object %s: it has no mesh", o.Name)
		}
		if err := o.Mesh.Validate(); err != nil {
			return nil, fmt.Errorf("object %s: %w", o.Name, err)
		}
		id := uint32(i + 1)
		m.Resources.Objects = append(m.Resources.Objects, &go3mf.Object{
			ID: id, Name: o.Name, PartNumber: o.PartNumber, Mesh: convert(o.Mesh)})
		for _, at := range o.Places {
			x, err := at.matrix()
			if err != nil {
				return nil, fmt.Errorf("object %s: %w", o.Name, err)
			}
			m.Build.Items = append(m.Build.Items, &go3mf.Item{ObjectID: id, Transform: x})
		}
	}
	if len(m.Build.Items) == 0 {
		return nil, fmt.Errorf("it is empty")
	}
	return m, nil
}

func (p Place) matrix() (go3mf.Matrix, error) {
	for _, v := range []float64{p.At.X, p.At.Y, p.At.Z} {
		// Beyond a kilometre the three decimals of the file are not there.
		if !(v > -1e6 && v < 1e6) {
			return go3mf.Matrix{}, fmt.Errorf("place (%g, %g, %g) mm", p.At.X, p.At.Y, p.At.Z)
		}
	}
	m := go3mf.Identity()
	if p.Turned {
		// Rows are the images of the axes (3.3: row vectors, v' = v·M).
		m[0], m[1], m[4], m[5] = 0, 1, -1, 0
	}
	return m.Translate(float32(p.At.X), float32(p.At.Y), float32(p.At.Z)), nil
}

func convert(m *mesh.Mesh) *go3mf.Mesh {
	out := &go3mf.Mesh{}
	out.Vertices.Vertex = make([]go3mf.Point3D, len(m.Vertices))
	for i, v := range m.Vertices {
		out.Vertices.Vertex[i] = go3mf.Point3D{float32(v.X), float32(v.Y), float32(v.Z)}
	}
	out.Triangles.Triangle = make([]go3mf.Triangle, len(m.Triangles))
	for i, t := range m.Triangles {
		out.Triangles.Triangle[i] = go3mf.Triangle{V1: uint32(t[0]), V2: uint32(t[1]), V3: uint32(t[2])}
	}
	return out
}

// pack writes the three parts that the standard requires. The library's own
// package writer stamps every entry with the time of day.
func pack(w io.Writer, model []byte) error {
	z := zip.NewWriter(w)
	for _, part := range []struct {
		name string
		body []byte
	}{
		{contentTypes, []byte(xml.Header + `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">` +
			`<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>` +
			`<Default Extension="model" ContentType="` + go3mf.ContentType3DModel + `"/></Types>`)},
		{rels, []byte(xml.Header + `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">` +
			`<Relationship Id="rel0" Type="` + go3mf.RelType3DModel + `" Target="` + go3mf.DefaultModelPath + `"/></Relationships>`)},
		{strings.TrimPrefix(go3mf.DefaultModelPath, "/"), append([]byte(xml.Header), model...)},
	} {
		// The earliest date that a ZIP entry can hold.
		f, err := z.CreateHeader(&zip.FileHeader{Name: part.name, Method: zip.Deflate, Modified: time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)})
		if err != nil {
			return err
		}
		if _, err := io.Copy(f, bytes.NewReader(part.body)); err != nil {
			return err
		}
	}
	return z.Close()
}
