package stroke

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/assembly/force"
	"tuckfinger/assembly/linkage"
	. "tuckfinger/assembly/linkage/linktest"
	"tuckfinger/params"
)

// smooth is the finger with all friction taken out.
func smooth() *params.Design {
	d := RackLifter()
	mu := 0.0
	d.Process.Friction = &mu
	d.Joints.Get("A").Pin.Drag, d.Joints.Get("B").Pin.Drag = 0, 0
	return d
}

// loadsAt evaluates all elements at a configuration.
func loadsAt(x *Model, q []float64) (*View, *Loads) {
	v := view(x.Mech)
	v.set(q)
	l := &Loads{Q: make([]float64, x.Mech.Size())}
	for _, e := range x.Elements {
		e.Eval(v, l)
	}
	for _, c := range l.Contacts {
		if c.Gap < 0 {
			c.Grad.AddTo(l.Q, -c.Stiffness*c.Gap)
		}
	}
	return v, l
}

// The slide force of every sample by virtual work, without friction: −Q·dq for
// 1 mm of s, whatever the passive coordinate does, agrees with the multiplier of
// the slide to 1e-6 of the largest slide force.
func TestVirtualWorkAgreesWithStatics(t *testing.T) {
	x := model(t, smooth(), Options{Weights: []Weight{{"tip", 6, Vec(15, 0)}, {"upper", 8, Vec(14, 0)}}})
	r := run(t, x)
	drive, tip, jaw := linkage.JointCoord(x.Mech.Drive), linkage.BodyAngle(x.Mech.BodyIndex("tip")), linkage.BodyAngle(x.Mech.BodyIndex("upper"))
	peak, _ := r.Peak()
	for i, s := range r.Samples {
		_, l := loadsAt(x, s.Q)
		for _, other := range []linkage.Coord{tip, jaw} {
			dq, err := x.Mech.Sensitivity(s.Q, drive, other)
			if err != nil {
				continue // this pair does not fix the pose here
			}
			if f := -dot(l.Q, dq[0]); math.Abs(f-s.Force) > 1e-6*peak {
				t.Fatalf("sample %d, s = %.4f: slide force %.9f N, by virtual work %.9f N", i, s.S, s.Force, f)
			}
		}
	}
}

// size is the largest force in play; contacts are stiff, their rounding with it.
func size(l *Loads) float64 {
	m := 0.0
	for _, v := range l.Q {
		m = math.Max(m, math.Abs(v))
	}
	return m
}

// Every body of every sample is in balance under the joint forces, taken as
// plain forces and moments, not through the Jacobian.
func TestBodiesAreInBalance(t *testing.T) {
	x := model(t, smooth(), Options{})
	r := run(t, x)
	m := x.Mech
	for i := 0; i < len(r.Samples); i += 7 {
		s := r.Samples[i]
		_, l := loadsAt(x, s.Q)
		f := append([]float64(nil), l.Q...)
		push := func(body int, at, w r2.Vec, couple float64) {
			p := m.Pose(s.Q, body)
			f[3*body] += w.X
			f[3*body+1] += w.Y
			f[3*body+2] += (at.X-p.X)*w.Y - (at.Y-p.Y)*w.X + couple
		}
		pair := func(j *linkage.Joint, at, w r2.Vec, couple float64) {
			push(j.B, at, w, couple)
			push(j.A, at, r2.Scale(-1, w), -couple)
		}
		for k := range m.Joints {
			j := &m.Joints[k]
			g := r.JointForce(i, k)
			at := m.JointPoint(s.Q, k)
			a := m.Pose(s.Q, j.A)
			switch j.Kind {
			case linkage.Pin:
				pair(j, at, r2.Vec{X: g[0], Y: g[1]}, 0)
			case linkage.Slot:
				pair(j, at, r2.Scale(g[0], a.Turn(m.Foot(s.Q, k).Normal)), 0)
			case linkage.Slide:
				n := a.Turn(r2.Vec{X: -j.Direction().Y, Y: j.Direction().X})
				pair(j, at, r2.Scale(g[0], n), g[1])
				if k == m.Drive {
					pair(j, at, r2.Scale(s.Force, a.Turn(j.Direction())), 0)
				}
			}
		}
		for b := range m.Bodies {
			if b == m.Ground {
				continue
			}
			for c := 0; c < 3; c++ {
				if math.Abs(f[3*b+c]) > 1e-6*(1+size(l))*m.Scale {
					t.Fatalf("sample %d: %s is out of balance by %v", i, m.Bodies[b].Name, f[3*b:3*b+3])
				}
			}
		}
	}
}

