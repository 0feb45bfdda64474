package flaw

import (
	"errors"
	"math"
	"slices"
	"sync"

	"laydown/colour/cores"
	"laydown/coverage/distance"
)

// lineShape is how many times longer than the limit a thin part must be to be
// a line and not the tip of a point: the tip of a 20° point is thinner than the
// limit over 2.9 times the limit.
const lineShape = 3

// leastLinePX keeps the few unsure pixels at the end of a thick stroke from
// passing for a line of their own.
const leastLinePX = 9

// thinStrokes measures the width of strokes of a plane along their middle, and
// returns those thinner than a limit, all in pixels. Pixels on the ridge of the
// distance transform are the middle; there the plane is added up straight across
// the stroke, in the direction in which that is least, which gives the width of an
// antialiased stroke to a fraction of a pixel.
//
// beyond is what the plane goes on with outside the picture: 0 nothing, 1 more of
// the same, so that what runs along the edge is no stroke. mark has a place for every
// pixel, all 0, and is left so.
func (s *sketch) thinStrokes(p []uint8, limitPX, beyond float64, mark []uint16) ([]stroke, error) {
	w, h := s.w, s.h
	reach := int(math.Ceil(limitPX/2)) + 2
	if reach > distance.MaxReach || limitPX < 0.5 {
		return nil, nil // lines this thin have no pixels, or the print is finer than any printer
	}
	// A touched band around a stroke of the limit is up to 1.5 pixels wider, and a
	// stroke is not √2 times as long as that along its rows and its columns.
	ridgeMax := uint16(min(math.Pow((limitPX+2.5)/2, 2)+1, 65535))
	across := scanner{p, w, h, int(math.Ceil(limitPX)) + 2, beyond}
	fields := s.shortRuns(p, int(math.Ceil(math.Sqrt2*(limitPX+1.5)))+1)
	parts := make([][]thinPixel, len(fields))
	faults := make([]error, len(fields))
	cores.Each(len(fields), func(k int) {
		// The distances in a field are those in the whole picture, for it is looked
		// at with all around it that can be near.
		f := fields[k]
		x0, y0, x1, y1 := max(0, f.x0-reach-2), max(0, f.y0-reach-2), min(w, f.x1+reach+2), min(h, f.y1+reach+2)
		wide := x1 - x0
		d, err := distance.Squared(distance.Mask{Pix: p[y0*w+x0:], Width: wide, Height: y1 - y0, Step: 1, Stride: w, Threshold: touched}, reach)
		if err != nil {
			faults[k] = err
			return
		}
		for y := max(f.y0, 1); y < min(f.y1, h-1); y++ {
			for x := max(f.x0, 1); x < min(f.x1, w-1); x++ {
				i := (y-y0)*wide + x - x0
				v := d[i]
				if v == 0 || v > ridgeMax {
					continue
				}
				ridge := false
				for _, o := range [4]int{1, wide, wide + 1, wide - 1} {
					if v >= d[i-o] && v >= d[i+o] {
						ridge = true
						break
					}
				}
				if !ridge {
					continue
				}
				width, dir := across.width(x, y)
				if width <= 0 || width >= limitPX-0.05 || across.rises(x, y, dir) {
					continue
				}
				// In the middle of a stroke the nearest edges lie opposite, so
				// the width is the diameter of the largest disc there. On the
				// ridge that runs into a corner they do not, and it is more.
				// (The band of touched pixels is 0.85 wider than the stroke.)
				if diameter := 2*math.Sqrt(float64(v)) - 0.85; width < 1.2*diameter+1 {
					parts[k] = append(parts[k], thinPixel{int32(y*w + x), float32(width)})
				}
			}
		}
	})
	if err := errors.Join(faults...); err != nil {
		return nil, err
	}
	var out []stroke
	for _, line := range gather(slices.Concat(parts...), mark, w, h) {
		if line.length() >= max(lineShape*limitPX, 3*line.width, leastLinePX) {
			out = append(out, line)
		}
	}
	return out, nil
}

// field is a part of a picture.
type field struct{ x0, y0, x1, y1 int } // x1 and y1 excluded

