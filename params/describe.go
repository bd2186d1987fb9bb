package params

import (
	"fmt"
	"strings"

	"tuckfinger/params/tables"
)

// Describe returns the keys of a part of the finger file for a terminal: of the
// whole file for "", of a section or group for its path, such as "ramps" or
// "ramps.rail". Names of entries are left out of the path. An unknown key is an
// error that names the nearest one.
func Describe(path string) (string, error) {
	k := designSchema
	var steps []string
	if path != "" {
		steps = strings.Split(path, ".")
	}
	for i, name := range steps {
		next := k.inner().Key(name)
		if next == nil {
			at := strings.Join(steps[:i], ".")
			if at == "" {
				at = "a finger file"
			}
			return "", fmt.Errorf("%q is no key of %s%s; there are %s", name, at, tables.Suggest(name, k.inner().KeyNames()), strings.Join(k.inner().KeyNames(), ", "))
		}
		k = next
	}
	var b strings.Builder
	if k.Doc != "" {
		fmt.Fprintf(&b, "%s: %s. %s\n", path, k.typeText(), k.Doc)
	}
	width := 0
	for _, c := range k.inner().Keys {
		width = max(width, len([]rune(c.Name+c.mark())))
	}
	for _, c := range k.inner().Keys {
		fmt.Fprintf(&b, "  %-*s  %s\n", width, c.Name+c.mark(), strings.Join(c.facts(), "; "))
	}
	if len(k.inner().Keys) > 0 {
		b.WriteString("* must be given   † exactly one of these\n")
	}
	return b.String(), nil
}

// inner is the group that a section or list is made of, or the key itself.
func (k *Key) inner() *Key {
	for k.Kind == Section || k.Kind == List {
		k = k.Elem
	}
	return k
}

// facts are what there is to say of a key, in order.
func (k *Key) facts() []string {
	s := []string{k.typeText()}
	if u := k.unitText(); u != "" {
		s = append(s, u)
	}
	if b := k.boundsCell(); b != "" {
		s = append(s, b)
	}
	if k.Default != "" {
		s = append(s, "default "+k.Default)
	}
	return append(s, k.Doc)
}
