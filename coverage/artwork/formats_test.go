package artwork

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"laydown/colour/icc"
	"laydown/colour/reference"
)

// magickRGBA is every pixel of a file as ImageMagick reads it, in 8 bits.
func magickRGBA(t *testing.T, file string) []byte {
	t.Helper()
	out, err := exec.Command(reference.Tool(t, "convert-im6.q16"), file, "-colorspace", "sRGB", "-depth", "8", "rgba:-").Output()
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return out
}

// sameAsMagick compares every pixel of a file that is no CMYK with what ImageMagick reads.
func sameAsMagick(t *testing.T, file string, tolerance int) *Art {
	t.Helper()
	data, err := os.ReadFile(strings.TrimSuffix(file, "[0]")) // ImageMagick's word for the first picture
	if err != nil {
		t.Fatal(err)
	}
	a := decode(t, data, filepath.Base(file))
	want := magickRGBA(t, file)
	if len(want) != 4*a.Width*a.Height {
		t.Fatalf("%d × %d pixels where ImageMagick reads %d", a.Width, a.Height, len(want)/4)
	}
	for i := range a.Width * a.Height {
		d := a.Device(i)
		if a.Space == icc.Gray {
			d[1], d[2] = d[0], d[0]
		}
		d[3] = a.AlphaAt(i)
		if d[3] == 0 && want[4*i+3] == 0 {
			continue
		}
		for k := range d {
			if off := int(d[k]) - int(want[4*i+k]); off > tolerance || off < -tolerance {
				t.Fatalf("pixel %d, %d is %v, ImageMagick says %v", i%a.Width, i/a.Width, d, want[4*i:4*i+4])
			}
		}
	}
	return a
}

// TestBlackAndWhiteTIFF reads the codes of fax machines and few bits a sample, in both orders
// of bits and both polarities, as ImageMagick reads them.
func TestBlackAndWhiteTIFF(t *testing.T) {
	reference.Long(t)
	magick, tiffcp := reference.Tool(t, "convert-im6.q16"), reference.Tool(t, "tiffcp")
	dir := t.TempDir()
	src := filepath.Join(dir, "src.png")
	if err := os.WriteFile(src, samplePNG(t, false), 0o600); err != nil {
		t.Fatal(err)
	}
	file := func(parts ...any) string {
		return filepath.Join(dir, strings.ReplaceAll(strings.ReplaceAll(fmt.Sprint(parts...), " ", "-"), ":", "-")+".tif")
	}
	for _, polarity := range []string{"min-is-white", "min-is-black"} {
		plain := file(polarity)
		run(t, magick, src, "-resize", "75x41!", "-monochrome", "-depth", "1", "-define", "quantum:polarity="+polarity, "-compress", "None", plain)
		for _, packing := range reference.Sweep(t, []string{"packbits", "g3:1d", "g4"}, func(packing string) bool { return packing == "g4" }) {
			for _, order := range reference.Sweep(t, []string{"msb2lsb", "lsb2msb"}, func(order string) bool {
				return (order == "lsb2msb") == (polarity == "min-is-black") || packing == "g4"
			}) {
				name := file(polarity, packing, order)
				run(t, tiffcp, "-c", packing, "-f", order, "-r", "16", plain, name)
				t.Run(filepath.Base(name), func(t *testing.T) {
					a := sameAsMagick(t, name, 0)
					if a.Space != icc.Gray || a.Width != 75 || a.Height != 41 {
						t.Errorf("%+v", a.Info)
					}
				})
			}
		}
	}
	for _, depth := range reference.Sweep(t, []string{"2", "4"}, func(depth string) bool { return depth == "4" }) {
		for _, kind := range [][]string{{"-type", "grayscale"}, {"-dither", "None", "-colors", "4", "-type", "palette"}} {
			name := file(depth, kind[1])
			run(t, magick, append(append([]string{src, "-colorspace", "Gray"}, kind...), "-depth", depth, "-compress", "LZW", name)...)
			t.Run(filepath.Base(name), func(t *testing.T) { sameAsMagick(t, name, 1) })
		}
	}
}

// ifd writes a little TIFF of one directory: numbers and pixel data.
func ifd(tags [][]int, pixels []byte) []byte {
	b := []byte("II*\x00\x08\x00\x00\x00")
	b = binary.LittleEndian.AppendUint16(b, uint16(len(tags)+2))
	end := 8 + 2 + 12*(len(tags)+2) + 4
	var far []byte
	put := func(tag int, v []int) {
		b = binary.LittleEndian.AppendUint16(b, uint16(tag))
		b = binary.LittleEndian.AppendUint16(b, 3)
		b = binary.LittleEndian.AppendUint32(b, uint32(len(v)))
		if len(v) <= 2 {
			for i := range 2 {
				x := 0
				if i < len(v) {
					x = v[i]
				}
				b = binary.LittleEndian.AppendUint16(b, uint16(x))
			}
			return
		}
		b = binary.LittleEndian.AppendUint32(b, uint32(end+len(far)))
		for _, x := range v {
			far = binary.LittleEndian.AppendUint16(far, uint16(x))
		}
	}
	farSize := 0
	for _, t := range tags {
		if n := len(t) - 1; n > 2 {
			farSize += 2 * n
		}
	}
	done := false
	for _, t := range tags {
		if t[0] > tagStripOffsets && !done {
			put(tagStripOffsets, []int{end + farSize})
			done = true
		}
		if t[0] > tagStripCounts && done {
			put(tagStripCounts, []int{len(pixels)})
			done = false
			put(t[0], t[1:])
			for _, t := range tags[index(tags, t[0])+1:] {
				put(t[0], t[1:])
			}
			b = append(b, 0, 0, 0, 0)
			return append(append(b, far...), pixels...)
		}
		put(t[0], t[1:])
	}
	put(tagStripCounts, []int{len(pixels)})
	b = append(b, 0, 0, 0, 0)
	return append(append(b, far...), pixels...)
}

