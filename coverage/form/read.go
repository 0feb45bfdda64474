// Package form reads the files that people fill in, in TOML, such as the shop file, and
// knows for every mistake its line, table and key.
//
// A file is read once, into values that know their lines ([Read]); those are put into a
// struct ([Bind]), and its figures are checked ([Check]). However a table is written (under
// a header, with dotted keys, inline, or as an entry of a list), it is the same. Money is
// read digit by digit, never through a binary fraction. Reading goes on after a mistake, so
// that all of them are told at once; what is not TOML hides the others.
package form

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// Path leads from the top of a file to a value: keys, and after the key of a list
// the number of one of its entries, from 0.
type Path []any

// To goes on from p, which stays as it is.
func (p Path) To(more ...any) Path { return append(p[:len(p):len(p)], more...) }

var bareKey = regexp.MustCompile(`^[A-Za-z0-9_-]+$`)

// keyText is a key as it must be written.
func keyText(key string) string {
	if bareKey.MatchString(key) {
		return key
	}
	return strconv.Quote(key)
}

// String writes the path like process[0].step[2].seconds.
func (p Path) String() string {
	var b strings.Builder
	for i, part := range p {
		switch part := part.(type) {
		case int:
			fmt.Fprintf(&b, "[%d]", part)
		case string:
			if i > 0 {
				b.WriteByte('.')
			}
			b.WriteString(keyText(part))
		}
	}
	return b.String()
}

// table is the path's keys alone, as a header has them: process.step.
func (p Path) table() string {
	var keys []string
	for _, part := range p {
		if key, ok := part.(string); ok {
			keys = append(keys, keyText(key))
		}
	}
	return strings.Join(keys, ".")
}

// Node is a value of a file and the line it is written on.
//
// However a table is written (under a header, with dotted keys, inline, or as an
// entry of a list of either sort) it comes out as the same nodes.
type Node struct {
	kind  unstable.Kind    // Table, Array, or that of a single value
	key   string           // as it is written; "" in a list and at the top
	line  int              // of its key, of its header, or of itself in a list; from 1
	text  string           // of a single value; without quotes and escapes
	under map[string]*Node // of a table
	order []*Node          // of a table: the same as the file has them
	items []*Node          // of a list
	named bool             // a table or list by a header of its own, and not only by one further down
}

// Keys are those of a table, as the file has them.
func (n *Node) Keys() (keys []string) {
	for _, c := range n.order {
		keys = append(keys, c.key)
	}
	return keys
}

// Figures are the values that begin with a digit, by where they stand: keys parted by dots,
// and an entry of a list by its name, or by its number where it has none.
func (n *Node) Figures() map[string]string {
	out := map[string]string{}
	n.figures("", out)
	return out
}

func (n *Node) figures(at string, out map[string]string) {
	for _, c := range n.order {
		c.figures(at+"."+c.key, out)
	}
	for i, c := range n.items {
		name := fmt.Sprint(i)
		if of := c.under["name"]; of != nil {
			name = of.text
		}
		c.figures(at+"."+name, out)
	}
	if n.text != "" && n.text[0] >= '0' && n.text[0] <= '9' {
		out[at] = n.text
	}
}

func tableNode(key string, line int) *Node {
	return &Node{kind: unstable.Table, key: key, line: line, under: map[string]*Node{}}
}

func (n *Node) add(child *Node) {
	n.under[child.key] = child
	n.order = append(n.order, child)
}

// Find goes down a path as far as the file has it; all says that this is its end.
// A table where a list of tables may stand counts as its first entry.
func (n *Node) Find(p Path) (found *Node, all bool) {
	for _, part := range p {
		var next *Node
		switch part := part.(type) {
		case string:
			next = n.under[part]
		case int:
			if part < len(n.items) {
				next = n.items[part]
			} else if part == 0 && n.kind == unstable.Table {
				next = n
			}
		}
		if next == nil {
			return n, false
		}
		n = next
	}
	return n, true
}

// entry is the name of the innermost entry of a list that the path goes through and
// that has one.
func (n *Node) entry(p Path) (name string) {
	for i, part := range p {
		next, all := n.Find(p[i : i+1])
		if !all {
			break
		}
		n = next
		if _, ok := part.(int); ok {
			if v := n.under["name"]; v != nil && v.kind == unstable.String && v.text != "" {
				name = v.text
			}
		}
	}
	return name
}

// section is a header of the file and the table that the keys after it belong to.
type section struct {
	line  int
	in    Path
	table *Node
}

// reader turns a file into nodes. It goes on after whatever TOML allows to be read
// and yet forbids, such as a key that is given twice.
type reader struct {
	parser   unstable.Parser
	data     []byte
	newlines []int // where they stand
	root     *Node
	sections []section
	found    []Mistake
}

