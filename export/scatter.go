package export

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"tuckfinger/assembly/study/fingers"
	"tuckfinger/assembly/study/stats"
	"tuckfinger/export/results"
)

// scatterFile is what scatter --json prints. Shares are 0 to 1.
type scatterFile struct {
	Finger  string         `json:"finger"`
	N       int            `json:"n"`
	Seed    uint64         `json:"seed"`
	Margins bool           `json:"wanted_margins"` // holds means: reaches the margin that the file asks for
	Holds   int            `json:"holds"`
	Share   float64        `json:"share"`
	Low     float64        `json:"low"` // Wilson interval, 95 %
	High    float64        `json:"high"`
	Errors  int            `json:"errors"`
	Error   string         `json:"first_error"`
	Rules   []scatterRule  `json:"rules"`
	Inputs  []scatterInput `json:"inputs"`
	Indices []scatterIndex `json:"indices"`
}

type scatterRule struct {
	Name         string            `json:"name"`
	Holds        int               `json:"holds"`
	Share        float64           `json:"share"`
	Low          float64           `json:"low"`
	High         float64           `json:"high"`
	Undetermined int               `json:"undetermined"`
	Wanted       float64           `json:"margin_wanted"`
	Reached      float64           `json:"share_reaching_it"`
	Drawn        *float64          `json:"margin_drawn"`
	Least        *float64          `json:"least"`
	Mean         *float64          `json:"mean"`
	SD           *float64          `json:"sd"`
	Most         *float64          `json:"most"`
	Quantiles    []scatterQuantile `json:"quantiles"`
}