func index(tags [][]int, tag int) int {
	for i, t := range tags {
		if t[0] == tag {
			return i
		}
	}
	return -1
}

// TestRareTIFF reads what no tool at hand writes, and has ImageMagick, which reads by
// libtiff, say what it means.
func TestRareTIFF(t *testing.T) {
	colours := make([]int, 3*4)
	narrow := make([]int, 3*4)
	for i := range colours {
		colours[i], narrow[i] = 4000*i+4000, 20*i+15
	}
	var shared []byte // chroma of 4 × 2 pixels
	for i := range 6 {
		shared = append(shared, byte(40+i*9), byte(60+i*9), byte(90+i*9), byte(110+i*9), byte(50+i*9), byte(70+i*9), byte(95+i*9), byte(115+i*9), byte(100+i*10), byte(170-i*12))
	}
	for name, c := range map[string]struct {
		data      []byte
		tolerance int
	}{
		"map of 16 bits":         {ifd([][]int{{256, 4}, {257, 2}, {258, 2}, {259, 1}, {262, 3}, {277, 1}, {278, 2}, append([]int{320}, colours...)}, []byte{0x1b, 0xe4}), 1},
		"map of 8 bits":          {ifd([][]int{{256, 4}, {257, 2}, {258, 2}, {259, 1}, {262, 3}, {277, 1}, {278, 2}, append([]int{320}, narrow...)}, []byte{0x1b, 0xe4}), 0},
		"chroma shared by 4 × 2": {ifd([][]int{{256, 11}, {257, 3}, {258, 8, 8, 8}, {259, 1}, {262, 6}, {277, 3}, {278, 3}, {530, 4, 2}}, shared), 1},
	} {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "a.tif")
			if err := os.WriteFile(file, c.data, 0o600); err != nil {
				t.Fatal(err)
			}
			if strings.HasPrefix(name, "chroma") { // which ImageMagick does not part
				run(t, reference.Tool(t, "tiff2rgba"), file, file+".tif")
				want := magickRGBA(t, file+".tif")
				a := decode(t, c.data, name)
				for i := range a.Width * a.Height {
					d := a.Device(i)
					for k, v := range d[:3] {
						if off := int(v) - int(want[4*i+k]); off < -c.tolerance || off > c.tolerance {
							t.Fatalf("pixel %d is %v, libtiff says %v", i, a.Device(i), want[4*i:4*i+4])
						}
					}
				}
				return
			}
			sameAsMagick(t, file, c.tolerance)
		})
	}
}

// TestPages: of a TIFF with several pages the first is read, or the one that is named, and the
// answer says which; smaller copies are no pages.
func TestPages(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	file := filepath.Join(t.TempDir(), "p.tif")
	run(t, magick, "-size", "20x10", "xc:#ff0000", "(", "xc:#00ff00", "-resize", "30x40!", ")", "xc:#0000ff", "-compress", "LZW", file)
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for page, want := range []Device{{255, 0, 0}, {255, 0, 0}, {0, 255, 0}, {0, 0, 255}} {
		f, err := Read(data, "p.tif", Options{Canvas: Canvas{Page: page}})
		if err != nil {
			t.Fatal(err)
		}
		a, err := f.Decode()
		if err != nil {
			t.Fatal(err)
		}
		name, chosen := fmt.Sprintf("p.tif (page %d of 3)", page), Choice{}
		if page == 0 {
			name, chosen = "p.tif", Choice{"page", "1 of 3", "it is the first"}
		}
		if a.Device(5) != want || a.Pages != 3 || a.File != name || a.Chosen != chosen {
			t.Errorf("page %d: %v %+v", page, a.Device(5), a.Info)
		}
	}
	if _, err := Read(data, "p.tif", Options{Canvas: Canvas{Page: 4}}); err == nil || !strings.Contains(err.Error(), "there is no page 4: it has 3") {
		t.Errorf("page 4: %v", err)
	}
	run(t, magick, "-size", "200x100", "gradient:", "ptif:"+file)
	run(t, reference.Tool(t, "tiffset"), "-d", "1", "-s", "254", "1", file) // a smaller copy
	if data, err = os.ReadFile(file); err != nil {
		t.Fatal(err)
	}
	if a := decode(t, data, "pyramid.tif"); a.Pages != 1 || a.Width != 200 || a.Chosen.Of != "" {
		t.Errorf("a pyramid reads as %+v", a.Info)
	}
}

