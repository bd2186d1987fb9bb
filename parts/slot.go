package parts

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/parts/profile"
)

// RampBump returns a ramp as a bump on its slot wall; its x is the path
// coordinate less the ramp's At.
func RampBump(r *params.Ramp) Bump {
	return Bump{Height: r.Rise, First: r.First, Last: r.Last, Radius: r.Peak}
}

// slotRegion draws the slot of a joint: the path thickened to the pin's
// diameter plus the play, less the ramps in it.
func slotRegion(path *SlotPath, width float64, ramps []*params.Ramp, tags []int32, tag int32) (profile.Region, error) {
	centre := make([]profile.Vertex, 0, len(path.Edges)+1)
	for _, e := range path.Edges {
		centre = append(centre, profile.Vertex{P: e.A, Bulge: e.Bulge, Tag: tag})
	}
	last := path.Edges[len(path.Edges)-1]
	open, err := profile.Thicken(append(centre, profile.Vertex{P: last.B, Tag: tag}), width)
	if err != nil {
		return nil, err
	}
	for i, r := range ramps {
		bump := RampBump(r)
		if err := bump.Check(); err != nil {
			return nil, err
		}
		if bump.Height >= width {
			return nil, fmt.Errorf("a %.2f mm ramp closes the %.2f mm slot", bump.Height, width)
		}
		end := r.At + bump.End()
		edge := path.Straight(r.At, end)
		if edge < 0 {
			return nil, fmt.Errorf("the ramp reaches from %.2f to %.2f mm along the path, which no straight part of it spans", r.At, end)
		}
		s := path.strip(edge, r.Wall)
		// In (u, v) the slot is at v < width/2 and the ramp rises to smaller v.
		// Mirroring v turns the outline's travel round, so it is left as it is.
		loop := profile.Loop{}
		for _, w := range bump.outline() {
			loop = append(loop, profile.Vertex{P: r2.Vec{X: r.At + w.P.X, Y: width/2 - w.P.Y}, Bulge: -w.Bulge, Tag: tags[i]})
		}
		base := width/2 + 0.5 // beyond the wall, so that no edges coincide
		loop = append(loop,
			profile.Vertex{P: r2.Vec{X: end, Y: base}, Tag: tags[i]},
			profile.Vertex{P: r2.Vec{X: r.At, Y: base}, Tag: tags[i]})
		if open, err = profile.Subtract(open, profile.Region{s.loop(loop)}); err != nil {
			return nil, err
		}
	}
	return open, nil
}

// slitRegion draws the relief slit that frees a ramp's rail.
func slitRegion(path *SlotPath, r *params.Ramp, width float64, tag int32) (profile.Region, error) {
	edge := path.Straight(r.Rail.From, r.Rail.To)
	if edge < 0 {
		return nil, fmt.Errorf("the rail reaches from %.2f to %.2f mm along the path, which no straight part of it spans", r.Rail.From, r.Rail.To)
	}
	s := path.strip(edge, r.Wall)
	v := width/2 + r.Rail.Thickness + r.Rail.Slit/2
	return profile.Bar(s.at(r.Rail.From, v), s.at(r.Rail.To, v), r.Rail.Slit, tag)
}

// rackRegion draws rack teeth on the left of the line from a to b: the basic
// rack of ISO 53, flanks at 20°, tip one module above the pitch line and root
// 1.25 modules below it. As many whole pitches as fit are drawn, centred.
func rackRegion(r *params.Rack, tag int32) (profile.Region, error) {
	along := r2.Sub(r.To, r.From)
	length := r2.Norm(along)
	pitch := math.Pi * r.Module
	n := int(length / pitch)
	if n < 1 {
		return nil, fmt.Errorf("the rack is %.2f mm long, shorter than one pitch of %.2f mm", length, pitch)
	}
	along = r2.Scale(1/length, along)
	out := r2.Vec{X: -along.Y, Y: along.X}
	at := func(u, v float64) r2.Vec { return r2.Add(r.From, r2.Add(r2.Scale(u, along), r2.Scale(v, out))) }
	tan20 := math.Tan(20 * math.Pi / 180)
	half := func(v float64) float64 { return pitch/4 - (v-1.25*r.Module)*tan20 }
	// The body under the teeth reaches below the root line to join the part.
	below := -0.5 * r.Module
	start := (length - float64(n)*pitch) / 2
	// Counter-clockwise seen with `out` to the left of `along`.
	loop := profile.Loop{{P: at(start, below)}, {P: at(start+float64(n)*pitch, below)}, {P: at(start+float64(n)*pitch, 0)}}
	for i := n - 1; i >= 0; i-- {
		u := start + (float64(i)+0.5)*pitch
		top := 2.25 * r.Module
		for _, w := range []r2.Vec{{X: u + half(0), Y: 0}, {X: u + half(top), Y: top}, {X: u - half(top), Y: top}, {X: u - half(0), Y: 0}} {
			loop = append(loop, profile.Vertex{P: at(w.X, w.Y)})
		}
	}
	loop = append(loop, profile.Vertex{P: at(start, 0)})
	for i := range loop {
		loop[i].Tag = tag
	}
	return profile.FromLoop(loop)
}

// hexagon draws a nut's hexagon of the given width across flats.
func hexagon(c r2.Vec, flats, angle float64, tag int32) profile.Region {
	loop := make(profile.Loop, 6)
	r := flats / math.Sqrt(3)
	for i := range loop {
		sin, cos := math.Sincos(angle + float64(i)*math.Pi/3)
		loop[i] = profile.Vertex{P: r2.Vec{X: c.X + r*cos, Y: c.Y + r*sin}, Tag: tag}
	}
	return profile.Region{loop}
}
