package table

import (
	"fmt"
	"testing"
)

func TestNearest(t *testing.T) {
	list := []string{"width", "height", "quantity", "white_density_percent"}
	for w, want := range map[string]string{"widht": "width", "with": "width", "hight": "height", "qty": "", "white_density": "", "white_density_precent": "white_density_percent",
		"colour": "", "": "", "width": "width"} {
		if got := Nearest(w, list); got != want {
			t.Errorf("%q: %q, want %q", w, got, want)
		}
	}
	if Nearest("x", nil) != "" {
		t.Error("a word of none")
	}
}

// TestApart uses the distances that textbooks give: kitten to sitting is 3, Saturday
// to Sunday 3.
func TestApart(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"kitten", "sitting", 3}, {"Saturday", "Sunday", 3}, {"", "abc", 3}, {"abc", "", 3}, {"same", "same", 0}, {"höhe", "hohe", 1}} {
		if got := apart(c.a, c.b); got != c.want {
			t.Errorf("%s to %s: %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

func ExampleNearest() {
	fmt.Println(Nearest("smalest_gap", []string{"smallest_line", "smallest_gap"}))
	// Output: smallest_gap
}
