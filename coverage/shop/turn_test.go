package shop

import (
	"strings"
	"testing"

	"laydown/coverage/plate"
)

// TestTurned works out recipes by following two marks of the picture, and two layers, from
// move to move, as one would with a sheet of paper in hand: each move face to face turns
// the sheet over, left to right and top layer to bottom.
func TestTurned(t *testing.T) {
	press, marry, slide := Step{Do: "press", MovesTo: "x"}, Step{Do: "marry", MovesTo: "x"}, Step{Do: "slide", MovesTo: "x"}
	peel := Step{Do: "peel"}
	window, glass := &Item{Clear: true, Seen: Through}, &Item{Clear: true, Seen: Front}
	for name, c := range map[string]struct {
		steps []Step
		item  *Item
		side  string
	}{
		"one-part film":                     {[]Step{press, peel}, &Item{}, UnderColours},
		"two-part film":                     {[]Step{marry, peel, press, peel}, &Item{}, UnderColours},
		"two-part film, adhesive only":      {[]Step{{Do: "marry"}, press}, &Item{}, UnderColours},
		"water-slide":                       {[]Step{{Do: "soak"}, slide, {Do: "dry"}}, &Item{}, UnderColours},
		"window, from outside, white":       {[]Step{slide}, glass, UnderColours},
		"window, from inside, white behind": {[]Step{slide}, window, OverColours},
		"pressed on glass, seen through it": {[]Step{press}, window, OverColours},
		"three moves":                       {[]Step{marry, press, press}, &Item{}, OverColours},
	} {
		for _, mirrored := range []bool{false, true} {
			for _, first := range []bool{false, true} {
				// The sheet from left to right, and from its surface up.
				marks, layers := "LR", "colours white"
				if mirrored {
					marks = "RL"
				}
				if first {
					layers = "white colours"
				}
				for _, s := range c.steps {
					if s.MovesTo != "" && s.Do != "slide" {
						marks = marks[1:] + marks[:1]
						words := strings.Fields(layers)
						layers = words[1] + " " + words[0]
					}
				}
				if c.item.Seen == Through {
					marks = marks[1:] + marks[:1]
				}
				right := marks == "LR"
				rightWhite := (layers == "white colours") == (c.side == UnderColours)
				p := &Process{Steps: c.steps, White: plate.Under, WhiteSide: c.side}
				_, p.Mirrored = p.moves()
				turn := p.Turned(c.item)
				if right != (turn.Mirrored == mirrored) || rightWhite != (turn.WhiteFirst == first) || !turn.WhiteKnown {
					t.Errorf("%s, printed mirrored %v, white first %v: reads %s, %s; told %+v", name, mirrored, first, marks, layers, turn)
				}
			}
		}
	}
	if turn := (&Process{White: plate.NoWhite, Steps: []Step{press}}).Turned(&Item{}); turn.WhiteKnown {
		t.Errorf("without white: %+v", turn)
	}
}

// TestTurnIsChecked: what the file says of mirroring must follow from the moves; left out,
// it does.
func TestTurnIsChecked(t *testing.T) {
	text := string(demo)
	if !strings.Contains(text, "mirrored = true\nheat_pressed") {
		t.Fatal("the demo's light garment is written otherwise")
	}
	if _, err := Load([]byte(strings.Replace(text, "mirrored = true\nheat_pressed", "mirrored = false\nheat_pressed", 1)), "shop.toml"); err == nil || !strings.Contains(err.Error(), `"light garment": mirrored = false, but`) {
		t.Errorf("not mirrored: %v", err)
	}
	s, err := Load([]byte(strings.Replace(text, "mirrored = true\nheat_pressed", "heat_pressed", 1)), "shop.toml")
	if err != nil {
		t.Fatal(err)
	}
	if p, err := s.Process("light garment"); err != nil || !p.Mirrored {
		t.Errorf("left out: %+v, %v", p, err)
	}
}
