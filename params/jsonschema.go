package params

import (
	"bytes"
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"tuckfinger/params/tables"
)

// dialect is the dialect URI of JSON Schema 2020-12.
const dialect = "https://json-schema.org/draft/2020-12/schema"

// JSONSchema returns the form of a finger file as a JSON Schema (draft 2020-12),
// so that editors can complete and check it. It is made from the same tags as
// the decoder and is the same bytes every time. A number is a JSON number within
// its bounds, or a string with arithmetic; what the schema cannot say (units,
// references, geometry) is left to Parse.
func JSONSchema() []byte { return jsonSchema(designSchema, "tuckfinger finger file") }

// TableJSONSchema returns the form of a table file in the same way.
func TableJSONSchema() []byte { return jsonSchema(tableSchema, "tuckfinger table file") }

// object is a JSON object that keeps its order.
type object []member

type member struct {
	key   string
	value any
}

// MarshalJSON writes the members in order.
func (o object) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, m := range o {
		if i > 0 {
			b.WriteByte(',')
		}
		key, err := json.Marshal(m.key)
		if err != nil {
			return nil, err
		}
		value, err := marshal(m.value)
		if err != nil {
			return nil, err
		}
		b.Write(key)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// marshal is json.Marshal without escapes for < and >.
func marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(v)
	return bytes.TrimSpace(b.Bytes()), err
}

// schemaWriter collects the definitions that groups refer to.
type schemaWriter struct {
	defs object
	done map[string]bool
}

func jsonSchema(k *Key, title string) []byte {
	w := &schemaWriter{done: map[string]bool{}}
	root := append(object{{"$schema", dialect}, {"title", title}}, w.groupBody(k)...)
	w.defs = append(w.defs,
		member{"expression", object{
			{"type", "string"},
			{"description", "Plain arithmetic over dimensions: + - * / and parentheses; a number may have its unit behind it."},
			{"pattern", `^[-+*/(). 0-9A-Za-z_·²]+$`},
		}},
		member{"polar", object{
			{"type", "object"},
			{"properties", object{
				{"radius", w.value(radiusKey)},
				{"angle", w.value(angleKey)},
			}},
			{"required", []string{"radius", "angle"}},
			{"additionalProperties", false},
		}},
		member{"zrange", object{
			{"type", "object"},
			{"properties", object{
				{"from", w.value(spanKey.Keys[0])},
				{"to", w.value(spanKey.Keys[1])},
			}},
			{"required", []string{"from", "to"}},
			{"additionalProperties", false},
		}})
	slices.SortFunc(w.defs, func(a, b member) int { return strings.Compare(a.key, b.key) })
	root = append(root, member{"$defs", w.defs})
	data, err := marshal(root)
	if err != nil {
		panic("params: JSON Schema: " + err.Error()) // strings, numbers and lists only
	}
	var out bytes.Buffer
	if err := json.Indent(&out, data, "", "  "); err != nil {
		panic("params: JSON Schema: " + err.Error())
	}
	out.WriteByte('\n')
	return out.Bytes()
}

// groupBody is the schema of a mapping with fixed keys.
func (w *schemaWriter) groupBody(k *Key) object {
	var props object
	groups := map[string][]any{}
	var order []string
	for _, c := range k.Keys {
		props = append(props, member{c.Name, w.described(c)})
		if c.OneOf != "" {
			if groups[c.OneOf] == nil {
				order = append(order, c.OneOf)
			}
			groups[c.OneOf] = append(groups[c.OneOf], object{{"required", []string{c.Name}}})
		}
	}
	body := object{{"type", "object"}, {"properties", props}}
	if req := requiredNames(k); req != nil {
		body = append(body, member{"required", req})
	}
	body = append(body, member{"additionalProperties", false})
	var all []any
	for _, g := range order {
		all = append(all, object{{"oneOf", groups[g]}})
	}
	if all != nil {
		body = append(body, member{"allOf", all})
	}
	return body
}

// described is the schema of a key's value with its documentation.
func (w *schemaWriter) described(k *Key) object {
	doc := k.Doc
	if u := unitSuffix(k.Unit); u != "" {
		doc += " Unit:" + u + "."
	}
	out := object{{"description", doc}}
	if k.Default != "" {
		out = append(out, member{"default", jsonDefault(k)})
	}
	return append(out, w.value(k)...)
}

func jsonDefault(k *Key) any {
	switch k.Kind {
	case Number, Whole:
		if v, err := strconv.ParseFloat(k.Default, 64); err == nil {
			return v
		}
	case Switch:
		return k.Default == "true"
	}
	return k.Default
}

func ref(name string) object { return object{{"$ref", "#/$defs/" + name}} }

func (w *schemaWriter) value(k *Key) object {
	switch k.Kind {
	case Number, Whole:
		n := object{{"type", "number"}}
		if k.Kind == Whole {
			n = object{{"type", "integer"}}
		}
		for _, b := range []struct {
			key string
			v   *float64
		}{{"minimum", k.Min}, {"exclusiveMinimum", k.Above}, {"maximum", k.Max}} {
			if b.v != nil {
				n = append(n, member{b.key, *b.v})
			}
		}
		return object{{"anyOf", []any{n, ref("expression")}}}
	case Text:
		t := object{{"type", "string"}}
		if k.Enum != nil {
			return append(t, member{"enum", k.Enum})
		}
		if names, ok := tables.Builtin().Names(k.Ref); ok {
			return append(t, member{"examples", names})
		}
		if k.Required || k.Ref != "" {
			t = append(t, member{"minLength", 1})
		}
		return t
	case Switch:
		return object{{"type", "boolean"}}
	case Point:
		return object{{"anyOf", w.point()}}
	case Place2D:
		return object{{"anyOf", append([]any{object{{"type", "string"}, {"minLength", 1}}}, w.point()...)}}
	case ZRange:
		name := object{{"type", "string"}, {"minLength", 1}}
		return object{{"anyOf", []any{
			name,
			object{{"type", "array"}, {"items", name}, {"minItems", 1}, {"uniqueItems", true}},
			ref("zrange"),
		}}}
	case List:
		l := object{{"type", "array"}, {"items", w.value(k.Elem)}}
		if k.Required {
			l = append(l, member{"minItems", 1})
		}
		return l
	case Section:
		s := object{{"type", "object"}, {"additionalProperties", w.value(k.Elem)}}
		if k.Names != nil {
			s = append(s, member{"propertyNames", object{{"enum", k.Names}}})
		}
		return s
	}
	if !w.done[k.Type] {
		w.done[k.Type] = true
		w.defs = append(w.defs, member{k.Type, w.groupBody(k)})
	}
	if k.Short {
		return object{{"anyOf", append([]any{ref(k.Type)}, w.point()...)}}
	}
	return ref(k.Type)
}

// point is [x, y] or the polar form.
func (w *schemaWriter) point() []any {
	c := w.value(&Key{Kind: Number, Unit: "mm"})
	return []any{
		object{{"type", "array"}, {"prefixItems", []any{c, c}}, {"items", false}, {"minItems", 2}},
		ref("polar"),
	}
}
