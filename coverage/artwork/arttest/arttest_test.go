package arttest

import (
	"image"
	"image/color"
	"testing"

	"laydown/colour/icc"
	"laydown/coverage/artwork"
)

func TestOf(t *testing.T) {
	cmyk := image.NewCMYK(image.Rect(0, 0, 3, 2))
	cmyk.SetCMYK(2, 1, color.CMYK{C: 1, M: 2, Y: 3, K: 4})
	if a := Of(cmyk); a.Space != icc.CMYK || a.Device(5) != (artwork.Device{1, 2, 3, 4}) || a.HasAlpha {
		t.Errorf("cmyk: %v %v", a.Info, a.Device(5))
	}
	part := image.NewNRGBA64(image.Rect(0, 0, 5, 5))
	part.SetNRGBA64(3, 3, color.NRGBA64{R: 0x1234, A: 0x8000})
	if a := Of(part.SubImage(image.Rect(2, 2, 5, 5))); a.Width != 3 || a.Depth != 16 || !a.HasAlpha || a.Fractions(4)[0] != 0x1234/65535.0 {
		t.Errorf("16 bits: %v %v", a.Info, a.Fractions(4))
	}
}

func TestTIFF(t *testing.T) {
	img := image.NewCMYK(image.Rect(0, 0, 3, 2))
	img.SetCMYK(2, 1, color.CMYK{C: 1, M: 2, Y: 3, K: 4})
	f, err := artwork.Read(TIFF(img, nil), "a.tif", artwork.Options{})
	if err != nil {
		t.Fatal(err)
	}
	a, err := f.Decode()
	if err != nil || a.Space != icc.CMYK || a.Device(5) != (artwork.Device{1, 2, 3, 4}) || a.DPIX != 300 || a.Profile != nil {
		t.Errorf("%+v, %v", a, err)
	}
	if _, err := artwork.Read(TIFF(img, []byte("junk")), "a.tif", artwork.Options{}); err == nil {
		t.Error("the profile is not there")
	}
}
