package proof

import (
	"image"
	"image/color"
	"image/gif"
	"os"
	"path/filepath"
	"testing"

	"laydown/coverage/order/ordertest"
)

// TestChosenFrame: an answer about an animation says that one frame of it was taken, whether
// the process was named or the best is looked for.
func TestChosenFrame(t *testing.T) {
	frame := image.NewPaletted(image.Rect(0, 0, 40, 40), color.Palette{color.Black, color.RGBA{200, 30, 30, 255}})
	for i := range frame.Pix {
		frame.Pix[i] = 1
	}
	path := filepath.Join(t.TempDir(), "a.gif")
	out, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := gif.EncodeAll(out, &gif.GIF{Image: []*image.Paletted{frame, frame, frame}, Delay: []int{9, 9, 9}}); err != nil {
		t.Fatal(err)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	for _, process := range []string{"dark garment", ""} {
		o := ordertest.New(t, path)
		o.ProcessName, o.Wish.WidthMM = process, 30
		p, err := Make(o, 0)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(p.Assumed); n == 0 || p.Assumed[n-1].Words() != "frame not named: 1 of 3, because a print shows one" {
			t.Errorf("process %q: assumed %+v", process, p.Assumed)
		}
	}
}
