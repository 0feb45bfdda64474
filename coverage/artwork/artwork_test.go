package artwork

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"laydown/colour/icc"
	"laydown/colour/reference"
	"laydown/coverage/fault"
)

const testW, testH = 37, 23

// testStudio is arttest's, which this package's own tests cannot import.
var testStudio = NewStudio(filepath.Join(os.TempDir(), "laydown-tests"))

// sample is the test picture: three ramps and an alpha with clear, half and
// solid parts.
func sample(x, y int) color.NRGBA {
	return color.NRGBA{uint8(x * 6), uint8(y * 11), uint8(255 - x*3 - y*4), []uint8{0, 128, 255, 255}[x/10]}
}

func samplePNG(t testing.TB, alpha bool) []byte {
	t.Helper()
	img := image.NewNRGBA(image.Rect(0, 0, testW, testH))
	for y := range testH {
		for x := range testW {
			c := sample(x, y)
			if !alpha {
				c.A = 255
			}
			img.SetNRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func decode(t testing.TB, data []byte, name string) *Art {
	t.Helper()
	f, err := Read(data, name, Options{})
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	a, err := f.Decode()
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// at returns the samples of a pixel as 0–255, alpha last.
func (a *Art) at(x, y int) []float64 {
	n, i := a.Space.Channels(), y*a.Width+x
	v := make([]float64, n+1)
	for k := range n {
		v[k] = float64(a.sample(i, k)) / 257
	}
	v[n] = float64(a.AlphaAt(i))
	return v
}

// run runs a tool.
func run(t testing.TB, tool string, args ...string) {
	t.Helper()
	if b, err := exec.Command(tool, args...).CombinedOutput(); err != nil {
		t.Fatalf("%s %v: %v: %s", tool, args, err, b)
	}
}

// TestFormats reads what ImageMagick (Debian package imagemagick), libtiff
// (libtiff-tools), libheif (libheif-examples), libavif (libavif-bin) and libjxl
// (libjxl-tools) write, and compares every pixel with the picture they were
// given.
func TestFormats(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	tiffcp := reference.Tool(t, "tiffcp")
	dir := t.TempDir()
	for _, alpha := range []bool{false, true} {
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("src-%v.png", alpha)), samplePNG(t, alpha), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	rgb := func(c color.NRGBA) []float64 { return []float64{float64(c.R), float64(c.G), float64(c.B)} }
	grey := func(c color.NRGBA) []float64 { return []float64{float64(c.R)} }
	cmyk := func(c color.NRGBA) []float64 { // ImageMagick's plain formula, without profiles
		m := max(c.R, c.G, c.B)
		if m == 0 {
			return []float64{0, 0, 0, 255}
		}
		f := func(v uint8) float64 { return 255 * (float64(m) - float64(v)) / float64(m) }
		return []float64{f(c.R), f(c.G), f(c.B), 255 - float64(m)}
	}
	red := []string{"-channel", "R", "-separate", "+channel"}
	type format struct {
		name, ext string
		alpha     bool
		args      []string
		then      []string // what writes the file: options of tiffcp, or a tool and its options
		want      func(color.NRGBA) []float64
		space     icc.Space
		depth     int
		tolerance float64
	}
	for _, c := range reference.Sweep(t, []format{
		{"png", "png", true, nil, nil, rgb, icc.RGB, 8, 0},
		{"png 16", "png", true, []string{"-depth", "16", "-define", "png:color-type=6", "-define", "png:bit-depth=16"}, nil, rgb, icc.RGB, 16, 0},
		{"png grey", "png", false, append(red, "-define", "png:color-type=0"), nil, grey, icc.Gray, 8, 0},
		{"png grey 16", "png", false, append(red, "-define", "png:color-type=0", "-define", "png:bit-depth=16"), nil, grey, icc.Gray, 16, 0},
		{"png interlaced", "png", true, []string{"-interlace", "PNG"}, nil, rgb, icc.RGB, 8, 0},
		{"jpeg", "jpg", false, []string{"-quality", "100", "-sampling-factor", "1x1"}, nil, rgb, icc.RGB, 8, 4},
		{"jpeg progressive", "jpg", false, []string{"-quality", "100", "-sampling-factor", "1x1", "-interlace", "JPEG"}, nil, rgb, icc.RGB, 8, 4},
		{"jpeg grey", "jpg", false, append(red, "-quality", "100"), nil, grey, icc.Gray, 8, 3},
		{"jpeg cmyk", "jpg", false, []string{"-colorspace", "CMYK", "-quality", "100", "-sampling-factor", "1x1"}, nil, cmyk, icc.CMYK, 8, 5},
		{"tiff", "tif", false, []string{"-compress", "None"}, nil, rgb, icc.RGB, 8, 0},
		{"tiff lzw alpha", "tif", true, []string{"-compress", "LZW"}, nil, rgb, icc.RGB, 8, 0},
		{"tiff zip", "tif", false, []string{"-compress", "Zip"}, nil, rgb, icc.RGB, 8, 0},
		{"tiff packbits", "tif", false, []string{"-compress", "RLE"}, nil, rgb, icc.RGB, 8, 0},
		{"tiff 16", "tif", true, []string{"-depth", "16", "-compress", "LZW"}, nil, rgb, icc.RGB, 16, 0},
		{"tiff grey", "tif", false, append(red, "-compress", "LZW", "-type", "grayscale"), nil, grey, icc.Gray, 8, 0},
		{"tiff grey alpha", "tif", true, []string{"-fx", "u.r", "-colorspace", "Gray", "-compress", "LZW", "-type", "grayscalealpha"}, nil, nil, icc.Gray, 8, 0},
		{"tiff cmyk", "tif", false, []string{"-colorspace", "CMYK", "-compress", "LZW"}, nil, cmyk, icc.CMYK, 8, 1},
		{"tiff cmyk none", "tif", false, []string{"-colorspace", "CMYK", "-compress", "None"}, nil, cmyk, icc.CMYK, 8, 1},
		{"tiff cmyk predictor", "tif", false, []string{"-colorspace", "CMYK", "-compress", "None"}, []string{"-c", "lzw:2"}, cmyk, icc.CMYK, 8, 1},
		{"tiff cmyk zip predictor", "tif", false, []string{"-colorspace", "CMYK", "-compress", "None"}, []string{"-c", "zip:2"}, cmyk, icc.CMYK, 8, 1},
		{"tiff cmyk 16", "tif", false, []string{"-colorspace", "CMYK", "-depth", "16", "-compress", "Zip"}, nil, cmyk, icc.CMYK, 16, 1},
		{"tiff cmyk alpha", "tif", true, []string{"-colorspace", "CMYK", "-compress", "LZW"}, nil, cmyk, icc.CMYK, 8, 1},
		{"tiff planes", "tif", false, []string{"-compress", "None"}, []string{"-p", "separate"}, rgb, icc.RGB, 8, 0},
		{"tiff planes lzw", "tif", true, []string{"-compress", "None"}, []string{"-p", "separate", "-c", "lzw:2"}, rgb, icc.RGB, 8, 0},
		{"tiff tiles", "tif", false, []string{"-compress", "None"}, []string{"-t", "-w", "16", "-l", "16", "-c", "zip:2"}, rgb, icc.RGB, 8, 0},
		{"tiff cmyk planes tiles", "tif", false, []string{"-colorspace", "CMYK", "-compress", "None"}, []string{"-t", "-w", "16", "-l", "16", "-p", "separate", "-c", "packbits"}, cmyk, icc.CMYK, 8, 1},
		{"tiff big-endian cmyk 16", "tif", false, []string{"-colorspace", "CMYK", "-depth", "16", "-compress", "None"}, []string{"-B", "-c", "lzw:2"}, cmyk, icc.CMYK, 16, 1},
		{"webp lossless", "webp", true, []string{"-define", "webp:lossless=true", "-define", "webp:exact=true"}, nil, rgb, icc.RGB, 8, 0},
		{"webp lossy", "webp", false, []string{"-quality", "95"}, nil, rgb, icc.RGB, 8, 32},
		{"bmp", "bmp", false, nil, nil, rgb, icc.RGB, 8, 0},
		{"gif", "gif", false, []string{"-dither", "None"}, nil, rgb, icc.RGB, 8, 40},

		{"tiff tiles lzw alpha", "tif", true, []string{"-compress", "None"}, []string{"-t", "-w", "16", "-l", "32", "-c", "lzw"}, rgb, icc.RGB, 8, 0},
		{"tiff tiles none 16", "tif", false, []string{"-depth", "16", "-compress", "None"}, []string{"-t", "-w", "32", "-l", "16", "-c", "none"}, rgb, icc.RGB, 16, 0},
		{"tiff tiles grey zip", "tif", false, append(red, "-type", "grayscale", "-compress", "None"), []string{"-t", "-w", "16", "-l", "16", "-c", "zip:2"}, grey, icc.Gray, 8, 0},
		{"tiff strips of three rows", "tif", false, []string{"-compress", "None"}, []string{"-r", "3", "-c", "packbits"}, rgb, icc.RGB, 8, 0},
		{"tiff big offsets", "tif", true, []string{"-compress", "None"}, []string{"-8", "-c", "lzw:2"}, rgb, icc.RGB, 8, 0},
		{"tiff big offsets big-endian", "tif", false, []string{"-compress", "None"}, []string{"-8", "-B", "-c", "zip"}, rgb, icc.RGB, 8, 0},
		{"tiff float", "tif", true, []string{"-depth", "32", "-define", "quantum:format=floating-point", "-compress", "LZW"}, nil, rgb, icc.RGB, 16, 0.01},
		{"tiff float predictor", "tif", false, []string{"-depth", "32", "-define", "quantum:format=floating-point", "-compress", "LZW"}, []string{"-c", "zip:3"}, rgb, icc.RGB, 16, 0.01},
		{"tiff float predictor alpha", "tif", true, []string{"-depth", "32", "-define", "quantum:format=floating-point", "-compress", "LZW"}, []string{"-c", "lzw:3"}, rgb, icc.RGB, 16, 0.01},
		{"tiff half float", "tif", false, []string{"-depth", "16", "-define", "quantum:format=floating-point", "-compress", "LZW"}, nil, rgb, icc.RGB, 16, 0.1},
		{"tiff double float", "tif", false, []string{"-depth", "64", "-define", "quantum:format=floating-point", "-compress", "LZW"}, nil, rgb, icc.RGB, 16, 0.01},
		{"tiff 32", "tif", false, []string{"-depth", "32", "-compress", "LZW"}, nil, rgb, icc.RGB, 16, 0.01},
		{"tiff jpeg", "tif", false, []string{"-compress", "JPEG", "-quality", "100", "-sampling-factor", "1x1"}, nil, rgb, icc.RGB, 8, 4},
		{"tiff jpeg rgb", "tif", false, []string{"-compress", "None"}, []string{"-c", "jpeg:r:100"}, rgb, icc.RGB, 8, 4},
		{"tiff jpeg tiles", "tif", false, []string{"-compress", "None"}, []string{"-t", "-w", "16", "-l", "16", "-c", "jpeg:r:100"}, rgb, icc.RGB, 8, 4},
		{"tiff jpeg cmyk", "tif", false, []string{"-colorspace", "CMYK", "-compress", "JPEG", "-quality", "100"}, nil, cmyk, icc.CMYK, 8, 5},
		{"tiff jpeg grey", "tif", false, append(red, "-type", "grayscale", "-compress", "JPEG", "-quality", "100"), nil, grey, icc.Gray, 8, 3},
		{"tiff ycbcr", "tif", false, []string{"-colorspace", "YCbCr", "-compress", "None"}, nil, rgb, icc.RGB, 8, 2},
		{"tiff fillorder", "tif", false, []string{"-compress", "None"}, []string{"-f", "lsb2msb", "-c", "lzw"}, rgb, icc.RGB, 8, 0},
		{"tiff map", "tif", false, []string{"-dither", "None", "-colors", "200", "-type", "palette", "-compress", "LZW"}, nil, rgb, icc.RGB, 8, 40},
		{"bmp alpha", "bmp", true, nil, nil, rgb, icc.RGB, 8, 0},
		{"bmp map", "bmp", false, []string{"-dither", "None", "-colors", "200", "-type", "palette"}, nil, rgb, icc.RGB, 8, 40},
		{"bmp runs", "bmp", false, []string{"-dither", "None", "-colors", "200", "-type", "palette", "-compress", "RLE"}, nil, rgb, icc.RGB, 8, 40},
		{"bmp 565", "bmp", false, []string{"-define", "bmp:subtype=RGB565"}, nil, rgb, icc.RGB, 8, 9},
		{"psd", "psd", false, []string{"-compress", "None"}, nil, rgb, icc.RGB, 8, 0},
		{"psd runs", "psd", false, []string{"-compress", "RLE"}, nil, rgb, icc.RGB, 8, 0},
		{"psd 16", "psd", false, []string{"-depth", "16"}, nil, rgb, icc.RGB, 16, 0},
		{"psd grey", "psd", false, append(red, "-type", "grayscale"), nil, grey, icc.Gray, 8, 0},
		{"psd cmyk", "psd", false, []string{"-colorspace", "CMYK", "-compress", "RLE"}, nil, cmyk, icc.CMYK, 8, 1},
		{"psd cmyk 16", "psd", false, []string{"-colorspace", "CMYK", "-depth", "16"}, nil, cmyk, icc.CMYK, 16, 1},
		{"psd map", "psd", false, []string{"-dither", "None", "-colors", "200", "-type", "palette"}, nil, rgb, icc.RGB, 8, 40},
		{"heic", "heic", true, nil, []string{"heif-enc", "-q", "98", "-p", "chroma=444"}, rgb, icc.RGB, 8, 10},
		{"avif", "avif", true, nil, []string{"avifenc", "--min", "0", "--max", "2", "-s", "9", "-y", "444"}, rgb, icc.RGB, 8, 9},
		{"avif 10 bits", "avif", false, nil, []string{"avifenc", "-d", "10", "--min", "0", "--max", "2", "-s", "9", "-y", "444"}, rgb, icc.RGB, 16, 8},
		{"jxl", "jxl", true, nil, []string{"cjxl", "-d", "0", "-e", "3", "--keep_invisible=1"}, rgb, icc.RGB, 8, 0},
		{"jxl lossy", "jxl", false, nil, []string{"cjxl", "-d", "0.1", "-e", "3"}, rgb, icc.RGB, 8, 20},
		{"jxl grey 16", "jxl", false, append(red, "-define", "png:color-type=0", "-define", "png:bit-depth=16"), []string{"cjxl", "-d", "0", "-e", "3"}, grey, icc.Gray, 16, 0},
		{"psb", "psb", false, []string{"-compress", "RLE"}, nil, rgb, icc.RGB, 8, 0},
	}, func(c format) bool {
		return !strings.Contains(c.name, " ") || strings.Contains(c.name, "cmyk") || strings.Contains(c.name, "tile")
	}) {
		t.Run(c.name, func(t *testing.T) {
			out := filepath.Join(dir, strings.ReplaceAll(c.name, " ", "-")+"."+c.ext)
			last := out
			if len(c.then) > 0 && c.ext != "tif" {
				last += ".png"
			}
			args := append([]string{filepath.Join(dir, fmt.Sprintf("src-%v.png", c.alpha))}, c.args...)
			run(t, magick, append(args, "-density", "300", "-units", "PixelsPerInch", last)...)
			switch {
			case c.then == nil:
			case c.ext == "tif":
				run(t, tiffcp, append(c.then, out, out+".cp")...)
				out += ".cp"
			case c.then[0] == "heif-enc":
				run(t, reference.Tool(t, c.then[0]), append(c.then[1:], last, "-o", out)...)
			default:
				run(t, reference.Tool(t, c.then[0]), append(c.then[1:], last, out)...)
			}
			data, err := os.ReadFile(out)
			if err != nil {
				t.Fatal(err)
			}
			a := decode(t, data, c.name)
			if a.Width != testW || a.Height != testH || a.Space != c.space || a.Depth != c.depth || a.HasAlpha != c.alpha {
				t.Fatalf("%d×%d %s %d bits alpha %v, want %d×%d %s %d bits alpha %v", a.Width, a.Height, a.Space, a.Depth, a.HasAlpha,
					testW, testH, c.space, c.depth, c.alpha)
			}
			if statesSize := !strings.Contains("WebP GIF HEIC AVIF JPEG XL", a.Format); statesSize && math.Abs(a.DPIX-300) > 0.1 {
				t.Errorf("%.2f dpi, want 300", a.DPIX)
			}
			for y := range testH {
				for x := range testW {
					src, got := sample(x, y), a.at(x, y)
					alpha := 255.0
					if c.alpha {
						alpha = float64(src.A)
					}
					lossy := 0.
					if a.Format == "HEIC" {
						lossy = 2
					}
					if math.Abs(got[len(got)-1]-alpha) > lossy {
						t.Fatalf("alpha at %d,%d is %v, want %v", x, y, got[len(got)-1], alpha)
					}
					if alpha == 0 || c.want == nil {
						continue
					}
					tolerance := c.tolerance
					if alpha < 255 {
						tolerance += 2 // premultiplied storage
					}
					for k, w := range c.want(src) {
						if math.Abs(got[k]-w) > tolerance {
							t.Fatalf("channel %d at %d,%d is %.1f, want %.1f", k, x, y, got[k], w)
						}
					}
				}
			}
		})
	}
}

// TestOrientation turns the picture by each EXIF orientation with ImageMagick
// and expects it upright again.
func TestOrientation(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	dir := t.TempDir()
	src := filepath.Join(dir, "src.png")
	if err := os.WriteFile(src, samplePNG(t, false), 0o600); err != nil {
		t.Fatal(err)
	}
	undo := map[int][]string{1: nil, 2: {"-flop"}, 3: {"-rotate", "180"}, 4: {"-flip"}, 5: {"-transpose"},
		6: {"-rotate", "270"}, 7: {"-transverse"}, 8: {"-rotate", "90"}}
	for o, turn := range undo {
		for _, kind := range [][]string{{"png:color-type=2", "png:bit-depth=8"}, {"png:color-type=2", "png:bit-depth=16"}, {"png:color-type=0", "png:bit-depth=8"}} {
			out := filepath.Join(dir, fmt.Sprintf("%d.png", o))
			args := append([]string{src}, turn...)
			args = append(args, "-define", kind[0], "-define", kind[1], out)
			if b, err := exec.Command(magick, args...).CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, b)
			}
			data, _ := os.ReadFile(out)
			a := decode(t, withChunk(data, "eXIf", exifOrientation(o)), "turned.png")
			if a.Width != testW || a.Height != testH {
				t.Fatalf("orientation %d: %d×%d", o, a.Width, a.Height)
			}
			for y := range testH {
				for x := range testW {
					want := float64(sample(x, y).R)
					if a.Space == icc.Gray {
						continue // its values are luminance; the shape is checked above
					}
					if got := a.at(x, y)[0]; got != want {
						t.Fatalf("orientation %d %v: red at %d,%d is %v, want %v", o, kind, x, y, got, want)
					}
				}
			}
		}
	}
}

func exifOrientation(o int) []byte {
	b := []byte("MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01")
	return append(b, 0, byte(o), 0, 0, 0, 0, 0, 0)
}

// withChunk puts a chunk behind a PNG's header.
func withChunk(p []byte, kind string, data []byte) []byte {
	c := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	c = append(append(c, kind...), data...)
	c = binary.BigEndian.AppendUint32(c, crc32.ChecksumIEEE(c[4:]))
	return append(append(append([]byte(nil), p[:33]...), c...), p[33:]...)
}

// TestProfiles embeds a 20 kB profile in each format that carries one.
func TestProfiles(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	path := reference.Profile(t, "adobe-rgb")
	dir := t.TempDir()
	src := filepath.Join(dir, "src.png")
	if err := os.WriteFile(src, samplePNG(t, false), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, ext := range []string{"png", "jpg", "tif", "webp"} {
		out := filepath.Join(dir, "out."+ext)
		if b, err := exec.Command(magick, src, "-profile", path, out).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, b)
		}
		data, _ := os.ReadFile(out)
		a := decode(t, data, "out."+ext)
		want, err := icc.Parse(reference.File(t, path))
		if err != nil {
			t.Fatal(err)
		}
		if a.Profile == nil || a.Profile.Sum() != want.Sum() {
			t.Errorf("%s: profile is %v, want %s", ext, a.Profile, want.Description)
		}
		f, err := Read(data, "out", Options{IgnoreProfile: true})
		if err != nil || f.Profile != nil {
			t.Errorf("%s: ignoring the profile left %v, %v", ext, f, err)
		}
	}
}

// TestJPEGProfileInSegments splits a profile over several APP2 segments out of
// order of the usual single one (ICC.1:2010, B.4).
func TestJPEGProfileInSegments(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	profile := reference.File(t, reference.Profile(t, "cmyk"))
	dir := t.TempDir()
	src, out := filepath.Join(dir, "src.png"), filepath.Join(dir, "out.jpg")
	if err := os.WriteFile(src, samplePNG(t, false), 0o600); err != nil {
		t.Fatal(err)
	}
	if b, err := exec.Command(magick, src, "-colorspace", "CMYK", out).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, b)
	}
	data, _ := os.ReadFile(out)
	const part = 60000
	n := (len(profile) + part - 1) / part
	with := append([]byte(nil), data[:2]...)
	for i := range n {
		chunk := profile[i*part : min(len(profile), (i+1)*part)]
		with = append(with, 0xff, 0xe2)
		with = binary.BigEndian.AppendUint16(with, uint16(len(chunk)+16))
		with = append(with, "ICC_PROFILE\x00"...)
		with = append(append(with, byte(i+1), byte(n)), chunk...)
	}
	a := decode(t, append(with, data[2:]...), "many.jpg")
	want, _ := icc.Parse(profile)
	if n < 3 || a.Profile == nil || a.Profile.Sum() != want.Sum() {
		t.Errorf("profile in %d segments was not put together", n)
	}
}

