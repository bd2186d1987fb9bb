package params

import (
	"slices"
	"strings"

	"gopkg.in/yaml.v3"

	"tuckfinger/params/tables"
)

// dimensions computes the named numbers, each once and when first wanted.
type dimensions struct {
	d     *decoder
	list  []*dimension
	named map[string]*dimension
	at    map[string]*dimension // by the path of the value
	stack []*dimension          // being computed, for cycles
	used  map[string]bool       // by anything outside the dimensions
}

type dimension struct {
	name    string
	node    *yaml.Node // of the value; nil if there is no usable one
	unit    string
	q       qty
	ok      bool
	started bool
	done    bool
	direct  *expr
	uses    []string // direct and indirect, sorted
}

// newDimensions finds the dimensions in the top mapping of a file.
func newDimensions(d *decoder, root *yaml.Node) *dimensions {
	s := &dimensions{d: d, named: map[string]*dimension{}, at: map[string]*dimension{}, used: map[string]bool{}}
	section := child(root, "dimensions")
	if section == nil || section.Kind != yaml.MappingNode {
		return s
	}
	for i := 0; i+1 < len(section.Content); i += 2 {
		name := section.Content[i].Value
		if s.named[name] != nil || section.Content[i].Kind != yaml.ScalarNode {
			continue
		}
		v := &dimension{name: name, node: child(section.Content[i+1], "value")}
		if u := child(section.Content[i+1], "unit"); u != nil {
			v.unit = u.Value
			if t, ok := typed[v.unit]; ok {
				v.unit = t
			}
		}
		if _, ok := units[v.unit]; !ok {
			v.unit = unknownUnit
		}
		s.list = append(s.list, v)
		s.named[name] = v
		s.at["dimensions."+name+".value"] = v
	}
	return s
}

// child returns the value of a key in a mapping, or nil.
func child(n *yaml.Node, key string) *yaml.Node {
	if n == nil || n.Kind != yaml.MappingNode {
		return nil
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Kind == yaml.ScalarNode && n.Content[i].Value == key {
			return n.Content[i+1]
		}
	}
	return nil
}

// unknownUnit stands for the unit of a dimension whose unit is missing or wrong;
// arithmetic with it is only checked for its form.
const unknownUnit = "?"

// unit returns the unit of a dimension.
func (s *dimensions) unit(name string) string {
	if v := s.named[name]; v != nil {
		return v.unit
	}
	return unknownUnit
}

// node returns the node of the dimension whose value has that path, or nil.
func (s *dimensions) node(path string) *yaml.Node {
	if v := s.at[path]; v != nil {
		return v.node
	}
	return nil
}

// names lists the dimensions.
func (s *dimensions) names() []string {
	var names []string
	for _, v := range s.list {
		names = append(names, v.name)
	}
	return names
}

// value computes a dimension and what it depends on.
func (s *dimensions) value(v *dimension) (qty, bool) {
	if v.started {
		return v.q, v.done && v.ok
	}
	v.started = true
	path := "dimensions." + v.name + ".value"
	switch n := v.node; {
	case n == nil:
		v.done = true // missing; reported where the group is decoded
	case n.Kind == yaml.AliasNode || n.Anchor != "" || n.Style&yaml.TaggedStyle != 0 || isEmpty(n):
		v.done = true // reported where the value is decoded
	default:
		s.stack = append(s.stack, v)
		key := designSchema.Key("dimensions").Elem.Key("value")
		if x, ok := s.d.set[v.name]; ok {
			v.q, v.ok = qty{v: x, u: unitOf(v.unit)}, true
		} else {
			v.q, v.uses, v.ok = s.d.arithmetic(n, key, v.unit, path)
		}
		v.q.v += s.d.add[v.name]
		s.stack = s.stack[:len(s.stack)-1]
		v.done = true
		if len(v.uses) > 0 {
			s.d.uses(path, v.uses)
		}
	}
	return v.q, v.ok
}

// lookup gives expressions the values of dimensions.
func (s *dimensions) lookup() lookup {
	return func(name string) (qty, string, bool) {
		if s == nil {
			return qty{}, "\"" + name + "\" is not a number; only a finger file has dimensions to compute with", false
		}
		v := s.named[name]
		if v == nil {
			return qty{}, notADimension(name, s.names()), false
		}
		s.used[name] = s.used[name] || len(s.stack) == 0
		if v.started && !v.done {
			return qty{}, s.cycle(v), false
		}
		q, ok := s.value(v)
		return q, "", ok
	}
}

func notADimension(name string, names []string) string {
	if len(names) == 0 {
		return "\"" + name + "\" is not a number, and the file has no dimensions; write a number, or add " + name + " under dimensions"
	}
	msg := "\"" + name + "\" is not a dimension"
	if near := tables.Nearest(name, names); near != "" {
		return msg + "; did you mean \"" + near + "\"?"
	}
	return msg + "; there are " + wordList(names, "and")
}

// cycle names the dimensions that are being computed from v back to v.
func (s *dimensions) cycle(v *dimension) string {
	if len(s.stack) > 0 && s.stack[len(s.stack)-1] == v {
		return v.name + " is computed from itself; give it a number"
	}
	var names []string
	for i := slices.Index(s.stack, v); i < len(s.stack); i++ {
		names = append(names, s.stack[i].name)
	}
	return "dimensions are computed from each other in a circle: " + strings.Join(append(names, v.name), " -> ") + "; give one of them a number"
}

// usedBy returns the dimensions an expression depends on, directly and through
// others, sorted.
func (s *dimensions) usedBy(e *expr) []string {
	if s == nil {
		return nil
	}
	set := map[string]bool{}
	e.names(set)
	var out []string
	for name := range set {
		out = append(out, name)
		out = append(out, s.named[name].uses...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}
