package flaw

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/disintegration/imaging"
	"github.com/srwiley/oksvg"
	"github.com/srwiley/rasterx"

	"laydown/colour/reference"
	"laydown/coverage/plate"
)

// rings are 16 discs with holes, antialiased, of which every edge is a circle. blur is
// the standard deviation of a Gauss filter in pixels.
func rings(size int, blur float64) *image.Gray {
	img := image.NewGray(image.Rect(0, 0, size, size))
	cell := float64(size) / 4
	spread := math.Sqrt(blur*blur+1./12) * math.Sqrt2 // with the variance of a pixel's own width
	for i := range img.Pix {
		x, y := float64(i%size)+0.5, float64(i/size)+0.5
		r := math.Hypot(math.Mod(x, cell)-cell/2-0.13, math.Mod(y, cell)-cell/2+0.21)
		ink := math.Erf((0.44*cell-r)/spread)/2 - math.Erf((0.2*cell+math.Floor(x/cell)-r)/spread)/2
		img.Pix[i] = uint8(230 - 190*ink + 0.5)
	}
	return img
}

// icons are 16 icons of feather-icons (MIT licence, testdata/icons), each of so many
// pixels.
func icons(t testing.TB, each int) *image.Gray {
	t.Helper()
	files, err := filepath.Glob("../../testdata/icons/*.svg")
	if err != nil || len(files) < 16 {
		t.Fatalf("%d icons, %v", len(files), err)
	}
	size := 4 * each
	img := image.NewRGBA(image.Rect(0, 0, size, size))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	for i, file := range files[:16] {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		data = bytes.ReplaceAll(data, []byte("currentColor"), []byte("#46693c"))
		data = bytes.ReplaceAll(data, []byte(`stroke-width="2"`), fmt.Appendf(nil, `stroke-width="%f"`, float64(each)/12))
		icon, err := oksvg.ReadIconStream(bytes.NewReader(data), oksvg.StrictErrorMode)
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		icon.SetTarget(float64(i%4*each), float64(i/4*each), float64(each), float64(each))
		icon.Draw(rasterx.NewDasher(size, size, rasterx.NewScannerGV(size, size, img, img.Bounds())), 1)
	}
	return grey(img)
}

func grey(img image.Image) *image.Gray {
	if g, ok := img.(*image.Gray); ok && g.Rect.Min == (image.Point{}) && g.Stride == g.Rect.Dx() {
		return g
	}
	g := image.NewGray(image.Rect(0, 0, img.Bounds().Dx(), img.Bounds().Dy()))
	for i := range g.Pix {
		g.Pix[i] = color.GrayModel.Convert(img.At(img.Bounds().Min.X+i%g.Stride, img.Bounds().Min.Y+i/g.Stride)).(color.Gray).Y
	}
	return g
}

// throughJPEG compresses a picture and takes it back; a quality of 0 leaves it.
func throughJPEG(t testing.TB, img image.Image, quality int) *image.Gray {
	t.Helper()
	if quality == 0 {
		return grey(img)
	}
	return grey(compressed(t, img, quality))
}

func enlargedBy(img image.Image, factor float64, by imaging.ResampleFilter) image.Image {
	b := img.Bounds()
	return imaging.Resize(img, int(math.Round(float64(b.Dx())*factor)), int(math.Round(float64(b.Dy())*factor)), by)
}

func pastOfGrey(img *image.Gray) past {
	return pastOfTone(img.Pix, img.Rect.Dx(), img.Rect.Dy(), 0)
}

// TestPastOfEnlarged enlarges drawn rings and published icons with the imaging library
// and compresses them before and after: the factor is found and sure.
func TestPastOfEnlarged(t *testing.T) {
	filters := []struct {
		name string
		by   imaging.ResampleFilter
	}{{"repeated", imaging.NearestNeighbor}, {"bilinear", imaging.Linear}, {"bicubic", imaging.CatmullRom},
		{"Mitchell", imaging.MitchellNetravali}, {"Lanczos", imaging.Lanczos}}
	qualities := [][2]int{{0, 0}, {0, 75}, {85, 0}, {75, 85}} // before and after
	for art, small := range map[string]*image.Gray{"rings": rings(200, 0), "icons": icons(t, 60)} {
		for i, factor := range reference.Sweep(t, []float64{1.5, 2, 2.5, 3, 4}, func(by float64) bool { return by == 2 || by == 3 }) {
			for j, filter := range filters {
				for k, quality := range qualities {
					name := filter.name
					if factor < 2 && (name == "repeated" || name == "Lanczos" || quality[1] > 0) {
						continue // no promise
					}
					if all := factor == 3 && name == "bicubic"; !all && (i+j)%len(qualities) != k {
						continue // the commonest in full, of the others one each
					}
					p := pastOfGrey(throughJPEG(t, enlargedBy(throughJPEG(t, small, quality[0]), factor, filter.by), quality[1]))
					if !p.sure || math.Abs(p.factor/factor-1) > 0.03 {
						t.Errorf("%s %g times %s, qualities %v: %.2f times, sure %v", art, factor, name, quality, p.factor, p.sure)
					}
					if (p.repeats > 1) != (name == "repeated") {
						t.Errorf("%s %g times %s, qualities %v: %g pixels repeat", art, factor, name, quality, p.repeats)
					}
				}
			}
		}
	}
}

