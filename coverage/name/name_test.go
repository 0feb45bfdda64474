package name_test

import (
	"fmt"
	"strings"
	"testing"

	"laydown/coverage/name"
)

var items = []string{"black tee", "Black tee, long", "white tee", "enamel mug", "mug", "forearm"}

func TestFind(t *testing.T) {
	for _, c := range []struct{ want, is, err string }{
		{want: "black tee", is: "black tee"}, // in full, though another begins so
		{want: "BLACK  TEE", is: "black tee"},
		{want: "black tee,", is: "Black tee, long"},
		{want: "Whi", is: "white tee"},
		{want: "m", is: "mug"},
		{want: "E", is: "enamel mug"},
		{want: "bl", err: `item "bl" may be "black tee" or "Black tee, long": write more of the name`},
		{want: "wite tee", err: `no item is called "wite tee"; is "white tee" meant? (the shop file has black tee,`},
		{want: "forarm", err: `is "forearm" meant?`},
		{want: "enamle", err: `is "enamel mug" meant?`},
		{want: "surfboard", err: `no item is called "surfboard": the shop file has black tee,`},
		{want: " ", err: `no item is called " ": the shop file has black tee`},
	} {
		i, err := name.Find("item", c.want, "the shop file", items)
		switch {
		case c.err != "":
			if err == nil || !strings.Contains(err.Error(), c.err) {
				t.Errorf("%q: %v, want %s", c.want, err, c.err)
			}
		case err != nil || items[i] != c.is:
			t.Errorf("%q: %d, %v, want %s", c.want, i, err, c.is)
		}
	}
}

// TestShort finds again what it shortens, by nothing shorter.
func TestShort(t *testing.T) {
	for _, n := range items {
		s := name.Short(n, items)
		if i, err := name.Find("item", s, "", items); err != nil || items[i] != n {
			t.Errorf("%q is shortened to %q, which means %d, %v", n, s, i, err)
		}
		if len(s) > 2 && s != n {
			cut := strings.TrimSpace(s[:len(s)-1])
			if i, err := name.Find("item", cut, "", items); err == nil && items[i] == n {
				t.Errorf("%q: %q would do as well as %q", n, cut, s)
			}
		}
	}
}

func ExampleFind() {
	names := []string{"dark garment", "light garment", "decal on white"}
	i, err := name.Find("process", "Light", "the shop file", names)
	fmt.Println(names[i], err)
	_, err = name.Find("process", "d", "the shop file", names)
	fmt.Println(err)
	// Output:
	// light garment <nil>
	// process "d" may be "dark garment" or "decal on white": write more of the name
}

func FuzzFind(f *testing.F) {
	f.Add("black", "black tee\nblack mug")
	f.Add("É", "école\nécole 2")
	f.Fuzz(func(t *testing.T, want, list string) {
		names := strings.Split(list, "\n")
		i, err := name.Find("item", want, "the list", names)
		if err == nil && (i < 0 || i >= len(names)) {
			t.Fatalf("%d of %d", i, len(names))
		}
		for k, n := range names {
			if at, err := name.Find("item", n, "the list", names); err != nil && strings.TrimSpace(n) != "" || err == nil && at > k {
				t.Fatalf("%q finds %d, %v", n, at, err)
			}
		}
	})
}
