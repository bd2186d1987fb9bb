package preview

import (
	"context"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
)

func TestWhoMayAsk(t *testing.T) {
	c := serve(t, nil)
	ask := func(method, path, host, origin, kind string) int {
		req, _ := http.NewRequest(method, c.server.URL()+strings.TrimPrefix(path, "/"), strings.NewReader(`{"name":"hook","value":3}`))
		req.URL.Path = path
		if host != "" {
			req.Host = host
		}
		if origin != "" {
			req.Header.Set("Origin", origin)
		}
		req.Header.Set("Content-Type", kind)
		r, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		return r.StatusCode
	}
	own := strings.TrimSuffix(c.server.URL(), "/")
	port := own[strings.LastIndex(own, ":"):]
	const js = "application/json"
	for _, q := range []struct {
		method, path, host, origin, kind string
		want                             int
	}{
		{"GET", "/", "", "", "", 200},
		{"GET", "/", "localhost" + port, "", "", 200},
		{"GET", "/", "finger.example" + port, "", "", 403}, // a name pointed at this machine
		{"GET", "/", "127.0.0.1", "", "", 403},
		{"GET", "/", "", "http://finger.example", "", 403},
		{"GET", "/finger.yaml", "", "", "", 404},
		{"GET", "/../finger.yaml", "", "", "", 404},
		{"GET", "/..%2f..%2fetc/passwd", "", "", "", 404},
		{"POST", "/set", "", "", js, 403},
		{"POST", "/set", "", "http://finger.example", js, 403},
		{"POST", "/set", "", "null", js, 403},
		{"POST", "/set", "", "https://127.0.0.1" + port, js, 403},
		{"POST", "/set", "", "http://127.0.0.1:1", js, 403},
		{"POST", "/set", "", own, "text/plain", 415}, // what a form of another page could send
		{"POST", "/set", "", own, js, 204},
		{"GET", "/set", "", own, js, 405},
		{"DELETE", "/write", "", own, js, 405},
	} {
		got := ask(q.method, q.path, q.host, q.origin, q.kind)
		if got == 301 || got == 307 {
			got = 404 // a cleaned path leads nowhere else
		}
		if got != q.want {
			t.Errorf("%s %s, host %q, origin %q, %q: %d, want %d", q.method, q.path, q.host, q.origin, q.kind, got, q.want)
		}
	}
	if !strings.HasPrefix(c.server.listen.Addr().String(), "127.0.0.1:") {
		t.Errorf("listens on %s", c.server.listen.Addr())
	}
	r, err := http.Get(c.server.URL())
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	if p := r.Header.Get("Content-Security-Policy"); !strings.HasPrefix(p, "default-src 'none'") {
		t.Errorf("policy %q", p)
	}
}

func TestNoFile(t *testing.T) {
	if _, err := Start(context.Background(), Config{File: filepath.Join(t.TempDir(), "none.yaml"), Quick: echo, Full: echo}, 0); err == nil {
		t.Error("a file that is not there is served")
	}
}
