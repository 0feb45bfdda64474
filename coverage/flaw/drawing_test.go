package flaw

import (
	"image"
	"strings"
	"testing"

	"laydown/coverage/artwork"
	"laydown/coverage/artwork/mark"
	"laydown/coverage/plate"
)

// TestMissing words what a drawing lacks.
func TestMissing(t *testing.T) {
	s := scan(t, image.NewNRGBA(image.Rect(0, 0, 30, 30)), 100, plate.WhiteOptions{Rule: plate.NoWhite})
	if found := kinds(t, s); len(found[MissingFont].Boxes)+int(found[MissingFont].Measured+found[MissingPicture].Measured) > 0 {
		t.Errorf("nothing is missing: %+v", found)
	}
	s.Art.Substitutes = []artwork.Substitute{{Asked: "Old Hand", Used: "Liberation Serif"}, {Asked: `one that has "你"`}, {Asked: "c", Used: "d"}, {Asked: "e", Used: "f"}, {Asked: "g", Used: "h"}}
	s.Art.Linked = []string{"logo\x1b.png", "https://a.example/" + strings.Repeat("long", 40)}
	found := kinds(t, s)
	f, p := found[MissingFont], found[MissingPicture]
	if f.Severity != Stop || f.Measured != 5 || !strings.Contains(f.Advice, `Old Hand (set in Liberation Serif), one that has "你" (nothing stands in for it)`) || !strings.Contains(f.Advice, "and 1 more") {
		t.Errorf("%+v", f)
	}
	if p.Severity != Stop || p.Measured != 2 || !strings.Contains(p.Advice, `"logo\x1b.png"`) || strings.Contains(p.Advice, strings.Repeat("long", 30)) {
		t.Errorf("%+v", p)
	}
}

// TestInksOfDrawings words what becomes of a drawing's own inks, as notes.
func TestInksOfDrawings(t *testing.T) {
	s := scan(t, image.NewNRGBA(image.Rect(0, 0, 30, 30)), 100, plate.WhiteOptions{Rule: plate.NoWhite})
	s.Art.Vector = true
	for name, c := range map[string]struct {
		marks mark.Set
		want  map[Kind]string
	}{
		"nothing":   {mark.Set{}, nil},
		"spots":     {mark.Set{Spots: []string{"Deep\x1bSea", strings.Repeat("é", 90), "c", "d", "e"}}, map[Kind]string{SpotColour: `"Deep\x1bSea", "` + strings.Repeat("é", longestName) + `…", "c", "d" and 1 more`}},
		"overprint": {mark.Set{Overprint: true}, map[Kind]string{Overprint: "overprint"}},
		"lost":      {mark.Set{LostInks: "the page is mixed"}, map[Kind]string{ScreenColours: "because the page is mixed:"}},
		"unread":    {mark.Set{Unread: true}, map[Kind]string{ScreenColours: "could not be read"}},
	} {
		s.Art.Marks = &c.marks
		found := kinds(t, s)
		for _, k := range []Kind{SpotColour, Overprint, ScreenColours} {
			f, has := found[k]
			if words, want := c.want[k]; has != want || has && (f.Severity != Note || !strings.Contains(f.Advice, words)) {
				t.Errorf("%s: %+v", name, f)
			}
		}
	}
}

// TestDrawingsAreSharp: what is said of pixels is not said of outlines, however few they
// are drawn with.
func TestDrawingsAreSharp(t *testing.T) {
	s := scan(t, image.NewNRGBA(image.Rect(0, 0, 100, 100)), 72, plate.WhiteOptions{Rule: plate.NoWhite})
	if kinds(t, s)[LowResolution].Severity != Stop {
		t.Fatal("a picture of 72 pixels per inch passes")
	}
	s.Art.Vector = true
	if f, bad := kinds(t, s)[LowResolution]; bad {
		t.Errorf("%+v", f)
	}
}
