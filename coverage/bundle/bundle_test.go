package bundle

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"laydown/coverage/limit"
)

const (
	svg = `<svg xmlns="http://www.w3.org/2000/svg" width="6mm" height="4mm"/>`
	gif = "GIF89a and no more"
)

// packed is a .zip of names and what they hold, in this order.
func packed(t testing.TB, of ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(of); i += 2 {
		w, err := z.Create(of[i])
		if err == nil {
			_, err = w.Write([]byte(of[i+1]))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// written puts a file into a fresh folder and goes there.
func written(t testing.TB, files map[string]string) {
	t.Helper()
	t.Chdir(t.TempDir())
	for name, text := range files {
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// told is what a set holds, in words: names of files, names and sizes of data, and errors.
func told(s *Set) (out []string) {
	for _, a := range s.Art {
		if a.File {
			out = append(out, filepath.ToSlash(a.Name))
			continue
		}
		data, err := a.Data()
		if err != nil {
			out = append(out, fmt.Sprintf("%s: %v", a.Name, err))
			continue
		}
		out = append(out, fmt.Sprintf("%s=%d", a.Name, len(data)))
	}
	return out
}

// TestOpen finds the art of every kind of name.
func TestOpen(t *testing.T) {
	written(t, map[string]string{"art/b.svg": svg, "art/a.bin": gif, "art/.c.svg": svg, "art/notes.txt": "words", "art/deep/d.svg": svg,
		"[x].svg": svg, "e.zip": string(packed(t, "z/b.svg", svg, "../../a.svg", svg, "__MACOSX/b.svg", svg, "z/.b.svg", svg, "z/", "", `w\c:\d.svg`, svg, "read.me", "words", "x\x1b[31m.svg", svg)),
		"f.zip": string(packed(t, "read.me", "words")), "g.zip": "PK\x03\x04 and no more", "no/notes.txt": "words"})
	for _, c := range []struct {
		names   string
		several bool
		want    string
		passed  string
	}{
		{"art/b.svg", false, "art/b.svg", ""},
		{"gone.svg", false, "gone.svg", ""}, // who opens it says so
		{"art/b.svg gone.svg", true, "art/b.svg|gone.svg", ""},
		{"art", true, "art/a.bin|art/b.svg", "art/notes.txt"},
		{"art/", true, "art/a.bin|art/b.svg", "art/notes.txt"},
		{"art/*.svg", true, "art/b.svg", ""},
		{"art/.*.svg", true, "art/.c.svg", ""},
		{"ar?", true, "art/a.bin|art/b.svg", "art/notes.txt"},
		{"art/*.gif", true, "art/*.gif: there is no such file, and none that the pattern fits: check the name and the folder", ""},
		{"art/[", true, "art/[: there is no such file, and as a pattern it lacks a ]: check the name", ""},
		{"[x].svg", false, "[x].svg", ""}, // a file that is there is none
		{"e.zip", true, fmt.Sprintf("e.zip/a.svg=%d|e.zip/w/c_/d.svg=%[1]d|e.zip/x_[31m.svg=%[1]d|e.zip/z/b.svg=%[1]d", len(svg)), "e.zip/read.me"},
		{"f.zip", true, "f.zip: there is no art in it", "f.zip/read.me"},
		{"g.zip art/b.svg", true, "g.zip: is a damaged or cut-short .zip: pack it again|art/b.svg", ""},
		{"no", true, "no: there is no art in the folder", "no/notes.txt"},
		{"-", false, "standard-input=5", ""},
		{"art/b.svg -", true, "art/b.svg|standard-input=5", ""},
	} {
		s, err := Open(strings.Fields(c.names), strings.NewReader("12345"), limit.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		got, passed := strings.Join(told(s), "|"), filepath.ToSlash(strings.Join(s.Passed, "|"))
		if got != c.want || s.Several != c.several || passed != c.passed {
			t.Errorf("%s: %s, several %t, passed over %s", c.names, got, s.Several, passed)
		}
		s.Close()
	}
	if _, err := Open([]string{"-", "-"}, strings.NewReader(""), limit.Limits{}); err == nil {
		t.Error("standard input is read twice")
	}
	// Nothing was unpacked.
	var all []string
	filepath.WalkDir(".", func(p string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			all = append(all, p)
		}
		return err
	})
	if len(all) != 10 {
		t.Errorf("%q", all)
	}
}

// TestFiles names the files that a call reads, so that none is written.
func TestFiles(t *testing.T) {
	written(t, map[string]string{"art/b.svg": svg, "art/.c.svg": svg, "a.svg": svg})
	for name, want := range map[string]string{"art": "art/.c.svg art/b.svg", "*.svg": "a.svg", "a.svg": "a.svg", "gone*": "gone*", "-": "-"} {
		if got := filepath.ToSlash(strings.Join(Files(name), " ")); got != want {
			t.Errorf("%s: %s", name, got)
		}
	}
}

// TestLimits refuses what is too much, in words that say what to do.
func TestLimits(t *testing.T) {
	flat := packed(t, "a.svg", svg+strings.Repeat(" ", 1000)) // its list says that it is of 70 MB
	binary.LittleEndian.PutUint32(flat[bytes.LastIndex(flat, []byte("PK\x01\x02"))+24:], 70*limit.MB)
	least := packed(t, "a.svg", svg+strings.Repeat(" ", 1000)) // or of as much as is let pass
	binary.LittleEndian.PutUint32(least[bytes.LastIndex(least, []byte("PK\x01\x02"))+24:], 64*limit.MB)
	small := svg + strings.Repeat(" ", 3*limit.MB)
	lying := packed(t, "a.svg", svg+strings.Repeat("x", 100))
	at := bytes.LastIndex(lying, []byte("PK\x01\x02")) // its list says that it is shorter
	lying[at+24]--
	short := packed(t, "a.svg", svg+strings.Repeat("x", 100))
	short[bytes.LastIndex(short, []byte("PK\x01\x02"))+24]++
	locked := packed(t, "a.svg", svg)
	locked[bytes.LastIndex(locked, []byte("PK\x01\x02"))+8] |= 1
	other := packed(t, "a.svg", svg)
	other[bytes.LastIndex(other, []byte("PK\x01\x02"))+10] = 12
	wrong := packed(t, "a.svg", svg)
	wrong[bytes.LastIndex(wrong, []byte("PK\x01\x02"))+16]++ // its check sum
	many := packed(t, "a.svg", svg, "b.svg", svg, "c.svg", svg)
	// Three entries with names of 60 kB each: a list that is longer than three entries are.
	long := packed(t, strings.Repeat("a", 60_000), "", strings.Repeat("b", 60_000), "", strings.Repeat("c", 60_000), "")
	written(t, map[string]string{"flat.zip": string(flat), "least.zip": string(least), "two.zip": string(packed(t, "a.svg", small, "b.svg", svg)), "lying.zip": string(lying), "short.zip": string(short),
		"locked.zip": string(locked), "other.zip": string(other), "wrong.zip": string(wrong), "many.zip": string(many), "long.zip": string(long), "art/a.svg": svg, "art/b.svg": svg, "art/c.svg": svg})
	for _, c := range []struct {
		name string
		l    limit.Limits
		want string
	}{
		{"flat.zip", limit.Limits{}, "flat.zip/a.svg: would unpack to more than 200 times its size"},
		{"least.zip", limit.Limits{}, "least.zip/a.svg: is a damaged"}, // read, and shorter than that
		{"flat.zip", limit.Limits{BundleMB: 9}, "flat.zip: holds more than 9 MB when unpacked"},
		{"two.zip", limit.Limits{}, fmt.Sprintf("two.zip/a.svg=%d|two.zip/b.svg=%d", len(small), len(svg))},
		{"two.zip", limit.Limits{ArtMB: 2}, fmt.Sprintf("two.zip/a.svg: is 4 MB large, and at most 2 are read: name another, or raise the limit in the shop file|two.zip/b.svg=%d", len(svg))},
		{"lying.zip", limit.Limits{}, "lying.zip/a.svg: is a damaged"},
		{"short.zip", limit.Limits{}, "short.zip/a.svg: is a damaged"},
		{"wrong.zip", limit.Limits{}, "wrong.zip/a.svg: is a damaged"},
		{"locked.zip", limit.Limits{}, "locked.zip/a.svg: is locked with a password"},
		{"other.zip", limit.Limits{}, "other.zip/a.svg: is packed in a way that is not read"},
		{"many.zip", limit.Limits{Bundle: 2}, "many.zip: holds 3 entries, and at most 2 are taken at once"},
		{"art", limit.Limits{Bundle: 2}, "art: holds 3 files, and at most 2 are taken at once"},
		{"art/*", limit.Limits{Bundle: 2}, "art/*: the pattern fits 3 files, and at most 2 are taken at once"},
		{"long.zip", limit.Limits{}, "long.zip: there is no art in it"},
	} {
		s, err := Open([]string{c.name}, nil, c.l)
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Join(told(s), "|"); !strings.HasPrefix(got, c.want) {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
		s.Close()
	}
	// The list itself is held to a kilobyte for each entry, and a megabyte.
	var of []string
	for i := range 20 {
		of = append(of, strings.Repeat(string(rune('a'+i)), 60_000), "")
	}
	list20 := packed(t, of...)
	if _, err := list(bytes.NewReader(list20), int64(len(list20)), limit.Limits{Bundle: 30}.Filled()); err == nil || !strings.Contains(err.Error(), "list of entries is too long") {
		t.Errorf("%v", err)
	}
	big := make([]byte, limit.MB+1)
	s, err := Open([]string{"-"}, bytes.NewReader(big), limit.Limits{ArtMB: 1})
	if err != nil {
		t.Fatal(err)
	}
	if got := told(s); len(got) != 1 || !strings.HasPrefix(got[0], "standard-input: is larger than the 1 MB") {
		t.Errorf("%q", got)
	}
}

// FuzzList has any bytes as a .zip: names come out safe, and what is read is as long as stated.
func FuzzList(f *testing.F) {
	f.Add(packed(f, "a.svg", svg, "../b.svg", gif))
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\x00", 18)))
	f.Fuzz(func(t *testing.T, data []byte) {
		l := limit.Limits{Bundle: 10, BundleMB: 4, ArtMB: 2}.Filled()
		all, err := list(bytes.NewReader(data), int64(len(data)), l)
		if err != nil {
			return
		}
		if len(all) > l.Bundle {
			t.Fatalf("%d entries", len(all))
		}
		for _, e := range all {
			if e.name == "" || strings.ContainsAny(e.name, "\x00\x1b\n:\\") || slices.Contains(strings.Split(e.name, "/"), "..") || strings.HasPrefix(e.name, "/") {
				t.Fatalf("%q", e.name)
			}
			if e.err != nil {
				continue
			}
			if b, err := e.all(); err == nil && uint64(len(b)) != e.of.UncompressedSize64 {
				t.Fatalf("%d bytes of %d", len(b), e.of.UncompressedSize64)
			} else if err != nil && !errors.Is(err, errDamaged) {
				t.Fatal(err)
			}
		}
	})
}
