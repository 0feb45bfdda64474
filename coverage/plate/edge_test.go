package plate

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/press/presstest"
	"laydown/coverage/distance"
)

// moved is a picture after a mover, by rows.
func moved(g greys, radius float64) []uint8 {
	out := make([]uint8, g.w*g.h)
	for y := range g.h {
		g.row(out[y*g.w:(y+1)*g.w], 0, y)
	}
	if g.negative { // f is told plain values
		for i, v := range out {
			out[i] = ^v
		}
	}
	var one sync.Mutex
	newMover(radius).move(g, func(x, y int, was, now []uint8) {
		one.Lock()
		defer one.Unlock()
		at := out[y*g.w+x:][:len(now)]
		if !slices.Equal(at, was) {
			panic(fmt.Sprintf("at %d,%d was %v, not %v", x, y, at, was))
		}
		copy(at, now)
	})
	return out
}

// defined is the same by the definition: at each pixel all others within reach, from
// the nearest on.
func defined(g greys, radius float64) []uint8 {
	at := func(x, y int) int {
		v := make([]uint8, 1)
		g.row(v, x, y)
		return int(v[0])
	}
	type place struct {
		x, y int
		d    float64
	}
	var near []place
	n := int(radius) + 2
	for y := -n; y <= n; y++ {
		for x := -n; x <= n; x++ {
			if d := math.Hypot(float64(x), float64(y)); d < radius+1 {
				near = append(near, place{x, y, math.Max(d, radius)})
			}
		}
	}
	slices.SortFunc(near, func(a, b place) int {
		switch {
		case a.d < b.d:
			return -1
		case a.d > b.d:
			return 1
		}
		return 0
	})
	out := make([]uint8, g.w*g.h)
	for y := range g.h {
		for x := range g.w {
			sum, least := 0.0, 255
			for i, p := range near {
				least = min(least, at(x+p.x, y+p.y))
				next := radius + 1
				if i+1 < len(near) {
					next = near[i+1].d
				}
				sum += float64(least) * (next - p.d)
			}
			v := uint8(math.Round(sum))
			if g.negative {
				v = ^v
			}
			out[y*g.w+x] = v
		}
	}
	return out
}

// TestMoverAgainstDefinition moves random pictures, some strided, some with a
// threshold, some negative.
func TestMoverAgainstDefinition(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	for round := range 60 {
		g := greys{w: 1 + r.IntN(90), h: 1 + r.IntN(40), step: 1 + r.IntN(4), negative: r.IntN(2) == 0}
		g.stride = g.w*g.step + r.IntN(3)
		if r.IntN(3) == 0 {
			g.from = uint8(1 + r.IntN(255))
		}
		g.pix = make([]uint8, g.stride*g.h)
		level := uint8(r.Uint32())
		for i := range g.pix {
			switch r.IntN(1 + round) {
			case 0:
				g.pix[i] = uint8(r.Uint32())
			default:
				g.pix[i] = level
			}
		}
		radius := r.Float64() * []float64{1, 4, 10}[round%3]
		got, want := moved(g, radius), defined(g, radius)
		for i := range got {
			if d := int(got[i]) - int(want[i]); d > 1 || d < -1 {
				t.Fatalf("round %d, %d×%d, radius %.3f, negative %v: pixel %d,%d is %d, by definition %d",
					round, g.w, g.h, radius, g.negative, i%g.w, i/g.w, got[i], want[i])
			}
		}
	}
}

// TestMoverAgainstDistances moves pictures of 0 and 255, of which the answer follows
// from the exact distance to the nearest pixel outside, up to the longest reach.
func TestMoverAgainstDistances(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	for _, radius := range []float64{0.3, 1, 1.77, 2.5, 7.1, 24, 61.3, 200, 253} {
		w, h := 300, 150
		pix := bytes.Repeat([]byte{255}, w*h)
		for range 1 + int(2000/radius/radius) {
			pix[r.IntN(w*h)] = 0
		}
		for _, negative := range []bool{false, true} {
			g := greys{pix: pix, w: w, h: h, step: 1, stride: w, negative: negative}
			if negative { // spreads the dots by as much
				g.pix = make([]uint8, w*h)
				for i, v := range pix {
					g.pix[i] = ^v
				}
			}
			q, err := distance.Squared(distance.Mask{Pix: g.pix, Width: w, Height: h, Threshold: 128, Below: negative, EdgeIsOutside: !negative}, min(distance.MaxReach, int(radius)+3))
			if err != nil {
				t.Fatal(err)
			}
			for i, v := range moved(g, radius) {
				want := 255 * math.Max(0, math.Min(1, math.Sqrt(float64(q[i]))-radius))
				if negative {
					want = 255 - want
				}
				if math.Abs(float64(v)-want) > 1 {
					t.Fatalf("radius %g, negative %v: pixel %d,%d is %d, distances say %.1f", radius, negative, i%w, i/w, v, want)
				}
			}
		}
	}
}