// TestPastOfOwnSize looks at art that nobody enlarged: sharp, soft, compressed, and of
// glows alone. Softness is measured and never sure to be an enlargement.
func TestPastOfOwnSize(t *testing.T) {
	for _, c := range []struct {
		name string
		img  *image.Gray
		blur float64
		soft bool // may be called enlarged, or soft
	}{
		{"rings", rings(600, 0), 0, false},
		{"rings, a little soft", rings(600, 0.5), 0.5, false},
		{"soft rings", rings(600, 1), 1, true},
		{"softer rings", rings(600, 2), 2, true},
		{"icons", icons(t, 150), 0, false},
		{"soft icons", grey(imaging.Blur(icons(t, 150), 1)), 1, true},
		{"glows", rings(600, 14), -1, false},
	} {
		for _, quality := range []int{0, 90, 75} {
			p := pastOfGrey(throughJPEG(t, c.img, quality))
			if p.sure || p.factor > 1 && !c.soft || p.factor > 1.1*math.Sqrt(2*math.Pi)*math.Hypot(c.blur, 0.5) {
				t.Errorf("%s, quality %d: enlarged %.2f times, sure %v", c.name, quality, p.factor, p.sure)
			}
			if off := math.Abs(p.blur - c.blur); c.blur >= 0 && off > max(0.3, 0.1*c.blur) {
				t.Errorf("%s, quality %d: blur %.2f pixels, drawn with %g", c.name, quality, p.blur, c.blur)
			}
		}
	}
}

// TestNoise measures noise of known deviation on a slope, past what is drawn on it.
func TestNoise(t *testing.T) {
	for _, want := range []float64{0, 1, 2, 4} {
		random := rand.New(rand.NewPCG(1, 2))
		img := rings(600, 0)
		for i := range img.Pix {
			v := float64(img.Pix[i])*0.7 + float64(i%600)/30 + want*random.NormFloat64()
			img.Pix[i] = uint8(math.Floor(v + random.Float64())) // rounded to either side, which adds 1/6 or so of a square code
		}
		got := pastOfGrey(img).noise
		if expect := math.Hypot(want, 0.45); math.Abs(got-expect) > 0.15*expect {
			t.Errorf("noise of %g codes: %.2f, want %.2f", want, got, expect)
		}
	}
	if n := pastOfGrey(rings(600, 0)).noise; n != 0 {
		t.Errorf("art without noise has %.2f codes", n)
	}
}

// TestBlocksAtAnyScale compresses a smooth drawing hard, and cuts or enlarges it then.
func TestBlocksAtAnyScale(t *testing.T) {
	reference.Long(t)
	smooth := rings(400, 0)
	for i := range smooth.Pix {
		x, y := float64(i%400), float64(i/400)
		smooth.Pix[i] = uint8(float64(smooth.Pix[i])*0.6 + 40 + 18*math.Sin(x/19)*math.Cos(y/23))
	}
	for _, c := range []struct {
		quality int
		factor  float64
		cut     int
		again   int // quality afterwards
		want    bool
	}{
		{15, 1, 0, 0, true}, {15, 1, 3, 0, true}, {15, 1, 5, 95, true}, {15, 1.75, 0, 0, true}, {15, 2.5, 0, 0, true}, {15, 3, 11, 0, true},
		{0, 1, 0, 0, false}, {0, 3, 0, 0, false}, {0, 2, 0, 0, false}, {0, 4, 0, 0, false}, {95, 1, 0, 0, false}, {95, 3, 0, 90, false},
	} {
		var img image.Image = throughJPEG(t, smooth, c.quality)
		if c.factor > 1 {
			img = enlargedBy(img, c.factor, imaging.CatmullRom)
		}
		img = imaging.Crop(img, image.Rect(c.cut, c.cut, img.Bounds().Dx(), img.Bounds().Dy()))
		p := pastOfGrey(throughJPEG(t, img, c.again))
		if found := p.blocks >= leastBlock; found != c.want {
			t.Errorf("%+v: steps of %.2f codes every %.1f pixels", c, p.blocks, p.block)
		} else if c.want && math.Abs(p.block/(8*c.factor)-1) > 0.02 {
			t.Errorf("%+v: blocks of %.2f pixels", c, p.block)
		}
	}
}

// TestResolutionKnowsThePast gives a print that has pixels enough its true resolution: a
// sure enlargement stops, softness does not.
func TestResolutionKnowsThePast(t *testing.T) {
	for _, c := range []struct {
		name string
		img  image.Image
		want Severity
		real float64
	}{
		{"enlarged", throughJPEG(t, enlargedBy(rings(160, 0), 3, imaging.CatmullRom), 75), Stop, 100},
		{"enlarged a little", enlargedBy(rings(280, 0), 1.5, imaging.CatmullRom), Look, 200},
		{"soft", rings(420, 1.2), Look, 105},
		{"sharp", rings(420, 0), "", 0},
	} {
		found, err := resolution(newScene(scan(t, imaging.Clone(c.img), 300, plate.WhiteOptions{Rule: plate.NoWhite})))
		if err != nil {
			t.Fatal(err)
		}
		f := &Finding{}
		if len(found) > 0 {
			f = found[0]
		}
		if f.Severity != c.want || math.Abs(f.Measured-c.real) > 0.1*c.real {
			t.Errorf("%s: %q at %.0f px/in, want %q at %.0f", c.name, f.Severity, f.Measured, c.want, c.real)
		}
	}
}

func BenchmarkPast(b *testing.B) {
	for name, img := range map[string]*image.Gray{"sharp": rings(4096, 0), "soft": rings(4096, 1.2)} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				pastOfGrey(img)
			}
		})
	}
}
