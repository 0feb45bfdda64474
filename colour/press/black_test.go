package press

import (
	"os"
	"path/filepath"
	"testing"

	"laydown/colour/icc"
)

// TestBlack gives the same black from the separation, from an empty cache, from a full one
// and from a damaged one.
func TestBlack(t *testing.T) {
	o := Options{Intent: icc.Relative, BPC: true, TAC: 2.4, Black: BlackMedium}
	dir := t.TempDir()
	first := StandIn(Cache{dir})
	sep, err := first.Separate(icc.SRGB(), o)
	if err != nil {
		t.Fatal(err)
	}
	var want [4]float64
	sep.Eval(want[:], make([]float64, 3))
	for range 2 {
		if got, err := first.Black(o); err != nil || got != want {
			t.Errorf("%v, %v, want %v", got, err, want)
		}
	}
	files, err := filepath.Glob(filepath.Join(dir, "black-*"))
	if err != nil || len(files) != 1 {
		t.Fatalf("%q, %v", files, err)
	}
	// From the cache alone: another value there is taken, a damaged one is not.
	other := tones{0.25, 0.5, 0.75, 1}
	first.cache.store("black", first.tableKey(icc.SRGB(), o.heeded(icc.RGB)), &other)
	if got, err := StandIn(Cache{dir}).Black(o); err != nil || got != other {
		t.Errorf("%v, %v, want what is kept, %v", got, err, other)
	}
	if err := os.WriteFile(files[0], []byte("broken"), 0o600); err != nil {
		t.Fatal(err)
	}
	if got, err := first.Black(o); err != nil || got != want {
		t.Errorf("damaged: %v, %v, want %v", got, err, want)
	}
	o.TAC = 2
	if got, err := first.Black(o); err != nil || got == want {
		t.Errorf("under another limit: %v, %v", got, err)
	}
}
