package page

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"tuckfinger/export/num"
)

//go:embed assets
var assets embed.FS

// styles and scripts of the pages, in the order in which they are put together.
var (
	styles        = []string{"base.css", "figures.css", "dark-print.css"}
	reportScripts = []string{"data.js", "player.js", "charts.js", "camera.js", "solids.js", "viewer.js", "start.js"}
	liveStyles    = []string{"live.css"}
	liveScripts   = []string{"live.js"}
)

func gather(names ...string) (string, error) {
	var b strings.Builder
	for _, name := range names {
		text, err := assets.ReadFile("assets/" + name)
		if err != nil {
			return "", err
		}
		b.Write(text)
	}
	return b.String(), nil
}

var funcs = template.FuncMap{
	"grams": grams,
	"force": force,
	"times": times,
	"fix": func(digits int, v float64) string {
		t := fmt.Sprintf("%.*f", digits, v)
		if strings.Trim(t, "-0.") == "" { // nothing is left of it, so it has no sign
			t = strings.TrimPrefix(t, "-")
		}
		return strings.Replace(t, "-", "−", 1)
	},
	"text": func(v float64) string { return num.Text(v, 6) },
	"join": strings.Join,
	"inc":  func(i int) int { return i + 1 },
	"mul":  func(a int, b float64) float64 { return float64(a) * b },
}

var templates = template.Must(template.New("").Funcs(funcs).ParseFS(assets, "assets/*.tmpl"))

// frame is what the outer template gets.
type frame struct {
	*Data
	Title  string
	Style  template.CSS
	Script template.JS
	Live   bool
	Body   []Section
	Packed template.JS
}

// Section is a part of a page that can be replaced by itself.
type Section struct {
	ID   string        `json:"id"`
	HTML template.HTML `json:"html"`
}

// sections of a report, each a template of that name.
var sectionNames = []string{"top", "summary", "stroke", "solids", "checks", "making", "cautions", "source"}

// Sections renders the sections of a report, one by one.
func Sections(d *Data) ([]Section, error) {
	var out []Section
	for _, name := range sectionNames {
		var b bytes.Buffer
		if err := templates.ExecuteTemplate(&b, name, d); err != nil {
			return nil, fmt.Errorf("report of %s: section %s: %w", d.Name, name, err)
		}
		out = append(out, Section{name, template.HTML(b.String())})
	}
	return out, nil
}

// Report writes report.html: one file that needs no other and no network. The
// bytes depend on the data alone.
func Report(w io.Writer, d *Data) error { return write(w, d, false) }

// Live writes the page that follows a file: a report that listens to the server
// it came from.
func Live(w io.Writer, d *Data) error { return write(w, d, true) }

func write(w io.Writer, d *Data, live bool) error {
	f := frame{Data: d, Title: d.Name, Live: live}
	scripts, sheets := slices.Clone(reportScripts), slices.Clone(styles)
	if live {
		scripts, sheets = append(scripts, liveScripts...), append(sheets, liveStyles...)
	}
	style, err := gather(sheets...)
	if err != nil {
		return err
	}
	script, err := gather(scripts...)
	if err != nil {
		return err
	}
	f.Style, f.Script = template.CSS(style), template.JS(script)
	if f.Body, err = Sections(d); err != nil {
		return err
	}
	if f.Packed, err = d.Pack(); err != nil {
		return fmt.Errorf("report of %s: %w", d.Name, err)
	}
	return execute(w, "page", f)
}

func execute(w io.Writer, name string, data any) error {
	var b bytes.Buffer
	if err := templates.ExecuteTemplate(&b, name, data); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}
