package page

import (
	"fmt"
	"html/template"
	"io"
)

// guideFrame is what the guide's template gets.
type guideFrame struct {
	*Data
	Style  template.CSS
	Steps  []guideStep
	Events []EventRow
}

type guideStep struct {
	Number  int
	Step    Step
	Picture template.HTML
}

// Guide writes guide.html: how to put the finger together, step by step, and how
// to try it out. It is one file without scripts.
func Guide(w io.Writer, d *Data) error {
	style, err := gather("base.css", "guide.css", "dark-print.css")
	if err != nil {
		return err
	}
	f := guideFrame{Data: d, Style: template.CSS(style), Events: d.Events()}
	for i := range d.Steps {
		st := &d.Steps[i]
		f.Steps = append(f.Steps, guideStep{i + 1, *st, d.picture(st, fmt.Sprintf("Step %d: %s", i+1, st.Title))})
	}
	if err := execute(w, "guide", f); err != nil {
		return fmt.Errorf("guide of %s: %w", d.Name, err)
	}
	return nil
}