// TestAnimations: the first frame is read, and the answer says so.
func TestAnimations(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	dir := t.TempDir()
	frames := []string{filepath.Join(dir, "0.png"), filepath.Join(dir, "1.png"), filepath.Join(dir, "2.png")}
	for i, c := range []string{"#c81e1e", "#1ec81e", "#1e1ec8"} {
		run(t, magick, "-size", "60x40", "xc:none", "-fill", c, "-draw", fmt.Sprintf("rectangle %d,6 %d,30", 8+i, 30+i), frames[i])
	}
	type animation struct {
		name string
		of   int
		make func(t *testing.T, to string)
	}
	for _, c := range reference.Sweep(t, []animation{
		{"a.gif", 3, func(t *testing.T, to string) {
			run(t, magick, append([]string{"-delay", "10"}, append(frames, to)...)...)
		}},
		{"lossless.webp", 3, func(t *testing.T, to string) {
			run(t, reference.Tool(t, "img2webp"), append(append([]string{"-lossless"}, frames...), "-o", to)...)
		}},
		{"lossy.webp", 3, func(t *testing.T, to string) {
			run(t, reference.Tool(t, "img2webp"), append(append([]string{"-lossy", "-q", "98"}, frames...), "-o", to)...)
		}},
		{"a.png", 4, func(t *testing.T, to string) {
			data, err := os.ReadFile(frames[0])
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(to, withChunk(data, "acTL", []byte{0, 0, 0, 4, 0, 0, 0, 0}), 0o600); err != nil {
				t.Fatal(err)
			}
		}},
		{"a.jxl", 3, func(t *testing.T, to string) {
			run(t, magick, append([]string{"-delay", "10"}, append(frames, to+".gif")...)...)
			run(t, reference.Tool(t, "cjxl"), "-d", "0", "-e", "3", to+".gif", to)
		}},
		{"a.avif", 3, func(t *testing.T, to string) {
			run(t, reference.Tool(t, "avifenc"), append([]string{"-s", "9", "--min", "0", "--max", "1"}, append(frames, to)...)...)
		}},
	}, func(c animation) bool { return c.name == "a.gif" || c.name == "lossless.webp" }) {
		t.Run(c.name, func(t *testing.T) {
			to := filepath.Join(dir, c.name)
			c.make(t, to)
			data, err := os.ReadFile(to)
			if err != nil {
				t.Fatal(err)
			}
			a := decode(t, data, c.name)
			want := Choice{"frame", fmt.Sprintf("1 of %d", c.of), "a print shows one"}
			if a.Chosen != want || a.Width != 60 || a.Height != 40 || !a.HasAlpha {
				t.Fatalf("%+v", a.Info)
			}
			d := a.Device(20*60 + 15)
			if math.Abs(float64(d[0])-0xc8) > 6 || math.Abs(float64(d[1])-0x1e) > 6 || a.AlphaAt(20*60+15) != 255 || a.AlphaAt(0) != 0 || a.AlphaAt(20*60+50) != 0 {
				t.Errorf("inside %v %d, outside %d", d, a.AlphaAt(20*60+15), a.AlphaAt(0))
			}
		})
	}
	if a := decode(t, samplePNG(t, true), "still.png"); a.Chosen.Of != "" {
		t.Errorf("a still picture: %+v", a.Chosen)
	}
}

// TestJPEGMarkers: what a CMYK JPEG says of its values counts wherever its marker stands and
// however long it is, and only where it is a marker.
func TestJPEGMarkers(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	dir := t.TempDir()
	out := filepath.Join(dir, "out.jpg")
	run(t, magick, "-size", "32x32", "gradient:cyan-yellow", "-colorspace", "CMYK", "-quality", "100", out)
	data, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	want := decode(t, data, "a.jpg")
	at := bytes.Index(data, []byte("\xff\xee\x00\x0eAdobe"))
	if at < 0 {
		t.Fatal("no Adobe marker")
	}
	comment := func(n int, with string) (all []byte) {
		for ; n > 0; n -= 65000 {
			all = append(all, 0xff, 0xfe)
			all = binary.BigEndian.AppendUint16(all, uint16(2+65000+len(with)))
			all = append(append(all, with...), make([]byte, 65000)...)
		}
		return all
	}
	with := func(in []byte) []byte { return append(append(append([]byte(nil), data[:2]...), in...), data[2:]...) }
	long := append([]byte(nil), data[:at]...)
	long = append(append(long, "\xff\xee\x00\x10"...), data[at+4:at+16]...)
	long = append(append(long, 0, 0), data[at+16:]...)
	for name, d := range map[string][]byte{"past 1 MB": with(comment(1<<20+70000, "")), "16 bytes long": long} {
		got := decode(t, d, name)
		for i := range 32 * 32 {
			if got.Device(i) != want.Device(i) {
				t.Fatalf("%s: pixel %d is %v, want %v", name, i, got.Device(i), want.Device(i))
			}
		}
	}
	// A marker that stands in another segment, such as a thumbnail's, says nothing.
	plain := append(append([]byte(nil), data[:at]...), data[at+16:]...)
	inside := append(append(append([]byte(nil), plain[:2]...), comment(1, "\xff\xd8\xff\xee\x00\x0eAdobe\x00\x64\x00\x00\x00\x00\x02")...), plain[2:]...)
	a, b := decode(t, plain, "plain.jpg"), decode(t, inside, "inside.jpg")
	for i := range 32 * 32 {
		if a.Device(i) != b.Device(i) {
			t.Fatalf("pixel %d is %v, want %v", i, b.Device(i), a.Device(i))
		}
	}
}