// drawn is red art whose alpha, 0–1, is the mean of in over each pixel.
func drawn(w, h int, in func(x, y float64) float64) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	const n = 8
	for y := range h {
		for x := range w {
			sum := 0.0
			for j := range n {
				for i := range n {
					sum += in(float64(x)+(float64(i)+0.5)/n, float64(y)+(float64(j)+0.5)/n)
				}
			}
			img.SetNRGBA(x, y, color.NRGBA{200, 30, 40, uint8(math.Round(255 * sum / (n * n)))})
		}
	}
	return img
}

// under is white of art by the rule under, choked by pixels.
func under(t *testing.T, img image.Image, chokePX float64) *Plates {
	t.Helper()
	p, err := filled(art(img), presstest.Separate(t, icc.SRGB()), WhiteOptions{Rule: Under, DensityPercent: 100, PixelMM: 0.1, ChokeMM: chokePX / 10})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func clamp(v float64) float64 { return math.Max(0, math.Min(1, v)) }

// TestFlatTints holds white of flat tints with a hard edge to its closed form: their
// alpha, in a rectangle that is smaller by the choke all round, or larger.
func TestFlatTints(t *testing.T) {
	const w, h, x0, x1, y0, y1 = 90, 70, 20.0, 70.5, 15.0, 50.25
	for _, percent := range []float64{5, 20, 39, 50, 80, 100} {
		code := math.Round(percent * 2.55)
		img := drawn(w, h, func(x, y float64) float64 {
			if x >= x0 && x < x1 && y >= y0 && y < y1 {
				return code / 255
			}
			return 0
		})
		for _, choke := range []float64{0, 1, 1.5, 1.77, 3, 7.3, -1, -2.5} {
			p := under(t, img, choke)
			// Along the middle row, each pixel: alpha where the moved rectangle is, and at its edges in
			// proportion, where an edge may take up one more pixel than it must.
			for x := range w {
				c := float64(x) + 0.5
				in := clamp(math.Min(c-(x0+choke), x1-choke-c) + 0.5)
				got := float64(p.Plane[White][32*w+x])
				if soft := math.Min(math.Abs(c-(x0+choke)), math.Abs(c-(x1-choke))) < 1.5; !soft && got != code*in {
					t.Errorf("tint of %g %%, choke %g px: white at column %d is %g, want %g", percent, choke, x, got, code*in)
				}
			}
			row := 0.0
			for _, v := range p.Plane[White][32*w : 33*w] {
				row += float64(v)
			}
			if want := code * (x1 - x0 - 2*choke); math.Abs(row-want) > 2+code*0.01 {
				t.Errorf("tint of %g %%, choke %g px: white of a row is %.1f codes, want %.1f", percent, choke, row, want)
			}
			area := (x1 - x0 - 2*choke) * (y1 - y0 - 2*choke)
			if choke < 0 { // round corners
				area -= (4 - math.Pi) * choke * choke
			}
			// A corner may keep three quarters of a pixel, and half a code is lost or won all along the edge.
			if got := float64(p.Sum(White)); math.Abs(got/code-area) > 3+0.5/code*2*(x1-x0+y1-y0) {
				t.Errorf("tint of %g %%, choke %g px: white of %.1f pixels, want %.1f", percent, choke, got/code, area)
			}
		}
	}
}

// TestFadesMove holds white of fades to theirs, moved: alpha(x + c) of a linear one,
// alpha(r + c) of a round one, with no rim at the end.
func TestFadesMove(t *testing.T) {
	const w, h = 400, 60
	line := func(x float64) float64 { return clamp((350 - x) / 300) }
	img := drawn(w, h, func(x, _ float64) float64 { return line(x) })
	glow := drawn(300, 300, func(x, y float64) float64 { return clamp((140 - math.Hypot(x-150, y-150)) / 120) })
	for _, choke := range []float64{0, 1, 1.77, 3, 6, 12.5, -1, -4.4} {
		p, worst := under(t, img, choke), 0.0
		for x := range w {
			if x < int(choke)+2 || x > w-10 { // the picture's own edge
				continue
			}
			want := 255 * line(float64(x)+0.5+choke)
			got := float64(p.Plane[White][30*w+x])
			worst = math.Max(worst, math.Abs(got-want))
			if next := float64(p.Plane[White][30*w+x+1]); math.Abs(got-next) > 2 {
				t.Errorf("choke %g px: white of a linear fade steps from %g to %g at column %d", choke, got, next, x)
			}
		}
		if worst > 1.01 {
			t.Errorf("choke %g px: white of a linear fade is %.2f codes off", choke, worst)
		}
		p, worstRound := under(t, glow, choke), 0.0
		for y := range 300 {
			for x := range 300 {
				want := 255 * clamp((140-choke-math.Hypot(float64(x)+0.5-150, float64(y)+0.5-150))/120)
				worstRound = math.Max(worstRound, math.Abs(float64(p.Plane[White][y*300+x])-want))
			}
		}
		if worstRound > 2 {
			t.Errorf("choke %g px: white of a round fade is %.2f codes off", choke, worstRound)
		}
		t.Logf("choke %g px: worst %.2f codes in a linear fade, %.2f in a round one", choke, worst, worstRound)
	}
}

// TestSoftRim moves a disc with a rim that is soft over 10 pixels: its white is that of
// a disc with the same rim and a smaller radius.
func TestSoftRim(t *testing.T) {
	const size, r, rim = 200, 70.0, 10.0
	at := func(d, choke float64) float64 { return clamp((r-choke-d)/rim + 0.5) }
	img := drawn(size, size, func(x, y float64) float64 { return at(math.Hypot(x-100, y-100), 0) })
	for _, choke := range []float64{0, 1, 1.77, 4, 12, -3} {
		p := under(t, img, choke)
		sum, worst := 0.0, 0.0
		for y := range size {
			for x := range size {
				want := 255 * at(math.Hypot(float64(x)+0.5-100, float64(y)+0.5-100), choke)
				sum += want
				worst = math.Max(worst, math.Abs(float64(p.Plane[White][y*size+x])-want))
			}
		}
		// Two fifths of a pixel of the rim, and a quarter of one all round.
		if worst > 255/rim*0.4 {
			t.Errorf("choke %g px: white of the rim is %.1f codes off", choke, worst)
		}
		if got := float64(p.Sum(White)); math.Abs(got-sum)/255 > 0.25*2*math.Pi*r {
			t.Errorf("choke %g px: white of %.0f pixels, want %.0f", choke, got/255, sum/255)
		}
		t.Logf("choke %g px: worst %.1f codes; area off by %.2f px all round", choke, worst, (float64(p.Sum(White))-sum)/255/(2*math.Pi*r))
	}
}

// TestInnerEdges draws a tint that runs into a solid, and one with a hole: the step
// moves into the solid, the hole grows, and each part keeps its own white.
func TestInnerEdges(t *testing.T) {
	const w, h, tint = 120, 40, 100
	step, hole := image.NewNRGBA(image.Rect(0, 0, w, h)), image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.NRGBA{200, 30, 40, tint}
			hole.SetNRGBA(x, y, c)
			if x >= 50 && x < 60 && y >= 15 && y < 25 {
				hole.SetNRGBA(x, y, color.NRGBA{})
			}
			if x >= 60 {
				c.A = 255
			}
			step.SetNRGBA(x, y, c)
		}
	}
	for _, choke := range []float64{1, 2.5, 4, -3} {
		p := under(t, step, choke)
		for x := 10; x < w-10; x++ {
			in := clamp(float64(x) + 1 - (60 + choke))
			if want, got := tint+(255-tint)*in, float64(p.Plane[White][20*w+x]); math.Abs(got-want) > 1 {
				t.Errorf("choke %g px: white beside a step at column %d is %g, want %.1f", choke, x, got, want)
			}
		}
		p = under(t, hole, choke)
		for x := 10; x < w-10; x++ {
			in := clamp(math.Max(float64(x)+1-(60+choke), 50-choke-float64(x)))
			if want, got := tint*in, float64(p.Plane[White][20*w+x]); math.Abs(got-want) > 1 {
				t.Errorf("choke %g px: white beside a hole at column %d is %g, want %.1f", choke, x, got, want)
			}
		}
	}
}

