package check

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/linkage"
	"tuckfinger/params/tables"
	"tuckfinger/parts"
	"tuckfinger/parts/profile"
)

// shearShare is shear strength over tensile strength: distortion energy (von
// Mises), 1/√3.
var shearShare = 1 / math.Sqrt(3)

// pinBeam is a pin as a beam along z that bodies press on in the plane.
type pinBeam struct {
	name, path string
	joint      int // its pin joint, −1
	clip       int // the clip whose post it is, −1
	diameter   float64
	material   tables.Material
	across     bool // printed: bent and sheared across its layers
	holders    []holder
	slots      []int // slot joints it runs in

	z     []float64 // stations
	faces []int     // stations between two holders
	// per holder and station: shear (1) and moment (mm) for one newton from the
	// holder on the pin
	v, m         [][]float64
	vMost, mMost []float64 // largest of each
	// largest shear (N) and moment (N·mm) met so far
	shear, bend float64
	seen        bool
}

// holder is a body that holds or loads a pin.
type holder struct {
	body  int
	joint int // slot joint, −1 for a hole
	spans [][2]float64
	press bool
	hole  *parts.Hole
}

// pinBeams lists the pins of joints and the posts of clips with who holds them.
func (in *Input) pinBeams() ([]*pinBeam, error) {
	var out []*pinBeam
	d, hooks := in.Design, in.hooks()
	for i, name := range d.Joints.Names {
		j := &d.Joints.Values[i]
		b := &pinBeam{name: name, path: "joints." + name, joint: in.Mechanism.JointIndex(name), clip: -1}
		standard := ""
		switch {
		case j.Pin != nil:
			b.diameter, standard = j.Pin.Diameter, j.Pin.Standard
			b.path += ".pin.diameter"
		case j.Slot != nil && j.Slot.Shares == "":
			b.diameter, standard = parts.SlotPin(d, j.Slot), j.Slot.Standard
			b.path += ".slot.diameter"
		default:
			continue
		}
		for k, other := range d.Joints.Names {
			if s := d.Joints.Values[k].Slot; s != nil && (other == name || s.Shares == name) {
				slot := in.Mechanism.JointIndex(other)
				b.slots = append(b.slots, slot)
				b.holders = append(b.holders, holder{body: in.Mechanism.BodyIndex(s.On), joint: slot, spans: in.slotSpans(s)})
			}
		}
		bodies := []int{in.Mechanism.Joints[b.joint].A, in.Mechanism.Joints[b.joint].B}
		if j.Slot != nil {
			bodies = bodies[1:]
		}
		if err := in.hold(b, name, standard, bodies); err != nil {
			return nil, err
		}
		out = append(out, b)
	}
	for i, name := range d.Clips.Names {
		c := &d.Clips.Values[i]
		b := &pinBeam{name: name, path: "clips." + name + ".post.radius", joint: -1, clip: i, diameter: 2 * c.Post.Radius}
		p := in.part(c.Arm.Body)
		if p == nil {
			continue
		}
		if z0, z1, ok := armSpan(p, name); ok {
			b.holders = append(b.holders, holder{body: hooks[i].arm, joint: -1, spans: [][2]float64{{z0, z1}}})
		}
		if err := in.hold(b, name, c.Post.Standard, []int{hooks[i].post}); err != nil {
			return nil, err
		}
		out = append(out, b)
	}
	for _, b := range out {
		b.prepare()
	}
	return out, nil
}

// hold finds the material around a pin in its own bodies. A printed pin is part
// of the body that has no hole for it.
func (in *Input) hold(b *pinBeam, name, standard string, bodies []int) error {
	if standard == "" {
		standard = "printed"
	}
	root := -1
	for _, body := range bodies {
		p := in.part(in.Mechanism.Bodies[body].Name)
		if p == nil {
			continue
		}
		h := holder{body: body, joint: -1}
		for k := range p.Holes {
			if o := &p.Holes[k]; o.Joint == name || in.shares(o.Joint, name) {
				h.hole, h.press = o, h.press || o.Fit == "press"
				h.spans = append(h.spans, walled(p, o.At, (o.Nominal+o.Clearance)/2, o.Z0, o.Z1)...)
			}
		}
		if h.hole == nil && standard == "printed" && root < 0 {
			root = body
			at, ok := in.pinAt(b, name, body)
			if !ok {
				continue
			}
			lo, hi := p.Solid.ZRange()
			h.spans, h.press = walled(p, at, b.diameter/2, lo, hi), true
		}
		slices.SortFunc(h.spans, func(x, y [2]float64) int { return cmpFloat(x[0], y[0]) })
		if len(h.spans) > 0 {
			b.holders = append(b.holders, h)
		}
	}
	if standard == "printed" {
		if root < 0 && len(bodies) > 0 {
			root = bodies[0]
		}
		b.material, b.across = in.Design.Material(in.Mechanism.Bodies[root].Name), true
		return nil
	}
	pin, err := in.Design.Lib.Pin(standard, b.diameter)
	if err != nil {
		return err
	}
	m := in.Design.Lib.Materials.Get(pin.Material)
	if m == nil {
		return fmt.Errorf("pin %s: no material %q", name, pin.Material)
	}
	b.material = *m
	return nil
}

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

