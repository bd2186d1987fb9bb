package tables

import (
	"fmt"
	"strings"
)

// Nearest returns the candidate that name was most likely meant to be, or "" if
// none is near: one that differs in letter case only, else the one with the
// smallest edit distance (insert, delete, replace, swap neighbours; letter case
// ignored) of at most a third of the longer length. So M8 is not taken for M6. Of
// equally near ones it is the first.
func Nearest(name string, candidates []string) string {
	best, bestDist := "", 0
	low := []rune(strings.ToLower(name))
	for _, c := range candidates {
		other := []rune(strings.ToLower(c))
		d := editDistance(low, other)
		if d > max(len(low), len(other))/3 {
			continue
		}
		if best == "" || d < bestDist {
			best, bestDist = c, d
		}
	}
	return best
}

// Suggest returns `; nearest is "x"` for use in an error, "" if none is near.
func Suggest(name string, candidates []string) string {
	if n := Nearest(name, candidates); n != "" {
		return fmt.Sprintf("; nearest is %q", n)
	}
	return ""
}

// editDistance is the optimal string alignment distance: the least number of
// inserts, deletes, replacements and swaps of neighbours, no place edited twice.
func editDistance(a, b []rune) int {
	before, last := make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row := make([]int, len(b)+1)
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(row[j-1]+1, last[j]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last = last, row
	}
	return last[len(b)]
}

// list joins names for an error message.
func list(names []string) string {
	if len(names) == 0 {
		return "none"
	}
	return strings.Join(names, ", ")
}
