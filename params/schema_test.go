package params

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"gopkg.in/yaml.v3"
)

// eachKey visits every key of a schema once for each group type.
func eachKey(root *Key, visit func(owner *Key, path string, k *Key)) {
	for _, g := range groups(root) {
		for _, k := range g.key.Keys {
			visit(g.key, join(g.paths[0], k.Name), k)
		}
	}
}

// A tag that cannot hold must be found here and not by a user.
func TestTags(t *testing.T) {
	sections := map[string]bool{"printers": true, "materials": true, "pins": true, "screws": true, "leadscrews": true, "slides": true, "motors": true}
	for _, k := range designSchema.Keys {
		sections[k.Name] = k.Kind == Section
	}
	for _, root := range []*Key{designSchema, tableSchema, sweepSchema} {
		eachKey(root, func(owner *Key, path string, k *Key) {
			if k.Doc == "" {
				t.Errorf("%s: no doc", path)
			}
			if k.Ref != "" && !sections[k.Ref] {
				t.Errorf("%s: ref to %q, which is no section or table", path, k.Ref)
			}
			if k.Required && (k.OneOf != "" || k.Default != "") {
				t.Errorf("%s: required, but with a choice or default", path)
			}
			if k.OneOf != "" && !k.pointer {
				t.Errorf("%s: a choice must be a pointer", path)
			}
			if k.Enum != nil && k.Default != "" && !strings.Contains("|"+strings.Join(k.Enum, "|")+"|", "|"+k.Default+"|") {
				t.Errorf("%s: default %q is not one of %v", path, k.Default, k.Enum)
			}
			numeric := k.Kind == Number || k.Kind == Whole
			if k.Kind == Number && k.Unit == "" {
				t.Errorf("%s: a number without a unit", path)
			}
			if numeric && k.Default != "" {
				checkBounds(t, path+" (default)", k, k.Default)
			}
			for c := k; c != nil; c = c.Elem {
				if !numeric && c.Kind != List && c.Kind != Section && c.Kind != Number && (k.Min != nil || k.Max != nil || k.Above != nil) {
					t.Errorf("%s: bounds on what is no number", path)
				}
			}
		})
	}
}

func checkBounds(t *testing.T, path string, k *Key, text string) {
	t.Helper()
	q, err := evalText(text, k.Unit)
	if err != nil {
		t.Errorf("%s: %v", path, err)
		return
	}
	if k.Above != nil && q.v <= *k.Above || k.Min != nil && q.v < *k.Min || k.Max != nil && q.v > *k.Max || k.Kind == Whole && q.v != math.Trunc(q.v) {
		t.Errorf("%s: %s is out of bounds", path, text)
	}
}

// Every key stands on the reference page and in the terminal listing, and every
// example decodes.
func TestReference(t *testing.T) {
	page := Reference()
	if page != Reference() {
		t.Error("the page differs from call to call")
	}
	var dims yaml.Node
	if err := yaml.Unmarshal([]byte("dimensions: {rail: {value: 1, unit: mm}, arm: {value: 1, unit: mm}}"), &dims); err != nil {
		t.Fatal(err)
	}
	for _, root := range []*Key{designSchema, tableSchema, sweepSchema} {
		eachKey(root, func(owner *Key, path string, k *Key) {
			line := fmt.Sprintf("| `%s`%s | %s |", k.Name, k.mark(), cell(k.typeText()))
			if !strings.Contains(page, line) || !strings.Contains(page, cell(k.Doc)) {
				t.Errorf("%s: not on the page", path)
			}
			example := k.example()
			if strings.Contains(example, "…") {
				return
			}
			var n yaml.Node
			if err := yaml.Unmarshal([]byte(k.Name+": "+example), &n); err != nil {
				t.Errorf("%s: example %q is not YAML: %v", path, example, err)
				return
			}
			d := &decoder{src: &source{file: "f"}, out: newSink(), names: map[string][]string{}, own: "mm",
				origin: &Origin{Pos: map[string]Pos{}, Uses: map[string][]string{}},
				layers: map[string]LayerSpan{"my-layer": {0, 4}}}
			if k.typ == reflect.TypeFor[Named[Dimension]]() || k.Name == "my-name" {
				return // needs the dimensions of a file
			}
			node := n.Content[0].Content[1]
			d.dims = newDimensions(d, dims.Content[0])
			if !d.value(node, Pos{}, k, reflect.New(owner.typ).Elem().Field(k.field), "x") {
				t.Errorf("%s: example %q: %v", path, example, d.out.errs)
			}
		})
	}
	listed, err := Listing("")
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range designSchema.Keys {
		part := k.Name
		if k.Kind == Section || k.Kind == Group {
			text, err := Listing(part)
			if err != nil {
				t.Errorf("%s: %v", part, err)
			}
			if first := groupOf(k).Keys[0].Name; !strings.Contains(text, "  "+first) {
				t.Errorf("%s: listing without %q", part, first)
			}
		}
		if !strings.Contains(listed, "\n  "+part) {
			t.Errorf("top listing without %q", part)
		}
	}
	sweep, err := Listing("sweep")
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range groups(sweepSchema) {
		for _, k := range g.key.Keys {
			if !strings.Contains(sweep, "\n  "+k.Name) {
				t.Errorf("sweep listing without %q of %q", k.Name, g.paths)
			}
		}
	}
	if _, err := Listing("rampss"); err == nil || err.Error() != `"rampss" is not a section of the finger file; did you mean "ramps"?` {
		t.Errorf("unknown section: %v", err)
	}
}