// TestHalfClearMap keeps colours of a map that is half clear as the file has them.
func TestHalfClearMap(t *testing.T) {
	p := image.NewPaletted(image.Rect(0, 0, 256, 2), nil)
	for i := range 256 {
		p.Palette = append(p.Palette, color.NRGBA{uint8(i), uint8(255 - i), 77, uint8(max(i, 1))})
		p.Pix[i], p.Pix[256+i] = uint8(i), uint8(i)
	}
	var b bytes.Buffer
	if err := png.Encode(&b, p); err != nil {
		t.Fatal(err)
	}
	a := decode(t, b.Bytes(), "map.png")
	for i := range 256 {
		if want := (Device{uint8(i), uint8(255 - i), 77}); a.Device(i) != want || a.AlphaAt(i) != uint8(max(i, 1)) {
			t.Errorf("colour %d is %v %d, want %v", i, a.Device(i), a.AlphaAt(i), want)
		}
	}
}

// TestBMPKinds reads what ImageMagick writes, as ImageMagick reads it, and 32 bits in the oldest header.
func TestBMPKinds(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	dir := t.TempDir()
	src := filepath.Join(dir, "src.png")
	if err := os.WriteFile(src, samplePNG(t, true), 0o600); err != nil {
		t.Fatal(err)
	}
	for name, args := range map[string][]string{
		"rgb555": {"-alpha", "off", "-define", "bmp:subtype=RGB555"},
		"bmp3":   {"-alpha", "off", "-define", "bmp:format=bmp3"}, "bmp2": {"-alpha", "off", "-define", "bmp:format=bmp2"}, "mono": {"-alpha", "off", "-monochrome"},
		"few": {"-alpha", "off", "-dither", "None", "-colors", "14", "-type", "palette", "-compress", "None"}, "bmp4": {},
	} {
		t.Run(name, func(t *testing.T) {
			out := filepath.Join(dir, name+".bmp")
			run(t, magick, append(append([]string{src}, args...), out)...)
			sameAsMagick(t, out, 1)
		})
	}
	head := func(bits, packing, size int, masks ...uint32) []byte {
		b := append([]byte("BM"), make([]byte, 12)...)
		binary.LittleEndian.PutUint32(b[10:], uint32(14+40+4*len(masks)))
		b = append(b, make([]byte, 40)...)
		binary.LittleEndian.PutUint32(b[14:], 40)
		binary.LittleEndian.PutUint32(b[18:], uint32(size))
		binary.LittleEndian.PutUint32(b[22:], uint32(-2&0xffffffff))
		b[26], b[28], b[30] = 1, byte(bits), byte(packing)
		for _, m := range masks {
			b = binary.LittleEndian.AppendUint32(b, m)
		}
		return b
	}
	a := decode(t, append(head(32, 0, 2), 1, 2, 3, 255, 4, 5, 6, 128, 7, 8, 9, 0, 10, 11, 12, 255), "alpha.bmp")
	if !a.HasAlpha || a.AlphaAt(1) != 128 || a.Device(1) != (Device{6, 5, 4}) {
		t.Errorf("%v %d", a.Device(1), a.AlphaAt(1))
	}
	if a = decode(t, append(head(32, 0, 2), 1, 2, 3, 0, 4, 5, 6, 0, 7, 8, 9, 0, 10, 11, 12, 0), "none.bmp"); a.HasAlpha {
		t.Error("a fourth byte that is always 0 was taken for alpha")
	}
	if _, err := Read(head(24, 0, 20000), "short.bmp", Options{}); err == nil || !strings.Contains(err.Error(), "cut short") {
		t.Errorf("no pixels: %v", err)
	}
}

// TestSmallFilesThatClaimMuch: sizes are checked before memory is asked for.
func TestSmallFilesThatClaimMuch(t *testing.T) {
	webp := func(w, h int) []byte {
		b := []byte("RIFF\x1e\x00\x00\x00WEBPVP8X\x0a\x00\x00\x00\x10\x00\x00\x00")
		for _, v := range []int{w - 1, h - 1} {
			b = append(b, byte(v), byte(v>>8), byte(v>>16))
		}
		return append(b, "ALPH\x01\x00\x00\x00"...)
	}
	vp8l := func(w, h int) []byte {
		b := []byte("RIFF\x12\x00\x00\x00WEBPVP8L\x06\x00\x00\x00\x2f")
		return append(binary.LittleEndian.AppendUint32(b, uint32(w-1)|uint32(h-1)<<14), 0)
	}
	jpg := func(w, h int) []byte {
		var b bytes.Buffer
		if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 16, 16)), nil); err != nil {
			t.Fatal(err)
		}
		at := bytes.Index(b.Bytes(), []byte("\xff\xc0"))
		binary.BigEndian.PutUint16(b.Bytes()[at+5:], uint16(h))
		binary.BigEndian.PutUint16(b.Bytes()[at+7:], uint16(w))
		return b.Bytes()
	}
	psd := append([]byte("8BPS\x00\x01\x00\x00\x00\x00\x00\x00\x00\x03\x00\x00\x4e\x20\x00\x00\x4e\x20\x00\x10\x00\x03"), make([]byte, 12+2+50)...)
	tif := func(compression int) []byte {
		return ifd([][]int{{256, 20000}, {257, 20000}, {258, 16, 16, 16}, {259, compression}, {262, 2}, {277, 3}, {278, 20000}, {284, 1}}, make([]byte, 40))
	}
	for name, data := range map[string][]byte{
		"webp": webp(20000, 20000), "webp lossless": vp8l(16384, 16384), "jpeg": jpg(20000, 20000), "psd": psd,
		"tiff": tif(1), "tiff lzw": tif(5), "tiff zip": tif(8), "tiff packbits": tif(32773), "tiff jpeg": ifd([][]int{{256, 20000}, {257, 20000}, {258, 8, 8, 8}, {259, 7}, {262, 2}, {277, 3}, {278, 20000}}, make([]byte, 60)),
		"tiff fax": ifd([][]int{{256, 20000}, {257, 20000}, {258, 1}, {259, 4}, {262, 0}, {277, 1}, {278, 20000}}, make([]byte, 60)),
		"gif":      []byte("GIF89a\x20\x4e\x20\x4e\x80\x00\x00\x00\x00\x00\xff\xff\xff,\x00\x00\x00\x00\x20\x4e\x20\x4e\x00\x02\x02\x4c\x01\x00;"),
	} {
		t.Run(name, func(t *testing.T) {
			f, err := Read(data, name, Options{})
			if err == nil || !strings.Contains(err.Error(), "cut short") {
				t.Fatalf("%+v, %v", f, err)
			}
		})
	}
}

