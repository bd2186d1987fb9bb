package export

import (
	"fmt"
	"strings"
	"testing"
)

// Columns begin at one place each, two blanks after the widest cell, and no line
// ends in blanks.
func TestColumns(t *testing.T) {
	var b strings.Builder
	tab := columns(&b)
	fmt.Fprint(tab, "a\tbb\tc\t\n", "aaaa\tb\t\t\n", "\tb\tc\n", "\n")
	tab.Flush()
	if want := "a     bb  c\naaaa  b\n      b   c\n\n"; b.String() != want {
		t.Errorf("%q, want %q", b.String(), want)
	}
}
