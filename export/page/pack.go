package page

import (
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"html/template"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
)

// packed is what the scripts get: poses, curves and meshes. Keys are short and
// numbers rounded, for the page is sent around as one file.
type packed struct {
	Bodies []packedBody   `json:"bodies"`
	S      []short        `json:"s"`
	Turn   int            `json:"turn"`
	Speed  short          `json:"speed"`
	Force  []short        `json:"force"`
	Series []packedSeries `json:"series"`
	Events []packedEvent  `json:"events"`
	Pads   []packedPad    `json:"pads"`
	Pins   []packedPin    `json:"pins"`
}

type packedBody struct {
	Name   string      `json:"name"`
	Colour string      `json:"colour"`
	Rest   [3]short    `json:"rest"`
	X      []short     `json:"x,omitempty"` // absent: stands still
	Y      []short     `json:"y,omitempty"`
	T      []short     `json:"t,omitempty"`
	Mesh   *packedMesh `json:"mesh,omitempty"`
}

// packedMesh is a mesh on a lattice: corner = origin + step·integer.
type packedMesh struct {
	Origin [3]short `json:"o"`
	Step   float64  `json:"k"`
	Points string   `json:"p"` // base64 of little-endian uint16, three a point
	Faces  string   `json:"f"` // base64 of little-endian uint16, or uint32 from 65536 points on
	Wide   bool     `json:"w,omitempty"`
}

type packedSeries struct {
	Name   string  `json:"name"`
	Unit   string  `json:"unit"`
	Key    string  `json:"key,omitempty"`
	Values []short `json:"v"`
}

type packedEvent struct {
	Frame int    `json:"f"`
	N     int    `json:"n"`
	Text  string `json:"text"`
}

type packedPad struct {
	Body int      `json:"b"`
	From [2]short `json:"from"`
	To   [2]short `json:"to"`
}

type packedPin struct {
	Body int      `json:"b"`
	At   [2]short `json:"at"`
	Z    [2]short `json:"z"`
	R    short    `json:"r"`
}

// short is a number with four decimals; what is not finite becomes null.
type short float64

// MarshalJSON writes the shortest text.
func (v short) MarshalJSON() ([]byte, error) {
	if f := float64(v); f-f != 0 {
		return []byte("null"), nil
	}
	return json.Marshal(math.Round(float64(v)*1e4)/1e4 + 0)
}

// Errors of dropped frames: what the player may be off between the kept ones.
const (
	keepPlace = 0.01  // mm
	keepAngle = 0.001 // rad
	keepShare = 0.003 // of the range of a force or another quantity
)

// kept are the frames that the scripts need: events, ends, and those that a
// straight line between kept neighbours misses by more than the limits above.
func (st *Stroke) kept() []int {
	n := len(st.Frames)
	must := make([]bool, n)
	must[0], must[n-1], must[st.Turn] = true, true, true
	for _, e := range st.Events {
		must[e.Frame] = true
		must[max(0, e.Frame-1)] = true
	}
	var columns [][]float64
	var limits []float64
	add := func(limit float64, at func(i int) float64) {
		c := make([]float64, n)
		still := true
		for i := range c {
			c[i] = at(i)
			still = still && (c[i] == c[0] || c[i] != c[i] && c[0] != c[0])
		}
		if !still {
			columns, limits = append(columns, c), append(limits, limit)
		}
	}
	for b := range st.Frames[0].Poses {
		add(keepPlace, func(i int) float64 { return st.Frames[i].Poses[b].X })
		add(keepPlace, func(i int) float64 { return st.Frames[i].Poses[b].Y })
		add(keepAngle, func(i int) float64 { return st.Frames[i].Poses[b].Theta })
	}
	scale := func(v []float64) float64 {
		lo, hi := spread([]curve{{y: v}}, func(c *curve) []float64 { return c.y })
		return keepShare * (hi - lo)
	}
	force := st.forces()
	add(scale(force), func(i int) float64 { return force[i] })
	for _, q := range st.Series {
		add(scale(q.Values), func(i int) float64 { return q.Values[i] })
	}
	out := []int{0}
	for i := 0; i < n-1; {
		next := i + 1
		for k := i + 2; k < n && !must[k-1] && st.straight(i, k, columns, limits); k++ {
			next = k
		}
		out = append(out, next)
		i = next
	}
	return out
}

// straight reports whether every frame between a and b is on the line.
func (st *Stroke) straight(a, b int, columns [][]float64, limits []float64) bool {
	length := st.Frames[b].S - st.Frames[a].S
	if length == 0 {
		return false
	}
	for k := a + 1; k < b; k++ {
		f := (st.Frames[k].S - st.Frames[a].S) / length
		for c, v := range columns {
			off := math.Abs(v[a] + f*(v[b]-v[a]) - v[k])
			if off > limits[c] || (off != off) != (v[a] != v[a] && v[b] != v[b] && v[k] != v[k]) {
				return false
			}
		}
	}
	return true
}

