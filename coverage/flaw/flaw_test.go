package flaw

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"laydown/colour/icc"
	"laydown/colour/reference"
	"laydown/coverage/artwork"
	"laydown/coverage/plate"
)

// canvas is a drawing of alpha with exact-enough antialiasing, turned into a
// subject at a resolution.
type canvas struct {
	w, h int
	dpi  float64
	a    []float64
}

func newCanvas(wMM, hMM, dpi float64) *canvas {
	c := &canvas{w: int(math.Round(wMM / 25.4 * dpi)), h: int(math.Round(hMM / 25.4 * dpi)), dpi: dpi}
	c.a = make([]float64, c.w*c.h)
	return c
}

func (c *canvas) px(mm float64) float64 { return mm / 25.4 * c.dpi }

// fill adds a shape given in millimetres, 8 × 8 samples a pixel.
func (c *canvas) fill(in func(x, y float64) bool) {
	mm := 25.4 / c.dpi
	for y := range c.h {
		for x := range c.w {
			n := 0
			for j := range 8 {
				for i := range 8 {
					if in((float64(x)+(float64(i)+0.5)/8)*mm, (float64(y)+(float64(j)+0.5)/8)*mm) {
						n++
					}
				}
			}
			c.a[y*c.w+x] = math.Max(c.a[y*c.w+x], float64(n)/64)
		}
	}
}

// line draws a stroke of a width between two points with flat ends.
func line(x0, y0, x1, y1, width float64) func(x, y float64) bool {
	l := math.Hypot(x1-x0, y1-y0)
	dx, dy := (x1-x0)/l, (y1-y0)/l
	return func(x, y float64) bool {
		u, v := (x-x0)*dx+(y-y0)*dy, (y-y0)*dx-(x-x0)*dy
		return u >= 0 && u <= l && math.Abs(v) <= width/2
	}
}

var usual = Limits{SmallestLineMM: 0.35, FadeWidthMM: 0.25, GoodPPI: 300, LeastPPI: 150, TACPercent: 240}

// subject makes black art of the canvas.
func (c *canvas) subject(white plate.Rule) Subject {
	art := artwork.NewDraft(artwork.Info{File: "t.png", Width: c.w, Height: c.h, Space: icc.RGB, Depth: 8, HasAlpha: true, StatesSRGB: true})
	p := &plate.Plates{Width: c.w, Height: c.h}
	for k := range p.Plane {
		p.Plane[k] = make([]uint8, c.w*c.h)
	}
	for i, a := range c.a {
		art.Set(i, artwork.Device{}, uint8(math.Round(a*255)))
		p.Plane[plate.Black][i] = uint8(math.Round(a * 255))
	}
	return Subject{Art: art.Art(), Plates: p, PixelMM: 25.4 / c.dpi, White: white, Limits: usual}
}

// opaque turns the art into the same picture on a white ground.
func (s Subject) opaque() Subject {
	info := s.Art.Info
	info.HasAlpha = false
	on := artwork.NewDraft(info)
	for i := range info.Width * info.Height {
		v := 255 - s.Art.AlphaAt(i)
		on.Set(i, artwork.Device{v, v, v}, 255)
	}
	s.Art = on.Art()
	return s
}

func kinds(t testing.TB, s Subject) map[Kind]Finding {
	t.Helper()
	found, err := Find(s)
	if err != nil {
		t.Fatal(err)
	}
	m := map[Kind]Finding{}
	for _, f := range found {
		m[f.Kind] = f
	}
	return m
}

// TestLineWidths draws strokes of known width at every angle and resolution
// and holds the measured width to 0.03 mm or a tenth of a pixel, whichever is
// larger.
func TestLineWidths(t *testing.T) {
	worst, checked := 0.0, 0
	resolutions := reference.Sweep(t, []float64{150, 200, 300, 450, 600}, func(dpi float64) bool { return dpi != 200 && dpi != 450 })
	angles := reference.Sweep(t, []float64{0, 7, 15, 22.5, 33, 45, 61, 76, 90, 120, 171}, func(deg float64) bool { return deg == 0 || deg == 22.5 || deg == 61 })
	for _, dpi := range resolutions {
		for _, width := range []float64{0.10, 0.18, 0.25, 0.30, 0.5, 0.8, 1.2, 2} {
			for _, degrees := range angles {
				c := newCanvas(16, 16, dpi)
				sin, cos := math.Sincos(degrees * math.Pi / 180)
				// A middle that sits nowhere special on the pixel grid.
				c.fill(line(8.013-6*cos, 8.027-6*sin, 8.013+6*cos, 8.027+6*sin, width))
				s := c.subject(plate.NoWhite)
				s.Limits.SmallestLineMM = 2.5
				f, ok := kinds(t, s)[FineLine]
				if !ok {
					t.Errorf("%g dpi, %g mm, %g°: not found", dpi, width, degrees)
					continue
				}
				allowed := math.Max(0.03, 0.1*25.4/dpi)
				if e := math.Abs(f.Measured - width); e > allowed {
					t.Errorf("%g dpi, %g mm, %g°: measured %.3f mm, off by %.3f, allowed %.3f", dpi, width, degrees, f.Measured, e, allowed)
				}
				worst = math.Max(worst, math.Abs(f.Measured-width))
				checked++
			}
		}
	}
	t.Logf("%d strokes, worst error %.4f mm", checked, worst)
}

