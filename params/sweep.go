package params

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"os"
	"path"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"
)

// Sweep is a sweep file: which variants of a finger are to be tried. Exactly
// one plan is set.
type Sweep struct {
	Version int               `tf:"tuckfinger_sweep,req" min:"1" max:"1" doc:"Version of this file form; 1 is the only one."`
	Note    string            `tf:"note" eg:"Rail and ramp against the margins." doc:"What is to be found out."`
	Finger  string            `tf:"finger,req" eg:"finger.yaml" doc:"The finger file, relative to this file, with forward slashes."`
	Checks  string            `tf:"checks" enum:"all|stroke" def:"all" doc:"all: every check that a build runs; stroke: only what follows from the stroke (order, strain, forces), many times faster."`
	Grid    *Named[Axis]      `tf:"grid" oneof:"plan" names:"dimensions" eg:"{rail: {from: 1.2, to: 2, count: 5}}" doc:"Every combination of the values of some dimensions; the last one runs fastest."`
	List    *Named[[]float64] `tf:"list" oneof:"plan" names:"dimensions" unit:"own" eg:"{rail: [1.2, 1.6], arm: [1.2, 1.4]}" doc:"The values of each dimension, variant by variant; all lists have the same length."`
	Latin   *Samples          `tf:"latin" oneof:"plan" doc:"A Latin hypercube: random, but each dimension is covered evenly."`
	Sobol   *Samples          `tf:"sobol" oneof:"plan" doc:"A Sobol sequence: covers all dimensions together evenly; best with a power of two."`

	// Design is the finger as its file has it.
	Design *Design `tf:"-"`
	// ID is a hash (SHA-256) of the sweep file, the finger file and its tables.
	ID string `tf:"-"`
}

// Axis is the values of a dimension: listed, or equally spaced.
type Axis struct {
	Values []float64 `tf:"values" unit:"own" eg:"[1.2, 1.6, 2]" doc:"The values."`
	From   *float64  `tf:"from" unit:"own" eg:"1.2" doc:"First of equally spaced values."`
	To     *float64  `tf:"to" unit:"own" eg:"2" doc:"Last of them."`
	Count  *int      `tf:"count" min:"1" max:"1000000" eg:"5" doc:"How many."`
}

// Samples is a plan that fills a space.
type Samples struct {
	Count int         `tf:"count,req" min:"1" max:"1000000000" eg:"1024" doc:"How many variants."`
	Seed  *int        `tf:"seed" min:"0" eg:"7" doc:"Picks one of many such plans; default: 1 for latin, the plain sequence for sobol."`
	Over  Named[Free] `tf:"over,req" names:"dimensions" eg:"{rail: {low: 1.2, high: 2}}" doc:"The dimensions and their bounds."`
}

var sweepSchema = schemaOf(reflect.TypeFor[Sweep]())

// SweepSchema returns the form of a sweep file.
func SweepSchema() *Key { return sweepSchema }

// SweepJSONSchema returns the form of a sweep file as a JSON Schema.
func SweepJSONSchema() []byte { return jsonSchema(sweepSchema, "tuckfinger sweep file") }

// LoadSweep reads a sweep file and the finger file that it names. The error is
// an Errors with everything that is wrong in the one or the other, or the
// reason why a file cannot be read.
func LoadSweep(file string) (*Sweep, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, Unreadable(file, err)
	}
	dir := filepath.Dir(file)
	return ParseSweep(file, data, func(rel string) ([]byte, error) {
		return os.ReadFile(filepath.Join(dir, filepath.FromSlash(rel)))
	})
}

// ParseSweep reads a sweep file from memory; read gives the finger file and its
// tables by their path relative to the sweep file, with forward slashes.
func ParseSweep(name string, data []byte, read ReadTable) (*Sweep, error) {
	out := newSink()
	if len(bytes.TrimSpace(data)) == 0 {
		out.errorf(Pos{name, 1, 1}, "", "the file is empty; it needs %s and a plan", wordList(requiredNames(sweepSchema), "and"))
		return nil, out.errs
	}
	s := &Sweep{}
	hash := sha256.New()
	add := func(data []byte) {
		sum := sha256.Sum256(data)
		hash.Write(sum[:])
	}
	add(data)
	if src := readSource(name, data, out); src != nil {
		d := &decoder{src: src, out: out, origin: &Origin{Pos: map[string]Pos{}, Uses: map[string][]string{}}, names: map[string][]string{}}
		if err := d.readSweep(s, func(rel string) ([]byte, error) {
			data, err := read(rel)
			if err == nil {
				add(data)
			}
			return data, err
		}); err != nil {
			return nil, err
		}
	}
	if len(out.errs) > 0 {
		out.errs.Sort()
		return nil, slices.Compact(out.errs)
	}
	s.ID = hex.EncodeToString(hash.Sum(nil))
	return s, nil
}

