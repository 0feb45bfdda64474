package plate

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/hhrutter/tiff"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/press"
	"laydown/colour/press/presstest"
	"laydown/colour/reference"
	"laydown/coverage/artwork"
	"laydown/coverage/artwork/arttest"
)

// art makes artwork of an image.
func art(img image.Image) *artwork.Art { return arttest.Of(img) }

// filled are new plates of an art.
func filled(art *artwork.Art, sep *press.Separator, white WhiteOptions) (*Plates, error) {
	p := New(art.Width, art.Height)
	return p, p.Fill(art, sep, white)
}

func decoded(t testing.TB, f *artwork.File, err error) *artwork.Art {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	a, err := f.Decode()
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// disc draws a black disc of radius r pixels on clear film, each pixel's alpha
// its share of the disc by 16 × 16 samples.
func disc(size int, r float64) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, size, size))
	c := float64(size) / 2
	for y := range size {
		for x := range size {
			in := 0
			for j := range 16 {
				for i := range 16 {
					if math.Hypot(float64(x)+(float64(i)+0.5)/16-c, float64(y)+(float64(j)+0.5)/16-c) < r {
						in++
					}
				}
			}
			img.SetNRGBA(x, y, color.NRGBA{A: uint8(math.Round(float64(in) / 256 * 255))})
		}
	}
	return img
}

// TestWhiteAreas compares the white plate of a disc with areas known in closed
// form: πr², and π(r−c)² when choked or spread by c, where the edge may lie a
// fifth of a pixel off all round.
func TestWhiteAreas(t *testing.T) {
	const size, r, pixelMM = 400, 150.0, 0.1
	a := art(disc(size, r))
	sep := presstest.Separate(t, icc.SRGB())
	area := func(r float64) float64 { return math.Pi * r * r / (size * size) * 100 }
	for _, c := range []struct {
		o    WhiteOptions
		want float64
	}{
		{WhiteOptions{Rule: NoWhite, DensityPercent: 100, ChokeMM: 0, PixelMM: pixelMM}, 0},
		{WhiteOptions{Rule: Under, DensityPercent: 100, ChokeMM: 0, PixelMM: pixelMM}, area(r)},
		{WhiteOptions{Rule: Under, DensityPercent: 60, ChokeMM: 0, PixelMM: pixelMM}, 0.6 * area(r)},
		{WhiteOptions{Rule: Under, DensityPercent: 100, ChokeMM: 0.3, PixelMM: pixelMM}, area(r - 3)},
		{WhiteOptions{Rule: Under, DensityPercent: 100, ChokeMM: 0.25, PixelMM: pixelMM}, area(r - 2.5)},
		{WhiteOptions{Rule: Under, DensityPercent: 80, ChokeMM: 1, PixelMM: pixelMM}, 0.8 * area(r-10)},
		{WhiteOptions{Rule: Under, DensityPercent: 100, ChokeMM: -0.4, PixelMM: pixelMM}, area(r + 4)},
		{WhiteOptions{Rule: All, DensityPercent: 100, ChokeMM: 0.3, PixelMM: pixelMM}, 100},
		{WhiteOptions{Rule: All, DensityPercent: 50, ChokeMM: 0, PixelMM: pixelMM}, 50},
	} {
		p, err := filled(a, sep, c.o)
		if err != nil {
			t.Fatal(err)
		}
		if got := p.MeanPercent(White); math.Abs(got-c.want) > 0.2*2*math.Pi*r/(size*size)*100*math.Min(1, math.Abs(c.o.ChokeMM)*10)+0.01 && c.o.Rule == Under || math.Abs(got-c.want) > 0.2 {
			t.Errorf("%+v: white covers %.3f %%, want %.3f", c.o, got, c.want)
		} else {
			t.Logf("%+v: %.3f %%, closed form %.3f", c.o, got, c.want)
		}
	}
	if _, err := filled(a, sep, WhiteOptions{Rule: Under, DensityPercent: 100, ChokeMM: 50, PixelMM: pixelMM}); err == nil {
		t.Error("a choke of 500 pixels passed")
	}
}

// TestWhiteThreshold makes white of a ramp of alpha solid from a threshold on,
// and lets colour go on in proportion.
func TestWhiteThreshold(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 256, 4))
	for x := range 256 {
		for y := range 4 {
			img.SetNRGBA(x, y, color.NRGBA{200, 30, 90, uint8(x)})
		}
	}
	for percent, first := range map[float64]int{50: 128, 20: 51, 100: 255, 0.1: 1} {
		p, err := filled(art(img), presstest.Separate(t, icc.SRGB()), WhiteOptions{Rule: Under, DensityPercent: 80, PixelMM: 0.1, ThresholdPercent: percent})
		if err != nil {
			t.Fatal(err)
		}
		for x := range 256 {
			want := uint8(0)
			if x >= first {
				want = 204
			}
			if got := p.Plane[White][x]; got != want {
				t.Fatalf("threshold %g %%: white at alpha %d is %d, want %d", percent, x, got, want)
			}
		}
		if p.Plane[Magenta][100] == 0 || p.Plane[Magenta][100] >= p.Plane[Magenta][255] {
			t.Errorf("threshold %g %%: magenta is %d at alpha 100 and %d at 255", percent, p.Plane[Magenta][100], p.Plane[Magenta][255])
		}
	}
}

