package params

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Length returns the length of the path, mm.
func (s *SlotJoint) Length() float64 {
	total := 0.0
	for i := range s.Path[:max(0, len(s.Path)-1)] {
		total += s.step(i)
	}
	return total
}

// step is the length of the way from point i to the next one: the chord, or for
// a sweep θ the arc chord·(θ/2)/sin(θ/2).
func (s *SlotJoint) step(i int) float64 {
	chord := r2.Norm(r2.Sub(s.Path[i+1].At, s.Path[i].At))
	if half := math.Abs(s.Path[i].Sweep) / 2; half > 0 {
		return chord * half / math.Sin(half)
	}
	return chord
}

// straight returns the longest straight stretch of the path around coordinate x.
func (s *SlotJoint) straight(x float64) (from, to float64, ok bool) {
	start, at := 0.0, 0.0
	var last r2.Vec
	open := false
	for i := range s.Path[:max(0, len(s.Path)-1)] {
		next := at + s.step(i)
		if s.Path[i].Sweep != 0 {
			if open && x >= start && x < at {
				return start, at, true
			}
			open = false
		} else {
			dir := r2.Unit(r2.Sub(s.Path[i+1].At, s.Path[i].At))
			if open && r2.Norm(r2.Sub(dir, last)) > 1e-9 && x >= start && x < at {
				return start, at, true
			}
			if !open || r2.Norm(r2.Sub(dir, last)) > 1e-9 {
				start = at
			}
			open, last = true, dir
		}
		at = next
	}
	return start, at, open && x >= start && x <= at
}

// Flank returns the length (mm) along a wall from below a rounded peak to the foot
// of the face on one side of it: of height over the wall, radius and the face's
// angle (rad). The face is tangent to the rounding, radius·(1 − cos angle) below
// the peak. Ramps and hooks are made of two of them.
func Flank(height, radius, angle float64) float64 {
	return (radius + (height-radius)*math.Cos(angle)) / math.Sin(angle)
}

// RoundestPeak returns the peak radius (mm) that leaves nothing of the steeper one
// of two faces (rad) of a ramp or hook of the height.
func RoundestPeak(height, first, last float64) float64 {
	return height / (1 - math.Cos(math.Max(first, last)))
}

// Feet returns the path coordinates where the ramp's printed faces leave the
// wall, and that of its peak, mm.
func (r *Ramp) Feet() (first, peak, last float64) {
	peak = r.At + Flank(r.Rise, r.Peak, r.First)
	return r.At, peak, peak + Flank(r.Rise, r.Peak, r.Last)
}

func (c *checker) ramps() {
	ramps := &c.design.Ramps
	for i, name := range ramps.Names {
		at := "ramps." + name
		r := &ramps.Values[i]
		if c.given(at+".rail.from") && c.given(at+".rail.to") && r.Rail.From >= r.Rail.To {
			c.errorf(at+".rail.to", "is %s mm; it must be above from (%s mm)", mm(r.Rail.To), mm(r.Rail.From))
			continue
		}
		if !c.ok(at) {
			continue
		}
		j := c.design.Joints.Get(r.Slot)
		if j == nil || !c.ok("joints."+r.Slot) {
			continue
		}
		if j.Slot == nil {
			c.errorf(at+".slot", "%q is a %s joint; name a slot joint", r.Slot, j.Kind())
			continue
		}
		steep := math.Max(r.First, r.Last)
		if most := RoundestPeak(r.Rise, r.First, r.Last); r.Peak >= most {
			c.errorf(c.orParent(at, "peak_radius"), "the peak radius of %s mm leaves nothing of the %s deg face; with a height of %s mm it can be %s mm at most",
				mm(r.Peak), mm(steep*180/math.Pi), mm(r.Rise), mm(math.Floor(most*1000)/1000))
			continue
		}
		pin := c.design.SlotPin(j.Slot)
		if width := pin + j.Slot.Play; pin > 0 && r.Rise >= width {
			c.errorf(at+".height", "is %s mm and closes slot %q, which is %s mm wide (pin plus play)", mm(r.Rise), r.Slot, mm(width))
			continue
		}
		c.rampOnPath(r, j.Slot, at)
		for k, other := range ramps.Values[:i] {
			if c.ok("ramps."+ramps.Names[k]) && other.Slot == r.Slot && other.Wall == r.Wall {
				c.rampBeside(r, &other, at, ramps.Names[k])
			}
		}
	}
}

// orParent is the path of a key, or of its group if the key was not given.
func (c *checker) orParent(path, key string) string {
	if _, has := c.d.origin.Pos[join(path, key)]; has {
		return join(path, key)
	}
	return path
}

func (c *checker) rampOnPath(r *Ramp, s *SlotJoint, at string) {
	first, _, last := r.Feet()
	const slip = 1e-9
	if length := s.Length(); last > length+slip {
		c.errorf(at+".at", "the ramp reaches from %s to %s mm, but the path of slot %q is %s mm long; move the ramp, or make its faces steeper",
			mm(first), mm(last), r.Slot, mm(length))
		return
	}
	if first < r.Rail.From-slip {
		c.errorf(at+".rail.from", "is %s mm, but the ramp starts at %s mm; the rail must hold the whole ramp", mm(r.Rail.From), mm(first))
	}
	if last > r.Rail.To+slip {
		c.errorf(at+".rail.to", "is %s mm, but the ramp ends at %s mm; the rail must hold the whole ramp", mm(r.Rail.To), mm(last))
	}
	from, to, ok := s.straight((first + last) / 2)
	if !ok {
		c.errorf(at+".rail", "bends with the path: at %s mm, where the ramp is, slot %q is an arc; a rail is straight, so move the ramp to a straight stretch of the path, or add one", mm((first+last)/2), r.Slot)
	} else if length := s.Length(); math.Max(0, r.Rail.From) < from-slip || math.Min(length, r.Rail.To) > to+slip {
		c.errorf(at+".rail", "bends with the path; a rail is straight, and the straight part of slot %q here is %s to %s mm", r.Slot, mm(from), mm(to))
	}
}

