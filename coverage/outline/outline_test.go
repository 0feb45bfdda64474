package outline

import (
	"image"
	"image/draw"
	"math"
	"testing"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// shape draws what is inside with n × n samples a pixel, and hard edges for n = 1.
func shape(w, h, n int, inside func(x, y float64) bool) []uint8 {
	out := make([]uint8, w*h)
	for i := range out {
		hit := 0
		for k := range n * n {
			if inside(float64(i%w)+(float64(k%n)+0.5)/float64(n), float64(i/w)+(float64(k/n)+0.5)/float64(n)) {
				hit++
			}
		}
		out[i] = uint8(math.Round(float64(hit) / float64(n*n) * 255))
	}
	return out
}

// TestLength holds lengths to those of plain geometry.
func TestLength(t *testing.T) {
	circle := func(r float64) func(x, y float64) bool {
		return func(x, y float64) bool { return math.Hypot(x-150.3, y-149.6) < r }
	}
	ring := func(x, y float64) bool { return circle(120)(x, y) && !circle(60)(x, y) }
	box := func(degrees float64) func(x, y float64) bool {
		s, c := math.Sincos(degrees * math.Pi / 180)
		return func(x, y float64) bool {
			x, y = x-150, y-150
			return math.Abs(c*x+s*y) < 90 && math.Abs(c*y-s*x) < 50
		}
	}
	all := func(x, y float64) bool { return true }
	for name, c := range map[string]struct {
		plane []uint8
		want  float64
		part  float64 // that it may be off
	}{
		"circle":                 {shape(300, 300, 8, circle(120)), 2 * math.Pi * 120, 0.003},
		"circle, small":          {shape(300, 300, 8, circle(12)), 2 * math.Pi * 12, 0.015},
		"circle, hard":           {shape(300, 300, 1, circle(120)), 2 * math.Pi * 120, 0.015},
		"ring":                   {shape(300, 300, 8, ring), 2 * math.Pi * 180, 0.003},
		"rectangle":              {shape(300, 300, 1, box(0)), 560, 0.01},
		"rectangle at 17°":       {shape(300, 300, 8, box(17)), 560, 0.01},
		"rectangle at 17°, hard": {shape(300, 300, 1, box(17)), 560, 0.02},
		"rectangle at 45°":       {shape(300, 300, 8, box(45)), 560, 0.01},
		"the whole picture":      {shape(300, 300, 1, all), 1200, 0.01},
		"nothing":                {make([]uint8, 300*300), 0, 0},
	} {
		got, err := Length(c.plane, 300, 300)
		if err != nil || math.Abs(got-c.want) > c.part*c.want {
			t.Errorf("%s: %.2f pixels, want %.2f, %v", name, got, c.want, err)
		}
		t.Logf("%s: %+.2f %%", name, 100*(got/c.want-1))
	}
	if _, err := Length(make([]uint8, 10), 3, 3); err == nil {
		t.Error("10 values passed for 3 × 3")
	}
}

// TestLineOfOnePixel keeps what is one pixel wide: both its sides are cut.
func TestLineOfOnePixel(t *testing.T) {
	got, err := Length(shape(120, 20, 1, func(x, y float64) bool { return x > 10 && x < 110 && y > 9 && y < 10 }), 120, 20)
	if err != nil || math.Abs(got-200) > 6 {
		t.Errorf("%.1f pixels, want about 200, %v", got, err)
	}
}

// TestLengthOfLetters holds lengths to those of published outlines: letters of Go Bold
// (golang.org/x/image/font/gofont, Bigelow & Holmes 2016), whose lines and curves are
// measured from the font's own points, and which are drawn by golang.org/x/image/vector.
// O and 8 have holes; no outline of these crosses itself.
func TestLengthOfLetters(t *testing.T) {
	f, err := sfnt.Parse(gobold.TTF)
	if err != nil {
		t.Fatal(err)
	}
	const size = 400
	var b sfnt.Buffer
	for _, letter := range "HSO8nIagQ&" {
		g, err := f.GlyphIndex(&b, letter)
		if err != nil {
			t.Fatal(err)
		}
		segments, err := f.LoadGlyph(&b, g, fixed.I(size), nil)
		if err != nil {
			t.Fatal(err)
		}
		r := vector.NewRasterizer(500, 600)
		want := 0.0
		var x, y, startX, startY float32
		at := func(p fixed.Point26_6) (float32, float32) { return float32(p.X)/64 + 20, float32(p.Y)/64 + 450 }
		line := func(tx, ty float32) {
			want += math.Hypot(float64(tx-x), float64(ty-y))
			x, y = tx, ty
		}
		for _, s := range segments {
			px, py := at(s.Args[0])
			switch s.Op {
			case sfnt.SegmentOpMoveTo:
				line(startX, startY) // closed already
				r.MoveTo(px, py)
				x, y, startX, startY = px, py, px, py
			case sfnt.SegmentOpLineTo:
				r.LineTo(px, py)
				line(px, py)
			case sfnt.SegmentOpQuadTo:
				qx, qy := at(s.Args[1])
				r.QuadTo(px, py, qx, qy)
				fromX, fromY := x, y
				for i := 1; i <= 64; i++ {
					u := float32(i) / 64
					v := 1 - u
					line(v*v*fromX+2*u*v*px+u*u*qx, v*v*fromY+2*u*v*py+u*u*qy)
				}
			default:
				t.Fatalf("%c has a curve of degree 3", letter)
			}
		}
		dst := image.NewAlpha(image.Rect(0, 0, 500, 600))
		r.DrawOp = draw.Src
		r.Draw(dst, dst.Rect, image.Opaque, image.Point{})
		got, err := Length(dst.Pix, 500, 600)
		if err != nil || math.Abs(got-want) > 0.01*want {
			t.Errorf("%c: %.1f pixels, want %.1f, %v", letter, got, want, err)
		}
		t.Logf("%c: %.1f pixels, %+.2f %%", letter, want, 100*(got/want-1))
	}
}

func BenchmarkLength(b *testing.B) {
	const w, h = 4000, 2500
	plane := shape(w, h, 1, func(x, y float64) bool { return math.Hypot(math.Mod(x, 200)-100, math.Mod(y, 200)-100) < 80 })
	b.SetBytes(w * h) // so that MB/s reads as Mpx/s
	for b.Loop() {
		if _, err := Length(plane, w, h); err != nil {
			b.Fatal(err)
		}
	}
}
