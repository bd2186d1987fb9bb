package page_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tuckfinger/assembly"
	"tuckfinger/export/internal/browser"
	"tuckfinger/export/page"
	"tuckfinger/export/page/collect"
	"tuckfinger/params"
)

// reference is the data of the reference finger.
func reference(t testing.TB) *page.Data {
	t.Helper()
	const file = "../../examples/rack-lifter/finger.yaml"
	d, err := params.Load(file)
	if err != nil {
		t.Fatal(err)
	}
	a, err := assembly.Analyse(d, nil)
	if err != nil {
		t.Fatal(err)
	}
	in := collect.From(a)
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	in.Tool, in.File, in.Source, in.Meshes = "tuckfinger test", "finger.yaml", string(text), true
	data, err := collect.Data(in)
	if err != nil {
		t.Fatal(err)
	}
	data.Measured = &page.Measured{Name: "bench.csv", S: []float64{0, 9, 18}, Force: []float64{1, 4, 2}}
	return data
}

// save writes a page and returns its address and size.
func save(t testing.TB, name string, write func(*os.File) error) (string, int64) {
	t.Helper()
	file := filepath.Join(t.TempDir(), name)
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := write(f); err != nil {
		t.Fatal(err)
	}
	st, _ := f.Stat()
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return "file://" + file, st.Size()
}

func TestReportInBrowser(t *testing.T) {
	data := reference(t)
	url, size := save(t, "report.html", func(f *os.File) error { return page.Report(f, data) })
	if size > 3_000_000 {
		t.Errorf("the report has %d bytes", size)
	}
	p := browser.Open(t)
	p.Size(1600, 1000)
	p.Open(url)
	firstPaint(t, p, url, size)
	t.Run("slider moves the links", func(t *testing.T) { sliderMoves(t, p, data) })
	t.Run("keyboard", func(t *testing.T) { keyboard(t, p, data) })
	t.Run("layers", func(t *testing.T) {
		p.For(t)
		p.Run(`document.querySelector(".layers input").click()`)
		if got := browser.Eval[string](p, `document.querySelector(".side .part[data-z^='0 ']").style.display`); got != "none" {
			t.Error("a slice of a layer that is off is shown")
		}
		p.Run(`document.querySelector(".layers input").click()`)
	})
	t.Run("space", func(t *testing.T) { space(t, p) })
	t.Run("sizes", func(t *testing.T) { sizes(t, p) })
	t.Run("print", func(t *testing.T) {
		p.For(t)
		if pdf := p.PDF(); !strings.HasPrefix(string(pdf), "%PDF") || len(pdf) < 50_000 {
			t.Errorf("printed %d bytes", len(pdf))
		} else if dir := os.Getenv("TUCKFINGER_SHOTS"); dir != "" {
			os.WriteFile(dir+"/report.pdf", pdf, 0o644)
		}
	})
	p.For(t)
	if got := browser.Eval[int](p, "performance.getEntriesByType('resource').length"); got != 0 {
		t.Errorf("the page fetched %d things", got)
	}
	p.Quiet()
}

// firstPaint asks for the first picture in one second more than an empty page
// takes on this machine at this time; the best of a few, for other programs run
// too.
func firstPaint(t *testing.T, p *browser.Page, url string, size int64) {
	paint := func(url string) float64 {
		best := math.Inf(1)
		for range 4 {
			p.Open(url)
			p.Until("performance.getEntriesByName('first-contentful-paint').length")
			best = math.Min(best, browser.Eval[float64](p, "performance.getEntriesByName('first-contentful-paint')[0].startTime"))
		}
		return best
	}
	empty, _ := save(t, "empty.html", func(f *os.File) error { _, err := f.WriteString("<!doctype html><p>nothing"); return err })
	base := paint(empty)
	got := paint(url)
	if t.Logf("%d bytes, first paint after %.0f ms, an empty page's after %.0f ms", size, got, base); got > base+1000 {
		t.Error("that is too late")
	}
	p.Until("document.querySelector('.readout td')")
}

