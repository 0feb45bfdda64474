package form

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// Mistake is one mistake of a form: in which table, at which key, on which line.
type Mistake struct {
	in   Path   // the table; nil is the top of the file
	key  string // "" for the table itself
	line int    // from 1
	what string
}

// words writes the mistake like
//
//	shop.toml:LINE: table "name": key: what
//
// where the name is that of the entry of a list, and what often has the key in it.
func (m Mistake) words(file string, root *Node) string {
	where := fmt.Sprintf("%s:%d", file, m.line)
	if table := m.in.table(); table != "" {
		where += ": " + table
		if name := root.entry(m.in); name != "" {
			where += fmt.Sprintf(" %q", name)
		}
	}
	if m.key != "" && !hasWord(m.what, m.key) {
		where += ": " + m.key
	}
	return where + ": " + m.what
}

func hasWord(text, word string) bool {
	return regexp.MustCompile(`(^|[^A-Za-z0-9_])` + regexp.QuoteMeta(word) + `($|[^A-Za-z0-9_])`).MatchString(text)
}

// mostTold is how many mistakes of a file are told at once.
const mostTold = 1000

// All is every mistake on a line of its own, in the file's order; nil if there is none.
func All(found []Mistake, file string, root *Node) error {
	if len(found) == 0 {
		return nil
	}
	slices.SortStableFunc(found, func(a, b Mistake) int { return a.line - b.line })
	var lines []string
	for _, m := range found[:min(len(found), mostTold)] {
		lines = append(lines, m.words(file, root))
	}
	if more := len(found) - mostTold; more > 0 {
		lines = append(lines, fmt.Sprintf("%s: and %d more", file, more))
	}
	return errors.New(strings.Join(lines, "\n"))
}
