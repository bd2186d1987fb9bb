package params

import (
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"gopkg.in/yaml.v3"

	"tuckfinger/params/tables"
)

// number decodes a Number or Whole: arithmetic, unit, bounds, conversion.
func (d *decoder) number(n *yaml.Node, k *Key, path string) (float64, bool) {
	u := k.Unit
	if u == "own" {
		u = d.own
	}
	if d.dims != nil && n == d.dims.node(path) {
		// A dimension's own value was, or is now, computed with the others.
		q, ok := d.dims.value(d.dims.at[path])
		return q.v, ok
	}
	q, used, ok := d.arithmetic(n, k, u, path)
	if !ok {
		return 0, false
	}
	if len(used) > 0 {
		d.uses(path, used)
	}
	x := q.v
	shown := exactNum(x) + unitSuffix(u)
	if k.Kind == Whole && (x != math.Trunc(x) || math.Abs(x) > 1<<31) {
		d.out.errorf(d.src.at(n), path, "is %s; it must be a whole number", shown)
		return 0, false
	}
	outside := func(x float64) bool {
		return k.Above != nil && x <= *k.Above || k.Min != nil && x < *k.Min || k.Max != nil && x > *k.Max
	}
	if outside(x) {
		// Nobody wrote the digits of a computed number; six of them do where they show the fault.
		if r, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 6, 64), 64); err == nil && len(used) > 0 && outside(r) {
			shown = exactNum(r) + unitSuffix(u)
		}
		d.out.errorf(d.src.at(n), path, "is %s; it must be %s", shown, k.boundsText()+unitSuffix(u))
		return 0, false
	}
	if k.Unit == "own" {
		return x, true
	}
	x = unitOf(u).inside(x)
	if math.IsInf(x, 0) {
		d.out.errorf(d.src.at(n), path, "%s is too large for a number", shown)
		return 0, false
	}
	return x, true
}

// largest is the largest number that is accepted, so that no later square or
// product of a few numbers can overflow.
const largest = 1e9

// arithmetic evaluates the text of a number. The result is in unit u, and used
// are the dimensions it depends on.
func (d *decoder) arithmetic(n *yaml.Node, k *Key, u, path string) (q qty, used []string, ok bool) {
	pos := d.src.at(n)
	if n.Kind != yaml.ScalarNode {
		d.wrong(n, k, path)
		return q, nil, false
	}
	text := n.Value
	quoted := n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0
	switch {
	case n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0:
		d.out.errorf(pos, path, "is a block of text; write %s on the same line", k.want())
		return q, nil, false
	case strings.TrimSpace(text) == "":
		d.out.errorf(pos, path, "is empty text; write %s", k.want())
		return q, nil, false
	case quoted && isPlainNumber(text):
		d.out.errorf(pos, path, "is %s in quotes, which is text; write %s without quotes", text, strings.TrimSpace(text))
		return q, nil, false
	}
	switch strings.ToLower(text) {
	case ".nan", ".inf", "-.inf", "+.inf":
		d.out.errorf(pos, path, "%s is not a number that can be built; write %s", text, k.want())
		return q, nil, false
	case "true", "false":
		d.out.errorf(pos, path, "must be %s, not %q", k.want(), text)
		return q, nil, false
	}
	want := u
	if u == unknownUnit {
		want = ""
	}
	e, err := parseExpr(text, want)
	if err == nil && u != unknownUnit {
		q, ok, err = e.eval(d.dims.lookup())
	}
	if err == nil && ok && !q.free && q.u != unitOf(u) {
		err = unitError(q.u, u)
	}
	if err != nil {
		msg := err.msg
		if text != "" && err.off > 0 {
			msg = "in \"" + text + "\": " + msg
		}
		d.out.errorf(d.src.column(n, err.off), path, "%s", msg)
		return q, nil, false
	}
	if !ok {
		d.out.poison(path) // a faulty dimension, reported there
		return q, nil, false
	}
	if math.Abs(q.v) > largest {
		d.out.errorf(pos, path, "is %s%s; no number in a finger file may be larger than %s", exactNum(q.v), unitSuffix(u), exactNum(largest))
		return q, nil, false
	}
	q.u, q.free = unitOf(u), false
	return q, d.dims.usedBy(e), true
}

