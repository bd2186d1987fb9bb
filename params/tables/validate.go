package tables

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// Source is one group of values and where they come from.
type Source struct {
	Path   string // such as "materials.PETG.modulus"
	Text   string
	Proven bool // see Proven
}

// Sources lists the source of every group in every table, in table order.
func (t *Tables) Sources() []Source {
	var out []Source
	t.walk(func(path string, v reflect.Value) {
		walkSources(path, v, &out)
	})
	return out
}

// Validate reports everything wrong with the tables, in table order: a number
// that is not finite or outside the bounds of its tag, a word that is not
// allowed, a missing name, source or needed group, and what the entry types ask
// for across fields (low ≤ typical ≤ high). It returns nil for Builtin and for
// whatever With returned without an error.
func (t *Tables) Validate() error {
	var errs []error
	t.walk(func(path string, v reflect.Value) {
		checkStruct(path, v, &errs)
	})
	for i, p := range t.Pins.Values {
		if t.Materials.Get(p.Material) == nil && p.Material != "" {
			errs = append(errs, fmt.Errorf("pins.%s.material: no material %q%s; there are %s",
				t.Pins.Names[i], p.Material, Suggest(p.Material, t.Materials.Names), list(t.Materials.Names)))
		}
	}
	return errors.Join(errs...)
}

// walk calls visit with each entry of each table and its path.
func (t *Tables) walk(visit func(path string, entry reflect.Value)) {
	all := reflect.ValueOf(t).Elem()
	for i := range all.NumField() {
		section := key(all.Type().Field(i))
		names := all.Field(i).FieldByName("Names")
		values := all.Field(i).FieldByName("Values")
		for j := range names.Len() {
			visit(section+"."+names.Index(j).String(), values.Index(j))
		}
	}
}

// walkSources appends the source of v and of the groups in it.
func walkSources(path string, v reflect.Value, out *[]Source) {
	for i := range v.NumField() {
		f := v.Type().Field(i)
		switch at := v.Field(i); {
		case f.Name == "Source":
			*out = append(*out, Source{Path: path, Text: at.String(), Proven: Proven(at.String())})
		case at.Kind() == reflect.Pointer && !at.IsNil():
			walkSources(path+"."+key(f), at.Elem(), out)
		}
	}
}

// key is the name of a field in a file, "" if it has none there.
func key(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("tf"), ",")
	if name == "-" {
		return ""
	}
	return name
}

// validator is a type with rules across its fields; path is where it stands.
type validator interface{ validate(path string) []error }

// checkStruct appends what is wrong with v, a struct whose fields carry tags.
func checkStruct(path string, v reflect.Value, errs *[]error) {
	before := len(*errs)
	given := 0
	var kinds []string
	for i := range v.NumField() {
		f, at := v.Type().Field(i), v.Field(i)
		name := key(f)
		if f.Name == "Name" && at.String() == "" {
			*errs = append(*errs, fmt.Errorf("%s: the entry has no name", path))
		}
		if name == "" {
			continue
		}
		if f.Tag.Get("oneof") != "" {
			kinds = append(kinds, name)
			if !at.IsNil() {
				given++
			}
		}
		checkField(path+"."+name, f, at, errs)
	}
	if len(kinds) > 0 && given != 1 {
		*errs = append(*errs, fmt.Errorf("%s: %d of %s given, exactly one is needed", path, given, list(kinds)))
	}
	// Rules across fields make sense once each field does.
	if x, ok := v.Interface().(validator); ok && len(*errs) == before {
		*errs = append(*errs, x.validate(path)...)
	}
}

// checkField appends what is wrong with one field.
func checkField(path string, f reflect.StructField, v reflect.Value, errs *[]error) {
	required := strings.HasSuffix(f.Tag.Get("tf"), ",req") || f.Tag.Get("need") != ""
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			checkStruct(path, v.Elem(), errs)
		} else if required {
			*errs = append(*errs, fmt.Errorf("%s: not given, and no entry to take it from; give it, or name a similar entry with like", path))
		}
	case reflect.Float64:
		checkNumber(path, f, v.Float(), errs)
	case reflect.Int:
		checkNumber(path, f, float64(v.Int()), errs)
	case reflect.Slice:
		if required && v.Len() == 0 {
			*errs = append(*errs, fmt.Errorf("%s: empty", path))
		}
		for i := range v.Len() {
			checkField(fmt.Sprintf("%s[%d]", path, i), f, v.Index(i), errs)
		}
	case reflect.String:
		s := v.String()
		if required && strings.TrimSpace(s) == "" {
			*errs = append(*errs, fmt.Errorf("%s: empty", path))
		} else if words := f.Tag.Get("enum"); words != "" && s != "" {
			if allowed := strings.Split(words, "|"); !slices.Contains(allowed, s) {
				*errs = append(*errs, fmt.Errorf("%s: %q%s; allowed are %s", path, s, Suggest(s, allowed), list(allowed)))
			}
		}
	}
}

// checkNumber holds a number against min, max and above of its tag.
func checkNumber(path string, f reflect.StructField, x float64, errs *[]error) {
	unit := f.Tag.Get("unit")
	if unit == "deg" {
		x *= 180 / math.Pi
	}
	show := " " + unit
	if unit == "1" || unit == "" {
		show = ""
	}
	bad := func(format string, args ...any) {
		*errs = append(*errs, fmt.Errorf("%s: %.6g%s, must be %s", path, x, show, fmt.Sprintf(format, args...)))
	}
	if math.IsNaN(x) || math.IsInf(x, 0) {
		bad("finite")
		return
	}
	// 90 degrees in radians and back is off in the last bit.
	const slip = 1e-9
	for _, b := range []struct {
		tag  string
		ok   func(limit float64) bool
		word string
	}{
		{"min", func(l float64) bool { return x >= l-slip }, "at least"},
		{"max", func(l float64) bool { return x <= l+slip }, "at most"},
		{"above", func(l float64) bool { return x > l }, "above"},
	} {
		text, ok := f.Tag.Lookup(b.tag)
		if !ok {
			continue
		}
		limit, err := strconv.ParseFloat(text, 64)
		if err != nil {
			*errs = append(*errs, fmt.Errorf("%s: tag %s is not a number: %w", path, b.tag, err))
		} else if !b.ok(limit) {
			bad("%s %s%s", b.word, text, show)
		}
	}
}