func (in *Input) shares(slot, pin string) bool {
	j := in.Design.Joints.Get(slot)
	return j != nil && j.Slot != nil && j.Slot.Shares == pin
}

// pinAt is where a pin stands in a body's frame.
func (in *Input) pinAt(b *pinBeam, name string, body int) (r2.Vec, bool) {
	if b.clip >= 0 {
		return in.Design.Clips.Values[b.clip].Post.At, true
	}
	j := &in.Mechanism.Joints[b.joint]
	switch {
	case body == j.B:
		return j.PB, true
	case body == j.A && j.Kind == linkage.Pin:
		return j.PA, true
	}
	return r2.Vec{}, false
}

// walled returns the z ranges between z0 and z1 in which a part has material
// around a circle.
func walled(p *parts.Part, at r2.Vec, radius, z0, z1 float64) [][2]float64 {
	const (
		around, enough = 8, 5 // of this many points just outside the circle
		outside        = 0.2  // mm
	)
	var out [][2]float64
	for _, s := range p.Solid.Slabs() {
		a, b := math.Max(s.Z0, z0), math.Min(s.Z1, z1)
		if b <= a {
			continue
		}
		in := 0
		for i := range around {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / around)
			if s.Region.Contains(r2.Add(at, r2.Scale(radius+outside, r2.Vec{X: cos, Y: sin}))) {
				in++
			}
		}
		if in >= enough {
			out = append(out, [2]float64{a, b})
		}
	}
	return out
}

// loads returns the force (N) of every holder on the pin at an instant, spine
// frame. They are in balance.
func (b *pinBeam) loads(m *linkage.Mechanism, at *instant, dst []r2.Vec) []r2.Vec {
	dst = dst[:0]
	var sum r2.Vec
	for range b.holders {
		dst = append(dst, r2.Vec{})
	}
	owner := -1 // the holder that takes what the others bring: the pin's own body
	for i, h := range b.holders {
		switch {
		case h.joint >= 0:
			dst[i] = at.slots[h.joint]
		case b.clip >= 0 && i == 0:
			dst[i] = at.clips[b.clip]
		case b.clip < 0 && b.other(m, h.body):
			dst[i] = r2.Scale(-1, at.pinForce(b.joint, h.body))
		default:
			owner = i
			continue
		}
		sum = r2.Add(sum, dst[i])
	}
	if owner >= 0 {
		dst[owner] = r2.Scale(-1, sum)
	}
	return dst
}

// other reports whether a body is the one of a pin joint that the pin's slots
// do not belong to, so that only the joint's own force acts there.
func (b *pinBeam) other(m *linkage.Mechanism, body int) bool {
	j := &m.Joints[b.joint]
	if j.Kind != linkage.Pin {
		return false
	}
	for _, s := range b.slots {
		if m.Joints[s].B == body {
			return false
		}
	}
	if len(b.slots) > 0 {
		return true
	}
	return body == j.A
}

// strengths returns the tensile and shear strength of the pin in bending.
func (b *pinBeam) strengths() (tension, shear float64) {
	s := b.material.StrengthXY
	if b.across {
		s = b.material.StrengthZ
	}
	return s.Low, shearShare * s.Low
}

// source says where the pin's strength comes from.
func (b *pinBeam) source() string {
	if b.across {
		return b.material.Name + " across layers: " + b.material.StrengthZ.Source
	}
	return b.material.Name + ": " + b.material.StrengthXY.Source
}

// allowed returns the strength (MPa, low end) of a part for a load along a
// direction of the spine's plane: layers of a link lie in that plane, those of a
// body drawn in xz stand across its own y.
func allowed(p *parts.Part, pose linkage.Pose, dir r2.Vec) float64 {
	m := &p.Material
	if p.Body.Plane != "xz" {
		return m.StrengthXY.Low
	}
	l := force.Layered{InPlane: m.StrengthXY.Low, Ratio: m.StrengthZ.Low / m.StrengthXY.Low}
	n := r2.Norm(dir)
	if n == 0 {
		return l.InPlane
	}
	return l.Allowed(math.Asin(math.Min(1, math.Abs(unturn(pose, dir).Y)/n)))
}

// slabField is the outline of a slab, indexed.
type slabField struct {
	z0, z1 float64
	field  *profile.Field
}

func fields(p *parts.Part) []slabField {
	slabs := p.Rigid.Slabs()
	out := make([]slabField, len(slabs))
	for i, s := range slabs {
		out[i] = slabField{s.Z0, s.Z1, profile.NewField(s.Region)}
	}
	return out
}
