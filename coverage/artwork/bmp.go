package artwork

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math/bits"

	"laydown/colour/icc"
	"laydown/coverage/fault"
	"laydown/coverage/unit"
)

// BMP is read here: headers of 12 to 124 bytes, 1 to 32 bits a pixel with a colour map,
// masks, or packed in runs (as Microsoft's documentation of BITMAPV5HEADER and "Bitmap
// Compression" has it). Of 32 bits without a mask for alpha the fourth byte is alpha if any is not 0:
// common practice, no source.

// bitmap is how a picture lies in a BMP file.
type bitmap struct {
	w, h, bits, packing int
	topDown             bool
	masks               [4]uint32 // red, green, blue, alpha
	palette             [256][3]byte
	colours             int
	body                []byte
}

const (
	bmpPlain, bmpRuns8, bmpRuns4, bmpMasks, bmpAlphaMasks = 0, 1, 2, 3, 6
)

var errBMP = errors.New("its header is cut short")

func bmpHeader(f *File) (m meta, err error) {
	b := f.data
	if len(b) < 26 {
		return m, errBMP
	}
	u16, u32 := binary.LittleEndian.Uint16, binary.LittleEndian.Uint32
	p := &bitmap{}
	at, n := int64(u32(b[10:])), int64(u32(b[14:]))
	if n < 12 || n > 1024 || 14+n > int64(len(b)) {
		return m, errBMP
	}
	h := b[14 : 14+n]
	entry := 4
	used := 0
	switch {
	case n == 12:
		p.w, p.h, p.bits, entry = int(u16(h[4:])), int(u16(h[6:])), int(u16(h[10:])), 3
	case n >= 40:
		p.w, p.h = int(int32(u32(h[4:]))), int(int32(u32(h[8:])))
		p.bits, p.packing, used = int(u16(h[14:])), int(u32(h[16:])), int(u32(h[32:]))
		m.dpiX = dpi(float64(int32(u32(h[24:]))) * unit.MMPerInch / 1000)
		m.dpiY = dpi(float64(int32(u32(h[28:]))) * unit.MMPerInch / 1000)
	default:
		return m, fmt.Errorf("it has a header of %d bytes", n)
	}
	if p.h < 0 {
		p.h, p.topDown = -p.h, true
	}
	f.bitmap, f.Width, f.Height, f.Space, f.Depth = p, p.w, p.h, icc.RGB, 8
	switch p.packing {
	case bmpPlain, bmpRuns8, bmpRuns4, bmpMasks, bmpAlphaMasks:
	case 4, 5:
		return m, fault.New("is a BMP that only wraps another picture", "ask for that, as JPEG or PNG")
	default:
		return m, fault.New(fmt.Sprintf("is a BMP packed in a way of its own (%d)", p.packing), "save it as PNG")
	}
	if p.packing == bmpRuns8 && p.bits != 8 || p.packing == bmpRuns4 && p.bits != 4 {
		return m, fmt.Errorf("its runs do not go with %d bits a pixel", p.bits)
	}
	behind := 14 + n
	switch p.bits {
	case 1, 2, 4, 8:
		p.colours = 1 << p.bits
		if used > 0 && used < p.colours {
			p.colours = used
		}
		for i := range p.colours {
			from := behind + int64(i*entry)
			if from+3 > int64(len(b)) {
				return m, errors.New("its colour map is cut short")
			}
			p.palette[i] = [3]byte{b[from+2], b[from+1], b[from]}
		}
	case 16:
		p.masks = [4]uint32{0x7c00, 0x3e0, 0x1f, 0}
	case 24:
	case 32:
		p.masks = [4]uint32{0xff0000, 0xff00, 0xff, 0}
	default:
		return m, fmt.Errorf("it has %d bits a pixel", p.bits)
	}
	if p.packing == bmpMasks || p.packing == bmpAlphaMasks {
		if p.bits != 16 && p.bits != 32 {
			return m, fmt.Errorf("its masks do not go with %d bits a pixel", p.bits)
		}
		masks := b[14+40:] // in longer headers, or behind the usual one
		many := 3
		if p.packing == bmpAlphaMasks || n >= 56 {
			many = 4
		}
		if len(masks) < 4*many {
			return m, errBMP
		}
		for k := range many {
			p.masks[k] = u32(masks[4*k:])
			if s := p.masks[k] >> bits.TrailingZeros32(p.masks[k]|1<<31); s&(s+1) != 0 {
				return m, errors.New("its masks have holes")
			}
		}
		f.HasAlpha = p.masks[3] != 0
	} else if p.bits == 32 && n >= 56 && u32(h[52:]) == 0xff000000 {
		p.masks[3] = 0xff000000
	}
	f.HasAlpha = p.masks[3] != 0 || p.bits == 32
	if at > int64(len(b)) {
		return m, errors.New("its pixels lie outside the file")
	}
	p.body = b[at:]
	if n >= 108 && !f.options.IgnoreProfile {
		f.bmpColours(h, &m)
	}
	return m, nil
}

// bmpColours reads what the longer headers say of colours: that they are sRGB's, or a
// profile. Gamma and end points of their own are not heeded.
func (f *File) bmpColours(h []byte, m *meta) {
	switch kind := binary.LittleEndian.Uint32(h[56:]); {
	case kind == 0x73524742 || kind == 0x57696e20: // "sRGB", "Win "
		m.srgb = true
	case kind == 0x4d424544 && len(h) >= 124: // "MBED"
		at, n := int64(binary.LittleEndian.Uint32(h[112:]))+14, int64(binary.LittleEndian.Uint32(h[116:]))
		if at+n <= int64(len(f.data)) {
			m.profile = f.data[at : at+n]
		} else {
			m.profileErr = errors.New("it lies outside the file")
		}
	}
}

