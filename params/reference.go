package params

import (
	"cmp"
	"fmt"
	"strings"

	"tuckfinger/params/tables"
)

// Reference returns the reference page of the finger file and of table files in
// Markdown: every key with its type, unit, bounds, default, meaning and an
// example, made from the tags that the decoder works by.
func Reference() string {
	var b strings.Builder
	b.WriteString(`# The finger file

A finger file is YAML. Lengths are mm, angles degrees, forces N, torques N·mm,
stresses MPa, masses g. A key that is not listed here is an error; so are YAML
anchors, aliases, tags and a second document.

**Numbers** are decimal (` + "`3`, `0.25`, `1e-3`" + `), and a unit may stand behind one
(` + "`3 mm`" + `) if it is the unit of the key. Any number may be plain arithmetic with
` + "`+ - * / ( )`" + ` over the names under ` + "`dimensions`: `pin/2 + play`" + `. Units are
computed along: millimetres cannot be added to degrees. A bare number takes the
unit that is needed beside it in a sum; in a product it is a pure number.

**Points** are ` + "`[x, y]` or `{radius: 7, angle: 205}`" + `. A **place** is a point, or
the name of a pin or slot joint on the body. A **z range** is the name of a
layer, a list of layers (from the lowest to the highest of them) or
` + "`{from: 0, to: 4}`" + `.

**Names** start with a letter and hold letters, digits, ` + "`_` and `-`" + `; names of
dimensions hold no ` + "`-`" + `. Ramps, clips, holds and joints need names that differ
from each other, because order rules name them.

A key marked * must be given; of keys marked † exactly one of the group.
`)
	writeReference(&b, designSchema)
	b.WriteString(`
# Table files

A table file adds entries to the built-in tables, or changes them. A group that
an entry leaves out is taken from the entry that it names with ` + "`like`" + `, or
from the built-in entry of the same name.
`)
	writeReference(&b, tableSchema)
	b.WriteString(`
# Sweep files

A sweep file names a finger file and the variants of it that are to be tried.
Numbers are in the units of the finger's dimensions.
`)
	writeReference(&b, sweepSchema)
	return b.String()
}

// refGroup is a group and where it occurs in the file.
type refGroup struct {
	key   *Key
	paths []string
}

// groups lists the groups of a schema in order, each with all its paths.
func groups(root *Key) []*refGroup {
	var list []*refGroup
	byType := map[string]*refGroup{}
	var walk func(k *Key, path string)
	walk = func(k *Key, path string) {
		switch k.Kind {
		case Section:
			walk(k.Elem, join(path, "NAME"))
		case List:
			walk(k.Elem, path+"[]")
		case Group:
			if g := byType[k.Type]; g != nil {
				g.paths = append(g.paths, path)
				return
			}
			g := &refGroup{k, []string{path}}
			byType[k.Type] = g
			list = append(list, g)
			for _, c := range k.Keys {
				walk(c, join(path, c.Name))
			}
		}
	}
	walk(root, "")
	return list
}

func writeReference(b *strings.Builder, root *Key) {
	for _, g := range groups(root) {
		title := "Top level"
		if g.paths[0] != "" {
			title = "`" + g.paths[0] + "`"
		}
		fmt.Fprintf(b, "\n## %s\n\n", title)
		if len(g.paths) > 1 {
			fmt.Fprintf(b, "Also `%s`.\n\n", strings.Join(g.paths[1:], "`, `"))
		}
		if g.key.Short {
			b.WriteString("May be written as a bare point.\n\n")
		}
		b.WriteString("| Key | Type | Unit | Bounds | Default | Meaning | Example |\n|---|---|---|---|---|---|---|\n")
		for _, c := range g.key.Keys {
			fmt.Fprintf(b, "| `%s`%s | %s | %s | %s | %s | %s | `%s: %s` |\n", c.Name, c.mark(),
				cell(c.typeText()), c.unitText(), c.boundsCell(), c.defaultText(), cell(c.Doc), c.Name, cell(c.example()))
		}
		if g.paths[0] == "tune.limits[]" {
			b.WriteString("\n| Measure | Unit | What is measured |\n|---|---|---|\n")
			for _, m := range measureKinds {
				fmt.Fprintf(b, "| `%s` | %s | %s |\n", m.Name, m.Unit, cell(m.Doc))
			}
		}
		if g.paths[0] == "limits.NAME" {
			b.WriteString("\n| Limit | Unit | The value must | What is limited |\n|---|---|---|---|\n")
			for _, l := range LimitTable {
				must := "not be above it"
				if l.AtLeast {
					must = "not be below it"
				}
				fmt.Fprintf(b, "| `%s` | %s | %s | %s |\n", l.Name, l.Unit, must, cell(l.Doc))
			}
		}
	}
}

func cell(s string) string { return strings.ReplaceAll(s, "|", `\|`) }

func (k *Key) mark() string {
	switch {
	case k.Required:
		return "*"
	case k.OneOf != "":
		return "†"
	}
	return ""
}

// typeText names the type of value in a few words.
func (k *Key) typeText() string {
	switch k.Kind {
	case Number:
		return "number"
	case Whole:
		return "whole number"
	case Text:
		switch {
		case k.Enum != nil:
			return strings.Join(k.Enum, ", ")
		case k.Ref != "":
			return "name in " + k.Ref
		}
		return "text"
	case Switch:
		return "true, false"
	case Point:
		return "point"
	case Place2D:
		return "place"
	case ZRange:
		return "z range"
	case Group:
		return "group"
	case Section:
		return "named: " + k.Elem.typeText()
	}
	return "list: " + k.Elem.typeText()
}

func (k *Key) unitText() string {
	switch k.Unit {
	case "own":
		return "its own"
	case "1":
		return ""
	}
	return k.Unit
}

