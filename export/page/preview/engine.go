package preview

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"tuckfinger/export/page"
	"tuckfinger/params"
)

// engine turns changes into states. Every change has a number; a result is shown
// only while no later change is known, so a slow result never replaces the
// picture of a newer file.
type engine struct {
	Config
	dir string

	mu      sync.Mutex
	number  int       // of the latest change
	changed time.Time // when that was
	moved   map[string]float64
	shown   *page.Data // of the last good state
	pushed  []byte     // last good full state, for a page that joins
	trouble []byte     // state that the page has to show besides, nil if none
	pages   map[*inbox]bool

	quick, full chan struct{}
	job         *job // for full
	watch       *watcher
	ended       chan struct{}
	work        sync.WaitGroup
}

// job is what full is to compute.
type job struct {
	number int
	since  time.Time
	design *params.Design
	source []byte
	quick  time.Duration
}

// state is what is pushed.
type state struct {
	Number   int            `json:"number"`
	Stage    string         `json:"stage"` // busy, quick, full or error
	Sections []page.Section `json:"sections,omitempty"`
	Raw      rawJSON        `json:"data,omitempty"`
	Dims     []dim          `json:"dims,omitempty"`
	Errors   []place        `json:"errors,omitempty"`
	Millis   int            `json:"ms,omitempty"`
}

type rawJSON []byte

func (r rawJSON) MarshalJSON() ([]byte, error) { return r, nil }

// dim is a named number that the page may move.
type dim struct {
	Name  string  `json:"name"`
	Note  string  `json:"note"`
	Unit  string  `json:"unit"`
	Value float64 `json:"value"`
	File  float64 `json:"file"` // what the file says
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
	Moved bool    `json:"moved"`
}

// place is an error with its place in a file; Line is 0 where there is none.
type place struct {
	File string `json:"file"`
	Line int    `json:"line"`
	Col  int    `json:"col"`
	Path string `json:"path"`
	Msg  string `json:"msg"`
	Text string `json:"text"` // the line of the file
}

func newEngine(c Config) (*engine, error) {
	abs, err := filepath.Abs(c.File)
	if err != nil {
		return nil, fmt.Errorf("preview: %w", err)
	}
	given := c.File
	c.File = abs
	if fi, err := os.Stat(abs); err != nil {
		return nil, params.Unreadable(given, err)
	} else if fi.IsDir() {
		return nil, params.Unreadable(given, errors.New("is a directory"))
	}
	e := &engine{Config: c, dir: filepath.Dir(abs), moved: map[string]float64{}, shown: &page.Data{Name: filepath.Base(abs)},
		pages: map[*inbox]bool{}, quick: make(chan struct{}, 1), full: make(chan struct{}, 1), ended: make(chan struct{})}
	if e.watch, err = newWatcher(e.change); err != nil {
		return nil, fmt.Errorf("preview: %w", err)
	}
	return e, nil
}

func (e *engine) start(ctx context.Context) {
	e.watch.files(e.File)
	e.work.Go(func() { e.watch.run(ctx) })
	e.work.Go(func() { e.loop(ctx, e.quick, e.doQuick) })
	e.work.Go(func() { e.loop(ctx, e.full, e.doFull) })
	go func() {
		<-ctx.Done()
		close(e.ended)
	}()
	e.change()
}

func (e *engine) wait() { e.work.Wait() }

func (e *engine) loop(ctx context.Context, signal chan struct{}, do func()) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-signal:
			do()
		}
	}
}

func ring(signal chan struct{}) {
	select {
	case signal <- struct{}{}:
	default:
	}
}

// change notes that something is new.
func (e *engine) change() {
	e.mu.Lock()
	e.number++
	e.changed = time.Now()
	e.send(state{Number: e.number, Stage: "busy"})
	e.mu.Unlock()
	ring(e.quick)
}

// source is the file with the moved dimensions laid over it.
func (e *engine) source() (raw, src []byte, err error) {
	if raw, err = os.ReadFile(e.File); errors.Is(err, fs.ErrNotExist) {
		return nil, nil, errors.New("the file is gone; it is shown again when it is back")
	} else if err != nil {
		return nil, nil, err
	}
	src = raw
	e.mu.Lock()
	defer e.mu.Unlock()
	names := make([]string, 0, len(e.moved))
	for name := range e.moved {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		next, err := params.SetDimension(src, name, e.moved[name])
		if err != nil { // the file has changed and no longer has it
			var list params.Errors
			if !errors.As(err, &list) {
				delete(e.moved, name)
			}
			continue
		}
		src = next
	}
	return raw, src, nil
}

func (e *engine) parse(src []byte) (*params.Design, error) {
	return params.Parse(filepath.Base(e.File), src, func(rel string) ([]byte, error) {
		return os.ReadFile(filepath.Join(e.dir, filepath.FromSlash(rel)))
	})
}

