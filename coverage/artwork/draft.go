package artwork

import (
	"image"
	"image/draw"

	"laydown/colour/icc"
)

// Draft is art that comes from no file while it is made, pixel by pixel. Different
// pixels may be set from several goroutines at once.
type Draft struct{ art *Art }

// NewDraft begins art of which info says all but the pixels. All channels are 0, and
// with HasAlpha all is clear. Depth is 8 unless it is 16.
func NewDraft(info Info) *Draft {
	if info.Depth != 16 {
		info.Depth = 8
	}
	a := &Art{Info: info, step: info.Space.Channels(), alphaAt: -1}
	if info.HasAlpha {
		a.alphaAt = a.step
		a.step++
	}
	a.pix = make([]byte, info.Width*info.Height*a.step*info.Depth/8)
	return &Draft{a}
}

// Set sets pixel i to a colour and an alpha, 0 clear to 255 solid, which art without
// alpha does not keep.
func (d *Draft) Set(i int, c Device, alpha uint8) {
	for k := range d.art.Space.Channels() {
		d.put(i, k, c[k])
	}
	d.setAlpha(i, alpha)
}

// Copy sets pixel i to the colour of another art's pixel j in all its depth, and to
// an alpha. The other art must be of the same space and depth.
func (d *Draft) Copy(i int, from *Art, j int, alpha uint8) {
	bytes := d.art.Depth / 8
	n := d.art.Space.Channels() * bytes
	copy(d.art.pix[i*d.art.step*bytes:][:n], from.pix[j*from.step*bytes:][:n])
	d.setAlpha(i, alpha)
}

func (d *Draft) setAlpha(i int, alpha uint8) {
	if d.art.alphaAt >= 0 {
		d.put(i, d.art.alphaAt, alpha)
	}
}

// put sets the k-th sample of a pixel; 16 bits repeat the 8.
func (d *Draft) put(i, k int, v uint8) {
	bytes := d.art.Depth / 8
	at := (i*d.art.step + k) * bytes
	for b := range bytes {
		d.art.pix[at+b] = v
	}
}

// Art ends the draft, which must not be used any more, and returns what was made.
// As with art from a file, HasAlpha is false if every pixel is solid.
func (d *Draft) Art() *Art {
	a := d.art
	d.art = nil
	a.settleAlpha()
	return a
}

// FromImage makes art of a Go picture: grey, CMYK and 16 bits stay what they are,
// everything else becomes RGB of 8 bits. It has no profile and no resolution. The
// picture is copied.
func FromImage(name string, img image.Image) *Art {
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	a := &Art{Info: Info{File: name, Width: w, Height: h, Space: icc.RGB, Depth: 8}, step: 4, alphaAt: -1}
	rows := func(pix []byte, stride, offset int) {
		n := w * a.step * a.Depth / 8
		for y := range h {
			at := offset + y*stride
			a.pix = append(a.pix, pix[at:at+n]...)
		}
	}
	switch p := img.(type) {
	case *image.Gray:
		a.Space, a.step = icc.Gray, 1
		rows(p.Pix, p.Stride, p.PixOffset(b.Min.X, b.Min.Y))
	case *image.Gray16:
		a.Space, a.step, a.Depth = icc.Gray, 1, 16
		rows(p.Pix, p.Stride, p.PixOffset(b.Min.X, b.Min.Y))
	case *image.CMYK:
		a.Space = icc.CMYK
		rows(p.Pix, p.Stride, p.PixOffset(b.Min.X, b.Min.Y))
	case *image.NRGBA64:
		a.Depth, a.alphaAt = 16, 3
		rows(p.Pix, p.Stride, p.PixOffset(b.Min.X, b.Min.Y))
	case *image.NRGBA:
		a.alphaAt = 3
		rows(p.Pix, p.Stride, p.PixOffset(b.Min.X, b.Min.Y))
	default:
		full := image.NewNRGBA(image.Rect(0, 0, w, h))
		draw.Draw(full, full.Rect, img, b.Min, draw.Src)
		a.pix, a.alphaAt = full.Pix, 3
	}
	a.settleAlpha()
	return a
}