func groupOf(k *Key) *Key {
	for k.Elem != nil {
		k = k.Elem
	}
	return k
}

// JSON Schema 2020-12: the dialect URI is in $schema, every $ref is resolved in
// $defs and every definition is used, tuples use prefixItems, keywords are those
// of the core, applicator, validation and meta-data vocabularies.
func TestJSONSchema(t *testing.T) {
	known := map[string]bool{"$schema": true, "$defs": true, "$ref": true, "title": true, "description": true, "default": true, "examples": true,
		"type": true, "enum": true, "properties": true, "required": true, "additionalProperties": true, "items": true, "prefixItems": true,
		"minItems": true, "uniqueItems": true, "minLength": true, "pattern": true, "minimum": true, "exclusiveMinimum": true, "maximum": true,
		"anyOf": true, "oneOf": true, "allOf": true, "propertyNames": true}
	for name, data := range map[string][]byte{"finger": JSONSchema(), "table": TableJSONSchema(), "sweep": SweepJSONSchema()} {
		if !bytes.Equal(data, JSONSchema()) && !bytes.Equal(data, TableJSONSchema()) && !bytes.Equal(data, SweepJSONSchema()) {
			t.Errorf("%s: bytes differ from call to call", name)
		}
		var root map[string]any
		if err := json.Unmarshal(data, &root); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if root["$schema"] != "https://json-schema.org/draft/2020-12/schema" {
			t.Errorf("%s: dialect %v", name, root["$schema"])
		}
		defs := root["$defs"].(map[string]any)
		used := map[string]bool{}
		var walk func(at string, v any)
		walk = func(at string, v any) {
			m, ok := v.(map[string]any)
			if !ok {
				if b, isBool := v.(bool); !isBool || b {
					t.Errorf("%s: %s is no schema: %v", name, at, v)
				}
				return
			}
			for key, v := range m {
				if !known[key] {
					t.Errorf("%s: %s: keyword %q", name, at, key)
				}
				switch key {
				case "$ref":
					def, ok := strings.CutPrefix(v.(string), "#/$defs/")
					if _, has := defs[def]; !ok || !has {
						t.Errorf("%s: %s: $ref %v leads nowhere", name, at, v)
					}
					used[def] = true
				case "properties", "$defs":
					for k, c := range v.(map[string]any) {
						walk(at+"/"+key+"/"+k, c)
					}
				case "anyOf", "oneOf", "allOf", "prefixItems":
					for i, c := range v.([]any) {
						walk(fmt.Sprintf("%s/%s/%d", at, key, i), c)
					}
				case "items", "additionalProperties":
					walk(at+"/"+key, v)
				case "required":
					props, _ := m["properties"].(map[string]any)
					for _, r := range v.([]any) {
						if props != nil && props[r.(string)] == nil {
							t.Errorf("%s: %s: required %v is no property", name, at, r)
						}
					}
				}
			}
		}
		walk("#", root)
		for def := range defs {
			if !used[def] && !(name != "finger" && (def == "polar" || def == "zrange")) {
				t.Errorf("%s: definition %q is not used", name, def)
			}
		}
	}
	text := string(JSONSchema())
	eachKey(designSchema, func(_ *Key, path string, k *Key) {
		if !strings.Contains(text, `"`+k.Name+`": {`) {
			t.Errorf("%s: not in the schema", path)
		}
	})
}
