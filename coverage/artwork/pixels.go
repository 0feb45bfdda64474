package artwork

import (
	"image"

	"laydown/colour/grid"
	"laydown/colour/icc"
	"laydown/coverage/distance"
)

// Art is a decoded picture. Pixels are counted row after row from the top left
// corner: the one at x, y is number y × Width + x. CMYK counts toner: 0 is none.
//
// Its pixels cannot be changed from outside, and any number of goroutines may ask
// for them at once. Channels are those of Space, in its order.
type Art struct {
	Info
	// pix holds step samples a pixel, row after row, each of one byte or, if Depth is
	// 16, two (big-endian): first the channels of Space, then fill and alpha.
	pix     []byte
	step    int // samples from one pixel to the next
	alphaAt int // the sample of a pixel that is its alpha, or -1 if all is opaque
}

// Device is a colour in the art's own channels, in 8-bit codes: 0–255, as many as
// its space has channels, the rest 0.
type Device [4]uint8

// Fractions are the codes as parts of 1.
func (d Device) Fractions() (x [4]float64) {
	for k, v := range d {
		x[k] = float64(v) / 255
	}
	return x
}

// Device is the colour of pixel i in 8 bits: of 16 the upper ones.
func (a *Art) Device(i int) (d Device) {
	bytes := a.Depth / 8
	px := a.pix[i*a.step*bytes:]
	for k := range a.Space.Channels() {
		d[k] = px[k*bytes]
	}
	return d
}

// Fractions are the channels of pixel i as parts of 1, in all the depth that the
// art has; those that its space does not have are 0.
func (a *Art) Fractions(i int) (x [4]float64) {
	n := a.Space.Channels()
	if a.Depth == 16 {
		for k := range n {
			x[k] = float64(a.sample(i, k)) / 65535
		}
		return x
	}
	for k, v := range a.pix[i*a.step : i*a.step+n] {
		x[k] = float64(v) / 255
	}
	return x
}

// sample is the k-th sample of pixel i in 16 bits.
func (a *Art) sample(i, k int) uint16 {
	at := i*a.step + k
	if a.Depth == 16 {
		return uint16(a.pix[2*at])<<8 | uint16(a.pix[2*at+1])
	}
	return uint16(a.pix[at]) * 257
}

// AlphaAt is the alpha of pixel i, 0 clear to 255 solid; of 16 bits the upper ones.
func (a *Art) AlphaAt(i int) uint8 {
	if a.alphaAt < 0 {
		return 255
	}
	return a.pix[(i*a.step+a.alphaAt)*a.Depth/8]
}

// row is the bytes of row y.
func (a *Art) row(y int) []byte {
	n := a.Width * a.step * a.Depth / 8
	return a.pix[y*n : (y+1)*n]
}

// Through carries row y through a table of as many inputs as the art has channels,
// in all the depth that the art has. dst has a place for every pixel of the row in
// each of its planes. Alpha is not looked at.
func (a *Art) Through(dst grid.Planes, table *grid.Table, y int) {
	if a.Depth == 16 {
		table.Row16(dst, a.row(y), a.step)
	} else {
		table.Row8(dst, a.row(y), a.step)
	}
}

// Nearest copies row y's colours into buf of Width places: the 8-bit codes nearest
// to them, where [Art.Device] cuts 16 bits off.
func (a *Art) Nearest(y int, buf []Device) {
	n, row := a.Space.Channels(), a.row(y)
	switch {
	case a.Depth == 16:
		for x := range buf {
			var d Device
			for k := range n {
				at := 2 * (x*a.step + k)
				d[k] = uint8(((uint32(row[at])<<8|uint32(row[at+1]))*255 + 32767) / 65535)
			}
			buf[x] = d
		}
	case n == 3:
		for x, at := 0, 0; x < len(buf); x, at = x+1, at+a.step {
			px := row[at : at+3 : at+3]
			buf[x] = Device{px[0], px[1], px[2]}
		}
	case n == 4:
		for x, at := 0, 0; x < len(buf); x, at = x+1, at+a.step {
			buf[x] = Device(row[at : at+4])
		}
	default:
		for x := range buf {
			buf[x] = Device{row[x*a.step]}
		}
	}
}

// Channel copies row y's codes of channel k into buf of Width values; of 16 bits the
// upper ones.
func (a *Art) Channel(y, k int, buf []uint8) {
	bytes, row := a.Depth/8, a.row(y)
	size := a.step * bytes
	for x, at := 0, k*bytes; x < len(buf); x, at = x+1, at+size {
		buf[x] = row[at]
	}
}

// Alpha copies row y's alpha, 0 clear to 255 solid, into buf of Width values; of 16
// bits the upper ones.
func (a *Art) Alpha(y int, buf []uint8) {
	if a.alphaAt >= 0 {
		a.Channel(y, a.alphaAt, buf)
		return
	}
	for x := range buf {
		buf[x] = 255
	}
}

// AlphaMask is the art's alpha as a mask whose inside is at least threshold solid, of
// 255. It is a view of the art and takes no memory. ok is false for art without
// transparency, which is all inside.
func (a *Art) AlphaMask(threshold uint8) (m distance.Mask, ok bool) {
	if a.alphaAt < 0 {
		return m, false
	}
	bytes := a.Depth / 8 // the first of two decides
	return distance.Mask{Pix: a.pix[a.alphaAt*bytes:], Width: a.Width, Height: a.Height,
		Step: a.step * bytes, Stride: a.Width * a.step * bytes, Threshold: threshold}, true
}

// NRGBA is the art as a Go picture, for those that draw; ok is false unless it is of
// 8-bit RGB. The picture may be a view of the art: do not change it.
func (a *Art) NRGBA() (img *image.NRGBA, ok bool) {
	if a.Space != icc.RGB || a.Depth != 8 {
		return nil, false
	}
	box := image.Rect(0, 0, a.Width, a.Height)
	if a.step == 4 {
		return &image.NRGBA{Pix: a.pix, Stride: 4 * a.Width, Rect: box}, true
	}
	img = image.NewNRGBA(box)
	for i := range a.Width * a.Height {
		d := a.Device(i)
		copy(img.Pix[4*i:], []uint8{d[0], d[1], d[2], a.AlphaAt(i)})
	}
	return img, true
}