// TestOpaqueChoke trims a solid rectangle on all four sides.
func TestOpaqueChoke(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 60, 40))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	for choke, want := range map[float64]float64{0.5: 50 * 30, 0.25: 55 * 35, 0: 60 * 40, -0.5: 60 * 40, 3: 0} {
		p, err := filled(art(img), presstest.Separate(t, icc.SRGB()), WhiteOptions{Rule: Under, DensityPercent: 100, ChokeMM: choke, PixelMM: 0.1})
		if err != nil {
			t.Fatal(err)
		}
		if got := float64(p.Sum(White)) / 255; math.Abs(got-want) > 2 {
			t.Errorf("choke %g mm leaves %.2f pixels of white, want %g", choke, got, want)
		}
	}
}

// TestDrawnShapes compares the plates of shapes drawn in the press's own CMYK
// with their areas in closed form, within 0.1 point: rectangles, a disc and a
// ring, each of one toner, and what they lay together.
func TestDrawnShapes(t *testing.T) {
	const w, h = 600, 400
	img := image.NewCMYK(image.Rect(0, 0, w, h))
	cover := func(x, y int, in func(x, y float64) bool) uint8 {
		n := 0
		for j := range 16 {
			for i := range 16 {
				if in(float64(x)+(float64(i)+0.5)/16, float64(y)+(float64(j)+0.5)/16) {
					n++
				}
			}
		}
		return uint8(math.Round(float64(n) / 256 * 255))
	}
	for y := range h {
		for x := range w {
			o := img.PixOffset(x, y)
			img.Pix[o+Cyan] = cover(x, y, func(x, y float64) bool { return math.Hypot(x-200, y-200) < 120 })
			img.Pix[o+Magenta] = cover(x, y, func(x, y float64) bool { d := math.Hypot(x-350, y-200); return d < 150 && d > 90.5 })
			img.Pix[o+Yellow] = cover(x, y, func(x, y float64) bool { return x > 50.25 && x < 500.5 && y > 60 && y < 110.5 })
			img.Pix[o+Black] = cover(x, y, func(x, y float64) bool { return x+y < 300 })
		}
	}
	path := filepath.Join(t.TempDir(), "shapes.tif")
	writeTIFF(t, path, img)
	p, err := filled(openArt(t, path), presstest.Separate(t, nil), WhiteOptions{Rule: NoWhite})
	if err != nil {
		t.Fatal(err)
	}
	const box = w * h
	want := [4]float64{math.Pi * 120 * 120 / box, math.Pi * (150*150 - 90.5*90.5) / box, 450.25 * 50.5 / box, 300 * 300 / 2.0 / box}
	sum := 0.0
	for k, v := range want {
		sum += 100 * v
		if got := p.MeanPercent(k); math.Abs(got-100*v) > 0.1 {
			t.Errorf("%s covers %.3f %%, closed form says %.3f", Names[k], got, 100*v)
		}
	}
	tac := p.TAC(200)
	if math.Abs(tac.MeanPercent-sum) > 0.1 || tac.MaxPercent != 300 {
		t.Errorf("TAC mean %.3f, want %.3f; maximum %.1f, want 300 where disc, ring and band cross", tac.MeanPercent, sum, tac.MaxPercent)
	}
}

func writeTIFF(t testing.TB, path string, img image.Image) {
	t.Helper()
	var b bytes.Buffer
	if err := tiff.Encode(&b, img, &tiff.Options{Compression: tiff.Deflate}); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}

func openArt(t testing.TB, path string) *artwork.Art {
	t.Helper()
	f, err := artwork.Open(path, artwork.Options{})
	return decoded(t, f, err)
}

func TestTAC(t *testing.T) {
	p := &Plates{Width: 10, Height: 10}
	for k := range p.Plane {
		p.Plane[k] = make([]uint8, 100)
	}
	for i := range 2 { // two pixels of 300 %, one of 240 %, the rest bare
		p.Plane[Cyan][i], p.Plane[Magenta][i], p.Plane[Black][i] = 255, 255, 255
	}
	p.Plane[Cyan][2], p.Plane[Yellow][2], p.Plane[Black][2] = 255, 255, 102
	p.Plane[White][50] = 255 // white does not count
	got := p.TAC(240)
	want := TAC{MeanPercent: 8.4, P99Percent: 300, MaxPercent: 300, LimitPercent: 240, OverLimitAreaPercent: 2}
	if math.Abs(got.MeanPercent-want.MeanPercent) > 1e-9 {
		t.Errorf("mean %v, want %v", got.MeanPercent, want.MeanPercent)
	}
	got.MeanPercent = want.MeanPercent
	if got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
}

