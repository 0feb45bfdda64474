package proof

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"laydown/colour/press/presstest"
	"laydown/colour/reference"
	"laydown/coverage/artwork"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/plate"
)

// TestPlatesOfLinearArt compares the plates of a PNG whose gAMA chunk says gamma 1.0
// with those of what ImageMagick (Debian package imagemagick) makes of it in sRGB of
// 16 bits.
func TestPlatesOfLinearArt(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	img := image.NewNRGBA(image.Rect(0, 0, 192, 128))
	for y := range 128 {
		for x := range 192 {
			img.SetNRGBA(x, y, color.NRGBA{uint8(x * 255 / 191), uint8(y * 2), uint8(255 - x - y/4*2), 255})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	gama := []byte("\x00\x00\x00\x04gAMA\x00\x01\x86\xa0") // 100000
	gama = binary.BigEndian.AppendUint32(gama, crc32.ChecksumIEEE(gama[4:]))
	plain := b.Bytes()
	dir := t.TempDir()
	in, out, bare := filepath.Join(dir, "in.png"), filepath.Join(dir, "out.png"), filepath.Join(dir, "bare.png")
	for path, data := range map[string][]byte{in: bytes.Join([][]byte{plain[:33], gama, plain[33:]}, nil), bare: plain} {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if b, err := exec.Command(magick, in, "-colorspace", "sRGB", "-depth", "16", "-define", "png:bit-depth=16", "-define", "png:color-type=2", out).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, b)
	}
	laid := func(path string) *Proof {
		o := ordertest.New(t, path)
		o.Press, o.Wish = presstest.Published(t), artwork.Wish{WidthMM: 30}
		p, err := Make(o, 0)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	got, want, wrong := laid(in), laid(out), laid(bare)
	if got.Artwork.SourceProfile != "stated by the file: gamma 1.0" {
		t.Errorf("the source is called %q", got.Artwork.SourceProfile)
	}
	most := 0.0
	for k := plate.Cyan; k <= plate.Black; k++ {
		g, w := got.Plates.At(k).PrintPercent, want.Plates.At(k).PrintPercent
		most = math.Max(most, math.Abs(wrong.Plates.At(k).PrintPercent-w))
		worst := 0
		for i, v := range got.Laid.Plates.Plane[k] {
			d := int(v) - int(want.Laid.Plates.Plane[k][i])
			worst = max(worst, d, -d)
		}
		t.Logf("%s: %.2f %%, ImageMagick's %.2f; a pixel is off by %d/255 at most", plate.Names[k], g, w, worst)
		if math.Abs(g-w) > 0.2 || worst > 4 {
			t.Errorf("%s: %.2f %%, ImageMagick's %.2f; a pixel is off by %d/255", plate.Names[k], g, w, worst)
		}
	}
	if most < 5 {
		t.Errorf("taken as sRGB the plates would be off by only %.1f points: the picture tests nothing", most)
	}
}
