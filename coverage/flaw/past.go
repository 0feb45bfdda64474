package flaw

import (
	"fmt"
	"math"
	"slices"

	"laydown/colour/cores"
	"laydown/coverage/artwork"
)

// past is what was done to the art before it came, as far as it shows.
type past struct {
	// factor is by how much the art was enlarged, along either side; 1 for not at all,
	// or where there is too little to tell. One pixel of the original is that many wide.
	factor float64
	// sure is whether the factor shows in what enlargement alone leaves. Otherwise the
	// art may be a soft picture at its own size, which says as little.
	sure  bool
	words string // how it shows; "" for a factor of 1
	// repeats is how many pixels, along either side, each was made into by repeating
	// it, which need be no whole number; 1 for none.
	repeats float64
	// quality is that of the file's JPEG compression, 1–100, and 0 for none; see
	// [artwork.Info]. A JPEG that was saved as something else afterwards has 0 and a block.
	quality int
	// blur is the standard deviation in pixels of a Gauss filter that would make the art's
	// sharpest edges from such of art at its own size; 0 for none.
	blur float64
	// noise is the standard deviation in codes of what changes from pixel to pixel in
	// smooth parts, of which it is less in half.
	noise float64
	// block is the width in pixels of the blocks of JPEG compression: 8, or more in art
	// that was enlarged after it; 0 where no blocks show.
	block float64
	// blocks is by how many codes the steps between blocks stand out from those within;
	// 0 where there is too little to tell.
	blocks float64
}

// compressed reports whether the art was compressed with loss at some time.
func (p *past) compressed() bool { return p.quality > 0 || p.block > 0 }

// pastOf looks at the art's edges and steps. presence is asked for only where the art
// has transparency.
func pastOf(art *artwork.Art, presence func() []uint8) past {
	if art.Vector {
		return past{factor: 1} // its pixels were drawn for this print
	}
	return pastOfTone(tone(art, presence), art.Width, art.Height, art.Quality)
}

func pastOfTone(t []uint8, w, h, quality int) past {
	p := past{factor: 1, repeats: repeated(t, w, h), quality: quality, noise: noise(t, w, h)}
	if p.repeats > 1 { // repeated pixels are blocks of their own
		p.factor, p.sure = p.repeats, true
		p.words = fmt.Sprintf("each of its own was made into %g × %g of them, so it was enlarged before it came", p.repeats, p.repeats)
		return p
	}
	e := edgesOf(t, w, h)
	width := e.width(1. / sharpestOf)
	p.blur = math.Sqrt(max(0, width*width-nativeWidth*nativeWidth)) / math.Sqrt(2*math.Pi) // a Gauss filter's step response has a slope of 1/(σ√2π)
	g := gridOf(t, w, h)
	if factor := e.interpolated(width); factor > 1 {
		if g != nil {
			factor = g.settle(factor, width)
		}
		p.factor, p.sure = factor, true
		p.words = fmt.Sprintf("its edges are steep and slack by turns every %.3g of them, so it was enlarged before it came", factor)
	} else if width >= surelySoft && width < softest {
		p.factor = width / nativeWidth
		p.words = fmt.Sprintf("its sharpest edges take %.1f of them, so it was enlarged before it came, or is soft", width)
	}
	if g != nil {
		enlarged := 1.
		if p.sure {
			enlarged = p.factor
		}
		p.block, p.blocks = g.blocks(t, w, h, enlarged)
	}
	return p
}

// tone is one number a pixel for looking at edges, on white: the luma that JPEG
// compresses by itself (ITU-R BT.601's, see ITU-T T.871, 7), so that colour at half
// its resolution does not show; or what stands for it. It misses edges between colours
// of the same luma, of which no picture has only those.
func tone(art *artwork.Art, presence func() []uint8) []uint8 {
	w, h := art.Width, art.Height
	t := make([]uint8, w*h)
	var there []uint8
	if art.HasAlpha {
		there = presence()
	}
	cores.Share(h, func(lo, hi int) {
		black, red, blue := make([]uint8, w), make([]uint8, w), make([]uint8, w)
		for y := lo; y < hi; y++ {
			row := t[y*w : (y+1)*w]
			switch art.Space.Channels() {
			case 3:
				art.Channel(y, 0, red)
				art.Channel(y, 1, row)
				art.Channel(y, 2, blue)
				for x, v := range row {
					row[x] = uint8((19595*uint32(red[x]) + 38470*uint32(v) + 7471*uint32(blue[x]) + 1<<15) >> 16)
				}
			case 4: // of magenta and black the stronger
				art.Channel(y, 1, row)
				art.Channel(y, 3, black)
				for x, v := range row {
					row[x] = 255 - max(v, black[x])
				}
			default:
				art.Channel(y, 0, row)
			}
			if there != nil {
				for x, v := range there[y*w : (y+1)*w] {
					a := int(v)
					row[x] = uint8((int(row[x])*a + 255*(255-a)) / 255)
				}
			}
		}
	})
	return t
}

// linesOf are a plane's rows, or its columns: how many pixels each has, how many there
// are, and what copies one.
func linesOf(t []uint8, w, h int, columns bool) (n, lines int, line func(i int, buf []uint8)) {
	if !columns {
		return w, h, func(i int, buf []uint8) { copy(buf, t[i*w:(i+1)*w]) }
	}
	return h, w, func(i int, buf []uint8) {
		for y := range buf {
			buf[y] = t[y*w+i]
		}
	}
}

// noise is the standard deviation of noise in a plane of tones: of all pieces of 16 pixels
// along rows in which tones differ by less than 32 codes, the median of what the second
// difference tells, which a slope does not count in (after Immerkær, "Fast noise variance
// estimation", 1996). 0 if less than 100 pieces are so smooth.
func noise(t []uint8, w, h int) float64 {
	const piece = 16
	var sums []float64
	for y, every := 0, max(1, h/300); y < h; y += every {
		row := t[y*w : (y+1)*w]
		for x := 0; x+piece <= w; x += 2 * piece {
			part := row[x : x+piece]
			if slices.Max(part)-slices.Min(part) >= 32 {
				continue
			}
			sum := 0
			for i := 1; i+1 < piece; i++ {
				d := int(part[i-1]) - 2*int(part[i]) + int(part[i+1])
				sum += d * d
			}
			sums = append(sums, float64(sum)/(piece-2))
		}
	}
	if len(sums) < 100 {
		return 0
	}
	slices.Sort(sums)
	return math.Sqrt(sums[len(sums)/2] / 6) // a second difference of independent values has six times their variance
}
