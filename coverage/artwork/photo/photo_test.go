package photo

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"laydown/colour/reference"
	"laydown/coverage/fault"
)

var engine = NewEngine(filepath.Join(os.TempDir(), "laydown-tests"))

// TestModules: the modules are the ones that fetch.sh names.
func TestModules(t *testing.T) {
	script, err := os.ReadFile("fetch.sh")
	if err != nil {
		t.Fatal(err)
	}
	for name, packed := range map[string][]byte{"heif.wasm.gz": heifModule, "avif.wasm.gz": avifModule, "jxl.wasm.gz": jxlModule} {
		if sum := fmt.Sprintf("%x", sha256.Sum256(packed)); !strings.Contains(string(script), name+" "+sum+"\n") {
			t.Errorf("%s has the sum %s", name, sum)
		}
	}
}

// drawing draws slow ramps, so that chroma that pixels share changes little, with alpha.
func drawing(w, h int, alpha, grey bool) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.NRGBA{uint8(40 + 150*x/w), uint8(30 + 180*y/h), uint8(200 - 90*x/w), 255}
			if grey {
				c.G, c.B = c.R, c.R
			}
			if alpha {
				c.A = uint8(60 + 190*x/w)
			}
			img.SetNRGBA(x, y, c)
		}
	}
	return img
}

