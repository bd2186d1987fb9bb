// Package preview serves a page that follows a finger file while it is edited.
//
// A server listens on the loopback interface only. It watches the file and the
// tables that it names, computes again when one of them changes or when a
// dimension is moved in the page, and pushes what it finds: first the mechanism
// with its stroke, then solids, checks and the rest. While the file is faulty
// the page keeps the last good state and lists the errors with their places.
// Nothing is written until the page asks for it, and then one number only.
//
//	preview.go   Server: addresses, requests, what is pushed
//	engine.go    from a change to two states, newest first, none stale
//	watch.go     files that change, also by being replaced
//	write.go     one number into the file
package preview

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"tuckfinger/export/page"
	"tuckfinger/params"
)

// Config says what is shown and how it is computed.
type Config struct {
	File string // the finger file
	// Quick makes the data of the mechanism view, without meshes and checks; Full
	// makes all of it. Either may be running for an older state of the file while
	// the other runs for a newer one. source is the text that d was read from.
	Quick, Full func(d *params.Design, source []byte) (*page.Data, error)
	// Timing, if not nil, gets a line for each change: how long each view took
	// from the change to what is sent.
	Timing io.Writer
}

// Server is a running preview.
type Server struct {
	engine *engine
	listen net.Listener
	http   *http.Server
	hosts  []string
	done   chan struct{}
}

// Start listens on a loopback port, 0 for any free one, and starts to compute.
// ctx ends the server.
func Start(ctx context.Context, c Config, port int) (*Server, error) {
	l, err := net.Listen("tcp", fmt.Sprintf("127.0.0.1:%d", port))
	if err != nil {
		return nil, fmt.Errorf("preview: %w", err)
	}
	e, err := newEngine(c)
	if err != nil {
		l.Close()
		return nil, err
	}
	s := &Server{engine: e, listen: l, done: make(chan struct{})}
	at := l.Addr().(*net.TCPAddr).Port
	s.hosts = []string{fmt.Sprintf("127.0.0.1:%d", at), fmt.Sprintf("localhost:%d", at)}
	s.http = &http.Server{Handler: s.handler(), ReadHeaderTimeout: 5 * time.Second}
	ctx, cancel := context.WithCancel(ctx)
	go func() {
		<-ctx.Done()
		s.http.Close()
	}()
	e.start(ctx)
	go func() {
		defer close(s.done)
		defer cancel()
		s.http.Serve(l) // always an error: it ends by Close
	}()
	return s, nil
}

// URL is the address of the page.
func (s *Server) URL() string { return "http://" + s.hosts[0] + "/" }

// Wait returns when the server has ended.
func (s *Server) Wait() { <-s.done; s.engine.wait() }

// policy keeps the page to itself: no script, style or connection from elsewhere.
const policy = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

func (s *Server) handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.page)
	mux.HandleFunc("GET /events", s.events)
	mux.HandleFunc("POST /set", s.post(s.engine.set))
	mux.HandleFunc("POST /undo", s.post(s.engine.undo))
	mux.HandleFunc("POST /write", s.post(s.engine.write))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Cache-Control", "no-store")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		if !s.ours(r) {
			http.Error(w, "this preview answers its own page only", http.StatusForbidden)
			return
		}
		mux.ServeHTTP(w, r)
	})
}

// ours reports whether a request comes from the preview's own page: the host is
// one of its names (another name may have been pointed here), and so is the
// origin, which browsers send with every request of another page that could
// change or read something.
func (s *Server) ours(r *http.Request) bool {
	if !contains(s.hosts, r.Host) {
		return false
	}
	origin := r.Header.Get("Origin")
	if origin == "" {
		return r.Method == http.MethodGet || r.Method == http.MethodHead
	}
	u, err := url.Parse(origin)
	return err == nil && u.Scheme == "http" && contains(s.hosts, u.Host)
}

func contains(list []string, s string) bool {
	for _, v := range list {
		if v == s {
			return true
		}
	}
	return false
}

func (s *Server) page(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	if err := page.Live(w, s.engine.good()); err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
	}
}

// events pushes states as server-sent events until the page goes away.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	flush, ok := w.(http.Flusher)
	if !ok {
		http.Error(w, "cannot stream", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/event-stream")
	states, leave := s.engine.join()
	defer leave()
	for {
		select {
		case <-r.Context().Done():
			return
		case <-s.engine.ended:
			return
		case <-states.ready:
			for _, data := range states.take() {
				if _, err := fmt.Fprintf(w, "data: %s\n\n", data); err != nil {
					return
				}
			}
			flush.Flush()
		}
	}
}

// request is the body of a POST.
type request struct {
	Name  string  `json:"name"`
	Value float64 `json:"value"`
}

func (s *Server) post(do func(request) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if t, _, _ := strings.Cut(r.Header.Get("Content-Type"), ";"); t != "application/json" {
			http.Error(w, "the body must be application/json", http.StatusUnsupportedMediaType)
			return
		}
		var in request
		if err := json.NewDecoder(http.MaxBytesReader(w, r.Body, 4096)).Decode(&in); err != nil {
			http.Error(w, "the body is not {\"name\": ..., \"value\": ...}", http.StatusBadRequest)
			return
		}
		if err := do(in); err != nil {
			code := http.StatusUnprocessableEntity
			if errors.Is(err, errWrite) {
				code = http.StatusInternalServerError
			}
			http.Error(w, err.Error(), code)
			return
		}
		w.WriteHeader(http.StatusNoContent)
	}
}
