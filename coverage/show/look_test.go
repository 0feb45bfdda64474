package show

import (
	"bytes"
	"encoding/base64"
	"html"
	"image"
	"image/png"
	"math"
	"regexp"
	"strings"
	"testing"

	"laydown/colour"
	"laydown/colour/reference"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/proof"
)

// lookPicture is the page's picture of the print on the item, as its readers see it.
func lookPicture(t *testing.T, page []byte) image.Image {
	t.Helper()
	found := regexp.MustCompile(`<img class="wide" src="data:image/png;base64,([^"]+)"`).FindSubmatch(page)
	if found == nil {
		t.Fatal("the page has no picture of the look")
	}
	b, err := base64.StdEncoding.DecodeString(html.UnescapeString(string(found[1])))
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// pixelOf is the picture's pixel in the middle of the widest part of the art that has just
// this colour, solid all around.
func pixelOf(t *testing.T, p *proof.Proof, img image.Image, hex string) colour.Lab {
	t.Helper()
	art, ok := p.Laid.Art.NRGBA()
	if !ok {
		t.Fatal("the art is no 8-bit RGB")
	}
	want, err := colour.Parse(hex)
	if err != nil {
		t.Fatal(err)
	}
	c := want.SRGB()
	near := func(x, y int) bool {
		q := art.NRGBAAt(x, y)
		d := func(a, b uint8) bool { return math.Abs(float64(a)-float64(b)) <= 1 }
		return q.A == 255 && d(q.R, c.R) && d(q.G, c.G) && d(q.B, c.B)
	}
	const around = 5
	for y := around; y < p.Artwork.HeightPX-around; y++ {
		for x := around; x < p.Artwork.WidthPX-around; x++ {
			all := true
			for dy := -around; dy <= around && all; dy++ {
				for dx := -around; dx <= around && all; dx++ {
					all = near(x+dx, y+dy)
				}
			}
			if all {
				b := img.Bounds()
				r, g, bl, _ := img.At((2*x+1)*b.Dx()/(2*p.Artwork.WidthPX), (2*y+1)*b.Dy()/(2*p.Artwork.HeightPX)).RGBA()
				return colour.FromSRGB(uint8(r>>8), uint8(g>>8), uint8(bl>>8))
			}
		}
	}
	t.Fatalf("no solid part of the art is %s", hex)
	return colour.Lab{}
}

// TestPictureAgreesWithCards reads the look picture's pixels back: what a colour card, the
// text and JSON say of a colour is what the picture shows, on dark, light and coloured items
// and with each sort of white. 8 bits a channel and the picture's table of prints leave ΔE00 1.4
// in the darkest colour and up to 1.1 in others. The first picture is read from the page
// itself, the others before they are packed into it.
func TestPictureAgreesWithCards(t *testing.T) {
	reference.Long(t)
	cases := []struct{ process, item string }{{"dark garment", "black tee"}, {"light garment", "white tee"}, {"dark garment", "#8c2f3a"}, {"light garment", "#e8e2c8"}}
	of := func(c struct{ process, item string }) bool { return c.item == "black tee" }
	for i, c := range reference.Sweep(t, cases, of) {
		o := ordertest.Badge(t)
		o.ProcessName, o.ItemName = c.process, c.item
		if strings.HasPrefix(c.item, "#") {
			lab, err := colour.Parse(c.item)
			if err != nil {
				t.Fatal(err)
			}
			o.ItemName, o.ItemColour = "", &lab
		}
		testAgreement(t, c.process+" on "+c.item, o, i == 0)
	}
}

func testAgreement(t *testing.T, name string, o order.Order, onPage bool) {
	p, err := proof.Make(o, proof.Matches)
	if err != nil {
		t.Fatal(err)
	}
	img, err := itemPicture(p.Laid, artPX)
	if err != nil {
		t.Fatal(err)
	}
	if onPage {
		b, err := Page(p)
		if err != nil {
			t.Fatal(err)
		}
		img = lookPicture(t, b)
	}
	if len(p.Main) < 4 {
		t.Fatalf("%s: %d main colours", name, len(p.Main))
	}
	for _, m := range p.Main {
		card := colour.Lab{L: m.SeenPrintedLab[0], A: m.SeenPrintedLab[1], B: m.SeenPrintedLab[2]}
		screen := card.SRGB() // what no screen shows is clipped in both
		shown := colour.FromSRGB(screen.R, screen.G, screen.B)
		got := pixelOf(t, p, img, m.Hex)
		if d := colour.DeltaE00(shown, got); d > 1.5 {
			t.Errorf("%s: %s: the card says %v, on a screen %v, and the picture shows %v: ΔE00 %.2f", name, m.Name, card, shown, got, d)
		}
	}
}
