package artwork

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"

	"github.com/hhrutter/tiff"
	"golang.org/x/image/bmp"
	"golang.org/x/image/webp"

	"laydown/colour/icc"
	"laydown/coverage/artwork/svg"
)

// format is how one kind of file is read. header fills in File.Info but for
// the profile and size; check may refuse what cannot be right; decode returns
// the pixels as the file has them.
type format struct {
	name   string
	is     func(b []byte) bool
	header func(f *File) (meta, error)
	check  func(f *File) error
	decode func(f *File) (image.Image, error)
}

// sniff finds the format by content; the file's name does not matter.
func sniff(b []byte) *format {
	for _, f := range formats() {
		if f.is(b) {
			return &f
		}
	}
	return nil
}

func formats() []format {
	return []format{
		{"PNG", func(b []byte) bool { return has(b, 0, "\x89PNG\r\n\x1a\n") },
			pngHeader, pngCheck, func(f *File) (image.Image, error) { return png.Decode(bytes.NewReader(f.data)) }},
		{"JPEG", func(b []byte) bool { return has(b, 0, "\xff\xd8\xff") },
			jpegHeader, nil, func(f *File) (image.Image, error) { return jpeg.Decode(bytes.NewReader(f.data)) }},
		{"TIFF", func(b []byte) bool { return has(b, 0, "II*\x00") || has(b, 0, "MM\x00*") },
			tiffHeader, tiffCheck, decodeTIFF},
		{"WebP", func(b []byte) bool { return has(b, 0, "RIFF") && has(b, 8, "WEBP") },
			headerOf(webp.DecodeConfig, webpMeta), nil, func(f *File) (image.Image, error) { return webp.Decode(bytes.NewReader(f.data)) }},
		{"GIF", func(b []byte) bool { return has(b, 0, "GIF87a") || has(b, 0, "GIF89a") },
			headerOf(gif.DecodeConfig, func([]byte) meta { return meta{} }), nil, decodeGIF},
		{"BMP", func(b []byte) bool { return has(b, 0, "BM") && len(b) > 26 },
			headerOf(bmp.DecodeConfig, bmpMeta), nil, func(f *File) (image.Image, error) { return bmp.Decode(bytes.NewReader(f.data)) }},
		{"SVG", svg.Is, svgHeader, nil, drawSVG},
		{"PDF", isPDF, pdfHeader, nil, drawPDF},
	}
}

// isPDF: the header may stand behind other bytes (ISO 32000-1, annex H, note 13), as
// some programs' own files have it.
func isPDF(b []byte) bool { return bytes.Contains(b[:min(len(b), 1024)], []byte("%PDF-")) }

// describe fills in the space, depth and alpha that a Go colour model means.
func (f *File) describe(c image.Config) {
	f.Width, f.Height = c.Width, c.Height
	f.Space, f.Depth, f.HasAlpha = icc.RGB, 8, false
	switch c.ColorModel {
	case color.GrayModel:
		f.Space = icc.Gray
	case color.Gray16Model:
		f.Space, f.Depth = icc.Gray, 16
	case color.CMYKModel:
		f.Space = icc.CMYK
	case color.NRGBAModel, color.NYCbCrAModel:
		f.HasAlpha = true
	case color.NRGBA64Model:
		f.Depth, f.HasAlpha = 16, true
	case color.RGBA64Model:
		f.Depth = 16
	default:
		if p, ok := c.ColorModel.(color.Palette); ok {
			for _, v := range p {
				if _, _, _, a := v.RGBA(); a != 0xffff {
					f.HasAlpha = true
				}
			}
		}
	}
}

func headerOf[R any](config func(R) (image.Config, error), m func([]byte) meta) func(*File) (meta, error) {
	return func(f *File) (meta, error) {
		c, err := config(any(bytes.NewReader(f.data)).(R))
		if err != nil {
			return meta{}, err
		}
		f.describe(c)
		return m(f.data), nil
	}
}

func pngHeader(f *File) (meta, error) {
	if len(f.data) < 29 || string(f.data[12:16]) != "IHDR" {
		return meta{}, errors.New("no header chunk")
	}
	w, h := binary.BigEndian.Uint32(f.data[16:]), binary.BigEndian.Uint32(f.data[20:])
	if w > 1<<30 || h > 1<<30 { // Go's decoder would only say that the size overflows
		return meta{}, fmt.Errorf("it claims %d × %d pixels", w, h)
	}
	f.Width, f.Height = int(w), int(h)
	if f.Width == 0 || f.Height == 0 || f.Width > MaxPixels/f.Height {
		return meta{}, nil // refused with its own message
	}
	m, err := headerOf(png.DecodeConfig, pngMeta)(f)
	if kind := f.data[25]; kind == 4 { // grey and alpha, which Go decodes as RGB
		f.Space = icc.Gray
		f.HasAlpha = true
	}
	return m, err
}

