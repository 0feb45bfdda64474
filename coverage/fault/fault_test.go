package fault

import (
	"errors"
	"fmt"
	"testing"
)

func option(field string) string { return "--" + field }

func TestWords(t *testing.T) {
	noSize := New("does not say how large it prints", "give {width}, {height} or {dpi}")
	for _, c := range []struct {
		err          error
		plain, words string
	}{
		{errors.New("disk full"), "disk full", "disk full"},
		{In("qty", errors.New("must be above 0")), "qty: must be above 0", "--qty: must be above 0"},
		{noSize, "does not say how large it prints: give width, height or dpi", "does not say how large it prints: give --width, --height or --dpi"},
		{fmt.Errorf("a.png: %w", noSize), "a.png: does not say how large it prints: give width, height or dpi",
			"a.png: does not say how large it prints: give --width, --height or --dpi"},
		{In("orders", fmt.Errorf("line 3: %w", In("width", errors.New("too much")))), "orders: line 3: width: too much", "--orders: line 3: --width: too much"},
		{&Fault{Field: "item", Err: errors.New("{no such}"), Hint: "see {list}"}, "item: {no such}: see list", "--item: {no such}: see --list"},
	} {
		if got := c.err.Error(); got != c.plain {
			t.Errorf("plain %q, want %q", got, c.plain)
		}
		if got := Words(c.err, option); got != c.words {
			t.Errorf("worded %q, want %q", got, c.words)
		}
	}
	if In("qty", nil) != nil {
		t.Error("a mistake out of nothing")
	}
	cause := errors.New("cause")
	if !errors.Is(In("a", In("b", cause)), cause) {
		t.Error("the cause is lost")
	}
}

func ExampleWords() {
	err := New("does not say how large it prints", "give {width} or {dpi}")
	fmt.Println(err)
	fmt.Println(Words(err, func(field string) string { return "--" + field }))
	// Output:
	// does not say how large it prints: give width or dpi
	// does not say how large it prints: give --width or --dpi
}
