package solids

import "errors"

// ErrFull is what a Failing writer returns.
var ErrFull = errors.New("no space left")

// Failing is a writer that takes Left bytes and then fails, as a full disk does.
type Failing struct{ Left int }

func (f *Failing) Write(p []byte) (int, error) {
	n := min(len(p), f.Left)
	f.Left -= n
	if n < len(p) {
		return n, ErrFull
	}
	return n, nil
}
