// Package palette counts which colours artwork holds and how much of it each
// wanted colour takes.
//
// Colours are counted by the 8-bit device codes nearest to them, each pixel by its
// alpha as [Weights] tells. Colours of the edges between two flat colours are
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

// Colour is one device colour of the art and how many pixels have it, half-clear ones
// counting half.
type Colour struct {
	Device artwork.Device
	Pixels float64
}

// Bucket names the colours that share the upper five bits of every channel, which
// hard compression leaves alone.
func Bucket(device artwork.Device) artwork.Device {
	for k := range device {
		device[k] >>= 3
	}
	return device
}

// Count counts the colours of the art, most frequent first, and among equals in
// the order of their values. It takes 64 MB while it runs, thrice that for art that
// has half-clear pixels.
func Count(art *artwork.Art) []Colour {
	w := NewWeights(art)
	if n := art.Space.Channels(); n <= 3 {
		return frequent(countDense(w, n))
	}
	return frequent(countSparse(w, 1))
}

// Sample counts the pixels that are at least half solid, over an even part of the
// rows, about so many pixels of them. It is quick and takes little memory where few
// colours are many pixels wide.
func Sample(art *artwork.Art, pixels int) []Colour {
	return frequent(countSparse(Weights{art: art, from: solid}, max(1, art.Width*art.Height/max(1, pixels))))
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

// eachRow calls f with the colours and the weights of every so manieth row.
func eachRow(w Weights, every int, f func(row []artwork.Device, weight []uint8)) {
	art := w.art
	row, weight := make([]artwork.Device, art.Width), make([]uint8, art.Width)
	for y := every / 2; y < art.Height; y += every {
		art.Nearest(y, row)
		w.Row(y, weight)
		f(row, weight)
	}
}

// countDense counts colours of at most three channels.
func countDense(w Weights, n int) (out []Colour) {
	count := make([]uint32, 1<<(8*n))
	var part []uint64 // sums of the weights of pixels that do not count in full
	eachRow(w, 1, func(row []artwork.Device, weight []uint8) {
		for x, a := range weight {
			d := row[x]
			key := uint32(d[0]) | uint32(d[1])<<8 | uint32(d[2])<<16
			switch {
			case a == 255:
				count[key]++
			case a > 0:
				if part == nil {
					part = make([]uint64, len(count))
				}
				part[key] += uint64(a)
			}
		}
	})
	for key, c := range count {
		sum := uint64(c) * 255
		if part != nil {
			sum += part[key]
		}
		if sum > 0 {
			out = append(out, Colour{artwork.Device{uint8(key), uint8(key >> 8), uint8(key >> 16)}, float64(sum) / 255})
		}
	}
	return out
}

func countSparse(w Weights, every int) (out []Colour) {
	sum := map[artwork.Device]uint64{}
	eachRow(w, every, func(row []artwork.Device, weight []uint8) {
		for x := 0; x < len(weight); {
			v, n := row[x], uint64(0)
			for ; x < len(weight) && row[x] == v; x++ {
				n += uint64(weight[x])
			}
			if n > 0 {
				sum[v] += n
			}
		}
	})
	for v, n := range sum {
		out = append(out, Colour{v, float64(n) / 255})
	}
	return out // in no order: the caller sorts
}

// Shares returns, for each wanted colour, how many pixels of the art are within
// limit ΔE00 of it and nearer to no other wanted colour. lab tells a device
// colour's Lab and is called concurrently.
func Shares(colours []Colour, lab func(artwork.Device) colour.Lab, wanted []colour.Lab, limit float64) []float64 {
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
	pixels := make([]float64, len(wanted))
	for i, j := range belongs {
		if j >= 0 {
			pixels[j] += colours[i].Pixels
		}
	}
	return pixels
}