type scatterQuantile struct {
	P     float64  `json:"p"`
	Value *float64 `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
}

type scatterInput struct {
	Name    string  `json:"name"`
	Unit    string  `json:"unit"`
	Nominal float64 `json:"nominal"`
	Shape   string  `json:"shape"`
	Source  string  `json:"source"`
	Worst   float64 `json:"worst_copy"`
}

type scatterIndex struct {
	Output    string  `json:"output"` // a rule's margin, or whether all rules hold
	Input     string  `json:"input"`
	First     float64 `json:"first"`
	FirstLow  float64 `json:"first_low"`
	FirstHigh float64 `json:"first_high"`
	Total     float64 `json:"total"`
	TotalLow  float64 `json:"total_low"`
	TotalHigh float64 `json:"total_high"`
}

// ScatterJSON writes a scatter study as JSON. A margin that is undetermined, or
// that no force breaks, is null.
func ScatterJSON(w io.Writer, name string, seed uint64, s *fingers.Scattered) error {
	out := scatterFile{Finger: name, N: s.N, Seed: seed, Margins: s.Margins, Holds: s.Holds, Share: s.Share, Low: s.Range.Low, High: s.Range.High,
		Errors: s.Errors, Error: s.FirstErr, Rules: []scatterRule{}, Inputs: []scatterInput{}, Indices: []scatterIndex{}}
	for i := range s.Result.Rules {
		r, st := &s.Result.Rules[i], s.Rules[i]
		rule := scatterRule{Name: r.Name, Holds: r.Holds, Share: r.Share, Low: r.Range.Low, High: r.Range.High, Undetermined: r.Undetermined,
			Wanted: st.Margin, Reached: st.Reached, Drawn: finite(st.Drawn), Quantiles: []scatterQuantile{}}
		if m := &r.Measure; m.N > m.NaN {
			rule.Least, rule.Most, rule.Mean, rule.SD = finite(m.Min), finite(m.Max), finite(m.Mean), finite(m.SD)
			for _, q := range m.Quantiles {
				rule.Quantiles = append(rule.Quantiles, scatterQuantile{q.P, finite(q.Value), finite(q.Low), finite(q.High)})
			}
		}
		out.Rules = append(out.Rules, rule)
	}
	for i, in := range s.Inputs {
		out.Inputs = append(out.Inputs, scatterInput{in.Name, in.Unit, in.Nominal, in.Shape, in.Source, s.Worst[i]})
	}
	for _, o := range s.Outputs {
		for i, x := range o.Indices {
			out.Indices = append(out.Indices, scatterIndex{o.Name, s.Inputs[i].Name, x.First, x.FirstRange.Low, x.FirstRange.High,
				x.Total, x.TotalRange.Low, x.TotalRange.High})
		}
	}
	return results.Write(w, out, 0)
}

// ScatterText prints a scatter study for a person.
func ScatterText(w io.Writer, name string, s *fingers.Scattered) error {
	b := &strings.Builder{}
	holds := "holds"
	if s.Margins {
		holds = "reaches its margin"
	}
	fmt.Fprintf(b, "%s: every order rule %s in %d of %d copies, %s\n", name, holds, s.Holds, s.N, share(s.Share, s.Range))
	if s.Errors > 0 {
		fmt.Fprintf(b, "%d copies could not be computed and count as not holding; the first: %s\n", s.Errors, s.FirstErr)
	}
	b.WriteString("\nrule margins (holding over driving force)\n")
	t := columns(b)
	fmt.Fprintln(t, "  rule\tholds\tdrawing\tleast\t1 %\tmedian\t99 %\twanted\treached by")
	for i := range s.Result.Rules {
		r, st := &s.Result.Rules[i], s.Rules[i]
		fmt.Fprintf(t, "  %s\t%s\t%s\t", r.Name, share(r.Share, r.Range), margin(st.Drawn))
		if m := &r.Measure; m.N > m.NaN {
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t", margin(m.Min), quantile(m, 0.01), quantile(m, 0.5), quantile(m, 0.99))
		} else {
			fmt.Fprint(t, "-\t-\t-\t-\t")
		}
		fmt.Fprintf(t, "%.2f\t%.1f %%\n", st.Margin, 100*st.Reached)
	}
	t.Flush()
	b.WriteString("\nwhat differs between copies\n")
	fmt.Fprintln(t, "  input\tdrawing\tdistribution\tworst copy\tsource")
	for i, in := range s.Inputs {
		fmt.Fprintf(t, "  %s\t%s\t%s\t%s\t%s\n", in.Name, unitText(in.Nominal, in.Unit), in.Shape, unitText(s.Worst[i], in.Unit), in.Source)
	}
	t.Flush()
	if len(s.Outputs) > 0 {
		b.WriteString("\nwhat drives it (Sobol indices: share of the variance, in total, and first: by itself; 95 % intervals)\n")
		for _, o := range s.Outputs {
			drivers(t, s, o.Name, o.Indices)
		}
		t.Flush()
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// drivers prints the inputs of an output, the strongest first, while they matter.
func drivers(w io.Writer, s *fingers.Scattered, name string, x []stats.Index) {
	if x == nil {
		fmt.Fprintf(w, "  %s\tdoes not vary\n", name)
		return
	}
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(x[b].Total, x[a].Total) })
	const matters = 0.02
	for k, i := range order {
		if k > 0 && x[i].Total < matters {
			break
		}
		fmt.Fprintf(w, "  %s\t%s\ttotal %.2f (%.2f to %.2f)\tfirst %.2f (%.2f to %.2f)\n", name, s.Inputs[i].Name,
			x[i].Total, x[i].TotalRange.Low, x[i].TotalRange.High, x[i].First, x[i].FirstRange.Low, x[i].FirstRange.High)
		name = ""
	}
}

func share(v float64, r stats.Interval) string {
	return fmt.Sprintf("%.1f %% (95 %%: %.1f to %.1f %%)", 100*v, 100*r.Low, 100*r.High)
}

func margin(v float64) string {
	switch {
	case math.IsNaN(v):
		return "tie"
	case math.IsInf(v, 0):
		return "unlimited"
	}
	return fmt.Sprintf("%.2f", v)
}

func quantile(m *stats.Summary, p float64) string {
	for _, q := range m.Quantiles {
		if q.P == p {
			return margin(q.Value)
		}
	}
	return "-"
}

func unitText(v float64, unit string) string {
	if unit == "" || unit == "1" {
		return fmt.Sprintf("%.4g", v)
	}
	return fmt.Sprintf("%.4g %s", v, unit)
}
