package artwork

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

	"laydown/colour/grid"
	"laydown/colour/icc"
	"laydown/colour/reference"
)

// TestAccessors holds what pixels and rows say to what was put in, for every space,
// depth and transparency.
func TestAccessors(t *testing.T) {
	const w, h = 13, 7
	for _, space := range []icc.Space{icc.Gray, icc.RGB, icc.CMYK} {
		for _, depth := range []int{8, 16} {
			for _, alpha := range []bool{false, true} {
				name := fmt.Sprintf("%s, %d bits, alpha %v", space, depth, alpha)
				n := space.Channels()
				rng := rand.New(rand.NewPCG(uint64(n), uint64(depth)))
				d := NewDraft(Info{File: "t", Width: w, Height: h, Space: space, Depth: depth, HasAlpha: alpha})
				colours, alphas := make([]Device, w*h), make([]uint8, w*h)
				for i := range colours {
					for k := range n {
						colours[i][k] = uint8(rng.Uint32())
					}
					alphas[i] = 255
					if alpha {
						alphas[i] = uint8(rng.Uint32())
					}
					d.Set(i, colours[i], alphas[i])
				}
				a := d.Art()
				if a.HasAlpha != alpha || a.Depth != depth {
					t.Fatalf("%s: %+v", name, a.Info)
				}
				if most := w * h * (n + 1) * depth / 8; len(a.pix) > most {
					t.Errorf("%s: %d bytes, more than %d", name, len(a.pix), most)
				}
				// A table that changes nothing: as many outputs as there are inputs.
				same := grid.Compile(n, 18, func(dst, src []float64) { copy(dst, src) }) // 255 is 17 steps of 15
				var planes grid.Planes
				for k := range planes {
					planes[k] = make([]uint8, w)
				}
				near, row := make([]Device, w), make([]uint8, w)
				mask, masked := a.AlphaMask(100)
				if masked != alpha {
					t.Errorf("%s: mask %v", name, masked)
				}
				for y := range h {
					a.Nearest(y, near)
					a.Through(planes, same, y)
					for x := range w {
						i := y*w + x
						if a.Device(i) != colours[i] || near[x] != colours[i] || a.AlphaAt(i) != alphas[i] {
							t.Fatalf("%s: pixel %d is %v, nearest %v, alpha %d, want %v and %d", name, i, a.Device(i), near[x], a.AlphaAt(i), colours[i], alphas[i])
						}
						if a.Fractions(i) != colours[i].Fractions() {
							t.Fatalf("%s: pixel %d is %v, want %v", name, i, a.Fractions(i), colours[i].Fractions())
						}
						for k := range n {
							if planes[k][x] != colours[i][k] {
								t.Fatalf("%s: pixel %d through a table is %d in channel %d, want %d", name, i, planes[k][x], k, colours[i][k])
							}
						}
						if alpha && mask.Pix[y*mask.Stride+x*mask.Step] != alphas[i] {
							t.Fatalf("%s: mask of pixel %d is %d, want %d", name, i, mask.Pix[y*mask.Stride+x*mask.Step], alphas[i])
						}
					}
					for k := range n {
						a.Channel(y, k, row)
						for x, v := range row {
							if v != colours[y*w+x][k] {
								t.Fatalf("%s: channel %d at %d, %d is %d", name, k, x, y, v)
							}
						}
					}
					a.Alpha(y, row)
					if !bytes.Equal(row, alphas[y*w:(y+1)*w]) {
						t.Fatalf("%s: alpha of row %d is %v", name, y, row)
					}
				}
				img, drawn := a.NRGBA()
				if drawn != (space == icc.RGB && depth == 8) {
					t.Fatalf("%s: a picture %v", name, drawn)
				}
				for i := 0; drawn && i < w*h; i++ {
					if got, want := img.NRGBAAt(i%w, i/w), (color.NRGBA{colours[i][0], colours[i][1], colours[i][2], alphas[i]}); got != want {
						t.Fatalf("%s: pixel %d is drawn as %v, want %v", name, i, got, want)
					}
				}
			}
		}
	}
}

// TestFullDepth holds 16-bit art to its full depth where that is asked for, and tells
// cut-off codes from the nearest ones.
func TestFullDepth(t *testing.T) {
	img := image.NewNRGBA64(image.Rect(0, 0, 2, 2))
	img.SetNRGBA64(1, 1, color.NRGBA64{0x10f0, 0x0100, 0xfffe, 0x7fff})
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	a := decode(t, b.Bytes(), "t")
	if got, want := a.Fractions(3), [4]float64{0x10f0 / 65535.0, 0x0100 / 65535.0, 0xfffe / 65535.0}; got != want {
		t.Errorf("%v, want %v", got, want)
	}
	near := make([]Device, 2)
	a.Nearest(1, near)
	if a.Device(3) != (Device{0x10, 0x01, 0xff}) || near[1] != (Device{0x11, 0x01, 0xff}) || a.AlphaAt(3) != 0x7f {
		t.Errorf("cut off %v, nearest %v, alpha %d", a.Device(3), near[1], a.AlphaAt(3))
	}
	// Copies keep the depth.
	d := NewDraft(Info{Width: 2, Height: 2, Space: icc.RGB, Depth: 16, HasAlpha: true})
	d.Copy(0, a, 3, 9)
	if c := d.Art(); c.Fractions(0) != a.Fractions(3) || c.AlphaAt(0) != 9 {
		t.Errorf("copied as %v, alpha %d", c.Fractions(0), c.AlphaAt(0))
	}
}

