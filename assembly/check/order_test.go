package check

import (
	"math"
	"strings"
	"testing"

	"tuckfinger/assembly/stroke"
	"tuckfinger/params"
	"tuckfinger/params/finding"
)

// What becomes of order rules: a margin is compared with the one that is asked
// for and both forces are named, a tie is undetermined and fails, and so does a
// rule whose element can't hold, with the reason.
func TestOrderFindings(t *testing.T) {
	d := &params.Design{}
	d.Ramps.Add("wait", params.Ramp{})
	rule := params.Rule{Stroke: "out", Holds: "wait", While: []string{"A"}, Margin: 1.5}
	for _, c := range []struct {
		name   string
		rule   stroke.RuleResult
		status finding.Status
		detail string
	}{
		{"kept", stroke.RuleResult{Holding: 6, Driving: 2, Margin: 3, Element: "A", At: 4.5, Verdict: stroke.Kept}, finding.Pass, "wait holds up to 6.00 N, A needs 2.00 N, at s = 4.50 mm"},
		{"thin", stroke.RuleResult{Holding: 2.4, Driving: 2, Margin: 1.2, Element: "A", Verdict: stroke.Thin}, finding.Fail, "wait holds up to 2.40 N, A needs 2.00 N"},
		{"broken", stroke.RuleResult{Holding: 1, Driving: 2, Margin: 0.5, Element: "A", Verdict: stroke.Broken}, finding.Fail, "wait holds up to 1.00 N, A needs 2.00 N"},
		{"tie", stroke.RuleResult{Holding: 1, Driving: 1, Margin: 1, Element: "A", Verdict: stroke.Unclear}, finding.Fail, "undetermined: wait holds up to 1.00 N, A needs 1.00 N"},
		{"nothing", stroke.RuleResult{Margin: math.Inf(1), Verdict: stroke.Unclear}, finding.Fail, "nothing that the rule names moves against it"},
		{"pushed", stroke.RuleResult{Holding: 3, Driving: -1, Margin: math.Inf(1), Element: "A", Verdict: stroke.Kept}, finding.Pass, "A needs -1.00 N"},
		{"away", stroke.RuleResult{Verdict: stroke.Broken, Note: "wait is not engaged"}, finding.Fail, "wait is not engaged"},
		{"partly", stroke.RuleResult{Holding: 6, Driving: 2, Margin: 3, Element: "A", Verdict: stroke.Kept, Note: "not met: B"}, finding.Pass, "A needs 2.00 N, at s = 0.00 mm; not met: B"},
	} {
		c.rule.Name, c.rule.Rule = c.name, rule
		in := &Input{Design: d, Rules: []stroke.RuleResult{c.rule}, Stroke: &stroke.Result{}}
		out := &Findings{in: in, name: "order"}
		if err := order(in, out); err != nil || out.err != nil || len(out.list) != 1 {
			t.Errorf("%s: %v, %v, %d findings", c.name, err, out.err, len(out.list))
			continue
		}
		if f := out.list[0]; f.Status != c.status || !strings.Contains(f.Detail, c.detail) || !strings.Contains(f.Change, "ramps.wait") && c.rule.Verdict != stroke.Unclear && !math.IsInf(c.rule.Margin, 1) {
			t.Errorf("%s: %s, %q, change %q", c.name, f.Status, f.Detail, f.Change)
		}
	}
	// A tie of joints on the stroke is a warning.
	in := &Input{Design: d, Stroke: &stroke.Result{Events: []stroke.Event{{Kind: stroke.Undetermined, Subject: "A", Other: "B", S: 2}}}}
	out := &Findings{in: in, name: "order"}
	if err := order(in, out); err != nil || len(out.list) != 1 || out.list[0].Status != finding.Warn || out.list[0].Subject != "A / B" {
		t.Errorf("%v, %+v", err, out.list)
	}
}

// Forces that are infinite are told in words, in rules and for faces.
func TestNoForceIsInfiniteInWords(t *testing.T) {
	r := &stroke.RuleResult{Rule: params.Rule{Holds: "wait"}, Element: "A", Holding: math.Inf(1), Driving: math.Inf(1)}
	for got, want := range map[string]string{
		heldBy(r):              "wait does not give way",
		drivenBy(r):            "A does not move",
		passes(math.Inf(1)):    "locks",
		wouldPass(math.Inf(1)): "would lock",
		passes(2):              "takes 2.00 N",
		wouldPass(math.Pi):     "would take 3.14 N",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
