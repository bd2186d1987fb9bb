package tables

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// bandEnds are the upper ends of the ISO 286 size bands, mm. A band is "over
// the one before, up to and including"; the first starts at 1 mm here.
var bandEnds = [3]float64{3, 6, 10}

// itGrades are the standard tolerances IT6 to IT14 in µm for each band.
//
// IT6 to IT13: ISO 286-1:2010, Table 1. IT14 is from memory, re-derived from
// 400·(0.45·D^(1/3) + 0.001·D) µm with D the geometric mean of the band.
var itGrades = map[int][3]int{
	6: {6, 8, 9}, 7: {10, 12, 15}, 8: {14, 18, 22}, 9: {25, 30, 36}, 10: {40, 48, 58},
	11: {60, 75, 90}, 12: {100, 120, 150}, 13: {140, 180, 220}, 14: {250, 300, 360},
}

// shaftDeviations are the fundamental deviations of shafts in µm for each band:
// the upper deviation es for f to h, the lower deviation ei for k to p.
//
// ISO 286-1:2010, Tables 4 and 5. For f, g, k, n and p at 1 to 3 mm from
// memory; the deviations found there agree with the widths IT6 and IT7.
var shaftDeviations = map[string]struct {
	upper bool
	um    [3]int
}{
	"f": {true, [3]int{-6, -10, -13}},
	"g": {true, [3]int{-2, -4, -5}},
	"h": {true, [3]int{0, 0, 0}},
	"k": {false, [3]int{0, 1, 1}}, // grades 4 to 7 only
	"m": {false, [3]int{2, 4, 6}},
	"n": {false, [3]int{4, 8, 10}},
	"p": {false, [3]int{6, 12, 15}},
}

const knownClasses = "holes F, G, H, JS and shafts f, g, h, js, k (grades 6 and 7), m, n, p, with grades 6 to 14"

// Limits returns the lower and upper limit deviation from the nominal size (mm)
// of an ISO 286 tolerance class such as "H7" (a hole) or "m6" (a shaft).
//
// Sizes from 1 to 10 mm are known; others, and classes that are not tabulated,
// are errors. The values are those of ISO 286-1:2010, Tables 1, 4 and 5; holes F
// and G mirror the shafts (EI = −es, the general rule of ISO 286-1), js and JS are ±IT/2.
func Limits(size float64, class string) (lower, upper float64, err error) {
	lo, up, err := halfMicrons(size, class)
	return float64(lo) / 2000, float64(up) / 2000, err
}

// Fit returns the smallest and largest clearance (mm, negative: interference)
// between a hole and a shaft of the same nominal size, for instance
// Fit(5, "H7", "g6"). Errors are those of Limits, and classes in the wrong order.
func Fit(size float64, hole, shaft string) (least, most float64, err error) {
	holeLo, holeUp, err := halfMicrons(size, hole)
	if err != nil {
		return 0, 0, err
	}
	shaftLo, shaftUp, err := halfMicrons(size, shaft)
	if err != nil {
		return 0, 0, err
	}
	if strings.ToUpper(hole) != hole || strings.ToLower(shaft) != shaft {
		return 0, 0, fmt.Errorf("fit %s/%s: a fit is a hole (capital letter) over a shaft (small letter)", hole, shaft)
	}
	return float64(holeLo-shaftUp) / 2000, float64(holeUp-shaftLo) / 2000, nil
}

// Tolerance returns the width (mm) of the standard tolerance IT grade, 6 to 14,
// at a nominal size from 1 to 10 mm (ISO 286-1:2010, Table 1).
func Tolerance(size float64, grade int) (float64, error) {
	band, err := sizeBand(size)
	if err != nil {
		return 0, err
	}
	it, ok := itGrades[grade]
	if !ok {
		return 0, fmt.Errorf("tolerance grade IT%d is not tabulated: grades 6 to 14 are", grade)
	}
	return float64(it[band]) / 1000, nil
}

// halfMicrons returns limit deviations in half micrometres, which are whole
// numbers for js too, so that sums of them are exact.
func halfMicrons(size float64, class string) (lower, upper int, err error) {
	band, err := sizeBand(size)
	if err != nil {
		return 0, 0, err
	}
	split := strings.IndexAny(class, "0123456789")
	if split <= 0 {
		return 0, 0, fmt.Errorf("tolerance class %q is not a letter and a grade, such as H7 or m6", class)
	}
	letter := class[:split]
	grade, err := strconv.Atoi(class[split:])
	it, ok := itGrades[grade]
	if err != nil || !ok || class[split] == '0' {
		return 0, 0, fmt.Errorf("tolerance class %q is not tabulated: %s are", class, knownClasses)
	}
	width := 2 * it[band]
	if letter == "js" || letter == "JS" {
		return -width / 2, width / 2, nil
	}
	hole := slices.Contains([]string{"F", "G", "H"}, letter)
	if hole {
		letter = strings.ToLower(letter)
	}
	dev, ok := shaftDeviations[letter]
	if !ok || letter == "k" && grade > 7 {
		return 0, 0, fmt.Errorf("tolerance class %q is not tabulated: %s are", class, knownClasses)
	}
	d := 2 * dev.um[band]
	switch {
	case hole:
		return -d, -d + width, nil
	case dev.upper:
		return d - width, d, nil
	}
	return d, d + width, nil
}

// sizeBand returns the index of the band that size lies in. A size a nanometre
// past a band's end, as arithmetic leaves it, still belongs to the band.
func sizeBand(size float64) (int, error) {
	const slip = 1e-6
	if size >= 1-slip {
		for i, end := range bandEnds {
			if size <= end+slip {
				return i, nil
			}
		}
	}
	return 0, fmt.Errorf("size %g mm: ISO 286 limits are tabulated from 1 to 10 mm", size)
}