// sliderMoves compares what the picture shows with the stroke, between frames
// too.
func sliderMoves(t *testing.T, p *browser.Page, data *page.Data) {
	p.For(t)
	st := data.Stroke
	travelled := 0.0
	for i, f := range st.Frames {
		if i > 0 {
			travelled += math.Abs(f.S - st.Frames[i-1].S)
		}
		// Not before a jump: there the player shows the state after it.
		if i%23 != 0 || i+1 < len(st.Frames) && st.Frames[i+1].S == f.S {
			continue
		}
		for b := range data.Bodies {
			m := browser.Eval[[]float64](p, fmt.Sprintf(`(() => { Player.set(%g);
				const g = document.querySelector('.side .part[data-body="%d"]');
				const m = g.transform.baseVal.consolidate();
				return m ? [m.matrix.e, m.matrix.f, Math.atan2(m.matrix.b, m.matrix.a)] : [0, 0, 0]; })()`, travelled, b))
			want := f.Poses[b]
			if math.Hypot(m[0]-want.X, m[1]-want.Y) > 0.03 || math.Abs(math.Remainder(m[2]-want.Theta, 2*math.Pi)) > 0.003 {
				t.Errorf("frame %d, s = %.3f: %s at %.3f, the stroke has %.3f", i, f.S, data.Bodies[b].Name, m, want)
			}
		}
	}
	got := browser.Eval[string](p, `(() => { const r = document.querySelector(".time"); r.value = r.max / 2; r.dispatchEvent(new Event("input", {bubbles: true})); return document.querySelector(".where").textContent; })()`)
	if want := fmt.Sprintf("s = %.2f mm, ", st.Travel); !strings.HasPrefix(got, want) {
		t.Errorf("in the middle: %q, want %q", got, want)
	}
	if cursor := browser.Eval[string](p, `document.querySelector('.chart .cursor path').getAttribute("transform")`); !strings.HasPrefix(cursor, "translate(") {
		t.Errorf("cursor %q", cursor)
	}
}

func keyboard(t *testing.T, p *browser.Page, data *page.Data) {
	p.For(t)
	p.Run(`Player.set(0); document.querySelector(".time").focus()`)
	p.Keys(browser.Right)
	if u := browser.Eval[float64](p, "Player.state().u"); u <= 0 {
		t.Errorf("an arrow key leaves the slider at %g", u)
	}
	p.Keys(" ")
	if !browser.Eval[bool](p, `document.querySelector(".play").getAttribute("aria-pressed") === "true"`) {
		t.Error("space does not play")
	}
	before := browser.Eval[float64](p, "Player.state().u")
	p.Until(fmt.Sprintf("Player.state().u > %g", before))
	p.Keys(" ")
	p.Run(`document.querySelector('[data-event="2"]').focus()`)
	p.Keys(browser.Enter)
	if want := data.Stroke.Frames[data.Events()[1].Frame].S; math.Abs(browser.Eval[float64](p, "Player.state().s")-want) > 0.01 {
		t.Errorf("event 2 is shown at s = %.3f, want that of its frame, %.3f", want, browser.Eval[float64](p, "Player.state().s"))
	}
	p.Media("", "prefers-reduced-motion", "reduce")
	p.Run(`Player.set(0); document.querySelector(".play").click()`)
	first := browser.Eval[float64](p, "Player.state().u")
	time.Sleep(250 * time.Millisecond)
	if again := browser.Eval[float64](p, "Player.state().u"); again != first || first == 0 {
		t.Errorf("with reduced motion it runs from %g to %g", first, again)
	}
	p.Run(`document.querySelector(".play").click()`)
	p.Media("", "prefers-reduced-motion", "")
	// Everything that can be used can be reached, and says what it is.
	if bad := browser.Eval[[]string](p, `[...document.querySelectorAll("button, select, input, canvas, summary, svg[role=img]")].filter((e) => {
		const name = e.getAttribute("aria-label") || e.textContent.trim() || (e.labels && e.labels[0] && e.labels[0].textContent.trim());
		return !name || e.tabIndex < 0 && !e.closest("svg") && e.tagName !== "SUMMARY"; }).map((e) => e.outerHTML.slice(0, 80))`); len(bad) > 0 {
		t.Errorf("without a name or out of reach: %q", bad)
	}
}

// pixels counts the colours in the drawing of the parts.
const pixels = `(() => { const c = document.querySelector("canvas.space"), gl = c.getContext("webgl2");
	const px = new Uint8Array(4 * c.width * c.height); gl.readPixels(0, 0, c.width, c.height, gl.RGBA, gl.UNSIGNED_BYTE, px);
	const seen = new Map(); let sum = 0;
	for (let i = 0; i < px.length; i += 4) { const k = px[i] << 16 | px[i + 1] << 8 | px[i + 2]; seen.set(k, (seen.get(k) || 0) + 1); sum = (sum * 31 + k) % 1000000007; }
	const most = Math.max(...seen.values());
	return [seen.size, 1 - most / (px.length / 4), sum]; })()`