// TestRegister shifts choked white about, as plates lie off register: by no more than
// the choke it nowhere is more than the art has alpha, nor spread white less.
func TestRegister(t *testing.T) {
	img := drawn(160, 120, func(x, y float64) float64 {
		return math.Max(clamp((60-math.Hypot(x-60, y-60))/25), 0.4*clamp(20*math.Sin(x/9)*math.Cos(y/7)))
	})
	const choke = 3
	in, out := under(t, img, choke), under(t, img, -choke)
	for dy := -choke; dy <= choke; dy++ {
		for dx := -choke; dx <= choke; dx++ {
			if dx*dx+dy*dy > choke*choke {
				continue
			}
			for y := choke; y < 120-choke; y++ {
				for x := choke; x < 160-choke; x++ {
					a, at := img.NRGBAAt(x, y).A, (y+dy)*160+x+dx
					if in.Plane[White][at] > a || out.Plane[White][at] < a {
						t.Fatalf("shifted by %d,%d, white at %d,%d is %d choked and %d spread over alpha %d", dx, dy, x, y, in.Plane[White][at], out.Plane[White][at], a)
					}
				}
			}
		}
	}
}

// TestTonalEdges holds tonal white of a tint with a step of lightness inside: the
// tint's edge moves, the step does not, and beyond the old edge white goes on as it
// was there.
func TestTonalEdges(t *testing.T) {
	const w, h, tint = 80, 40, 120
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := 10; y < 30; y++ {
		for x := 10; x < 70; x++ {
			c := color.NRGBA{255, 255, 255, tint}
			if x >= 40 {
				c = color.NRGBA{119, 119, 119, tint} // L* 50
			}
			img.SetNRGBA(x, y, c)
		}
	}
	o := WhiteOptions{Rule: Tonal, DensityPercent: 100, PixelMM: 0.1, Need: of(TonalNeed(colour.Lab{}, colour.Lab{L: 100}))}
	for _, choke := range []float64{0, 3, -3} {
		o.ChokeMM = choke / 10
		p, err := filled(art(img), presstest.Separate(t, icc.SRGB()), o)
		if err != nil {
			t.Fatal(err)
		}
		for x := range w {
			want := 0.0
			switch {
			case float64(x) < 10+choke || float64(x) >= 70-choke:
			case x < 40:
				want = tint
			default:
				want = 0.5 * tint
			}
			if got := float64(p.Plane[White][20*w+x]); math.Abs(got-want) > 2 {
				t.Errorf("choke %g px: tonal white at column %d is %g, want %g", choke, x, got, want)
			}
		}
	}
}

// TestChokedThreshold chokes white that is solid or nothing: a fade gets an edge, where
// its alpha is the threshold, behind column 152, less the choke.
func TestChokedThreshold(t *testing.T) {
	img := drawn(300, 20, func(x, _ float64) float64 { return clamp((280 - x) / 255) })
	for _, rule := range []Rule{Under, Tonal, Knockout} {
		for _, choke := range []float64{2, 2.5, -2} {
			p, err := filled(art(img), presstest.Separate(t, icc.SRGB()), WhiteOptions{Rule: rule, DensityPercent: 100, PixelMM: 0.1, ChokeMM: choke / 10,
				ThresholdPercent: 50, Need: func([4]float64) float64 { return 1 }})
			if err != nil {
				t.Fatal(err)
			}
			row := 0.0
			for _, v := range p.Plane[White][10*300+50 : 10*300+300] {
				row += float64(v) / 255
			}
			if want := 153 - 50 - choke; math.Abs(row-want) > 0.02 {
				t.Errorf("%s, choke %g px: white ends at column %.2f, want %g", rule, choke, 50+row, 50+want)
			}
		}
	}
}
