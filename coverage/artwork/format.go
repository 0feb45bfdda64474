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

	"laydown/colour/icc"
	"laydown/coverage/artwork/photo"
	"laydown/coverage/artwork/psd"
	"laydown/coverage/artwork/svg"
	"laydown/coverage/fault"
	"laydown/coverage/limit"
)

// format is how one kind of file is read. header fills in File.Info but for
// the profile and size; check may refuse what cannot be right, before memory is asked for
// pixels; decode lays out the pixels as the file has them.
type format struct {
	name   string
	is     func(b []byte) bool
	header func(f *File) (meta, error)
	check  func(f *File) error
	decode func(f *File, a *Art) error
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

// FirstBytes is how many of a file's first bytes tell its format.
const FirstBytes = 64 << 10

// Is reports whether a file's first bytes, up to [FirstBytes] of them, are those of a format
// that is read.
func Is(first []byte) bool { return sniff(first) != nil }

func formats() []format {
	return []format{
		{"PNG", func(b []byte) bool { return has(b, 0, "\x89PNG\r\n\x1a\n") },
			pngHeader, pngCheck, drawn(func(f *File) (image.Image, error) { return png.Decode(bytes.NewReader(f.data)) })},
		{"JPEG", func(b []byte) bool { return has(b, 0, "\xff\xd8\xff") },
			jpegHeader, atMost(1024), drawn(func(f *File) (image.Image, error) { return jpeg.Decode(bytes.NewReader(f.data)) })},
		{"TIFF", isTIFF, tiffHeader, tiffCheck, decodeTIFF},
		{"WebP", func(b []byte) bool { return has(b, 0, "RIFF") && has(b, 8, "WEBP") },
			webpHeader, atMost(mostFlat), decodeWebP},
		{"GIF", func(b []byte) bool { return has(b, 0, "GIF87a") || has(b, 0, "GIF89a") },
			gifHeader, gifCheck, drawn(decodeGIF)},
		{"BMP", func(b []byte) bool { return has(b, 0, "BM") && len(b) > 26 }, bmpHeader, bmpCheck, decodeBMP},
		{"HEIC or AVIF", func(b []byte) bool { return photo.Is(b) && has(b, 4, "ftyp") },
			photoHeader, atMost(mostFlat), drawn(decodePhoto)},
		{"JPEG XL", photo.Is, photoHeader, atMost(mostFlat), drawn(decodePhoto)},
		{"PSD", psd.Is, psdHeader, func(f *File) error { return f.psd.Fits() }, decodePSD},
		{"SVG", svg.Is, svgHeader, nil, drawn(drawSVG)},
		{"PDF", isPDF, pdfHeader, nil, drawPDF},
	}
}

// isTIFF also knows BigTIFF; what else begins alike is a camera's.
func isTIFF(b []byte) bool {
	return (has(b, 0, "II*\x00") || has(b, 0, "MM\x00*") || has(b, 0, "II+\x00") || has(b, 0, "MM\x00+")) && !has(b, 8, "CR\x02")
}

// mostFlat is how many pixels a byte may stand for in formats that say in a few bytes that all
// is alike: a white sheet of 48 million pixels took 934 bytes as AVIF and 1898 as WebP.
const mostFlat = 1 << 17

// atMost refuses a file in which a byte would stand for more than so many pixels, before
// memory is asked for them. Of JPEG, every block of 64 pixels takes a bit.
func atMost(pixels int) func(f *File) error {
	return func(f *File) error {
		if f.Width*f.Height/pixels > len(f.data) {
			return fmt.Errorf("claims %d × %d pixels but holds only %d bytes: it is cut short, export it again", f.Width, f.Height, len(f.data))
		}
		return nil
	}
}

// Choice is which picture is read of a file that holds several, where nobody named one.
type Choice struct {
	Of      string // page or frame; "" if there was nothing to choose
	Value   string // such as "1 of 12"
	Because string
}

// firstOf is the choice of the first of n frames; of an unknown number if n is 0.
func firstOf(n int) Choice {
	switch n {
	case 0:
		return Choice{"frame", "the first", "a print shows one"}
	case 1:
		return Choice{}
	}
	return Choice{"frame", fmt.Sprintf("1 of %d", n), "a print shows one"}
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

func pngHeader(f *File) (meta, error) {
	if len(f.data) < 29 || string(f.data[12:16]) != "IHDR" {
		return meta{}, errors.New("no header chunk")
	}
	w, h := binary.BigEndian.Uint32(f.data[16:]), binary.BigEndian.Uint32(f.data[20:])
	if w > 1<<30 || h > 1<<30 { // Go's decoder would only say that the size overflows
		return meta{}, fmt.Errorf("it claims %d × %d pixels", w, h)
	}
	f.Width, f.Height = int(w), int(h)
	if f.Width == 0 || f.Height == 0 || f.Width > f.mostPixels()/f.Height {
		return meta{}, nil // refused with its own message
	}
	c, err := png.DecodeConfig(bytes.NewReader(f.data))
	if err != nil {
		return meta{}, err
	}
	f.describe(c)
	m := pngMeta(f.data, int64(f.options.Limits.PressMB)*limit.MB)
	if m.frames > 1 {
		f.Chosen = firstOf(m.frames)
	}
	if kind := f.data[25]; kind == 4 { // grey and alpha, which Go decodes as RGB
		f.Space = icc.Gray
		f.HasAlpha = true
	}
	return m, nil
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

// jpegSegments walks the segments before the first scan.
func jpegSegments(b []byte, see func(marker byte, data []byte)) {
	for at := 2; at+4 <= len(b) && b[at] == 0xff; {
		marker := b[at+1]
		if marker == 0xff { // fill
			at++
			continue
		}
		n := int(binary.BigEndian.Uint16(b[at+2:]))
		if marker == 0xda || n < 2 || at+2+n > len(b) {
			return
		}
		see(marker, b[at+4:at+2+n])
		at += 2 + n
	}
}

// jpegHeader also mends what Go refuses: CMYK without an Adobe marker, whose
// values then count toner rather than light.
func jpegHeader(f *File) (meta, error) {
	m := jpegMeta(f.data)
	adobe := false
	var refuse error
	jpegSegments(f.data, func(marker byte, data []byte) {
		switch {
		case marker == 0xee && has(data, 0, "Adobe") && len(data) >= 12:
			adobe = true
		case marker < 0xc0 || marker > 0xcf || marker == 0xc4 || marker == 0xc8 || marker == 0xcc || len(data) < 6:
		case marker == 0xc9 || marker == 0xca:
			refuse = fault.New("is a JPEG with arithmetic coding, which few programs write", askJPEG)
		case marker > 0xc2:
			refuse = fault.New("is a JPEG of a rare kind, lossless or in layers", askJPEG)
		case data[0] != 8:
			refuse = fault.New(fmt.Sprintf("is a JPEG of %d bits a sample", data[0]), askJPEG)
		}
	})
	if refuse != nil {
		return m, refuse
	}
	c, err := jpeg.DecodeConfig(bytes.NewReader(f.data))
	if err != nil {
		return m, err
	}
	f.describe(c)
	if f.Space == icc.CMYK && !adobe {
		f.data = append(append(append([]byte(nil), f.data[:2]...), adobeMarker...), f.data[2:]...)
		f.invertCMYK = true
	}
	return m, nil
}

const askJPEG = "save it as an ordinary JPEG, or as PNG or TIFF"

func psdHeader(f *File) (meta, error) {
	p, err := psd.Read(f.data)
	if err != nil {
		return meta{}, err
	}
	f.psd = p
	f.Width, f.Height, f.Depth, f.HasAlpha, f.Space = p.Width, p.Height, p.Depth, p.Alpha, spaceOf(p.Channels)
	m := meta{dpiX: dpi(p.DPIX), dpiY: dpi(p.DPIY), profile: p.ICC}
	if p.Exif != nil {
		m.exif(p.Exif)
	}
	return m, nil
}

func decodePSD(f *File, a *Art) (err error) {
	a.step, a.alphaAt = f.psd.Channels, -1
	if f.psd.Alpha {
		a.alphaAt = a.step
		a.step++
	}
	a.pix, err = f.psd.Decode()
	return err
}

// gifFrames is how many frames a GIF holds, and the pixels of the first (GIF89a, appendix A).
func gifFrames(b []byte) (count, pixels int) {
	if len(b) < 13 {
		return 0, 0
	}
	table := func(flags byte) int {
		if flags&0x80 == 0 {
			return 0
		}
		return 3 << (flags&7 + 1)
	}
	at := 13 + table(b[10])
	blocks := func() {
		for at < len(b) && b[at] != 0 {
			at += 1 + int(b[at])
		}
		at++
	}
	for at < len(b) {
		switch b[at] {
		case 0x21:
			at += 2
			blocks()
		case 0x2c:
			if at+10 > len(b) {
				return count, pixels
			}
			if count++; count == 1 {
				pixels = int(binary.LittleEndian.Uint16(b[at+5:])) * int(binary.LittleEndian.Uint16(b[at+7:]))
			}
			at += 11 + table(b[at+9]) // behind the least size of a code
			blocks()
		default:
			return count, pixels
		}
	}
	return count, pixels
}

func gifHeader(f *File) (meta, error) {
	c, err := gif.DecodeConfig(bytes.NewReader(f.data))
	if err != nil {
		return meta{}, err
	}
	f.describe(c)
	if n, _ := gifFrames(f.data); n > 1 {
		f.Chosen = firstOf(n)
	}
	return meta{}, nil
}

// gifCheck refuses a first frame that is too large for the file: a code of 12 bits tells at
// most 3838 pixels.
func gifCheck(f *File) error {
	if _, pixels := gifFrames(f.data); pixels/2560 > len(f.data) || pixels > f.mostPixels() {
		return fmt.Errorf("claims a frame of %d pixels but holds only %d bytes: it is cut short, export it again", pixels, len(f.data))
	}
	return atMost(mostFlat)(f)
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
