package show

import (
	"bytes"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/jedib0t/go-pretty/v6/text"
)

// reset ends what a colour begins.
const reset = "\x1b[0m"

// sequences are those with which text is coloured, and no others reach a terminal.
func sequences() []string {
	s := []string{reset}
	for _, c := range []text.Colors{stopColour, lookColour, fineColour, goodColour} {
		s = append(s, c.EscapeSeq())
	}
	return s
}

// Safe is text as it may reach a terminal: names and profiles may hold characters that move
// the cursor, set its title or turn lines round (C0 and C1 of ISO/IEC 6429, Unicode's own
// for direction), and those are shown quoted, as in \x1b. Bytes that are no UTF-8 are too. The
// colours of a style that has them stay.
func (s Style) Safe(words string) string {
	i := strings.IndexFunc(words, unsafe)
	if i < 0 {
		return words
	}
	var keep []string
	if s.Colour {
		keep = sequences()
	}
	var b strings.Builder
	b.WriteString(words[:i])
	for rest := words[i:]; rest != ""; {
		if k := slices.IndexFunc(keep, func(q string) bool { return strings.HasPrefix(rest, q) }); k >= 0 {
			b.WriteString(keep[k])
			rest = rest[len(keep[k]):]
			continue
		}
		r, n := utf8.DecodeRuneInString(rest)
		switch {
		case r == utf8.RuneError && n == 1:
			b.WriteString(strings.Trim(strconv.Quote(rest[:1]), `"`))
		case unsafe(r):
			b.WriteString(strings.Trim(strconv.QuoteRune(r), "'"))
		default:
			b.WriteString(rest[:n])
		}
		rest = rest[n:]
	}
	return b.String()
}

// unsafe reports whether a character does something to a terminal beside being seen, or may
// stand for a byte that does.
func unsafe(r rune) bool {
	return r != '\n' && r != '\t' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == '\u2028' || r == '\u2029' || r == utf8.RuneError)
}

// safeDrawing is a drawing in which names stand: XML 1.0 (2.2) has no place for most control
// characters, not even by number, so they are quoted.
func safeDrawing(svg []byte) []byte {
	if bytes.IndexFunc(svg, unsafe) < 0 {
		return svg
	}
	return []byte(Style{}.Safe(string(svg)))
}

// jsonSafe writes the control characters that JSON lets stand (RFC 8259, 7), from U+007F on,
// by their numbers: they mean the same, and no terminal obeys them.
func jsonSafe(b []byte) []byte {
	if bytes.IndexFunc(b, unsafe) < 0 {
		return b
	}
	var out bytes.Buffer
	for _, r := range string(b) {
		if r > 0x1f && r != utf8.RuneError && unsafe(r) { // all are within four digits
			out.WriteString(`\u` + strconv.FormatInt(0x10000+int64(r), 16)[1:])
			continue
		}
		out.WriteRune(r)
	}
	return out.Bytes()
}

// cell is text as a spreadsheet may read it: what begins as a formula does, and is no number,
// gets an apostrophe before it, which spreadsheets take for "this is text" (common practice,
// no source).
func cell(words string) string {
	if words == "" || !strings.ContainsRune("=+-@\t\r", rune(words[0])) {
		return words
	}
	if _, err := strconv.ParseFloat(words, 64); err == nil {
		return words
	}
	return "'" + words
}
