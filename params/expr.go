package params

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// expr is a node of plain arithmetic. off counts runes from the start of the
// text and is the place that a message about the node points at.
type expr struct {
	op   byte // '+', '-', '*', '/', 'n' negated, '#' number, 'd' dimension
	off  int
	num  float64
	unit string // unit written behind a number, or ""
	end  int    // where a number's digits end
	name string // dimension
	l, r *expr
}

// exprError is a fault at a place in an expression.
type exprError struct {
	off int
	msg string
}

func (e *exprError) Error() string { return e.msg }

// maxDepth limits parentheses and signs, so that no file can exhaust the stack.
const maxDepth = 64

// exprParser reads + − * / ( ), decimal numbers, units behind numbers and names.
type exprParser struct {
	s     []rune
	i     int
	depth int
	want  string // unit of the value, for hints
}

// parseExpr parses plain arithmetic. want is the unit that the value must have
// in the end; it is used for hints only.
func parseExpr(text, want string) (e *expr, err *exprError) {
	p := &exprParser{s: []rune(text), want: want}
	e, err = p.sum()
	if err != nil {
		return nil, err
	}
	if p.skip(); p.i < len(p.s) {
		return nil, p.unexpected()
	}
	return e, nil
}

func (p *exprParser) skip() {
	for p.i < len(p.s) && unicode.IsSpace(p.s[p.i]) {
		p.i++
	}
}

func (p *exprParser) peek() rune {
	if p.skip(); p.i < len(p.s) {
		return p.s[p.i]
	}
	return 0
}

func (p *exprParser) fail(off int, format string, args ...any) *exprError {
	return &exprError{off, fmt.Sprintf(format, args...)}
}

// chain parses operands of one precedence, grouping to the left. It is a loop
// so that a long sum takes no stack.
func (p *exprParser) chain(ops string, operand func() (*expr, *exprError)) (*expr, *exprError) {
	l, err := operand()
	for err == nil {
		c := p.peek()
		if c == 0 || !strings.ContainsRune(ops, c) {
			return l, nil
		}
		e := &expr{op: byte(c), off: p.i, l: l}
		p.i++
		e.r, err = operand()
		l = e
	}
	return nil, err
}

func (p *exprParser) sum() (*expr, *exprError)     { return p.chain("+-", p.product) }
func (p *exprParser) product() (*expr, *exprError) { return p.chain("*/", p.factor) }

func (p *exprParser) factor() (*expr, *exprError) {
	p.depth++
	defer func() { p.depth-- }()
	if p.depth > maxDepth {
		return nil, p.fail(p.i, "is nested too deeply; at most %d parentheses and signs may stand inside each other", maxDepth)
	}
	c := p.peek()
	at := p.i
	switch {
	case c == '-' || c == '+':
		p.i++
		e, err := p.factor()
		if err != nil || c == '+' {
			return e, err
		}
		return &expr{op: 'n', off: at, l: e}, nil
	case c == '(':
		p.i++
		e, err := p.sum()
		if err != nil {
			return nil, err
		}
		switch p.peek() {
		case ')':
			p.i++
			return e, nil
		case 0:
			return nil, p.fail(at, `has "(" without ")"; close it`)
		}
		return nil, p.unexpected()
	case c == '.' || c >= '0' && c <= '9':
		return p.number()
	case isLetter(c):
		name := p.word()
		if p.peek() == '(' {
			return nil, p.fail(at, "%q looks like a function; only + - * / and parentheses are allowed", name)
		}
		return &expr{op: 'd', off: at, name: name}, nil
	}
	return nil, p.unexpected()
}

func isLetter(c rune) bool { return c == '_' || unicode.IsLetter(c) }
func isDigit(c rune) bool  { return c >= '0' && c <= '9' }

func (p *exprParser) word() string {
	start := p.i
	for p.i < len(p.s) && (isLetter(p.s[p.i]) || unicode.IsDigit(p.s[p.i])) {
		p.i++
	}
	return string(p.s[start:p.i])
}

