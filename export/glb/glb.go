// Package glb writes the assembly with its stroke as one binary glTF 2.0 file:
// a node per part, bought pins as children of the part that carries them, and
// one animation that runs the slide out and back.
//
// glTF is in metres, right-handed, +Y up and +Z to the front (glTF 2.0, 3.4).
// The finger's axes are kept: its x is X, its y (out of the opening) is Y, up,
// and its z, the printing direction of the links, is Z, towards the viewer.
// Lengths are scaled by 0.001.
package glb

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/qmuntal/gltf"
	"github.com/qmuntal/gltf/modeler"

	"tuckfinger/assembly/linkage"
	"tuckfinger/parts/mesh"
)

// Scene is what the file holds.
type Scene struct {
	Name      string
	Generator string // program and version, for asset.generator
	Bodies    []Body
	// Times are when the poses of the bodies are reached, in s, rising by at least
	// MinStep; see Times. Empty: nothing moves.
	Times []float64
}

// Body is one part.
type Body struct {
	Name     string
	Colour   Colour
	Material string // name of the plastic
	// Mesh is in the body's frame, mm. It must bound a solid.
	Mesh *mesh.Mesh
	// Rest is the pose that the file shows before anything moves.
	Rest linkage.Pose
	// Poses are one per entry of Times; nil for a part that stands still.
	Poses []linkage.Pose
	Pins  []Pin
}

// Pin is a bought pin that goes with a body, parallel to z.
type Pin struct {
	Name         string
	X, Y, Z0, Z1 float64 // body frame, mm
	Radius       float64 // mm
}

// Colour is an sRGB colour with components from 0 to 1.
type Colour struct{ R, G, B float64 }

// steel is the colour of bought pins.
var steel = Colour{0.62, 0.64, 0.66}

// mm is a millimetre in the file's unit, the metre.
const mm = 0.001

// pinSides is how many flat sides a pin's cylinder has: a 3 mm pin then deviates
// by 0.013 mm, no more than part meshes do.
const pinSides = 24

// MinStep is the least time in s between two poses of the animation. Jumps,
// which take no time in a quasi-static stroke, are given one.
const MinStep = 1.0 / 60

// Times turns slide coordinates (mm, in the order of the stroke, out and back)
// into times (s) at a constant slide speed (mm/s). Two states at one coordinate,
// before and after a jump, are MinStep apart.
func Times(s []float64, speed float64) []float64 {
	out := make([]float64, len(s))
	for i := 1; i < len(s); i++ {
		out[i] = out[i-1] + math.Abs(s[i]-s[i-1])/speed
		if s[i] == s[i-1] {
			out[i] = out[i-1] + MinStep
		}
	}
	return out
}

// Write writes the scene. The bytes depend on the scene alone. An error names
// the body whose mesh or motion is not sound.
func Write(w io.Writer, s Scene) error {
	doc, err := s.document()
	if err != nil {
		return fmt.Errorf("GLB %q: %w", s.Name, err)
	}
	// Through memory: the encoder does not report every failed write.
	var b bytes.Buffer
	enc := gltf.NewEncoder(&b)
	enc.AsBinary = true
	err = enc.Encode(doc)
	if err == nil {
		_, err = w.Write(b.Bytes())
	}
	if err != nil {
		return fmt.Errorf("GLB %q: %w", s.Name, err)
	}
	return nil
}

func (s Scene) document() (*gltf.Document, error) {
	if len(s.Bodies) == 0 {
		return nil, errors.New("there is nothing to show")
	}
	doc := gltf.NewDocument()
	doc.Asset.Generator = s.Generator
	doc.Scenes[0].Name = s.Name
	b := &builder{doc: doc, materials: map[Colour]int{}, pins: map[pinShape]int{}}
	times, err := b.times(s.Times)
	if err != nil {
		return nil, err
	}
	for i := range s.Bodies {
		node, err := b.body(&s.Bodies[i])
		if err == nil && s.Bodies[i].Poses != nil {
			err = b.animate(node, times, len(s.Times), s.Bodies[i].Poses)
		}
		if err != nil {
			return nil, fmt.Errorf("body %q: %w", s.Bodies[i].Name, err)
		}
		doc.Scenes[0].Nodes = append(doc.Scenes[0].Nodes, node)
	}
	if len(b.motion.Channels) > 0 {
		b.motion.Name = "stroke"
		doc.Animations = append(doc.Animations, &b.motion)
	}
	return doc, nil
}

// builder fills a document. Maps are looked up only, never walked.
type builder struct {
	doc       *gltf.Document
	materials map[Colour]int
	pins      map[pinShape]int
	motion    gltf.Animation
}

type pinShape struct{ radius, length float64 }

func (b *builder) node(n *gltf.Node) int {
	b.doc.Nodes = append(b.doc.Nodes, n)
	return len(b.doc.Nodes) - 1
}

