package params

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

// kept is what is needed to read a file again with other dimensions.
type kept struct {
	src   *source
	names map[string][]string
	set   map[string]float64 // by With, so far
	// used are the dimensions that bodies depend on, by body, through layers too.
	used map[string][]string
}

// bodiesUse lists the dimensions that each body depends on.
func (d *Design) bodiesUse() map[string][]string {
	out := map[string][]string{}
	var layers []string
	for path, names := range d.Origin.Uses {
		section, rest, _ := strings.Cut(path, ".")
		switch section {
		case "layers":
			layers = append(layers, names...)
		case "bodies":
			body, _, _ := strings.Cut(rest, ".")
			out[body] = append(out[body], names...)
		}
	}
	for _, body := range d.Bodies.Names {
		all := append(out[body], layers...)
		slices.Sort(all)
		out[body] = slices.Compact(all)
	}
	return out
}

// With returns the design that the file would give if SetDimension had set
// other values of some dimensions, in their units as in the file, with the same
// errors; only columns in messages are those of the file as it stands. It reads
// neither files nor YAML again and may be called from several goroutines. The
// designs share their origin and the bodies in which nothing changes, which must
// not be changed.
func (d *Design) With(values map[string]float64) (*Design, error) {
	if err := d.settable(values, false); err != nil {
		return nil, err
	}
	all := values
	if len(d.kept.set) > 0 {
		all = maps.Clone(d.kept.set)
		maps.Copy(all, values)
	}
	return d.again(all, nil, values)
}

// Copy returns a printed copy of the design: each dimension named, computed ones
// too, deviates by so much in its unit, and what is computed from it follows. A
// copy may lie outside the ranges of dimensions, which say what is sensible to
// draw, but not outside what the file form allows.
func (d *Design) Copy(deviations map[string]float64) (*Design, error) {
	if err := d.settable(deviations, true); err != nil {
		return nil, err
	}
	return d.again(d.kept.set, deviations, deviations)
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

// again reads the kept nodes. Values of changed dimensions differ from d's.
func (d *Design) again(set, add, changed map[string]float64) (*Design, error) {
	out := newSink()
	k := *d.kept
	k.set = set
	design := &Design{File: d.File, Text: d.Text, Origin: d.Origin, Lib: d.Lib, kept: &k}
	dec := &decoder{src: k.src, out: out, origin: d.Origin, names: k.names, set: set, add: add, copied: add != nil, from: d, same: map[string]bool{}}
	for body, used := range k.used {
		dec.same[body] = !slices.ContainsFunc(used, func(name string) bool { _, is := changed[name]; return is })
	}
	dec.readGroups(design)
	return finish(design, out)
}
