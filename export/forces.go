package export

import (
	"math"

	"tuckfinger/assembly"
	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
	"tuckfinger/export/page/collect"
)

// strokeInfo is the stroke in results.json.
type strokeInfo struct {
	Out  halfInfo `json:"out"`
	Back halfInfo `json:"back"`
}

type halfInfo struct {
	Peak   float64     `json:"peak_N"`
	Events []eventInfo `json:"events"`
	// Halt tells why this half ends before its travel; null if it does not.
	Halt *haltInfo `json:"halt"`
}

type haltInfo struct {
	S      float64  `json:"s_mm"`
	To     float64  `json:"wanted_s_mm"`
	Force  float64  `json:"force_N"` // that does not move it on
	Joint  string   `json:"joint"`
	Met    []string `json:"met"`
	Holds  []string `json:"engaged"`
	Locks  []string `json:"locked"`
	Change string   `json:"change"`
	Why    string   `json:"why"`
}

func haltResults(h *stroke.Halt) *haltInfo {
	if h == nil {
		return nil
	}
	list := func(s []string) []string { return append([]string{}, s...) }
	return &haltInfo{S: h.S, To: h.To, Force: h.Force, Joint: h.Joint, Met: list(h.Ends), Holds: list(h.Gates), Locks: list(h.Locks),
		Change: h.Change, Why: h.Error()}
}

type eventInfo struct {
	Name    string  `json:"name"`
	Kind    string  `json:"kind"`
	Subject string  `json:"subject"`
	Other   string  `json:"other,omitempty"`
	S       float64 `json:"s_mm"`
	Force   float64 `json:"force_N"`
	// A jump's size, in deg for a pin joint and mm for others.
	Size float64 `json:"size,omitempty"`
	Unit string  `json:"size_unit,omitempty"`
}

func strokeResults(a *assembly.Analysis) strokeInfo {
	out := strokeInfo{Out: halfInfo{Events: []eventInfo{}}, Back: halfInfo{Events: []eventInfo{}}}
	out.Out.Peak, out.Back.Peak = a.Stroke.Peak()
	out.Out.Halt, out.Back.Halt = haltResults(a.Stroke.Halt(false)), haltResults(a.Stroke.Halt(true))
	for i := range a.Stroke.Events {
		e := &a.Stroke.Events[i]
		h := &out.Out
		if e.Back {
			h = &out.Back
		}
		h.Events = append(h.Events, eventResults(a, e))
	}
	return out
}

func eventResults(a *assembly.Analysis, e *stroke.Event) eventInfo {
	info := eventInfo{Name: collect.Words(a.Mechanism, e), Kind: string(e.Kind), Subject: e.Subject, Other: e.Other, S: e.S, Force: e.Force}
	if e.Kind == stroke.Jump {
		info.Size, info.Unit = jumpSize(a, e)
	}
	return info
}

// jumpSize returns a jump's size in the unit of files and reports.
func jumpSize(a *assembly.Analysis, e *stroke.Event) (float64, string) {
	if j := a.Mechanism.JointIndex(e.Subject); j >= 0 && a.Mechanism.Joints[j].Kind == linkage.Pin {
		return e.Size * 180 / math.Pi, "deg"
	}
	return e.Size, "mm"
}

// orderInfo is an order rule in results.json. A force is null where the element
// does not give way at all.
type orderInfo struct {
	Rule    string   `json:"rule"`
	Stroke  string   `json:"stroke"`
	Holds   string   `json:"holds"`
	While   []string `json:"while"`
	Holding *float64 `json:"holding_N"`
	Driving *float64 `json:"driving_N"`
	Margin  *float64 `json:"margin"`
	Want    float64  `json:"wanted_margin"`
	At      float64  `json:"s_mm"`
	Status  string   `json:"status"`
	Note    string   `json:"note,omitempty"`
}

func orderResults(a *assembly.Analysis) []orderInfo {
	out := []orderInfo{}
	for _, r := range a.Rules {
		out = append(out, orderInfo{Rule: r.Name, Stroke: r.Rule.Stroke, Holds: r.Rule.Holds, While: r.Rule.While,
			Holding: finite(r.Holding), Driving: finite(r.Driving), Margin: finite(r.Margin), Want: r.Rule.Margin, At: r.At, Status: string(r.Verdict), Note: r.Note})
	}
	return out
}

// finite returns nil for a number that JSON can't hold.
func finite(v float64) *float64 {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return nil
	}
	return &v
}

// driveInfo is the motor against the stroke. Back-drive is null for a drive that
// locks itself.
type driveInfo struct {
	Unit       string   `json:"unit"` // of peak, brake, mean, rated and stall
	Peak       float64  `json:"peak"`
	Brake      float64  `json:"brake"`
	Mean       float64  `json:"mean"`
	Rated      float64  `json:"rated"`
	Stall      float64  `json:"stall"`
	Power      float64  `json:"peak_power_W"`
	Time       float64  `json:"cycle_s"`
	SlideForce float64  `json:"slide_force_N"`
	BackDrive  *float64 `json:"back_drive_N"`
}

