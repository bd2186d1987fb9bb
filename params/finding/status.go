package finding

import "fmt"

// Status is the verdict of a check. Graver is greater.
type Status uint8

// The verdicts. None is the zero value: not judged yet; it cannot be written.
const (
	None Status = iota
	Pass
	Warn
	Fail
)

// String returns "pass", "warn" or "fail", and "none" for anything else.
func (s Status) String() string {
	switch s {
	case Pass:
		return "pass"
	case Warn:
		return "warn"
	case Fail:
		return "fail"
	}
	return "none"
}

// MarshalText writes the word. It is an error to write None.
func (s Status) MarshalText() ([]byte, error) {
	if s < Pass || s > Fail {
		return nil, fmt.Errorf("status %d was never judged", uint8(s))
	}
	return []byte(s.String()), nil
}

// UnmarshalText reads "pass", "warn" or "fail".
func (s *Status) UnmarshalText(text []byte) error {
	for _, v := range []Status{Pass, Warn, Fail} {
		if v.String() == string(text) {
			*s = v
			return nil
		}
	}
	return fmt.Errorf("status %q is not pass, warn or fail", text)
}
