package plate

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"laydown/colour/reference"
	"laydown/coverage/artwork"
)

// patterned are plates in which every sample tells its place: solid and bare parts, ramps both
// ways, and white without colour.
func patterned(w, h int) *Plates {
	p := New(w, h)
	for y := range h {
		for x := range w {
			i := y*w + x
			p.Plane[Cyan][i] = uint8(x * 7)
			p.Plane[Magenta][i] = uint8(y * 11)
			p.Plane[Yellow][i] = uint8(255 - x)
			p.Plane[Black][i] = uint8(x*y + 3)
			if p.Plane[White][i] = 255; x >= w/2 {
				p.Plane[White][i] = uint8(x ^ y)
			}
			if y == 0 { // white toner and nothing else
				p.Plane[Cyan][i], p.Plane[Magenta][i], p.Plane[Yellow][i], p.Plane[Black][i], p.Plane[White][i] = 0, 0, 0, 0, 255
			}
			if y == 1 {
				p.Plane[Cyan][i], p.Plane[Magenta][i], p.Plane[Yellow][i], p.Plane[Black][i], p.Plane[White][i] = 255, 0, 0, 0, 0
			}
		}
	}
	return p
}

// samples are all plates of a picture, the five of a pixel beside each other.
func (p *Plates) samples() (out []byte) {
	for i := range p.Width * p.Height {
		for k := range Count {
			out = append(out, p.Plane[k][i])
		}
	}
	return out
}

// TestTIFFReadsBack reads plates of several sizes back by our own reader: the four colours, the
// size of a pixel, the profile; and one that has many strips.
func TestTIFFReadsBack(t *testing.T) {
	defer func(n int) { runtime.GOMAXPROCS(n) }(runtime.GOMAXPROCS(0))
	for _, c := range []struct {
		w, h    int
		pixelMM float64
		dpi     float64
	}{{2, 2, 25.4 / 300, 300}, {31, 17, 0.1, 254}, {640, 700, 25.4 / 72.5, 72.5}} {
		p := patterned(c.w, c.h)
		b, err := p.TIFF(c.pixelMM, nil)
		if err != nil {
			t.Fatal(err)
		}
		f, err := artwork.Read(b, "plates.tif", artwork.Options{})
		a := decoded(t, f, err)
		if f.DPIX != c.dpi || f.DPIY != c.dpi || a.HasAlpha || f.Profile != nil {
			t.Errorf("%d × %d: %g × %g dpi, alpha %t", c.w, c.h, f.DPIX, f.DPIY, a.HasAlpha)
		}
		for i := range c.w * c.h {
			d := a.Device(i)
			for k := Cyan; k <= Black; k++ {
				if d[k] != p.Plane[k][i] {
					t.Fatalf("%d × %d: sample %d of plate %d is %d, want %d", c.w, c.h, i, k, d[k], p.Plane[k][i])
				}
			}
		}
		if n := (c.h + p.rowsOfStrip() - 1) / p.rowsOfStrip(); (c.h == 700) != (n > 1) {
			t.Errorf("%d × %d: %d strips", c.w, c.h, n)
		}
		runtime.GOMAXPROCS(1)
		again, err := p.TIFF(c.pixelMM, nil)
		if err != nil || !bytes.Equal(b, again) {
			t.Errorf("%d × %d: other bytes on one core, %v", c.w, c.h, err)
		}
		runtime.GOMAXPROCS(runtime.NumCPU())
	}
}

// TestTIFFEntries holds the directory to TIFF 6.0: rising tags, a value for each that section 16
// asks of separated pictures, offsets at even bytes, and the profile whole (ICC.1:2010, B.4).
func TestTIFFEntries(t *testing.T) {
	profile := []byte("some profile of an odd length")
	b, err := patterned(5, 3).TIFF(25.4/600, profile)
	if err != nil {
		t.Fatal(err)
	}
	le := binary.LittleEndian
	sizes := map[uint16]int{kindText: 1, kindShort: 2, kindLong: 4, kindRational: 8, kindBytes: 1}
	got, last := map[uint16]string{}, uint16(0)
	for i := range int(le.Uint16(b[8:])) {
		e := b[10+12*i:]
		tag, kind, n := le.Uint16(e), le.Uint16(e[2:]), int(le.Uint32(e[4:]))*sizes[le.Uint16(e[2:])]
		if tag <= last || n == 0 {
			t.Errorf("tag %d of kind %d with %d bytes behind tag %d", tag, kind, n, last)
		}
		last = tag
		at := e[8 : 8+min(n, 4)]
		if n > 4 {
			from := int(le.Uint32(e[8:]))
			if from%2 != 0 {
				t.Errorf("tag %d stands at byte %d", tag, from)
			}
			at = b[from : from+n]
		}
		got[tag] = string(at)
	}
	for tag, want := range map[uint16]string{262: "\x05\x00", 277: "\x05\x00", 332: "\x01\x00", 334: "\x05\x00", 338: "\x00\x00", 333: "Cyan\x00Magenta\x00Yellow\x00Black\x00White\x00",
		282: "\x80\x8d\x5b\x00\x10\x27\x00\x00", 296: "\x02\x00", 34675: string(profile)} {
		if got[tag] != want {
			t.Errorf("tag %d is %q, want %q", tag, got[tag], want)
		}
	}
}

