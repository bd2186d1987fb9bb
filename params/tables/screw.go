package tables

import (
	"fmt"
	"math"
	"strings"
)

// Screw is a socket head cap screw and what goes with its thread. Groups that
// do not exist for a thread are nil.
type Screw struct {
	Name      string     `tf:"-"`
	Like      string     `tf:"like" doc:"Screw from which groups not given here are taken."`
	Thread    *Thread    `tf:"thread" need:"1" doc:"Metric thread."`
	Head      *Head      `tf:"head" doc:"Cylindrical head with hexagon socket."`
	Lengths   *Lengths   `tf:"lengths" doc:"Lengths that the screw is sold in."`
	Clearance *Clearance `tf:"clearance" doc:"Diameters of clearance holes."`
	Washer    *Washer    `tf:"washer" doc:"Plain washer."`
	Nut       *Nut       `tf:"nut" doc:"Hexagon nut."`
	LockNut   *Nut       `tf:"locknut" doc:"Thin self-locking hexagon nut."`
	Insert    *Insert    `tf:"insert" doc:"Heat-set insert."`
}

// Thread is a metric thread with 60° between its flanks (ISO 68-1).
type Thread struct {
	Diameter float64 `tf:"diameter,req" unit:"mm" above:"0" doc:"Nominal diameter."`
	Pitch    float64 `tf:"pitch,req" unit:"mm" above:"0" doc:"Pitch."`
	Source   string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Head is the head of a cap screw.
type Head struct {
	Diameter float64 `tf:"diameter,req" unit:"mm" above:"0" doc:"Largest diameter of a plain head (dk)."`
	Height   float64 `tf:"height,req" unit:"mm" above:"0" doc:"Largest height (k)."`
	Socket   float64 `tf:"socket,req" unit:"mm" above:"0" doc:"Size of the hexagon key (s)."`
	Depth    float64 `tf:"depth,req" unit:"mm" above:"0" doc:"Smallest depth of the socket (t)."`
	Source   string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Lengths is a list of lengths under the head.
type Lengths struct {
	List   []float64 `tf:"list,req" unit:"mm" above:"0" doc:"Lengths, rising."`
	Source string    `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Clearance are the clearance hole diameters of a thread.
type Clearance struct {
	Fine   float64 `tf:"fine,req" unit:"mm" above:"0" doc:"Fine series (H12)."`
	Medium float64 `tf:"medium,req" unit:"mm" above:"0" doc:"Medium series (H13)."`
	Coarse float64 `tf:"coarse,req" unit:"mm" above:"0" doc:"Coarse series (H14)."`
	Source string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Washer is a plain washer.
type Washer struct {
	Inner     float64 `tf:"inner,req" unit:"mm" above:"0" doc:"Smallest inner diameter (d1)."`
	Outer     float64 `tf:"outer,req" unit:"mm" above:"0" doc:"Largest outer diameter (d2)."`
	Thickness float64 `tf:"thickness,req" unit:"mm" above:"0" doc:"Nominal thickness (h)."`
	Source    string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Nut is a hexagon nut.
type Nut struct {
	Flats   float64 `tf:"flats,req" unit:"mm" above:"0" doc:"Nominal width across flats (s)."`
	Height  float64 `tf:"height,req" unit:"mm" above:"0" doc:"Largest height (m or h)."`
	Corners float64 `tf:"corners,req" unit:"mm" above:"0" doc:"Smallest width across corners (e)."`
	Source  string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// Insert is a threaded insert that is pressed in hot.
type Insert struct {
	Pilot     float64 `tf:"pilot,req" unit:"mm" above:"0" doc:"Diameter of the hole that it is pressed into."`
	Tolerance float64 `tf:"tolerance,req" unit:"mm" min:"0" doc:"By how much that hole may be larger."`
	Outer     float64 `tf:"outer,req" unit:"mm" above:"0" doc:"Largest diameter of the insert."`
	Length    float64 `tf:"length,req" unit:"mm" above:"0" doc:"Length."`
	Boss      float64 `tf:"boss,req" unit:"mm" above:"0" doc:"Smallest diameter of the material around it."`
	Source    string  `tf:"source,req" doc:"Where the values come from, or: common practice, no source."`
}

// MaxCorners returns the largest width across corners, that of a sharp hexagon
// of the nominal width across flats: s·2/√3. A pocket must be at least this.
func (n *Nut) MaxCorners() float64 { return n.Flats * 2 / math.Sqrt(3) }

// PitchDiameter returns d2 = d − (3√3/8)·P (ISO 68-1).
func (t *Thread) PitchDiameter() float64 { return t.Diameter - 3*math.Sqrt(3)/8*t.Pitch }

// StressDiameter returns d − (13√3/24)·P, the diameter of the circle with the
// stress area of the thread (ISO 898-1).
func (t *Thread) StressDiameter() float64 { return t.Diameter - 13*math.Sqrt(3)/24*t.Pitch }

// HoleKinds are what Screw.Hole can cut.
var HoleKinds = []string{"fine", "medium", "coarse", "insert", "nut", "thread", "head"}

// Hole is a hole that goes with a screw, in nominal (printed) sizes: printer
// compensation is not in it.
type Hole struct {
	Size   float64 // mm: diameter, or width across flats of a hexagon
	Depth  float64 // mm of a pocket; 0 means through
	Hex    bool
	Source string
}

// Hole returns the hole of a kind of HoleKinds: clearance holes by series, the
// pilot hole of an insert (as deep as the insert), the hexagon pocket of a nut
// (as deep as the nut), the core hole d − P to cut a thread in, and the
// counterbore of the head, which gets the play of the coarse clearance hole.
// A kind that the screw has no data for is an error that names the screws'
// missing group.
func (s *Screw) Hole(kind string) (Hole, error) {
	missing := func(group string) (Hole, error) {
		return Hole{}, fmt.Errorf("screw %q has no %s: the table has no %s for this thread", s.Name, kind, group)
	}
	c := s.Clearance
	switch kind {
	case "fine", "medium", "coarse":
		if c == nil {
			return missing("clearance")
		}
		return Hole{Size: map[string]float64{"fine": c.Fine, "medium": c.Medium, "coarse": c.Coarse}[kind], Source: c.Source}, nil
	case "insert":
		if s.Insert == nil {
			return missing("insert")
		}
		return Hole{Size: s.Insert.Pilot, Depth: s.Insert.Length, Source: s.Insert.Source}, nil
	case "nut":
		if s.Nut == nil {
			return missing("nut")
		}
		return Hole{Size: s.Nut.Flats, Depth: s.Nut.Height, Hex: true, Source: s.Nut.Source}, nil
	case "thread":
		return Hole{Size: s.Thread.Diameter - s.Thread.Pitch, Source: CommonPractice + ": core hole of diameter less pitch"}, nil
	case "head":
		if s.Head == nil || c == nil {
			return missing("head and clearance")
		}
		play := c.Coarse - s.Thread.Diameter
		return Hole{Size: s.Head.Diameter + play, Depth: s.Head.Height,
			Source: s.Head.Source + "; play: " + CommonPractice}, nil
	}
	return Hole{}, fmt.Errorf("no hole %q%s; there are %s", kind, Suggest(kind, HoleKinds), list(HoleKinds))
}

// Length returns the longest standard length under the head (mm) that is at
// least needed and at most available. The error names the nearest lengths.
func (s *Screw) Length(needed, available float64) (float64, error) {
	if s.Lengths == nil {
		return 0, fmt.Errorf("screw %q: the table has no lengths", s.Name)
	}
	l, err := longest(s.Lengths.List, needed, available)
	if err != nil {
		return 0, fmt.Errorf("screw %q: %w", s.Name, err)
	}
	return l, nil
}

// Designation returns what to order, such as "ISO 4762 - M3 x 12".
func (s *Screw) Designation(length float64) string {
	return "ISO 4762 - " + s.Name + " x " + num(length)
}

func (s *Screw) setName(name string) { s.Name = name }
func (s *Screw) like() string        { return s.Like }

func (s *Screw) inherit(b *Screw) {
	s.Thread = or(s.Thread, b.Thread)
	s.Head = or(s.Head, b.Head)
	s.Lengths = or(s.Lengths, b.Lengths)
	s.Clearance = or(s.Clearance, b.Clearance)
	s.Washer = or(s.Washer, b.Washer)
	s.Nut = or(s.Nut, b.Nut)
	s.LockNut = or(s.LockNut, b.LockNut)
	s.Insert = or(s.Insert, b.Insert)
}

func (t Thread) validate(path string) []error {
	if t.Pitch < t.Diameter/2 {
		return nil
	}
	return []error{fmt.Errorf("%s.pitch: %g mm, must be below half of the diameter %g mm", path, t.Pitch, t.Diameter)}
}

func (l Lengths) validate(path string) []error { return rising(path+".list", l.List) }

func (c Clearance) validate(path string) []error {
	if c.Fine <= c.Medium && c.Medium <= c.Coarse {
		return nil
	}
	return []error{fmt.Errorf("%s: fine %g, medium %g, coarse %g mm; must not fall", path, c.Fine, c.Medium, c.Coarse)}
}

func (n Nut) validate(path string) []error {
	if n.Corners > n.Flats && n.Corners <= n.MaxCorners() {
		return nil
	}
	return []error{fmt.Errorf("%s.corners: %g mm, must be above flats %g mm and at most %.4g mm (a sharp hexagon)", path, n.Corners, n.Flats, n.MaxCorners())}
}

func (i Insert) validate(path string) []error {
	var bad []string
	if i.Outer <= i.Pilot {
		bad = append(bad, fmt.Sprintf("outer %g mm must be above pilot %g mm", i.Outer, i.Pilot))
	}
	if i.Boss <= i.Outer {
		bad = append(bad, fmt.Sprintf("boss %g mm must be above outer %g mm", i.Boss, i.Outer))
	}
	if bad == nil {
		return nil
	}
	return []error{fmt.Errorf("%s: %s", path, strings.Join(bad, "; "))}
}

func (w Washer) validate(path string) []error {
	if w.Inner < w.Outer {
		return nil
	}
	return []error{fmt.Errorf("%s.inner: %g mm, must be below outer %g mm", path, w.Inner, w.Outer)}
}
