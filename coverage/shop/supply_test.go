package shop

import (
	"testing"

	"github.com/shopspring/decimal"
)

// TestDemoRecipes: every kind of work that the README names has a recipe, which reads the
// right way round and has white where it must be, worked out by hand from its moves.
func TestDemoRecipes(t *testing.T) {
	s, err := Load(Demo(), "demo")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		item, process       string
		mirrored, whiteLast bool
	}{
		{"black tee", "dark garment", false, false}, // two moves face to face
		{"loose tattoo", "temporary tattoo", true, true},
		{"steel plate", "flat hard goods", true, true}, {"glass coaster", "flat hard goods", true, true}, {"birch board", "flat hard goods", true, true},
		{"china mug", "round hard goods", true, true}, {"steel tumbler", "round hard goods", true, true},
		{"outside sticker", "outside film", false, false}, // stays on its sheet, white behind
		{"inside sticker", "inside film", true, true},     // seen through the glass, white over the colours
	} {
		v, err := s.Item(c.item)
		if err != nil {
			t.Fatal(err)
		}
		p, err := s.Process(c.process)
		if err != nil {
			t.Fatal(err)
		}
		if !s.Suits(p, v) {
			t.Errorf("%s does not suit %s", c.process, c.item)
		}
		if turn := p.Turned(v); turn.Mirrored != c.mirrored || !turn.WhiteKnown || turn.WhiteFirst == c.whiteLast {
			t.Errorf("%s on %s: %+v", c.process, c.item, turn)
		}
	}
	for _, item := range s.ItemNames() {
		v, _ := s.Item(item)
		if len(s.SuitedTo(v)) == 0 {
			t.Errorf("no process is for %s", item)
		}
	}
}

// TestSupplied: foil is used once a piece, adhesive once a sheet, and by loose goods only
// what is done here.
func TestSupplied(t *testing.T) {
	s, err := Load(Demo(), "demo")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ process, item, sheet, piece string }{
		{"gold foil", "black tee", "0", "0.6"}, {"temporary tattoo", "loose tattoo", "0.56", "0"}, {"gold foil", "transfer sheet", "0", "0"}, {"dark garment", "black tee", "0", "0"},
	} {
		p, _ := s.Process(c.process)
		v, _ := s.Item(c.item)
		got := s.Supplied(p, v)
		if !got.Sheet.Round(6).Equal(decimal.RequireFromString(c.sheet)) || !got.Piece.Round(6).Equal(decimal.RequireFromString(c.piece)) || got.Order.Sign() != 0 {
			t.Errorf("%s on %s: %s a sheet, %s a piece", c.process, c.item, got.Sheet.Round(6), got.Piece.Round(6))
		}
	}
}
