package icc

import (
	"math/rand/v2"
	"testing"

	"laydown/colour/cores"
	"laydown/colour/grid"
	"laydown/colour/reference"
)

// TestCompiledAgainstExact holds 8-bit pixels through the compiled table to the
// exact evaluation: a profile's own table has kinks between its grid points
// that no second grid can follow wholly, so a few in a hundred colours are a
// step off and none far. package plate's tests compare with what LittleCMS's
// own compiled table makes of it.
func TestCompiledAgainstExact(t *testing.T) {
	pixels := reference.Samples(t, 100000)
	for _, c := range []pair{{"srgb", "cmyk"}, {"adobe-rgb", "cmyk"}, {"prophoto", "cmyk"}, {"grey", "cmyk"}, {"cmyk", "cmyk"}, {"cmyk", "srgb"}} {
		src, dst := load(t, reference.Profile(t, c.src)), load(t, reference.Profile(t, c.dst))
		for _, intent := range []Intent{Perceptual, Relative, Absolute} {
			tr, err := NewTransform(src, dst, intent, intent != Absolute)
			if err != nil {
				t.Fatal(err)
			}
			table := grid.Compile(src.Space.Channels(), GridPoints(src.Space), tr.Eval)
			n := src.Space.Channels()
			px := randomPixels(pixels, n)
			planes := newPlanes(pixels)
			table.Row8(planes, px, n)
			over, worst, sum, total := 0, 0.0, 0.0, 0
			var in, out [4]float64
			for i := range pixels {
				for k := range n {
					in[k] = float64(px[i*n+k]) / 255
				}
				tr.Eval(out[:], in[:n])
				for k := range dst.Space.Channels() {
					d := float64(planes[k][i]) - out[k]*255
					if d < 0 {
						d = -d
					}
					total++
					sum += d
					if d > 1.5 { // a whole step besides the rounding to 8 bits
						over++
					}
					worst = max(worst, d)
				}
			}
			t.Logf("%s-%s %s: mean %.3f/255, worst %.2f/255, beyond 1: %.4f %%", c.src, c.dst, intent,
				sum/float64(total), worst, 100*float64(over)/float64(total))
			if over*100 > 3*total || sum > 0.5*float64(total) || worst > 20 {
				t.Errorf("%s-%s %s: the table strays from exact evaluation", c.src, c.dst, intent)
			}
		}
	}
}

func randomPixels(n, channels int) []uint8 {
	r := rand.New(rand.NewPCG(3, 4))
	px := make([]uint8, n*channels)
	for i := range px {
		px[i] = uint8(r.Uint32())
	}
	return px
}

func newPlanes(n int) (p grid.Planes) {
	for i := range p {
		p[i] = make([]uint8, n)
	}
	return p
}

// BenchmarkRGB8ToCMYK8 converts random pixels, as testdata/lcms-speed has
// LittleCMS do, on as many cores as -cpu says.
func BenchmarkRGB8ToCMYK8(b *testing.B) {
	src, dst := load(b, reference.Profile(b, "srgb")), load(b, reference.Profile(b, "cmyk"))
	tr, err := NewTransform(src, dst, Relative, true)
	if err != nil {
		b.Fatal(err)
	}
	table := grid.Compile(3, GridPoints(RGB), tr.Eval)
	const n = 1 << 20
	px, planes := randomPixels(n, 3), newPlanes(n)
	b.ResetTimer()
	for b.Loop() {
		cores.Share(n, func(lo, hi int) {
			var part grid.Planes
			for k := range part {
				part[k] = planes[k][lo:hi]
			}
			table.Row8(part, px[3*lo:3*hi], 3)
		})
	}
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mpx/s")
}

func BenchmarkCompile(b *testing.B) {
	src, dst := load(b, reference.Profile(b, "srgb")), load(b, reference.Profile(b, "cmyk"))
	tr, err := NewTransform(src, dst, Relative, true)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		grid.Compile(3, GridPoints(RGB), tr.Eval)
	}
}