// TestLineVerdict draws lines on both sides of the limit.
func TestLineVerdict(t *testing.T) {
	angles := reference.Sweep(t, []float64{0, 30, 45, 90}, func(deg float64) bool { return deg == 30 || deg == 90 })
	for _, dpi := range reference.Sweep(t, []float64{150, 300, 600}, func(dpi float64) bool { return dpi < 600 }) {
		for _, c := range []struct {
			width float64
			want  Severity
		}{{0.1, Stop}, {0.2, Stop}, {0.3, Look}, {0.40, ""}, {0.6, ""}, {3, ""}} {
			for _, degrees := range angles {
				for _, opaque := range []bool{false, true} {
					v := newCanvas(14, 14, dpi)
					sin, cos := math.Sincos(degrees * math.Pi / 180)
					v.fill(line(7-5*cos, 7-5*sin, 7+5*cos, 7+5*sin, c.width))
					s := v.subject(plate.Under)
					if opaque {
						s = s.opaque()
					}
					if got := kinds(t, s)[FineLine].Severity; opaque && dpi == 150 && c.width == 0.2 && got == Look {
						continue // 1.2 pixels that nowhere show their whole colour may be a lighter line
					} else if got != c.want {
						t.Errorf("%g dpi, %g mm, %g°, opaque %v: %q, want %q", dpi, c.width, degrees, opaque, got, c.want)
					}
				}
			}
		}
	}
}

// TestThickShapesAreNoLines draws shapes whose corners, tips and edges are
// thinner than any limit, without being lines.
func TestThickShapesAreNoLines(t *testing.T) {
	resolutions := reference.Sweep(t, []float64{150, 300, 600}, func(dpi float64) bool { return dpi < 600 })
	star := func(cx, cy, r float64) func(x, y float64) bool {
		return func(x, y float64) bool {
			a := math.Mod(math.Atan2(y-cy, x-cx)+2*math.Pi, 2*math.Pi/5) - math.Pi/5
			return math.Hypot(x-cx, y-cy) < r*math.Cos(math.Pi/5)/math.Cos(math.Abs(a))*(0.45+0.55*math.Abs(a)/(math.Pi/5))
		}
	}
	for name, in := range map[string]func(x, y float64) bool{
		"square":   func(x, y float64) bool { return x > 4 && x < 16 && y > 4 && y < 16 },
		"turned":   func(x, y float64) bool { return math.Abs(x-10)+math.Abs(y-10) < 7 },
		"disc":     func(x, y float64) bool { return math.Hypot(x-10, y-10) < 6 },
		"triangle": func(x, y float64) bool { return y > 4 && y < 16 && math.Abs(x-10) < (y-4)*0.4 },
		"star":     star(10, 10, 8),
		"ring":     func(x, y float64) bool { d := math.Hypot(x-10, y-10); return d < 7 && d > 6 },
	} {
		for _, dpi := range resolutions {
			c := newCanvas(20, 20, dpi)
			c.fill(in)
			if f, bad := kinds(t, c.subject(plate.Under))[FineLine]; bad {
				t.Errorf("%s at %g dpi: %.3f mm at %v", name, dpi, f.Measured, f.Boxes)
			}
		}
	}
}

func TestLineBoxes(t *testing.T) {
	c := newCanvas(60, 40, 300)
	c.fill(line(5, 10, 25, 10, 0.15))
	c.fill(line(35, 30, 55, 30, 0.25))
	c.fill(func(x, y float64) bool { return x > 40 && x < 50 && y > 5 && y < 15 })
	f := kinds(t, c.subject(plate.NoWhite))[FineLine]
	if f.Places != 2 || len(f.Boxes) != 2 {
		t.Fatalf("%d places %v, want 2", f.Places, f.Boxes)
	}
	for i, want := range []Box{{5, 10, 20, 0.1}, {35, 30, 20, 0.1}} { // the thinner one first
		b := f.Boxes[i]
		if math.Abs(b.XMM-want.XMM) > 0.6 || math.Abs(b.YMM-want.YMM) > 0.3 || math.Abs(b.WidthMM-want.WidthMM) > 1 || b.HeightMM > 0.5 {
			t.Errorf("box %d is %+v, want about %+v", i, b, want)
		}
	}
}

