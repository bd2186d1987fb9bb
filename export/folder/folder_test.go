package folder

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func text(name, content string) File {
	return File{name, func(w io.Writer) error {
		_, err := io.WriteString(w, content)
		return err
	}}
}

// tree returns every file under dir with its content.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	m := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		rel, _ := filepath.Rel(dir, path)
		m[filepath.ToSlash(rel)] = string(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// noLitter fails when anything hidden is left beside the output.
func noLitter(t *testing.T, parent string) {
	t.Helper()
	list, err := os.ReadDir(parent)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		if strings.HasPrefix(e.Name(), prefix) {
			t.Errorf("left behind: %s", e.Name())
		}
	}
}

func TestWriteAndReplace(t *testing.T) {
	for _, mode := range []string{"exchange", "two renames"} {
		t.Run(mode, func(t *testing.T) {
			parent := t.TempDir()
			dst := filepath.Join(parent, "deep", "out")
			sys := osSystem()
			if mode == "two renames" {
				sys.exchange = func(a, b string) error { return errNoExchange }
			}
			for round := range 3 {
				out, err := create(dst, sys)
				if err != nil {
					t.Fatal(err)
				}
				want := map[string]string{}
				for i := range 3 - round {
					name := fmt.Sprintf("stl/part-%d.stl", i)
					want[name] = fmt.Sprintf("round %d part %d", round, i)
					if err := out.Add(name, text(name, want[name]).Write); err != nil {
						t.Fatal(err)
					}
				}
				if err := out.Commit(); err != nil {
					t.Fatal(err)
				}
				if err := out.Abort(); err != nil {
					t.Errorf("Abort after Commit: %v", err)
				}
				got := tree(t, dst)
				delete(got, ManifestName)
				if d := cmp.Diff(want, got); d != "" {
					t.Errorf("round %d (-want +got):\n%s", round, d)
				}
				if d, err := Compare(dst); err != nil || !d.none() {
					t.Errorf("Compare: %+v, %v", d, err)
				}
			}
			noLitter(t, filepath.Dir(dst))
		})
	}
}

// The SHA-256 of "abc" is the example of FIPS 180-4 (from memory).
func TestManifest(t *testing.T) {
	dst := filepath.Join(t.TempDir(), "out")
	if err := Write(dst, []File{text("b.txt", "abc"), text("a.txt", "")}, 0); err != nil {
		t.Fatal(err)
	}
	m, err := Read(dst)
	if err != nil {
		t.Fatal(err)
	}
	want := Manifest{1, []Entry{
		{"a.txt", 0, fmt.Sprintf("%x", sha256.Sum256(nil))},
		{"b.txt", 3, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
	}}
	if d := cmp.Diff(want, m); d != "" {
		t.Error(d)
	}
}

func TestSameBytesAnyWorkers(t *testing.T) {
	var files []File
	for i := range 40 {
		files = append(files, text(fmt.Sprintf("d%d/f%d", i%3, i), strings.Repeat(fmt.Sprint(i), 1000)))
	}
	parent := t.TempDir()
	var first map[string]string
	for _, workers := range []int{1, 2, 16} {
		dst := filepath.Join(parent, fmt.Sprint("out", workers))
		if err := Write(dst, files, workers); err != nil {
			t.Fatal(err)
		}
		got := tree(t, dst)
		if first == nil {
			first = got
		}
		if d := cmp.Diff(first, got); d != "" {
			t.Errorf("%d workers: %s", workers, d)
		}
	}
}

func TestNotOurs(t *testing.T) {
	ours := func(t *testing.T, dst string) {
		if err := Write(dst, []File{text("a.txt", "a"), text("d/b.txt", "b")}, 0); err != nil {
			t.Fatal(err)
		}
	}
	put := func(t *testing.T, path, content string) {
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(content), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	cases := []struct {
		name string
		make func(t *testing.T, dst string)
		want string // "" means that it may be replaced
	}{
		{"free", func(*testing.T, string) {}, ""},
		{"empty folder", func(t *testing.T, d string) { os.Mkdir(d, 0o777) }, ""},
		{"ours", ours, ""},
		{"ours, a file gone", func(t *testing.T, d string) { ours(t, d); os.Remove(filepath.Join(d, "a.txt")) }, ""},
		{"ours, seen by a file browser", func(t *testing.T, d string) { ours(t, d); put(t, d+"/d/.DS_Store", "x") }, ""},
		{"a file", func(t *testing.T, d string) { put(t, d, "x") }, "is a file; choose another name"},
		{"a stranger's", func(t *testing.T, d string) { put(t, d+"/thesis.txt", "x") },
			"holds files but no tuckfinger-manifest.json, so it was not made by this program; choose another folder, or move it away first"},
		{"ours, notes added", func(t *testing.T, d string) { ours(t, d); put(t, d+"/d/notes.txt", "x") },
			"holds work that a new build would delete; added: d/notes.txt; move these files out, or choose another folder"},
		{"ours, a file changed", func(t *testing.T, d string) { ours(t, d); put(t, d+"/a.txt", "A") },
			"holds work that a new build would delete; changed: a.txt; move these files out, or choose another folder"},
		{"ours, many added", func(t *testing.T, d string) {
			ours(t, d)
			for i := range 7 {
				put(t, fmt.Sprintf("%s/n%d", d, i), "x")
			}
		}, "added: n0, n1, n2, n3, n4 and 2 more; move"},
		{"broken manifest", func(t *testing.T, d string) { put(t, d+"/"+ManifestName, "{") }, "can't tell whether it may be replaced"},
		{"later manifest", func(t *testing.T, d string) { put(t, d+"/"+ManifestName, `{"tuckfinger_output": 9}`) }, "form 9 is not known"},
		{"a manifest that is ours no more", func(t *testing.T, d string) { put(t, d+"/"+ManifestName, `{}`) }, "form 0 is not known"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			parent := t.TempDir()
			dst := filepath.Join(parent, "out")
			c.make(t, dst)
			before := map[string]string{}
			if _, err := os.Stat(dst); err == nil {
				before = tree(t, parent)
			}
			err := Write(dst, []File{text("new.txt", "n")}, 0)
			noLitter(t, parent)
			if c.want == "" {
				if err != nil {
					t.Fatal(err)
				}
				if got := tree(t, dst); got["new.txt"] != "n" || len(got) != 2 {
					t.Errorf("holds %v", got)
				}
				return
			}
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("error %v, want %q", err, c.want)
			}
			if d := cmp.Diff(before, tree(t, parent)); d != "" {
				t.Errorf("changed:\n%s", d)
			}
		})
	}
}