// number reads a decimal number and the unit behind it. Forms that other
// programs read differently (010, 0x10, 1_000) are refused.
func (p *exprParser) number() (*expr, *exprError) {
	start := p.i
	digits := func() {
		for p.i < len(p.s) && isDigit(p.s[p.i]) {
			p.i++
		}
	}
	if p.s[p.i] == '0' && p.i+1 < len(p.s) {
		switch next := p.s[p.i+1]; {
		case strings.ContainsRune("xXoObB", next) && p.i+2 < len(p.s) && isHex(p.s[p.i+2]):
			p.i += 2
			word := p.word()
			return nil, p.fail(start, "\"%s%s\" is not a decimal number; write it in plain decimal digits%s",
				string(p.s[start:start+2]), word, decimalHint(string(p.s[start:start+2])+word))
		case isDigit(next):
			digits()
			text := string(p.s[start:p.i])
			return nil, p.fail(start, "%q starts with 0, which some programs read as octal; write %s", text, trimZeros(text))
		}
	}
	digits()
	if p.i < len(p.s) && p.s[p.i] == '.' {
		p.i++
		digits()
	}
	if p.i == start+1 && p.s[start] == '.' {
		return nil, p.fail(start, `"." is not a number`)
	}
	if p.i < len(p.s) && (p.s[p.i] == 'e' || p.s[p.i] == 'E') {
		j := p.i + 1
		if j < len(p.s) && (p.s[j] == '+' || p.s[j] == '-') {
			j++
		}
		if j < len(p.s) && isDigit(p.s[j]) {
			p.i = j
			digits()
		}
	}
	text := string(p.s[start:p.i])
	if p.i < len(p.s) && p.s[p.i] == '_' {
		p.i = start
		for p.i < len(p.s) && (isDigit(p.s[p.i]) || strings.ContainsRune("_.", p.s[p.i])) {
			p.i++
		}
		text = string(p.s[start:p.i])
		return nil, p.fail(start, "%q has underscores; write %s", text, strings.ReplaceAll(text, "_", ""))
	}
	if p.i+1 < len(p.s) && p.s[p.i] == ',' && isDigit(p.s[p.i+1]) {
		return nil, p.fail(p.i, "a comma cannot stand in a number; the decimal sign is a point")
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(v, 0) {
		return nil, p.fail(start, "%s is too large for a number", text)
	}
	e := &expr{op: '#', off: start, num: v, end: p.i}
	return e, p.suffix(e, text)
}

// suffix reads the unit behind a number, if there is one.
func (p *exprParser) suffix(e *expr, number string) *exprError {
	c := p.peek()
	if !isLetter(c) && c != '°' && c != '%' {
		return nil
	}
	at := p.i
	if u := p.longestUnit(); u != "" {
		p.i += len([]rune(u))
		if f, ok := foreign[u]; ok && u != p.want {
			if f.use == p.want || p.want == "" {
				as := ""
				if f.use != "1" {
					as = " " + f.use
				}
				return p.fail(at, "%q is not a unit of this file form; write %s%s", u, trimNum(e.num*f.factor), as)
			}
			return p.fail(at, "%q is not a unit of this file form, and %s is wanted here", u, unitOf(p.want).quantity())
		}
		if t, ok := typed[u]; ok {
			u = t
		}
		e.unit = u
		return nil
	}
	word := p.word()
	return p.fail(at, "%q after a number is neither a unit nor an operator; to multiply write %s*%s", word, number, word)
}

// longestUnit returns the longest unit spelled at the current place.
func (p *exprParser) longestUnit() string {
	best := ""
	try := func(u string) {
		r := []rune(u)
		if len(r) <= len([]rune(best)) || p.i+len(r) > len(p.s) || string(p.s[p.i:p.i+len(r)]) != u {
			return
		}
		if end := p.i + len(r); end < len(p.s) && (isLetter(p.s[end]) || isDigit(p.s[end])) && isLetter(r[len(r)-1]) {
			return
		}
		best = u
	}
	for u := range units {
		if u != "1" {
			try(u)
		}
	}
	for u := range typed {
		try(u)
	}
	for u := range foreign {
		try(u)
	}
	if u := p.want; u != "" && unitOf(u).opaque != "" {
		try(u)
	}
	return best
}

func (p *exprParser) unexpected() *exprError {
	c := p.peek()
	switch {
	case c == 0 && len(p.s) == 0:
		return p.fail(0, "has no value; write a number")
	case c == 0:
		return p.fail(len(p.s), "ends too early; a number or a dimension must follow")
	case c == '−' || c == '–' || c == '—':
		return p.fail(p.i, "%q is not the minus sign of the keyboard; write -", string(c))
	case c == '×' || c == '·':
		return p.fail(p.i, "%q is not an operator; write * to multiply", string(c))
	case c == '÷' || c == ':':
		return p.fail(p.i, "%q is not an operator; write / to divide", string(c))
	case c == '^' || c == '*' && p.i > 0 && p.s[p.i-1] == '*':
		return p.fail(p.i, "there are no powers; write a*a")
	case c == ',':
		return p.fail(p.i, "a comma cannot stand in a number; the decimal sign is a point")
	case c == ')':
		return p.fail(p.i, `")" has no "(" before it`)
	}
	return p.fail(p.i, "%q cannot stand here; a number is digits with a decimal point, or arithmetic with + - * / ( ) and dimensions", string(c))
}

func isHex(c rune) bool {
	return isDigit(c) || c >= 'a' && c <= 'f' || c >= 'A' && c <= 'F'
}

func decimalHint(text string) string {
	if v, err := strconv.ParseInt(strings.ToLower(text), 0, 64); err == nil {
		return fmt.Sprintf(", %d", v)
	}
	return ""
}

func trimZeros(text string) string {
	if s := strings.TrimLeft(text, "0"); s != "" {
		return s
	}
	return "0"
}

// trimNum prints a number as a person would write it, rounded to 12 digits.
func trimNum(v float64) string {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 12, 64), 64)
	return exactNum(r)
}

// exactNum prints the shortest decimal that reads back as v.
func exactNum(v float64) string {
	if v == 0 {
		return "0"
	}
	if a := math.Abs(v); a >= 1e-6 && a < 1e15 {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}