func (b *builder) body(in *Body) (int, error) {
	if in.Mesh == nil {
		return 0, errors.New("has no mesh")
	}
	if err := in.Mesh.Validate(); err != nil {
		return 0, err
	}
	if !finite(in.Rest.X, in.Rest.Y, in.Rest.Theta) {
		return 0, fmt.Errorf("stands at %v", in.Rest)
	}
	n := &gltf.Node{Name: in.Name, Mesh: gltf.Index(b.mesh(in.Name, in.Mesh, b.material(in.Colour, in.Material, 0, 0.7)))}
	n.Translation = [3]float64{in.Rest.X * mm, in.Rest.Y * mm, 0}
	n.Rotation = quaternion(in.Rest.Theta)
	at := b.node(n)
	for i := range in.Pins {
		p := &in.Pins[i]
		if !finite(p.X, p.Y, p.Z0, p.Z1, p.Radius) || p.Z1 <= p.Z0 || p.Radius <= 0 {
			return 0, fmt.Errorf("pin %q is not a cylinder: radius %g mm, z %g to %g mm", p.Name, p.Radius, p.Z0, p.Z1)
		}
		shape := pinShape{p.Radius, p.Z1 - p.Z0}
		m, ok := b.pins[shape]
		if !ok {
			m = b.mesh(fmt.Sprintf("pin %.4g x %.4g mm", 2*shape.radius, shape.length), cylinder(shape), b.material(steel, "steel", 1, 0.4))
			b.pins[shape] = m
		}
		n.Children = append(n.Children, b.node(&gltf.Node{Name: "pin " + p.Name, Mesh: gltf.Index(m), Translation: [3]float64{p.X * mm, p.Y * mm, p.Z0 * mm}}))
	}
	return at, nil
}

func (b *builder) material(c Colour, name string, metallic, roughness float64) int {
	if i, ok := b.materials[c]; ok {
		return i
	}
	b.doc.Materials = append(b.doc.Materials, &gltf.Material{Name: name, PBRMetallicRoughness: &gltf.PBRMetallicRoughness{
		BaseColorFactor: &[4]float64{linear(c.R), linear(c.G), linear(c.B), 1},
		MetallicFactor:  gltf.Float(metallic), RoughnessFactor: gltf.Float(roughness),
	}})
	b.materials[c] = len(b.doc.Materials) - 1
	return b.materials[c]
}

// linear undoes the sRGB transfer function (IEC 61966-2-1, from memory): glTF's
// factors are linear. Six digits are kept, so that files do not depend on the
// last bit of a power function.
func linear(c float64) float64 {
	v := c / 12.92
	if c > 0.04045 {
		v = math.Pow((c+0.055)/1.055, 2.4)
	}
	return math.Round(v*1e6) / 1e6
}

func (b *builder) mesh(name string, m *mesh.Mesh, material int) int {
	s := shade(m, crease)
	prim := &gltf.Primitive{
		Indices:  gltf.Index(b.indices(s)),
		Material: gltf.Index(material),
		Attributes: gltf.PrimitiveAttributes{
			gltf.POSITION: modeler.WritePosition(b.doc, s.positions),
			gltf.NORMAL:   modeler.WriteNormal(b.doc, s.normals),
		},
	}
	b.doc.Meshes = append(b.doc.Meshes, &gltf.Mesh{Name: name, Primitives: []*gltf.Primitive{prim}})
	return len(b.doc.Meshes) - 1
}

// indices writes short indices where they are enough.
func (b *builder) indices(s shaded) int {
	if len(s.positions) > math.MaxUint16 { // 65535 itself is kept for restarts
		return modeler.WriteIndices(b.doc, s.corners)
	}
	short := make([]uint16, len(s.corners))
	for i, c := range s.corners {
		short[i] = uint16(c)
	}
	return modeler.WriteIndices(b.doc, short)
}

func (b *builder) times(times []float64) (int, error) {
	if len(times) == 0 {
		return 0, nil
	}
	out := make([]float32, len(times))
	for i, t := range times {
		out[i] = float32(t)
		if !finite(t) || i > 0 && out[i] <= out[i-1] || t < 0 {
			return 0, fmt.Errorf("time %d is %g s; times must rise from 0", i, t)
		}
	}
	at := modeler.WriteAccessor(b.doc, gltf.TargetNone, out)
	a := b.doc.Accessors[at]
	a.Min, a.Max = []float64{float64(out[0])}, []float64{float64(out[len(out)-1])}
	return at, nil
}

// animate adds the translation and rotation of one node.
func (b *builder) animate(node, times, n int, poses []linkage.Pose) error {
	if len(poses) != n || n == 0 {
		return fmt.Errorf("has %d poses for %d times", len(poses), n)
	}
	move, turn := make([][3]float32, n), make([][4]float32, n)
	for i, p := range poses {
		if !finite(p.X, p.Y, p.Theta) {
			return fmt.Errorf("pose %d is %v", i, p)
		}
		move[i] = [3]float32{float32(p.X * mm), float32(p.Y * mm), 0}
		q := quaternion(p.Theta)
		turn[i] = [4]float32{0, 0, float32(q[2]), float32(q[3])}
	}
	b.channel(node, times, gltf.TRSTranslation, modeler.WriteAccessor(b.doc, gltf.TargetNone, move))
	b.channel(node, times, gltf.TRSRotation, modeler.WriteAccessor(b.doc, gltf.TargetNone, turn))
	return nil
}

func (b *builder) channel(node, times int, path gltf.TRSProperty, values int) {
	b.motion.Samplers = append(b.motion.Samplers, &gltf.AnimationSampler{Input: times, Output: values, Interpolation: gltf.InterpolationLinear})
	b.motion.Channels = append(b.motion.Channels, &gltf.AnimationChannel{
		Sampler: len(b.motion.Samplers) - 1,
		Target:  gltf.AnimationChannelTarget{Node: gltf.Index(node), Path: path},
	})
}

// quaternion turns by theta (rad) about z. Half the angle is not reduced, so
// that neighbouring poses have neighbouring quaternions and a player does not
// turn the long way.
func quaternion(theta float64) [4]float64 {
	s, c := math.Sincos(theta / 2)
	return [4]float64{0, 0, s, c}
}

func finite(vs ...float64) bool {
	for _, v := range vs {
		if v-v != 0 {
			return false
		}
	}
	return true
}
