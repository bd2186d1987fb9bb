package page

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tuckfinger/export/num"
	"tuckfinger/params/finding"
)

// Verdict says in one line how the checks ended.
func (d *Data) Verdict() string {
	pass, warn, fail := finding.Count(d.Findings, finding.Pass), finding.Count(d.Findings, finding.Warn), finding.Count(d.Findings, finding.Fail)
	all := pass + warn + fail
	switch {
	case all == 0:
		return "Not checked yet"
	case fail > 0 && warn > 0:
		return fmt.Sprintf("Fails: %d of %d checks fail, %d warn", fail, all, warn)
	case fail > 0:
		return fmt.Sprintf("Fails: %d of %d checks fail", fail, all)
	case warn == 1:
		return fmt.Sprintf("Passes, with a warning, %d checks", all)
	case warn > 0:
		return fmt.Sprintf("Passes, with %d warnings, %d checks", warn, all)
	}
	return fmt.Sprintf("Passes all %d checks", all)
}

// Status is the gravest status in a word.
func (d *Data) Status() string { return finding.Worst(d.Findings).String() }

// symbols stand beside the word of a status, so that neither colour nor reading
// is needed to find it.
var symbols = map[finding.Status]string{finding.Pass: "✓", finding.Warn: "△", finding.Fail: "✕", finding.None: "·"}

// Row is a finding as a table shows it.
type Row struct {
	finding.Finding
	Symbol, Word string
	Text         string // the value, or the detail of a finding without a number
	Limit        string
	// Share is where the value stands on a bar whose middle is the limit, 0..100;
	// −1 draws no bar.
	Share float64
}

func row(f finding.Finding) Row {
	r := Row{Finding: f, Symbol: symbols[f.Status], Word: f.Status.String(), Text: f.ValueText(), Share: -1}
	if f.Unit == "" {
		r.Text = f.Detail
		r.Finding.Detail = ""
		return r
	}
	r.Limit = "≤ " + f.LimitText()
	if f.AtLeast {
		r.Limit = "≥ " + f.LimitText()
	}
	if f.Limit > 0 {
		r.Share = math.Round(1000*math.Max(0, math.Min(1, f.Value/f.Limit/2))) / 10
	}
	return r
}

// room is how far a value is from its limit, as a share of the limit; negative
// when it fails.
func room(f *finding.Finding) float64 {
	d := f.Limit - f.Value
	if f.AtLeast {
		d = -d
	}
	return d / math.Max(math.Abs(f.Limit), 1e-9)
}

// matters is how many findings the summary shows.
const matters = 3

// causes are checks whose failure brings others with it: without an order the
// jaw is not where grasp, motor and place expect it. Lower comes first.
var causes = map[string]int{"mobility": 1, "one piece": 1, "travel": 1, "order": 2, "arm strain": 3, "rail strain": 3}

func cause(check string) int {
	if c := causes[check]; c > 0 {
		return c
	}
	return len(causes)
}

// Top are the findings that matter most: failures, then warnings; causes before
// what follows from them, then the farthest from its limit; each check once as
// long as others are left. Of a design without either, those that pass with the
// least room.
func (d *Data) Top() []Row {
	var list []finding.Finding
	for _, f := range d.Findings {
		if f.Status != finding.Pass || f.Unit != "" && !settled(&f) {
			list = append(list, f)
		}
	}
	slices.SortStableFunc(list, func(a, b finding.Finding) int {
		if c := cmp.Compare(b.Status, a.Status); c != 0 {
			return c
		}
		if a.Status != finding.Pass {
			if c := cmp.Compare(cause(a.Check), cause(b.Check)); c != 0 {
				return c
			}
		}
		return cmp.Compare(room(&a), room(&b))
	})
	var out []Row
	for _, status := range []finding.Status{finding.Fail, finding.Warn, finding.Pass} {
		seen := map[string]bool{}
		var again []finding.Finding
		for _, f := range list {
			if f.Status != status {
				continue
			}
			if seen[f.Check] {
				again = append(again, f)
				continue
			}
			seen[f.Check] = true
			out = append(out, row(f))
		}
		for _, f := range again {
			out = append(out, row(f))
		}
	}
	return out[:min(matters, len(out))]
}

// settled tells whether a passing finding is as it must be, so that there is no
// more to gain: a count, the whole travel, a bore that lets pass what goes in.
func settled(f *finding.Finding) bool {
	return f.Value == f.Limit && (f.Unit == "1" || f.Check == "travel" || f.Check == "passage")
}