func TestFadeOut(t *testing.T) {
	glow := func(c *canvas, from, width float64) { // alpha falls over a band
		for y := range c.h {
			for x := range c.w {
				mm := float64(x) / c.px(1)
				c.a[y*c.w+x] = math.Max(0, math.Min(1, 1-(mm-from)/width))
			}
		}
	}
	for _, dpi := range []float64{150, 300, 600} {
		c := newCanvas(30, 20, dpi)
		glow(c, 10, 8)
		f, ok := kinds(t, c.subject(plate.Under))[FadeOut]
		if !ok || f.Severity != Stop || len(f.Boxes) != 1 {
			t.Fatalf("%g dpi: %+v", dpi, f)
		}
		if want := 8.0 / 30 * 100 * 240 / 255; math.Abs(f.Measured-want) > 1 {
			t.Errorf("%g dpi: %.2f %% of the print, drawn on %.2f", dpi, f.Measured, want)
		}
		if b := f.Boxes[0]; b.XMM < 9.8 || b.XMM > 10.8 || math.Abs(b.XMM+b.WidthMM-18) > 0.8 {
			t.Errorf("%g dpi: box %+v, drawn from 10 to 18 mm", dpi, b)
		}
		if f := kinds(t, c.subject(plate.NoWhite))[FadeOut]; f.Severity != Look {
			t.Errorf("%g dpi without white: %q", dpi, f.Severity)
		}
		solid := c.subject(plate.Under)
		solid.HardWhite = true
		if f := kinds(t, solid)[FadeOut]; f.Severity != Look || !strings.Contains(f.Advice, "hard edge inside") {
			t.Errorf("%g dpi, white by threshold: %+v", dpi, f)
		}
		hard := newCanvas(30, 20, dpi) // antialiased edges at every angle are no fade
		hard.fill(func(x, y float64) bool { return math.Hypot(x-10, y-10) < 7 || (x > 20 && x+0.3*y < 28) })
		if f, bad := kinds(t, hard.subject(plate.Under))[FadeOut]; bad {
			t.Errorf("%g dpi: an antialiased edge is called a fade: %+v", dpi, f)
		}
	}
}

func TestLowResolution(t *testing.T) {
	for dpi, want := range map[float64]Severity{72: Stop, 149: Stop, 150: Look, 297: Look, 299.99: "", 300: "", 600: ""} {
		c := &canvas{w: 40, h: 40, dpi: dpi, a: make([]float64, 1600)}
		f := kinds(t, c.subject(plate.NoWhite))[LowResolution]
		if f.Severity != want {
			t.Errorf("%g px/in: %q, want %q", dpi, f.Severity, want)
		}
		if want != "" && math.Abs(f.Measured-dpi) > 0.01 {
			t.Errorf("%g px/in measured as %g", dpi, f.Measured)
		}
	}
}

func TestOverLimit(t *testing.T) {
	c := newCanvas(40, 40, 300)
	s := c.subject(plate.NoWhite)
	if f, bad := kinds(t, s)[OverLimit]; bad {
		t.Errorf("bare art: %+v", f)
	}
	s = c.subject(plate.NoWhite) // plates are measured once
	for y := 100; y < 130; y++ { // 30 × 30 pixels of 300 %
		for x := 200; x < 230; x++ {
			for _, k := range []int{plate.Cyan, plate.Magenta, plate.Yellow} {
				s.Plates.Plane[k][y*c.w+x] = 255
			}
		}
	}
	f := kinds(t, s)[OverLimit]
	mm := 25.4 / 300
	want := Box{round(200*mm, 100), round(100*mm, 100), round(30*mm, 100), round(30*mm, 100)}
	if f.Severity != Look || f.Measured != 300 || f.Limit != 240 || len(f.Boxes) != 1 || f.Boxes[0] != want {
		t.Errorf("%+v, want one box %+v", f, want)
	}
}

func TestNoProfile(t *testing.T) {
	s := newCanvas(10, 10, 300).subject(plate.NoWhite)
	if _, bad := kinds(t, s)[NoProfile]; bad {
		t.Error("art that states sRGB has a finding")
	}
	s.Art.StatesSRGB = false
	if f := kinds(t, s)[NoProfile]; f.Severity != Note || !strings.Contains(f.Advice, "sRGB") {
		t.Errorf("%+v", f)
	}
	info := s.Art.Info
	info.Space = icc.CMYK
	s.Art = artwork.NewDraft(info).Art()
	if f := kinds(t, s)[NoProfile]; !strings.Contains(f.Advice, "kept") {
		t.Errorf("%+v", f)
	}
}

func TestWorstFirst(t *testing.T) {
	c := newCanvas(20, 20, 200)
	c.fill(line(5, 5, 15, 5, 0.1))
	s := c.subject(plate.NoWhite)
	s.Art.StatesSRGB = false
	found, err := Find(s)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, f := range found {
		got = append(got, string(f.Severity))
	}
	if fmt.Sprint(got) != "[stop look note]" || !Any(found, Stop) || Any(found[1:], Stop) {
		t.Errorf("severities %v", got)
	}
}

func BenchmarkFind(b *testing.B) {
	c := newCanvas(100, 100, 600)
	for i := range 20 {
		c.fill(line(5, 3+4.5*float64(i), 95, 5+4.5*float64(i), 0.1+0.05*float64(i)))
	}
	s := c.subject(plate.Under)
	for b.Loop() {
		if _, err := Find(s); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(c.w*c.h)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mpx/s")
}