// encode writes img by an outside tool.
func encode(t *testing.T, img image.Image, to string, tool string, args ...string) []byte {
	t.Helper()
	from := filepath.Join(t.TempDir(), "src.png")
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(from, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	path := reference.Tool(t, tool)
	if args = append(args, from); tool == "heif-enc" {
		args = append(args, "-o")
	}
	if out, err := exec.Command(path, append(args, to)...).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	data, err := os.ReadFile(to)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// worst is the largest difference of a channel, in codes of 8 bits, where b is not clear.
func worst(t *testing.T, a, b image.Image) (most float64) {
	t.Helper()
	if a.Bounds().Size() != b.Bounds().Size() {
		t.Fatalf("%v pixels where %v belong", a.Bounds().Size(), b.Bounds().Size())
	}
	off := b.Bounds().Min
	for y := range a.Bounds().Dy() {
		for x := range a.Bounds().Dx() {
			p, q := color.NRGBA64Model.Convert(a.At(x, y)).(color.NRGBA64), color.NRGBA64Model.Convert(b.At(x+off.X, y+off.Y)).(color.NRGBA64)
			if q.A == 0 && p.A == 0 {
				continue
			}
			for _, v := range [4][2]uint16{{p.R, q.R}, {p.G, q.G}, {p.B, q.B}, {p.A, q.A}} {
				d := float64(v[0]) - float64(v[1])
				most = max(most, d/257, -d/257)
			}
		}
	}
	return most
}

// TestDecode reads what libheif's, libavif's and libjxl's own tools write (Debian packages
// libheif-examples, libavif-bin, libjxl-tools), at widths that the decoders pad and do not.
func TestDecode(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct {
		name        string
		ext, tool   string
		w, h        int
		alpha, grey bool
		depth       int
		tolerance   float64
		args        []string
	}{
		{"heic", "heic", "heif-enc", 131, 77, false, false, 8, 6, []string{"-q", "95"}},
		{"heic narrow", "heic", "heif-enc", 41, 25, false, false, 8, 6, []string{"-q", "95"}},
		{"heic 444", "heic", "heif-enc", 66, 40, false, false, 8, 4, []string{"-q", "98", "-p", "chroma=444"}},
		{"heic alpha", "heic", "heif-enc", 71, 45, true, false, 8, 6, []string{"-q", "95"}},
		{"heic grey", "heic", "heif-enc", 50, 64, false, true, 8, 6, []string{"-q", "95"}},
		{"heic not in tiles", "heic", "heif-enc", 128, 64, false, false, 8, 6, []string{"-q", "95"}},
		{"heic not in tiles, alpha", "heic", "heif-enc", 64, 80, true, false, 8, 6, []string{"-q", "95"}},
		{"heic not in tiles, grey", "heic", "heif-enc", 64, 80, false, true, 8, 6, []string{"-q", "95"}},
		{"avif", "avif", "avifenc", 131, 77, false, false, 8, 5, []string{"--min", "0", "--max", "4", "-s", "9", "-y", "444"}},
		{"avif alpha", "avif", "avifenc", 71, 45, true, false, 8, 6, []string{"--min", "0", "--max", "4", "-s", "9", "-y", "444"}},
		{"avif 10 bits", "avif", "avifenc", 40, 33, false, false, 16, 3, []string{"--min", "0", "--max", "4", "-s", "9", "-d", "10", "-y", "444"}},
		{"avif grey", "avif", "avifenc", 40, 33, false, true, 8, 3, []string{"--min", "0", "--max", "4", "-s", "9", "-y", "400"}},
		{"jxl lossless", "jxl", "cjxl", 67, 45, true, false, 8, 0, []string{"-d", "0", "-e", "3"}},
		{"jxl lossy", "jxl", "cjxl", 131, 77, false, false, 8, 6, []string{"-d", "0.3", "-e", "3"}},
		{"jxl in a container", "jxl", "cjxl", 40, 30, true, false, 8, 0, []string{"-d", "0", "-e", "3", "--container=1"}},
		{"jxl grey", "jxl", "cjxl", 40, 30, false, true, 8, 0, []string{"-d", "0", "-e", "3"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			src := image.Image(drawing(c.w, c.h, c.alpha, c.grey))
			if c.grey { // as the tools take it for grey
				g := image.NewGray(src.Bounds())
				for i := range g.Pix {
					g.Pix[i] = src.(*image.NRGBA).Pix[4*i]
				}
				src = g
			}
			data := encode(t, src, filepath.Join(dir, "a."+c.ext), c.tool, c.args...)
			if !Is(data) {
				t.Fatal("not recognised")
			}
			h, err := Read(data)
			if err != nil {
				t.Fatal(err)
			}
			if h.Width != c.w || h.Height != c.h || h.Alpha != c.alpha || h.Grey != c.grey || h.Depth != c.depth {
				t.Fatalf("%+v, want %d × %d, alpha %v, grey %v, %d bits", h, c.w, c.h, c.alpha, c.grey, c.depth)
			}
			img, err := engine.Decode(context.Background(), data, h)
			if err != nil {
				t.Fatal(err)
			}
			if d := worst(t, img, src); d > c.tolerance {
				t.Errorf("off by %.1f of 255, more than %g", d, c.tolerance)
			}
		})
	}
}

// TestTurns has avifenc write each turn and mirror, and libavif's avifdec of no use here,
// as it does not turn: the picture is worked out by ISO/IEC 23008-12, 6.5.10 and 6.5.12.
func TestTurns(t *testing.T) {
	src := drawing(33, 20, true, false)
	at := func(x, y int) color.NRGBA { return src.NRGBAAt(x, y) }
	w, h := 33, 20
	for _, c := range []struct {
		args []string
		w, h int
		from func(x, y int) color.NRGBA
	}{
		{[]string{"--irot", "1"}, h, w, func(x, y int) color.NRGBA { return at(w-1-y, x) }},
		{[]string{"--irot", "2"}, w, h, func(x, y int) color.NRGBA { return at(w-1-x, h-1-y) }},
		{[]string{"--irot", "3"}, h, w, func(x, y int) color.NRGBA { return at(y, h-1-x) }},
		{[]string{"--imir", "0"}, w, h, func(x, y int) color.NRGBA { return at(x, h-1-y) }},
		{[]string{"--imir", "1"}, w, h, func(x, y int) color.NRGBA { return at(w-1-x, y) }},
		{[]string{"--clap", "21,1,10,1,0,1,1,1"}, 21, 10, func(x, y int) color.NRGBA { return at(x+6, y+6) }},
	} {
		t.Run(strings.Join(c.args, " "), func(t *testing.T) {
			data := encode(t, src, filepath.Join(t.TempDir(), "a.avif"), "avifenc", append(c.args, "--lossless", "-s", "9")...)
			head, err := Read(data)
			if err != nil {
				t.Fatal(err)
			}
			img, err := engine.Decode(context.Background(), data, head)
			if err != nil {
				t.Fatal(err)
			}
			want := image.NewNRGBA(image.Rect(0, 0, c.w, c.h))
			for y := range c.h {
				for x := range c.w {
					want.SetNRGBA(x, y, c.from(x, y))
				}
			}
			if d := worst(t, img, want); d > 5 { // colours were multiplied by alpha in 8 bits
				t.Errorf("off by %.1f of 255", d)
			}
		})
	}
}

// TestTurnsOfHEIC turns a file that heif-enc wrote, and has heif-convert, of an older libheif
// that turns by itself, say what comes out.
func TestTurnsOfHEIC(t *testing.T) {
	data := encode(t, drawing(96, 66, false, false), filepath.Join(t.TempDir(), "a.heic"), "heif-enc", "-q", "95")
	for name, turn := range map[string][2]string{"quarter": {"irot", "\x01"}, "three quarters": {"irot", "\x03"}, "mirrored": {"imir", "\x01"}, "upside down": {"imir", "\x00"}} {
		t.Run(name, func(t *testing.T) {
			f, err := readMeta(data)
			if err != nil {
				t.Fatal(err)
			}
			f.properties = append(f.properties, box{kind: turn[0], data: []byte(turn[1])})
			main := f.items[f.primary]
			main.properties = append(main.properties, len(f.properties))
			turned := append([]byte(nil), data...)
			copy(turned[f.metaAt-4:], "free")
			l := list{f, f.primary, 0}
			turned = append(turned, boxed("meta", l.meta(false))...)

			dir := t.TempDir()
			from, to := filepath.Join(dir, "a.heic"), filepath.Join(dir, "a.png")
			if err := os.WriteFile(from, turned, 0o600); err != nil {
				t.Fatal(err)
			}
			if out, err := exec.Command(reference.Tool(t, "heif-convert"), from, to).CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			b, err := os.ReadFile(to)
			if err != nil {
				t.Fatal(err)
			}
			want, err := png.Decode(bytes.NewReader(b))
			if err != nil {
				t.Fatal(err)
			}
			h, err := Read(turned)
			if err != nil {
				t.Fatal(err)
			}
			img, err := engine.Decode(context.Background(), turned, h)
			if err != nil {
				t.Fatal(err)
			}
			if d := worst(t, img, want); d > 4 {
				t.Errorf("off by %.1f of 255", d)
			}
		})
	}
}

// TestColours: what the tools are told of colours is read.
func TestColours(t *testing.T) {
	src := drawing(20, 20, false, false)
	for name, c := range map[string]struct {
		ext, tool string
		args      []string
		want      Code
	}{
		"avif P3":     {"avif", "avifenc", []string{"--cicp", "12/13/6"}, Code{12, 13, 6, true}},
		"avif BT.709": {"avif", "avifenc", []string{"--cicp", "1/1/1", "-r", "limited"}, Code{1, 1, 1, false}},
		"heic":        {"heic", "heif-enc", nil, Code{2, 2, 6, true}}, // in the stream alone
		"jxl sRGB":    {"jxl", "cjxl", []string{"-x", "color_space=RGB_D65_SRG_Rel_SRG", "-e", "3"}, Code{1, 13, 0, true}},
		"jxl P3":      {"jxl", "cjxl", []string{"-x", "color_space=RGB_D65_DCI_Rel_SRG", "-e", "3"}, Code{12, 13, 0, true}},
		"jxl PQ":      {"jxl", "cjxl", []string{"-x", "color_space=RGB_D65_202_Rel_PeQ", "-e", "3"}, Code{9, 16, 0, true}},
	} {
		t.Run(name, func(t *testing.T) {
			h, err := Read(encode(t, src, filepath.Join(t.TempDir(), "a."+c.ext), c.tool, c.args...))
			if err != nil {
				t.Fatal(err)
			}
			if h.Code == nil || *h.Code != c.want {
				t.Errorf("reads %+v, want %+v", h.Code, c.want)
			}
		})
	}
}

// TestHuge: headers that claim too much are told before any decoder starts.
func TestHuge(t *testing.T) {
	data := encode(t, drawing(20, 20, false, false), filepath.Join(t.TempDir(), "a.avif"), "avifenc", "-s", "9")
	at := bytes.Index(data, []byte("ispe"))
	binary.BigEndian.PutUint32(data[at+8:], 1<<19)
	binary.BigEndian.PutUint32(data[at+12:], 1<<19)
	h, err := Read(data)
	if err != nil || h.Width != 1<<19 || h.Height != 1<<19 {
		t.Fatalf("%+v %v", h, err)
	}
	binary.BigEndian.PutUint32(data[at+8:], 1<<31)
	if _, err = Read(data); err == nil {
		t.Error("a width of 2³¹ passed")
	}
	// JPEG XL: a side of 2³⁰, then 1 : 1.
	if h, err = Read([]byte("\xff\x0a\xfe\xff\xff\xff\xff\x00\x00")); err == nil && h.Width*h.Height < 1<<40 {
		t.Errorf("%+v %v", h, err)
	}
}

// TestBroken cuts files anywhere, and sets bytes wrong: a picture or an error comes out.
func TestBroken(t *testing.T) {
	for ext, tool := range map[string]string{"avif": "avifenc", "heic": "heif-enc", "jxl": "cjxl"} {
		t.Run(ext, func(t *testing.T) {
			data := encode(t, drawing(20, 20, true, false), filepath.Join(t.TempDir(), "a."+ext), tool)
			for cut := 12; cut < len(data); cut += 1 + len(data)/24 {
				if h, err := Read(data[:cut]); err == nil {
					if _, err := engine.Decode(context.Background(), data[:cut], h); err == nil && cut < len(data)/2 {
						t.Errorf("%d of %d bytes passed for a picture", cut, len(data))
					}
				}
			}
		})
	}
}

// TestRefused: kinds that are not read are named.
func TestRefused(t *testing.T) {
	film := append(boxed("ftyp", []byte("msf1\x00\x00\x00\x00msf1")), boxed("moov", make([]byte, 8))...)
	jpeg := append(boxed("ftyp", []byte("mif1\x00\x00\x00\x00mif1")), boxed("meta", append(make([]byte, 4),
		append(boxed("pitm", []byte{0, 0, 0, 0, 0, 1}), boxed("iinf", append([]byte{0, 0, 0, 0, 0, 1}, boxed("infe", []byte("\x02\x00\x00\x00\x00\x01\x00\x00jpeg\x00"))...))...)...))...)
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"film": {film, "film"},
		"jpeg": {jpeg, "not read (JPEG)"},
	} {
		_, err := Read(c.data)
		var f *fault.Fault
		if !errors.As(err, &f) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if Is([]byte("\x00\x00\x00\x18ftypisom\x00\x00\x00\x00isommp42")) {
		t.Error("a film is taken for a picture")
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("\xff\x0a\x41\x50\x88\x01"))
	f.Add([]byte("\xff\x0a\xfe\xff\xff\xff\xff\x00\x00"))
	props := append(boxed("ipco", boxed("ispe", []byte("\x00\x00\x00\x00\x00\x00\x00\x20\x00\x00\x00\x10"))), boxed("ipma", []byte("\x00\x00\x00\x00\x00\x00\x00\x01\x00\x01\x01\x81"))...)
	meta := append(boxed("pitm", []byte{0, 0, 0, 0, 0, 1}), boxed("iinf", append([]byte{0, 0, 0, 0, 0, 1}, boxed("infe", []byte("\x02\x00\x00\x00\x00\x01\x00\x00av01\x00"))...))...)
	meta = append(append(make([]byte, 4), meta...), boxed("iprp", props)...)
	seed := append(boxed("ftyp", []byte("avif\x00\x00\x00\x00mif1")), boxed("meta", meta)...)
	if h, err := Read(seed); err != nil || h.Width != 32 || h.Height != 16 {
		f.Fatalf("the seed reads as %+v, %v", h, err)
	}
	f.Add(seed)
	f.Fuzz(func(t *testing.T, b []byte) {
		if h, err := Read(b); err == nil && (h.Width <= 0 || h.Height <= 0 || h.Kind == "") {
			t.Errorf("%+v", h)
		}
	})
}