func (k *Key) boundsCell() string {
	var s []string
	if k.Above != nil {
		s = append(s, "> "+exactNum(*k.Above))
	}
	if k.Min != nil {
		s = append(s, "≥ "+exactNum(*k.Min))
	}
	if k.Max != nil {
		s = append(s, "≤ "+exactNum(*k.Max))
	}
	return strings.Join(s, ", ")
}

func (k *Key) defaultText() string {
	if k.Default == "" {
		return ""
	}
	return "`" + k.Default + "`"
}

// example returns a value that is allowed for the key.
func (k *Key) example() string {
	if k.Example != "" {
		return k.Example
	}
	switch k.Kind {
	case Number, Whole:
		return k.exampleNumber()
	case Text:
		switch {
		case k.Default != "":
			return k.Default
		case k.Enum != nil:
			return k.Enum[0]
		case k.Ref != "":
			if names, ok := tables.Builtin().Names(k.Ref); ok && len(names) > 0 {
				return names[0]
			}
			return "my-" + strings.ReplaceAll(singular[k.Ref], " ", "-")
		case k.Name == "name":
			return "rack-lifter"
		}
		return "some words"
	case Switch:
		if k.Default == "true" {
			return "false"
		}
		return "true"
	case Point:
		return "[3, 0]"
	case Place2D:
		return "my-joint"
	case ZRange:
		return "my-layer"
	case List:
		if k.Elem.Kind == Group && k.Elem.Short {
			return "[[0, 0], [10, 0], [10, 5]]"
		}
		return "[" + k.Elem.example() + "]"
	case Section:
		name := "my-name"
		if k.Names != nil {
			name = k.Names[0]
		}
		return "{" + name + ": " + k.Elem.example() + "}"
	}
	return k.exampleGroup()
}

// exampleGroup shows the first two keys that must be given, the first of a
// choice, or the first key; … stands for what else is needed.
func (k *Key) exampleGroup() string {
	var s []string
	chosen, more := false, false
	for _, c := range k.Keys {
		if !c.Required && (c.OneOf == "" || chosen) {
			continue
		}
		chosen = chosen || c.OneOf != ""
		switch {
		case len(s) == 2:
			more = true
		case c.Kind == Group:
			s = append(s, c.Name+": {…}")
		default:
			s = append(s, c.Name+": "+c.example())
		}
	}
	if s == nil {
		s = append(s, k.Keys[0].Name+": "+k.Keys[0].example())
	}
	if more {
		s = append(s, "…")
	}
	return "{" + strings.Join(s, ", ") + "}"
}

func (k *Key) exampleNumber() string {
	if k.Default != "" {
		return k.Default
	}
	v := 3.0
	if k.Unit == "deg" {
		v = 45
	}
	if k.Max != nil && v > *k.Max {
		v = *k.Max
		if k.Above != nil {
			v = (*k.Above + *k.Max) / 2
		}
	}
	if k.Min != nil && v < *k.Min {
		v = *k.Min
	}
	return exactNum(v)
}

// Listing returns a terse list of the keys of one section for a terminal, such
// as "ramps" or "bodies.features"; "" lists the top level, the name of a table
// its built-in entries, and "sweep" the keys of a sweep file. The error names the
// sections and tables.
func Listing(section string) (string, error) {
	const sweep = "sweep"
	if section == sweep {
		return listing(groups(sweepSchema), "", "sweep file"), nil
	}
	if names, ok := tables.Builtin().Names(section); ok {
		return fmt.Sprintf("%s, built in; a table file adds others (its keys: tuckfinger params --page)\n  %s\n", section, strings.Join(names, "\n  ")), nil
	}
	found := false
	var names []string
	all := groups(designSchema)
	for _, g := range all {
		for _, p := range g.paths {
			if plain := plainPath(p); plain == section {
				found = true
			} else if plain != "" && !strings.Contains(plain, ".") {
				names = append(names, plain)
			}
		}
	}
	if !found {
		return "", fmt.Errorf("%q is not a section of the finger file%s", section,
			didYouMean(section, append(append(names, tables.Sections()...), sweep), "; there are "+wordAll(names)+", the tables "+wordAll(tables.Sections())+", and "+sweep+" for sweep files"))
	}
	if section != "" {
		return listing(all, section, ""), nil
	}
	return listing(all[:1], "", "finger file"), nil
}

// listing lists a section and what is in it; "" is the top level, with a name of
// its own.
func listing(all []*refGroup, section, top string) string {
	var b strings.Builder
	list := func(g *refGroup, title string) {
		fmt.Fprintf(&b, "%s\n", title)
		for _, c := range g.key.Keys {
			kind := c.typeText()
			if u := unitSuffix(c.Unit); u != "" {
				kind += u
			}
			if s := c.boundsCell(); s != "" {
				kind += " " + s
			}
			if c.Default != "" {
				kind += " [" + c.Default + "]"
			}
			fmt.Fprintf(&b, "  %-14s %-34s %s\n", c.Name+c.mark(), kind, c.Doc)
		}
	}
	for _, g := range all {
		for _, p := range g.paths {
			plain := plainPath(p)
			if plain == section || section == "" || strings.HasPrefix(plain, section+".") {
				if section == "" {
					plain = plainPath(strings.Join(g.paths, " or ")) // alike under several keys
				}
				list(g, cmp.Or(plain, top))
				break
			}
		}
	}
	b.WriteString("* must be given   † exactly one of these   [default]\n")
	return b.String()
}

// plainPath drops names and indices from a path.
func plainPath(p string) string {
	return strings.ReplaceAll(strings.ReplaceAll(p, ".NAME", ""), "[]", "")
}