// line is the bytes of a row, which fills words of 32 bits.
func (p *bitmap) line() int64 { return (int64(p.w)*int64(p.bits) + 31) / 32 * 4 }

// bmpCheck refuses a file too short to hold its pixels. Runs tell at most 255 pixels by two
// bytes; what they leave out is of colour 0, so that only rows that are told count.
func bmpCheck(f *File) error {
	p := f.bitmap
	need := p.line() * int64(p.h)
	if p.packing == bmpRuns8 || p.packing == bmpRuns4 {
		need = int64(p.w) * int64(p.h) / 128
	}
	if need > int64(len(p.body))+p.line() { // the last row may lack what fills it
		return fmt.Errorf("claims %d × %d pixels but holds only %d bytes of them: it is cut short, export it again", p.w, p.h, len(p.body))
	}
	return nil
}

func decodeBMP(f *File, a *Art) error {
	p := f.bitmap
	a.step, a.alphaAt, a.Space, a.Depth = 4, -1, icc.RGB, 8
	a.pix = make([]byte, 4*p.w*p.h)
	row := func(y int) []byte {
		if !p.topDown {
			y = p.h - 1 - y
		}
		return a.pix[4*y*p.w:][:4*p.w]
	}
	if p.packing == bmpRuns8 || p.packing == bmpRuns4 {
		return p.runs(row)
	}
	line := int(p.line())
	anyAlpha := false
	for y := range p.h {
		src := p.body[min(y*line, len(p.body)):]
		if len(src) < (p.w*p.bits+7)/8 {
			return errors.New("its pixels are cut short")
		}
		dst := row(y)
		for x := range p.w {
			px := dst[4*x : 4*x+4 : 4*x+4]
			px[3] = 255
			switch p.bits {
			case 24:
				px[0], px[1], px[2] = src[3*x+2], src[3*x+1], src[3*x]
			case 16, 32:
				var v uint32
				if p.bits == 16 {
					v = uint32(binary.LittleEndian.Uint16(src[2*x:]))
				} else {
					v = binary.LittleEndian.Uint32(src[4*x:])
				}
				for k := range 3 {
					px[k] = masked(v, p.masks[k])
				}
				switch {
				case p.masks[3] != 0:
					px[3] = masked(v, p.masks[3])
					anyAlpha = true
				case p.bits == 32 && p.packing == bmpPlain:
					px[3] = byte(v >> 24)
					anyAlpha = anyAlpha || px[3] != 0
				}
			default:
				v := int(src[x*p.bits/8]) >> (8 - p.bits - x*p.bits%8) & (1<<p.bits - 1)
				if v >= p.colours {
					return errColour
				}
				copy(px, p.palette[v][:])
			}
		}
	}
	if anyAlpha {
		a.alphaAt = 3
	}
	return nil
}

// masked is the bits of v under a mask, as 8 bits.
func masked(v, mask uint32) byte {
	if mask == 0 {
		return 0
	}
	low := bits.TrailingZeros32(mask)
	top := uint64(mask >> low)
	return byte((uint64((v&mask)>>low)*255 + top/2) / top)
}

var errColour = errors.New("it has a pixel of no colour of its map")

// runs unpacks runs of colours. What is skipped is of the map's first colour.
func (p *bitmap) runs(row func(y int) []byte) error {
	for y := range p.h {
		dst := row(y)
		for x := range p.w {
			copy(dst[4*x:], []byte{p.palette[0][0], p.palette[0][1], p.palette[0][2], 255})
		}
	}
	x, y := 0, 0
	put := func(v byte) error {
		if x < p.w && y < p.h { // some programs also pack what fills a row's words
			if int(v) >= p.colours {
				return errColour
			}
			copy(row(y)[4*x:], p.palette[v][:])
		}
		x++
		return nil
	}
	// nth is the n-th colour of bytes that hold one or two each.
	nth := func(b []byte, n int) byte {
		if p.packing == bmpRuns8 {
			return b[n]
		}
		return b[n/2] >> (4 - 4*(n%2)) & 15
	}
	for b := p.body; len(b) >= 2; {
		count, v := int(b[0]), int(b[1])
		pair := b[1:2]
		b = b[2:]
		if count > 0 {
			for i := range count {
				n := 0
				if p.packing == bmpRuns4 {
					n = i % 2
				}
				if err := put(nth(pair, n)); err != nil {
					return err
				}
			}
			continue
		}
		switch v {
		case 0:
			x, y = 0, y+1
		case 1:
			return nil
		case 2:
			if len(b) < 2 {
				return errors.New("its pixels are cut short")
			}
			x, y, b = x+int(b[0]), y+int(b[1]), b[2:]
		default:
			size := v
			if p.packing == bmpRuns4 {
				size = (v + 1) / 2
			}
			if len(b) < size {
				return errors.New("its pixels are cut short")
			}
			for i := range v {
				if err := put(nth(b, i)); err != nil {
					return err
				}
			}
			b = b[min(len(b), size+size%2):]
		}
	}
	return errors.New("its runs have no end")
}
