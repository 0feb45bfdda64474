package proof

import (
	"image"
	"image/color"
	"laydown/colour/reference"
	"testing"

	"laydown/colour/press/presstest"
	"laydown/coverage/artwork"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/plate"
)

// greys is a picture of neutral greys and one flat, deep colour.
func greys() image.Image {
	img := image.NewNRGBA(image.Rect(0, 0, 64, 32))
	for y := range 32 {
		for x := range 64 {
			img.SetNRGBA(x, y, color.NRGBA{uint8(4 * x), uint8(4 * x), uint8(4 * x), 255})
		}
	}
	return img
}

// TestPureBlackOfProcess asks by the shop file and by the option for the black
// plate alone.
func TestPureBlackOfProcess(t *testing.T) {
	reference.Long(t)
	path := ordertest.Draw(t, greys()).ArtPath
	for name, ask := range map[string]func(*order.Order){
		"option": func(o *order.Order) { o.PureBlack = true },
		"process": func(o *order.Order) {
			for i := range o.Shop.Processes {
				o.Shop.Processes[i].PureBlack = true
			}
		},
	} {
		o := ordertest.New(t, path)
		o.Wish = artwork.Wish{WidthMM: 30}
		plain, err := Make(o, 0)
		if err != nil {
			t.Fatal(err)
		}
		if plain.Plates.Cyan.PrintPercent < 10 {
			t.Fatalf("greys without pure black hold only %.2f %% cyan", plain.Plates.Cyan.PrintPercent)
		}
		ask(&o)
		p, err := Make(o, 0)
		if err != nil {
			t.Fatal(err)
		}
		for k := plate.Cyan; k <= plate.Yellow; k++ {
			if c := p.Plates.At(k).PrintPercent; c != 0 {
				t.Errorf("%s: %s covers %.3f %%", name, plate.Names[k], c)
			}
		}
		if p.Plates.Black.PrintPercent < 30 {
			t.Errorf("%s: black covers only %.2f %%", name, p.Plates.Black.PrintPercent)
		}
	}
}

// TestLimitSwitchesSeparation gives a profile whose own separation goes beyond
// 200 %, and asks for less.
func TestLimitSwitchesSeparation(t *testing.T) {
	reference.Long(t)
	o := ordertest.Draw(t, greys())
	o.Wish, o.Press = artwork.Wish{WidthMM: 30}, presstest.Published(t)
	p, err := Make(o, 0)
	if err != nil {
		t.Fatal(err)
	}
	if p.TAC.MaxPercent < 240 {
		t.Fatalf("the profile's own separation reaches only %.0f %%", p.TAC.MaxPercent)
	}
	o.TACPercent = 200
	if p, err = Make(o, 0); err != nil {
		t.Fatal(err)
	}
	if p.TAC.MaxPercent > 201 || p.TAC.OverLimitAreaPercent != 0 {
		t.Errorf("asked for 200 %%: most %.1f %%, over on %.2f %%", p.TAC.MaxPercent, p.TAC.OverLimitAreaPercent)
	}
}