func driveResults(a *assembly.Analysis) driveInfo {
	d := a.Drive
	unit := "N mm"
	if d.Linear {
		unit = "N"
	}
	return driveInfo{Unit: unit, Peak: d.Peak, Brake: d.Brake, Mean: d.Mean, Rated: d.Rated, Stall: d.Stall, Power: d.Power, Time: d.Time,
		SlideForce: d.SlideForce, BackDrive: finite(d.BackDrive)}
}

// graspInfo is the grasp; numbers that do not exist are null.
type graspInfo struct {
	Widest       float64     `json:"widest_mm"`
	Narrowest    float64     `json:"narrowest_mm"`
	Span         float64     `json:"slide_span_mm"`
	Frictionless *float64    `json:"pad_force_frictionless_N"`
	Loaded       *float64    `json:"pad_force_N"`
	LoadedS      *float64    `json:"gripping_s_mm"`
	Capacity     *float64    `json:"lift_capacity_g"`
	Carried      []carryInfo `json:"carried"`
	Opening      []strokeXY  `json:"opening"`
}

// carryInfo is what one part of the load path carries while gripping.
type carryInfo struct {
	Name    string  `json:"name"`
	Kind    string  `json:"kind"`
	Load    float64 `json:"load"`
	Unit    string  `json:"unit"`
	Release float64 `json:"towards_release_N,omitempty"`
}

// strokeXY is a value along the way out.
type strokeXY struct {
	S     float64 `json:"s_mm"`
	Value float64 `json:"opening_mm"`
}

func graspResults(a *assembly.Analysis) *graspInfo {
	g := a.Grasp
	if g == nil {
		return nil
	}
	out := &graspInfo{Widest: g.Widest, Narrowest: g.Narrowest, Span: g.Span, Frictionless: finite(g.Frictionless),
		Loaded: finite(g.Loaded), Carried: []carryInfo{}, Opening: []strokeXY{}}
	if out.Loaded != nil {
		out.LoadedS, out.Capacity = finite(g.LoadedS), finite(g.Capacity)
	}
	for _, c := range g.Carried {
		unit := "N"
		if c.Couple {
			unit = "N mm"
		}
		out.Carried = append(out.Carried, carryInfo{c.Name, c.Kind, c.Load, unit, c.Release})
	}
	for _, s := range g.Samples {
		out.Opening = append(out.Opening, strokeXY{s.S, s.Opening})
	}
	return out
}

// passiveInfo is the passive fold; null where the file asks for none.
type passiveInfo struct {
	Starts    bool            `json:"starts"`
	Reach     *float64        `json:"reach_mm"`
	BackDrive *float64        `json:"back_drive_N"`
	Moved     []string        `json:"moved"`
	Jammed    bool            `json:"jammed"`
	Rise      float64         `json:"allowed_rise_mm"`
	Lost      string          `json:"lost"`
	Takeover  *takeoverInfo   `json:"takeover"` // by the drive, null if the fold jams
	Samples   []passiveSample `json:"samples"`
}

type takeoverInfo struct {
	S      float64     `json:"reached_s_mm"`
	Peak   float64     `json:"peak_N"`
	Events []eventInfo `json:"events"`
	Halt   *haltInfo   `json:"halt"`
}

type passiveSample struct {
	Descent float64 `json:"descent_mm"`
	S       float64 `json:"s_mm"`
	Contact float64 `json:"contact_N"`
	Slide   float64 `json:"back_driven_N"`
}

func passiveResults(a *assembly.Analysis) *passiveInfo {
	p := a.Passive
	if p == nil {
		return nil
	}
	out := &passiveInfo{Starts: p.Starts, Reach: finite(p.Reach), BackDrive: finite(p.BackDrive), Moved: append([]string{}, p.Moved...),
		Jammed: p.Jammed, Rise: p.Rise, Lost: p.Lost, Samples: []passiveSample{}}
	for _, s := range p.Samples {
		out.Samples = append(out.Samples, passiveSample{s.Descent, s.S, s.Contact, s.Slide})
	}
	if t := p.Takeover; t != nil {
		out.Takeover = &takeoverInfo{S: t.Samples[len(t.Samples)-1].S, Events: []eventInfo{}, Halt: haltResults(t.Halt(false))}
		out.Takeover.Peak, _ = t.Peak()
		for i := range t.Events {
			out.Takeover.Events = append(out.Takeover.Events, eventResults(a, &t.Events[i]))
		}
	}
	return out
}

// strengthInfo is a stress at the worst instant, against what is allowed. Stress
// is null where nothing is left to carry the load, safety where there is none.
type strengthInfo struct {
	Check   string   `json:"check"`
	Subject string   `json:"subject"`
	Stress  *float64 `json:"stress_MPa"`
	Allowed float64  `json:"allowed_MPa"`
	Force   float64  `json:"force_N"`
	Safety  *float64 `json:"safety"`
	S       float64  `json:"s_mm"`
	Half    string   `json:"half"`
	Case    string   `json:"case"`
	Note    string   `json:"note"`
}

func strengthResults(a *assembly.Analysis) []strengthInfo {
	out := []strengthInfo{}
	for _, s := range a.Strengths {
		out = append(out, strengthInfo{s.Check, s.Subject, finite(s.Stress), s.Allowed, s.Force, finite(s.Safety), s.At.S, half(s.At.Back), s.At.Case, s.Note})
	}
	return out
}