// TestStrangers: what is not read is named in plain words, with what to ask for.
func TestStrangers(t *testing.T) {
	packed := func(names ...string) []byte {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for _, n := range names {
			name, content, _ := strings.Cut(n, "=")
			w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store})
			if err != nil {
				t.Fatal(err)
			}
			if _, err := w.Write([]byte(content)); err != nil {
				t.Fatal(err)
			}
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	at := func(n int, s string) []byte { return append(make([]byte, n), s...) }
	cfa := ifd([][]int{{256, 20}, {257, 20}, {258, 16}, {259, 1}, {262, 32803}, {277, 1}, {278, 20}}, make([]byte, 800))
	nef := ifd([][]int{{254, 1}, {256, 20}, {257, 20}, {258, 8}, {259, 1}, {262, 1}, {271, 65}, {277, 1}, {278, 20}, {330, 8, 8}}, make([]byte, 400))
	dng := ifd([][]int{{254, 1}, {256, 20}, {257, 20}, {258, 8}, {259, 1}, {262, 1}, {277, 1}, {278, 20}, {50706, 1, 4}}, make([]byte, 400))
	for _, c := range []struct {
		name string
		data []byte
		is   string
		do   string
	}{
		{"a.cdr", []byte("RIFF\x00\x00\x00\x00CDRAvrsn"), "a drawing (.cdr)", "PDF or SVG"},
		{"a.cdr", packed("content/riffData.cdr=RIFF"), "a drawing (.cdr)", "PDF or SVG"},
		{"a.docx", packed("[Content_Types].xml=<Types/>", "word/document.xml=<w/>"), "a text document (.docx)", "the picture in it"},
		{"a.xlsx", packed("[Content_Types].xml=<Types/>", "xl/workbook.xml=<w/>"), "a table (.xlsx)", "the picture in it"},
		{"a.pptx", packed("[Content_Types].xml=<Types/>", "ppt/presentation.xml=<w/>"), "slides (.pptx)", "the picture in it"},
		{"a.odt", packed("mimetype=application/vnd.oasis.opendocument.text"), "an office document (.odt", "the picture in it"},
		{"a.odg", packed("mimetype=application/vnd.oasis.opendocument.graphics"), "a drawing (.odg)", "PDF or SVG"},
		{"a.eps", []byte("%!PS-Adobe-3.0 EPSF-3.0\n"), "a PostScript drawing", "as PDF"},
		{"a.eps", []byte("\xc5\xd0\xd3\xc6\x1e\x00\x00\x00"), "a PostScript drawing", "as PDF"},
		{"a.pages", packed("Index/Document.iwa=x", "preview.jpg=x"), "a document (.pages", "the picture in it"},
		{"a.indd", []byte("\x06\x06\xed\xf5\xd8\x1d\x46\xe5\xbd\x31"), "a page layout (.indd)", "exported as PDF"},
		{"a.xcf", []byte("gimp xcf v011\x00"), "a layered working file (.xcf)", "flattened"},
		{"a.kra", packed("mimetype=application/x-krita", "maindoc.xml=x"), "a layered working file (.kra)", "flattened"},
		{"a.ora", packed("mimetype=image/openraster"), "a layered working file (.ora)", "flattened"},
		{"a.cr2", []byte("II*\x00\x10\x00\x00\x00CR\x02\x00\x00\x00\x00\x00"), "a camera's raw picture", "PNG, TIFF or JPEG"},
		{"a.cr3", []byte("\x00\x00\x00\x18ftypcrx \x00\x00\x00\x01"), "a camera's raw picture", "PNG, TIFF or JPEG"},
		{"a.nef", nef, "a camera's raw picture", "the finished picture"},
		{"a.dng", dng, "a camera's raw picture", "the finished picture"},
		{"a.tif", cfa, "a camera's raw picture", "the finished picture"},
		{"a.raf", []byte("FUJIFILMCCD-RAW 0201"), "a camera's raw picture", "PNG, TIFF or JPEG"},
		{"a.mp4", []byte("\x00\x00\x00\x20ftypisom\x00\x00\x02\x00isomiso2"), "a film (.mp4", "one picture of it"},
		{"a.mov", []byte("\x00\x00\x00\x14ftypqt  \x00\x00\x02\x00"), "a film (.mp4", "one picture of it"},
		{"a.webm", []byte("\x1a\x45\xdf\xa3\x01"), "a film (.mkv", "one picture of it"},
		{"a.avi", []byte("RIFF\x00\x00\x00\x00AVI LIST"), "a film (.avi)", "one picture of it"},
		{"a.html", []byte("<!DOCTYPE html>\n<html><body><img src=logo.png></body></html>"), "a web page (.html)", "save the picture itself"},
		{"a.html", []byte("\ufeff \n<HTML lang=en><head>"), "a web page (.html)", "save the picture itself"},
		{"a.zip", packed("logo.png=x"), "a packed folder (.zip)", "unpack it"},
		{"cut.zip", packed("logo.png=x", "b=y")[:40], "a packed folder (.zip)", "unpack it"},
		{"a.7z", []byte("7z\xbc\xaf\x27\x1c\x00\x04"), "a packed folder (.7z)", "unpack it"},
		{"a.rar", []byte("Rar!\x1a\x07\x01\x00"), "a packed folder (.rar)", "unpack it"},
		{"a.tar", at(257, "ustar\x0000"), "a packed folder (.tar)", "unpack it"},
		{"a.doc", []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1\x00"), "an office document of an older kind", "the picture in it"},
		{"a.rtf", []byte("{\\rtf1\\ansi"), "a text document (.rtf)", "the picture in it"},
		{"a.jp2", []byte("\x00\x00\x00\x0cjP  \r\n\x87\n"), "a JPEG 2000 picture", "PNG, TIFF or JPEG"},
		{"a.exr", []byte("\x76\x2f\x31\x01\x02\x00"), "an OpenEXR picture", "PNG, TIFF or JPEG"},
		{"a.ico", []byte("\x00\x00\x01\x00\x01\x00\x10\x10"), "an icon (.ico)", "the picture itself"},
		{"a.pgm", []byte("P5\n10 10\n255\n"), "a plain picture (.pbm", "PNG, TIFF or JPEG"},
		{"a.wmf", []byte("\xd7\xcd\xc6\x9a\x00\x00"), "a drawing (.wmf)", "PDF or SVG"},
		{"a.dxf", []byte("  0\nSECTION\n  2\nHEADER"), "a technical drawing (.dxf)", "PDF or SVG"},
		{"a.mp3", []byte("ID3\x03\x00"), "a sound (.mp3)", "the picture itself"},
		{"._a.png", []byte("\x00\x05\x16\x07\x00\x02\x00\x00"), "the hidden companion", "without ._"},
	} {
		_, err := Read(c.data, c.name, Options{Canvas: Canvas{Studio: testStudio}})
		if err == nil || !strings.Contains(err.Error(), "is "+c.is) || !strings.Contains(err.Error(), c.do) || strings.Contains(err.Error(), "damaged") {
			t.Errorf("%s: %q, want it to say %q and %q", c.name, err, c.is, c.do)
		}
	}
}

// TestNamedNotDamaged: sound files of kinds that are not read are named, not called damaged.
func TestNamedNotDamaged(t *testing.T) {
	magick, tiffcp := reference.Tool(t, "convert-im6.q16"), reference.Tool(t, "tiffcp")
	dir := t.TempDir()
	src := filepath.Join(dir, "src.png")
	if err := os.WriteFile(src, samplePNG(t, false), 0o600); err != nil {
		t.Fatal(err)
	}
	plain := filepath.Join(dir, "plain.tif")
	run(t, magick, src, "-compress", "None", plain)
	for name, c := range map[string]struct {
		make func(t *testing.T, to string)
		want string
	}{
		"zstd.tif": {func(t *testing.T, to string) { run(t, tiffcp, "-c", "zstd", plain, to) }, "packed with Zstandard"},
		"lzma.tif": {func(t *testing.T, to string) { run(t, tiffcp, "-c", "lzma", plain, to) }, "packed with LZMA"},
		"webp.tif": {func(t *testing.T, to string) { run(t, tiffcp, "-c", "webp", plain, to) }, "packed with WebP"},
		"lab.tif":  {func(t *testing.T, to string) { run(t, magick, src, "-colorspace", "Lab", to) }, "a TIFF in Lab"},
		"fax.tif": {func(t *testing.T, to string) {
			run(t, magick, src, "-monochrome", "-depth", "1", "-compress", "None", to+".tif")
			run(t, tiffcp, "-c", "g3:2d", to+".tif", to)
		}, "fax machines in two dimensions"},
		"filled.tif": {func(t *testing.T, to string) {
			run(t, magick, src, "-monochrome", "-depth", "1", "-compress", "None", to+".tif")
			run(t, tiffcp, "-c", "g3:1d:fill", to+".tif", to)
		}, "filled up to whole bytes"},
		"inks.tif": {func(t *testing.T, to string) {
			data := ifd([][]int{{256, 4}, {257, 2}, {258, 8, 8, 8, 8}, {259, 1}, {262, 5}, {277, 4}, {278, 2}, {332, 2}}, make([]byte, 32))
			if err := os.WriteFile(to, data, 0o600); err != nil {
				t.Fatal(err)
			}
		}, "inks other than cyan"},
		"arithmetic.jpg": {func(t *testing.T, to string) {
			run(t, magick, src, to+".ppm")
			run(t, reference.Tool(t, "cjpeg"), "-arithmetic", "-outfile", to, to+".ppm")
		}, "arithmetic coding"},
		"lab.psd": {func(t *testing.T, to string) {
			run(t, magick, src, to)
			data, err := os.ReadFile(to)
			if err == nil {
				data[25] = 9
				err = os.WriteFile(to, data, 0o600)
			}
			if err != nil {
				t.Fatal(err)
			}
		}, "in Lab"},
	} {
		t.Run(name, func(t *testing.T) {
			to := filepath.Join(dir, name)
			c.make(t, to)
			data, err := os.ReadFile(to)
			if err != nil {
				t.Fatal(err)
			}
			_, err = Read(data, name, Options{})
			if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "damaged") {
				t.Errorf("%v, want %q", err, c.want)
			}
		})
	}
}

