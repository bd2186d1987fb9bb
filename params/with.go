package params

import (
	"fmt"
	"maps"
	"math"
	"slices"
)

// kept is what is needed to read a file again with other dimensions.
type kept struct {
	src   *source
	names map[string][]string
	set   map[string]float64 // by With, so far
}

// With returns the design that the file would give if SetDimension had set
// other values of some dimensions, in their units as in the file, with the same
// errors; only columns in messages are those of the file as it stands. It reads
// neither files nor YAML again and may be called from several goroutines.
func (d *Design) With(values map[string]float64) (*Design, error) {
	if err := d.settable(values, false); err != nil {
		return nil, err
	}
	all := values
	if len(d.kept.set) > 0 {
		all = maps.Clone(d.kept.set)
		maps.Copy(all, values)
	}
	return d.again(all, nil)
}

// Copy returns a printed copy of the design: each dimension named, computed ones
// too, deviates by so much in its unit, and what is computed from it follows. A
// copy may lie outside the ranges of dimensions, which say what is sensible to
// draw, but not outside what the file form allows.
func (d *Design) Copy(deviations map[string]float64) (*Design, error) {
	if err := d.settable(deviations, true); err != nil {
		return nil, err
	}
	return d.again(d.kept.set, deviations)
}

// settable says which values cannot be set.
func (d *Design) settable(values map[string]float64, computed bool) error {
	if d.kept == nil {
		return fmt.Errorf("a design that was not read from a file has no dimensions to change")
	}
	for _, name := range slices.Sorted(maps.Keys(values)) {
		at := "dimensions." + name + ".value"
		switch v := values[name]; {
		case math.IsNaN(v) || math.IsInf(v, 0):
			return fmt.Errorf("dimensions.%s: %v is not a finite number", name, v)
		case math.Abs(v) > largest:
			return Errors{d.ErrorAt(at, fmt.Sprintf("is %s%s; no number in a finger file may be larger than %s",
				exactNum(v), unitSuffix(d.dimensionUnit(name)), exactNum(largest)))}
		case d.Dimensions.Get(name) == nil:
			return fmt.Errorf("%s", noDimension(child(d.kept.src.root, "dimensions"), name))
		case !computed && len(d.Origin.Uses[at]) > 0:
			return fmt.Errorf("dimensions.%s.value: is computed from %s; set the dimensions in it, or write a number there first", name, wordList(d.Origin.Uses[at], "and"))
		}
	}
	return nil
}

func (d *Design) dimensionUnit(name string) string {
	if v := d.Dimensions.Get(name); v != nil {
		return v.Unit
	}
	return ""
}

// again reads the kept nodes.
func (d *Design) again(set, add map[string]float64) (*Design, error) {
	out := newSink()
	src := d.kept.src
	origin := &Origin{Pos: make(map[string]Pos, len(d.Origin.Pos)), Uses: make(map[string][]string, len(d.Origin.Uses))}
	design := &Design{File: d.File, Text: d.Text, Origin: origin, Lib: d.Lib, kept: &kept{src: src, names: d.kept.names, set: set}}
	dec := &decoder{src: src, out: out, origin: origin, names: d.kept.names, set: set, add: add, copied: add != nil}
	origin.Pos[""] = Pos{src.file, 1, 1}
	dec.readGroups(design)
	return finish(design, out)
}
