package preview

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tuckfinger/export/page"
	"tuckfinger/params"
)

const exampleFile = "../../../examples/rack-lifter/finger.yaml"

// echo makes a page that says which text it was made from.
func echo(d *params.Design, source []byte) (*page.Data, error) {
	hook := d.Dimensions.Get("hook")
	return &page.Data{Name: d.Name, Source: string(source), Sheets: []page.Sheet{{Title: "t", Rows: [][]string{{"hook", fmt.Sprint(hook.Value)}}}}}, nil
}

// safe is a buffer for several goroutines.
type safe struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *safe) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *safe) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

type client struct {
	t      *testing.T
	server *Server
	file   string
	states chan state
	log    safe
}

func serve(t *testing.T, change func(*Config)) *client {
	t.Helper()
	text, err := os.ReadFile(exampleFile)
	if err != nil {
		t.Fatal(err)
	}
	// The test's own value, whatever the example has.
	text = regexp.MustCompile(`hook: \{value: [0-9.]+`).ReplaceAll(text, []byte("hook: {value: 0.9"))
	c := &client{t: t, file: filepath.Join(t.TempDir(), "finger.yaml"), states: make(chan state, 100)}
	if err := os.WriteFile(c.file, text, 0o640); err != nil {
		t.Fatal(err)
	}
	conf := Config{File: c.file, Quick: echo, Full: echo, Timing: &c.log}
	if change != nil {
		change(&conf)
	}
	ctx, cancel := context.WithCancel(context.Background())
	c.server, err = Start(ctx, conf, 0)
	if err != nil {
		t.Fatal(err)
	}
	r, err := http.Get(c.server.URL() + "events")
	if err != nil {
		t.Fatal(err)
	}
	go func() {
		defer r.Body.Close()
		lines := bufio.NewReader(r.Body)
		for {
			line, err := lines.ReadString('\n')
			if err != nil {
				return
			}
			text, ok := strings.CutPrefix(strings.TrimSpace(line), "data: ")
			var st struct {
				state
				Data json.RawMessage `json:"data"`
			}
			if ok && json.Unmarshal([]byte(text), &st) == nil {
				c.states <- st.state
			}
		}
	}()
	t.Cleanup(func() {
		cancel()
		c.server.Wait()
	})
	return c
}

// until waits for a state that is wanted and fails on one that must not come.
func (c *client) until(what string, want func(state) bool) state {
	c.t.Helper()
	limit := time.After(10 * time.Second)
	for {
		select {
		case st := <-c.states:
			if want(st) {
				return st
			}
		case <-limit:
			c.t.Fatalf("no state with %s in 10 s", what)
		}
	}
}

func fullWith(text string) func(state) bool {
	return func(st state) bool { return st.Stage == "full" && strings.Contains(html(st), text) }
}

func html(st state) string {
	var b strings.Builder
	for _, s := range st.Sections {
		b.WriteString(string(s.HTML))
	}
	return b.String()
}

