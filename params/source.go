package params

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"gopkg.in/yaml.v3"
)

// maxBytes limits a file; the largest sensible finger file is a tenth of it.
const maxBytes = 1 << 20

// source is one file, read as text and as YAML nodes.
type source struct {
	file  string
	lines [][]rune
	root  *yaml.Node // the top mapping; nil if there is none
}

func (s *source) at(n *yaml.Node) Pos { return Pos{s.file, n.Line, n.Column} }

// readSource parses one YAML document. What is wrong is put into the sink; a
// nil result means that nothing more can be said about the file.
func readSource(file string, data []byte, out *sink) *source {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	s := &source{file: file}
	if !s.readable(data, out) {
		return nil
	}
	text := strings.ReplaceAll(strings.ReplaceAll(string(data), "\r\n", "\n"), "\r", "\n")
	for line := range strings.SplitSeq(text, "\n") {
		s.lines = append(s.lines, []rune(line))
	}
	dec := yaml.NewDecoder(bytes.NewReader(data))
	var doc, second yaml.Node
	switch err := decodeNode(dec, &doc); {
	case errors.Is(err, io.EOF) || err == nil && len(doc.Content) == 0:
		out.errorf(Pos{file, 1, 1}, "", "the file is empty; it needs at least %s", wordList(requiredNames(designSchema), "and"))
		return nil
	case err != nil:
		pos, msg := s.syntax(err)
		out.errorf(pos, "", "%s", msg)
		return nil
	}
	switch err := decodeNode(dec, &second); {
	case errors.Is(err, io.EOF):
	case err != nil:
		pos, msg := s.syntax(err)
		out.errorf(pos, "", "%s", msg)
		return nil
	default:
		pos := s.at(&second)
		for i := min(pos.Line, len(s.lines)); i > 0; i-- {
			if strings.HasPrefix(string(s.lines[i-1]), "---") {
				pos.Line, pos.Col = i, 1
				break
			}
		}
		out.errorf(pos, "", `a second document starts after "---"; a file holds one, so delete the line or split the file`)
	}
	s.root = doc.Content[0]
	return s
}

// decodeNode turns a panic of the YAML library into an error.
func decodeNode(dec *yaml.Decoder, n *yaml.Node) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("yaml: the text cannot be read (%v)", r)
		}
	}()
	return dec.Decode(n)
}

// readable checks size, encoding and characters.
func (s *source) readable(data []byte, out *sink) bool {
	if len(data) > maxBytes {
		out.errorf(Pos{s.file, 1, 1}, "", "the file has %d bytes; at most %d are read, so this is not a finger file", len(data), maxBytes)
		return false
	}
	if bytes.HasPrefix(data, []byte{0xff, 0xfe}) || bytes.HasPrefix(data, []byte{0xfe, 0xff}) {
		out.errorf(Pos{s.file, 1, 1}, "", "the file is UTF-16 text; save it as UTF-8")
		return false
	}
	line, col := 1, 1
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		pos := Pos{s.file, line, col}
		switch {
		case r == utf8.RuneError && n == 1:
			out.errorf(pos, "", "byte 0x%02x is not UTF-8 text; save the file as UTF-8", data[i])
			return false
		case r < ' ' && r != '\t' && r != '\n' && r != '\r', r == 0x7f, r > 0x7f && r < 0xa0, r == 0x2028, r == 0x2029, r == 0xfeff, r == 0xfffe, r == 0xffff:
			out.errorf(pos, "", "character U+%04X is invisible and not allowed; delete it", r)
			return false
		}
		i += n
		if col++; r == '\n' || r == '\r' && (i >= len(data) || data[i] != '\n') {
			line, col = line+1, 1
		}
	}
	return true
}

func requiredNames(k *Key) []string {
	var names []string
	for _, c := range k.Keys {
		if c.Required {
			names = append(names, c.Name)
		}
	}
	return names
}

var (
	yamlLine   = regexp.MustCompile(`^(?:yaml: )?line (\d+): `)
	yamlAnchor = regexp.MustCompile(`unknown anchor '(.*)' referenced`)
)