// TestLayered reads layered files that ImageMagick writes, as it reads them: every packing,
// depth and sort of colours, with transparency and resolution.
func TestLayered(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	dir := t.TempDir()
	src := filepath.Join(dir, "src.png")
	if err := os.WriteFile(src, samplePNG(t, true), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name  string
		args  []string
		space icc.Space
	}{
		{"rgb", []string{"-alpha", "off", "-depth", "8"}, icc.RGB},
		{"rgb-plain", []string{"-alpha", "off", "-depth", "8", "-compress", "None"}, icc.RGB},
		{"rgb-16", []string{"-alpha", "off", "-depth", "16", "-compress", "None"}, icc.RGB},
		{"grey", []string{"-alpha", "off", "-colorspace", "Gray", "-depth", "8"}, icc.Gray},
	} {
		file := filepath.Join(dir, c.name+".psd")
		run(t, magick, append(append([]string{src}, c.args...), "-units", "PixelsPerInch", "-density", "240", file)...)
		t.Run(c.name, func(t *testing.T) {
			a := sameAsMagick(t, file+"[0]", 1)
			if a.Space != c.space || math.Abs(a.DPIX-240) > 0.1 {
				t.Errorf("%+v", a.Info)
			}
		})
	}
	file := filepath.Join(dir, "cmyk.psd")
	run(t, magick, src, "-alpha", "off", "-colorspace", "CMYK", "-depth", "8", file)
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	a := decode(t, data, "cmyk.psd")
	want, err := exec.Command(magick, file+"[0]", "-depth", "8", "cmyk:-").Output()
	if err != nil || a.Space != icc.CMYK || len(want) != 4*a.Width*a.Height {
		t.Fatalf("%v, %+v", err, a.Info)
	}
	for i := range a.Width * a.Height {
		if d := a.Device(i); !bytes.Equal(d[:4], want[4*i:4*i+4]) {
			t.Fatalf("pixel %d is %v, ImageMagick says %v", i, d, want[4*i:4*i+4])
		}
	}
}

