package artwork

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"strings"

	"github.com/disintegration/imaging"

	"laydown/colour/icc"
)

// Decode decodes the pixels. The File must not be used afterwards: its bytes
// are let go.
func (f *File) Decode() (a *Art, err error) {
	defer func() {
		if r := recover(); r != nil { // a decoder we do not own met what it did not foresee
			a, err = nil, fmt.Errorf("%s: is a damaged %s file (%v): export it again", f.File, f.Format, r)
		}
	}()
	a = &Art{Info: f.Info, alphaAt: -1}
	if err := f.format.decode(f, a); err != nil {
		reason := strings.TrimPrefix(err.Error(), strings.ToLower(f.Format)+": ")
		return nil, fmt.Errorf("%s: is a damaged or cut-short %s file (%s): export it again", f.File, f.Format, reason)
	}
	f.data, f.drawing, f.tiff, f.psd, f.photo = nil, nil, nil, nil, nil
	if f.invertCMYK {
		for i := range a.pix {
			a.pix[i] ^= 0xff
		}
	}
	a.turn(f.orientation)
	if want := a.Width * a.Height * a.step * a.Depth / 8; len(a.pix) != want {
		return nil, fmt.Errorf("%s: is a damaged %s file (%d bytes of pixels where %d belong): export it again", f.File, f.Format, len(a.pix), want)
	}
	a.settleAlpha()
	if a.Space == icc.Gray && a.Profile != nil && a.Profile.Space == icc.RGB {
		a.greyToRGB()
	}
	return a, nil
}

// drawn is a format's way to decode by way of a Go image.
func drawn(decode func(f *File) (image.Image, error)) func(f *File, a *Art) error {
	return func(f *File, a *Art) error {
		img, err := decode(f)
		if err != nil {
			return err
		}
		// What a drawing lacks is known now.
		a.Substitutes, a.Linked, a.Marks = f.Substitutes, f.Linked, f.Marks
		return a.lay(img, f)
	}
}

// lay takes over the pixels of a Go image.
func (a *Art) lay(img image.Image, f *File) error {
	b := img.Bounds()
	own := image.Point{f.Width, f.Height}
	if f.orientation >= 5 {
		own.X, own.Y = own.Y, own.X
	}
	if b.Size() != own {
		return fmt.Errorf("its header says %v pixels and it holds %v", own, b.Size())
	}
	a.Depth, a.step = 8, 4
	switch p := img.(type) {
	case *image.Gray:
		p.Pix = tight(p.Pix, p.Stride, b.Dx(), b.Dy())
		a.pix, a.step, a.Space = p.Pix, 1, icc.Gray
	case *image.Gray16:
		a.pix, a.step, a.Depth, a.Space = p.Pix, 1, 16, icc.Gray
	case *image.CMYK:
		p.Pix = tight(p.Pix, p.Stride, 4*b.Dx(), b.Dy())
		a.pix, a.Space = p.Pix, icc.CMYK
	case *image.NRGBA:
		a.pix, a.alphaAt = p.Pix, 3
	case *image.NRGBA64:
		a.pix, a.Depth, a.alphaAt = p.Pix, 16, 3
	case *image.RGBA:
		a.pix = p.Pix
		if f.HasAlpha {
			unpremultiply(a.pix, 3, 4, 1)
			a.alphaAt = 3
		}
	case *image.RGBA64:
		a.pix, a.Depth = p.Pix, 16
		if f.HasAlpha {
			unpremultiply(a.pix, 3, 4, 2)
			a.alphaAt = 3
		}
	case *image.Paletted:
		a.fromPalette(p)
	case *image.YCbCr:
		if f.Format == "WebP" {
			a.fromVideo(p, nil, 0)
			break
		}
		full := image.NewRGBA(b)
		draw.Draw(full, b, p, b.Min, draw.Src)
		a.pix = full.Pix
	case *image.NYCbCrA: // only WebP
		a.fromVideo(&p.YCbCr, p.A, p.AStride)
		a.alphaAt = 3
	default:
		full := image.NewNRGBA(b)
		draw.Draw(full, b, p, b.Min, draw.Src)
		a.pix, a.alphaAt = full.Pix, 3
	}
	return nil
}

// settleAlpha forgets an alpha that lets nothing through, and says whether one is left.
func (a *Art) settleAlpha() {
	if a.alphaAt >= 0 && a.opaque() {
		a.alphaAt = -1
	}
	a.HasAlpha = a.alphaAt >= 0
}

