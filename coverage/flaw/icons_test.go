package flaw

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/srwiley/oksvg"
	"github.com/srwiley/rasterx"

	"laydown/colour"
	"laydown/colour/reference"
	"laydown/coverage/plate"
)

// TestIcons measures line icons whose stroke width is published: every icon of
// feather-icons 4.29.2 (npm, MIT licence, in testdata/icons) is drawn in strokes of 2
// on a field of 24. They are drawn at sizes that make the stroke too thin, and one
// that makes it hold.
func TestIcons(t *testing.T) {
	files, err := filepath.Glob("../../testdata/icons/*.svg")
	if err != nil || len(files) < 20 {
		t.Fatalf("%d icons, %v", len(files), err)
	}
	worst, n, off := 0.0, 0, 0
	files = reference.Sweep(t, files, func(path string) bool { return filepath.Base(path) < "c" })
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		data = bytes.ReplaceAll(data, []byte("currentColor"), []byte("#46693c"))
		for _, dpi := range []float64{300, 600} {
			for _, strokeMM := range []float64{0.25, 0.3, 0.6} {
				px := int(math.Round(strokeMM * 12 / 25.4 * dpi))
				// The rasterizer scales paths and not the strokes on them.
				scaled := bytes.ReplaceAll(data, []byte(`stroke-width="2"`), fmt.Appendf(nil, `stroke-width="%f"`, float64(px)/12))
				icon, err := oksvg.ReadIconStream(bytes.NewReader(scaled), oksvg.StrictErrorMode)
				if err != nil {
					t.Fatalf("%s: %v", file, err)
				}
				stroke := float64(px) / 12 * 25.4 / dpi // what the whole pixels make of it
				img := image.NewRGBA(image.Rect(0, 0, px+4, px+4))
				icon.SetTarget(2, 2, float64(px), float64(px))
				icon.Draw(rasterx.NewDasher(px+4, px+4, rasterx.NewScannerGV(px+4, px+4, img, img.Bounds())), 1)
				s := scan(t, img, dpi, plate.WhiteOptions{Rule: plate.Under, DensityPercent: 100})
				found, err := Find(s)
				if err != nil {
					t.Fatal(err)
				}
				measured := 0.0
				for _, f := range found {
					if f.Kind == FineLine {
						measured = f.Measured
					}
				}
				name := filepath.Base(file)
				if stroke > s.Limits.SmallestLineMM {
					if measured != 0 {
						t.Errorf("%s at %g dpi: a line of %.3f mm, drawn %.3f", name, dpi, measured, stroke)
					}
					continue
				}
				n++
				if e := math.Abs(measured - stroke); e > math.Max(0.03, 2.54/dpi) && e < 0.05 {
					off++ // by a short part beside a corner
				} else if e > math.Max(0.03, 2.54/dpi) {
					t.Errorf("%s at %g dpi: measured %.3f mm, drawn %.3f", name, dpi, measured, stroke)
				} else {
					worst = math.Max(worst, e)
				}
			}
		}
	}
	if off*20 > n {
		t.Errorf("%d of %d widths are off by more than 0.03 mm", off, n)
	}
	t.Logf("%d drawings of %d icons, %d off by 0.03 to 0.05 mm, the others at most %.4f mm", n, len(files), off, worst)
}

