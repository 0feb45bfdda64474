package form

import "testing"

func TestHasWord(t *testing.T) {
	for _, c := range []struct {
		text, word string
		want       bool
	}{
		{"price must not be", "price", true}, {"price_each must not be", "price", false}, {"toner.black: price is", "price", true}, {"a+b", "a+b", true}, {"", "a", false}, {"good_ppi", "ppi", false},
	} {
		if got := hasWord(c.text, c.word); got != c.want {
			t.Errorf("%q in %q: %v", c.word, c.text, got)
		}
	}
}