// opaque reports whether no pixel lets anything through.
func (a *Art) opaque() bool {
	width := a.Depth / 8
	for i, step := a.alphaAt*width, a.step*width; i < len(a.pix); i += step {
		if a.pix[i] != 255 || (width == 2 && a.pix[i+1] != 255) {
			return false
		}
	}
	return true
}

// fromVideo converts the YCbCr of lossy WebP, which has the range and matrix of
// ITU-R BT.601 video (RFC 6386, 9.2) where Go's own conversion is for JPEG.
func (a *Art) fromVideo(p *image.YCbCr, alpha []uint8, alphaStride int) {
	w, h := p.Rect.Dx(), p.Rect.Dy()
	a.pix = make([]byte, 4*w*h)
	clip := func(v int) uint8 { return uint8(max(0, min(255, (v+1<<15)>>16))) }
	for y := range h {
		for x := range w {
			luma := 76309 * (int(p.Y[p.YOffset(x, y)]) - 16) // 255/219 in 1/65536
			c := p.COffset(x, y)
			cb, cr := int(p.Cb[c])-128, int(p.Cr[c])-128
			o := a.pix[4*(y*w+x):]
			o[0], o[1], o[2], o[3] = clip(luma+104597*cr), clip(luma-25675*cb-53279*cr), clip(luma+132201*cb), 255
			if alpha != nil {
				o[3] = alpha[y*alphaStride+x]
			}
		}
	}
}

// tight drops what a decoder left between the rows.
func tight(pix []byte, stride, row, rows int) []byte {
	if stride == row {
		return pix[:row*rows]
	}
	out := make([]byte, 0, row*rows)
	for y := range rows {
		out = append(out, pix[y*stride:y*stride+row]...)
	}
	return out
}

func (a *Art) fromPalette(p *image.Paletted) {
	clear := false
	var table [256][4]uint8
	for i, c := range p.Palette {
		v, straight := c.(color.NRGBA) // as the file has it
		if !straight {
			v = color.NRGBAModel.Convert(c).(color.NRGBA)
		}
		clear = clear || v.A != 255
		table[i&255] = [4]uint8{v.R, v.G, v.B, v.A}
	}
	a.pix = make([]byte, 4*len(p.Pix))
	for i, v := range p.Pix {
		copy(a.pix[4*i:], table[v][:])
	}
	if clear {
		a.alphaAt = 3
	}
}

// greyToRGB repeats the grey sample for artwork whose profile is for RGB.
func (a *Art) greyToRGB() {
	width := a.Depth / 8
	n := a.Width * a.Height
	pix := make([]byte, n*4*width)
	for i := range n {
		src, dst := a.pix[i*a.step*width:], pix[i*4*width:]
		for k := range 3 {
			copy(dst[k*width:(k+1)*width], src)
		}
		alpha := []byte{255, 255}
		if a.alphaAt >= 0 {
			alpha = src[a.alphaAt*width:]
		}
		copy(dst[3*width:4*width], alpha)
	}
	if a.alphaAt >= 0 {
		a.alphaAt = 3
	}
	a.pix, a.step, a.Space = pix, 4, icc.RGB
}

// turns undoes an EXIF orientation (EXIF 2.3, tag 274).
var turns = map[int]func(image.Image) *image.NRGBA{
	2: imaging.FlipH, 3: imaging.Rotate180, 4: imaging.FlipV, 5: imaging.Transpose,
	6: imaging.Rotate270, 7: imaging.Transverse, 8: imaging.Rotate90,
}

// turn sets the pixels upright. The imaging library moves four bytes a pixel
// and looks at none of them, so any layout passes through it in fours.
func (a *Art) turn(orientation int) {
	f := turns[orientation]
	if f == nil {
		return
	}
	w, h := a.Width, a.Height
	if orientation >= 5 {
		w, h = h, w
	}
	size := a.step * a.Depth / 8
	if len(a.pix) != w*h*size {
		return // Decode reports it
	}
	if size == 4 {
		a.pix = f(&image.NRGBA{Pix: a.pix, Stride: 4 * w, Rect: image.Rect(0, 0, w, h)}).Pix
		return
	}
	out := make([]byte, len(a.pix))
	for from := 0; from < size; from += 4 {
		n := min(4, size-from)
		part := image.NewNRGBA(image.Rect(0, 0, w, h))
		for i := range w * h {
			copy(part.Pix[4*i:4*i+n], a.pix[i*size+from:])
		}
		for i, t := 0, f(part); i < w*h; i++ {
			copy(out[i*size+from:i*size+from+n], t.Pix[4*i:])
		}
	}
	a.pix = out
}
