// Package browser runs pages in Chromium for tests.
package browser

import (
	"context"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// Page is one tab.
type Page struct {
	t   testing.TB
	ctx context.Context

	mu       sync.Mutex
	troubles []string
}

// Open starts a browser with one tab. Without Chromium the test is skipped, or
// fails when TUCKFINGER_NEED_TOOLS=1.
func Open(t testing.TB) *Page {
	t.Helper()
	if testing.Short() {
		t.Skip("browsers are slow")
	}
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		const why = "chromium is not installed"
		if os.Getenv("TUCKFINGER_NEED_TOOLS") == "1" {
			t.Fatal(why)
		}
		t.Skip(why)
	}
	// A browser that breaks down while it starts says nothing about a page.
	var ctx context.Context
	for try := 1; ; try++ {
		var stop func()
		var err error
		if ctx, stop, err = start(path, t.TempDir()); err == nil {
			t.Cleanup(stop)
			break
		}
		stop()
		if try == 3 {
			t.Fatal(err)
		}
		t.Logf("the browser does not start: %v", err)
	}
	p := &Page{t: t, ctx: ctx}
	if err := chromedp.Listen(ctx, p.listen); err != nil {
		t.Fatal(err)
	}
	call(p, log.Enable, cdp.Empty{})
	call(p, runtime.Enable, cdp.Empty{})
	return p
}

// start starts a browser with a data folder of its own; stop ends it.
func start(path, data string) (ctx context.Context, stop func(), err error) {
	opts := append([]chromedp.ExecAllocatorOption{}, chromedp.DefaultExecAllocatorOptions[:]...)
	opts = append(opts, chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.UserDataDir(data),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-gpu", false),
		// WebGL in software, for machines without a graphics card.
		chromedp.Flag("use-gl", "angle"), chromedp.Flag("use-angle", "swiftshader"), chromedp.Flag("enable-unsafe-swiftshader", true))
	alloc, cancelAlloc := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, cancel := chromedp.NewContext(alloc)
	ctx, cancelTime := context.WithTimeout(ctx, 100*time.Second)
	stop = func() {
		cancelTime()
		cancel()
		cancelAlloc()
	}
	return ctx, stop, chromedp.Do(ctx, chromedp.Steps())
}

func (p *Page) listen(ev any) {
	switch e := ev.(type) {
	case *runtime.EventExceptionThrown:
		text := e.ExceptionDetails.Text
		if x := e.ExceptionDetails.Exception; x != nil {
			text += " " + x.Description
		}
		p.trouble("exception: " + text)
	case *runtime.EventConsoleAPICalled:
		if t := e.Type.String(); t == "error" || t == "warning" || t == "assert" {
			text := ""
			for _, a := range e.Args {
				text += " " + string(a.Value) + a.Description
			}
			p.trouble("console:" + text)
		}
	case *log.EventEntryAdded:
		if string(e.Entry.Level) == "error" {
			p.trouble("log: " + e.Entry.Text + " " + e.Entry.URL)
		}
	}
}

func (p *Page) trouble(s string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.troubles = append(p.troubles, s)
}

func (p *Page) do(a chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	if err := chromedp.Do(p.ctx, a); err != nil {
		p.t.Fatal(err)
	}
}

func run[T any](p *Page, a chromedp.Action[T]) T {
	p.t.Helper()
	out, err := chromedp.Run(p.ctx, a)
	if err != nil {
		p.t.Fatal(err)
	}
	return out
}

func call[P, R any](p *Page, c cdp.Command[P, R], params P) {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, c, params); err != nil {
		p.t.Fatal(err)
	}
}

// For gives the page to a subtest, whose failures are then its own.
func (p *Page) For(t testing.TB) { p.t = t }

// Size sets the size of the window in CSS pixels.
func (p *Page) Size(w, h int64) { p.t.Helper(); p.do(chromedp.EmulateViewport(w, h)) }

// Media sets a feature such as prefers-color-scheme, and the medium, "" for the
// screen.
func (p *Page) Media(medium, feature, value string) {
	p.t.Helper()
	call(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: medium, Features: []*emulation.MediaFeature{{Name: feature, Value: value}}})
}

// Open loads an address.
func (p *Page) Open(url string) { p.t.Helper(); p.do(chromedp.Navigate(url)) }

// Run evaluates a script, waits for its promise if it is one, and drops the
// result.
func (p *Page) Run(script string) {
	p.t.Helper()
	p.do(chromedp.Evaluate[chromedp.Void](script, chromedp.EvalAwaitPromise))
}

// Eval evaluates a script expression.
func Eval[T any](p *Page, script string) T {
	p.t.Helper()
	return run(p, chromedp.Evaluate[T](script))
}

// Until waits until an expression is true.
func (p *Page) Until(script string) {
	p.t.Helper()
	limit := time.Now().Add(20 * time.Second)
	for !Eval[bool](p, "!!("+script+")") {
		if time.Now().After(limit) {
			p.t.Fatalf("after 20 s it is not true that %s", script)
		}
		time.Sleep(15 * time.Millisecond)
	}
}

// Keys of their own.
const (
	Right = kb.ArrowRight
	Enter = kb.Enter
)

// Keys presses keys where the focus is.
func (p *Page) Keys(keys string) { p.t.Helper(); p.do(chromedp.KeyEvent(keys)) }

// Shot writes a picture of the whole page to the folder named by
// TUCKFINGER_SHOTS, for people to look at; nothing if it is not set.
func (p *Page) Shot(name string) {
	p.t.Helper()
	dir := os.Getenv("TUCKFINGER_SHOTS")
	if dir == "" {
		return
	}
	if err := os.WriteFile(dir+"/"+name+".png", run(p, chromedp.FullScreenshot(100)), 0o644); err != nil {
		p.t.Fatal(err)
	}
}

// PDF prints the page.
func (p *Page) PDF() []byte {
	p.t.Helper()
	return run(p, chromedp.PrintToPDF(chromedp.PDFPrintBackground(), chromedp.PDFPreferCSSPageSize()))
}

// Quiet fails the test if the page has complained.
func (p *Page) Quiet() {
	p.t.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, s := range p.troubles {
		p.t.Error(s)
	}
	p.troubles = nil
}
