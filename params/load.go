package params

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"

	"tuckfinger/params/tables"
)

// ReadTable returns the contents of a table file by its path as written in the
// finger file, with forward slashes, relative to the finger file.
type ReadTable func(rel string) ([]byte, error)

// Load reads a finger file and the table files that it names. The error is an
// Errors with everything that is wrong, or the reason why the file cannot be
// read. Places are printed with the path as given.
func Load(file string) (*Design, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		in := filepath.Join(file, "finger.yaml")
		if _, e := os.Stat(in); e == nil {
			return nil, fmt.Errorf("%s: is a folder; give the finger file in it, %s", file, in)
		}
		return nil, Unreadable(file, err)
	}
	dir := filepath.Dir(file)
	return Parse(file, data, func(rel string) ([]byte, error) {
		return os.ReadFile(filepath.Join(dir, filepath.FromSlash(rel)))
	})
}

// Unreadable says in plain words that a file, as the user named it, cannot be
// read.
func Unreadable(file string, err error) error {
	return fmt.Errorf("%s: cannot be read: %w", file, cause(err))
}

// cause drops the path from an error that already has one.
func cause(err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return fs.ErrNotExist // the same words on every system
	}
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	return err
}

// Parse reads a finger file from memory. name stands in messages; read gives
// the table files and may be nil if there are none. The error is an Errors with
// everything that is wrong, sorted by place.
func Parse(name string, data []byte, read ReadTable) (*Design, error) {
	out := newSink()
	design := &Design{File: name, Text: data, Origin: &Origin{Pos: map[string]Pos{}, Uses: map[string][]string{}}}
	if src := readSource(name, data, out); src != nil {
		d := &decoder{src: src, out: out, origin: design.Origin, names: map[string][]string{}}
		d.readDesign(design, read)
		design.kept = &kept{src: src, names: d.names, used: design.bodiesUse()}
	}
	return finish(design, out)
}

// finish returns the design, or what is wrong with it.
func finish(design *Design, out *sink) (*Design, error) {
	if len(out.errs) > 0 {
		out.errs.Sort()
		return nil, slices.Compact(out.errs)
	}
	out.warnings.Sort()
	design.Warnings = out.warnings
	return design, nil
}

// referable are the sections whose names refs may give.
var referable = []string{"bodies", "joints", "clips", "pads", "ramps", "holds", "layers", "order"}

func (d *decoder) readDesign(design *Design, read ReadTable) {
	root := d.src.root
	d.origin.Pos[""] = Pos{d.src.file, 1, 1}
	if root.Kind != yaml.MappingNode {
		d.out.errorf(d.src.at(root), "", `a finger file is "key: value" lines, starting with "tuckfinger: 1", not %s`, kindWord(root))
		return
	}
	if d.otherForm("tuckfinger", "tuckfinger_sweep", "this is a sweep file; it goes to tuckfinger sweep, and the finger file that it names goes here") {
		return
	}
	for _, section := range tables.Sections() {
		if d.otherForm("tuckfinger", section, "this is a table file; name it in a finger file, under tables") {
			return
		}
	}
	d.findNames(root)
	design.Lib = d.readTables(child(root, "tables"), read)
	if d.usable(root, "") {
		d.readGroups(design)
	}
}

// otherForm reports a file of another form: one without the key that every file
// of this form has, and with one that only the other form has.
func (d *decoder) otherForm(own, other, problem string) bool {
	root := d.src.root
	if child(root, own) != nil || child(root, other) == nil {
		return false
	}
	d.out.errorf(d.src.at(root), "", "%s", problem)
	return true
}

// readGroups decodes and checks everything but the tables.
func (d *decoder) readGroups(design *Design) {
	root, top := d.src.root, Pos{d.src.file, 1, 1}
	d.dims = newDimensions(d, root)
	d.group(root, top, designSchema, reflect.ValueOf(design).Elem(), "")
	d.layersOf(design)
	check(d, design)
}