// Pack is the data of the scripts as JSON.
func (d *Data) Pack() (template.JS, error) {
	p := packed{Bodies: []packedBody{}, S: []short{}, Force: []short{}, Series: []packedSeries{}, Events: []packedEvent{}, Pads: []packedPad{}, Pins: []packedPin{}}
	var frames []int
	if d.Stroke != nil && len(d.Stroke.Frames) > 0 {
		frames = d.Stroke.kept()
		p.stroke(d, frames)
	}
	for i := range d.Bodies {
		b := packedBody{Name: d.Bodies[i].Name, Colour: d.Colour(i)}
		r := d.Bodies[i].Rest
		b.Rest = [3]short{short(r.X), short(r.Y), short(r.Theta)}
		still := true
		for _, f := range frames {
			still = still && d.Stroke.Frames[f].Poses[i] == r
		}
		for _, f := range frames {
			if still {
				break
			}
			at := d.Stroke.Frames[f].Poses[i]
			b.X, b.Y, b.T = append(b.X, short(at.X)), append(b.Y, short(at.Y)), append(b.T, short(at.Theta))
		}
		if m := d.Bodies[i].Mesh; m != nil {
			var err error
			if b.Mesh, err = packMesh(m); err != nil {
				return "", fmt.Errorf("part %s: %w", b.Name, err)
			}
		}
		p.Bodies = append(p.Bodies, b)
	}
	for _, q := range d.Pads {
		p.Pads = append(p.Pads, packedPad{q.Body, [2]short{short(q.From.X), short(q.From.Y)}, [2]short{short(q.To.X), short(q.To.Y)}})
	}
	for _, q := range d.Pins {
		p.Pins = append(p.Pins, packedPin{q.Body, [2]short{short(q.At.X), short(q.At.Y)}, [2]short{short(q.Z0), short(q.Z1)}, short(q.Radius)})
	}
	out, err := json.Marshal(p) // escapes <, > and &
	return template.JS(out), err
}

func (p *packed) stroke(d *Data, frames []int) {
	st := d.Stroke
	at := make(map[int]int, len(frames))
	for k, f := range frames {
		at[f] = k
		p.S = append(p.S, short(st.Frames[f].S))
		p.Force = append(p.Force, short(st.Frames[f].Force))
	}
	p.Turn, p.Speed = at[st.Turn], short(st.Speed)
	for _, q := range st.Series {
		s := packedSeries{Name: q.Name, Unit: q.Unit, Key: q.Key}
		for _, f := range frames {
			s.Values = append(s.Values, short(q.Values[f]))
		}
		p.Series = append(p.Series, s)
	}
	for _, e := range d.Events() {
		p.Events = append(p.Events, packedEvent{at[e.Frame], e.Number, e.Text})
	}
}

// packMesh puts a mesh onto a lattice of 65535 steps along its longest side: for
// a part of 200 mm each is 3 µm.
func packMesh(m *mesh.Mesh) (*packedMesh, error) {
	box := m.Box()
	size := r3.Sub(box.Max, box.Min)
	step := math.Max(size.X, math.Max(size.Y, size.Z)) / math.MaxUint16
	if !(step > 0) {
		return nil, fmt.Errorf("the mesh has no size")
	}
	// The script multiplies by the step as it is written, so it is rounded up.
	step = math.Ceil(step*1e9) / 1e9
	points := make([]byte, 0, 6*len(m.Vertices))
	for _, v := range m.Vertices {
		for _, x := range [3]float64{v.X - box.Min.X, v.Y - box.Min.Y, v.Z - box.Min.Z} {
			points = binary.LittleEndian.AppendUint16(points, uint16(math.Round(x/step)))
		}
	}
	out := &packedMesh{Origin: [3]short{short(box.Min.X), short(box.Min.Y), short(box.Min.Z)}, Points: base64.StdEncoding.EncodeToString(points)}
	out.Wide = len(m.Vertices) > math.MaxUint16
	var faces []byte
	for _, t := range m.Triangles {
		for _, i := range t {
			if out.Wide {
				faces = binary.LittleEndian.AppendUint32(faces, uint32(i))
			} else {
				faces = binary.LittleEndian.AppendUint16(faces, uint16(i))
			}
		}
	}
	out.Faces = base64.StdEncoding.EncodeToString(faces)
	out.Step = step
	return out, nil
}
