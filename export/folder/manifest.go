package folder

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// ManifestName is the file that marks a folder as a finished output.
const ManifestName = "tuckfinger-manifest.json"

// marker marks a folder as unfinished work of this package.
const marker = prefix + "unfinished"

// manifestForm is the only version of the manifest.
const manifestForm = 1

// Manifest lists the files of an output.
type Manifest struct {
	Form  int     `json:"tuckfinger_output"` // version of this form, 1
	Files []Entry `json:"files"`             // by name
}

// Entry is one file.
type Entry struct {
	Name   string `json:"name"` // relative, with forward slashes
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"` // of the content, in hexadecimal (FIPS 180-4)
}

func (m Manifest) write(w io.Writer) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	return enc.Encode(m)
}

// Read returns the manifest of an output folder. An error wraps
// fs.ErrNotExist when the folder or its manifest does not exist.
func Read(dir string) (Manifest, error) {
	var m Manifest
	data, err := os.ReadFile(filepath.Join(dir, ManifestName))
	if err != nil {
		return m, err
	}
	if err := json.Unmarshal(data, &m); err != nil {
		return m, fmt.Errorf("%s: %w", filepath.Join(dir, ManifestName), err)
	}
	if m.Form != manifestForm {
		return m, fmt.Errorf("%s: form %d is not known to this version, only %d",
			filepath.Join(dir, ManifestName), m.Form, manifestForm)
	}
	return m, nil
}

// Difference is how a folder departs from its manifest; each list is sorted.
type Difference struct {
	Added, Changed, Missing []string
}

func (d Difference) none() bool { return len(d.Added)+len(d.Changed)+len(d.Missing) == 0 }

// Compare reads every file of an output folder and says what was added,
// changed or removed since it was written. Files that file browsers leave
// (.DS_Store, Thumbs.db, desktop.ini) don't count.
func Compare(dir string) (Difference, error) {
	m, err := Read(dir)
	if err != nil {
		return Difference{}, err
	}
	want := map[string]Entry{}
	for _, e := range m.Files {
		want[e.Name] = e
	}
	var d Difference
	err = filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		rel, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		name := filepath.ToSlash(rel)
		w, ok := want[name]
		switch {
		case ok:
			delete(want, name)
			same, err := equal(path, e, w)
			if err != nil {
				return err
			}
			if !same {
				d.Changed = append(d.Changed, name)
			}
		case name == ManifestName, name == marker:
		case slices.Contains([]string{".DS_Store", "Thumbs.db", "desktop.ini"}, e.Name()):
		default:
			d.Added = append(d.Added, name)
		}
		return nil
	})
	for name := range want {
		d.Missing = append(d.Missing, name)
	}
	slices.Sort(d.Added)
	slices.Sort(d.Changed)
	slices.Sort(d.Missing)
	return d, err
}

func equal(path string, e fs.DirEntry, want Entry) (bool, error) {
	if !e.Type().IsRegular() {
		return false, nil
	}
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer f.Close()
	h := sha256.New()
	n, err := io.Copy(h, f)
	return n == want.Bytes && hex.EncodeToString(h.Sum(nil)) == want.SHA256, err
}

// TakenError says why a folder can't be replaced.
type TakenError struct {
	Path string
	Why  string // "is not an output of this program"
	Fix  string
	Difference
}

func (e *TakenError) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "output folder %s %s", e.Path, e.Why)
	for _, l := range []struct {
		what  string
		names []string
	}{{"added", e.Added}, {"changed", e.Changed}} {
		if len(l.names) > 0 {
			const most = 5
			fmt.Fprintf(&b, "; %s: %s", l.what, strings.Join(l.names[:min(most, len(l.names))], ", "))
			if n := len(l.names) - most; n > 0 {
				fmt.Fprintf(&b, " and %d more", n)
			}
		}
	}
	return b.String() + "; " + e.Fix
}

// replaceable returns nil when path is free, an empty folder, or an earlier
// output that holds nothing else.
func replaceable(path string) error {
	fi, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("output folder %s: %w", path, err)
	}
	if !fi.IsDir() {
		return &TakenError{Path: path, Why: "is a file", Fix: "choose another name"}
	}
	list, err := os.ReadDir(path)
	if err != nil {
		return fmt.Errorf("output folder %s: %w", path, err)
	}
	if len(list) == 0 {
		return nil
	}
	d, err := Compare(path)
	if errors.Is(err, fs.ErrNotExist) {
		return &TakenError{Path: path, Why: "holds files but no " + ManifestName + ", so it was not made by this program",
			Fix: "choose another folder, or move it away first"}
	}
	if err != nil {
		return fmt.Errorf("output folder %s: can't tell whether it may be replaced: %w", path, err)
	}
	if len(d.Added)+len(d.Changed) > 0 {
		return &TakenError{Path: path, Why: "holds work that a new build would delete",
			Fix: "move these files out, or choose another folder", Difference: d}
	}
	return nil
}