// patch is the side in pixels of the squares in which short runs are looked for.
const patch = 64

// shortRuns returns the parts of a plane in which something may be thin: where a run
// along a row or a column is at most so long. Most of a picture has none, and need not
// be looked at closer.
func (s *sketch) shortRuns(p []uint8, longest int) (out []field) {
	w, h := s.w, s.h
	cols, rows := (w+patch-1)/patch, (h+patch-1)/patch
	short := make([]bool, cols*rows)
	cores.Share(rows, func(lo, hi int) {
		for y := lo * patch; y < min(hi*patch, h); y++ {
			row, at := p[y*w:(y+1)*w], y/patch*cols
			for x := 0; x < w; {
				if row[x] < touched {
					x++
					continue
				}
				from := x
				for x++; x < w && row[x] >= touched; x++ {
				}
				if x-from <= longest {
					short[at+from/patch], short[at+(x-1)/patch] = true, true
				}
			}
		}
	})
	cores.Share(cols, func(lo, hi int) {
		x0, x1 := lo*patch, min(hi*patch, w)
		run := make([]int, x1-x0)
		end := func(x, y int) { // of a run of run[x-x0], before row y
			if n := run[x-x0]; n > 0 && n <= longest {
				short[(y-1)/patch*cols+x/patch], short[(y-n)/patch*cols+x/patch] = true, true
			}
		}
		for y := range h {
			row := p[y*w+x0 : y*w+x1]
			for i, v := range row {
				if v >= touched {
					if run[i] <= longest {
						run[i]++
					}
				} else if run[i] != 0 {
					end(x0+i, y)
					run[i] = 0
				}
			}
		}
		for i := range run {
			end(x0+i, h)
		}
	})
	// Patches side by side are one field.
	for r := range rows {
		for c := 0; c < cols; c++ {
			if !short[r*cols+c] {
				continue
			}
			from := c
			for c < cols && short[r*cols+c] && c-from < 8 {
				c++
			}
			out = append(out, field{from * patch, r * patch, min(c*patch, w), min((r+1)*patch, h)})
			c--
		}
	}
	return out
}

// thinPixel is a pixel on the middle of a thin stroke and the width there.
type thinPixel struct {
	at    int32
	width float32
}

// scanner adds up presence along straight lines through a pixel.
type scanner struct {
	p     []uint8
	w, h  int
	reach int // pixels to either side
	// beyond is presence outside the picture.
	beyond float64
}

// directions are the unit vectors of 16 directions over half a turn.
var directions = sync.OnceValue(func() (v [16][2]float64) {
	for i := range v {
		s, c := math.Sincos(float64(i) * math.Pi / 16)
		v[i] = [2]float64{c, s}
	}
	return v
})

// width is the least sum of presence across the stroke, which is its width in
// pixels, and the direction of that sum. 0 means that the stroke goes on beyond
// reach in every direction.
func (s scanner) width(x, y int) (px float64, dir [2]float64) {
	px = math.Inf(1)
	dirs := directions()
	try := func(i int) float64 {
		v := dirs[(i+16)%16]
		sum := s.across(float64(x), float64(y), v[0], v[1])
		if sum < px {
			px, dir = sum, v
		}
		return sum
	}
	least, at := math.Inf(1), 0
	for i := 0; i < 16; i += 4 {
		if v := try(i); v < least {
			least, at = v, i
		}
	}
	if math.IsInf(least, 1) {
		return 0, dir
	}
	for step := 2; step >= 1; step-- {
		centre := at
		for _, i := range []int{centre - step, centre + step} {
			if v := try(i); v < least {
				least, at = v, i
			}
		}
	}
	return px, dir
}

// rises reports whether presence rises along the stroke that dir lies across: then
// this is no stroke but the rim of something larger.
func (s scanner) rises(x, y int, dir [2]float64) bool {
	const ahead = 1.5 // pixels
	here := s.at(float64(x), float64(y))
	for _, t := range []float64{ahead, -ahead} {
		if s.at(float64(x)-t*dir[1], float64(y)+t*dir[0]) > 1.4*here+0.08 {
			return true
		}
	}
	return false
}