func (d *decoder) readSweep(s *Sweep, read ReadTable) error {
	root, top := d.src.root, Pos{d.src.file, 1, 1}
	d.origin.Pos[""] = top
	if root.Kind != yaml.MappingNode {
		d.out.errorf(d.src.at(root), "", `a sweep file is "key: value" lines, starting with "tuckfinger_sweep: 1", not %s`, kindWord(root))
		return nil
	}
	if d.otherForm("tuckfinger_sweep", "tuckfinger", "this is a finger file; a sweep file names it under finger, and the variants of it to try") {
		return nil
	}
	// The finger comes first: its dimensions have the units.
	if n := child(root, "finger"); n != nil && n.Kind == yaml.ScalarNode && !isEmpty(n) {
		var err error
		if s.Design, err = d.readFinger(n, read); err != nil {
			return err
		}
	}
	d.sweep = s.Design
	d.group(root, top, sweepSchema, reflect.ValueOf(s).Elem(), "")
	if s.Design != nil {
		c := &sweepChecker{checker{d, s.Design}, s}
		c.check()
	}
	return nil
}

// readFinger reads the finger file. Its errors are those of that file.
func (d *decoder) readFinger(n *yaml.Node, read ReadTable) (*Design, error) {
	rel := n.Value
	if path.IsAbs(rel) || filepath.IsAbs(rel) || strings.Contains(rel, `\`) {
		d.out.errorf(d.src.at(n), "finger", "%q is not a path relative to this file with forward slashes; write for example finger.yaml", rel)
		return nil, nil
	}
	data, err := read(rel)
	if err != nil {
		d.out.errorf(d.src.at(n), "finger", "finger file %q cannot be read: %s; the path is relative to this file", rel, cause(err))
		return nil, nil
	}
	file := filepath.ToSlash(filepath.Join(filepath.Dir(d.src.file), rel))
	return Parse(file, data, func(table string) ([]byte, error) { return read(path.Join(path.Dir(rel), table)) })
}

// sweepChecker looks at a plan with the finger at hand.
type sweepChecker struct {
	checker
	s *Sweep
}

func (c *sweepChecker) check() {
	s := c.s
	switch {
	case s.Grid != nil:
		for i, name := range s.Grid.Names {
			c.axis(&s.Grid.Values[i], "grid."+name)
		}
		c.some(s.Grid.Names, "grid")
	case s.List != nil:
		for i, name := range s.List.Names {
			at := "list." + name
			switch v := s.List.Values[i]; {
			case len(v) == 0:
				c.errorf(at, "is empty; give one value or more")
			case len(v) != len(s.List.Values[0]) && len(s.List.Values[0]) > 0:
				c.errorf(at, "has %d values, but %q has %d; give each variant one", len(v), s.List.Names[0], len(s.List.Values[0]))
			}
		}
		c.some(s.List.Names, "list")
	case s.Latin != nil:
		c.samples(s.Latin, "latin.over")
	case s.Sobol != nil:
		c.samples(s.Sobol, "sobol.over")
	}
}

func (c *sweepChecker) samples(s *Samples, at string) {
	for i, name := range s.Over.Names {
		c.free(name, &s.Over.Values[i], at+"."+name)
	}
	c.some(s.Over.Names, at)
}

// some checks that there is something to vary, and that it may be.
func (c *sweepChecker) some(names []string, at string) {
	if len(names) == 0 && c.ok(at) {
		c.errorf(at, "is empty; name one or more dimensions")
	}
	if strings.HasSuffix(at, "over") {
		return // free has looked at them
	}
	for _, name := range names {
		if used := c.design.Origin.Uses["dimensions."+name+".value"]; len(used) > 0 && c.ok(at+"."+name) {
			c.errorf(at+"."+name, "dimension %q is computed from %s; vary those, or give it a number", name, wordList(used, "and"))
		}
	}
}

func (c *sweepChecker) axis(a *Axis, at string) {
	if !c.ok(at) {
		return
	}
	spaced := a.From != nil || a.To != nil || a.Count != nil
	switch {
	case a.Values != nil && spaced:
		c.errorf(at, "has values and equally spaced ones; delete one of them")
	case spaced && (a.From == nil || a.To == nil || a.Count == nil):
		c.errorf(at, "equally spaced values need from, to and count")
	case !spaced && len(a.Values) == 0:
		c.errorf(at, "needs values, or from, to and count")
	}
}
