package artwork

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/reference"
	"laydown/coverage/fault"
)

// lattice is a PNG of 9³ colours or, in grey, of 256 values.
func lattice(t testing.TB, grey bool) []byte {
	t.Helper()
	var img image.Image
	if grey {
		g := image.NewGray(image.Rect(0, 0, 16, 16))
		for i := range g.Pix {
			g.Pix[i] = uint8(i)
		}
		img = g
	} else {
		c := image.NewNRGBA(image.Rect(0, 0, 27, 27))
		for i := range 729 {
			copy(c.Pix[4*i:], []uint8{uint8(i / 81 * 255 / 8), uint8(i / 9 % 9 * 255 / 8), uint8(i % 9 * 255 / 8), 255})
		}
		img = c
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func u32s(v ...uint32) (b []byte) {
	for _, x := range v {
		b = binary.BigEndian.AppendUint32(b, x)
	}
	return b
}

// chrm is a cHRM chunk: white, red, green, blue.
func chrm(xy ...float64) (b []byte) {
	for _, v := range xy {
		b = append(b, u32s(uint32(math.Round(v*1e5)))...)
	}
	return b
}

var srgbXY = []float64{0.3127, 0.3290, 0.64, 0.33, 0.30, 0.60, 0.15, 0.06}

// exifColour is EXIF with a colour space and, unless it is empty, an index of
// interoperability (Exif 2.32, 4.6).
func exifColour(order binary.AppendByteOrder, space uint16, index string) []byte {
	b := []byte("II*\x00")
	if order == binary.AppendByteOrder(binary.BigEndian) {
		b = []byte("MM\x00*")
	}
	b = order.AppendUint32(b, 8)
	entry := func(tag, kind uint16, count uint32) {
		b = order.AppendUint16(order.AppendUint16(b, tag), kind)
		b = order.AppendUint32(b, count)
	}
	short := func(tag, v uint16) {
		entry(tag, 3, 1)
		b = order.AppendUint16(order.AppendUint16(b, v), 0)
	}
	long := func(tag uint16, v uint32) {
		entry(tag, 4, 1)
		b = order.AppendUint32(b, v)
	}
	b = order.AppendUint16(b, 1) // at 8
	long(tagExifIFD, 26)
	b = order.AppendUint32(b, 0)
	n := uint16(1)
	if index != "" {
		n = 2
	}
	b = order.AppendUint16(b, n) // at 26
	short(tagColorSpace, space)
	if index != "" {
		long(tagInteroperability, 26+2+24+4)
	}
	b = order.AppendUint32(b, 0)
	if index != "" {
		b = order.AppendUint16(b, 1)
		entry(1, 2, 4)
		b = append(b, index+"\x00"...)
		b = order.AppendUint32(b, 0)
	}
	return b
}

// labs are the media-relative colours of all pixels of a file.
func labs(t testing.TB, data []byte) (f *File, out []colour.Lab) {
	t.Helper()
	f, err := Read(data, "art", Options{})
	if err != nil {
		t.Fatal(err)
	}
	p := f.Profile
	if p == nil {
		p = icc.SRGB()
		if f.Space == icc.Gray {
			p = icc.GrayGamma()
		}
	}
	a, err := f.Decode()
	if err != nil {
		t.Fatal(err)
	}
	l, err := p.ToPCS(icc.Relative)
	if err != nil {
		t.Fatal(err)
	}
	for i := range a.Width * a.Height {
		d := a.Fractions(i)
		out = append(out, l.XYZ(d[:l.Channels]).Lab(colour.D50))
	}
	return f, out
}

// TestStatedAgainstLittleCMS reads pictures that state their colours in chunks and
// EXIF, and holds every pixel to what LittleCMS (transicc, Debian package
// liblcms2-utils) makes of it under a published profile of the same space (argyll-ref,
// colord-data). The profiles round their tables; a colour may be off by ΔE00 0.1.
func TestStatedAgainstLittleCMS(t *testing.T) {
	file := lattice(t, false)
	chunk := func(kind string, data []byte) func(p []byte) []byte {
		return func(p []byte) []byte { return withChunk(p, kind, data) }
	}
	p3 := chrm(0.3127, 0.3290, 0.680, 0.320, 0.265, 0.690, 0.150, 0.060)
	const noCurve = "primaries of its own (tone curve not stated, taken as sRGB's)"
	adobe := append(u32s(45470), chrm(0.3127, 0.3290, 0.64, 0.33, 0.21, 0.71, 0.15, 0.06)...)
	for _, c := range []struct {
		name    string
		chunks  []func([]byte) []byte
		profile string
		words   string // of the source; "" for sRGB that is stated
	}{
		{"cICP Display P3", []func([]byte) []byte{chunk("cICP", []byte{12, 13, 0, 1})}, "display-p3", "Display P3"},
		{"cICP BT.2020", []func([]byte) []byte{chunk("cICP", []byte{9, 14, 0, 1})}, "rec2020", "BT.2020 primaries, BT.2020 curve"},
		{"cICP BT.709", []func([]byte) []byte{chunk("cICP", []byte{1, 1, 0, 1})}, "rec709", "BT.709 primaries, BT.709 curve"},
		{"cICP sRGB", []func([]byte) []byte{chunk("cICP", []byte{1, 13, 0, 1})}, "srgb-v4", ""},
		{"cICP before all others", []func([]byte) []byte{chunk("gAMA", u32s(100000)), chunk("sRGB", []byte{0}), chunk("iCCP", []byte("junk")),
			chunk("cICP", []byte{12, 13, 0, 1})}, "display-p3", "Display P3"},
		{"sRGB before gAMA", []func([]byte) []byte{chunk("gAMA", u32s(100000)), chunk("sRGB", []byte{0})}, "srgb-v4", ""},
		{"sRGB before EXIF", []func([]byte) []byte{chunk("eXIf", exifColour(binary.BigEndian, 2, "")), chunk("sRGB", []byte{0})}, "srgb-v4", ""},
		{"gAMA before EXIF", []func([]byte) []byte{chunk("eXIf", exifColour(binary.BigEndian, 2, "")), chunk("gAMA", u32s(45455))}, "srgb-v4", ""},
		{"gAMA and cHRM of sRGB", []func([]byte) []byte{chunk("gAMA", u32s(45455)), chunk("cHRM", chrm(srgbXY...))}, "srgb-v4", ""},
		{"gAMA and cHRM of Adobe RGB", []func([]byte) []byte{chunk("gAMA", adobe[:4]), chunk("cHRM", adobe[4:])}, "adobe-rgb", "gamma 2.2 and primaries of its own"},
		{"gAMA of 0", []func([]byte) []byte{chunk("gAMA", u32s(0))}, "srgb-v4", "-"},
		{"cHRM alone", []func([]byte) []byte{chunk("cHRM", p3)}, "display-p3", noCurve},
		{"cHRM and gAMA of 0", []func([]byte) []byte{chunk("cHRM", p3), chunk("gAMA", u32s(0))}, "display-p3", noCurve},
		{"cHRM of sRGB alone", []func([]byte) []byte{chunk("cHRM", chrm(srgbXY...))}, "srgb-v4", "-"},
		{"cHRM of zeros", []func([]byte) []byte{chunk("cHRM", make([]byte, 32))}, "srgb-v4", "-"},
		{"sRGB before cHRM", []func([]byte) []byte{chunk("cHRM", p3), chunk("sRGB", []byte{0})}, "srgb-v4", ""},
		{"EXIF before cHRM alone", []func([]byte) []byte{chunk("cHRM", p3), chunk("eXIf", exifColour(binary.LittleEndian, 2, ""))}, "adobe-rgb", "Adobe RGB (1998)"},
		{"EXIF sRGB before cHRM alone", []func([]byte) []byte{chunk("cHRM", p3), chunk("eXIf", exifColour(binary.BigEndian, 1, "R98"))}, "srgb-v4", ""},
		{"EXIF Adobe RGB", []func([]byte) []byte{chunk("eXIf", exifColour(binary.LittleEndian, 2, ""))}, "adobe-rgb", "Adobe RGB (1998)"},
		{"EXIF R03", []func([]byte) []byte{chunk("eXIf", exifColour(binary.BigEndian, 0xffff, "R03"))}, "adobe-rgb", "Adobe RGB (1998)"},
		{"EXIF sRGB", []func([]byte) []byte{chunk("eXIf", exifColour(binary.BigEndian, 1, "R98"))}, "srgb-v4", ""},
		{"EXIF uncalibrated", []func([]byte) []byte{chunk("eXIf", exifColour(binary.BigEndian, 0xffff, ""))}, "srgb-v4", "-"},
	} {
		data := file
		for _, add := range c.chunks {
			data = add(data)
		}
		f, got := labs(t, data)
		checkStated(t, c.name, f, c.words)
		compareLabs(t, c.name, file, got, c.profile)
	}
}

// checkStated compares a file with how it is to name its colours: "" is sRGB that it
// states, - nothing.
func checkStated(t *testing.T, name string, f *File, words string) {
	t.Helper()
	got := "-"
	switch {
	case f.StatesSRGB:
		got = ""
	case f.Profile != nil:
		got = strings.TrimPrefix(f.Profile.Description, "stated by the file: ")
	}
	if got != words {
		t.Errorf("%s: the file states %q, want %q", name, got, words)
	}
}

// compareLabs holds the colours of a file's pixels to those of its 8-bit numbers under
// a published profile.
func compareLabs(t *testing.T, name string, file []byte, got []colour.Lab, profile string) {
	t.Helper()
	a := decode(t, file, name)
	rows := make([][]float64, len(got))
	for i := range rows {
		for k := range a.Space.Channels() {
			rows[i] = append(rows[i], a.Fractions(i)[k]*255)
		}
	}
	worst := 0.0
	for i, w := range reference.Transicc(t, rows, "-t1", "-i", reference.Profile(t, profile), "-o", "*Lab2") {
		worst = math.Max(worst, colour.DeltaE00(got[i], colour.Lab{L: w[0], A: w[1], B: w[2]}))
	}
	t.Logf("%s: worst ΔE00 %.3f", name, worst)
	if worst > 0.1 {
		t.Errorf("%s: worst ΔE00 %.3f from %s, want ≤ 0.1", name, worst, profile)
	}
}

// TestEXIFColourSpace puts the colour space of EXIF into JPEG, WebP and TIFF.
func TestEXIFColourSpace(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 16, 16))
	for i := range img.Pix {
		img.Pix[i] = 200
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		t.Fatal(err)
	}
	asJPEG := func(exif []byte) []byte {
		out := append([]byte(nil), b.Bytes()[:2]...)
		out = binary.BigEndian.AppendUint16(append(out, 0xff, 0xe1), uint16(len(exif)+8))
		return append(append(append(out, "Exif\x00\x00"...), exif...), b.Bytes()[2:]...)
	}
	asTIFF := func(exif []byte) []byte { // its first directory gets a picture
		order := binary.LittleEndian
		out := append([]byte(nil), exif...)
		at := len(out)
		order.PutUint32(out[4:], uint32(at))
		pix := uint32(at + 2 + 12*11 + 4)
		tags := [][2]uint32{{tagWidth, 2}, {tagHeight, 2}, {tagBits, pix + 12}, {tagCompression, 1}, {tagPhotometric, 2}, {tagStripOffsets, pix},
			{tagSamples, 3}, {tagRowsPerStrip, 2}, {tagStripCounts, 12}, {tagPlanar, 1}, {tagExifIFD, 26}}
		out = order.AppendUint16(out, uint16(len(tags)))
		for _, e := range tags {
			kind, n := uint16(4), uint32(1)
			if e[0] == tagBits {
				kind, n = 3, 3
			}
			out = order.AppendUint16(order.AppendUint16(out, uint16(e[0])), kind)
			out = order.AppendUint32(order.AppendUint32(out, n), e[1])
		}
		return append(append(append(out, 0, 0, 0, 0), bytes.Repeat([]byte{200}, 12)...), 8, 0, 8, 0, 8, 0)
	}
	for _, c := range []struct {
		space uint16
		index string
		words string
	}{{1, "", ""}, {2, "", "Adobe RGB (1998)"}, {0xffff, "R03", "Adobe RGB (1998)"}, {0xffff, "", "-"}, {1, "R98", ""}} {
		exif := exifColour(binary.LittleEndian, c.space, c.index)
		files := map[string][]byte{"JPEG": asJPEG(exif), "TIFF": asTIFF(exif), "WebP": asWebP(t, exif)}
		for kind, data := range files {
			if data == nil {
				continue
			}
			f, err := Read(data, kind, Options{})
			if err != nil {
				t.Fatalf("%s: %v", kind, err)
			}
			name := fmt.Sprintf("%s, colour space %d %s", kind, c.space, c.index)
			checkStated(t, name, f, c.words)
			if _, err := f.Decode(); err != nil {
				t.Errorf("%s: %v", name, err)
			}
			if f, err := Read(data, kind, Options{IgnoreProfile: true}); err != nil || f.Profile != nil || f.StatesSRGB {
				t.Errorf("%s: ignoring what it states left %+v, %v", name, f, err)
			}
		}
	}
}