// Work that appears between Create and Commit is safe too.
func TestTouchedMeanwhile(t *testing.T) {
	dst := filepath.Join(t.TempDir(), "out")
	if err := Write(dst, []File{text("a", "1")}, 0); err != nil {
		t.Fatal(err)
	}
	out, err := Create(dst)
	if err != nil {
		t.Fatal(err)
	}
	if err := out.Add("a", text("a", "2").Write); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dst, "notes"), nil, 0o666); err != nil {
		t.Fatal(err)
	}
	var taken *TakenError
	if err := out.Commit(); !errors.As(err, &taken) || !cmp.Equal(taken.Added, []string{"notes"}) {
		t.Errorf("error %v", err)
	}
	if got := tree(t, dst); got["a"] != "1" {
		t.Errorf("holds %v", got)
	}
	noLitter(t, filepath.Dir(dst))
}

func TestNames(t *testing.T) {
	for _, name := range []string{"", ".", "/etc/x", "../x", "a/../b", "a//b", "a/", `a\b`, "a:b", "a\x00b", "nul.txt", "d/COM1",
		"end.", "end ", ManifestName, strings.ToUpper(ManifestName), ManifestName + "/x", prefix + "unfinished", strings.Repeat("x", 256)} {
		var m Memory
		if err := m.Add(name, text("", "x").Write); err == nil {
			t.Errorf("%q was taken", name)
		}
	}
	for _, pair := range [][2]string{{"a", "a"}, {"a", "A"}, {"a", "a/b"}, {"a/b", "a"}, {"d/a", "D/b"}, {"d/a", "d/A"}} {
		var m Memory
		if err := m.Add(pair[0], text("", "x").Write); err != nil {
			t.Error(err)
		}
		if err := m.Add(pair[1], text("", "x").Write); err == nil {
			t.Errorf("%q after %q was taken", pair[1], pair[0])
		}
	}
	var m Memory
	for _, name := range []string{"a", "d/a", "d/b", "d/e/f", "com0", "com10", "ü/é.txt"} {
		if err := m.Add(name, text("", name).Write); err != nil {
			t.Error(err)
		}
	}
	dst := filepath.Join(t.TempDir(), "out")
	out, err := Create(dst)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(m.CopyTo(out), out.Commit()); err != nil {
		t.Fatal(err)
	}
	got := tree(t, dst)
	for _, name := range m.Names() {
		if b, err := m.Content(name); err != nil || !bytes.Equal(b, []byte(got[name])) {
			t.Errorf("%s: %q, %q, %v", name, b, got[name], err)
		}
	}
	if _, err := m.Content("none"); !errors.Is(err, fs.ErrNotExist) {
		t.Error(err)
	}
}