// TestOrientationOfFormats turns a picture a quarter to the right, as EXIF orientation 6 asks
// for, in every format that has EXIF and heeds it.
func TestOrientationOfFormats(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	exif := exifOrientation(6)
	for ext, add := range map[string]func(t *testing.T, file string, data []byte) []byte{
		"png": func(_ *testing.T, _ string, data []byte) []byte { return withChunk(data, "eXIf", exif) },
		"jpg": func(_ *testing.T, _ string, data []byte) []byte {
			segment := append(binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(8+len(exif))), "Exif\x00\x00"...)
			return append(append(append(append([]byte(nil), data[:2]...), segment...), exif...), data[2:]...)
		},
		"tif": func(t *testing.T, file string, _ []byte) []byte {
			run(t, reference.Tool(t, "tiffset"), "-s", "274", "6", file)
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			return data
		},
		"webp": func(t *testing.T, _ string, data []byte) []byte {
			out := []byte("RIFF\x00\x00\x00\x00WEBPVP8X\x0a\x00\x00\x00\x08\x00\x00\x00\x1d\x00\x00\x13\x00\x00") // 30 × 20, with EXIF
			out = append(append(out, data[12:]...), "EXIF"...)
			out = append(binary.LittleEndian.AppendUint32(out, uint32(len(exif))), exif...)
			binary.LittleEndian.PutUint32(out[4:], uint32(len(out)-8))
			return out
		},
		"psd": func(t *testing.T, _ string, data []byte) []byte {
			block := append([]byte("8BIM\x04\x22\x00\x00"), binary.BigEndian.AppendUint32(nil, uint32(len(exif)))...)
			block = append(block, exif...)
			n := binary.BigEndian.Uint32(data[30:])
			out := binary.BigEndian.AppendUint32(append([]byte(nil), data[:30]...), n+uint32(len(block)))
			return append(append(out, block...), data[34:]...)
		},
	} {
		t.Run(ext, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "a."+ext)
			// Red at the top left, blue at the bottom right.
			run(t, magick, "-size", "30x20", "xc:white", "-fill", "#ff0000", "-draw", "rectangle 0,0 7,7", "-fill", "#0000ff", "-draw", "rectangle 16,8 29,19",
				"-type", "truecolor", "-define", "webp:lossless=true", "-quality", "100", file)
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			a := decode(t, add(t, file, data), "a."+ext)
			if a.Width != 20 || a.Height != 30 {
				t.Fatalf("%d × %d pixels", a.Width, a.Height)
			}
			near := func(x, y int, want Device) {
				for k, v := range a.Device(y*a.Width + x) {
					if off := int(v) - int(want[k]); off < -12 || off > 12 {
						t.Errorf("at %d, %d: %v, want %v", x, y, a.Device(y*a.Width+x), want)
						return
					}
				}
			}
			near(17, 3, Device{255, 0, 0}) // the top left has become the top right
			near(3, 26, Device{0, 0, 255})
			near(3, 3, Device{255, 255, 255})
		})
	}
}