// TestPlainCMYKJPEG drops the Adobe marker, so that values count toner.
func TestPlainCMYKJPEG(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	dir := t.TempDir()
	out := filepath.Join(dir, "out.jpg")
	if b, err := exec.Command(magick, "-size", "16x16", "xc:cmyk(255,51,0,0)", "-quality", "100", out).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, b)
	}
	data, _ := os.ReadFile(out)
	first := decode(t, data, "adobe.jpg").at(8, 8)
	i := bytes.Index(data, []byte("\xff\xee\x00\x0eAdobe"))
	if i < 0 || first[0] < 250 || first[2] > 5 {
		t.Fatalf("marker at %d, pixel %v", i, first)
	}
	data[i+15] = 0 // ImageMagick stores YCCK; say that the same bytes are CMYK
	want := decode(t, data, "adobe.jpg").at(8, 8)
	plain := append(append([]byte(nil), data[:i]...), data[i+16:]...)
	got := decode(t, plain, "plain.jpg").at(8, 8)
	for k := range 4 { // the same stored values now mean the opposite
		if math.Abs(got[k]-(255-want[k])) > 2 {
			t.Errorf("channel %d: %v with the marker, %v without", k, want[k], got[k])
		}
	}
}

// TestLossyWebPColours checks that lossy WebP is not taken for JPEG's full range:
// flat colours must come back as they were, also beside transparency.
func TestLossyWebPColours(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	dir := t.TempDir()
	for _, c := range [][3]uint8{{0, 0, 0}, {255, 255, 255}, {128, 128, 128}, {200, 30, 40}, {20, 90, 220}, {250, 230, 20}} {
		for _, extra := range [][]string{nil, {"-bordercolor", "none", "-border", "8"}} {
			out := filepath.Join(dir, "c.webp")
			args := append([]string{"-size", "64x64", fmt.Sprintf("xc:rgb(%d,%d,%d)", c[0], c[1], c[2]), "-depth", "8"}, extra...)
			if b, err := exec.Command(magick, append(args, "-quality", "90", "-define", "webp:lossless=false", out)...).CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, b)
			}
			data, _ := os.ReadFile(out)
			if !bytes.Contains(data[:60], []byte("VP8 ")) && extra == nil {
				t.Fatal("ImageMagick did not write lossy WebP")
			}
			got := decode(t, data, "c.webp").at(32, 32)
			for k := range c {
				if math.Abs(got[k]-float64(c[k])) > 6 {
					t.Errorf("%v came back as %v", c, got)
					break
				}
			}
		}
	}
}

