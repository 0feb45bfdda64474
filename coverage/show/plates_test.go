package show

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/png"
	"strings"
	"testing"

	"laydown/coverage/artwork"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/proof"
)

// TestPlatesAndSoftProof writes the plates of a small print in every format, and how it looks: of
// the plates' pixels and size, the item where the art is clear, the art where white is under it.
func TestPlatesAndSoftProof(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 40, 30))
	for i := range 40 * 30 {
		if x, y := i%40, i/40; x > 5 && x < 34 && y > 5 && y < 24 {
			img.SetNRGBA(x, y, color.NRGBA{200, 40, 40, 255})
		}
	}
	o := ordertest.Draw(t, img)
	o.Wish.WidthMM = 20
	p, err := proof.Make(o, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		format, names string
		page          int
	}{
		{PlatesPNG, "art-cyan.png art-magenta.png art-yellow.png art-black.png art-white.png", 0},
		{PlatesTIFF, "art-plates.tif", 0},
		{PlatesPDF, "art-page3-plates.pdf", 3},
	} {
		files, err := Plates(p.Laid, c.page, c.format, nil)
		if err != nil {
			t.Fatal(err)
		}
		again, err := Plates(p.Laid, c.page, c.format, nil)
		if err != nil {
			t.Fatal(err)
		}
		var names []string
		for i, f := range files {
			names = append(names, f.Name)
			if !bytes.Equal(f.Data, again[i].Data) {
				t.Errorf("%s: other bytes the second time", f.Name)
			}
		}
		if got := strings.Join(names, " "); got != c.names {
			t.Errorf("%s: %s", c.format, got)
		}
		if c.format == PlatesTIFF {
			f, err := artwork.Read(files[0].Data, "plates.tif", artwork.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if size, err := f.PrintSize(artwork.Wish{}); err != nil || size.WidthMM < 19.999 || size.WidthMM > 20.001 {
				t.Errorf("%v, %v", size, err)
			}
		}
	}
	f, err := SoftProof(p.Laid, 2)
	if err != nil {
		t.Fatal(err)
	}
	look, err := png.Decode(bytes.NewReader(f.Data))
	if err != nil {
		t.Fatal(err)
	}
	// 20 mm of 40 pixels are 2000 a metre (PNG, 3rd edition, 11.3.4.3).
	if at := bytes.Index(f.Data, []byte("pHYs")); at < 0 || binary.BigEndian.Uint32(f.Data[at+4:]) != 2000 || f.Name != "art-page2-soft-proof.png" || look.Bounds() != img.Bounds() {
		t.Errorf("%s: %v", f.Name, look.Bounds())
	}
	r, g, b, _ := look.At(20, 15).RGBA()
	dark, _, _, _ := look.At(1, 1).RGBA() // the black tee
	if r>>8 < 140 || g>>8 > 90 || b>>8 > 90 || dark>>8 > 60 {
		t.Errorf("the print looks %d %d %d, the item %d", r>>8, g>>8, b>>8, dark>>8)
	}
}
