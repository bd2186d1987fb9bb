// Package finding holds the one result type of every check: what was measured,
// against which limit, whether it passes, and what to change in the finger file
// if it does not.
//
// A finding is made where the measure is made and printed where the person is.
// It is always finite: a measure that came out as NaN or infinite is an error of
// the check and is reported as one, so that no file ever holds such a number.
//
// Values are in the units of files and reports: angles in degrees, not radians.
package finding

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Units are the units a finding may carry; "1" is a pure number or a count.
var Units = []string{
	"mm", "mm²", "mm³", "mm/s", "N", "N/mm", "N·mm", "N·mm/deg", "N·mm/rad", "mJ", "W",
	"MPa", "deg", "g", "kg", "g/cm3", "s", "1", "%",
}

// Finding is the result of one check on one thing.
//
// Make it with AtLeast, AtMost or State; a literal is not checked until it is
// written. Unit "" means that there is no number, and Value and Limit are 0.
type Finding struct {
	Check   string  // name of the check, such as "wall"
	Subject string  // what was checked, such as "jaw" or "jaw/middle"
	Value   float64 // measured, in Unit
	Limit   float64 // in Unit
	Unit    string  // one of Units, or "" for a finding without a number
	Status  Status
	AtLeast bool   // true: the value must be ≥ the limit; false: ≤
	Change  string // the dimension or file path to change, and which way
	Source  string // where the limit comes from
	Detail  string // more for the report; may be empty, may have several lines
}

// rounding is the relative difference below which a value meets its limit.
// It forgives the last bits of floating-point arithmetic (0.1 + 0.2 at most
// 0.3) and nothing that a machine or a printer could tell apart.
const rounding = 1e-9

// AtLeast completes f as a value that must not be below its limit.
//
// warn ≥ 0 is the width of the warn band in f.Unit: a value in
// [limit, limit+warn) passes with a warning. AtLeast and Status of f are
// overwritten. An error means that the check itself is faulty: a number is not
// finite, the unit is unknown, or a text that a person needs is missing.
func AtLeast(f Finding, warn float64) (Finding, error) {
	f.AtLeast = true
	return judged(f, warn, f.Value-f.Limit)
}

// AtMost completes f as a value that must not be above its limit; a value in
// (limit−warn, limit] passes with a warning. Otherwise it is like AtLeast.
func AtMost(f Finding, warn float64) (Finding, error) {
	f.AtLeast = false
	return judged(f, warn, f.Limit-f.Value)
}

// State makes a finding that has no number, such as a mechanism that does not
// close or an order that is undetermined. detail says what was found, source
// says what asks for it.
func State(check, subject string, status Status, change, source, detail string) (Finding, error) {
	f := Finding{Check: check, Subject: subject, Status: status, Change: change, Source: source, Detail: detail}
	if detail == "" {
		return Finding{}, fmt.Errorf("finding %s of %s: no number and no detail", check, subject)
	}
	if err := f.Validate(); err != nil {
		return Finding{}, err
	}
	return f, nil
}

// judged sets the status from room, the distance to the limit on the good side.
func judged(f Finding, warn, room float64) (Finding, error) {
	if !finite(warn) || warn < 0 {
		return Finding{}, fmt.Errorf("finding %s of %s: warn band is %v, must be finite and not negative", f.Check, f.Subject, warn)
	}
	if f.Unit == "" {
		return Finding{}, fmt.Errorf("finding %s of %s: a number needs a unit (\"1\" for a pure number)", f.Check, f.Subject)
	}
	slack := rounding * math.Max(math.Abs(f.Value), math.Abs(f.Limit))
	switch {
	case room < -slack:
		f.Status = Fail
	case room < warn-slack:
		f.Status = Warn
	default:
		f.Status = Pass
	}
	// No negative zeros: they would show as "-0.00" and change file bytes.
	f.Value, f.Limit = f.Value+0, f.Limit+0
	if err := f.Validate(); err != nil {
		return Finding{}, err
	}
	return f, nil
}

// Validate reports everything that is wrong with f: numbers that are not
// finite, an unknown unit or status, missing or many-line texts, and a status
// that contradicts the numbers. It returns nil for a finding that AtLeast,
// AtMost or State made.
func (f Finding) Validate() error {
	var errs []error
	bad := func(format string, args ...any) {
		errs = append(errs, fmt.Errorf("finding %s of %s: %s", f.Check, f.Subject, fmt.Sprintf(format, args...)))
	}
	for _, t := range []struct{ name, text string }{
		{"check", f.Check}, {"subject", f.Subject}, {"change", f.Change}, {"source", f.Source},
	} {
		switch {
		case strings.TrimSpace(t.text) == "":
			bad("%s is empty", t.name)
		case strings.ContainsAny(t.text, "\r\n"):
			bad("%s has more than one line", t.name)
		}
	}
	if !finite(f.Value) {
		bad("value is %v", f.Value)
	}
	if !finite(f.Limit) {
		bad("limit is %v", f.Limit)
	}
	switch f.Status {
	case Pass, Warn, Fail:
	default:
		bad("status is %s", f.Status)
	}
	switch {
	case f.Unit == "":
		if f.Value != 0 || f.Limit != 0 {
			bad("value %v and limit %v without a unit", f.Value, f.Limit)
		}
	case !slices.Contains(Units, f.Unit):
		bad("unit %q is not one of %s", f.Unit, strings.Join(Units, ", "))
	case finite(f.Value) && finite(f.Limit) && f.fails() != (f.Status == Fail):
		bad("status %s contradicts %v %s %v", f.Status, f.Value, f.word(), f.Limit)
	}
	return errors.Join(errs...)
}

// fails reports whether the value is on the wrong side of the limit.
func (f Finding) fails() bool {
	room := f.Limit - f.Value
	if f.AtLeast {
		room = -room
	}
	return room < -rounding*math.Max(math.Abs(f.Value), math.Abs(f.Limit))
}

func (f Finding) word() string {
	if f.AtLeast {
		return "at least"
	}
	return "at most"
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// Worst returns the gravest status among findings. Of none at all it returns
// None: that nothing was checked is not a pass.
func Worst(findings []Finding) Status {
	worst := None
	for _, f := range findings {
		worst = max(worst, f.Status)
	}
	return worst
}

// Count returns how many findings have the status.
func Count(findings []Finding, s Status) int {
	n := 0
	for _, f := range findings {
		if f.Status == s {
			n++
		}
	}
	return n
}

// Sort orders findings by status (fail, warn, pass), then check, then subject.
// Findings equal in all three keep their order.
func Sort(findings []Finding) {
	slices.SortStableFunc(findings, func(a, b Finding) int {
		if a.Status != b.Status {
			return int(b.Status) - int(a.Status)
		}
		if c := strings.Compare(a.Check, b.Check); c != 0 {
			return c
		}
		return strings.Compare(a.Subject, b.Subject)
	})
}
