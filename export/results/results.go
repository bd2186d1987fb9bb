// Package results writes the results of a build as JSON (RFC 8259) for other
// programs: keys in a fixed order, numbers rounded in one way, nothing that is
// not finite.
package results

import (
	"bytes"
	"encoding"
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/export/num"
)

// Object is a JSON object whose keys keep their order.
type Object []Field

// Field is one entry of an Object.
type Field struct {
	Key   string
	Value any
}

// Faults are the errors of one Write, each with the path of the value:
// "stroke.steps[3].force: NaN is not a finite number".
type Faults []string

func (f Faults) Error() string {
	const most = 10
	s := "results: " + strings.Join(f[:min(most, len(f))], "; ")
	if n := len(f) - most; n > 0 {
		s += fmt.Sprintf("; and %d more", n)
	}
	return s
}

// Write writes v and a line end. Floats are rounded to the given number of
// significant digits (0: num.Digits); a struct field can say otherwise by the
// tag digits:"9". Nothing is written when v holds anything that can't stand in
// the file; the error is then of type Faults.
//
// Objects are Object, maps with string keys (sorted), and structs, whose
// exported fields must have a json tag ("-" and omitempty are known, embedded
// structs without a tag are merged). r2.Vec and r3.Vec are arrays of two and
// three numbers. Nil pointers, slices, maps and interfaces are null, []T{} is [].
// json.Marshaler and encoding.TextMarshaler are used where implemented; the
// numbers in what they return are rounded too.
func Write(w io.Writer, v any, digits int) error {
	if digits == 0 {
		digits = num.Digits
	}
	p := &printer{}
	p.value("", reflect.ValueOf(v), digits, 0)
	if len(p.faults) > 0 {
		return p.faults
	}
	p.WriteByte('\n')
	_, err := w.Write(p.Bytes())
	return err
}

type printer struct {
	bytes.Buffer
	faults Faults
}

func (p *printer) fault(path, format string, args ...any) {
	if path == "" {
		path = "(top)"
	}
	p.faults = append(p.faults, path+": "+fmt.Sprintf(format, args...))
}

// deepest is more than any result has; a value that holds itself has no end.
const deepest = 100

var (
	marshaler     = reflect.TypeFor[json.Marshaler]()
	textMarshaler = reflect.TypeFor[encoding.TextMarshaler]()
)

func (p *printer) value(path string, v reflect.Value, digits, depth int) {
	if depth > deepest {
		p.fault(path, "deeper than %d levels", deepest)
		return
	}
	if !v.IsValid() {
		p.WriteString("null")
		return
	}
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface, reflect.Map, reflect.Slice:
		if v.IsNil() {
			p.WriteString("null")
			return
		}
	}
	switch x := v.Interface().(type) {
	case r2.Vec:
		p.value(path, reflect.ValueOf([]float64{x.X, x.Y}), digits, depth)
		return
	case r3.Vec:
		p.value(path, reflect.ValueOf([]float64{x.X, x.Y, x.Z}), digits, depth)
		return
	case json.Number:
		p.number(path, string(x), digits)
		return
	case Object:
		p.object(path, x, digits, depth)
		return
	}
	if v.Type().Implements(marshaler) {
		p.marshalled(path, v.Interface().(json.Marshaler), digits, depth)
		return
	}
	if v.Type().Implements(textMarshaler) {
		b, err := v.Interface().(encoding.TextMarshaler).MarshalText()
		if err != nil {
			p.fault(path, "%v", err)
			return
		}
		p.text(path, string(b))
		return
	}
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		p.value(path, v.Elem(), digits, depth+1)
	case reflect.Bool:
		p.WriteString(strconv.FormatBool(v.Bool()))
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		p.WriteString(strconv.FormatInt(v.Int(), 10))
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		p.WriteString(strconv.FormatUint(v.Uint(), 10))
	case reflect.Float32, reflect.Float64:
		if !num.Finite(v.Float()) {
			p.fault(path, "%g is not a finite number", v.Float())
			return
		}
		p.WriteString(num.Text(v.Float(), digits))
	case reflect.String:
		p.text(path, v.String())
	case reflect.Slice, reflect.Array:
		p.array(path, v, digits, depth)
	case reflect.Map:
		p.mapping(path, v, digits, depth)
	case reflect.Struct:
		p.object(path, p.fields(path, v, digits), digits, depth)
	default:
		p.fault(path, "a %s can't stand in JSON", v.Type())
	}
}