// Forces are the derivatives of energies, rows those of coordinates: every
// element against central differences along both freedoms, at samples of a
// stroke that engage all of them.
func TestElementDerivatives(t *testing.T) {
	d := RackLifter()
	d.Springs.Add("band", params.Spring{Linear: &params.LinearSpring{From: params.Anchor{Body: "spine", At: Vec(-6, 50)}, To: params.Anchor{Body: "upper", At: Vec(8, 2)}, Rate: 0.5, Free: 1, Slack: true}})
	d.Springs.Add("coil", params.Spring{Torsion: &params.TorsionSpring{Joint: "A", Rate: 3, Free: 0.2}})
	x := model(t, d, Options{Object: true, Weights: []Weight{{"tip", 6, Vec(15, 0)}}, Loads: []Load{{"pull", "upper", Vec(20, 0), Vec(0.3, -0.4)}}})
	x.Elements = append(x.Elements, &floorElement{body: x.Mech.BodyIndex("tip"), discs: []disc{{Vec(30, 1), 2}, {Vec(30, -3), 1}}, mu: 0.2})
	r := run(t, model(t, RackLifter(), Options{}))
	drive, tip := linkage.JointCoord(x.Mech.Drive), linkage.BodyAngle(x.Mech.BodyIndex("tip"))
	engaged := map[string]bool{}
	for i := 3; i < len(r.Samples); i += 5 {
		q := r.Samples[i].Q
		for _, e := range x.Elements {
			eval := func(q []float64) *Loads {
				v := view(x.Mech)
				v.set(q)
				v.Floor = -40
				l := &Loads{Q: make([]float64, x.Mech.Size())}
				e.Eval(v, l)
				return l
			}
			for _, to := range []linkage.Coord{drive, tip} {
				const h = 1e-5
				dq, err := x.Mech.Sensitivity(q, drive, tip)
				if err != nil {
					t.Fatal(err)
				}
				dir := dq[0]
				var shift [2][]float64
				for k, sg := range []float64{-1, 1} {
					tg := []linkage.Target{{Coord: drive, Value: x.Mech.Coord(q, drive)}, {Coord: tip, Value: x.Mech.Coord(q, tip)}}
					if to == drive {
						tg[0].Value += sg * h
					} else {
						tg[1].Value += sg * h
						dir = dq[1]
					}
					if shift[k], err = x.Mech.Move(q, tg...); err != nil {
						t.Fatal(err)
					}
				}
				a, b, c := eval(shift[0]), eval(shift[1]), eval(q)
				if c.Energy != a.Energy {
					engaged[e.Kind()] = true
				}
				// Where a contact begins there is no derivative.
				begins := func(k int) bool { return (a.Slips[k].Grad.n > 0) != (b.Slips[k].Grad.n > 0) }
				if len(c.Slips) > 0 && begins(0) {
					continue
				}
				at := e.Name()
				near(t, at+": dU", -dot(c.Q, dir), (b.Energy-a.Energy)/(2*h), 2e-4*(1+norm(c.Q)))
				for k := range c.Slips {
					if c.Slips[k].Grad.n > 0 && a.Slips[k].Grad.n > 0 && b.Slips[k].Grad.n > 0 {
						near(t, at+": slip", c.Slips[k].Grad.Dot(dir), (b.Slips[k].X-a.Slips[k].X)/(2*h), 1e-5)
					}
				}
				for k := range c.Contacts {
					if e.Kind() != "pads" || sameTouch(a, b, c, k) {
						near(t, at+": gap", c.Contacts[k].Grad.Dot(dir), (b.Contacts[k].Gap-a.Contacts[k].Gap)/(2*h), 1e-4)
					}
				}
			}
		}
	}
	for _, k := range []string{"ramp", "clip", "hold", "spring", "weight", "load"} {
		if !engaged[k] {
			t.Errorf("no sample has engaged a %s", k)
		}
	}
}

