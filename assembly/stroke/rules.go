package stroke

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"tuckfinger/params"
)

// Verdict is what becomes of an order rule.
type Verdict string

// The verdicts.
const (
	Kept    Verdict = "kept"         // the margin is there
	Thin    Verdict = "thin"         // the order holds, the margin does not
	Broken  Verdict = "broken"       // the held element gives way first
	Unclear Verdict = "undetermined" // both forces are equal or nothing: a tie
)

// RuleResult is an order rule with its two forces.
//
// The driving force is the largest resistance (N, slide force against the
// motion) that the elements of While put up until all of them have given way,
// with the held element blocked while it is engaged; until a free travel has
// brought it into reach it goes as it likes. A joint of While gives way over the
// range that it covers on that half of the full stroke, rests on the way or not.
// Ramps, clips and holds that the rule does not name are left out.
//
// The holding force belongs to the same instants: at the largest resistance of
// each While element these are blocked where they stand, and the slide goes on,
// over what free travel the held element has left, until that gives way.
//
// The margin is the smallest holding over driving force; +Inf where the elements
// of While need no push.
type RuleResult struct {
	Name             string
	Rule             params.Rule
	Holding, Driving float64 // N; +Inf if it does not give way at all
	Margin           float64
	Element          string  // of While: the one that drives at the smallest margin
	At               float64 // s of that instant (mm)
	Verdict          Verdict
	Note             string // what the forces do not tell
}

const (
	tieRule  = 0.02 // N: forces nearer than this are a tie
	jamForce = 2000 // N: a slide force above means that nothing gives way
)

// Rules evaluates the order rules of the design. nominal is the full stroke; from
// where one is halted a rule may be undetermined because nothing can be computed.
func (x *Model) Rules(nominal *Result) ([]RuleResult, error) {
	var out []RuleResult
	for i, name := range x.Design.Order.Names {
		r, err := x.rule(name, x.Design.Order.Values[i], nominal)
		var settle *SettleError
		if nominal.Halted() != nil && errors.As(err, &settle) {
			// From where a stroke has been stopped there may be no way to follow.
			r = RuleResult{Name: name, Rule: r.Rule, Verdict: Unclear, Note: "the stroke is halted: " + settle.Error()}
			err = nil
		}
		if err != nil {
			return out, fmt.Errorf("order.%s: %w", name, err)
		}
		out = append(out, r)
	}
	return out, nil
}

// only returns the model without the gates that keep refuses.
func (x *Model) only(keep func(name string) bool) *Model {
	y := *x
	y.Elements, y.marks = nil, nil
	for _, e := range x.Elements {
		if _, gate := e.(Gate); !gate || keep(e.Name()) {
			y.Elements = append(y.Elements, e)
		}
	}
	y.index()
	return &y
}

func (x *Model) rule(name string, rule params.Rule, nominal *Result) (RuleResult, error) {
	res := RuleResult{Name: name, Rule: rule, Margin: math.Inf(1)}
	held, err := x.party(rule.Holds)
	if err != nil {
		return res, err
	}
	named := map[string]bool{rule.Holds: true}
	var while []*party
	for _, w := range rule.While {
		p, err := x.party(w)
		if err != nil {
			return res, err
		}
		named[w] = true
		while = append(while, p)
	}
	back := rule.Stroke == "back"
	half := nominal.Samples[:nominal.Turn+1]
	if back {
		half = nominal.Samples[nominal.Turn:]
	}
	for _, p := range while {
		p.covers(x.Mech, half)
	}
	y := x.only(func(n string) bool { return named[n] })
	jam, err := y.drives(held, while, half[0].Q, back)
	if err != nil {
		return res, err
	}
	if held.done {
		return res.broken("%s is passed in a jump before it holds", held.name), nil
	}
	var idle []string
	for _, p := range while {
		switch {
		case p.stuck(jam):
			res.Element, res.Driving, res.At = p.name, math.Inf(1), p.peakAt
			return res.broken("%s does not give way as long as %s holds", p.name, held.name), nil
		case len(p.peakQ) == 0:
			idle = append(idle, p.name)
			continue
		}
		holding, err := y.holdsAt(held, while, p, back)
		if err != nil {
			return res, err
		}
		if m := ratio(holding, p.peak); m < res.Margin || res.Element == "" {
			res.Holding, res.Driving, res.Margin = holding, p.peak, m
			res.Element, res.At = p.name, p.peakAt
		}
	}
	if !held.begun {
		res.Holding, res.Driving = 0, 0
		return res.broken("%s is not engaged on this half of the stroke, so it can't hold", held.name), nil
	}
	if len(idle) > 0 {
		res.Note = "not met on this half of the stroke: " + strings.Join(idle, ", ")
	}
	res.Verdict = verdict(res, rule.Margin)
	return res, nil
}

// broken is the result of a rule that fails without two forces to compare.
func (r RuleResult) broken(why string, args ...any) RuleResult {
	r.Margin, r.Verdict, r.Note = 0, Broken, fmt.Sprintf(why, args...)
	return r
}

// ratio is a margin. A negative force is one that pushes the slide on: what
// needs less comes first.
func ratio(holding, driving float64) float64 {
	switch {
	case driving > 0:
		return max(0, holding) / driving
	case holding > driving:
		return math.Inf(1)
	}
	return 0
}

func verdict(r RuleResult, want float64) Verdict {
	switch {
	case r.Element == "" || math.Abs(r.Holding-r.Driving) <= tieRule:
		return Unclear
	case r.Margin < 1:
		return Broken
	case r.Margin < want:
		return Thin
	}
	return Kept
}
