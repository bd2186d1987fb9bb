package sweep

import (
	"bytes"
	"cmp"
	"embed"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strings"

	"tuckfinger/assembly/study/sweep"
	"tuckfinger/export/num"
	"tuckfinger/export/page"
)

//go:embed assets
var assets embed.FS

const (
	// mostPoints is how many variants the page's plots carry; of a larger sweep
	// it takes every second, third ... variant.
	mostPoints = 5000
	bestRows   = 20
	digits     = 5
)

// view is what the template gets.
type view struct {
	About
	ID                  string
	Variants            int
	Passed, Failed, Bad int
	Every               int // the plots carry every so many variants
	Verdict             string
	Checks              []checkRow
	Faults              []faultRow
	Names               []string // of the dimensions, with units
	Measures            []string
	Best                []bestRow
	Scored              bool // Best is by margin
	Style               template.CSS
	Script              template.JS
	Packed              template.JS
}

// checkRow is how often a check fails.
type checkRow struct {
	Name   string
	Count  int
	Alone  int     // variants that fail no other
	Share  float64 // of all variants, %
	Length float64 // of its bar, %
}

// faultRow is a reason why variants could not be computed.
type faultRow struct {
	Text  string
	Count int
	First int
	point string
}

// bestRow is a variant that passes, with its numbers as text.
type bestRow struct {
	Index            int
	Score            float64
	Built            string
	Values, Measures []string
	point            string
}

// packed is what the script gets.
type packed struct {
	Columns []packedColumn `json:"columns"`
	Checks  []string       `json:"checks"`
}

type packedColumn struct {
	Name   string  `json:"name"`
	Unit   string  `json:"unit,omitempty"`
	Swept  bool    `json:"swept,omitempty"`
	Wanted float64 `json:"wanted,omitempty"` // margin that the file asks for
}

// Page writes sweep.html: one file that needs no other and no network.
func Page(w io.Writer, res *sweep.Results, a About) error {
	v := &view{About: a, ID: res.ID, Variants: res.Variants, Every: max(1, (res.Variants+mostPoints-1)/mostPoints)}
	for _, n := range res.Names {
		v.Names = append(v.Names, label(n, a.Units[n]))
	}
	for _, m := range res.Measures {
		v.Measures = append(v.Measures, label(m.Name, m.Unit))
	}
	g := &gatherer{view: v, res: res, checks: map[string]*checkRow{}, faults: map[string]*faultRow{}}
	for r, err := range res.Rows() {
		if err != nil {
			return err
		}
		g.add(&r)
	}
	g.finish()
	style, err := page.Style()
	if err != nil {
		return err
	}
	own, err := assets.ReadFile("assets/sweep.css")
	if err != nil {
		return err
	}
	script, err := assets.ReadFile("assets/sweep.js")
	if err != nil {
		return err
	}
	v.Style, v.Script = template.CSS(style+string(own)), template.JS(script)
	if v.Packed, err = g.pack(); err != nil {
		return err
	}
	var b bytes.Buffer
	if err := templates.ExecuteTemplate(&b, "sweep", v); err != nil {
		return err
	}
	_, err = w.Write(b.Bytes())
	return err
}

var templates = template.Must(template.New("").Funcs(template.FuncMap{
	"fix": func(digits int, v float64) string {
		return strings.Replace(fmt.Sprintf("%.*f", digits, v), "-", "−", 1)
	},
}).ParseFS(assets, "assets/*.tmpl"))

func label(name, unit string) string {
	if unit == "" || unit == "1" {
		return name
	}
	return name + ", " + unit
}

// gatherer goes through the rows once.
type gatherer struct {
	*view
	res    *sweep.Results
	checks map[string]*checkRow
	faults map[string]*faultRow
	order  []string // checks as they are first seen
	rows   bytes.Buffer
}

func (g *gatherer) add(r *sweep.Row) {
	switch verdict(r) {
	case pass:
		g.Passed++
		g.best(r)
	case fail:
		g.Failed++
		for _, name := range r.Failed {
			c := g.checks[name]
			if c == nil {
				c = &checkRow{Name: name}
				g.checks[name] = c
				g.order = append(g.order, name)
			}
			if c.Count++; len(r.Failed) == 1 {
				c.Alone++
			}
		}
	default:
		g.Bad++
		f := g.faults[r.Err]
		switch {
		case f != nil:
			f.Count++
		case len(g.faults) < 1000:
			g.faults[r.Err] = &faultRow{Text: r.Err, Count: 1, First: r.Index, point: g.point(r)}
		}
	}
	if r.Index%g.Every == 0 {
		g.draw(g.point(r))
	}
}

// draw puts a point into the plots.
func (g *gatherer) draw(point string) {
	if g.rows.Len() > 0 {
		g.rows.WriteString(",\n")
	}
	g.rows.WriteString(point)
}

// score is the smallest order margin over the one that the file asks for, NaN
// without order rules.
func (g *gatherer) score(r *sweep.Row) float64 {
	s := math.NaN()
	for i, m := range g.res.Measures {
		if want := g.Order[m.Name]; want > 0 {
			if q := r.Measures[i] / want; math.IsNaN(s) || q < s {
				s = q
			}
		}
	}
	return s
}

