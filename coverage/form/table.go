package form

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"laydown/coverage/unit"
)

// Check notes what is wrong with a form's figures.
type Check struct {
	Root  *Node // of the form, for the lines
	Found []Mistake
}

// Table is a table of the form that is being checked.
func (c *Check) Table(in ...any) Table { return Table{c, in} }

// Table is a table of a form and its place. It need not be written there.
type Table struct {
	*Check
	In Path
}

// Say notes a mistake at a key, or at the table itself for the key "". Where the key is
// not written, the line is that of the table; where that is not, of the one around it.
func (t Table) Say(key, format string, v ...any) { t.SayOf(key, nil, format, v...) }

// SayOf is [Table.Say] for one entry of a key that holds a list.
func (t Table) SayOf(key string, entry Path, format string, v ...any) {
	at := t.In
	if key != "" {
		at, key = at.To(key).To(entry...), t.Spelt(key)
	}
	n, _ := t.Root.Find(at)
	t.Found = append(t.Found, Mistake{t.In, key, n.line, fmt.Sprintf(format, v...)})
}

// Written is the first of some keys that the form has, or the very first if it has none:
// where figures contradict each other, a default is not the one to blame.
func (t Table) Written(keys ...string) string {
	for _, k := range keys {
		if t.Has(k) {
			return k
		}
	}
	return keys[0]
}

// Spelt is a key as the form has it: it may be there by a former name.
func (t Table) Spelt(key string) string {
	if n, ok := t.Root.Find(t.In.To(key)); ok {
		return n.key
	}
	return key
}

// Amount asks for a figure that is not below 0.
func (t Table) Amount(key string, v decimal.Decimal) {
	if v.IsNegative() {
		t.Say(key, "%s must not be negative", t.Spelt(key))
	}
}

// Length asks for a figure from 0 to mostMM.
func (t Table) Length(key string, v unit.Length, mostMM float64) {
	switch {
	case v < 0:
		t.Say(key, "%s must not be negative", key)
	case v.MM() > mostMM:
		t.Say(key, "%s must be at most %g mm", key, mostMM)
	}
}

// Missing notes a key that must be written and is not, and reports that; example is a
// value.
func (t Table) Missing(key, example string) bool {
	if t.Has(key) {
		return false
	}
	t.Say(key, "%s is missing: write for example %s = %s", key, key, example)
	return true
}

// Has reports whether the form writes a key of the table.
func (t Table) Has(key string) bool {
	_, ok := t.Root.Find(t.In.To(key))
	return ok
}

// Within asks for a figure from lo to hi.
func (t Table) Within(key string, v, lo, hi float64) {
	if !(v >= lo && v <= hi) {
		t.Say(key, "%s must be from %g to %g", key, lo, hi)
	}
}

// OneOf asks for one of some words, or none.
func (t Table) OneOf(key, v string, list []string) {
	if v != "" && !slices.Contains(list, v) {
		t.Say(key, "%s = %q: choose one of %s", key, v, strings.Join(list, ", "))
	}
}

// Fails notes the error of a key's own type, and reports whether there is one.
func (t Table) Fails(key string, err error) bool {
	if err != nil {
		t.Say(key, "%v", err)
	}
	return err != nil
}
