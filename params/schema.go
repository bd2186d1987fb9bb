package params

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params/tables"
)

// Kind says what a key holds in the file.
type Kind int

// The kinds of values.
const (
	Number  Kind = iota // a number, or arithmetic over dimensions
	Whole               // the same, and the result is a whole number
	Text                // text, or one of Enum, or a name in section Ref
	Switch              // true or false
	Point               // [x, y] or {radius: r, angle: a}
	Place2D             // a joint's name, or a point (type Spot)
	ZRange              // a layer's name, a list of them, or {from: z, to: z} (type Span)
	Group               // fixed keys, listed in Keys
	Section             // freely named entries of one form, Elem
	List                // a list of values of one form, Elem
)

// Key is one key of the file form: what the tags of a struct field say.
type Key struct {
	Name     string
	Kind     Kind
	Required bool
	Unit     string // as in the file; "1" is a pure number, "own" the unit of the dimension or limit
	Min, Max *float64
	Above    *float64 // exclusive lower bound
	Default  string   // as it would be written; "" if there is none
	Example  string   // as it would be written; "" if one is made
	Enum     []string
	Ref      string   // section or table that the value must be a name in
	OneOf    string   // group of keys of which exactly one is given
	Names    []string // that the entries of a Section may have; nil: any
	// OfDimensions: the entries of a Section have names of dimensions.
	OfDimensions bool
	Doc          string
	Keys         []*Key // of a Group
	Elem         *Key   // of a Section or List
	Short        bool   // a Group that may be written as a bare point, for its key "at"
	Type         string // Go type name of a Group, in small letters

	field   int // in the struct
	pointer bool
	typ     reflect.Type
}

// Key returns the key of that name in a Group, or nil.
func (k *Key) Key(name string) *Key {
	for _, c := range k.Keys {
		if c.Name == name {
			return c
		}
	}
	return nil
}

// KeyNames returns the names of the keys of a Group, in order.
func (k *Key) KeyNames() []string {
	names := make([]string, len(k.Keys))
	for i, c := range k.Keys {
		names[i] = c.Name
	}
	return names
}

var (
	designSchema = schemaOf(reflect.TypeFor[Design]())
	tableSchema  = schemaOf(reflect.TypeFor[tables.Tables]())
	vecType      = reflect.TypeFor[r2.Vec]()
	spotType     = reflect.TypeFor[Spot]()
	spanType     = reflect.TypeFor[Span]()
)

// Schema returns the form of a finger file. It is shared and must not be
// changed.
func Schema() *Key { return designSchema }

// TableSchema returns the form of a table file.
func TableSchema() *Key { return tableSchema }

func schemaOf(t reflect.Type) *Key {
	k := &Key{}
	k.describe(t, "")
	return k
}

// describe fills in what the Go type says. A tag that cannot be read is a fault
// of this program and panics at start.
func (k *Key) describe(t reflect.Type, tag reflect.StructTag) {
	if t.Kind() == reflect.Pointer {
		k.pointer, t = true, t.Elem()
	}
	k.typ = t
	switch {
	case t == reflect.TypeFor[r2.Vec]():
		k.Kind = Point
	case t == reflect.TypeFor[Spot]():
		k.Kind = Place2D
	case t == reflect.TypeFor[Span]():
		k.Kind = ZRange
	case t.Kind() == reflect.Float64:
		k.Kind = Number
	case t.Kind() == reflect.Int:
		k.Kind = Whole
	case t.Kind() == reflect.String:
		k.Kind = Text
	case t.Kind() == reflect.Bool:
		k.Kind = Switch
	case t.Kind() == reflect.Slice:
		k.Kind = List
		k.Elem = k.element(t.Elem(), tag)
	case isNamed(t):
		k.Kind = Section
		k.Elem = k.element(t.Field(1).Type.Elem(), tag)
	case t.Kind() == reflect.Struct:
		k.Kind = Group
		k.Type = strings.ToLower(t.Name())
		for i := range t.NumField() {
			if c := fieldKey(t.Field(i), i); c != nil {
				k.Keys = append(k.Keys, c)
			}
		}
		k.Short = t == reflect.TypeFor[Corner]() || t == reflect.TypeFor[PathPoint]()
	default:
		panic(fmt.Sprintf("params: no file form for type %s", t))
	}
}

// element is the form of the entries of k; unit, bounds, words and references
// in k's tag are theirs.
func (k *Key) element(t reflect.Type, tag reflect.StructTag) *Key {
	e := &Key{Unit: k.Unit, Min: k.Min, Max: k.Max, Above: k.Above, Enum: k.Enum, Ref: k.Ref}
	e.describe(t, tag)
	return e
}