// best keeps the passing variants with the largest margins.
func (g *gatherer) best(r *sweep.Row) {
	s := g.score(r)
	if g.Scored = !math.IsNaN(s); !g.Scored {
		s = -float64(r.Index)
	}
	if len(g.Best) == bestRows && s <= g.Best[bestRows-1].Score {
		return
	}
	b := bestRow{Index: r.Index, Score: s, point: g.point(r)}
	if g.Built != nil {
		b.Built = g.Built(r.Index)
	}
	for _, v := range r.Values {
		b.Values = append(b.Values, num.Text(v, digits))
	}
	for _, v := range r.Measures {
		b.Measures = append(b.Measures, shown(v))
	}
	at, _ := slices.BinarySearchFunc(g.Best, b, func(x, y bestRow) int {
		return cmp.Or(cmp.Compare(y.Score, x.Score), cmp.Compare(x.Index, y.Index))
	})
	if g.Best = slices.Insert(g.Best, at, b); len(g.Best) > bestRows {
		g.Best = g.Best[:bestRows]
	}
}

func shown(v float64) string {
	switch {
	case math.IsNaN(v):
		return "undetermined"
	case math.IsInf(v, 0):
		return "unlimited"
	}
	return num.Text(v, digits)
}

// point is a variant as the script reads it: index, verdict (0 pass, 1 fail, 2 error),
// numbers, checks, and what it has in words.
func (g *gatherer) point(r *sweep.Row) string {
	var b strings.Builder
	code := map[string]int{pass: 0, fail: 1, fault: 2}[verdict(r)]
	fmt.Fprintf(&b, "[%d,%d", r.Index, code)
	for _, v := range r.Values {
		b.WriteString("," + num.Text(v, digits))
	}
	for i := range g.res.Measures {
		switch {
		case r.Err != "" || math.IsNaN(r.Measures[i]):
			b.WriteString(",null")
		case math.IsInf(r.Measures[i], 0):
			b.WriteString(`,"unlimited"`)
		default:
			b.WriteString("," + num.Text(r.Measures[i], digits))
		}
	}
	words := r.Failed
	if r.Err != "" {
		words = []string{r.Err}
	}
	built := ""
	if code == 0 && g.Built != nil {
		built = g.Built(r.Index)
	}
	for _, text := range []string{strings.Join(words, "; "), built} {
		quoted, _ := json.Marshal(text) // strings always marshal
		b.WriteString("," + string(quoted))
	}
	return b.String() + "]"
}

func (g *gatherer) finish() {
	for _, name := range g.order {
		c := g.checks[name]
		c.Share = 100 * float64(c.Count) / float64(max(1, g.Variants))
		g.Checks = append(g.Checks, *c)
	}
	slices.SortStableFunc(g.Checks, func(a, b checkRow) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), cmp.Compare(a.Name, b.Name))
	})
	for i := range g.Checks {
		g.Checks[i].Length = 100 * float64(g.Checks[i].Count) / float64(g.Checks[0].Count)
	}
	for _, f := range g.faults {
		g.Faults = append(g.Faults, *f)
	}
	slices.SortFunc(g.Faults, func(a, b faultRow) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), cmp.Compare(a.First, b.First))
	})
	g.Faults = g.Faults[:min(len(g.Faults), bestRows)]
	// What the tables link to is drawn in any case.
	for _, f := range g.Faults {
		if f.First%g.Every != 0 {
			g.draw(f.point)
		}
	}
	for _, b := range g.Best {
		if b.Index%g.Every != 0 {
			g.draw(b.point)
		}
	}
	what := "every check"
	if g.About.Checks == "stroke" {
		what = "order and strain"
	}
	g.Verdict = fmt.Sprintf("%d of %d variants pass %s", g.Passed, g.Variants, what)
	if g.Bad > 0 {
		g.Verdict += fmt.Sprintf("; %d could not be computed", g.Bad)
	}
}

// pack makes the script's data.
func (g *gatherer) pack() (template.JS, error) {
	var p packed
	for _, n := range g.res.Names {
		p.Columns = append(p.Columns, packedColumn{Name: n, Unit: unit(g.Units[n]), Swept: true})
	}
	for _, m := range g.res.Measures {
		p.Columns = append(p.Columns, packedColumn{Name: m.Name, Unit: unit(m.Unit), Wanted: g.Order[m.Name]})
	}
	for _, c := range g.Checks {
		p.Checks = append(p.Checks, c.Name)
	}
	head, err := json.Marshal(p)
	if err != nil {
		return "", err
	}
	// < is escaped, since the data stands in an element of the page.
	rows := strings.ReplaceAll(g.rows.String(), "<", `\u003c`)
	return template.JS(string(head[:len(head)-1]) + `,"rows":[` + rows + "]}"), nil
}

func unit(u string) string {
	if u == "1" {
		return ""
	}
	return u
}
