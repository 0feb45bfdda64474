package content

import (
	"bytes"
	"strconv"
)

// kind is what a token is.
type kind uint8

const (
	isNumber kind = iota
	isName
	isString
	isList // an array, or the keys and values of a dictionary by turns
	isWord // true, false, null
)

// value is an operand, with where it stands in the stream.
type value struct {
	kind    kind
	number  float64
	text    string // of a name, without the slash
	list    []value
	at, end int
}

// operation is an operator with its operands. Of an inline image the name is BI and the
// operands are its keys and values.
type operation struct {
	name    string
	args    []value
	at, end int // from the first operand to behind the operator
}

// numbers are the operands as numbers, 0 for what is none.
func (o operation) numbers() []float64 {
	out := make([]float64, len(o.args))
	for i, a := range o.args {
		out[i] = a.number
	}
	return out
}

// word is the last operand if it is a name, else "".
func (o operation) word() string {
	if n := len(o.args); n > 0 && o.args[n-1].kind == isName {
		return o.args[n-1].text
	}
	return ""
}

// lexer reads a content stream (ISO 32000-1, 7.2 and 7.8.2). What it does not understand
// it steps over.
type lexer struct {
	text []byte
	at   int
}

const (
	mostOperands = 1 << 16 // of an operator; more are dropped
	deepest      = 32      // arrays within each other
)

func blank(c byte) bool {
	return c == ' ' || c == '\n' || c == '\r' || c == '\t' || c == '\f' || c == 0
}

func delimits(c byte) bool { return blank(c) || bytes.IndexByte([]byte("()<>[]{}/%"), c) >= 0 }

// skip steps over blanks and comments.
func (l *lexer) skip() {
	for l.at < len(l.text) {
		switch c := l.text[l.at]; {
		case blank(c):
			l.at++
		case c == '%':
			for l.at < len(l.text) && l.text[l.at] != '\n' && l.text[l.at] != '\r' {
				l.at++
			}
		default:
			return
		}
	}
}

// next is the next operation; ok is false at the end.
func (l *lexer) next() (o operation, ok bool) {
	first := true
	for {
		l.skip()
		if l.at >= len(l.text) {
			return o, false
		}
		if first {
			o.at, first = l.at, false
		}
		v, word := l.token(0)
		if word == "" {
			if len(o.args) < mostOperands {
				o.args = append(o.args, v)
			}
			continue
		}
		o.name, o.end = word, l.at
		if word == "BI" {
			l.inline(&o)
		}
		return o, true
	}
}

// token reads an operand, or else a word.
func (l *lexer) token(depth int) (v value, word string) {
	v.at = l.at
	switch c := l.text[l.at]; {
	case c == '/':
		l.at++
		v.kind, v.text = isName, l.name()
	case c == '(':
		v.kind = isString
		l.quoted()
	case c == '<' && l.at+1 < len(l.text) && l.text[l.at+1] == '<':
		l.at += 2
		v.kind = isList
		v.list = l.until('>', depth)
	case c == '<':
		v.kind = isString
		for l.at < len(l.text) && l.text[l.at] != '>' {
			l.at++
		}
		l.at = min(l.at+1, len(l.text))
	case c == '[':
		l.at++
		v.kind = isList
		v.list = l.until(']', depth)
	case delimits(c): // one that belongs to nothing
		l.at++
		v.kind = isWord
	default:
		from := l.at
		for l.at < len(l.text) && !delimits(l.text[l.at]) {
			l.at++
		}
		text := string(l.text[from:l.at])
		if n, is := number(text); is {
			v.number = n
			break
		}
		if text == "true" || text == "false" || text == "null" {
			v.kind, v.text = isWord, text
			break
		}
		return v, text
	}
	v.end = l.at
	return v, ""
}

// number reads a number; what follows a digit and is none is let go, as readers of such
// files do.
func number(s string) (float64, bool) {
	if c := s[0]; c != '+' && c != '-' && c != '.' && (c < '0' || c > '9') {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || v != v || v > 1e12 || v < -1e12 {
		return 0, true
	}
	return v, true
}

func (l *lexer) name() string {
	var b []byte
	for l.at < len(l.text) && !delimits(l.text[l.at]) {
		c := l.text[l.at]
		if c == '#' && l.at+2 < len(l.text) {
			if n, err := strconv.ParseUint(string(l.text[l.at+1:l.at+3]), 16, 8); err == nil {
				c = byte(n)
				l.at += 2
			}
		}
		b = append(b, c)
		l.at++
	}
	return string(b)
}

// quoted steps over a string in round brackets.
func (l *lexer) quoted() {
	for open := 0; l.at < len(l.text); {
		c := l.text[l.at]
		l.at++
		switch c {
		case '\\':
			l.at = min(l.at+1, len(l.text))
		case '(':
			open++
		case ')':
			if open--; open == 0 {
				return
			}
		}
	}
}

// until reads operands up to a closing bracket.
func (l *lexer) until(end byte, depth int) (list []value) {
	for {
		l.skip()
		if l.at >= len(l.text) {
			return list
		}
		if l.text[l.at] == end {
			l.at++
			if end == '>' && l.at < len(l.text) && l.text[l.at] == '>' {
				l.at++
			}
			return list
		}
		if depth >= deepest {
			l.at++
			continue
		}
		v, word := l.token(depth + 1)
		if word != "" {
			v = value{kind: isWord, text: word, at: v.at, end: l.at}
		}
		if len(list) < mostOperands {
			list = append(list, v)
		}
	}
}

// inline reads an inline image, whose data end before EI (ISO 32000-1, 8.9.7).
func (l *lexer) inline(o *operation) {
	o.args = nil
	for {
		l.skip()
		if l.at >= len(l.text) {
			break
		}
		v, word := l.token(0)
		if word == "ID" {
			break
		}
		if len(o.args) < mostOperands {
			o.args = append(o.args, v)
		}
	}
	l.at = min(l.at+1, len(l.text))
	for from := l.at; ; {
		i := bytes.Index(l.text[from:], []byte("EI"))
		if i < 0 {
			l.at = len(l.text)
			break
		}
		at := from + i
		if at > l.at && blank(l.text[at-1]) && (at+2 == len(l.text) || blank(l.text[at+2])) && l.sane(at+2) {
			l.at = at + 2
			break
		}
		from = at + 2
	}
	o.end = l.at
}

// sane reports whether what follows looks like a content stream and not like the data of a
// picture.
func (l *lexer) sane(at int) bool {
	for _, c := range l.text[at:min(at+12, len(l.text))] {
		if c > 126 || c < 32 && !blank(c) {
			return false
		}
	}
	return true
}