// isNamed recognizes Named and tables.Table: an ordered section.
func isNamed(t reflect.Type) bool {
	return t.Kind() == reflect.Struct && t.NumField() == 2 &&
		t.Field(0).Name == "Names" && t.Field(1).Name == "Values"
}

func fieldKey(f reflect.StructField, i int) *Key {
	name, opt, _ := strings.Cut(f.Tag.Get("tf"), ",")
	if name == "-" || name == "" {
		return nil
	}
	k := &Key{
		Name: name, Required: opt == "req", Unit: f.Tag.Get("unit"), Default: f.Tag.Get("def"),
		Ref: f.Tag.Get("ref"), OneOf: f.Tag.Get("oneof"), Doc: f.Tag.Get("doc"), Example: f.Tag.Get("eg"),
		Min: bound(f, "min"), Max: bound(f, "max"), Above: bound(f, "above"), field: i,
	}
	if e := f.Tag.Get("enum"); e != "" {
		k.Enum = strings.Split(e, "|")
	}
	switch f.Tag.Get("names") {
	case "limits":
		k.Names = LimitNames()
	case "dimensions":
		k.OfDimensions = true
	}
	k.describe(f.Type, f.Tag)
	return k
}

func bound(f reflect.StructField, key string) *float64 {
	s, ok := f.Tag.Lookup(key)
	if !ok {
		return nil
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic(fmt.Sprintf("params: field %s: tag %s is not a number: %q", f.Name, key, s))
	}
	return &v
}

// boundsText says which values a number may have, "above 0 and at most 89".
func (k *Key) boundsText() string {
	var s []string
	if k.Above != nil {
		s = append(s, "above "+exactNum(*k.Above))
	}
	if k.Min != nil {
		s = append(s, "at least "+exactNum(*k.Min))
	}
	if k.Max != nil {
		s = append(s, "at most "+exactNum(*k.Max))
	}
	if k.Min != nil && k.Max != nil && *k.Min == *k.Max {
		return exactNum(*k.Min)
	}
	return strings.Join(s, " and ")
}

// unitSuffix is " mm", or "" for a pure number.
func unitSuffix(u string) string {
	if u == "" || u == "1" || u == "own" {
		return ""
	}
	return " " + u
}

// want says in a few words what the value looks like.
func (k *Key) want() string {
	switch k.Kind {
	case Number, Whole:
		what := "a number"
		if k.Kind == Whole {
			what = "a whole number"
		}
		if u := unitSuffix(k.Unit); u != "" {
			what += " in" + u
		}
		if b := k.boundsText(); b != "" {
			what += ", " + b
		}
		return what
	case Text:
		switch {
		case k.Enum != nil:
			return wordList(k.Enum, "or")
		case k.Ref != "":
			return "the name of " + oneOf(k.Ref)
		}
		return "text"
	case Switch:
		return "true or false"
	case Point:
		return "[x, y] or {radius: r, angle: a}"
	case Place2D:
		return "the name of a joint, [x, y] or {radius: r, angle: a}"
	case ZRange:
		return "the name of a layer, [layer, layer] or {from: z, to: z}"
	case Group:
		if k.Short {
			return "[x, y] or {" + strings.Join(k.KeyNames(), ": , ") + ": }"
		}
		return "a group of keys (" + strings.Join(k.KeyNames(), ", ") + ")"
	case Section:
		return "named entries (name: ...)"
	default:
		return "a list"
	}
}

// singular names one entry of a section or table.
var singular = map[string]string{
	"bodies": "body", "joints": "joint", "clips": "clip", "pads": "pad", "layers": "layer", "ramps": "ramp",
	"holds": "hold", "stops": "stop", "springs": "spring", "dimensions": "dimension", "order": "order rule",
	"limits": "limit", "printers": "printer", "materials": "material", "screws": "screw", "pins": "pin",
	"leadscrews": "lead screw", "motors": "motor", "slides": "slide",
}

func oneOf(section string) string {
	s := singular[section]
	if s == "" {
		s = section + " entry"
	}
	if strings.ContainsRune("aeiou", rune(s[0])) {
		return "an " + s
	}
	return "a " + s
}

// wordList joins words, "a, b or c"; a long list is cut.
func wordList(words []string, last string) string {
	const most = 16
	if len(words) > most {
		return fmt.Sprintf("%s and %d more", strings.Join(words[:most], ", "), len(words)-most)
	}
	switch len(words) {
	case 0:
		return "none"
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " " + last + " " + words[len(words)-1]
}
