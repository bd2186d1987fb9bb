package finding

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"
	"strings"
)

// record is the JSON form: value, limit, unit and bound are left out of a
// finding without a number.
type record struct {
	Check   string   `json:"check"`
	Subject string   `json:"subject"`
	Status  Status   `json:"status"`
	Value   *float64 `json:"value,omitempty"`
	Limit   *float64 `json:"limit,omitempty"`
	Unit    string   `json:"unit,omitempty"`
	AtLeast *bool    `json:"at_least,omitempty"`
	Change  string   `json:"change"`
	Source  string   `json:"source"`
	Detail  string   `json:"detail,omitempty"`
}

// MarshalJSON writes {"check", "subject", "status", "value", "limit", "unit",
// "at_least", "change", "source", "detail"}; the numbers, unit and at_least only
// where there is a number. A finding that does not Validate is an error.
func (f Finding) MarshalJSON() ([]byte, error) {
	if err := f.Validate(); err != nil {
		return nil, err
	}
	r := record{Check: f.Check, Subject: f.Subject, Status: f.Status, Unit: f.Unit,
		Change: f.Change, Source: f.Source, Detail: f.Detail}
	if f.Unit != "" {
		r.Value, r.Limit, r.AtLeast = &f.Value, &f.Limit, &f.AtLeast
	}
	// Encoder instead of Marshal: "≥" and "<" stay readable.
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(r); err != nil {
		return nil, err
	}
	return bytes.TrimRight(b.Bytes(), "\n"), nil
}

// UnmarshalJSON reads what MarshalJSON wrote. A finding that does not Validate
// is an error.
func (f *Finding) UnmarshalJSON(data []byte) error {
	var r record
	if err := json.Unmarshal(data, &r); err != nil {
		return err
	}
	g := Finding{Check: r.Check, Subject: r.Subject, Status: r.Status, Unit: r.Unit,
		Change: r.Change, Source: r.Source, Detail: r.Detail}
	if r.Value != nil {
		g.Value = *r.Value
	}
	if r.Limit != nil {
		g.Limit = *r.Limit
	}
	if r.AtLeast != nil {
		g.AtLeast = *r.AtLeast
	}
	if err := g.Validate(); err != nil {
		return err
	}
	*f = g
	return nil
}

// String returns the finding on one line:
//
//	fail  wall  jaw: 0.30 mm, at least 0.80 mm — thicken dimensions.rail
//
// The change is shown for warn and fail only. A finding without a number shows
// the first line of its detail in place of the numbers.
func (f Finding) String() string {
	var b strings.Builder
	b.WriteString(f.Status.String() + "  " + f.Check + "  " + f.Subject + ": ")
	if f.Unit == "" {
		first, _, _ := strings.Cut(f.Detail, "\n")
		b.WriteString(first)
	} else {
		b.WriteString(f.ValueText() + ", " + f.word() + " " + f.LimitText())
	}
	if f.Status != Pass && f.Change != "" {
		b.WriteString(" — " + f.Change)
	}
	return b.String()
}

// ValueText returns the value with its unit, "" if there is no number. Value
// and limit share a number of decimals that keeps them apart when they differ.
func (f Finding) ValueText() string {
	if f.Unit == "" {
		return ""
	}
	v, _ := pair(f.Value, f.Limit, f.Unit)
	return withUnit(v, f.Unit)
}

// LimitText returns the limit with its unit, "" if there is no number.
func (f Finding) LimitText() string {
	if f.Unit == "" {
		return ""
	}
	_, l := pair(f.Value, f.Limit, f.Unit)
	return withUnit(l, f.Unit)
}

func withUnit(number, unit string) string {
	switch unit {
	case "1":
		return number
	case "deg":
		return number + "°"
	}
	return number + " " + unit
}

// decimals is the usual number of decimals of a unit.
func decimals(unit string) int {
	switch unit {
	case "mm", "1", "s", "N/mm", "g/cm3":
		return 2
	}
	return 1
}

// maxDecimals is where fixed-point text gives way to exponents.
const maxDecimals = 6

// pair formats two numbers alike. It starts from the unit's usual decimals and
// adds more until each number that is not zero, or as good as zero against the
// other, shows two significant digits and the two texts differ if the numbers
// do. Counts have no decimals.
func pair(a, b float64, unit string) (string, string) {
	same := math.Abs(a-b) <= rounding*math.Max(math.Abs(a), math.Abs(b))
	if unit == "1" && a == math.Trunc(a) && b == math.Trunc(b) && math.Max(math.Abs(a), math.Abs(b)) < 1e9 {
		return fixed(a, 0), fixed(b, 0)
	}
	for d := decimals(unit); d <= maxDecimals && math.Max(math.Abs(a), math.Abs(b)) < 1e9; d++ {
		x, y := fixed(a, d), fixed(b, d)
		if significant(a, b, d) && significant(b, a, d) && (same || x != y) {
			return x, y
		}
	}
	for p := 3; ; p++ {
		x, y := strconv.FormatFloat(a, 'g', p, 64), strconv.FormatFloat(b, 'g', p, 64)
		if same || x != y || p > 16 {
			return x, y
		}
	}
}

// nothing is the share of the other number below which a number reads as zero.
const nothing = 1e-3

// significant reports whether d decimals show two significant digits of x. A
// number below half a unit of the last allowed decimal counts as zero, and so
// does one that is nothing against the number beside it.
func significant(x, beside float64, d int) bool {
	x = math.Abs(x)
	return x < 0.5*math.Pow10(-maxDecimals) || x < nothing*math.Abs(beside) || x >= math.Pow10(1-d)*(1-rounding)
}

// fixed formats x with d decimals and never as a negative zero.
func fixed(x float64, d int) string {
	s := strconv.FormatFloat(x, 'f', d, 64)
	if strings.HasPrefix(s, "-") && strings.Trim(s, "-0.") == "" {
		return s[1:]
	}
	return s
}