// Read returns a file's values, and what is not TOML in it. A file with mistakes has
// the values that could be read.
func Read(data []byte) (root *Node, found []Mistake) {
	// An editor's byte order mark is no part of the file; offsets are counted from the
	// slice's capacity, so it must have none to spare.
	data = slices.Clip(bytes.TrimPrefix(data, []byte("\ufeff")))
	if bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")) {
		return tableNode("", 1), []Mistake{{line: 1, what: "the file is in UTF-16: save it as UTF-8"}}
	}
	r := &reader{data: data, root: tableNode("", 1)}
	for i, b := range data {
		if b == '\n' {
			r.newlines = append(r.newlines, i)
		}
	}
	r.sections = []section{{0, nil, r.root}}
	r.parser.Reset(data)
	end := 0 // of what has been read
	for r.parser.NextExpression() {
		e := r.parser.Expression()
		switch e.Kind {
		case unstable.KeyValue:
			s := r.here()
			r.keyValue(s.table, s.in, e)
		case unstable.Table, unstable.ArrayTable:
			r.header(e)
		}
		for k := e.Key(); k.Next(); {
			end = int(k.Node().Raw.Offset + k.Node().Raw.Length)
		}
		if e.Kind == unstable.KeyValue {
			end = int(e.Raw.Offset + e.Raw.Length)
		}
	}
	if err := r.parser.Error(); err != nil {
		r.syntax(err, end)
	} else if len(r.found) == 0 {
		r.twice()
	}
	return r.root, r.found
}

func (r *reader) here() section { return r.sections[len(r.sections)-1] }

// line is the line of a byte.
func (r *reader) line(offset int) int {
	n, _ := slices.BinarySearch(r.newlines, offset)
	return n + 1
}

func (r *reader) lineOf(n *unstable.Node) int { return r.line(int(n.Raw.Offset)) }

// down goes from a table to the one of a key, which it makes if there is none. Where
// something else has the key already, it goes to a table that is not in the file:
// [reader.twice] finds that mistake.
func (r *reader) down(n *Node, p Path, key string, line int) (*Node, Path) {
	next := n.under[key]
	if next == nil {
		next = tableNode(key, line)
		n.add(next)
	}
	p = p.To(key)
	if last := len(next.items) - 1; last >= 0 {
		next, p = next.items[last], p.To(last)
	}
	if next.kind != unstable.Table {
		next = tableNode(key, line)
	}
	return next, p
}

// header opens the section of a [table] or a [[list]].
func (r *reader) header(e *unstable.Node) {
	n, p, line := r.root, Path(nil), 0
	for k := e.Key(); k.Next(); {
		key := string(k.Node().Data)
		line = r.lineOf(k.Node())
		list := n.under[key]
		if k.IsLast() && list != nil && list.named && (list.kind == unstable.Table) != (e.Kind == unstable.Table) {
			r.otherwise(list, p.To(key).table(), line)
			n, p = tableNode(key, line), p.To(key)
			continue
		}
		if !k.IsLast() || e.Kind == unstable.Table {
			n, p = r.down(n, p, key, line)
			continue
		}
		if list == nil {
			list = &Node{kind: unstable.Array, key: key, line: line, named: true}
			n.add(list)
		}
		n, p = tableNode("", line), p.To(key, len(list.items))
		n.named = true
		if list.kind == unstable.Array {
			list.items = append(list.items, n)
		}
	}
	if !n.named {
		n.line, n.named = line, true
	}
	r.sections = append(r.sections, section{line, p, n})
}

// otherwise notes that a header has two pairs of brackets once, and one pair once.
func (r *reader) otherwise(before *Node, name string, line int) {
	was, is := "["+name+"]", "[["+name+"]]"
	both := is
	if before.kind == unstable.Array {
		was, is = is, was
	}
	r.found = append(r.found, Mistake{line: line, what: fmt.Sprintf("%s follows %s in line %d: write %s in both places", is, was, before.line, both)})
}

// keyValue puts a key and its value into a table.
func (r *reader) keyValue(n *Node, p Path, e *unstable.Node) {
	for k := e.Key(); k.Next(); {
		key, line := string(k.Node().Data), r.lineOf(k.Node())
		if !k.IsLast() {
			n, p = r.down(n, p, key, line)
			continue
		}
		v := r.value(e.Value(), p.To(key), line)
		v.key, v.line = key, line
		if n.under[key] != nil {
			r.found = append(r.found, Mistake{p, key, line, fmt.Sprintf("key %s is already defined: leave one of them out", keyText(key))})
			return
		}
		n.add(v)
	}
}

// value is the node of a value; line is where it stands if it does not say so itself.
func (r *reader) value(v *unstable.Node, p Path, line int) *Node {
	switch v.Kind {
	case unstable.Array:
		n := &Node{kind: unstable.Array, line: line}
		for c := v.Children(); c.Next(); {
			at := line
			if c.Node().Kind != unstable.Array { // the parser does not say where lists start
				at = r.lineOf(c.Node())
			}
			n.items = append(n.items, r.value(c.Node(), p.To(len(n.items)), at))
		}
		return n
	case unstable.InlineTable:
		n := tableNode("", line)
		n.named = true
		for c := v.Children(); c.Next(); {
			r.keyValue(n, p, c.Node())
		}
		return n
	}
	return &Node{kind: v.Kind, line: line, text: string(v.Data)}
}