// asWebP has ImageMagick write a lossless WebP and adds a chunk of EXIF; nil without
// ImageMagick.
func asWebP(t *testing.T, exif []byte) []byte {
	t.Helper()
	magick, err := exec.LookPath("convert-im6.q16")
	if err != nil {
		if reference.All() {
			t.Fatal(err)
		}
		return nil
	}
	out := filepath.Join(t.TempDir(), "a.webp")
	if b, err := exec.Command(magick, "-size", "16x16", "xc:#c8c8c8", "-define", "webp:lossless=true", out).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, b)
	}
	data, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	data = binary.LittleEndian.AppendUint32(append(data, "EXIF"...), uint32(len(exif)))
	data = append(data, exif...)
	if len(exif)%2 == 1 {
		data = append(data, 0)
	}
	binary.LittleEndian.PutUint32(data[4:], uint32(len(data)-8))
	return data
}

// TestLinearPNG compares a picture whose gAMA chunk says gamma 1.0 with what
// ImageMagick (Debian package imagemagick), which reads the chunk too, makes of it in
// sRGB of 16 bits.
func TestLinearPNG(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	dir := t.TempDir()
	for _, grey := range []bool{false, true} {
		plain := lattice(t, grey)
		data := withChunk(plain, "gAMA", u32s(100000))
		in, out := filepath.Join(dir, "in.png"), filepath.Join(dir, "out.png")
		if err := os.WriteFile(in, data, 0o600); err != nil {
			t.Fatal(err)
		}
		if b, err := exec.Command(magick, in, "-colorspace", "sRGB", "-depth", "16", "-define", "png:bit-depth=16", "-define", "png:color-type=2", out).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, b)
		}
		theirs, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		f, got := labs(t, data)
		checkStated(t, "linear", f, "gamma 1.0")
		g, want := labs(t, theirs)
		if g.Profile != nil || len(want) != len(got) {
			t.Fatalf("ImageMagick wrote %d pixels in %v", len(want), g.Profile)
		}
		_, before := labs(t, plain)
		worst, was := 0.0, 0.0
		for i := range got {
			worst = math.Max(worst, colour.DeltaE00(got[i], want[i]))
			was = math.Max(was, colour.DeltaE00(before[i], want[i]))
		}
		t.Logf("grey %v: worst ΔE00 %.3f; taken as sRGB it would be %.1f", grey, worst, was)
		if worst > 0.1 || was < 15 {
			t.Errorf("grey %v: worst ΔE00 %.3f from ImageMagick, want ≤ 0.1; taken as sRGB %.1f", grey, worst, was)
		}
	}
}