func space(t *testing.T, p *browser.Page) {
	p.For(t)
	drawn := func() []float64 {
		p.Run(`new Promise((ok) => requestAnimationFrame(() => requestAnimationFrame(ok)))`)
		return browser.Eval[[]float64](p, pixels)
	}
	p.Run(`document.querySelector("canvas.space").scrollIntoView(); Player.set(0)`)
	p.Until(`document.querySelector("canvas.space").width > 300`)
	rest := drawn()
	if rest[0] < 20 || rest[1] < 0.02 {
		t.Fatalf("the drawing has %v colours on %.3f of its area", rest[0], rest[1])
	}
	different := func(what, do string) {
		t.Helper()
		p.Run(do)
		now := drawn()
		if now[2] == rest[2] || now[1] < 0.005 {
			t.Errorf("%s: the drawing stays as it was or is empty: %v", what, now)
		}
		rest = now
	}
	different("stroke", "Player.set(15)")
	different("turn", `document.querySelector("canvas.space").dispatchEvent(new KeyboardEvent("keydown", {key: "ArrowLeft"}))`)
	different("zoom", `document.querySelector("canvas.space").dispatchEvent(new KeyboardEvent("keydown", {key: "+"}))`)
	different("apart", `document.querySelector("canvas.space").dispatchEvent(new KeyboardEvent("keydown", {key: "e"}))`)
	different("one part", `(() => { const s = document.querySelector(".which"); s.value = "4"; s.dispatchEvent(new Event("change")); })()`)
	p.Run(`(() => { const s = document.querySelector(".which"); s.value = "-1"; s.dispatchEvent(new Event("change")); document.querySelector(".home").click(); })()`)
}

// sizes looks for anything that sticks out of a narrow or wide window.
func sizes(t *testing.T, p *browser.Page) {
	p.For(t)
	for _, w := range []int64{360, 820, 1600} {
		p.Size(w, 900)
		if over := browser.Eval[[]string](p, `(() => { const w = document.documentElement.clientWidth;
			if (document.documentElement.scrollWidth <= w) return [];
			return [...document.querySelectorAll("main *")].filter((e) => e.getBoundingClientRect().right > w + 1 && !e.closest(".scroll, svg, .roll, pre")).map((e) => e.tagName + "." + e.className).slice(0, 5); })()`); len(over) > 0 {
			t.Errorf("%d px: too wide: %v", w, over)
		}
		if small := browser.Eval[[]string](p, `[...document.querySelectorAll(".chart .tick, .name text")].filter((e) => { const h = e.getBoundingClientRect().height; return h > 0 && h < 9; }).map((e) => e.textContent).slice(0, 3)`); len(small) > 0 {
			t.Errorf("%d px: too small to read: %q", w, small)
		}
		for _, scheme := range []string{"light", "dark"} {
			p.Media("", "prefers-color-scheme", scheme)
			p.Shot(fmt.Sprintf("report-%d-%s", w, scheme))
		}
		p.Media("", "prefers-color-scheme", "light")
	}
	p.Media("print", "prefers-color-scheme", "light")
	p.Size(800, 1100)
	p.Shot("report-print")
	p.Media("", "prefers-color-scheme", "light")
}

func TestGuideInBrowser(t *testing.T) {
	data := reference(t)
	url, size := save(t, "guide.html", func(f *os.File) error { return page.Guide(f, data) })
	if size > 3_000_000 {
		t.Errorf("the guide has %d bytes", size)
	}
	p := browser.Open(t)
	for _, w := range []int64{360, 1600} {
		p.Size(w, 900)
		p.Open(url)
		if browser.Eval[bool](p, "document.documentElement.scrollWidth > document.documentElement.clientWidth") {
			t.Errorf("%d px: sticks out", w)
		}
		p.Shot(fmt.Sprintf("guide-%d", w))
	}
	if n := browser.Eval[int](p, `document.querySelectorAll("svg.step").length`); n < len(data.Bodies) {
		t.Errorf("%d pictures for %d parts", n, len(data.Bodies))
	}
	p.Media("", "prefers-color-scheme", "dark")
	p.Shot("guide-dark")
	p.Quiet()
}