// syntax says where the parser gave up; from is the end of what it had read before.
func (r *reader) syntax(err error, from int) {
	m := Mistake{in: r.here().in, line: 1, what: err.Error()}
	var at *unstable.ParserError
	if errors.As(err, &at) {
		offset := int(r.parser.Range(at.Highlight).Offset)
		m.line = r.line(offset)
		start := from + len(r.data[from:]) - len(pastBlank(r.data[from:]))
		header := start < len(r.data) && r.data[start] == '['
		if offset >= start { // or else it is in a comment
			if header {
				m.in = nil
			} else {
				m.key = keyAt(r.data[start:])
			}
		}
		m.what = plainly(m.what, header)
	}
	r.found = append(r.found, m)
}

var blanks = regexp.MustCompile(`^(?:[\]\s]|#[^\n]*(?:\n|$))*`)

// pastBlank goes on to where the next key or header begins; what has been read ends
// before a header's brackets.
func pastBlank(data []byte) []byte { return data[len(blanks.Find(data)):] }

var keyFirst = regexp.MustCompile(`^(?:[\w-]+|"[^"\n]*"|'[^'\n]*')(?:[ \t]*\.[ \t]*(?:[\w-]+|"[^"\n]*"|'[^'\n]*'))*`)

// keyAt is the key that text starts with, whatever comes after it; "" if none.
func keyAt(text []byte) string {
	var p unstable.Parser
	p.Reset(slices.Concat(keyFirst.Find(text), []byte("= 0")))
	if !p.NextExpression() || p.Expression().Kind != unstable.KeyValue {
		return ""
	}
	var keys Path
	for k := p.Expression().Key(); k.Next(); {
		keys = keys.To(string(k.Node().Data))
	}
	return keys.String()
}

// plainly says what the parser says in words of the form's, and what to do.
func plainly(what string, header bool) string {
	for _, w := range []struct{ parser, plain string }{
		{"expected '=' after key", "there is no = behind the key: write key = value, and text in quotes"},
		{"to close table name", "the table's name is not closed: write for example [layout]"},
		{"to close array table name", "the table's name is not closed: write for example [[printer]]"},
		{"at start of value", "there is no value that can be read: write a number, true or false, or text in quotes"},
		{"strings must be quoted", "there is no value that can be read: write a number, true or false, or text in quotes"},
		{"expected keyword", "there is no value that can be read: write a number, true or false, or text in quotes"},
		{"expected value", "the value is missing: write a number, true or false, or text in quotes"},
		{"unterminated", "the text is not closed: put a quote at its end"},
		{"basic strings cannot have new lines", "the text is not closed: put a quote at its end"},
		{"literal strings cannot have new lines", "the text is not closed: put a quote at its end"},
		{"not terminated by", "the text is not closed: put three quotes at its end"},
		{"escape", "the text has a \\ in it that begins nothing known: write \\\\, or put the text in single quotes"},
		{"invalid UTF-8", "there is a letter that is not in UTF-8: save the file as UTF-8"},
		{"leading zeroes", "a number must not begin with 0: leave that out, or put it in quotes"},
		{"array is incomplete", "the list is not closed: write for example [1, 12, 48]"},
		{"after array value", "the list is not closed, or has no comma between two values: write for example [1, 12, 48]"},
		{"inline table is incomplete", "the table in braces is not closed: put a } at its end"},
		{"after inline table key-value", "the table in braces is not closed, or has no comma between two keys"},
		{"control character", "there is a byte that no text has: save the file as UTF-8"},
		{"start of key", "there is no key: write key = value, a table such as [layout], or # before a comment"},
	} {
		if strings.Contains(what, w.parser) {
			return w.plain
		}
	}
	if strings.HasPrefix(what, "expected newline") {
		if header {
			return "something stands behind the table's name: begin a new line for it"
		}
		return "something stands behind the value: put text and lengths in quotes, write numbers with a decimal point, and begin a new line for the next key"
	}
	return what
}

// twice asks the decoder whether tables and keys are given once each and in the ways
// that TOML allows. It looks at no values.
func (r *reader) twice() {
	err := toml.Unmarshal(r.data, &struct{}{})
	if err == nil {
		return
	}
	m := Mistake{line: 1, what: strings.TrimPrefix(err.Error(), "toml: ")}
	var at *toml.DecodeError
	if errors.As(err, &at) {
		m.line, _ = at.Position()
		switch last := at.Key(); {
		case strings.Contains(m.what, "already defined"):
			m.what += ": leave one of them out"
		case len(last) > 0 && (strings.Contains(m.what, "as a value") || strings.Contains(m.what, "should be") || strings.Contains(m.what, "dotted")):
			m.what = keyText(last[len(last)-1]) + " is given above already, in another way: leave one of them out"
		case strings.Contains(m.what, "already exists"):
			m.what += ": put its keys under one header"
		}
		header := 0
		for _, s := range r.sections {
			if s.line <= m.line {
				header, m.in = s.line, s.in
			}
		}
		if header != m.line {
			var keys Path
			for _, k := range at.Key() {
				keys = keys.To(k)
			}
			m.key = keys.String()
		}
	}
	r.found = append(r.found, m)
}
