package export

import (
	"fmt"
	"io"
	"math"
	"strings"

	"tuckfinger/assembly/study"
	"tuckfinger/assembly/study/fingers"
	"tuckfinger/assembly/study/tune"
	"tuckfinger/params"
)

// TunedFile returns the text of a finger file with the tuned dimensions in it;
// everything else, comments too, is as it was.
func TunedFile(data []byte, t *fingers.Tuned) ([]byte, error) {
	var err error
	for i, f := range t.Setup.Free {
		if t.Values[i] == t.Before[i] {
			continue
		}
		if data, err = params.SetDimension(data, f.Name, t.Values[i]); err != nil {
			return nil, err
		}
	}
	return data, nil
}

// TunedText prints what tuning changed and which limits bind.
func TunedText(w io.Writer, d *params.Design, t *fingers.Tuned) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s: within all limits after %d tries\n\n", d.Name, t.Evaluations)
	tab := columns(b)
	fmt.Fprintln(tab, "  dimension\tbefore\tnow\tfrom\tto")
	for i, f := range t.Setup.Free {
		unit := d.Dimensions.Get(f.Name).Unit
		end := ""
		for _, at := range t.Bounds {
			if at.Name == f.Name {
				end = "at its lower end"
				if at.High {
					end = "at its upper end"
				}
			}
		}
		fmt.Fprintf(tab, "  %s\t%s\t%s\t%s\t%s\t%s\n", f.Name, unitText(t.Before[i], unit), exact(t.Values[i], unit), unitText(f.Low, unit), unitText(f.High, unit), end)
	}
	tab.Flush()
	b.WriteByte('\n')
	fmt.Fprintln(tab, "  limit\tvalue\tbound")
	for _, l := range t.Limits {
		binds := ""
		if l.Binds {
			binds = "binds"
		}
		unit := t.Setup.Measures[l.Measure].Unit
		fmt.Fprintf(tab, "  %s\t%s\t%s\t%s\n", l.Name, unitText(l.Value, unit), l.Sense.String()+" "+unitText(l.Bound, unit), binds)
	}
	for _, g := range t.Setup.Goals {
		aim := "goal: low"
		if g.Sense == study.AtLeast {
			aim = "goal: high"
		}
		fmt.Fprintf(tab, "  %s\t%s\t%s\n", g.Name, unitText(t.Outcome.Measures[g.Measure], t.Setup.Measures[g.Measure].Unit), aim)
	}
	tab.Flush()
	_, err := io.WriteString(w, b.String())
	return err
}

func exact(v float64, unit string) string {
	s := fmt.Sprint(v)
	if unit != "" && unit != "1" {
		s += " " + unit
	}
	return s
}

// ConflictText prints which limits can't be met together, and by how much.
func ConflictText(w io.Writer, d *params.Design, e *tune.Infeasible) error {
	b := &strings.Builder{}
	what := "one limit can't be met"
	if len(e.Conflict) > 1 {
		what = fmt.Sprintf("%d limits can't be met together", len(e.Conflict))
	}
	fmt.Fprintf(b, "%s: nothing within all limits was found in %d tries; %s\n", d.Name, e.Evaluations, what)
	for _, s := range e.Conflict {
		unit := e.Unit(s.Measure)
		fmt.Fprintf(b, "  %s: %s %s", s.Name, s.Sense, unitText(s.Bound, unit))
		switch {
		case math.IsNaN(s.Attainable):
			b.WriteString("; no variant could be computed while the others hold\n")
			continue
		case len(e.Conflict) > 1:
			b.WriteString("; while the others hold, ")
		default:
			b.WriteString("; ")
		}
		fmt.Fprintf(b, "the best is %s, short by %s\n", unitText(s.Attainable, unit), unitText(s.Short(), unit))
		for _, at := range s.Bounds {
			end := "lower"
			if at.High {
				end = "upper"
			}
			fmt.Fprintf(b, "      with %s at its %s end, %s\n", at.Name, end, unitText(at.At, d.Dimensions.Get(at.Name).Unit))
		}
	}
	b.WriteString("loosen one of them, widen the bounds, or free another dimension; no file was written\n")
	_, err := io.WriteString(w, b.String())
	return err
}
