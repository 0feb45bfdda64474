// Package presstest is for tests only: one press for all the tests of a program.
//
// A press remembers its model and the last separators it gave out, so tests that
// share one fit nothing twice and compile each table once. What the tests share
// they cannot change: a press is safe for concurrent use. A test that is about
// caches, or about a press read anew, opens its own.
package presstest

import (
	"os"
	"sync"
	"testing"

	"laydown/colour/icc"
	"laydown/colour/press"
	"laydown/colour/reference"
)

// Usual is how the tests separate unless they are about something else.
var Usual = press.Options{Intent: icc.Relative, BPC: true, TAC: 2.4, Black: press.BlackMedium}

var standIn = sync.OnceValue(func() *press.Press { return press.StandIn(press.Cache{}) })

// StandIn is the built-in press, the same one at every call.
func StandIn() *press.Press { return standIn() }

var published = sync.OnceValues(func() (*press.Press, error) {
	data, err := os.ReadFile(reference.Profiles["cmyk"])
	if err != nil {
		return nil, err
	}
	return press.Open(data, press.Cache{})
})

// Published is the press of a published ICC profile (Debian's libgs-common), the
// same one at every call. Without the profile it ends the test as
// [reference.File] does.
func Published(t testing.TB) *press.Press {
	t.Helper()
	reference.Profile(t, "cmyk")
	p, err := published()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Separate is how [StandIn] separates art of a source profile, nil for its own
// CMYK, under [Usual].
func Separate(t testing.TB, src *icc.Profile) *press.Separator {
	t.Helper()
	s, err := StandIn().Separate(src, Usual)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