// families put the checks into tables; a check that none names goes to the last.
var families = []struct {
	Title  string
	Checks []string
}{
	{"Order of the stroke", []string{"order", "jump", "face", "arm direction", "passive", "switching"}},
	{"Mechanism, drive and grasp", []string{"mobility", "travel", "lever arm", "balance", "motor", "guide", "holding", "grasp", "load path", "stack", "stop face"}},
	{"Clearances and fits", []string{"clearance", "passage", "arm room", "pin play", "press fit", "retention", "pin length", "hole", "relief"}},
	{"Strain", []string{"rail strain", "arm strain"}},
	{"Strength", []string{"pin shear", "pin bending", "bearing", "pin tilt", "tear-out", "net section", "link stress", "slot wall", "grip load"}},
	{"Walls and printing", []string{"wall", "bore wall", "slit", "one piece", "bed", "overhang"}},
	{"Place", []string{"blade", "approach"}},
	{"Further checks", nil},
}

// Table is the findings of one family.
type Table struct {
	Title              string
	Open, Rest         []Row // to look at; passed
	Pass, Warn, Fail   int
	Grave              string // word of the gravest
	Symbol             string
	HasLimit, HasValue bool
}

// Tables are all findings by family, gravest first in each.
func (d *Data) Tables() []Table {
	out := make([]Table, len(families))
	of := map[string]int{}
	for i, f := range families {
		out[i].Title = f.Title
		for _, c := range f.Checks {
			of[c] = i
		}
	}
	worst := make([]finding.Status, len(families))
	for _, f := range d.Findings {
		i, ok := of[f.Check]
		if !ok {
			i = len(families) - 1
		}
		t := &out[i]
		worst[i] = max(worst[i], f.Status)
		switch f.Status {
		case finding.Fail:
			t.Fail++
		case finding.Warn:
			t.Warn++
		default:
			t.Pass++
		}
		if f.Status == finding.Pass {
			t.Rest = append(t.Rest, row(f))
		} else {
			t.Open = append(t.Open, row(f))
		}
	}
	kept := out[:0]
	for i := range out {
		if worst[i] != finding.None {
			out[i].Grave, out[i].Symbol = worst[i].String(), symbols[worst[i]]
			kept = append(kept, out[i])
		}
	}
	return kept
}

// Count says how a table's findings ended.
func (t Table) Count() string {
	s := ""
	for _, c := range []struct {
		n    int
		word string
	}{{t.Fail, "fail"}, {t.Warn, "warn"}, {t.Pass, "pass"}} {
		if c.n > 0 {
			if s != "" {
				s += ", "
			}
			s += fmt.Sprintf("%d %s", c.n, c.word)
		}
	}
	return s
}

// Symbol is the status of a rule for the eye.
func (r Rule) Symbol() string { return symbols[r.Status] }

// Share is where the margin stands on a bar whose middle is the wanted one.
func (r Rule) Share() float64 {
	if math.IsNaN(r.Margin) {
		return 0
	}
	return math.Round(1000*math.Max(0, math.Min(1, r.Margin/r.Want/2))) / 10
}

// force formats a force that may be without bound.
func force(v float64) string {
	switch {
	case math.IsNaN(v):
		return "none"
	case math.IsInf(v, 0):
		return "does not give way"
	}
	return fmt.Sprintf("%.*f N", decimals(v), v)
}

// decimals are those that a force of this size, N, is written with.
func decimals(most float64) int {
	switch most = math.Abs(most); {
	case most >= 10 || most == 0:
		return 1
	case most >= 1:
		return 2
	}
	return 3
}

// ForceDigits are the decimals that tell the forces of a stroke apart.
func (d *Data) ForceDigits() int {
	most := 0.0
	if d.Stroke != nil {
		for i := range d.Stroke.Frames {
			most = math.Max(most, math.Abs(d.Stroke.Frames[i].Force))
		}
	}
	return decimals(most)
}

// times formats a margin.
func times(v float64) string {
	switch {
	case math.IsNaN(v):
		return "none"
	case v > 99:
		return "over 99"
	}
	return fmt.Sprintf("%.2f", v)
}

// Key is a body with its colour, for the legend.
type Key struct {
	Name, Role, Colour string
}

// Keys are the bodies with their colours.
func (d *Data) Keys() []Key {
	out := make([]Key, len(d.Bodies))
	for i := range d.Bodies {
		out[i] = Key{d.Bodies[i].Name, d.Bodies[i].Role, d.Colour(i)}
	}
	return out
}

// SizeText is the size of the tucked finger.
func (d *Data) SizeText() string {
	return fmt.Sprintf("%.1f × %.1f × %.1f mm", d.Size[0], d.Size[1], d.Size[2])
}

// grams formats a mass.
func grams(m float64) string {
	if m == 0 {
		return ""
	}
	return num.Text(m, 3) + " g"
}

// Families are the names of all checks that have a table.
func Families() []string {
	var out []string
	for _, f := range families {
		out = append(out, f.Checks...)
	}
	return out
}
