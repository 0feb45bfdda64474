// Package palette counts which colours artwork holds and how much of it each
// wanted colour takes.
//
// Colours are counted by the 8-bit device codes nearest to them; pixels less than
// half solid do not count. Colours of the edges between two flat colours are
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
	Device artwork.Device
	Pixels uint64
}

// Bucket names the colours that share the upper five bits of every channel, which
// hard compression leaves alone.
func Bucket(device artwork.Device) artwork.Device {
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

// eachRow calls f with the colours and the alpha of every so manieth row.
func eachRow(art *artwork.Art, every int, f func(row []artwork.Device, alpha []uint8)) {
	row, alpha := make([]artwork.Device, art.Width), make([]uint8, art.Width)
	for y := every / 2; y < art.Height; y += every {
		art.Nearest(y, row)
		art.Alpha(y, alpha)
		f(row, alpha)
	}
}

// countDense counts colours of at most three channels.
func countDense(art *artwork.Art, n int) (out []Colour) {
	count := make([]uint32, 1<<(8*n))
	eachRow(art, 1, func(row []artwork.Device, alpha []uint8) {
		for x, a := range alpha {
			if a >= half {
				d := row[x]
				count[uint32(d[0])|uint32(d[1])<<8|uint32(d[2])<<16]++
			}
		}
	})
	for key, c := range count {
		if c > 0 {
			out = append(out, Colour{artwork.Device{uint8(key), uint8(key >> 8), uint8(key >> 16)}, uint64(c)})
		}
	}
	return out
}

func countSparse(art *artwork.Art, every int) (out []Colour) {
	count := map[artwork.Device]uint64{}
	eachRow(art, every, func(row []artwork.Device, alpha []uint8) {
		for x := 0; x < len(alpha); {
			v, from := row[x], x
			for x++; x < len(alpha) && row[x] == v && (alpha[x] >= half) == (alpha[from] >= half); x++ {
			}
			if alpha[from] >= half {
				count[v] += uint64(x - from)
			}
		}
	})
	for v, c := range count {
		out = append(out, Colour{v, c})
	}
	return out // in no order: the caller sorts
}

// Shares returns, for each wanted colour, how many pixels of the art are within
// limit ΔE00 of it and nearer to no other wanted colour. lab tells a device
// colour's Lab and is called concurrently.
func Shares(colours []Colour, lab func(artwork.Device) colour.Lab, wanted []colour.Lab, limit float64) []uint64 {
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