func (c *client) post(path, body string) (int, string) {
	c.t.Helper()
	req, err := http.NewRequest("POST", c.server.URL()+path, strings.NewReader(body))
	if err != nil {
		c.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Origin", strings.TrimSuffix(c.server.URL(), "/"))
	r, err := http.DefaultClient.Do(req)
	if err != nil {
		c.t.Fatal(err)
	}
	defer r.Body.Close()
	text, _ := io.ReadAll(r.Body)
	return r.StatusCode, strings.TrimSpace(string(text))
}

func (c *client) edit(from, to string) {
	c.t.Helper()
	text, err := os.ReadFile(c.file)
	if err != nil {
		c.t.Fatal(err)
	}
	if !bytes.Contains(text, []byte(from)) {
		c.t.Fatalf("the file has no %q", from)
	}
	// As editors do that save by a new file in the old one's place.
	tmp := c.file + "~new"
	if err := os.WriteFile(tmp, bytes.Replace(text, []byte(from), []byte(to), 1), 0o640); err != nil {
		c.t.Fatal(err)
	}
	if err := os.Rename(tmp, c.file); err != nil {
		c.t.Fatal(err)
	}
}

const hookLine = "hook: {value: 0.9, unit: mm"

func TestFollowsTheFile(t *testing.T) {
	c := serve(t, nil)
	first := c.until("the file as it is", fullWith("<td>0.9</td>"))
	if len(first.Dims) < 10 {
		t.Errorf("%d dimensions", len(first.Dims))
	}
	c.edit(hookLine, "hook: {value: 1.1, unit: mm")
	c.until("the new hook", fullWith("<td>1.1</td>"))
	// Written in place, in two steps.
	text, _ := os.ReadFile(c.file)
	f, err := os.OpenFile(c.file, os.O_WRONLY|os.O_TRUNC, 0)
	if err != nil {
		t.Fatal(err)
	}
	text = bytes.Replace(text, []byte("hook: {value: 1.1, unit: mm"), []byte("hook: {value: 0.7, unit: mm"), 1)
	f.Write(text[:200])
	f.Write(text[200:])
	f.Close()
	c.until("the hook written in place", fullWith("<td>0.7</td>"))
	if got := c.log.String(); !strings.Contains(got, "change 1: mechanism view after ") || strings.Count(got, "\n") < 3 {
		t.Errorf("timing:\n%s", got)
	}
}

func TestMistakesKeepTheLastState(t *testing.T) {
	c := serve(t, nil)
	c.until("the start", fullWith("<td>0.9</td>"))
	c.edit(hookLine, "hook: {value: 0.9x, unit: mm")
	st := c.until("errors", func(st state) bool { return st.Stage == "error" })
	text, _ := os.ReadFile(c.file)
	line, col := 0, 0
	for i, l := range strings.Split(string(text), "\n") {
		if at := strings.Index(l, "0.9x, unit"); at >= 0 {
			line, col = i+1, at+len("0.9")+1 // of the x
		}
	}
	if e := st.Errors[0]; e.File != "finger.yaml" || e.Line != line || e.Col != col || !strings.Contains(e.Text, "0.9x") || e.Path != "dimensions.hook.value" {
		t.Errorf("%+v, the mistake is at %d:%d", st.Errors, line, col)
	}
	// A page that joins now gets the last good state and the errors.
	in, leave := c.server.engine.join()
	list := in.take()
	leave()
	if len(list) != 2 || !bytes.Contains(list[0], []byte(`"stage":"full"`)) || !bytes.Contains(list[1], []byte(`"stage":"error"`)) {
		t.Errorf("a new page gets %d states", len(list))
	}
	c.edit("value: 0.9x", "value: 0.9")
	c.until("the mended file", fullWith("<td>0.9</td>"))
	if in, leave := c.server.engine.join(); len(in.take()) != 1 {
		t.Error("errors outlive the mistake")
	} else {
		leave()
	}
	// A file that goes away and comes back.
	text, _ = os.ReadFile(c.file)
	os.Remove(c.file)
	st = c.until("the missing file", func(st state) bool { return st.Stage == "error" })
	if len(st.Errors) != 1 || !strings.HasPrefix(st.Errors[0].Msg, "the file is gone") {
		t.Errorf("a missing file: %+v", st.Errors)
	}
	os.WriteFile(c.file, text, 0o640)
	c.until("the file again", fullWith("<td>0.9</td>"))
}

func TestTablesAreWatched(t *testing.T) {
	c := serve(t, nil)
	c.until("the start", fullWith("<td>0.9</td>"))
	dir := filepath.Join(filepath.Dir(c.file), "tables")
	os.Mkdir(dir, 0o755)
	table := filepath.Join(dir, "own.yaml")
	os.WriteFile(table, []byte("materials: {}\n"), 0o644)
	c.edit("tuckfinger: 1\n", "tuckfinger: 1\ntables: [tables/own.yaml]\n")
	c.until("the file with a table", func(st state) bool { return st.Stage == "full" })
	os.WriteFile(table, []byte("materials: 3\n"), 0o644)
	st := c.until("a faulty table", func(st state) bool { return st.Stage == "error" })
	if st.Errors[0].File != "tables/own.yaml" || st.Errors[0].Line != 1 {
		t.Errorf("%+v", st.Errors)
	}
}

func TestMovedDimension(t *testing.T) {
	c := serve(t, nil)
	c.until("the start", fullWith("<td>0.9</td>"))
	before, _ := os.ReadFile(c.file)
	if code, text := c.post("set", `{"name":"hook","value":1.2}`); code != http.StatusNoContent {
		t.Fatal(code, text)
	}
	st := c.until("the moved hook", fullWith("<td>1.2</td>"))
	for _, d := range st.Dims {
		if d.Name == "hook" && (!d.Moved || d.Value != 1.2 || d.File != 0.9 || d.Low != 0.5 || d.High != 1.4) {
			t.Errorf("%+v", d)
		}
		if d.Name != "hook" && d.Moved {
			t.Errorf("%+v", d)
		}
	}
	if now, _ := os.ReadFile(c.file); !bytes.Equal(now, before) {
		t.Error("moving a dimension changes the file")
	}
	// An edit of something else keeps it.
	c.edit("note: Lifts", "note: It lifts")
	c.until("the edit besides", func(st state) bool { return fullWith("<td>1.2</td>")(st) && fullWith("It lifts")(st) })
	before, _ = os.ReadFile(c.file)
	if code, text := c.post("write", `{"name":"hook"}`); code != http.StatusNoContent {
		t.Fatal(code, text)
	}
	st = c.until("the written hook", func(st state) bool { return fullWith("<td>1.2</td>")(st) && !moved(st, "hook") })
	// Comments, order and spacing stay; one number is new.
	want := bytes.Replace(before, []byte(hookLine), []byte("hook: {value: 1.2, unit: mm"), 1)
	if now, _ := os.ReadFile(c.file); !bytes.Equal(now, want) {
		t.Error("more than the number has changed")
	}
	if info, _ := os.Stat(c.file); info.Mode().Perm() != 0o640 {
		t.Errorf("permissions %v", info.Mode())
	}
	c.post("set", `{"name":"hook","value":0.6}`)
	c.until("the hook moved again", fullWith("<td>0.6</td>"))
	c.post("undo", `{"name":"hook"}`)
	c.until("what the file says", fullWith("<td>1.2</td>"))
	// Out of its range: a mistake like one in the file.
	c.post("set", `{"name":"hook","value":9}`)
	c.until("the range", func(st state) bool {
		return st.Stage == "error" && strings.HasPrefix(st.Errors[0].Path, "dimensions.hook")
	})
	for body, want := range map[string]int{
		`{"name":"hok","value":3}`: http.StatusUnprocessableEntity, `{"name":`: http.StatusBadRequest,
		`{"name":"hook","value":"x"}`: http.StatusBadRequest, `{"name":"` + strings.Repeat("x", 5000) + `"}`: http.StatusBadRequest,
	} {
		if code, _ := c.post("set", body); code != want {
			t.Errorf("%.40s: %d, want %d", body, code, want)
		}
	}
	if code, text := c.post("write", `{"name":"play"}`); code != http.StatusUnprocessableEntity || !strings.Contains(text, "not been moved") {
		t.Error(code, text)
	}
}

func moved(st state, name string) bool {
	for _, d := range st.Dims {
		if d.Name == name {
			return d.Moved
		}
	}
	return false
}

// Results that come late, and in any order, never replace newer ones: what is
// shown only goes forward, and what stays is the last value.
func TestNothingStale(t *testing.T) {
	var runs atomic.Int32
	slow := func(d *params.Design, source []byte) (*page.Data, error) {
		time.Sleep(time.Duration(40*(runs.Add(1)%4)) * time.Millisecond) // the later often the faster
		return echo(d, source)
	}
	c := serve(t, func(c *Config) { c.Quick, c.Full = slow, slow })
	c.until("the start", fullWith("<td>0.9</td>"))
	last := 0.0
	for i := range 25 {
		last = float64(60+i) / 100
		c.post("set", fmt.Sprintf(`{"name":"hook","value":%g}`, last))
		time.Sleep(time.Duration(i%5) * 15 * time.Millisecond)
	}
	number := 0
	c.until("the last value", func(st state) bool {
		if st.Number < number {
			t.Errorf("state %d after %d", st.Number, number)
		}
		number = st.Number
		return fullWith(fmt.Sprintf("<td>%g</td>", last))(st)
	})
	select {
	case st := <-c.states:
		t.Errorf("after the last state comes %d %s", st.Number, st.Stage)
	case <-time.After(300 * time.Millisecond):
	}
}

// A file behind a link is followed and written where it is.
func TestLink(t *testing.T) {
	real := filepath.Join(t.TempDir(), "real.yaml")
	c := serve(t, func(conf *Config) {
		os.Rename(conf.File, real)
		if err := os.Symlink(real, conf.File); err != nil {
			t.Skip(err)
		}
	})
	c.until("the start", fullWith("<td>0.9</td>"))
	text, _ := os.ReadFile(real)
	os.WriteFile(real, bytes.Replace(text, []byte(hookLine), []byte("hook: {value: 1.1, unit: mm"), 1), 0o640)
	c.until("the new hook", fullWith("<td>1.1</td>"))
	c.post("set", `{"name":"hook","value":0.7}`)
	c.until("the moved hook", fullWith("<td>0.7</td>"))
	c.post("write", `{"name":"hook"}`)
	c.until("the written hook", func(st state) bool { return fullWith("<td>0.7</td>")(st) && !moved(st, "hook") })
	if info, err := os.Lstat(c.file); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is gone: %v", err)
	}
}