// findNames lists the entries of each section. A section that is no mapping, or
// whose key is mistyped, stays unknown, so that its entries are not missed.
func (d *decoder) findNames(root *yaml.Node) {
	mistyped := map[string]bool{}
	for i := 0; i+1 < len(root.Content); i += 2 {
		if key := root.Content[i].Value; designSchema.Key(key) == nil {
			mistyped[tables.Nearest(key, designSchema.KeyNames())] = true
		}
	}
	for _, section := range referable {
		n := child(root, section)
		if n == nil && !mistyped[section] {
			d.names[section] = []string{}
		}
		if n == nil || n.Kind != yaml.MappingNode {
			continue
		}
		names := []string{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			if name := n.Content[i].Value; name != "" && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
		d.names[section] = names
	}
}

// readLayers makes the layers known to the spans that are decoded after them.
func (d *decoder) readLayers(v reflect.Value) { d.layersOf(v.Addr().Interface().(*Design)) }

func (d *decoder) layersOf(design *Design) {
	if d.layers != nil {
		return
	}
	d.layers = map[string]LayerSpan{}
	for i, name := range design.Layers.Names {
		at := "layers." + name
		l := design.Layers.Values[i]
		if d.out.bad[at] {
			continue
		}
		if l.From >= l.To {
			d.out.errorf(d.origin.At(at+".to"), at, "is empty: to (%s mm) must be above from (%s mm)", trimNum(l.To), trimNum(l.From))
			continue
		}
		d.layers[name] = l
	}
}

// readTables lays the file's tables over the built-in ones and makes the names
// of all entries known. Names of a section stay unknown if a table that might
// add to it cannot be read, so that one fault is reported once.
func (d *decoder) readTables(n *yaml.Node, read ReadTable) *tables.Tables {
	stock := tables.Builtin()
	whole := true
	if n != nil && n.Kind == yaml.SequenceNode {
		seen := map[string]bool{}
		for i, c := range n.Content {
			if c.Kind != yaml.ScalarNode || isEmpty(c) {
				whole = false
				continue // reported where the list is decoded
			}
			at := index("tables", i)
			if seen[c.Value] {
				d.out.errorf(d.src.at(c), at, "%q is listed twice; delete one", c.Value)
				continue
			}
			seen[c.Value] = true
			if over := d.readTable(c.Value, d.src.at(c), at, read, stock); over != nil {
				stock = over
			} else {
				whole = false
			}
		}
	}
	if whole {
		for _, s := range tables.Sections() {
			d.names[s], _ = stock.Names(s)
		}
	}
	return stock
}

// readTable reads one table file over the tables so far; nil if it is faulty.
func (d *decoder) readTable(rel string, pos Pos, at string, read ReadTable, base *tables.Tables) *tables.Tables {
	if rel == "" || path.IsAbs(rel) || filepath.IsAbs(rel) || strings.Contains(rel, `\`) {
		d.out.errorf(pos, at, "%q is not a path relative to this file with forward slashes; write for example tables/mine.yaml", rel)
		return nil
	}
	if read == nil {
		d.out.errorf(pos, at, "%q cannot be read here", rel)
		return nil
	}
	data, err := read(rel)
	if err != nil {
		d.out.errorf(pos, at, "table file %q cannot be read: %s; the path is relative to this file", rel, cause(err))
		return nil
	}
	file := filepath.ToSlash(filepath.Join(filepath.Dir(d.src.file), rel))
	before := len(d.out.errs)
	src := readSource(file, data, d.out)
	if src == nil {
		return nil
	}
	t := &decoder{src: src, out: newSink(), origin: &Origin{Pos: map[string]Pos{}, Uses: map[string][]string{}}, names: map[string][]string{}, dotted: true}
	var over tables.Tables
	if src.root.Kind != yaml.MappingNode {
		t.out.errorf(src.at(src.root), "", "a table file holds sections (%s), not %s", wordAll(tables.Sections()), kindWord(src.root))
	} else {
		t.origin.Pos[""] = Pos{file, 1, 1}
		t.group(src.root, Pos{file, 1, 1}, tableSchema, reflect.ValueOf(&over).Elem(), "")
	}
	d.out.errs = append(d.out.errs, t.out.errs...)
	if len(d.out.errs) > before {
		return nil
	}
	merged, err := base.With(over)
	if err != nil {
		for _, line := range flatten(err) {
			path, msg, ok := strings.Cut(line, ": ")
			if !ok || !strings.Contains(path, ".") {
				path, msg = "", line
			}
			d.out.errs = append(d.out.errs, Error{t.origin.At(path), path, msg})
		}
		return nil
	}
	return merged
}

// flatten lists the single errors of joined ones.
func flatten(err error) []string {
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		var out []string
		for _, e := range joined.Unwrap() {
			out = append(out, flatten(e)...)
		}
		return out
	}
	return []string{err.Error()}
}

// At returns the place of a value, or of the nearest group around it that
// stands in a file; so it serves values that were left to their default too.
func (o *Origin) At(path string) Pos {
	for {
		if p, ok := o.Pos[path]; ok || path == "" {
			return p
		}
		path = parentPath(path)
	}
}
