package params

import (
	"reflect"
	"strconv"
	"strings"

	"gopkg.in/yaml.v3"

	"tuckfinger/params/tables"
)

// group decodes a struct.
func (d *decoder) group(n *yaml.Node, pos Pos, k *Key, v reflect.Value, path string) bool {
	if k.Short && (n.Kind == yaml.SequenceNode || isPolar(n)) {
		at := k.Key("at")
		setDefaults(k, v)
		return d.value(n, pos, at, v.Field(at.field), join(path, "at"))
	}
	if n.Kind != yaml.MappingNode {
		return d.wrong(n, k, path)
	}
	ok := true
	setDefaults(k, v)
	if m := child(n, "measure"); m != nil && k.Key("measure") != nil {
		d.own = measureUnit(m.Value)
	}
	given := map[string]*yaml.Node{}
	taken := map[string]bool{} // suggested instead of an unknown key
	var late []func()
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, val := n.Content[i], n.Content[i+1]
		name, good := d.keyName(key, path)
		if !good {
			ok = false
			continue
		}
		if first := given[name]; first != nil {
			d.out.errorf(d.src.at(key), path, "%q is given twice, first on line %d; delete one", name, first.Line)
			ok = false
			continue
		}
		c := k.Key(name)
		if c == nil {
			taken[d.unknown(key, k, path)] = true
			ok = false
			continue
		}
		given[name] = key
		read := func() {
			ok = d.value(val, d.src.at(key), c, v.Field(c.field), join(path, name)) && ok
		}
		// Spans need the layers; everything else has no order.
		if path == "" && k == designSchema && name != "layers" && name != "dimensions" {
			late = append(late, read)
		} else {
			read()
		}
	}
	for _, read := range late {
		if d.layers == nil && k == designSchema && path == "" {
			d.readLayers(v)
		}
		read()
	}
	return d.complete(pos, k, given, taken, path) && ok
}

// complete checks that what must be given is given, and only once.
func (d *decoder) complete(pos Pos, k *Key, given map[string]*yaml.Node, taken map[string]bool, path string) bool {
	ok := true
	choices := map[string][]string{}
	var groups []string
	for _, c := range k.Keys {
		if c.OneOf != "" {
			if choices[c.OneOf] == nil {
				groups = append(groups, c.OneOf)
			}
			choices[c.OneOf] = append(choices[c.OneOf], c.Name)
		}
		if c.Required && given[c.Name] == nil {
			ok = false
			if taken[c.Name] {
				continue
			}
			d.out.errorf(pos, path, "needs %q, %s: %s", c.Name, c.want(), firstLower(c.Doc))
		}
	}
	for _, g := range groups {
		var got []string
		typo := false
		for _, name := range choices[g] {
			typo = typo || taken[name]
			if given[name] != nil {
				got = append(got, name)
			}
		}
		switch {
		case len(got) == 1 || len(got) == 0 && typo:
			ok = ok && len(got) == 1
			continue
		case len(got) == 0:
			d.out.errorf(pos, path, "needs exactly one of %s", wordList(choices[g], "or"))
		default:
			second := given[got[0]]
			for _, name := range got[1:] {
				if n := given[name]; n.Line > second.Line || n.Line == second.Line && n.Column > second.Column {
					second = n
				}
			}
			d.out.errorf(d.src.at(second), path, "has %s; exactly one of %s is allowed", wordList(got, "and"), wordList(choices[g], "or"))
		}
		ok = false
	}
	return ok
}

// unknown reports a key that does not exist and returns the key that was
// probably meant.
func (d *decoder) unknown(key *yaml.Node, k *Key, path string) (meant string) {
	name := key.Value
	pos := d.src.at(key)
	if _, err := strconv.ParseFloat(name, 64); err == nil {
		d.out.errorf(pos, path, "%q is a number where a key is expected; the decimal sign is a point, and a comma starts the next key", name)
		return ""
	}
	for _, c := range k.Keys {
		if c.Kind == Group && c.Key(name) != nil {
			d.out.errorf(pos, path, "%q is not a key here; it belongs inside %q", name, c.Name)
			return ""
		}
	}
	if strings.EqualFold(name, "true") && k.Key("on") != nil {
		d.out.errorf(pos, path, "%q is not a key here; write on: a program with rules of YAML 1.1 makes true of it unless it is quoted", name)
		return "on"
	}
	if meant = tables.Nearest(name, k.KeyNames()); meant != "" {
		d.out.errorf(pos, path, "%q is not a key here; did you mean %q?", name, meant)
		return meant
	}
	d.out.errorf(pos, path, "%q is not a key here; allowed are %s", name, wordAll(k.KeyNames()))
	return ""
}
