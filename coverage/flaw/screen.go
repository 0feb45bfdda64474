package flaw

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/dsp/fourier"

	"laydown/colour/cores"
	"laydown/coverage/unit"
)

// screen is where art is made of halftone dots: in windows of a view, two peaks of the
// spectrum, of one frequency and across each other, hold much of its power. Lines side by
// side have one, and are hatching.
type screen struct {
	window     int // pixels along a window's side
	cols, rows int
	in         []bool // of each window
	pitchPX    float64
	degrees    float64   // from one row of dots to the horizontal, 0 to 90
	dotsPX     []float64 // diameter of a dot, or of a hole, in each window of the screen, smallest first
}

// The windows that are looked at, what a screen is, and how large it is at least. A
// screen of fewer periods in a window is a pattern of shapes. Our own figures.
const (
	leastWindow   = 64 // pixels along a window's side
	windowMM      = 5.4
	screenSamples = 800
	finestPeriods = 0.4 // of a window's pixels: nothing finer can be told from every other pixel
	fewestPeriods = 6
	slowest       = 2    // periods in a window that are more than its own shape
	screenShare   = 0.32 // of a window's power is in the two peaks
	screenEdge    = 0.15 // and beside such a window, at the same frequencies and their harmonics
	peakBalance   = 0.15 // of the stronger peak's power is the weaker one's
	pitchSame     = 0.05 // by which frequencies of one screen differ
	angleSame     = 4.0  // degrees
	surePeriod    = 0.5  // periods in a window to which a frequency is told
	harmonic      = 0.4  // of the power of peaks those have of which they are a harmonic
	leastWindows  = 3    // that agree
	screenSteps   = 0.06 // of its pixels differ from the next by screenStep
	screenStep    = 20   // codes
)

// tile is a window's two peaks.
type tile struct {
	frequency float64 // periods in a window
	degrees   float64
	share     float64
	dotPX     float64
}

// newScreen looks for the screen of a view; nil if there is none.
func newScreen(v *view) *screen {
	side := max(leastWindow, 32*int(math.Round(v.pixels(windowMM)/32)))
	s := &screen{window: side, cols: v.Width / side, rows: v.Height / side}
	n := s.cols * s.rows
	if n == 0 {
		return nil
	}
	tiles := make([]tile, n)
	look := func(list []int, of *tile) {
		cores.Share(len(list), func(lo, hi int) {
			l := newLens(side)
			for _, i := range list[lo:hi] {
				tiles[i] = l.look(v, i%s.cols*side, i/s.cols*side, of)
			}
		})
	}
	var first []int
	for i, step := 0, int(math.Ceil(math.Sqrt(float64(n)/screenSamples))); i < n; i++ {
		if i%s.cols%step == 0 && i/s.cols%step == 0 {
			first = append(first, i)
		}
	}
	look(first, nil)
	// The pitch and angle on which most of them agree.
	var sure []tile
	for _, i := range first {
		if tiles[i].share >= screenShare {
			sure = append(sure, tiles[i])
		}
	}
	var best []tile
	for _, a := range sure {
		var like []tile
		for _, b := range sure {
			if a.like(b) {
				like = append(like, b)
			}
		}
		if len(like) > len(best) {
			best = like
		}
	}
	if len(best) < leastWindows {
		return nil
	}
	slices.SortFunc(best, func(a, b tile) int { return cmp.Compare(a.frequency, b.frequency) })
	mid := best[len(best)/2]
	s.pitchPX, s.degrees = float64(side)/mid.frequency, mid.degrees
	// From those on, as far as it goes.
	s.in = make([]bool, n)
	var rim []int
	for _, i := range first {
		if tiles[i].share >= screenShare && tiles[i].like(mid) {
			s.in[i] = true
			rim = append(rim, i)
		}
	}
	for len(rim) > 0 {
		seen := map[int]bool{}
		var ask []int
		for _, i := range rim {
			if tiles[i].share < screenShare {
				continue // it ends there
			}
			for y := max(0, i/s.cols-1); y <= min(s.rows-1, i/s.cols+1); y++ {
				for x := max(0, i%s.cols-1); x <= min(s.cols-1, i%s.cols+1); x++ {
					if j := y*s.cols + x; !s.in[j] && !seen[j] {
						seen[j] = true
						ask = append(ask, j)
					}
				}
			}
		}
		look(ask, &mid)
		rim = rim[:0]
		for _, j := range ask {
			if tiles[j].share >= screenEdge {
				s.in[j] = true
				rim = append(rim, j)
			}
		}
	}
	for i, is := range s.in {
		if is && tiles[i].dotPX > 0 {
			s.dotsPX = append(s.dotsPX, tiles[i].dotPX)
		}
	}
	slices.Sort(s.dotsPX)
	return s
}