// text writes a string; "<" and "≥" stay readable.
func (p *printer) text(path, s string) {
	if !utf8.ValidString(s) {
		p.fault(path, "%q is not UTF-8", s)
		return
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(s); err != nil {
		p.fault(path, "%v", err)
		return
	}
	p.Write(bytes.TrimSuffix(b.Bytes(), []byte("\n")))
}

// number writes a number that came as text: integers as they are.
func (p *printer) number(path, s string, digits int) {
	if _, err := strconv.ParseInt(s, 10, 64); err == nil {
		p.WriteString(s)
		return
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		p.fault(path, "%s is not a number of 64 bits", s)
		return
	}
	p.WriteString(num.Text(v, digits))
}

func (p *printer) line(depth int) {
	p.WriteByte('\n')
	for range depth {
		p.WriteByte(' ')
	}
}

// array puts plain values on one line and all others on lines of their own.
func (p *printer) array(path string, v reflect.Value, digits, depth int) {
	flat := true
	for i := range v.Len() {
		e := v.Index(i)
		for e.Kind() == reflect.Interface || e.Kind() == reflect.Pointer {
			e = e.Elem()
		}
		switch e.Kind() {
		case reflect.Struct, reflect.Map, reflect.Slice, reflect.Array:
			flat = false
		}
	}
	p.WriteByte('[')
	for i := range v.Len() {
		if i > 0 {
			p.WriteByte(',')
			if flat {
				p.WriteByte(' ')
			}
		}
		if !flat {
			p.line(depth + 1)
		}
		p.value(fmt.Sprintf("%s[%d]", path, i), v.Index(i), digits, depth+1)
	}
	if !flat {
		p.line(depth)
	}
	p.WriteByte(']')
}

func (p *printer) mapping(path string, v reflect.Value, digits, depth int) {
	if v.Type().Key().Kind() != reflect.String {
		p.fault(path, "a map with keys of type %s can't stand in JSON", v.Type().Key())
		return
	}
	keys := v.MapKeys()
	slices.SortFunc(keys, func(a, b reflect.Value) int { return strings.Compare(a.String(), b.String()) })
	var o Object
	for _, k := range keys {
		o = append(o, Field{k.String(), v.MapIndex(k).Interface()})
	}
	p.object(path, o, digits, depth)
}

// withDigits carries the digits of a field's tag.
type withDigits struct {
	value  reflect.Value
	digits int
}

func (p *printer) object(path string, o Object, digits, depth int) {
	p.WriteByte('{')
	seen := map[string]bool{}
	for i, f := range o {
		at := f.Key
		if path != "" {
			at = path + "." + f.Key
		}
		if f.Key == "" || seen[f.Key] {
			p.fault(at, "key %q is empty or used twice", f.Key)
		}
		seen[f.Key] = true
		if i > 0 {
			p.WriteByte(',')
		}
		p.line(depth + 1)
		p.text(at, f.Key)
		p.WriteString(": ")
		if w, ok := f.Value.(withDigits); ok {
			p.value(at, w.value, w.digits, depth+1)
		} else {
			p.value(at, reflect.ValueOf(f.Value), digits, depth+1)
		}
	}
	if len(o) > 0 {
		p.line(depth)
	}
	p.WriteByte('}')
}

func (p *printer) fields(path string, v reflect.Value, digits int) Object {
	var o Object
	for i := range v.NumField() {
		f := v.Type().Field(i)
		tag, tagged := f.Tag.Lookup("json")
		name, options, _ := strings.Cut(tag, ",")
		if f.Anonymous && !tagged && f.Type.Kind() == reflect.Struct {
			o = append(o, p.fields(path, v.Field(i), digits)...)
			continue
		}
		if !f.IsExported() || tag == "-" {
			continue
		}
		if name == "" {
			p.fault(path, "field %s of %s has no json tag", f.Name, v.Type())
			continue
		}
		if strings.Contains(options, "omitempty") && empty(v.Field(i)) {
			continue
		}
		d := digits
		if s := f.Tag.Get("digits"); s != "" {
			n, err := strconv.Atoi(s)
			if err != nil || n < 1 || n > 17 {
				p.fault(path, "field %s of %s: digits %q, allowed 1 to 17", f.Name, v.Type(), s)
			} else {
				d = n
			}
		}
		o = append(o, Field{name, withDigits{v.Field(i), d}})
	}
	return o
}

// empty is what encoding/json means by omitempty.
func empty(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.Slice, reflect.Map, reflect.Array, reflect.String:
		return v.Len() == 0
	case reflect.Struct:
		return false
	}
	return v.IsZero()
}

// marshalled writes what a type makes of itself, its keys in their order.
func (p *printer) marshalled(path string, m json.Marshaler, digits, depth int) {
	b, err := m.MarshalJSON()
	if err != nil {
		p.fault(path, "%v", err)
		return
	}
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.UseNumber()
	v, err := ordered(dec)
	if err == nil && dec.More() {
		err = fmt.Errorf("more than one value")
	}
	if err != nil {
		p.fault(path, "%T makes no JSON of itself: %v", m, err)
		return
	}
	p.value(path, reflect.ValueOf(v), digits, depth)
}

func ordered(dec *json.Decoder) (any, error) {
	t, err := dec.Token()
	if err != nil {
		return nil, err
	}
	switch t {
	case json.Delim('['):
		list := []any{}
		for dec.More() {
			v, err := ordered(dec)
			if err != nil {
				return nil, err
			}
			list = append(list, v)
		}
		_, err = dec.Token()
		return list, err
	case json.Delim('{'):
		o := Object{}
		for dec.More() {
			k, err := dec.Token()
			if err != nil {
				return nil, err
			}
			v, err := ordered(dec)
			if err != nil {
				return nil, err
			}
			o = append(o, Field{k.(string), v})
		}
		_, err = dec.Token()
		return o, err
	}
	return t, nil
}