// TestBandingStep holds the measured step to CIEDE2000 (whose own test is Sharma's
// table) of the two prints, worked out by hand.
func TestBandingStep(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 600, 60)) // 10 flats of 5 mm
	for y := range 60 {
		for x := range 600 {
			v := uint8(60 + 8*(x/60))
			img.SetNRGBA(x, y, moss)
			i := img.PixOffset(x, y)
			img.Pix[i], img.Pix[i+1], img.Pix[i+2] = v, v, v
		}
	}
	s := scan(t, img, 300, plate.WhiteOptions{Rule: plate.NoWhite})
	f, ok := kinds(t, s)[Banding]
	if !ok {
		t.Fatal("no banding")
	}
	var steps []float64
	look := func(x int) colour.Lab {
		var tones [4]float64
		for k := range tones {
			tones[k] = float64(s.Plates.Plane[k][30*600+x]) / 255
		}
		return s.Printed(tones)
	}
	for k := range 9 {
		steps = append(steps, colour.DeltaE00(look(60*k+30), look(60*k+90)))
	}
	lo, hi := math.Inf(1), 0.0
	for _, v := range steps {
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	if f.Measured < lo-0.001 || f.Measured > hi+0.001 || lo < 1 {
		t.Errorf("measured %g, by hand from %.3f to %.3f", f.Measured, lo, hi)
	}
	if f.Places != 1 || f.Boxes[0].XMM > 5.2 || f.Boxes[0].WidthMM < 40 {
		t.Errorf("boxes %+v, want one over all the steps", f.Boxes)
	}
	// The same ramp in full steps of one code does not band.
	for y := range 60 {
		for x := range 600 {
			i := img.PixOffset(x, y)
			v := uint8(60 + x*72/600)
			img.Pix[i], img.Pix[i+1], img.Pix[i+2] = v, v, v
		}
	}
	if f, bad := kinds(t, scan(t, img, 300, plate.WhiteOptions{Rule: plate.NoWhite}))[Banding]; bad {
		t.Errorf("72 levels over 51 mm: %+v", f)
	}
}

// TestBlockingAgainstReference compresses a smooth drawing by libjpeg
// (ImageMagick) at several qualities: hard compression is found, fine is not.
func TestBlockingAgainstReference(t *testing.T) {
	reference.Long(t)
	tool := reference.Tool(t, "convert-im6.q16")
	img := paint(60, 60, 200, func(x, y float64) (c color.NRGBA) {
		c.R, c.G, c.B, c.A = uint8(130+40*math.Sin(x/9)), uint8(120+40*math.Cos(y/7)), uint8(110+30*math.Sin((x+y)/11)), 255
		if math.Abs(math.Hypot(x, y)-14) < 3 {
			c = cream
		}
		return c
	})
	dir := t.TempDir()
	src := filepath.Join(dir, "src.png")
	writePNG(t, src, img)
	for quality, want := range map[string]bool{"10": true, "20": true, "85": false, "92": false, "98": false} {
		to := filepath.Join(dir, "q"+quality+".jpg")
		if out, err := exec.Command(tool, src, "-quality", quality, to).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		data, err := os.ReadFile(to)
		if err != nil {
			t.Fatal(err)
		}
		back, err := jpeg.Decode(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("quality %s: steps between blocks stand out by %.2f codes", quality, measureBlocks(t, back))
		f, got := kinds(t, scan(t, back, 200, plate.WhiteOptions{Rule: plate.NoWhite}))[Blocking]
		if got != want {
			t.Errorf("quality %s: %v (%+v), want %v", quality, got, f, want)
		}
	}
}

// TestJPEGGround finds the box behind a logo that a JPEG encoder has made noisy, and
// says what it wastes.
func TestJPEGGround(t *testing.T) {
	img := paint(40, 30, 200, func(x, y float64) color.NRGBA {
		if math.Hypot(x, y) < 9 && math.Hypot(x, y) > 4 {
			return brick
		}
		return color.NRGBA{250, 250, 248, 255}
	})
	s := scan(t, compressed(t, img, 70), 200, plate.WhiteOptions{Rule: plate.Under, DensityPercent: 100})
	s.TonerCost = func(sum [plate.Count]uint64) string { return "EUR 1.23" }
	f := kinds(t, s)[BackgroundBox]
	want := 100 - math.Pi*81/(40*30)*100 // the hole is not counted, nor what compression left around the ring
	if f.Severity != Stop || math.Abs(f.Measured-want) > 3 || !strings.Contains(f.Advice, "EUR 1.23") || !strings.Contains(f.Advice, "100.0 % white") {
		t.Errorf("%+v, want about %.1f %%", f, want)
	}
}

func writePNG(t testing.TB, path string, img image.Image) {
	t.Helper()
	if err := os.WriteFile(path, encodePNG(t, img), 0o600); err != nil {
		t.Fatal(err)
	}
}

func measureBlocks(t testing.TB, img image.Image) float64 {
	s := newScene(scan(t, img, 200, plate.WhiteOptions{Rule: plate.NoWhite}))
	return s.past().blocks
}
