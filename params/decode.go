package params

import (
	"reflect"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"
)

// decoder turns the nodes of one file into structs, by their schema.
type decoder struct {
	src    *source
	out    *sink
	origin *Origin
	dims   *dimensions         // nil in a table file
	names  map[string][]string // section or table -> names that a ref may have; absent if not known
	layers map[string]LayerSpan
	own    string // unit of the dimension being decoded
	// dotted allows a point in names of entries ("M2.5").
	dotted bool
	// set and add change dimensions, see Design.With; copied is for a printed
	// copy, whose dimensions may lie outside of their ranges.
	set, add map[string]float64
	copied   bool
	// from is the design that is read again with other dimensions. It has the
	// origin already, and the bodies in which no changed dimension is used.
	from  *Design
	same  map[string]bool
	sweep *Design // the finger of a sweep file
}

// usable reports whether a node is plain YAML, and says what is wrong if not.
func (d *decoder) usable(n *yaml.Node, path string) bool {
	pos := d.src.at(n)
	switch {
	case n.Kind == yaml.AliasNode:
		d.out.errorf(pos, path, `"*%s" is a YAML alias, and this file form has none, so that each value stands where it is used; name a shared number under dimensions and write %s`, n.Value, n.Value)
	case n.Anchor != "":
		d.out.errorf(pos, path, `"&%s" is a YAML anchor, and this file form has none, so that each value stands where it is used; delete it`, n.Anchor)
	case n.Style&yaml.TaggedStyle != 0:
		d.out.errorf(pos, path, "%q is a YAML tag, and this file form has none; delete it", n.Tag)
	default:
		return true
	}
	return false
}

// keyName returns the text of a key node.
func (d *decoder) keyName(n *yaml.Node, path string) (string, bool) {
	if !d.usable(n, path) {
		d.out.poison(path)
		return "", false
	}
	switch {
	case n.Kind != yaml.ScalarNode:
		d.out.errorf(d.src.at(n), path, "a key must be a single word, not %s", kindWord(n))
	case n.Style == 0 && n.Value == "<<":
		d.out.errorf(d.src.at(n), path, `"<<" merges YAML mappings, and this file form has no merging; write the keys where they are used`)
	default:
		return n.Value, true
	}
	return "", false
}

func kindWord(n *yaml.Node) string {
	switch n.Kind {
	case yaml.MappingNode:
		return "a group of keys"
	case yaml.SequenceNode:
		return "a list"
	}
	switch {
	case isEmpty(n):
		return "nothing"
	case n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 || len(n.Value) > 40:
		return "text"
	}
	return "\"" + n.Value + "\""
}

// isEmpty reports whether a node is YAML's null, in any spelling.
func isEmpty(n *yaml.Node) bool {
	if n.Kind != yaml.ScalarNode || n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle|yaml.LiteralStyle|yaml.FoldedStyle) != 0 {
		return false
	}
	switch n.Value {
	case "", "~", "null", "Null", "NULL":
		return true
	}
	return false
}

// value decodes n into v. pos is where messages about a group as a whole point:
// its key. It reports whether the value is good.
func (d *decoder) value(n *yaml.Node, pos Pos, k *Key, v reflect.Value, path string) bool {
	if n.Kind != yaml.MappingNode {
		pos = d.src.at(n)
	}
	d.stands(path, pos)
	if !d.usable(n, path) {
		return false
	}
	if isEmpty(n) {
		what, or := "has no value", ", or delete the line"
		if n.Value != "" {
			what = "\"" + n.Value + "\" means no value"
		}
		if k.Required || strings.HasSuffix(path, "]") {
			or = ""
		}
		d.out.errorf(pos, path, "%s; write %s%s", what, k.want(), or)
		return false
	}
	if k.pointer {
		p := reflect.New(v.Type().Elem())
		if !d.plain(n, pos, k, p.Elem(), path) {
			return false
		}
		v.Set(p)
		return true
	}
	return d.plain(n, pos, k, v, path)
}

func (d *decoder) plain(n *yaml.Node, pos Pos, k *Key, v reflect.Value, path string) bool {
	switch k.Kind {
	case Number, Whole:
		x, ok := d.number(n, k, path)
		if ok && k.Kind == Whole {
			v.SetInt(int64(x))
		} else if ok {
			v.SetFloat(x)
		}
		return ok
	case Text:
		s, ok := d.text(n, k, path)
		if ok {
			v.SetString(s)
		}
		return ok
	case Switch:
		b, ok := d.truth(n, path)
		v.SetBool(b)
		return ok
	case Point:
		p, ok := d.point(n, k, path)
		v.Set(reflect.ValueOf(p))
		return ok
	case Place2D:
		s, ok := d.spot(n, k, path)
		v.Set(reflect.ValueOf(s))
		return ok
	case ZRange:
		s, ok := d.span(n, k, path)
		v.Set(reflect.ValueOf(s))
		return ok
	case List:
		return d.list(n, k, v, path)
	case Section:
		return d.section(n, k, v, path)
	}
	return d.group(n, pos, k, v, path)
}

// stands records the place of a value.
func (d *decoder) stands(path string, pos Pos) {
	if d.from == nil {
		d.origin.Pos[path] = pos
	}
}

// uses records the dimensions that a value depends on.
func (d *decoder) uses(path string, names []string) {
	if d.from == nil {
		d.origin.Uses[path] = names
	}
}