func TestPlaces(t *testing.T) {
	parent := t.TempDir()
	t.Chdir(parent)
	for dst, want := range map[string]string{
		"":           "no name given",
		"/":          "root of a disk",
		".":          "current folder",
		"..":         "current folder",
		prefix + "x": "unfinished work",
	} {
		if _, err := Create(dst); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", dst, err, want)
		}
	}
	if err := os.Symlink("nowhere", "dangling"); err != nil {
		t.Skip(err)
	}
	if _, err := Create("dangling"); !errors.Is(err, fs.ErrNotExist) {
		t.Error(err)
	}
	// A link to an output stays a link.
	if err := Write("real", []File{text("a", "1")}, 0); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("real", "link"); err != nil {
		t.Fatal(err)
	}
	if err := Write("link", []File{text("a", "2")}, 0); err != nil {
		t.Fatal(err)
	}
	if fi, err := os.Lstat("link"); err != nil || fi.Mode()&fs.ModeSymlink == 0 {
		t.Errorf("%v, %v", fi, err)
	}
	if got := tree(t, "real"); got["a"] != "2" {
		t.Errorf("holds %v", got)
	}
	noLitter(t, ".")
}

func TestOneAtATime(t *testing.T) {
	dst := filepath.Join(t.TempDir(), "out")
	out, err := Create(dst)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Create(dst); !errors.Is(err, ErrBusy) {
		t.Errorf("second Create: %v", err)
	}
	if err := out.Abort(); err != nil {
		t.Fatal(err)
	}
	noLitter(t, filepath.Dir(dst))
	// Many at once: each either wins and writes all, or is told to wait.
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for i := range 20 {
				c := fmt.Sprint(i)
				err := Write(dst, []File{text("a", c), text("b", c)}, 2)
				if err != nil && !errors.Is(err, ErrBusy) {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	if got := tree(t, dst); got["a"] != got["b"] || len(got) != 3 {
		t.Errorf("mixed: %v", got)
	}
	noLitter(t, filepath.Dir(dst))
}

func TestFinishedTwice(t *testing.T) {
	out, err := Create(filepath.Join(t.TempDir(), "out"))
	if err != nil {
		t.Fatal(err)
	}
	if err := out.Commit(); err != nil {
		t.Fatal(err)
	}
	if err := out.Commit(); err == nil {
		t.Error("second Commit went through")
	}
	if err := out.Add("a", text("a", "").Write); err == nil {
		t.Error("Add after Commit went through")
	}
	if got := tree(t, out.Path()); len(got) != 1 {
		t.Errorf("holds %v", got)
	}
}

// Folders with our kind of name that are not ours stay; dead builds go.
func TestClearing(t *testing.T) {
	parent := t.TempDir()
	dst := filepath.Join(parent, "out")
	put := func(name string) {
		path := filepath.Join(parent, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, nil, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	put(".tuckfinger-out.new-1/" + marker)
	put(".tuckfinger-out.new-1/d/x")
	put(".tuckfinger-out.new-2/" + ManifestName)
	if err := os.Mkdir(filepath.Join(parent, ".tuckfinger-out.new-3"), 0o777); err != nil {
		t.Fatal(err)
	}
	keep := []string{".tuckfinger-out.new-4/diary", ".tuckfinger-out.new-x/" + marker, ".tuckfinger-other.new-1/" + marker, ".tuckfinger-out.new-5"}
	for _, k := range keep {
		put(k)
	}
	if err := Write(dst, nil, 0); err != nil {
		t.Fatal(err)
	}
	list, err := os.ReadDir(parent)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range list {
		got = append(got, e.Name())
	}
	want := []string{".tuckfinger-other.new-1", ".tuckfinger-out.new-4", ".tuckfinger-out.new-5", ".tuckfinger-out.new-x", "out"}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}