func (c *checker) rampBeside(r, other *Ramp, at, otherName string) {
	a0, _, a1 := r.Feet()
	b0, _, b1 := other.Feet()
	if a0 < b1 && b0 < a1 {
		c.errorf(at+".at", "the ramp reaches from %s to %s mm and overlaps ramp %q, %s to %s mm, in the same wall", mm(a0), mm(a1), otherName, mm(b0), mm(b1))
	} else if r.Rail != other.Rail && r.Rail.From < other.Rail.To && other.Rail.From < r.Rail.To {
		c.errorf(at+".rail", "overlaps the rail of ramp %q in the same wall; two ramps may share one rail only if all its numbers are equal", otherName)
	}
}

func (c *checker) clips() {
	for i, name := range c.design.Clips.Names {
		clip := &c.design.Clips.Values[i]
		at := "clips." + name
		a := &clip.Arm
		if c.given(at+".arm.body") && c.given(at+".post.body") && a.Body == clip.Post.Body {
			c.errorf(at+".post.body", "arm and post are both on %q; a clip connects two bodies", a.Body)
		}
		if !c.ok(at + ".arm") {
			continue
		}
		steep := math.Max(a.Entry, a.Retention)
		if most := RoundestPeak(a.Height, a.Entry, a.Retention); a.Nose >= most {
			c.errorf(c.orParent(at+".arm", "nose_radius"), "the nose radius of %s mm leaves nothing of the %s deg face; with a hook height of %s mm it can be %s mm at most",
				mm(a.Nose), mm(steep*180/math.Pi), mm(a.Height), mm(math.Floor(most*1000)/1000))
			continue
		}
		if a.RootFillet >= a.Length {
			c.errorf(c.orParent(at+".arm", "root_fillet"), "the root fillet of %s mm is as long as the arm, %s mm", mm(a.RootFillet), mm(a.Length))
		} else if foot := Flank(a.Height, a.Nose, a.Entry); foot > a.Length-a.RootFillet {
			c.errorf(at+".arm.entry", "the entry face of %s deg reaches %s mm back from the hook's peak, but only %s mm lie between peak and root fillet; make it steeper, the hook lower or the arm longer",
				mm(a.Entry*180/math.Pi), mm(foot), mm(a.Length-a.RootFillet))
		}
	}
}

func (c *checker) holds() {
	for i, name := range c.design.Holds.Names {
		c.wantPin(c.design.Holds.Values[i].Joint, "holds."+name+".joint")
	}
}

// wantPin checks that a joint is a pin joint.
func (c *checker) wantPin(joint, at string) {
	if j := c.joint(joint, at); j != nil && j.Pin == nil {
		c.errorf(at, "%q is a %s joint; name a pin joint", joint, j.Kind())
	}
}

// joint returns the joint that a good reference names, or nil.
func (c *checker) joint(name, at string) *Joint {
	if !c.given(at) {
		return nil
	}
	j := c.design.Joints.Get(name)
	if j == nil || len(j.Bodies()) == 0 {
		return nil
	}
	return j
}

func (c *checker) stops() {
	stops := &c.design.Stops
	for i, name := range stops.Names {
		s := &stops.Values[i]
		at := "stops." + name
		j := c.joint(s.Joint, at+".joint")
		if j == nil || !c.ok(at+".angle", at+".distance") {
			continue
		}
		want, other := "angle", "distance"
		value, wrong := s.Angle, s.Dist
		switch {
		case j.Slide != nil:
			want, other = other, want
			value, wrong = wrong, value
		case j.Pin == nil:
			c.errorf(at+".joint", "%q is a %s joint; name a pin or slide joint (a slot ends with its path)", s.Joint, j.Kind())
			continue
		}
		if wrong != nil {
			c.errorf(at+"."+other, "%q is a %s joint, which has no %s; write %q", s.Joint, j.Kind(), other, want)
		} else if value == nil {
			c.errorf(at, "%q is a %s joint, so %q is missing", s.Joint, j.Kind(), want)
		} else {
			c.stopPair(i, *value, at+"."+want)
		}
	}
}

// stopPair checks a stop against the earlier ones of the same joint.
func (c *checker) stopPair(i int, value float64, at string) {
	stops := &c.design.Stops
	s := &stops.Values[i]
	for k, o := range stops.Values[:i] {
		if o.Joint != s.Joint || o.Side == s.Side || !c.ok("stops."+stops.Names[k]) || !c.ok("stops."+stops.Names[i]) {
			continue
		}
		v := o.Angle
		if o.Dist != nil {
			v = o.Dist
		}
		if v == nil {
			continue
		}
		if s.Side == "above" && value <= *v || s.Side == "below" && value >= *v {
			c.errorf(at, "leaves joint %q no travel between this stop and stop %q", s.Joint, stops.Names[k])
		}
	}
}

func (c *checker) springs() {
	for i, name := range c.design.Springs.Names {
		s := &c.design.Springs.Values[i]
		at := "springs." + name
		if t := s.Torsion; t != nil {
			c.wantPin(t.Joint, at+".torsion.joint")
		}
		if l := s.Linear; l != nil && c.given(at+".linear.from.body") && c.given(at+".linear.to.body") && l.From.Body == l.To.Body {
			c.errorf(at+".linear.to.body", "both ends are on %q, so the spring does nothing; name two bodies", l.To.Body)
		}
	}
}
