// Package num turns numbers into text in one way for all files of a build.
package num

import (
	"math"
	"strconv"
)

// Digits is how many significant digits files carry where nothing else is said:
// more than a print, a measurement or a friction coefficient is good for, fewer
// than the last bits in which two ways to compute a number differ.
const Digits = 6

// Noise is the size below which a number is written as 0. In mm, N, N·mm, MPa,
// g, s and rad it is what rounding leaves of a sum that cancels.
const Noise = 1e-12

// Round returns v to so many significant digits (1 to 17), ties to even on the
// decimal digits, and 0 below Noise. NaN and infinities are returned as they are.
func Round(v float64, digits int) float64 {
	if math.Abs(v) < Noise {
		return 0
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	// A decimal with 17 digits or fewer is always read back.
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	if err != nil {
		return v // rounding up overflowed
	}
	return r
}

// Text returns v rounded, without trailing zeros, never "-0", and with an
// exponent only below 1e-6 or from 1e15 on. It is a number of JSON (RFC 8259)
// and of CSV for every finite v.
func Text(v float64, digits int) string {
	r := Round(v, digits)
	if a := math.Abs(r); r != 0 && (a < 1e-6 || a >= 1e15) {
		return strconv.FormatFloat(r, 'e', -1, 64)
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}

// Finite reports whether v is neither NaN nor infinite.
func Finite(v float64) bool { return v-v == 0 }