// syntax turns an error of the YAML library into a place and a message for a
// person. The library counts lines from 0 in errors of its parser ("did not
// find expected ...") and from 1 in errors of its scanner, and leaves out line 0.
func (s *source) syntax(err error) (Pos, string) {
	msg := strings.TrimPrefix(err.Error(), "yaml: ")
	line := 1
	if m := yamlLine.FindStringSubmatch(msg); m != nil {
		line, _ = strconv.Atoi(m[1])
		msg = msg[len(m[0]):]
		if strings.HasPrefix(msg, "did not find expected") && !strings.Contains(msg, "line break") {
			line++
		}
	}
	if m := yamlAnchor.FindStringSubmatch(msg); m != nil {
		for i, l := range s.lines {
			if at := strings.Index(string(l), "*"+m[1]); at >= 0 {
				col := utf8.RuneCountInString(string(l)[:at]) + 1
				return Pos{s.file, i + 1, col}, fmt.Sprintf(`"*%s" is a YAML alias, and this file form has none; name a shared number under dimensions and write %s`, m[1], m[1])
			}
		}
	}
	line = min(max(line, 1), len(s.lines))
	// The library is off by a line at times, and a tab is worth finding.
	for _, l := range []int{line, line - 1, line + 1} {
		if l < 1 || l > len(s.lines) {
			continue
		}
		text := string(s.lines[l-1])
		indent := text[:len(text)-len(strings.TrimLeft(text, " \t"))]
		if at := strings.IndexByte(indent, '\t'); at >= 0 {
			return Pos{s.file, l, at + 1}, "the line is indented with a tab; YAML allows spaces only"
		}
	}
	if strings.Contains(msg, "did not find expected key") || strings.Contains(msg, "'-' indicator") {
		line = s.misfit(line)
	}
	text := s.lines[line-1]
	col := 1
	for col <= len(text) && text[col-1] == ' ' {
		col++
	}
	if col > len(text) {
		col = 1
	}
	has := func(part string) bool { return strings.Contains(msg, part) }
	switch {
	case has("mapping values are not allowed"):
		msg = `":" is not expected here; check the indentation of this line, and put text that contains ": " in quotes`
	case has("',' or ']'"):
		msg = `a list "[ ... ]" is not closed, or lacks a comma, at or before this line`
	case has("',' or '}'"):
		msg = `"{ ... }" is not closed, or lacks a comma, at or before this line`
	case has("unexpected end of stream"):
		msg = "a quote is opened and never closed"
	case has("did not find expected key"), has("'-' indicator"), has("could not find expected ':'"):
		msg = `this line does not fit the lines above; check its indentation, and that it is "key: value" or "- value"`
	case has("cannot start any token"):
		msg = "a value starts with a character that YAML reserves (@ ` % and tab); put text in quotes"
	case has("block sequence entries"):
		msg = `"-" followed by a space starts a list item, which cannot stand here; start it on a new line, and write a minus sign without space after it`
	case has("exceeded max depth"):
		msg = "the file is nested too deeply to be a finger file"
	case has("did not find expected node content"):
		msg = `a value is missing between "[", "{", "," or ":" and what follows`
	default:
		msg = "this is not valid YAML: " + msg
	}
	return Pos{s.file, line, col}, msg
}

// misfit returns the first line, from the given one on, that is indented less
// than the line above it and like no line around it. The library reports only
// where the group starts that such a line breaks off.
func (s *source) misfit(from int) int {
	open := []int{0}
	for i, l := range s.lines {
		text := strings.TrimLeft(string(l), " ")
		if text == "" || text[0] == '#' {
			continue
		}
		indent := len(l) - len([]rune(text))
		for indent < open[len(open)-1] {
			open = open[:len(open)-1]
		}
		if indent > open[len(open)-1] {
			if i+1 >= from && i > 0 && indent < s.indentAbove(i) {
				return i + 1
			}
			open = append(open, indent)
		}
		for strings.HasPrefix(text, "- ") { // the keys of a list item
			text = strings.TrimLeft(text[2:], " ")
			indent = len(l) - len([]rune(text))
			open = append(open, indent)
		}
	}
	return from
}

// indentAbove is the indentation of the last line with content above line i.
func (s *source) indentAbove(i int) int {
	for i--; i >= 0; i-- {
		if text := strings.TrimLeft(string(s.lines[i]), " "); text != "" && text[0] != '#' {
			return len(s.lines[i]) - len([]rune(text))
		}
	}
	return 0
}

// column returns where rune off of a scalar's value stands. Where the value is
// not written literally there (escapes, several lines) it is the value's start.
func (s *source) column(n *yaml.Node, off int) Pos {
	pos := s.at(n)
	start := n.Column - 1
	if n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 {
		start++
	}
	value := []rune(n.Value)
	if n.Line < 1 || n.Line > len(s.lines) || start < 0 || start+len(value) > len(s.lines[n.Line-1]) {
		return pos
	}
	if string(s.lines[n.Line-1][start:start+len(value)]) != n.Value {
		return pos
	}
	if off > 0 || start != n.Column-1 {
		pos.Col = start + off + 1
	}
	return pos
}