// sameTouch leaves out places where the pads' nearest ends change.
func sameTouch(a, b, c *Loads, k int) bool {
	return math.Abs(a.Contacts[k].Gap+b.Contacts[k].Gap-2*c.Contacts[k].Gap) < 1e-8 && c.Contacts[k].Grad.n > 0
}

// With a frictionless chain, tip and jaw horizontal, pads 20 mm out from the
// tip's pivot, 60 N at the carriage grip with 14.27 N: closing is 1 + 20/6.24
// (published with the finger; 6.24 mm is dy/dθ of C with the tip at 0°).
func TestGripOfHorizontalPads(t *testing.T) {
	d := smooth()
	d.Pads.Get("jaw pad").From, d.Pads.Get("jaw pad").To = Vec(23.9999, -4), Vec(24.0001, -4)
	d.Pads.Get("tip pad").From, d.Pads.Get("tip pad").To = Vec(20.2, 4), Vec(19.8, 4)
	x := model(t, d, Options{})
	q, err := x.Mech.Move(x.Mech.Start, linkage.Target{Coord: linkage.BodyAngle(x.Mech.BodyIndex("upper")), Value: 0},
		linkage.Target{Coord: linkage.BodyAngle(x.Mech.BodyIndex("tip")), Value: 0})
	if err != nil {
		t.Fatal(err)
	}
	g, ok := x.graspAt(x.Element("grasp").(*gripElement), q)
	if !ok {
		t.Fatal("no grasp in the horizontal pose")
	}
	near(t, "grip by virtual work", 60*g.VirtualWork, 14.27, 0.005)
	near(t, "grip by statics", 60*g.Statics, 60*g.VirtualWork, 1e-6)
	near(t, "its formula", 60*g.VirtualWork, force.PadForce(60, force.TipClosing(20, 6.24)), 0.01)
	near(t, "tilt", g.Tilt, 0, 1e-12)
	// The opening's derivative is what Closing says.
	const h = 1e-4
	s := linkage.JointCoord(x.Mech.Drive)
	p, err := x.Mech.Move(q, linkage.Target{Coord: s, Value: x.Mech.Coord(q, s) + h}, linkage.Target{Coord: linkage.BodyAngle(x.Mech.BodyIndex("upper")), Value: 0})
	if err != nil {
		t.Fatal(err)
	}
	g2, _ := x.graspAt(x.Element("grasp").(*gripElement), p)
	near(t, "closing", g.Closing, (g.Opening-g2.Opening)/h, 1e-3)
}

// The solver's own grip: an object between the pads of a frictionless finger is
// pressed with what virtual work says at that pose.
func TestLoadedGripAgreesWithVirtualWork(t *testing.T) {
	d := smooth()
	x := model(t, d, Options{})
	r := run(t, x)
	g, err := x.Grasp(r)
	if err != nil {
		t.Fatal(err)
	}
	if !g.Found || g.Widest <= g.Narrowest || g.Span <= 0 {
		t.Fatalf("%+v", g)
	}
	q, err := x.Mech.Move(x.Mech.Start, linkage.Target{Coord: linkage.BodyAngle(x.Mech.BodyIndex("upper")), Value: 0},
		linkage.Target{Coord: linkage.JointCoord(x.Mech.Drive), Value: g.LoadedS})
	if err != nil {
		t.Fatal(err)
	}
	at, ok := x.graspAt(x.Element("grasp").(*gripElement), q)
	if !ok {
		t.Fatal("no grasp at the loaded pose")
	}
	near(t, "loaded grip", g.Loaded, d.Grasp.Force*at.VirtualWork, 0.03*g.Loaded)
	for _, s := range g.Samples {
		near(t, "virtual work and statics", s.Statics, s.VirtualWork, 1e-6*s.VirtualWork)
	}
	rough, err := model(t, RackLifter(), Options{}).Grasp(r)
	if err != nil {
		t.Fatal(err)
	}
	if rough.Loaded >= g.Loaded || rough.Capacity <= 0 {
		t.Errorf("friction should take from the grip: %.2f N with, %.2f N without", rough.Loaded, g.Loaded)
	}
}
