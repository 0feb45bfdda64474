package press

import (
	"encoding/json"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"laydown/colour/icc"
)

// note is something that a cache can keep.
type note string

func (n note) MarshalBinary() ([]byte, error) { return []byte(n), nil }

func (n *note) UnmarshalBinary(b []byte) error { *n = note(b); return nil }

// TestCacheBinds takes no table for another's, whichever way it got there, and none that is no
// regular file.
func TestCacheBinds(t *testing.T) {
	c := Cache{Dir: t.TempDir()}
	keys := [][]byte{[]byte("one"), []byte("two")}
	for _, k := range keys {
		c.store("kind", k, note(k))
	}
	var got note
	for _, k := range keys {
		if !c.load("kind", k, &got) || string(got) != string(k) {
			t.Fatalf("%s gives %q", k, got)
		}
	}
	a, b, spare := c.path("kind", keys[0]), c.path("kind", keys[1]), filepath.Join(c.Dir, "spare")
	for _, move := range [][2]string{{a, spare}, {b, a}, {spare, b}} {
		if err := os.Rename(move[0], move[1]); err != nil {
			t.Fatal(err)
		}
	}
	for _, k := range keys {
		if c.load("kind", k, &got) {
			t.Errorf("%s gives %q after they were swapped", k, got)
		}
	}
	c.store("kind", keys[0], note("anew"))
	if !c.load("kind", keys[0], &got) || got != "anew" {
		t.Errorf("a new table gives %q", got)
	}
	os.Remove(b)
	if os.Symlink("/dev/zero", b) == nil && c.load("kind", keys[1], &got) {
		t.Error("a device passed for a table")
	}
}

// TestCacheVersion holds separations to those of the cache's version, so that nobody
// changes them and leaves shops with the tables of before.
func TestCacheVersion(t *testing.T) {
	type golden struct {
		Version string
		Tones   map[string][4]float64
	}
	now := golden{cacheVersion, map[string][4]float64{}}
	s, err := standIn().Separate(icc.SRGB(), usual)
	if err != nil {
		t.Fatal(err)
	}
	colours := named()
	for i, name := range slices.Sorted(maps.Keys(colours)) {
		if i%4 == 0 {
			var x [4]float64
			s.Eval(x[:], colours[name])
			for k := range x {
				x[k] = math.Round(x[k]*1e4) / 1e4
			}
			now.Tones[name] = x
		}
	}
	path := filepath.Join("testdata", "cache.golden")
	if *update {
		b, err := json.MarshalIndent(now, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, append(b, '\n'), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var then golden
	if err := json.Unmarshal(b, &then); err != nil {
		t.Fatal(err)
	}
	if then.Version != now.Version {
		t.Fatalf("the golden file is of %q, the cache of %q: run with -update", then.Version, now.Version)
	}
	for name, want := range then.Tones {
		for k, v := range now.Tones[name] {
			if math.Abs(v-want[k]) > 0.002 {
				t.Errorf("%s separates into %v, and into %v when the cache got its version: give it the next, then run with -update", name, now.Tones[name], want)
				break
			}
		}
	}
}