func TestAlphaScalesEveryPlate(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 4, 2))
	for i, a := range []uint8{0, 64, 128, 255} {
		img.SetNRGBA(i, 0, color.NRGBA{200, 30, 90, a})
		img.SetNRGBA(i, 1, color.NRGBA{200, 30, 90, a})
	}
	p, err := filled(art(img), presstest.Separate(t, icc.SRGB()), WhiteOptions{Rule: Under, DensityPercent: 100, ChokeMM: 0, PixelMM: 0.1})
	if err != nil {
		t.Fatal(err)
	}
	for k := range Count {
		solid := float64(p.Plane[k][3])
		for i, a := range []float64{0, 64, 128, 255} {
			if got := float64(p.Plane[k][i]); math.Abs(got-solid*a/255) > 0.51 {
				t.Errorf("%s at alpha %v: %v, want %v", Names[k], a, got, solid*a/255)
			}
		}
	}
}

// lcms converts an image with LittleCMS's tificc, precalculated as mode says,
// and returns the input as tificc saw it and the CMYK it made.
func lcms(t *testing.T, img image.Image, intent icc.Intent, mode string) (in, out *artwork.Art) {
	t.Helper()
	dir := t.TempDir()
	rgb, cmyk := filepath.Join(dir, "rgb.tif"), filepath.Join(dir, "cmyk.tif")
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(reference.Tool(t, "convert-im6.q16"), "png:-", "-type", "TrueColor", "-compress", "None", rgb)
	cmd.Stdin = &b
	if b, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, b)
	}
	// -n, for tificc would make a profile of the chromaticities that convert writes.
	cmd = exec.Command(reference.Tool(t, "tificc"), fmt.Sprintf("-t%d", intent), "-n", "-b", mode,
		"-i", reference.Profile(t, "srgb"), "-o", reference.Profile(t, "cmyk"), rgb, cmyk)
	if b, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, b)
	}
	return openArt(t, rgb), openArt(t, cmyk)
}

func lcmsPress(t *testing.T, intent icc.Intent) *press.Separator {
	t.Helper()
	src, err := icc.Parse(reference.File(t, reference.Profile(t, "srgb")))
	if err != nil {
		t.Fatal(err)
	}
	sep, err := presstest.Published(t).Separate(src, press.Options{Intent: intent, BPC: true})
	if err != nil {
		t.Fatal(err)
	}
	return sep
}

// TestCoverageAgainstLittleCMS holds the coverage of a picture to a plain mean
// over what LittleCMS's tificc makes of it, within 0.1 point a plate.
func TestCoverageAgainstLittleCMS(t *testing.T) {
	for name, img := range map[string]image.Image{"photo": photo(500, 400), "noise": noise(300, 300)} {
		for _, intent := range []icc.Intent{icc.Perceptual, icc.Relative} {
			in, want := lcms(t, img, intent, "-c0")
			p, err := filled(in, lcmsPress(t, intent), WhiteOptions{Rule: NoWhite})
			if err != nil {
				t.Fatal(err)
			}
			for k := range 4 {
				sum := 0.0
				for i := range want.Width * want.Height {
					sum += float64(want.Device(i)[k])
				}
				mean := sum / 255 / float64(want.Width*want.Height) * 100
				got := p.MeanPercent(k)
				t.Logf("%s %s %s: %.3f %%, LittleCMS %.3f", name, intent, Names[k], got, mean)
				if math.Abs(got-mean) > 0.1 {
					t.Errorf("%s %s %s: %.3f %%, LittleCMS says %.3f", name, intent, Names[k], got, mean)
				}
			}
		}
	}
}

// TestTableAgainstLittleCMS compares how far two compiled tables, ours and the
// one LittleCMS makes by default, stray from LittleCMS's exact evaluation of
// the same pixels.
func TestTableAgainstLittleCMS(t *testing.T) {
	img := noise(400, 400)
	in, exact := lcms(t, img, icc.Relative, "-c0")
	_, theirs := lcms(t, img, icc.Relative, "-c1")
	p, err := filled(in, lcmsPress(t, icc.Relative), WhiteOptions{Rule: NoWhite})
	if err != nil {
		t.Fatal(err)
	}
	far := func(value func(i, k int) uint8) (share float64) {
		n := 0
		for i := range in.Width * in.Height {
			for k := range 4 {
				if d := int(value(i, k)) - int(exact.Device(i)[k]); d > 1 || d < -1 {
					n++
				}
			}
		}
		return float64(n) / float64(4*in.Width*in.Height) * 100
	}
	ours, lcms := far(func(i, k int) uint8 { return p.Plane[k][i] }), far(func(i, k int) uint8 { return theirs.Device(i)[k] })
	t.Logf("beyond 1/255 of exact: ours %.3f %%, LittleCMS's default %.3f %%", ours, lcms)
	if ours > lcms {
		t.Errorf("beyond 1/255 of exact: ours %.3f %%, more than LittleCMS's default %.3f %%", ours, lcms)
	}
}