// TestDraftOfSolidArt has no alpha, as a file of solid pixels has none.
func TestDraftOfSolidArt(t *testing.T) {
	d := NewDraft(Info{Width: 2, Height: 2, Space: icc.RGB, HasAlpha: true})
	for i := range 4 {
		d.Set(i, Device{9, 9, 9}, 255)
	}
	if a := d.Art(); a.HasAlpha || a.Depth != 8 {
		t.Errorf("%+v", a.Info)
	}
}

// TestPictureOfThreeSamples draws RGB that has no fourth sample (TIFF in separate
// planes, by libtiff's tiffcp), and grey art whose profile is for RGB.
func TestPictureOfThreeSamples(t *testing.T) {
	magick, tiffcp := reference.Tool(t, "convert-im6.q16"), reference.Tool(t, "tiffcp")
	dir := t.TempDir()
	src, plain, planes := filepath.Join(dir, "src.png"), filepath.Join(dir, "plain.tif"), filepath.Join(dir, "planes.tif")
	if err := os.WriteFile(src, samplePNG(t, false), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range [][]string{{magick, src, "-compress", "None", plain}, {tiffcp, "-p", "separate", plain, planes}} {
		if b, err := exec.Command(c[0], c[1:]...).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, b)
		}
	}
	data, err := os.ReadFile(planes)
	if err != nil {
		t.Fatal(err)
	}
	img, ok := decode(t, data, "planes.tif").NRGBA()
	if !ok {
		t.Fatal("no picture")
	}
	for y := range testH {
		for x := range testW {
			want := sample(x, y)
			want.A = 255
			if got := img.NRGBAAt(x, y); got != want {
				t.Fatalf("%d, %d is %v, want %v", x, y, got, want)
			}
		}
	}
	grey := &Art{Info: Info{Width: 2, Height: 1, Space: icc.Gray, Depth: 8}, pix: []byte{7, 200}, step: 1, alphaAt: -1}
	grey.greyToRGB()
	if img, _ = grey.NRGBA(); img.NRGBAAt(1, 0) != (color.NRGBA{200, 200, 200, 255}) {
		t.Errorf("grey is drawn as %v", img.NRGBAAt(1, 0))
	}
}

// TestReduced holds reduced art to means worked out pixel by pixel.
func TestReduced(t *testing.T) {
	const w, h, k = 11, 8, 3
	for _, depth := range []int{8, 16} {
		for _, alpha := range []bool{false, true} {
			rng := rand.New(rand.NewPCG(5, uint64(depth)))
			d := NewDraft(Info{Width: w, Height: h, Space: icc.RGB, Depth: depth, HasAlpha: alpha})
			for i := range w * h {
				a := uint8(rng.Uint32())
				if i%w < k {
					a = 0
				}
				d.Set(i, Device{uint8(rng.Uint32()), uint8(rng.Uint32()), uint8(rng.Uint32())}, a)
			}
			a := d.Art()
			small := a.Reduced(k)
			if small.Width != 3 || small.Height != 2 || small.Depth != 8 || small.HasAlpha {
				t.Fatalf("%+v", small.Info)
			}
			for i := range 6 {
				var want Device
				for c := range 3 {
					sum, weight := 0.0, 0.0
					for v := i / 3 * k; v < (i/3+1)*k; v++ {
						for u := i % 3 * k; u < (i%3+1)*k; u++ {
							sum += float64(a.AlphaAt(v*w+u)) * float64(a.Device(v*w + u)[c])
							weight += float64(a.AlphaAt(v*w + u))
						}
					}
					if weight > 0 {
						want[c] = uint8(sum/weight + 0.5)
					}
				}
				if got := small.Device(i); got != want {
					t.Errorf("%d bits, alpha %v: pixel %d is %v, want %v", depth, alpha, i, got, want)
				}
			}
		}
	}
}

func ExampleNewDraft() {
	d := NewDraft(Info{File: "dot.png", Width: 3, Height: 3, Space: icc.RGB, HasAlpha: true})
	d.Set(4, Device{200, 30, 90}, 255)
	art := d.Art()
	fmt.Println(art.Device(4), art.AlphaAt(4), art.AlphaAt(0))
	fmt.Printf("%.2f\n", art.Fractions(4)[0])
	// Output:
	// [200 30 90 0] 255 0
	// 0.78
}

func ExampleDevice_Fractions() {
	x := Device{255, 51}.Fractions()
	fmt.Println(x, math.Round(x[1]*255))
	// Output: [1 0.2 0 0] 51
}
