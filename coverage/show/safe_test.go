package show

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"io"
	"strings"
	"testing"

	"laydown/coverage/batch"
	"laydown/coverage/proof"
	"laydown/coverage/sheet"
)

// evil is a name that takes the terminal's title, colours what follows, hides itself, and is no
// UTF-8 at its end.
const evil = "a\x1b]0;gone\x07\x1b[31mb\u009bc\u202ed\re\xff"

// TestSafe lets nothing through that does something to a terminal, but the style's own colours.
func TestSafe(t *testing.T) {
	const want = `a\x1b]0;gone\a\x1b[31mb\u009bc\u202ed\re\xff`
	if got := (Style{}).Safe(evil + "\n\tplain – 👍"); got != want+"\n\tplain – 👍" {
		t.Errorf("%q", got)
	}
	red := Style{Colour: true}
	own := red.paint(stopColour, "stop")
	if own == "stop" {
		t.Fatal("the style has no colours")
	}
	if got := red.Safe(own + evil); got != own+want {
		t.Errorf("%q, want %q", got, own+want)
	}
	if got := (Style{}).Safe(own); strings.Contains(got, "\x1b") {
		t.Errorf("%q", got)
	}
	for _, c := range []struct{ is, want string }{{"=1+1", "'=1+1"}, {"+x", "'+x"}, {"-a", "'-a"}, {"@SUM(A1)", "'@SUM(A1)"}, {"\tx", "'\tx"},
		{"-5.25", "-5.25"}, {"+3", "+3"}, {"a=b", "a=b"}, {"", ""}} {
		if got := cell(c.is); got != c.want {
			t.Errorf("%q gives %q, want %q", c.is, got, c.want)
		}
	}
}

// TestHostileNames are names in everything that other programs read: JSON, CSV and SVG.
func TestHostileNames(t *testing.T) {
	results := []batch.Result{{Line: 2, Art: "=" + evil, Item: "-item", Margin: "-3.5", Head: &proof.Head{}}}
	b, err := BatchCSV(results)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if art := rows[1][1]; !strings.HasPrefix(art, "'=a") || rows[1][2] != "'-item" || rows[1][11] != "-3.5" {
		t.Errorf("%q", rows[1])
	}
	one, err := BatchJSON(results)
	if err != nil {
		t.Fatal(err)
	}
	all, err := JSON(results)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range [][]byte{one, all} {
		if bytes.IndexFunc(b, func(r rune) bool { return r == 0x9b || r == 0x202e || r < 32 && r != '\n' }) >= 0 {
			t.Errorf("%q", b)
		}
		if !strings.Contains(string(b), `b\u009bc\u202ed`) || !json.Valid(bytes.TrimSpace(b)) {
			t.Errorf("%q", b)
		}
	}
	g := sheet.Gang{Sheet: sheet.Holding{Name: "A4", WidthMM: 210, HeightMM: 297}, Layouts: []sheet.GangLayout{{Prints: 1, Places: []sheet.GangPlace{{Name: evil, Place: sheet.Place{WidthMM: 80, HeightMM: 60}}}}}}
	picture, err := newGangPicture(g, nil).svg()
	if err != nil {
		t.Fatal(err)
	}
	for d := xml.NewDecoder(bytes.NewReader(picture)); ; {
		if _, err := d.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatalf("the picture is no XML: %v", err)
		}
	}
	if !bytes.Contains(picture, []byte(`\x1b]0;gone`)) {
		t.Errorf("the name is not in the picture:\n%s", picture)
	}
}