// like reports whether two windows may be of one screen.
func (t tile) like(o tile) bool {
	turn := math.Abs(t.degrees - o.degrees)
	return math.Abs(t.frequency-o.frequency) < math.Max(pitchSame*o.frequency, surePeriod) &&
		math.Min(turn, 90-turn) < math.Max(angleSame, 180/math.Pi*math.Atan(surePeriod/o.frequency))
}

// has reports whether a pixel of the view lies in the screen.
func (s *screen) has(x, y int) bool {
	return s != nil && s.in[min(y/s.window, s.rows-1)*s.cols+min(x/s.window, s.cols-1)]
}

// lens looks at windows. It is for one goroutine.
type lens struct {
	rows    *fourier.FFT
	columns *fourier.CmplxFFT
	n       int // pixels along a window's side
	window  []float64
	lumas   []uint8
	line    []float64
	column  []complex128
	half    [][]complex128
	power   []float64 // of half the plane of frequencies: rows from 0, columns from 0 to half
}

func newLens(n int) *lens {
	l := &lens{rows: fourier.NewFFT(n), columns: fourier.NewCmplxFFT(n), n: n, window: make([]float64, n), lumas: make([]uint8, n*n),
		line: make([]float64, n), column: make([]complex128, n), half: make([][]complex128, n), power: make([]float64, n*(n/2+1))}
	for i := range l.window { // Hann's
		l.window[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n))
	}
	return l
}

// look looks at the window of a view with a corner: for a screen of any kind, or of the
// one that another window has.
func (l *lens) look(v *view, x0, y0 int, of *tile) (t tile) {
	n, half := l.n, l.n/2+1
	steps, sum := 0, 0
	var count [256]int
	for y := range n {
		row := v.Pix[4*((y0+y)*v.Width+x0):]
		for x := range n {
			p := luma(row[4*x : 4*x+3])
			l.lumas[y*n+x] = p
			count[p]++
			sum += int(p)
			if x > 0 && abs(int(p)-int(l.lumas[y*n+x-1])) >= screenStep {
				steps++
			}
		}
		if y == n/4 && steps == 0 {
			return t // most of drawn art
		}
	}
	if of == nil && float64(steps) < screenSteps*float64(n*n) {
		return t
	}
	mean := float64(sum) / float64(n*n)
	for y := range n {
		for x := range n {
			l.line[x] = (float64(l.lumas[y*n+x]) - mean) * l.window[x] * l.window[y]
		}
		l.half[y] = l.rows.Coefficients(l.half[y], l.line)
	}
	all := 0.0
	for x := range half {
		for y := range n {
			l.column[y] = l.half[y][x]
		}
		l.columns.Coefficients(l.column, l.column)
		for y, c := range l.column {
			p := real(c)*real(c) + imag(c)*imag(c)
			if x == 0 || x == n/2 {
				p /= 2 // these stand for themselves as well
			}
			l.power[y*half+x] = p
			if math.Hypot(float64(x), float64(l.signed(y))) >= slowest {
				all += p
			}
		}
	}
	if all == 0 {
		return t
	}
	if of != nil {
		t = *of
		sin, cos := math.Sincos(of.degrees * math.Pi / 180)
		fx, fy, power := of.frequency*cos, of.frequency*sin, 0.0
		for _, p := range [][2]float64{{fx, fy}, {fx - fy, fy + fx}, {2 * fx, 2 * fy}} { // each with what is across it, which a line has not
			_, _, a := l.around(p[0], p[1])
			_, _, b := l.around(-p[1], p[0])
			power += 2 * math.Min(a, b)
		}
		t.share = power / all
	} else if !l.peaks(&t, all) {
		return tile{}
	}
	// Of the lightest and the darkest tones the dots have the smaller part.
	tone := func(part float64) float64 {
		seen := 0
		for p, c := range count {
			if seen += c; float64(seen) > part*float64(n*n) {
				return float64(p)
			}
		}
		return 255
	}
	lo, hi := tone(0.02), tone(0.98)
	part := (mean - lo) / math.Max(1, hi-lo)
	t.dotPX = 2 * math.Sqrt(math.Min(part, 1-part)/math.Pi) * float64(n) / t.frequency
	return t
}

