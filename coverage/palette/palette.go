// Package palette counts which colours artwork holds and how much of it each
// wanted colour takes.
//
// Colours are counted by their 8-bit device values; pixels less than half
// solid do not count. Colours of the edges between two flat colours are
// colours like any other.
package palette

import (
	"cmp"
	"math"
	"slices"

	"laydown/colour"
	"laydown/colour/cores"
	"laydown/coverage/artwork"
)

// Colour is one device colour of the art and how many pixels have it.
type Colour struct {
	Device [4]uint8 // as many as the art's space has channels, the rest 0
	Pixels uint64
}

// Fractions are device values as parts of 1.
func Fractions(device [4]uint8) (x [4]float64) {
	for k, v := range device {
		x[k] = float64(v) / 255
	}
	return x
}

// Bucket names the colours that share the upper five bits of every channel, which
// hard compression leaves alone.
func Bucket(device [4]uint8) [4]uint8 {
	for k := range device {
		device[k] >>= 3
	}
	return device
}

// half is the alpha from which a pixel counts.
const half = 128

// Count counts the colours of the art, most frequent first, and among equals in
// the order of their values. It takes 64 MB while it runs.
func Count(art *artwork.Art) []Colour {
	if n := art.Space.Channels(); n <= 3 {
		return frequent(countDense(art, n))
	}
	return frequent(countSparse(art, 1))
}

// Sample is Count over an even part of the rows, about so many pixels of them. It
// is quick and takes little memory where few colours are many pixels wide.
func Sample(art *artwork.Art, pixels int) []Colour {
	return frequent(countSparse(art, max(1, art.Width*art.Height/max(1, pixels))))
}

// frequent sorts the most frequent to the front.
func frequent(out []Colour) []Colour {
	slices.SortFunc(out, func(a, b Colour) int {
		if c := cmp.Compare(b.Pixels, a.Pixels); c != 0 {
			return c
		}
		return slices.Compare(a.Device[:], b.Device[:])
	})
	return out
}

// eachRow calls f with the 8-bit samples of every so manieth row, Step a pixel,
// and alpha.
func eachRow(art *artwork.Art, every int, f func(samples, alpha []uint8)) {
	alpha := make([]uint8, art.Width)
	narrow := make([]uint8, art.Width*art.Step)
	wide := make([]uint16, art.Width*art.Step)
	for y := every / 2; y < art.Height; y += every {
		art.Alpha(y, alpha)
		if art.Depth == 16 {
			art.Row16(y, wide)
			for i, v := range wide {
				narrow[i] = uint8((uint32(v)*255 + 32767) / 65535)
			}
			f(narrow, alpha)
		} else {
			f(art.Row(y), alpha)
		}
	}
}

func countDense(art *artwork.Art, n int) (out []Colour) {
	count := make([]uint32, 1<<(8*n))
	eachRow(art, 1, func(s, alpha []uint8) {
		for x, a := range alpha {
			if a < half {
				continue
			}
			key := uint32(s[x*art.Step])
			if n == 3 {
				key |= uint32(s[x*art.Step+1])<<8 | uint32(s[x*art.Step+2])<<16
			}
			count[key]++
		}
	})
	for key, c := range count {
		if c > 0 {
			out = append(out, Colour{[4]uint8{uint8(key), uint8(key >> 8), uint8(key >> 16)}, uint64(c)})
		}
	}
	return out
}

func countSparse(art *artwork.Art, every int) (out []Colour) {
	count := map[[4]uint8]uint64{}
	n := art.Space.Channels()
	eachRow(art, every, func(s, alpha []uint8) {
		at := func(x int) (v [4]uint8) {
			copy(v[:n], s[x*art.Step:])
			return v
		}
		for x := 0; x < len(alpha); {
			v, from := at(x), x
			for x++; x < len(alpha) && at(x) == v && (alpha[x] >= half) == (alpha[from] >= half); x++ {
			}
			if alpha[from] >= half {
				count[v] += uint64(x - from)
			}
		}
	})
	for v, c := range count {
		out = append(out, Colour{v, c})
	}
	return out
}

// Shares returns, for each wanted colour, how many pixels of the art are within
// limit ΔE00 of it and nearer to no other wanted colour. lab tells a device
// colour's Lab and is called concurrently.
func Shares(colours []Colour, lab func(device [4]uint8) colour.Lab, wanted []colour.Lab, limit float64) []uint64 {
	belongs := make([]int, len(colours))
	cores.Share(len(colours), func(lo, hi int) {
		for i := lo; i < hi; i++ {
			c := lab(colours[i].Device)
			best, at := limit, -1
			for j, w := range wanted {
				// CIEDE2000 shrinks a difference of L, a and b at most about
				// sixfold, where colours are vivid: farther need no formula.
				if math.Abs(c.L-w.L)+math.Abs(c.A-w.A)+math.Abs(c.B-w.B) > 14*limit {
					continue
				}
				if d := colour.DeltaE00(c, w); d <= best && (at < 0 || d < best) {
					best, at = d, j
				}
			}
			belongs[i] = at
		}
	})
	pixels := make([]uint64, len(wanted))
	for i, j := range belongs {
		if j >= 0 {
			pixels[j] += colours[i].Pixels
		}
	}
	return pixels
}
