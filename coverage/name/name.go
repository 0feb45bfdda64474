// Package name finds a thing by what a person writes for its name: in any case, and by
// a beginning that only one of the names has.
//
// A name that is written in full always means itself, also where it is the beginning of
// another. What is written is never taken for a name that it merely resembles: the error
// tells the nearest one.
package name

import (
	"fmt"
	"slices"
	"strings"

	"laydown/coverage/table"
)

// Find returns the index of the name in a list that want means: the same text, else the
// same in other letters' case and with other spaces, else the only one that begins so.
// kind, such as "item", is for the error, which tells the candidates of an ambiguous
// beginning, or of a name that is not there the nearest and where, such as "the shop file",
// has which.
func Find(kind, want, where string, names []string) (int, error) {
	i, begin := meant(want, names)
	switch {
	case i >= 0:
		return i, nil
	case len(begin) > 1:
		var may []string
		for _, i := range begin[:min(len(begin), mostNamed)] {
			may = append(may, fmt.Sprintf("%q", names[i]))
		}
		if more := len(begin) - len(may); more > 0 {
			may = append(may, fmt.Sprintf("one of %d more", more))
		}
		return 0, fmt.Errorf("%s %q may be %s: write more of the name", kind, want, Or(may))
	}
	has := where + " has " + strings.Join(names[:min(len(names), mostNamed)], ", ")
	if more := len(names) - mostNamed; more > 0 {
		has += fmt.Sprintf(" and %d more", more)
	}
	if of := nearest(plain(want), names); of != "" {
		return 0, fmt.Errorf("no %s is called %q; is %q meant? (%s)", kind, want, of, has)
	}
	return 0, fmt.Errorf("no %s is called %q: %s", kind, want, has)
}

// mostNamed is how many names an error lists: a list may have an error in every row.
const mostNamed = 30

// meant is the index of the name that is meant, or -1 and all that begin so.
func meant(want string, names []string) (at int, begin []int) {
	if i := slices.Index(names, want); i >= 0 {
		return i, nil
	}
	w := plain(want)
	if i := slices.IndexFunc(names, func(n string) bool { return plain(n) == w }); i >= 0 {
		return i, nil
	}
	if begin = Beginning(want, names); len(begin) == 1 {
		return begin[0], nil
	}
	return -1, begin
}

// Beginning returns the indices of the names that begin with want, in any case.
func Beginning(want string, names []string) (at []int) {
	w := plain(want)
	if w == "" {
		return nil
	}
	for i, n := range names {
		if strings.HasPrefix(plain(n), w) {
			at = append(at, i)
		}
	}
	return at
}

// Short returns the shortest beginning of a name, of at least two letters and never
// ending in a space, that means no other name of the list; the name itself if none does.
func Short(of string, names []string) string {
	r := []rune(of)
	for n := 2; n < len(r); n++ {
		s := string(r[:n])
		if strings.TrimSpace(s) != s {
			continue
		}
		if i, _ := meant(s, names); i >= 0 && names[i] == of {
			return s
		}
	}
	return of
}

// Or joins words as one says a choice: a, b or c.
func Or(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " or " + words[last]
}

// plain is a name without regard to case and to how wide its spaces are.
func plain(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }

// nearest is the name that is nearest to a plain word, or whose beginning of the word's
// length is.
func nearest(w string, names []string) string {
	plains := make([]string, 0, 2*len(names))
	of := map[string]string{}
	for _, n := range names {
		p := plain(n)
		plains, of[p] = append(plains, p), n
	}
	for _, n := range names {
		if r := []rune(plain(n)); len([]rune(w)) >= 4 && len(r) > len([]rune(w)) {
			p := string(r[:len([]rune(w))])
			if _, taken := of[p]; !taken {
				plains, of[p] = append(plains, p), n
			}
		}
	}
	return of[table.Nearest(w, plains)]
}
