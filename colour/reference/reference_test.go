package reference

import (
	"slices"
	"testing"
)

// TestSweep asks for the cases and samples of a long sweep in CI and elsewhere.
func TestSweep(t *testing.T) {
	cases := []int{1, 2, 3, 4}
	even := func(v int) bool { return v%2 == 0 }
	for require, want := range map[string][]int{"require": {1, 2, 3, 4}, "": {2, 4}} {
		t.Setenv("LAYDOWN_REFERENCE", require)
		if got := Sweep(t, cases, even); !slices.Equal(got, want) {
			t.Errorf("LAYDOWN_REFERENCE=%s: cases %v, want %v", require, got, want)
		}
	}
	t.Setenv("LAYDOWN_REFERENCE", "")
	if n := Samples(t, 1000); n != 100 {
		t.Errorf("%d of 1000 samples", n)
	}
	t.Setenv("LAYDOWN_REFERENCE", "require")
	if n := Samples(t, 1000); n != 1000 {
		t.Errorf("%d of 1000 samples, all are required", n)
	}
}