// photo is a picture of soft, overlapping colours, as a photograph has.
func photo(w, h int) image.Image {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	r := rand.New(rand.NewPCG(11, 12))
	type blob struct{ x, y, s, r, g, b float64 }
	var blobs []blob
	for range 40 {
		blobs = append(blobs, blob{r.Float64() * float64(w), r.Float64() * float64(h), 20 + 100*r.Float64(), r.Float64(), r.Float64(), r.Float64()})
	}
	for y := range h {
		for x := range w {
			var s, cr, cg, cb float64
			for _, b := range blobs {
				d := math.Exp(-((float64(x)-b.x)*(float64(x)-b.x) + (float64(y)-b.y)*(float64(y)-b.y)) / (2 * b.s * b.s))
				s, cr, cg, cb = s+d, cr+d*b.r, cg+d*b.g, cb+d*b.b
			}
			q := func(v float64) uint8 { return uint8(math.Max(0, math.Min(255, 255*v/s+6*r.NormFloat64()))) }
			img.SetNRGBA(x, y, color.NRGBA{q(cr), q(cg), q(cb), 255})
		}
	}
	return img
}

func noise(w, h int) image.Image {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	r := rand.New(rand.NewPCG(13, 14))
	for i := range img.Pix {
		img.Pix[i] = uint8(r.Uint32())
		if i%4 == 3 {
			img.Pix[i] = 255
		}
	}
	return img
}

// BenchmarkMake separates art of 4 million pixels: of 8 and 16 bits, of solid shapes with
// an edge in every 20 pixels and every 100, with soft edges throughout, and with white
// by colour.
func BenchmarkMake(b *testing.B) {
	const w, h = 2000, 2000
	narrow, wide, soft := image.NewNRGBA(image.Rect(0, 0, w, h)), image.NewNRGBA64(image.Rect(0, 0, w, h)), image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.NRGBA{uint8(x / 8), uint8(y / 8), uint8((x*7 + y*3) / 64), 255}
			narrow.SetNRGBA(x, y, c)
			wide.SetNRGBA64(x, y, color.NRGBA64{uint16(x * 32), uint16(y * 32), uint16(x*7 + y*3), 65535})
			c.A = uint8(x + y)
			soft.SetNRGBA(x, y, c)
		}
	}
	// solid draws a disc in every square of the given size.
	solid := func(size int) *image.NRGBA {
		img := image.NewNRGBA(image.Rect(0, 0, w, h))
		r := 0.4 * float64(size)
		for y := range h {
			for x := range w {
				c := narrow.NRGBAAt(x, y)
				d := r - math.Hypot(float64(x%size)-float64(size)/2, float64(y%size)-float64(size)/2)
				c.A = uint8(255 * math.Max(0, math.Min(1, d+0.5)))
				img.SetNRGBA(x, y, c)
			}
		}
		return img
	}
	sep := presstest.Separate(b, icc.SRGB())
	sep.Table()
	under := WhiteOptions{Rule: Under, DensityPercent: 100, PixelMM: 0.1, ChokeMM: 0.2}
	byColour := under
	byColour.Rule, byColour.Need = Knockout, of(KnockoutNeed(colour.FromSRGB(60, 20, 90), 5))
	for _, c := range []struct {
		name string
		img  image.Image
		o    WhiteOptions
	}{{"8 bits", narrow, under}, {"16 bits", wide, under}, {"fine solids", solid(20), under}, {"solids", solid(100), under},
		{"alpha", soft, under}, {"knockout", narrow, byColour}, {"knockout 16 bits", wide, byColour}} {
		b.Run(c.name, func(b *testing.B) {
			a := art(c.img)
			p := New(w, h)
			b.SetBytes(w * h) // so that MB/s reads as Mpx/s
			for b.Loop() {
				if err := p.Fill(a, sep, c.o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func ExamplePlates_TAC() {
	p := &Plates{Width: 2, Height: 1}
	for k := range p.Plane {
		p.Plane[k] = []uint8{255, 0}
	}
	t := p.TAC(240)
	fmt.Printf("mean %.0f %%, most %.0f %%, over the limit on %.0f %% of the print\n", t.MeanPercent, t.MaxPercent, t.OverLimitAreaPercent)
	// Output: mean 200 %, most 400 %, over the limit on 50 % of the print
}
