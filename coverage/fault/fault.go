// Package fault is a mistake in what was asked that the person who asked can
// mend: which field is wrong, what is wrong with it, and what to do.
//
// A library knows fields by name ("width"), not how they were asked for. Who
// talks to the person words them: the command line writes --width, a page writes
// the label beside the box. In a hint, {width} stands for the field of that name.
package fault

import (
	"errors"
	"regexp"
	"strings"
)

// Fault is one mistake. It is an error, and may stand anywhere in a chain of them.
type Fault struct {
	Field string // that is wrong, such as "width"; "" if no single one is
	Err   error  // what is wrong
	Hint  string // what to do, with fields as {name}; "" if Err says it all
}

// In says that err is about a field; nil stays nil.
func In(field string, err error) error {
	if err == nil {
		return nil
	}
	return &Fault{Field: field, Err: err}
}

// New is a mistake that no single field is to blame for, and what to do about it.
func New(what, hint string) error { return &Fault{Err: errors.New(what), Hint: hint} }

// Error words the fault with plain field names: "width: must be above 0".
func (f *Fault) Error() string { return f.words(func(field string) string { return field }) }

// Unwrap returns what is wrong.
func (f *Fault) Unwrap() error { return f.Err }

var placeholder = regexp.MustCompile(`\{([a-z0-9-]+)\}`)

func (f *Fault) words(name func(field string) string) string {
	var parts []string
	if f.Field != "" {
		parts = append(parts, name(f.Field))
	}
	parts = append(parts, Words(f.Err, name))
	if f.Hint != "" {
		parts = append(parts, placeholder.ReplaceAllStringFunc(f.Hint, func(s string) string { return name(s[1 : len(s)-1]) }))
	}
	return strings.Join(parts, ": ")
}

// Words is err's text with the fields of every fault in its chain named by name.
func Words(err error, name func(field string) string) string {
	var f *Fault
	if !errors.As(err, &f) {
		return err.Error()
	}
	return strings.Replace(err.Error(), f.Error(), f.words(name), 1)
}