func (e *engine) doQuick() {
	e.mu.Lock()
	number, since := e.number, e.changed
	e.mu.Unlock()
	raw, src, err := e.source()
	if err != nil {
		e.fail(number, err, nil)
		return
	}
	d, err := e.parse(src)
	if err != nil {
		e.fail(number, err, src)
		return
	}
	files := []string{e.File}
	for _, t := range d.Tables {
		files = append(files, filepath.Join(e.dir, filepath.FromSlash(t)))
	}
	e.watch.files(files...)
	data, err := e.Quick(d, src)
	if err != nil {
		e.fail(number, err, src)
		return
	}
	st := state{Number: number, Stage: "quick", Dims: e.dims(d, raw)}
	if !e.fill(&st, data, "top", "stroke") {
		return
	}
	took := time.Since(since)
	st.Millis = int(took.Milliseconds())
	e.mu.Lock()
	defer e.mu.Unlock()
	if number != e.number {
		return
	}
	e.send(st)
	e.job = &job{number, since, d, src, took}
	ring(e.full)
}

func (e *engine) doFull() {
	e.mu.Lock()
	j := e.job
	e.job = nil
	stale := j == nil || j.number != e.number
	e.mu.Unlock()
	if stale {
		return
	}
	data, err := e.Full(j.design, j.source)
	if err != nil {
		e.fail(j.number, err, j.source)
		return
	}
	raw, err := os.ReadFile(e.File)
	if err != nil {
		e.fail(j.number, err, nil)
		return
	}
	st := state{Number: j.number, Stage: "full", Dims: e.dims(j.design, raw)}
	if !e.fill(&st, data) {
		return
	}
	took := time.Since(j.since)
	st.Millis = int(took.Milliseconds())
	e.mu.Lock()
	defer e.mu.Unlock()
	if j.number != e.number {
		return
	}
	if e.Timing != nil {
		fmt.Fprintf(e.Timing, "change %d: mechanism view after %d ms, solids and checks after %d ms\n", j.number, j.quick.Milliseconds(), took.Milliseconds())
	}
	e.shown, e.trouble = data, nil
	e.pushed = e.send(st)
}

// fill renders the sections of a state, all or those named.
func (e *engine) fill(st *state, data *page.Data, only ...string) bool {
	sections, err := page.Sections(data)
	if err == nil {
		var packed template.JS
		packed, err = data.Pack()
		st.Raw = rawJSON(packed)
	}
	if err != nil {
		e.fail(st.Number, err, nil)
		return false
	}
	for _, s := range sections {
		if len(only) == 0 || slices.Contains(only, s.ID) {
			st.Sections = append(st.Sections, s)
		}
	}
	return true
}

// fail pushes what is wrong; the last good state stays.
func (e *engine) fail(number int, err error, src []byte) {
	st := state{Number: number, Stage: "error"}
	var list params.Errors
	switch {
	case errors.As(err, &list):
		lines := bytes.Split(src, []byte("\n"))
		for _, p := range list {
			at := place{File: p.File, Line: p.Line, Col: p.Col, Path: p.Path, Msg: p.Msg}
			if p.File == filepath.Base(e.File) && p.Line >= 1 && p.Line <= len(lines) {
				at.Text = string(bytes.TrimRight(lines[p.Line-1], "\r"))
			}
			st.Errors = append(st.Errors, at)
		}
	default:
		st.Errors = []place{{File: filepath.Base(e.File), Msg: err.Error()}}
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	if number != e.number {
		return
	}
	e.trouble = e.send(st)
}

// dims lists the dimensions that have a range and a number of their own.
func (e *engine) dims(d *params.Design, raw []byte) []dim {
	inFile := map[string]float64{}
	if own, err := e.parse(raw); err == nil {
		for i, name := range own.Dimensions.Names {
			inFile[name] = own.Dimensions.Values[i].Value
		}
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	var out []dim
	for i, name := range d.Dimensions.Names {
		v := &d.Dimensions.Values[i]
		if len(v.Range) != 2 || len(d.Origin.Uses["dimensions."+name+".value"]) > 0 {
			continue
		}
		file, ok := inFile[name]
		if !ok {
			file = v.Value
		}
		_, moved := e.moved[name]
		out = append(out, dim{name, v.Note, v.Unit, v.Value, file, v.Range[0], v.Range[1], moved})
	}
	return out
}

// good is the last good state.
func (e *engine) good() *page.Data {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.shown
}

// set moves a dimension in the picture, not in the file.
func (e *engine) set(in request) error {
	raw, err := os.ReadFile(e.File)
	if err != nil {
		return err
	}
	if _, err := params.SetDimension(raw, in.Name, in.Value); err != nil {
		return err
	}
	e.mu.Lock()
	e.moved[in.Name] = in.Value
	e.mu.Unlock()
	e.change()
	return nil
}

// undo goes back to what the file says.
func (e *engine) undo(in request) error {
	e.mu.Lock()
	delete(e.moved, in.Name)
	e.mu.Unlock()
	e.change()
	return nil
}

// send pushes a state to all pages and returns its text. The lock is held.
func (e *engine) send(st state) []byte {
	text, err := json.Marshal(st)
	if err != nil {
		text, _ = json.Marshal(state{Number: st.Number, Stage: "error", Errors: []place{{Msg: err.Error()}}})
	}
	for p := range e.pages { // each gets the same; their order does not matter
		p.put(text)
	}
	return text
}