func unitError(is unit, want string) *exprError {
	w := unitOf(want)
	hint := ""
	switch {
	case is == pure:
		hint = "; multiply it by a dimension, or write a unit behind a number (2 " + w.String() + ")"
	case w == pure:
		hint = "; divide it by another " + is.String()
	}
	return &exprError{0, "is " + is.quantity() + ", but " + w.quantity() + " is wanted" + hint}
}

func isPlainNumber(text string) bool {
	_, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	return err == nil
}

// text decodes text, a word of an enum, or a reference.
func (d *decoder) text(n *yaml.Node, k *Key, path string) (string, bool) {
	if n.Kind != yaml.ScalarNode {
		return "", d.wrong(n, k, path)
	}
	s := strings.TrimSpace(n.Value)
	pos := d.src.at(n)
	if t, ok := typed[s]; ok && slices.Contains(k.Enum, t) {
		s = t
	}
	switch {
	case k.Enum != nil && !slices.Contains(k.Enum, s):
		hint := didYouMean(s, k.Enum, "")
		if f, ok := foreign[s]; ok && slices.Contains(k.Enum, f.use) {
			hint = "; did you mean " + strconv.Quote(f.use) + "?"
		}
		d.out.errorf(pos, path, "%q is not allowed; choose %s%s", n.Value, wordList(k.Enum, "or"), hint)
		return "", false
	case s == "" && (k.Required || k.Ref != ""):
		d.out.errorf(pos, path, "is empty; write %s", k.want())
		return "", false
	}
	if k.Ref != "" {
		if msg := d.badRef(s, k.Ref); msg != "" {
			d.out.errorf(pos, path, "%s", msg)
			return "", false
		}
	}
	return s, true
}

// badRef says that no entry of a section has the name, or "".
func (d *decoder) badRef(name, section string) string {
	names, known := d.names[section]
	if !known || slices.Contains(names, name) {
		return ""
	}
	return notThere(name, oneOf(section), names, "there are ")
}

// notThere is the message about a name that does not exist.
func notThere(name, what string, names []string, there string) string {
	msg := strconv.Quote(name) + " is not " + what
	if near := tables.Nearest(name, names); near != "" {
		return msg + "; did you mean " + strconv.Quote(near) + "?"
	}
	if len(names) == 0 {
		return msg + "; the file has none"
	}
	return msg + "; " + there + wordList(names, "and")
}

func didYouMean(name string, names []string, otherwise string) string {
	if near := tables.Nearest(name, names); near != "" {
		return "; did you mean " + strconv.Quote(near) + "?"
	}
	return otherwise
}

// truth decodes true or false. YAML readers disagree on the other spellings.
func (d *decoder) truth(n *yaml.Node, path string) (value, ok bool) {
	if n.Kind == yaml.ScalarNode && n.Style == 0 {
		switch n.Value {
		case "true":
			return true, true
		case "false":
			return false, true
		}
	}
	hint := ""
	if n.Kind == yaml.ScalarNode {
		switch strings.ToLower(n.Value) {
		case "true", "yes", "on", "y", "1":
			hint = "; write true"
		case "false", "no", "off", "n", "0":
			hint = "; write false"
		}
	}
	d.out.errorf(d.src.at(n), path, "must be true or false, not %s%s", kindWord(n), hint)
	return false, false
}

// setDefaults writes the defaults of a group and of the groups in it that are
// always there.
func setDefaults(k *Key, v reflect.Value) {
	for _, c := range k.Keys {
		f := v.Field(c.field)
		if c.pointer {
			continue
		}
		if c.Kind == Group {
			setDefaults(c, f)
		}
		if c.Default == "" {
			continue
		}
		switch c.Kind {
		case Number:
			x, _ := strconv.ParseFloat(c.Default, 64)
			f.SetFloat(unitOf(c.Unit).inside(x))
		case Whole:
			x, _ := strconv.Atoi(c.Default)
			f.SetInt(int64(x))
		case Text:
			f.SetString(c.Default)
		case Switch:
			f.SetBool(c.Default == "true")
		}
	}
}