// peaks finds the two peaks of a window with power in all.
func (l *lens) peaks(t *tile, all float64) bool {
	fx, fy, first := l.peak(func(x, y float64) bool { return true })
	f := math.Hypot(fx, fy)
	if f == 0 {
		return false
	}
	gx, gy, second := l.peak(func(x, y float64) bool {
		g := math.Hypot(x, y)
		return math.Abs(g-f) < 1.5*pitchSame*f+0.5 && math.Abs(x*fx+y*fy) < 0.2*f*g
	})
	if second < peakBalance*first {
		return false
	}
	// Of small dots the next harmonic may be as strong.
	hx, hy, third := l.around((fx+gx)/2, (fy+gy)/2)
	ix, iy, fourth := l.around((fx-gx)/2, (fy-gy)/2)
	if math.Min(third, fourth) > harmonic*second && math.Hypot(hx, hy) > fewestPeriods {
		fx, fy, gx, gy, first, second = hx, hy, ix, iy, first+third, second+fourth
		f = math.Hypot(fx, fy)
	}
	t.share = (first + second) / all
	t.frequency = (f + math.Hypot(gx, gy)) / 2
	t.degrees = math.Mod(math.Atan2(fy, fx)*180/math.Pi+180, 90)
	return true
}

// signed is a frequency that lies beyond half a window's as a negative one.
func (l *lens) signed(y int) int {
	if y > l.n/2 {
		return y - l.n
	}
	return y
}

// peak is the strongest frequency that may be a screen's and that a function takes, to a
// fraction of a period, and the power around it.
func (l *lens) peak(take func(x, y float64) bool) (fx, fy, power float64) {
	n, half := l.n, l.n/2+1
	most, at := 0.0, [2]int{}
	for y := range n {
		for x := range half {
			p := l.power[y*half+x]
			if p <= most {
				continue
			}
			if f := math.Hypot(float64(x), float64(l.signed(y))); f < fewestPeriods || f > finestPeriods*float64(n) || !take(float64(x), float64(l.signed(y))) {
				continue
			}
			most, at = p, [2]int{x, y}
		}
	}
	if most == 0 {
		return 0, 0, 0
	}
	return l.around(float64(at[0]), float64(l.signed(at[1])))
}

// around is the power around a frequency, and its middle.
func (l *lens) around(x, y float64) (fx, fy, power float64) {
	if x < 0 {
		x, y = -x, -y
	}
	n, half := l.n, l.n/2+1
	x0, y0 := int(math.Round(x)), int(math.Round(y))
	if x0 >= half || abs(y0) >= n/2 {
		return x, y, 0 // finer than pixels tell
	}
	for v := y0 - 1; v <= y0+1; v++ {
		for u := max(0, x0-1); u <= min(half-1, x0+1); u++ {
			p := l.power[(v+n)%n*half+u]
			fx, fy, power = fx+p*float64(u), fy+p*float64(v), power+p
		}
	}
	if power == 0 {
		return x, y, 0
	}
	return fx / power, fy / power, power
}

// screened tells of art that is made of halftone dots.
func screened(s *scene) ([]*Finding, error) {
	v := s.view()
	c := v.screen()
	if c == nil {
		return nil, nil
	}
	mm := c.pitchPX * v.pixelMM
	f := &Finding{Kind: Screen, Severity: Look, Measured: unit.MMPerInch / mm, Unit: "lines per inch"}
	r := newRegionsOf(v.Width, v.Height, v.pixelMM)
	n := 0
	for i, is := range c.in {
		if is {
			n++
			x, y := i%c.cols, i/c.cols
			r.fill(x*c.window, y*c.window, end(x, c.cols, c.window, v.Width), end(y, c.rows, c.window, v.Height))
		}
	}
	f.Boxes, f.Places = r.boxes()
	f.Advice = fmt.Sprintf("%.0f %% of the art is a halftone screen of about %.0f lines per inch (dots %.2f mm apart, rows at %.0f°): it may moiré with the printer's own screen, so ask for the art with smooth tones and leave the screen to the printer",
		100*float64(n)/float64(len(c.in)), f.Measured, mm, c.degrees)
	lost := 0
	for _, d := range c.dotsPX {
		if d*v.pixelMM < s.Limits.SmallestDotMM {
			lost++
		}
	}
	if lost > 0 {
		f.Advice += fmt.Sprintf("; on %.0f %% of it dots or holes are smaller than the %.2f mm that this media holds, down to %.2f mm, and are lost", 100*float64(lost)/float64(len(c.dotsPX)),
			s.Limits.SmallestDotMM, c.dotsPX[len(c.dotsPX)/20]*v.pixelMM)
	}
	f.Advice += ". Lines, dots and letters are not looked for within it."
	return []*Finding{f}, nil
}

// end is where the window at a place of a line of n ends: the last takes what is left.
func end(at, n, window, all int) int {
	if at == n-1 {
		return all
	}
	return (at + 1) * window
}

// lazyScreen is a view's screen, looked for when it is first asked for.
func lazyScreen(v *view) func() *screen {
	return sync.OnceValue(func() *screen { return newScreen(v) })
}