// across sums presence along one line, from the middle outwards until the art
// ends; infinite if it does not within reach.
func (s scanner) across(x, y, dx, dy float64) float64 {
	const step = 0.5 // pixels; finer steps change the sum by less than 0.02
	peak := s.at(x, y)
	sum := peak
	for _, sign := range []float64{1, -1} {
		ended := false
		for t := step; t <= float64(s.reach); t += step {
			v := s.at(x+sign*t*dx, y+sign*t*dy)
			sum += v
			peak = max(peak, v)
			if v < 0.02 {
				ended = true
				break
			}
		}
		if !ended {
			return math.Inf(1)
		}
	}
	// A stroke of a light tint is as wide as its middle is strong; one too thin
	// to have a middle is strong and thin.
	if width := sum * step / peak; width >= 2.5 {
		return width
	}
	return sum * step
}

// at interpolates presence, 0–1.
func (s scanner) at(x, y float64) float64 {
	x0, y0 := int(math.Floor(x)), int(math.Floor(y))
	fx, fy := x-float64(x0), y-float64(y0)
	if x0 >= 0 && y0 >= 0 && x0+1 < s.w && y0+1 < s.h {
		at := s.p[y0*s.w+x0 : y0*s.w+x0+s.w+2]
		a, b := float64(at[0]), float64(at[s.w])
		a += fx * (float64(at[1]) - a)
		b += fx * (float64(at[s.w+1]) - b)
		return (a + fy*(b-a)) / 255
	}
	px := func(x, y int) float64 {
		if x < 0 || y < 0 || x >= s.w || y >= s.h {
			return 255 * s.beyond
		}
		return float64(s.p[y*s.w+x])
	}
	a := px(x0, y0) + fx*(px(x0+1, y0)-px(x0, y0))
	b := px(x0, y0+1) + fx*(px(x0+1, y0+1)-px(x0, y0+1))
	return (a + fy*(b-a)) / 255
}

// stroke is a connected run of thin ridge pixels.
type stroke struct {
	pixels         []int32
	width          float64 // the median, pixels
	x0, y0, x1, y1 int
}

func (s stroke) length() float64 {
	return math.Max(math.Hypot(float64(s.x1-s.x0), float64(s.y1-s.y0)), 0) + 1
}

// gather joins ridge pixels that touch, or miss each other by one pixel, into
// strokes. mark has a place for every pixel, all 0, and is left so.
func gather(thin []thinPixel, mark []uint16, w, h int) (out []stroke) {
	for _, t := range thin {
		mark[t.at] = uint16(max(1, t.width*16)) // width in 1/16 pixel, 0 where there is none
	}
	var hist []int
	for _, start := range thin {
		if mark[start.at] == 0 {
			continue
		}
		s := stroke{x0: w, y0: h}
		hist = hist[:0]
		take := func(i int) {
			hist = append(hist, int(mark[i]))
			mark[i] = 0
			s.pixels = append(s.pixels, int32(i))
		}
		take(int(start.at))
		for n := 0; n < len(s.pixels); n++ {
			x, y := int(s.pixels[n])%w, int(s.pixels[n])/w
			s.x0, s.y0, s.x1, s.y1 = min(s.x0, x), min(s.y0, y), max(s.x1, x), max(s.y1, y)
			for v := max(0, y-2); v <= min(h-1, y+2); v++ {
				for u := max(0, x-2); u <= min(w-1, x+2); u++ {
					if i := v*w + u; mark[i] != 0 {
						take(i)
					}
				}
			}
		}
		s.width = float64(median(hist)) / 16
		out = append(out, s)
	}
	return out
}

// median finds the middle value by counting; the ends of a stroke, where widths
// are unsure, weigh little in it.
func median(v []int) int {
	top := 0
	for _, x := range v {
		top = max(top, x)
	}
	count := make([]int, top+1)
	for _, x := range v {
		count[x]++
	}
	seen := 0
	for x, c := range count {
		if seen += c; 2*seen > len(v) {
			return x
		}
	}
	return top
}