// TestStatedCurves checks the curves and spaces that no published profile is at hand
// for against the formulas of Rec. ITU-T H.273 (07/2021), tables 2 and 3.
func TestStatedCurves(t *testing.T) {
	power := func(g float64) func(float64) float64 { return func(v float64) float64 { return math.Pow(v, g) } }
	camera := func(alpha, beta float64) func(float64) float64 {
		return func(v float64) float64 {
			if v < 4.5*beta {
				return v / 4.5
			}
			return math.Pow((v+alpha-1)/alpha, 1/0.45)
		}
	}
	for code, light := range map[byte]func(float64) float64{1: camera(1.099, 0.018), 6: camera(1.099, 0.018), 14: camera(1.099, 0.018), 15: camera(1.0993, 0.0181),
		4: power(2.2), 5: power(2.8), 8: power(1)} {
		_, got := labs(t, withChunk(lattice(t, true), "cICP", []byte{1, code, 0, 1}))
		for i, c := range got {
			want := colour.XYZ{X: colour.D50.X * light(float64(i)/255), Y: light(float64(i) / 255), Z: colour.D50.Z * light(float64(i)/255)}.Lab(colour.D50)
			if colour.DeltaE00(c, want) > 0.02 {
				t.Fatalf("transfer %d: %v at %d, want %v", code, c, i, want)
			}
		}
	}
	for _, code := range []byte{1, 4, 5, 6, 7, 9, 11, 12} {
		f, got := labs(t, withChunk(lattice(t, false), "cICP", []byte{code, 4, 0, 1}))
		if white := got[len(got)-1]; white.Chroma() > 0.1 || math.Abs(white.L-100) > 0.05 || f.Profile == nil {
			t.Errorf("primaries %d: white is %v", code, white)
		}
	}
}

