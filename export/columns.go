package export

import (
	"strings"
	"text/tabwriter"
)

// columns aligns cells that end in tabs, without blanks at the ends of lines.
func columns(b *strings.Builder) *tabwriter.Writer {
	return tabwriter.NewWriter(&trimmed{b: b}, 0, 0, 2, ' ', 0)
}

// trimmed keeps blanks back until something follows them on their line.
type trimmed struct {
	b      *strings.Builder
	blanks int
}

func (t *trimmed) Write(p []byte) (int, error) {
	for _, c := range p {
		switch c {
		case ' ':
			t.blanks++
			continue
		case '\n':
			t.blanks = 0
		}
		t.b.WriteString(strings.Repeat(" ", t.blanks))
		t.blanks = 0
		t.b.WriteByte(c)
	}
	return len(p), nil
}
