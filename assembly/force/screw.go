package force

import (
	"errors"
	"fmt"
	"math"
)

// Screw is a power screw with a nut that carries the slide.
type Screw struct {
	Pitch  float64 // mm
	Starts int     // lead = Pitch·Starts
	Mean   float64 // pitch diameter d2, mm
	Flank  float64 // half thread angle, rad: 0 square, 15° trapezoidal, 30° metric
	Mu     float64 // thread friction
	// CollarMu and CollarDiameter (mean, mm) describe the thrust bearing; zero
	// for a ball bearing.
	CollarMu, CollarDiameter float64
	Drag                     float64 // no-load torque of motor and bearings, N·mm, ≥ 0
}

// Check reports parameters out of range.
func (s Screw) Check() error {
	err := errors.Join(positive("screw pitch", s.Pitch), positive("screw pitch diameter", s.Mean),
		notNegative("thread friction", s.Mu), within("half thread angle", s.Flank, 0, 1),
		notNegative("collar friction", s.CollarMu), notNegative("collar diameter", s.CollarDiameter),
		notNegative("screw drag", s.Drag))
	if s.Starts < 1 {
		err = errors.Join(err, fmt.Errorf("force: screw has %d starts, must be 1 or more", s.Starts))
	}
	return err
}

// Lead returns the travel per turn, mm.
func (s Screw) Lead() float64 { return s.Pitch * float64(s.Starts) }

// LeadAngle returns atan(lead/(π d2)), rad.
func (s Screw) LeadAngle() float64 { return math.Atan2(s.Lead(), math.Pi*s.Mean) }

// Raise returns the torque (N·mm) against a load f (N), collar included:
// F·dm/2·(l + π μ dm sec α)/(π dm − μ l sec α). It is +Inf if the thread locks.
//
// Source: the usual power-screw formula (Shigley's Mechanical Engineering
// Design, power screws), which puts the axial flank angle for the normal one; the
// exact angle changes it by 0.2 % at a lead angle of 20°.
func (s Screw) Raise(f float64) float64 { return s.thread(f, s.Lead(), s.sec()) + s.collar(f) }

// RaiseExact is Raise with the flank angle in the normal section,
// tan αn = tan α·cos λ.
func (s Screw) RaiseExact(f float64) float64 {
	an := math.Atan(math.Tan(s.Flank) * math.Cos(s.LeadAngle()))
	return s.thread(f, s.Lead(), 1/math.Cos(an)) + s.collar(f)
}

// Lower returns the torque that lowers a load f, collar included; negative means
// that the load drives the screw back and must be braked.
func (s Screw) Lower(f float64) float64 { return s.thread(f, -s.Lead(), s.sec()) + s.collar(f) }

func (s Screw) sec() float64 { return 1 / math.Cos(s.Flank) }

func (s Screw) thread(f, lead, sec float64) float64 {
	den := math.Pi*s.Mean - s.Mu*lead*sec
	if den <= 0 {
		return math.Inf(1)
	}
	return f * s.Mean / 2 * (lead + math.Pi*s.Mu*s.Mean*sec) / den
}

func (s Screw) collar(f float64) float64 { return f * s.CollarMu * s.CollarDiameter / 2 }

// Efficiency returns useful over spent work when raising, without drag.
func (s Screw) Efficiency() float64 { return s.Lead() / (2 * math.Pi * s.Raise(1)) }

// CriticalMu returns the thread friction below which the thread alone (no
// collar) lets the load drive it back: l·cos α/(π d2).
func (s Screw) CriticalMu() float64 { return s.Lead() * math.Cos(s.Flank) / (math.Pi * s.Mean) }

// SelfLocking reports whether no load drives the screw back, collar included.
func (s Screw) SelfLocking() bool { return s.Lower(1) >= 0 }

// ScrewStress is the nominal stress of a screw in MPa, tension positive.
type ScrewStress struct {
	Torsion     float64 // 16T/(π d3³) in the core
	Axial       float64 // −4F/(π d3²), for a load in compression
	Bearing     float64 // of the first engaged thread, negative
	RootBending float64 // of the first engaged thread
}

// Stress returns the stresses under load f and raising torque (N·mm, without
// collar if the collar is below the nut) for a core diameter. The first thread
// is taken to carry 0.38 of the load.
//
// Source: Shigley's Mechanical Engineering Design, power screws.
func (s Screw) Stress(f, torque, core float64) ScrewStress {
	const first = 0.38
	return ScrewStress{
		Torsion:     16 * torque / (math.Pi * core * core * core),
		Axial:       -4 * f / (math.Pi * core * core),
		Bearing:     -2 * first * f / (math.Pi * s.Mean * s.Pitch),
		RootBending: 6 * first * f / (math.Pi * core * s.Pitch),
	}
}

// Thread holds the basic sizes of an ISO trapezoidal thread, mm.
type Thread struct {
	H1 float64 // overlap of the flanks
	H3 float64 // height of the thread
	D2 float64 // pitch diameter
	D3 float64 // minor diameter of the screw
	D1 float64 // minor diameter of the nut
	D4 float64 // major diameter of the nut
}

// Trapezoidal returns the basic sizes for a major diameter d and pitch p:
// d2 = d − P/2, d3 = d − P − 2ac, D1 = d − P, D4 = d + 2ac with a crest clearance
// ac of 0.15 (P 1.5), 0.25 (P 2–5), 0.5 (P 6–12), 1 (P 14 and more) mm. Whether a
// combination is in the standard's selection is another question: the widespread
// 8 × 2 is not.
//
// Source: ISO 2904 (profile: ISO 2901).
func Trapezoidal(d, p float64) (Thread, error) {
	var ac float64
	switch {
	case p == 1.5:
		ac = 0.15
	case p >= 2 && p <= 5:
		ac = 0.25
	case p >= 6 && p <= 12:
		ac = 0.5
	case p >= 14 && p <= 44:
		ac = 1
	default:
		return Thread{}, fmt.Errorf("force: trapezoidal thread pitch is %g mm, must be 1.5, 2–5, 6–12 or 14–44", p)
	}
	t := Thread{H1: p / 2, H3: p/2 + ac, D2: d - p/2, D3: d - p - 2*ac, D1: d - p, D4: d + 2*ac}
	return t, positive("minor diameter of the thread", t.D3)
}

// MetricPitchDiameter returns d − 0.649519 P (ISO 724), for a threaded rod used
// as a lead screw.
func MetricPitchDiameter(d, p float64) float64 { return d - 3*math.Sqrt(3)/8*p }