// TestPrimariesOfGrey reads a cHRM chunk of grey art, which it says nothing of.
func TestPrimariesOfGrey(t *testing.T) {
	f, err := Read(withChunk(lattice(t, true), "cHRM", chrm(0.3127, 0.3290, 0.680, 0.320, 0.265, 0.690, 0.150, 0.060)), "a.png", Options{})
	if err != nil {
		t.Fatal(err)
	}
	checkStated(t, "grey", f, "-")
}

func TestStatedRefuses(t *testing.T) {
	file := lattice(t, false)
	for name, c := range map[string]struct {
		kind string
		data []byte
		want string
	}{
		"PQ":                 {"cICP", []byte{9, 16, 0, 1}, "is an HDR picture (PQ or HLG), whose light goes beyond a print's white: export it as an ordinary picture in sRGB or Display P3, or use --ignore-profile"},
		"HLG":                {"cICP", []byte{9, 18, 0, 1}, "is an HDR picture"},
		"primaries":          {"cICP", []byte{200, 13, 0, 1}, "names primaries 200"},
		"transfer":           {"cICP", []byte{1, 3, 0, 1}, "names transfer 3"},
		"video range":        {"cICP", []byte{1, 1, 0, 0}, "narrow range"},
		"matrix":             {"cICP", []byte{1, 1, 1, 1}, "not RGB"},
		"short":              {"cICP", []byte{1, 1}, "malformed cICP"},
		"gamma":              {"gAMA", u32s(1), "no picture's gamma"},
		"short gamma":        {"gAMA", []byte{1}, "malformed gAMA"},
		"no triangle":        {"cHRM", chrm(0.3127, 0.329, 0.1, 0.1, 0.2, 0.2, 0.3, 0.3), "span no colours"},
		"short colour":       {"cHRM", []byte{1, 2}, "malformed gAMA or cHRM"},
		"no triangle alone":  {"cHRM", chrm(0.3127, 0.329, 0.1, 0.1, 0.2, 0.2, 0.3, 0.3), "span no colours"},
		"short colour alone": {"cHRM", []byte{1, 2}, "malformed gAMA or cHRM"},
	} {
		data := withChunk(file, c.kind, c.data)
		if c.kind == "cHRM" && !strings.HasSuffix(name, "alone") {
			data = withChunk(data, "gAMA", u32s(50000))
		}
		_, err := Read(data, "a.png", Options{})
		if err == nil || !strings.Contains(fault.Words(err, func(f string) string { return "--" + f }), c.want) {
			t.Errorf("%s: error %v, want %q", name, err, c.want)
		}
		var f *fault.Fault
		if !errors.As(err, &f) || f.Hint == "" {
			t.Errorf("%s: %v does not say what to do", name, err)
		}
		if _, err := Read(data, "a.png", Options{IgnoreProfile: true}); err != nil {
			t.Errorf("%s: not read even without its colours: %v", name, err)
		}
	}
}

// TestUnreadCICPGivesWay keeps a profile that stands beside a cICP which is not read.
func TestUnreadCICPGivesWay(t *testing.T) {
	magick := reference.Tool(t, "convert-im6.q16")
	path := reference.Profile(t, "adobe-rgb")
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.png"), filepath.Join(dir, "out.png")
	if err := os.WriteFile(in, lattice(t, false), 0o600); err != nil {
		t.Fatal(err)
	}
	if b, err := exec.Command(magick, in, "-profile", path, out).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, b)
	}
	data, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	f, err := Read(withChunk(data, "cICP", []byte{9, 16, 0, 1}), "a.png", Options{})
	want, _ := icc.Parse(reference.File(t, path))
	if err != nil || !f.Profile.Same(want) {
		t.Errorf("%v, %v", f, err)
	}
}

// TestCMYKStatesNoRGB keeps words about RGB away from CMYK.
func TestCMYKStatesNoRGB(t *testing.T) {
	f := &File{}
	f.Space = icc.CMYK
	if err := f.readProfile(meta{stated: adobeRGB, srgb: true}); err != nil || f.Profile != nil {
		t.Errorf("%v, %v", f.Profile, err)
	}
}