func TestSRGBIsStated(t *testing.T) {
	if f, err := Read(withChunk(samplePNG(t, true), "sRGB", []byte{0}), "a.png", Options{}); err != nil || !f.StatesSRGB {
		t.Errorf("sRGB chunk: %v %v", f, err)
	}
}

// huge is a PNG header of about a kilobyte that claims w × h pixels.
func huge(w, h uint32) []byte {
	hdr := binary.BigEndian.AppendUint32(nil, w)
	hdr = append(binary.BigEndian.AppendUint32(hdr, h), 8, 2, 0, 0, 0)
	p := append([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0dIHDR"), hdr...)
	p = binary.BigEndian.AppendUint32(p, crc32.ChecksumIEEE(p[12:]))
	return withChunk(append(p, make([]byte, 900)...), "tEXt", []byte("x"))
}

func TestBadInput(t *testing.T) {
	good := samplePNG(t, true)
	one := func(w, h int) []byte {
		var b bytes.Buffer
		_ = png.Encode(&b, image.NewNRGBA(image.Rect(0, 0, w, h)))
		return b.Bytes()
	}
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"empty":           {nil, "is empty"},
		"text":            {[]byte("not a picture at all, sorry"), "is not a picture I read"},
		"pdf":             {[]byte("%PDF-1.7\n"), "damaged or cut-short PDF"},
		"png cut short":   {good[:len(good)/2], "damaged or cut-short PNG"},
		"png header only": {good[:20], "damaged or cut-short PNG"},
		"zero size":       {huge(0, 10), "has no pixels"},
		"one pixel":       {one(1, 1), "only 1 × 1"},
		"one row":         {one(50, 1), "only 50 × 1"},
		"huge":            {huge(100000, 100000), "more than the 400 million"},
		"overflow":        {huge(1<<31-1, 1<<31-1), "damaged"},
		"lying":           {huge(19000, 19000), "cut short"},
		"bad profile":     {withChunk(good, "iCCP", []byte("name\x00\x00junkjunk")), "colour profile that cannot be used"},
		"bad profile 2":   {withChunk(good, "iCCP", []byte("name")), "colour profile that cannot be used"},
		"jpeg":            {[]byte("\xff\xd8\xff\xe0\x00\x10JFIF"), "damaged or cut-short JPEG"},
		"tiff":            {[]byte("II*\x00\xff\xff\xff\x7f0000"), "damaged or cut-short TIFF"},
		"gif":             {[]byte("GIF89a\x01"), "damaged or cut-short GIF"},
		"webp":            {[]byte("RIFF\x00\x00\x00\x00WEBPVP8 "), "damaged or cut-short WebP"},
		"drawing":         {[]byte(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><g></svg>`), "damaged or cut-short SVG"},
		"bmp":             {append([]byte("BM"), make([]byte, 40)...), "damaged or cut-short BMP"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "art.bin")
			if err := os.WriteFile(path, c.data, 0o600); err != nil {
				t.Fatal(err)
			}
			f, err := Open(path, Options{Canvas: Canvas{Studio: testStudio}})
			if err == nil {
				_, err = f.Decode()
			}
			if err == nil {
				t.Fatal("passed")
			}
			if s := err.Error(); !strings.Contains(s, c.want) || !strings.Contains(s, "art.bin") || strings.Contains(s, "\n") {
				t.Errorf("error %q, want %q and the file's name on one line", s, c.want)
			}
		})
	}
	if _, err := Open(filepath.Join(t.TempDir(), "none.png"), Options{}); err == nil || !strings.Contains(err.Error(), "no such file") {
		t.Errorf("missing file: %v", err)
	}
	if _, err := Open(t.TempDir(), Options{}); err == nil || !strings.Contains(err.Error(), "folder") {
		t.Errorf("folder: %v", err)
	}
}

func TestPrintSize(t *testing.T) {
	a := Info{File: "a.png", Width: 600, Height: 300, DPIX: 300, DPIY: 300}
	none := Info{File: "a.png", Width: 600, Height: 300}
	for _, c := range []struct {
		art  Info
		wish Wish
		w, h float64
		err  string
	}{
		{a, Wish{}, 50.8, 25.4, ""},
		{a, Wish{WidthMM: 100}, 100, 50, ""},
		{a, Wish{HeightMM: 100}, 200, 100, ""},
		{a, Wish{DPI: 600}, 25.4, 12.7, ""},
		{none, Wish{DPI: 600}, 25.4, 12.7, ""},
		{none, Wish{}, 0, 0, "--width"},
		{a, Wish{WidthMM: 100, HeightMM: 50.2}, 100, 50, ""},
		{a, Wish{WidthMM: 100, HeightMM: 100}, 0, 0, "stretch"},
		{a, Wish{WidthMM: 100, DPI: 300}, 0, 0, "not both"},
		{Info{Width: 10, Height: 10, DPIX: 204, DPIY: 98}, Wish{}, 0, 0, "not square"},
	} {
		s, err := c.art.PrintSize(c.wish)
		if c.err != "" {
			if err == nil || !strings.Contains(fault.Words(err, func(field string) string { return "--" + field }), c.err) {
				t.Errorf("%+v: error %v, want %q", c.wish, err, c.err)
			}
			continue
		}
		if err != nil || math.Abs(s.WidthMM-c.w) > 1e-9 || math.Abs(s.HeightMM-c.h) > 1e-9 {
			t.Errorf("%+v: %+v %v, want %g × %g", c.wish, s, err, c.w, c.h)
		}
	}
	if _, err := none.PrintSize(Wish{}); !errors.Is(err, errNoSize) {
		t.Errorf("error %v does not wrap errNoSize", err)
	}
}

func FuzzRead(f *testing.F) {
	f.Add(samplePNG(f, true))
	f.Add(withChunk(samplePNG(f, true), "cICP", []byte{12, 13, 0, 1}))
	f.Add(withChunk(withChunk(samplePNG(f, true), "gAMA", u32s(100000)), "cHRM", chrm(srgbXY...)))
	f.Add(withChunk(samplePNG(f, true), "eXIf", exifColour(binary.BigEndian, 0xffff, "R03")))
	f.Add([]byte("II*\x00\x08\x00\x00\x00\x01\x00\x00\x01\x03\x00\x01\x00\x00\x00\x05\x00\x00\x00\x00\x00\x00\x00"))
	f.Add([]byte("\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01\x01\x01\x01\x2c\x01\x2c\x00\x00"))
	f.Add([]byte("GIF89a\x02\x00\x02\x00\x80\x00\x00"))
	f.Add([]byte(`<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><rect width="9" height="9"/><text font-family="a">b</text></svg>`))
	f.Add([]byte("RIFF\x24\x00\x00\x00WEBPVP8 \x18\x00\x00\x00"))
	f.Add([]byte("II+\x00\x08\x00\x00\x00\x10\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x00\x00\x00\x00\x00\x01\x03\x00\x01\x00\x00\x00\x00\x00\x00\x00\x05\x00\x00\x00\x00\x00\x00\x00"))
	f.Add(ifd([][]int{{256, 4}, {257, 2}, {258, 1}, {259, 4}, {262, 0}, {277, 1}, {278, 2}}, []byte{0x26, 0xa0, 0x10}))
	f.Add(ifd([][]int{{256, 4}, {257, 2}, {258, 8, 8, 8}, {259, 1}, {262, 6}, {277, 3}, {278, 2}, {530, 2, 2}}, make([]byte, 12)))
	f.Add([]byte("8BPS\x00\x01\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x02\x00\x00\x00\x02\x00\x08\x00\x01\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x01\x02\x03\x04"))
	f.Add(append([]byte("BM\x00\x00\x00\x00\x00\x00\x00\x00\x1a\x00\x00\x00\x0c\x00\x00\x00\x02\x00\x02\x00\x01\x00\x18\x00"), make([]byte, 16)...))
	f.Add([]byte("\xff\x0a\x41\x50\x88\x01"))
	f.Add([]byte("\x00\x00\x00\x14ftypavif\x00\x00\x00\x00mif1\x00\x00\x00\x0cmeta\x00\x00\x00\x00"))
	f.Add([]byte("PK\x03\x04\x14\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x08\x00\x00\x00mimetypeimage/openraster"))
	f.Fuzz(func(t *testing.T, b []byte) {
		file, err := Read(b, "fuzz", Options{Canvas: Canvas{Studio: testStudio}})
		if err != nil || file.Width*file.Height > 1<<22 {
			return
		}
		_, _ = file.Decode()
	})
}

func ExampleInfo_PrintSize() {
	art := Info{File: "badge.png", Width: 1200, Height: 600, DPIX: 300, DPIY: 300}
	s, _ := art.PrintSize(Wish{WidthMM: 80})
	fmt.Printf("%.0f × %.0f mm at %.0f dpi\n", s.WidthMM, s.HeightMM, s.DPI(art))
	// Output: 80 × 40 mm at 381 dpi
}

// TestFaultsNameFields words errors for a command line: what is to be given there
// carries its option, and plain text none.
func TestFaultsNameFields(t *testing.T) {
	option := func(field string) string { return "--" + field }
	none := Info{File: "a.png", Width: 10, Height: 10}
	oblong := none
	oblong.DPIX, oblong.DPIY = 204, 98
	size := func(a Info, w Wish) error { _, err := a.PrintSize(w); return err }
	_, profile := Read(withChunk(samplePNG(t, true), "iCCP", []byte("name")), "a.png", Options{})
	for _, c := range []struct {
		err  error
		want string
	}{
		{size(none, Wish{}), "a.png: does not say how large it prints: give --width, --height or --dpi"},
		{size(oblong, Wish{}), "a.png: pixels are not square (204 × 98 dpi): give --width, --height or --dpi"},
		{size(none, Wish{WidthMM: 5, DPI: 300}), "a.png: is given two sizes: give either --dpi or a size, not both"},
		{profile, "has a colour profile that cannot be used (malformed iCCP chunk): export it with a sound profile, or use --ignore-profile to print it as if it had none"},
	} {
		if got := fault.Words(c.err, option); got != c.want {
			t.Errorf("worded %q, want %q", got, c.want)
		}
		if strings.Contains(c.err.Error(), "--") {
			t.Errorf("%q speaks of options", c.err)
		}
	}
}
