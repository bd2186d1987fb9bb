package export

import (
	"math"

	"tuckfinger/assembly"
	"tuckfinger/assembly/linkage"
	"tuckfinger/assembly/stroke"
)

// strokeInfo is the stroke in results.json.
type strokeInfo struct {
	Out  halfInfo `json:"out"`
	Back halfInfo `json:"back"`
}

type halfInfo struct {
	Peak   float64     `json:"peak_N"`
	Events []eventInfo `json:"events"`
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
	for i := range a.Stroke.Events {
		e := &a.Stroke.Events[i]
		info := eventInfo{Name: eventText(a, e), Kind: string(e.Kind), Subject: e.Subject, Other: e.Other, S: e.S, Force: e.Force}
		if e.Kind == stroke.Jump {
			info.Size, info.Unit = jumpSize(a, e)
		}
		h := &out.Out
		if e.Back {
			h = &out.Back
		}
		h.Events = append(h.Events, info)
	}
	return out
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
}

func orderResults(a *assembly.Analysis) []orderInfo {
	out := []orderInfo{}
	for _, r := range a.Rules {
		out = append(out, orderInfo{Rule: r.Name, Stroke: r.Rule.Stroke, Holds: r.Rule.Holds, While: r.Rule.While,
			Holding: finite(r.Holding), Driving: finite(r.Driving), Margin: finite(r.Margin), Want: r.Rule.Margin, At: r.At, Status: string(r.Verdict)})
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
