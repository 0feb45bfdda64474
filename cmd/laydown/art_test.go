package main

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"laydown/colour/reference"
	"laydown/coverage/artwork"
)

// TestArtByTheDozen names art by folders, patterns, a .zip and standard input: what answers, in
// which order and form, what is said of the rest, and that one bad file stops no other.
func TestArtByTheDozen(t *testing.T) {
	small := string(smallArt(t, false))
	t.Chdir(t.TempDir())
	write := func(name, text string) {
		t.Helper()
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, f := range []string{"art/b.png", "art/a.bin", "art/.hidden.png", "art/deeper/c.png", "one/x.png"} {
		write(f, small)
	}
	write("art/notes.txt", "words")
	write("bad/c.png", small[:200])
	write("bad/d.png", small)
	write("worst/c.png", small[:200])
	write("worst/d.png", small[:300])
	write("none/notes.txt", "words")
	write("few.toml", "[limits]\nbundle = 0\n")
	var packed bytes.Buffer
	z := zip.NewWriter(&packed)
	for name, text := range map[string]string{"../../up.png": small, "in/bad.png": small[:200], "in/read.me": "words"} {
		w, err := z.Create(name)
		if err == nil {
			_, err = w.Write([]byte(text))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	write("set.zip", packed.String())
	for _, c := range []struct {
		line  string
		stdin string
		code  int
		files string // of the answers; in brackets if they are an array
		said  string // pattern, on stderr; "" for nothing
	}{
		{"coverage art/b.png", "", 0, "b.png", ""},
		{"coverage art", "", 0, "[a.bin b.png]", `^not art, passed over: art/notes\.txt\n$`},
		{"coverage one", "", 0, "[x.png]", ""}, // as a program that names a folder expects
		{"coverage art/*.png one/x.png", "", 0, "[b.png x.png]", ""},
		{"coverage bad", "", exitFailed, "[d.png]", `^laydown: 1 of 2 could not be worked out:\nbad/c\.png: is a damaged`},
		{"preflight bad --strict", "", exitFailed, "[d.png]", `^laydown: 1 of 2`},
		{"match bad/c.png bad/d.png", "", exitFailed, "[?]", `bad/c\.png: is a damaged`},
		{"quote bad -q 3", "", exitFailed, "[d.png]", `bad/c\.png: is a damaged`},
		{"coverage worst", "", exitFailed, "", `^laydown: none of 2 could be worked out:\nworst/c\.png: .*\nworst/d\.png: `},
		{"coverage one/x.png one/gone.png", "", exitFailed, "[x.png]", `one/gone\.png: there is no such file`},
		{"coverage set.zip", "", exitFailed, "[up.png]", `set\.zip/in/read\.me\nlaydown: 1 of 2 could not be worked out:\nset\.zip/in/bad\.png: is a damaged`},
		{"coverage -", small, 0, "standard-input", ""},
		{"coverage one/x.png -", small, 0, "[x.png standard-input]", ""},
		{"coverage -", "", exitFailed, "", `^laydown: standard-input: nothing came in`},
		{"coverage -", "words", exitFailed, "", `^laydown: standard-input: is not a picture I read`},
		{"coverage - -", small, exitUsage, "", `can be read once`},
		{"coverage one/*.gif", "", exitFailed, "", `^laydown: one/\*\.gif: there is no such file, and none that the pattern fits`},
		{"coverage none", "", exitFailed, "", `laydown: none: there is no art in the folder\n$`},
		{"coverage art --shop few.toml", "", exitFailed, "", `few\.toml.*bundle`},
		{"ticket art", "", exitUsage, "", `art holds 2 art files and this is about one`},
		{"preflight art --mark m.png", "", exitUsage, "", `this is about one`},
		{"preflight one --mark one/x.png", "", exitFailed, "", `one/x\.png: is the input itself`},
	} {
		w, out, errs := testWorld()
		w.stdin = strings.NewReader(c.stdin)
		code := run(append(append([]string{"laydown"}, parts(c.line)...), "-i", "white tee", "-p", "light garment", "-w", "20mm", "--json"), w)
		var got string
		type answer struct{ Artwork json.RawMessage } // its name, or more about it
		var one answer
		var all []answer
		named := func(a answer) string {
			var of struct{ File string }
			if json.Unmarshal(a.Artwork, &of.File) != nil && json.Unmarshal(a.Artwork, &of) != nil {
				return "?" // match says nothing of it
			}
			return of.File
		}
		switch {
		case out.Len() == 0:
		case json.Unmarshal(out.Bytes(), &one) == nil:
			got = named(one)
		default:
			if err := json.Unmarshal(out.Bytes(), &all); err != nil {
				t.Fatalf("%s: %v in %s", c.line, err, out)
			}
			var names []string
			for _, a := range all {
				names = append(names, named(a))
			}
			got = "[" + strings.Join(names, " ") + "]"
		}
		if code != c.code || got != c.files || (c.said == "") != (errs.Len() == 0) || !regexp.MustCompile(c.said).Match(errs.Bytes()) {
			t.Errorf("%s: exit code %d, %s, %s", c.line, code, got, errs)
		}
	}
}

// TestTextOfSeveral has every command answer in words, in one go, for a folder with a bad file.
func TestTextOfSeveral(t *testing.T) {
	small := smallArt(t, false)
	t.Chdir(t.TempDir())
	if err := os.Mkdir("art", 0o755); err != nil {
		t.Fatal(err)
	}
	for name, b := range map[string][]byte{"a.png": small, "b.png": small[:200], "c.png": small} {
		if err := os.WriteFile(filepath.Join("art", name), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, line := range []string{"coverage", "preflight", "match", "quote", "proof --full", "separate -o out --format tiff"} {
		code, out, errs := call(append(parts(line), "art", "-i", "white tee", "-p", "light garment", "-w", "20mm")...)
		a, b, c := strings.Index(out.String(), "a.png"), strings.Index(out.String(), "b.png"), strings.Index(out.String(), "c.png")
		if strings.HasPrefix(line, "separate") {
			a, b, c = strings.Index(out.String(), "a-plates.tif"), strings.Index(out.String(), "b-plates.tif"), strings.Index(out.String(), "c-plates.tif")
		}
		if code != exitFailed || a < 0 || b >= 0 || c < a || !strings.Contains(filepath.ToSlash(errs.String()), "1 of 3 could not be worked out:\nart/b.png: is a damaged") {
			t.Errorf("%s: exit code %d\n%s%s", line, code, out, errs)
		}
	}
	for _, name := range []string{"a", "c"} {
		if _, err := os.Stat(filepath.Join("out", name+"-plates.tif")); err != nil {
			t.Error(err)
		}
	}
}

// TestSeparateTogether writes the plates of a folder as TIFF and PDF, with soft proofs.
func TestSeparateTogether(t *testing.T) {
	small := smallArt(t, false)
	t.Chdir(t.TempDir())
	for _, f := range []string{"art/a.png", "art/b.png"} {
		if err := os.MkdirAll("art", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(f, small, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	on := []string{"-i", "white tee", "-p", "light garment", "-w", "20mm"}
	separate := func(line string, want int) (string, string) {
		t.Helper()
		code, out, errs := call(append(append([]string{"separate"}, parts(line)...), on...)...)
		if code != want {
			t.Fatalf("%s: exit code %d: %s", line, code, errs)
		}
		return filepath.ToSlash(strings.Join(strings.Fields(out.String()), " ")), errs.String()
	}
	read := func(name string) []byte {
		t.Helper()
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	names, said := separate("art -o out --format TIFF --soft-proof", 0)
	if names != "out/a-plates.tif out/a-soft-proof.png out/b-plates.tif out/b-soft-proof.png" || !strings.Contains(said, "no colour profile is in the TIFF: FOGRA39L is a data set") {
		t.Errorf("%s, %s", names, said)
	}
	f, err := artwork.Read(read("out/a-plates.tif"), "a.tif", artwork.Options{})
	if err != nil {
		t.Fatal(err)
	}
	// 64 pixels on 20 mm.
	if size, err := f.PrintSize(artwork.Wish{}); err != nil || size.WidthMM < 19.999 || size.WidthMM > 20.001 || f.Width != 64 {
		t.Errorf("%v, %v", size, err)
	}
	if c, err := png.DecodeConfig(bytes.NewReader(read("out/a-soft-proof.png"))); err != nil || c.Width != 64 || c.Height != 64 {
		t.Errorf("%v, %v", c, err)
	}
	if names, said = separate("art/b.png -o out --format pdf", 0); names != "out/b-plates.pdf" || said != "" || !bytes.HasPrefix(read("out/b-plates.pdf"), []byte("%PDF-1.4")) {
		t.Errorf("%s, %s", names, said)
	}
	if _, said = separate("art -o out --format gif", exitUsage); !strings.Contains(said, `--format "gif": write png, tiff or pdf`) {
		t.Error(said)
	}
	if _, said = separate("art/a.png art -o both", exitUsage); !strings.Contains(said, "would have the same names") {
		t.Error(said)
	}
	t.Run("profile", func(t *testing.T) {
		reference.Long(t)
		path := reference.Profile(t, "cmyk")
		if _, said := separate("art/a.png -o own --format tiff --press "+path, 0); strings.Contains(said, "no colour profile") {
			t.Error(said)
		}
		if !bytes.Contains(read("own/a-plates.tif"), reference.File(t, path)) {
			t.Error("the press's profile is not in the TIFF")
		}
	})
}
