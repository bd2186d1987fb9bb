package force

import (
	"errors"
	"fmt"
	"math"
)

// Bump is the reference for curves that come from drawn profiles: the offset of a
// ramp in closed form. A ramp in a straight slot wall has a steep face, a
// rounded peak, a shallow face. It is described beside a pin that travels along
// x with the peak at x = 0; the steep face lies on the −x side and is the one
// met when travelling towards +x. (Nothing demands that it be the steeper.)
type Bump struct {
	Height       float64 // of the rounded peak above the wall, mm
	Steep        float64 // face angle from the wall on the −x side, rad, (0, π/2)
	Shallow      float64 // face angle from the wall on the +x side, rad, (0, π/2)
	PeakRadius   float64 // convex rounding of the peak, mm, 0 is sharp
	GroundRadius float64 // concave rounding where a face leaves the wall, mm, 0 is sharp
}

// Face is what a pin can touch of one face of a Bump.
type Face struct {
	Rise    float64 // height over which the pin centre runs straight, mm; 0 if none of the face is left
	Run     float64 // the same along x, mm
	Printed float64 // Rise a pin of no radius would find, mm
	Angle   float64 // steepest angle of the pin-centre curve on this side, rad
}

func (b Bump) check(pin float64) error {
	const lim = math.Pi / 2
	err := errors.Join(
		positive("ramp height", b.Height),
		notNegative("ramp peak radius", b.PeakRadius),
		notNegative("ramp ground radius", b.GroundRadius),
		notNegative("pin radius", pin))
	for _, a := range []float64{b.Steep, b.Shallow} {
		if !(a > 0 && a < lim) {
			err = errors.Join(err, fmt.Errorf("force: ramp face angle is %g rad, must be between 0 and π/2", a))
		}
	}
	return err
}

// Foot returns the x at which the printed faces (no ground radius) leave the
// wall: the part of the rail that the ramp stiffens.
func (b Bump) Foot() (from, to float64) {
	l := flank(b.Height, b.PeakRadius, b.Steep, 0)
	r := flank(b.Height, b.PeakRadius, b.Shallow, 0)
	return -l.end, r.end
}

// Curve returns the exact pin-centre curve: the printed shape offset by the pin
// radius, as lines and arcs. The peak becomes an arc of peak radius + pin
// radius, which eats the faces; where the arc reaches the wall before the face
// angle does, nothing of the face is left. A ground radius larger than the pin
// leaves a valley arc of the difference; a smaller one is bridged by the pin
// and leaves a corner.
func (b Bump) Curve(pinRadius float64) (*Graph, error) {
	if err := b.check(pinRadius); err != nil {
		return nil, err
	}
	r := b.PeakRadius + pinRadius
	valley := math.Max(0, b.GroundRadius-pinRadius)
	g := &Graph{}
	l, s := flank(b.Height, r, b.Steep, valley), flank(b.Height, r, b.Shallow, valley)
	g.pieces = append(l.pieces(-1, b.Height, r, valley), s.pieces(1, b.Height, r, valley)...)
	if len(g.pieces) == 0 {
		return nil, errors.New("force: ramp has no extent")
	}
	g.mark()
	return g, nil
}

// Remains returns what a pin of the given radius can touch of both faces. A
// designer reads from it that a face printed steep over a small ramp may act
// over a few hundredths of a millimetre only.
func (b Bump) Remains(pinRadius float64) (steep, shallow Face, err error) {
	if err := b.check(pinRadius); err != nil {
		return steep, shallow, err
	}
	one := func(angle float64) Face {
		valley := math.Max(0, b.GroundRadius-pinRadius)
		f := flank(b.Height, b.PeakRadius+pinRadius, angle, valley)
		p := flank(b.Height, b.PeakRadius, angle, b.GroundRadius)
		return Face{
			Rise: f.y0 - f.y1, Run: f.x1 - f.x0, Printed: p.y0 - p.y1,
			Angle: f.steepest,
		}
	}
	return one(b.Steep), one(b.Shallow), nil
}

// side is one half of the curve, described for travel away from the peak: arc
// to x0, face from (x0,y0) to (x1,y1), valley arc to end. Empty pieces have
// equal ends.
type side struct {
	x0, y0, x1, y1, end float64
	valleyX             float64 // centre of the valley arc
	steepest            float64 // largest angle of the half, rad
}

func flank(h, r, a, valley float64) side {
	sin, cos, tan := math.Sin(a), math.Cos(a), math.Tan(a)
	s := side{x0: r * sin, y0: h - r*(1-cos), steepest: a}
	drop := valley * (1 - cos) // height of the valley's tangent point on the face
	if s.y0 > drop {
		s.y1 = drop
		s.x1 = s.x0 + (s.y0-drop)/tan
		s.valleyX = s.x1 + valley*sin
		s.end = s.valleyX
		return s
	}
	// No face is left: the crest arc meets the wall, or the valley arc that is
	// tangent to both.
	yc := h - r
	if valley > 0 {
		s.valleyX = math.Sqrt((r+valley)*(r+valley) - (valley-yc)*(valley-yc))
		s.x0 = s.valleyX * r / (r + valley)
		s.y0 = yc + (valley-yc)*r/(r+valley)
		s.end = s.valleyX
	} else {
		s.x0, s.y0 = math.Sqrt(h*(2*r-h)), 0
		s.end = s.x0
	}
	s.x1, s.y1 = s.x0, s.y0
	s.steepest = math.Asin(math.Min(1, s.x0/r))
	return s
}

// pieces lays the half out in rising x; dir is −1 for the half before the peak.
func (s side) pieces(dir, h, r, valley float64) []piece {
	var ps []piece
	add := func(p piece) {
		if dir < 0 {
			p.x0, p.x1, p.cx = -p.x1, -p.x0, -p.cx
			if p.r == 0 {
				p.y, p.m = s.y1, -p.m
			}
		}
		if p.x1 > p.x0 {
			ps = append(ps, p)
		}
	}
	if r > 0 {
		add(piece{x0: 0, x1: s.x0, cy: h - r, r: r, up: 1})
	}
	if s.x1 > s.x0 {
		add(line(s.x0, s.y0, s.x1, s.y1))
	}
	if valley > 0 {
		add(piece{x0: s.x1, x1: s.end, cx: s.valleyX, cy: valley, r: valley, up: -1})
	}
	if dir < 0 {
		for i, j := 0, len(ps)-1; i < j; i, j = i+1, j-1 {
			ps[i], ps[j] = ps[j], ps[i]
		}
	}
	return ps
}