// TestWideJXL: lossy JPEG XL comes in the colours that it names, wide ones too.
func TestWideJXL(t *testing.T) {
	dir := t.TempDir()
	src, out := filepath.Join(dir, "a.ppm"), filepath.Join(dir, "a.jxl")
	run(t, reference.Tool(t, "convert-im6.q16"), "-size", "32x32", "xc:rgb(60,200,40)", "-depth", "8", src)
	run(t, reference.Tool(t, "cjxl"), "-d", "0.3", "-e", "3", "-x", "color_space=RGB_D65_DCI_Rel_SRG", src, out)
	data, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	a := decode(t, data, "a.jxl")
	if a.Profile == nil || !strings.Contains(a.Profile.Description, "Display P3") {
		t.Errorf("profile %+v", a.Profile)
	}
	d := a.Device(500)
	for k, want := range []int{60, 200, 40} {
		if off := int(d[k]) - want; off < -3 || off > 3 {
			t.Errorf("%v, want 60 200 40", d)
			break
		}
	}
}

// TestPhotoColours: what a container says of colours becomes a profile, or is told to be sRGB
// or more than a print can show.
func TestPhotoColours(t *testing.T) {
	src := filepath.Join(t.TempDir(), "src.png")
	if err := os.WriteFile(src, samplePNG(t, false), 0o600); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		ext, tool string
		args      []string
		profile   string // in its name, or "sRGB" for no profile, or what the error says
	}{
		"avif sRGB": {"avif", "avifenc", []string{"--cicp", "1/13/6"}, "sRGB"},
		"avif P3":   {"avif", "avifenc", []string{"--cicp", "12/13/6"}, "Display P3"},
		"avif PQ":   {"avif", "avifenc", []string{"--cicp", "9/16/9"}, "is an HDR picture"},
		"jxl sRGB":  {"jxl", "cjxl", []string{"-x", "color_space=RGB_D65_SRG_Rel_SRG"}, "sRGB"},
		"jxl P3":    {"jxl", "cjxl", []string{"-x", "color_space=RGB_D65_DCI_Rel_SRG"}, "Display P3"},
		"jxl HLG":   {"jxl", "cjxl", []string{"-x", "color_space=RGB_D65_202_Rel_HLG"}, "is an HDR picture"},
	} {
		t.Run(name, func(t *testing.T) {
			out := filepath.Join(t.TempDir(), "a."+c.ext)
			run(t, reference.Tool(t, c.tool), append(c.args, src, out)...)
			data, err := os.ReadFile(out)
			if err != nil {
				t.Fatal(err)
			}
			f, err := Read(data, "a", Options{})
			switch {
			case strings.HasPrefix(c.profile, "is "):
				if err == nil || !strings.Contains(err.Error(), c.profile) {
					t.Errorf("%v", err)
				}
			case err != nil:
				t.Error(err)
			case c.profile == "sRGB":
				if f.Profile != nil || !f.StatesSRGB {
					t.Errorf("%+v", f.Info)
				}
			case f.Profile == nil || !strings.Contains(f.Profile.Description, c.profile):
				t.Errorf("%+v", f.Profile)
			}
		})
	}
	t.Run("profiles", func(t *testing.T) {
		profile := reference.Profile(t, "adobe-rgb")
		magick := reference.Tool(t, "convert-im6.q16")
		dir := t.TempDir()
		tagged := filepath.Join(dir, "tagged.png")
		run(t, magick, src, "-profile", profile, tagged)
		want, err := icc.Parse(reference.File(t, profile))
		if err != nil {
			t.Fatal(err)
		}
		for ext, args := range map[string][]string{"heic": {"heif-enc", tagged, "-o"}, "avif": {"avifenc", tagged}, "jxl": {"cjxl", "-d", "0", "-e", "3", tagged}, "jxl lossy": {"cjxl", "-d", "1", "-e", "3", tagged}, "psd": {magick, tagged}} {
			kind, _, _ := strings.Cut(ext, " ")
			out := filepath.Join(dir, "a."+kind)
			run(t, reference.Tool(t, args[0]), append(args[1:], out)...)
			data, err := os.ReadFile(out)
			if err != nil {
				t.Fatal(err)
			}
			f, err := Read(data, "a", Options{})
			if ext == "jxl lossy" {
				if err == nil || !strings.Contains(err.Error(), "ask for it as PNG or TIFF") {
					t.Errorf("%s: %v, %v", ext, f, err)
				}
				continue
			}
			if ext == "jxl" { // whose profiles are packed inside the picture
				if err == nil || !strings.Contains(err.Error(), "a colour profile packed inside its picture") {
					t.Errorf("%s: %v, %v", ext, f, err)
				}
				if f, err = Read(data, "a", Options{IgnoreProfile: true}); err != nil || f.Profile != nil {
					t.Errorf("%s without its profile: %v", ext, err)
				}
				continue
			}
			if err != nil || f.Profile == nil || f.Profile.Sum() != want.Sum() {
				t.Errorf("%s: %v, %v", ext, f, err)
			}
		}
	})
}
