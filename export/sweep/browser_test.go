package sweep

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tuckfinger/export/internal/browser"
)

// TestPageInBrowser presses marks, choices, keys and links of the page.
func TestPageInBrowser(t *testing.T) {
	p := browser.Open(t)
	file := filepath.Join(t.TempDir(), "sweep.html")
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := Page(f, results(t, 200, 1), about); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	p.Size(1200, 900)
	p.Open("file://" + file)
	p.Until(`document.querySelector(".large circle")`)
	p.Shot("sweep")
	count := func(query string) int {
		t.Helper()
		return browser.Eval[int](p, "document.querySelectorAll(`"+query+"`).length")
	}
	variant := func() string {
		t.Helper()
		return browser.Eval[string](p, `document.querySelector(".variant").textContent`)
	}
	// 110 variants pass; of these 10 have an endless margin, and of the 80 that
	// fail 10 an undetermined one: neither has a place in the plot.
	if pass, fail := count(".large .dot"), count(".large .cross"); pass != 100 || fail != 70 {
		t.Errorf("%d marks for passing and %d for failing variants, want 100 and 70", pass, fail)
	}
	if n := count(".multiples button"); n != 2 {
		t.Errorf("%d small plots, want one for each of 2 dimensions", n)
	}
	p.Run(`(() => { const e = document.querySelector(".large .dot").getBoundingClientRect();
		document.querySelector(".large svg").dispatchEvent(new PointerEvent("pointerdown", {clientX: e.x + e.width/2, clientY: e.y + e.height/2, bubbles: true})); })()`)
	first := variant()
	if !strings.Contains(first, "passes") || !strings.Contains(first, "order.O1 (at least 1.5)") || count(".large .chosen") != 1 {
		t.Errorf("after pressing a mark: %q", first)
	}
	if link := browser.Eval[string](p, `document.querySelector(".variant a").getAttribute("href")`); !strings.HasPrefix(link, "../variants/") {
		t.Errorf("the files are at %q", link)
	}
	p.Keys(browser.Right)
	if next := variant(); next == first {
		t.Error("the arrow key shows the same variant")
	}
	// Only what fails one check.
	p.Run(`(() => { const s = document.querySelector(".why"); s.value = "arm strain"; s.dispatchEvent(new Event("change")); })()`)
	if pass, fail := count(".large .dot"), count(".large .cross"); pass != 0 || fail != 70 {
		t.Errorf("with failing arm strain: %d and %d marks, want 0 and 70", pass, fail)
	}
	// A link of the table of reasons shows a variant that has no mark.
	p.Run(`document.querySelector("#failing [data-variant]").click()`)
	if got := variant(); !strings.Contains(got, `does not "close", <here>`) {
		t.Errorf("after pressing the link: %q", got)
	}
	// On a phone nothing sticks out, captions are whole, letters can be read, and
	// the plot is drawn anew.
	p.Size(360, 800)
	p.Until(`document.querySelector(".large svg").getBoundingClientRect().right <= 361`)
	if bad := browser.Eval[[]string](p, `[...document.querySelectorAll("caption, figcaption, h1, h2, p, .large text")].filter((e) => {
		const r = e.getBoundingClientRect(); return r.right > 361 || r.height > 0 && r.height < 9; }).map((e) => e.tagName + ": " + e.textContent)`); len(bad) > 0 {
		t.Errorf("on a phone: %q", bad)
	}
	if browser.Eval[bool](p, "document.documentElement.scrollWidth > document.documentElement.clientWidth") {
		t.Error("on a phone the page sticks out")
	}
	p.Shot("sweep-360")
	// The address names the variant, so that it can be sent to somebody.
	p.Open("about:blank")
	p.Open("file://" + file + "#v10")
	p.Until(`document.querySelector(".variant h3")?.textContent === "Variant 10"`)
	p.Quiet()
}
