package preview

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"tuckfinger/assembly"
	"tuckfinger/export/internal/browser"
	"tuckfinger/export/page"
	"tuckfinger/export/page/collect"
	"tuckfinger/params"
)

// full makes all of a page that needs no writers.
func full(d *params.Design, source []byte) (*page.Data, error) {
	a, err := assembly.Examine(d, nil)
	if err != nil {
		return nil, err
	}
	in := collect.From(a)
	in.Tool, in.File, in.Source, in.Meshes = "tuckfinger test", "finger.yaml", string(source), true
	return collect.Data(in)
}

// The running preview in a browser: follows an edit, shows mistakes and keeps the
// last good state, moves a dimension and writes it, keeping comments.
func TestInBrowser(t *testing.T) {
	p := browser.Open(t)
	text, err := os.ReadFile(exampleFile)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "finger.yaml")
	save := func(b []byte) {
		if err := os.WriteFile(file+"~", b, 0o644); err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(file+"~", file); err != nil {
			t.Fatal(err)
		}
	}
	save(text)
	ctx, cancel := context.WithCancel(context.Background())
	var log safe
	s, err := Start(ctx, Config{File: file, Quick: func(d *params.Design, _ []byte) (*page.Data, error) { return collect.Quick(d) }, Full: full, Timing: &log}, 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cancel(); s.Wait() })
	p.Size(1600, 1000)
	p.Open(s.URL())
	const done = `(document.body.dataset.shown || "").endsWith(" full")`
	p.Until(done)
	p.Run(`document.querySelector("canvas.space").scrollIntoView(); Player.set(12)`)
	p.Until(`document.querySelector("canvas.space").width > 300`)
	p.Run(`scrollTo(0, 0)`)
	p.Shot("live")

	// An edit: the note and with it the heading change, the position stays.
	shown := browser.Eval[string](p, "document.body.dataset.shown")
	text = bytes.Replace(text, []byte("note: Lifts"), []byte("note: Now lifts"), 1)
	save(text)
	p.Until(fmt.Sprintf(`document.body.dataset.shown !== %q && %s && document.querySelector("#top .note").textContent.startsWith("Now lifts")`, shown, done))
	if u := browser.Eval[float64](p, "Player.state().u"); u != 12 {
		t.Errorf("an edit moves the player from 12 to %g mm", u)
	}

	// A mistake: it is shown with its place, the picture stays.
	bad := bytes.Replace(text, []byte("tip_crank: {value: 7"), []byte("tip_crank: {value: 7q"), 1)
	save(bad)
	p.Until(`!document.querySelector(".errors").hidden`)
	line := strings.Count(string(bad[:bytes.Index(bad, []byte("7q"))]), "\n") + 1
	if got := browser.Eval[string](p, `document.querySelector(".errors li").textContent`); !strings.Contains(got, fmt.Sprintf("finger.yaml:%d:", line)) || !strings.Contains(got, "7q") {
		t.Errorf("the mistake in line %d is shown as %q", line, got)
	}
	if n := browser.Eval[int](p, `document.querySelectorAll(".side .part").length`); n < 10 {
		t.Errorf("%d outlines are left of the last good state", n)
	}
	p.Shot("live-mistake")
	save(text)
	p.Until(`document.querySelector(".errors").hidden && ` + done)

	// A dimension: moved in the page, then written.
	row := `[...document.querySelectorAll(".dim-row")].find((r) => r.querySelector(".dim-name").textContent === "lower_length")`
	old := browser.Eval[string](p, `document.querySelector('.side .part[data-body="5"]').getAttribute("transform") + document.querySelector('.side .part[data-body="5"] path').getAttribute("d")`)
	move := func(v float64) {
		p.Run(fmt.Sprintf(`(() => { const f = (%s).querySelector("input[type=range]"); f.value = %g; f.dispatchEvent(new Event("input", {bubbles: true})); })()`, row, v))
	}
	for _, v := range []float64{37, 37.5, 38.4, 38.2} {
		move(v)
	}
	p.Until(done + ` && (` + row + `).classList.contains("moved") && +(` + row + `).querySelector("input[type=number]").value === 38.2`)
	if now := browser.Eval[string](p, `document.querySelector('.side .part[data-body="5"]').getAttribute("transform") + document.querySelector('.side .part[data-body="5"] path').getAttribute("d")`); now == old {
		t.Error("the picture does not follow the dimension")
	}
	p.Shot("live-moved")
	p.Run(`(` + row + `).querySelector(".write").click()`)
	p.Until(`!(` + row + `).classList.contains("moved")`)
	want := regexp.MustCompile(`(lower_length: \{value: )[0-9.]+`).ReplaceAll(text, []byte("${1}38.2"))
	if now, _ := os.ReadFile(file); !bytes.Equal(now, want) {
		t.Error("writing changed more than the number")
	}
	p.Until(done)
	for _, w := range []int64{360, 820} {
		p.Size(w, 900)
		if browser.Eval[bool](p, "document.documentElement.scrollWidth > document.documentElement.clientWidth") {
			t.Errorf("%d px: sticks out", w)
		}
		p.Shot(fmt.Sprintf("live-%d", w))
	}
	t.Log("\n" + log.String())
	p.Quiet()
}