// pngCheck refuses a file too short to hold its pixels: deflate packs at most
// 1032 to 1 (RFC 1951: 258 bytes in two bits).
func pngCheck(f *File) error {
	bits := int64(f.data[24]) * map[byte]int64{0: 1, 2: 3, 3: 1, 4: 2, 6: 4}[f.data[25]]
	raw := (int64(f.Width)*bits + 7) / 8 * int64(f.Height)
	if raw > 1032*int64(len(f.data)) {
		return fmt.Errorf("claims %d × %d pixels but holds only %d bytes: it is cut short, export it again", f.Width, f.Height, len(f.data))
	}
	return nil
}

// jpegHeader also mends what Go refuses: CMYK without an Adobe marker, whose
// values then count toner rather than light.
func jpegHeader(f *File) (meta, error) {
	m := jpegMeta(f.data)
	c, err := jpeg.DecodeConfig(bytes.NewReader(f.data))
	if err != nil {
		return m, err
	}
	f.describe(c)
	if f.Space == icc.CMYK && !bytes.Contains(f.data[:min(len(f.data), 1<<20)], []byte("\xff\xee\x00\x0eAdobe")) {
		adobe := "\xff\xee\x00\x0eAdobe\x00\x64\x00\x00\x00\x00\x00"
		f.data = append(append(append([]byte(nil), f.data[:2]...), adobe...), f.data[2:]...)
		f.invertCMYK = true
	}
	return m, nil
}

func tiffHeader(f *File) (meta, error) {
	d, err := readIFD(f.data)
	if err != nil {
		return meta{}, err
	}
	f.Width, f.Height = d.int(tagWidth, 0), d.int(tagHeight, 0)
	bits := d.ints(tagBits)
	if len(bits) == 0 {
		bits = []int{1}
	}
	f.Depth = 8
	if bits[0] == 16 {
		f.Depth = 16
	}
	f.HasAlpha = alphaSample(d) >= 0
	switch d.int(tagPhotometric, -1) {
	case 0, 1:
		f.Space = icc.Gray
	case 5:
		f.Space = icc.CMYK
	default:
		f.Space = icc.RGB
	}
	return tiffMeta(f.data), nil
}

// tiffCheck refuses with a plain word what neither reader of TIFF knows.
func tiffCheck(f *File) error {
	d, err := readIFD(f.data)
	if err != nil {
		return err
	}
	for _, b := range d.ints(tagBits) {
		if b != 1 && b != 8 && b != 16 {
			return fmt.Errorf("is a TIFF of %d bits a sample: save it with 8 or 16", b)
		}
	}
	if s := d.int(tagSampleFormat, 1); s != 1 && s != 4 {
		return errors.New("is a TIFF of floating-point or signed samples: save it with 8 or 16 bits")
	}
	switch p := d.int(tagPhotometric, -1); p {
	case 0, 1, 2, 3, 5, 6:
	case 8, 9, 10:
		return errors.New("is a TIFF in Lab: save it as RGB or CMYK")
	default:
		return fmt.Errorf("is a TIFF of colour kind %d: save it as RGB, grey or CMYK", p)
	}
	return nil
}

func decodeTIFF(f *File) (image.Image, error) {
	d, err := readIFD(f.data)
	if err != nil {
		return nil, err
	}
	if needsOwnReader(d) {
		return nil, errRaw
	}
	return tiff.Decode(bytes.NewReader(f.data))
}

func decodeGIF(f *File) (image.Image, error) {
	img, err := gif.Decode(bytes.NewReader(f.data))
	if err != nil {
		return nil, err
	}
	p, ok := img.(*image.Paletted)
	if !ok || p.Rect == image.Rect(0, 0, f.Width, f.Height) {
		return img, nil
	}
	// A first frame smaller than the picture leaves the rest clear.
	full := image.NewNRGBA(image.Rect(0, 0, f.Width, f.Height))
	for y := p.Rect.Min.Y; y < p.Rect.Max.Y && y < f.Height; y++ {
		for x := p.Rect.Min.X; x < p.Rect.Max.X && x < f.Width; x++ {
			full.Set(x, y, p.At(x, y))
		}
	}
	return full, nil
}
