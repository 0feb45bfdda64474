package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"
)

// TestHintsNameWhatIsMeant has mistakes in calls lead to what was meant.
func TestHintsNameWhatIsMeant(t *testing.T) {
	art := filepath.Join(t.TempDir(), "badge.png")
	if err := os.WriteFile(art, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for line, want := range map[string]string{
		"quote --quantity 2 a.png":            "is --qty meant?",
		"coverage --colour red a.png":         "is --item-colour meant?",
		"proof --out a.html a.png":            "is --html meant?",
		"preflight --out a.png b.png":         "is --mark meant?",
		"underbase --process dark a.png":      "no option --process; proof, coverage, preflight and others have it",
		"ticket --intent relative a.png":      "no option --intent; proof, coverage, preflight and others have it",
		"proof --resume a b.png":              "no option --resume; quote has it",
		"proof -w40mm a.png":                  "no option -w40mm; write a space: -w 40mm",
		"version":                             "is laydown --version meant?",
		"-V":                                  "is -v meant?",
		"--shop my.toml list":                 "put it behind the command",
		art + " -w 80mm":                      "it is a file: put a command before it, such as laydown proof " + art,
		"preflight --mark m.txt a.png":        "--mark: name a file that ends in .png",
		"match --colour red --shop nope.toml": "nope.toml: there is no such file: check the name and the folder",
		"match --swatches nope.csv":           "nope.csv: there is no such file: check the name and the folder",
		"match --colour red --press nope.icc": "nope.icc: there is no such file: check the name and the folder",
		"proof --widht 80mm a.png":            "is --width meant?",
	} {
		w, out, errs := testWorld()
		if code := run(append([]string{"laydown"}, strings.Fields(line)...), w); code == 0 || out.Len() > 0 || !strings.Contains(errs.String(), want) {
			t.Errorf("%s: %d, %q, want %q", line, code, errs, want)
		}
	}
}

// TestWordsInAnyCase takes the words that options may be in any case.
func TestWordsInAnyCase(t *testing.T) {
	for _, line := range []string{"completion BASH", "match --colour red -i white -p light --intent PERCEPTUAL --black Medium"} {
		w, _, errs := testWorld()
		if code := run(append([]string{"laydown"}, strings.Fields(line)...), w); code != 0 {
			t.Errorf("%s: %d, %q", line, code, errs)
		}
	}
}

// TestHelpIsNarrow folds all help at 40 columns and loses no word of it.
func TestHelpIsNarrow(t *testing.T) {
	w, _, _ := testWorld()
	app := newApp(w)
	for _, c := range app.Commands {
		text := commandHelp(c.Name, c)
		if c.Hidden {
			continue
		}
		narrow := narrowed(text, 40)
		if strings.Join(strings.Fields(narrow), " ") != strings.Join(strings.Fields(text), " ") {
			t.Errorf("%s: words are lost", c.Name)
		}
		for line := range strings.Lines(narrow) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > 40 {
				t.Errorf("%s: %d wide: %q", c.Name, n, line)
			}
		}
		if narrowed(text, 80) != text {
			t.Errorf("%s: 80 columns change it", c.Name)
		}
	}
}