// TestTooLargeForAPage refuses a page that PDF does not have.
func TestTooLargeForAPage(t *testing.T) {
	if _, err := New(2, 5081).PDF(1); err == nil || !strings.Contains(err.Error(), "5080 mm") {
		t.Errorf("%v", err)
	}
	if _, err := New(2, 5079).PDF(1); err != nil {
		t.Error(err)
	}
}

// TestTogetherByOthers has libtiff, libvips, ImageMagick, qpdf and poppler read all five plates.
func TestTogetherByOthers(t *testing.T) {
	tool := func(name string, args ...string) []byte {
		t.Helper()
		cmd := exec.Command(reference.Tool(t, name), args...)
		var errs bytes.Buffer
		cmd.Stderr = &errs
		out, err := cmd.Output()
		if err != nil || errs.Len() > 0 { // nor a warning
			t.Fatalf("%s %v: %v\n%s", name, args, err, &errs)
		}
		return out
	}
	says := func(name string, text []byte, want ...string) {
		t.Helper()
		words := strings.Join(strings.Fields(string(text)), " ")
		for _, s := range want {
			if !strings.Contains(words, s) {
				t.Errorf("%s does not say %q:\n%s", name, s, text)
			}
		}
	}
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	p := patterned(60, 40)
	profile := reference.File(t, reference.Profile(t, "cmyk"))
	const pixelMM = 25.4 / 150
	tiff, err := p.TIFF(pixelMM, profile)
	if err != nil {
		t.Fatal(err)
	}
	page, err := p.PDF(pixelMM)
	if err != nil {
		t.Fatal(err)
	}
	for name, b := range map[string][]byte{"a.tif": tiff, "a.pdf": page} {
		if err := os.WriteFile(in(name), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	t.Run("libtiff", func(t *testing.T) {
		says("tiffinfo", tool("tiffinfo", in("a.tif")), "Photometric Interpretation: separated", "Ink Names: Cyan, Magenta, Yellow, Black, White", "NumberOfInks: 5",
			"InkSet: 1", "Samples/Pixel: 5", "Extra Samples: 1<unspecified>", "Resolution: 150, 150 pixels/inch", "Image Width: 60 Image Length: 40", fmt.Sprintf("ICC Profile: <present>, %d bytes", len(profile)))
	})
	t.Run("libvips", func(t *testing.T) {
		says("vipsheader", tool("vipsheader", "-a", in("a.tif")), "60x40 uchar, 5 bands, cmyk", "xres: 5.9055", fmt.Sprintf("icc-profile-data: %d bytes", len(profile)))
		tool("vips", "rawsave", in("a.tif"), in("vips.raw"))
		if b := reference.File(t, in("vips.raw")); !bytes.Equal(b, p.samples()) {
			t.Error("libvips reads other samples")
		}
	})
	t.Run("ImageMagick", func(t *testing.T) {
		says("identify", tool("identify-im6.q16", "-format", "%[colorspace] %wx%h %[channels] %x %U", in("a.tif")), "CMYK 60x40 cmyka 150 PixelsPerInch")
		if b := tool("convert-im6.q16", in("a.tif"), "-depth", "8", "cmyka:-"); !bytes.Equal(b, p.samples()) {
			t.Error("ImageMagick reads other samples")
		}
	})
	t.Run("qpdf", func(t *testing.T) {
		says("qpdf", tool("qpdf", "--check", in("a.pdf")), "No syntax or stream encoding errors found")
		if b := tool("qpdf", "--show-object=5", "--filtered-stream-data", in("a.pdf")); !bytes.Equal(b, p.samples()) {
			t.Error("qpdf reads other samples")
		}
	})
	t.Run("poppler", func(t *testing.T) {
		says("pdfimages", tool("pdfimages", "-list", in("a.pdf")), "image 60 40 devn 5 8 image no 5 0 150 150")
		says("pdfinfo", tool("pdfinfo", in("a.pdf")), "Pages: 1", "Page size: 28.8 x 19.2 pts")
		tool("pdftocairo", "-png", "-singlefile", "-r", "150", in("a.pdf"), in("drawn"))
		img, err := png.Decode(bytes.NewReader(reference.File(t, in("drawn.png"))))
		if err != nil {
			t.Fatal(err)
		}
		r, g, b, _ := img.At(30, 0).RGBA() // white toner leaves the paper as it is
		c, m, y, _ := img.At(30, 1).RGBA() // solid cyan
		if r>>8 != 255 || g>>8 != 255 || b>>8 != 255 || c>>8 > 60 || m>>8 < 120 || y>>8 < 150 {
			t.Errorf("white toner is drawn as %d %d %d, cyan as %d %d %d", r>>8, g>>8, b>>8, c>>8, m>>8, y>>8)
		}
	})
}
