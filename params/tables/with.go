package tables

import (
	"errors"
	"fmt"
)

// With returns new tables in which the entries of over replace those of the
// same name, in their place, and the others are added at the end. t and over
// are not changed.
//
// Materials, printers and screws are made of groups, each with its own source.
// A group that an entry of over does not give is taken, source and all, from the
// entry named by its Like, else from the entry that it replaces. So a measured
// modulus can be set alone, and its source tells it from the rest. Entries of
// the other tables are replaced whole.
//
// The error lists everything wrong: names given twice, a Like that names
// nothing (with the nearest name), and whatever Validate finds in the result.
func (t *Tables) With(over Tables) (*Tables, error) {
	out := new(Tables)
	var errs []error
	out.Materials = merged("materials", t.Materials, over.Materials, &errs)
	out.Printers = merged("printers", t.Printers, over.Printers, &errs)
	out.Pins = merged("pins", t.Pins, over.Pins, &errs)
	out.Screws = merged("screws", t.Screws, over.Screws, &errs)
	out.LeadScrews = merged("leadscrews", t.LeadScrews, over.LeadScrews, &errs)
	out.Slides = merged("slides", t.Slides, over.Slides, &errs)
	out.Motors = merged("motors", t.Motors, over.Motors, &errs)
	if err := out.Validate(); err != nil {
		errs = append(errs, err)
	}
	if len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	return out, nil
}

// entry is a pointer to an entry type that knows its name.
type entry[T any] interface {
	*T
	setName(string)
	like() string // entry to take missing groups from; always "" without groups
	inherit(base *T)
}

func merged[T any, P entry[T]](section string, base, over Table[T], errs *[]error) Table[T] {
	var out Table[T]
	for i, name := range base.Names {
		out.Add(name, base.Values[i])
	}
	seen := map[string]bool{}
	for i, name := range over.Names {
		path := section + "." + name
		if seen[name] {
			*errs = append(*errs, fmt.Errorf("%s: given twice", path))
			continue
		}
		seen[name] = true
		v := over.Values[i]
		p := P(&v)
		p.setName(name)
		old := out.Get(name)
		if like := p.like(); like != "" {
			model := out.Get(like)
			if model == nil {
				*errs = append(*errs, fmt.Errorf("%s.like: no entry %q%s; there are %s",
					path, like, Suggest(like, out.Names), list(out.Names)))
				continue
			}
			p.inherit(model)
		} else if old != nil {
			p.inherit(old)
		}
		if old != nil {
			*old = v
		} else {
			out.Add(name, v)
		}
	}
	return out
}

// fresh builds a table from entries and the names they carry.
func fresh[T any](entries []T, name func(*T) string) Table[T] {
	var t Table[T]
	for i := range entries {
		t.Add(name(&entries[i]), entries[i])
	}
	return t
}

// or returns a, or b where a is nil.
func or[G any](a, b *G) *G {
	if a != nil {
		return a
	}
	return b
}