// wrong reports a node of the wrong kind.
func (d *decoder) wrong(n *yaml.Node, k *Key, path string) bool {
	hint := ""
	if k.Kind == List && n.Kind == yaml.ScalarNode && len(n.Value) <= 40 {
		hint = "; for one item write [" + n.Value + "]"
	}
	d.out.errorf(d.src.at(n), path, "must be %s, not %s%s", k.want(), kindWord(n), hint)
	return false
}

func (d *decoder) list(n *yaml.Node, k *Key, v reflect.Value, path string) bool {
	if n.Kind != yaml.SequenceNode {
		return d.wrong(n, k, path)
	}
	if len(n.Content) == 0 && k.Required {
		d.out.errorf(d.src.at(n), path, "the list is empty; it needs at least one item")
		return false
	}
	ok := true
	s := reflect.MakeSlice(v.Type(), len(n.Content), len(n.Content))
	for i, c := range n.Content {
		ok = d.value(c, d.src.at(c), k.Elem, s.Index(i), index(path, i)) && ok
	}
	v.Set(s)
	d.gatherUses(path, len(n.Content))
	return ok
}

// section decodes freely named entries in the file's order. An entry that is
// faulty is kept with what could be read, so that later checks see the name.
func (d *decoder) section(n *yaml.Node, k *Key, v reflect.Value, path string) bool {
	if n.Kind != yaml.MappingNode {
		return d.wrong(n, k, path)
	}
	ok := true
	seen := map[string]int{}
	names, values := v.Field(0), v.Field(1)
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, val := n.Content[i], n.Content[i+1]
		name, good := d.keyName(key, path)
		if !good {
			ok = false
			continue
		}
		if line, twice := seen[name]; twice {
			d.out.errorf(d.src.at(key), path, "%q is given twice, first on line %d; rename or delete one", name, line)
			ok = false
			continue
		}
		seen[name] = key.Line
		msg := ""
		switch {
		case k.OfDimensions:
			msg = d.noDimension(name)
		case k.Names == nil:
			msg = d.badName(name, path)
		case !slices.Contains(k.Names, name):
			msg = notThere(name, oneOf(k.Name), k.Names, "there are ")
		}
		if msg != "" {
			d.out.errorf(d.src.at(key), path, "%s", msg)
			ok = false
			continue
		}
		e := reflect.New(values.Type().Elem()).Elem()
		sub := join(path, name)
		switch path {
		case "dimensions":
			d.own = d.dims.unit(name)
		case "limits":
			d.own = limitUnit(name)
		}
		if k.OfDimensions {
			d.own = d.dimensionUnit(name)
		}
		if path == "bodies" && d.same[name] {
			e.Set(reflect.ValueOf(*d.from.Bodies.Get(name)))
			for _, dim := range d.from.kept.used[name] {
				d.dims.used[dim] = true
			}
		} else {
			ok = d.value(val, d.src.at(key), k.Elem, e, sub) && ok
		}
		names.Set(reflect.Append(names, reflect.ValueOf(name)))
		values.Set(reflect.Append(values, e))
	}
	return ok
}

// dimensionUnit is the unit of a dimension of this finger file, or of the finger
// that this sweep file names.
func (d *decoder) dimensionUnit(name string) string {
	switch {
	case d.dims != nil:
		return d.dims.unit(name)
	case d.sweep != nil:
		return d.sweep.dimensionUnit(name)
	}
	return unknownUnit
}

// noDimension says that there is no such dimension, or "".
func (d *decoder) noDimension(name string) string {
	switch {
	case d.dims != nil && d.dims.named[name] == nil:
		return notThere(name, "a dimension", d.dims.names(), "there are ")
	case d.sweep != nil && d.sweep.Dimensions.Get(name) == nil:
		return notThere(name, "a dimension of the finger", d.sweep.Dimensions.Names, "there are ")
	}
	return ""
}

// badName says why a name may not be used, or "".
func (d *decoder) badName(name, path string) string {
	extra, also := "_-", "letters, digits, _ and -"
	switch {
	case path == "dimensions":
		extra, also = "_", "letters, digits and _ (a - would be a minus sign)"
	case d.dotted:
		extra, also = "_-.", "letters, digits, _, - and ."
	}
	for i, c := range name {
		letter := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
		if letter || i > 0 && (isDigit(c) || strings.ContainsRune(extra, c)) {
			continue
		}
		return "the name \"" + name + "\" must start with a letter and hold only " + also
	}
	switch {
	case name == "":
		return "a name is empty; it must start with a letter and hold only " + also
	case len(name) > 60:
		return "the name \"" + name + "\" is too long; at most 60 characters are allowed"
	}
	if path == "dimensions" && isUnitName(name) {
		return "the name \"" + name + "\" is a unit and would be misread in arithmetic; choose another name"
	}
	return ""
}

func isUnitName(name string) bool {
	_, a := units[name]
	_, b := foreign[name]
	return a || b
}

func wordAll(words []string) string { return strings.Join(words, ", ") }

func firstLower(s string) string {
	s = strings.TrimSuffix(s, ".")
	if len(s) > 1 && s[0] >= 'A' && s[0] <= 'Z' && s[1] >= 'a' && s[1] <= 'z' {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}
