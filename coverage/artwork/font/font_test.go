package font

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/gofont/gosmallcaps"
)

func TestLibrary(t *testing.T) {
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "deep", "er"), 0o700); err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{"deep/er/some.TTF": goregular.TTF, "caps.otf": gosmallcaps.TTF, "broken.ttf": []byte("no font"), "notes.txt": goregular.TTF} {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	l := New(dir, filepath.Join(dir, "not there"))
	for _, c := range []struct {
		asked, name string
		files       int
	}{{"go", "Go", 1}, {"GO smallcaps", "Go Smallcaps", 1}, {"Liberation Sans", Sans, 4}, {"liberation serif", Serif, 4}, {"Liberation Mono", Mono, 4}, {"No Such Hand", "", 0}, {"", "", 0}} {
		files, name := l.Family(c.asked)
		if len(files) != c.files || name != c.name {
			t.Errorf("%q: %d files of %q, want %d of %q", c.asked, len(files), name, c.files, c.name)
		}
	}
	if files, _ := New().Family("Go"); len(files) > 0 {
		t.Error("a font comes from nowhere")
	}
	sans, _ := l.Family(Sans)
	if got := Lacks(sans, []rune("aé你ж")); !slices.Equal(got, []rune("你")) {
		t.Errorf("Liberation Sans lacks %q", got)
	}
	if got := Lacks([][]byte{[]byte("no font")}, []rune("a")); len(got) != 1 {
		t.Errorf("no font lacks %q", got)
	}
	if _, family := l.With('a'); family != Sans {
		t.Errorf("%q has an a first", family)
	}
	if file, family := l.With('你'); file != nil {
		t.Errorf("%q has 你", family)
	}
}

func TestFolders(t *testing.T) {
	env := map[string]string{"HOME": "/home/me", "WINDIR": "/w", "LOCALAPPDATA": "/l", "XDG_DATA_HOME": ""}
	for system, want := range map[string]string{"linux": "/home/me/.fonts", "darwin": "/home/me/Library/Fonts", "windows": "/w/Fonts", "freebsd": "/usr/local/share/fonts"} {
		if got := Folders(system, func(name string) string { return env[name] }); !slices.Contains(got, filepath.FromSlash(want)) {
			t.Errorf("%s: %q", system, got)
		}
	}
	if got := Folders("linux", func(string) string { return "" }); slices.ContainsFunc(got, func(d string) bool { return !filepath.IsAbs(d) }) {
		t.Errorf("without a home: %q", got)
	}
}
