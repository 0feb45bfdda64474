// Package psd reads the flattened picture that layered working files (.psd, and .psb for
// large ones) carry beside their layers, as the Adobe Photoshop File Formats Specification
// has it.
//
// Layers, masks, spot colours and saved selections are not read: what counts is the picture
// that the program which wrote the file made of them. A file that carries none is refused.
// Limits: 8 and 16 bits, and black and white; no Lab, no floating point, no inks by name.
package psd

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"laydown/coverage/fault"
)

// File is what a file says of its flattened picture.
type File struct {
	Width, Height int     // pixels, 1 to 300 000
	Depth         int     // bits of a sample as decoded: 8 or 16
	Channels      int     // of colour as decoded: 1 grey, 3 RGB, 4 CMYK
	Alpha         bool    // the picture has transparency
	DPIX, DPIY    float64 // pixels per inch; 0 if the file does not say
	ICC           []byte  // profile; nil if there is none
	Exif          []byte  // a TIFF structure; nil if there is none

	mode, bits int
	samples    int // channels in the file
	palette    []byte
	clear      int // index of the palette that is clear, or -1
	wide       bool
	packing    int
	body       []byte
}

// Modes of colour.
const (
	bitmap, grey, indexed, rgb, cmyk, multichannel, duotone, lab = 0, 1, 2, 3, 4, 7, 8, 9
)

// Is reports whether a file begins as one of this kind.
func Is(b []byte) bool { return bytes.HasPrefix(b, []byte("8BPS")) }

var errShort = errors.New("it is cut short")

// part takes a part of b that its length stands before, in so many bytes.
func part(b []byte, size int) (inside, rest []byte, err error) {
	if len(b) < size {
		return nil, nil, errShort
	}
	n := uint64(binary.BigEndian.Uint32(b))
	if size == 8 {
		n = binary.BigEndian.Uint64(b)
	}
	if b = b[size:]; n > uint64(len(b)) {
		return nil, nil, errShort
	}
	return b[:n], b[n:], nil
}

// longest is how many pixels a side may have (of .psb; the specification).
const longest = 300_000

// Read reads all but the pixels. A file of a kind that is not read, or without a flattened
// picture, is a [fault.Fault]; another error is damage.
func Read(b []byte) (*File, error) {
	if len(b) < 26 || !Is(b) {
		return nil, errShort
	}
	u16 := func(at int) int { return int(binary.BigEndian.Uint16(b[at:])) }
	version := u16(4)
	f := &File{samples: u16(12), Height: int(binary.BigEndian.Uint32(b[14:])), Width: int(binary.BigEndian.Uint32(b[18:])),
		bits: u16(22), mode: u16(24), wide: version == 2, clear: -1}
	if version != 1 && version != 2 {
		return nil, fmt.Errorf("it is of version %d, which nobody knows", version)
	}
	if f.Width > longest || f.Height > longest {
		return nil, fmt.Errorf("it claims %d × %d pixels", f.Width, f.Height)
	}
	if err := f.takeMode(); err != nil {
		return nil, err
	}
	colours, rest, err := part(b[26:], 4)
	if err != nil {
		return nil, err
	}
	if f.mode == indexed {
		if f.palette = colours; len(colours) < 768 {
			return nil, errors.New("its colour map is cut short")
		}
	}
	resources, rest, err := part(rest, 4)
	if err != nil {
		return nil, err
	}
	if err := f.takeResources(resources); err != nil {
		return nil, err
	}
	size := 4
	if f.wide {
		size = 8
	}
	layers, rest, err := part(rest, size)
	if err != nil {
		return nil, err
	}
	if f.mode != indexed && f.samples > f.Channels {
		f.Alpha = f.mergedAlpha(layers)
	}
	if len(rest) < 2 {
		return nil, errNone
	}
	f.packing, f.body = int(binary.BigEndian.Uint16(rest)), rest[2:]
	return f, nil
}

// errNone says that nothing is there that could be printed.
var errNone = fault.New("is a layered file without a flattened picture in it",
	"ask for it saved anew with one (the compatibility that programs offer when they save), or as PDF, TIFF or PNG")

func (f *File) takeMode() error {
	f.Depth = 8
	switch f.bits {
	case 16:
		f.Depth = 16
	case 32:
		return fault.New("is a layered file of 32 bits a sample", "save it with 8 or 16")
	case 8:
	case 1:
		if f.mode != bitmap {
			return fmt.Errorf("it has 1 bit a sample in mode %d", f.mode)
		}
	default:
		return fmt.Errorf("it has %d bits a sample", f.bits)
	}
	switch f.mode {
	case bitmap:
		f.Channels = 1
		if f.bits != 1 {
			return fmt.Errorf("it has %d bits a sample in black and white", f.bits)
		}
	case grey, duotone: // whose inks are private, and whose samples are to be taken for grey
		f.Channels = 1
	case indexed:
		f.Channels = 3
		if f.bits != 8 {
			return fmt.Errorf("it has %d bits a sample with a colour map", f.bits)
		}
	case rgb:
		f.Channels = 3
	case cmyk:
		f.Channels = 4
	case lab:
		return fault.New("is a layered file in Lab", "save it as RGB or CMYK")
	case multichannel:
		return fault.New("is a layered file of inks of its own", "save it as RGB or CMYK")
	default:
		return fmt.Errorf("it has colours of kind %d", f.mode)
	}
	want := f.Channels
	if f.mode == indexed {
		want = 1
	}
	if f.samples < want || f.samples > 56 {
		return fmt.Errorf("it has %d channels where %d belong", f.samples, want)
	}
	return nil
}

// Resources that are heeded.
const (
	resolution  = 1005
	iccProfile  = 1039
	clearIndex  = 1047
	versionInfo = 1057
	exifData    = 1058
)

func (f *File) takeResources(b []byte) error {
	for len(b) >= 12 && string(b[:4]) == "8BIM" {
		id := binary.BigEndian.Uint16(b[4:])
		name := (1 + int(b[6]) + 1) &^ 1
		if len(b) < 6+name {
			return nil
		}
		data, rest, err := part(b[6+name:], 4)
		if err != nil {
			return nil // what counts stands before what is broken, or is missed below
		}
		if len(data)%2 == 1 && len(rest) > 0 {
			rest = rest[1:]
		}
		b = rest
		switch {
		case id == resolution && len(data) >= 16:
			// Pixels per inch in 1/65536, whatever unit a person is shown.
			f.DPIX = float64(binary.BigEndian.Uint32(data)) / 65536
			f.DPIY = float64(binary.BigEndian.Uint32(data[8:])) / 65536
		case id == iccProfile && len(data) > 0:
			f.ICC = data
		case id == clearIndex && len(data) >= 2 && f.mode == indexed:
			if f.clear = int(binary.BigEndian.Uint16(data)); f.clear > 255 {
				f.clear = -1
			}
			f.Alpha = f.clear >= 0
		case id == versionInfo && len(data) >= 5 && data[4] == 0:
			return errNone
		case id == exifData:
			f.Exif = data
		}
	}
	return nil
}

// mergedAlpha reports whether the first channel behind the colours is the flattened
// picture's transparency: the number of layers is then below 0. Files of 16 bits keep their
// layers in a block of their own.
func (f *File) mergedAlpha(b []byte) bool {
	size := 4
	if f.wide {
		size = 8
	}
	info, rest, err := part(b, size)
	if err != nil {
		return false
	}
	if len(info) >= 2 {
		return int16(binary.BigEndian.Uint16(info)) < 0
	}
	if _, rest, err = part(rest, 4); err != nil { // the mask of all layers
		return false
	}
	for len(rest) >= 12 {
		if s := string(rest[:4]); s != "8BIM" && s != "8B64" {
			return false
		}
		kind := string(rest[4:8])
		data, after, err := part(rest[8:], blockSize(kind, f.wide))
		if err != nil {
			return false
		}
		switch kind {
		case "Lr16", "Layr":
			return len(data) >= 2 && int16(binary.BigEndian.Uint16(data)) < 0
		case "Mtrn", "Mt16":
			return true
		}
		if pad := -len(data) & 3; pad <= len(after) {
			after = after[pad:]
		}
		rest = after
	}
	return false
}

// blockSize is how many bytes tell the length of a block of further information about layers.
func blockSize(kind string, wide bool) int {
	switch kind {
	case "LMsk", "Lr16", "Lr32", "Layr", "Mt16", "Mt32", "Mtrn", "Alph", "FMsk", "lnk2", "FEid", "FXid", "PxSD":
		if wide {
			return 8
		}
	}
	return 4
}

// line is the bytes of one row of one channel.
func (f *File) line() int { return (f.Width*f.bits + 7) / 8 }

// read is how many channels are decoded.
func (f *File) read() int {
	n := f.Channels
	if f.mode == indexed {
		return 1
	}
	if f.Alpha {
		n++
	}
	return n
}

// Ways of packing.
const (
	packNone, packRuns, packZip, packZipDifference = 0, 1, 2, 3
)

// Fits refuses a file too short to hold its pixels, before memory is asked for them.
func (f *File) Fits() error {
	need, have := int64(f.line())*int64(f.Height)*int64(f.samples), int64(len(f.body))
	switch f.packing {
	case packNone:
	case packRuns: // two bytes tell at most 128, and every row has its length
		need = max(need/64, int64(f.Height)*int64(f.samples)*2)
	case packZip, packZipDifference: // deflate tells 258 bytes by two bits (RFC 1951)
		need /= 1032
	default:
		return fmt.Errorf("is packed in an unknown way (%d): save it anew, as TIFF or PNG", f.packing)
	}
	if need > have {
		return fmt.Errorf("claims %d × %d pixels but holds only %d bytes of them: it is cut short, export it again", f.Width, f.Height, have)
	}
	return nil
}

// Decode decodes the picture, row after row from the top: of each pixel its channels and
// then, if Alpha, its alpha, 0 clear; of one byte each, or of two if Depth is 16, the upper
// first. CMYK counts toner. [File.Fits] must have been asked before.
func (f *File) Decode() ([]byte, error) {
	planes, err := f.planes()
	if err != nil {
		return nil, err
	}
	if f.mode == indexed {
		return f.mapped(planes[0]), nil
	}
	if f.mode == bitmap {
		planes[0] = f.unbit(planes[0])
	}
	width, step := f.Depth/8, f.read()
	n := f.Width * f.Height
	pix := make([]byte, n*step*width)
	for k, plane := range planes {
		for i := range n {
			copy(pix[(i*step+k)*width:][:width], plane[i*width:])
		}
	}
	if f.Alpha {
		f.offWhite(pix, step)
	}
	if f.mode == cmyk { // which is stored as light
		for i := 0; i < len(pix); i += step * width {
			for k := range 4 * width {
				pix[i+k] ^= 0xff
			}
		}
	}
	return pix, nil
}

// planes unpacks as many channels as are read, each whole.
func (f *File) planes() ([][]byte, error) {
	line := f.line()
	size := line * f.Height
	planes := make([][]byte, f.read())
	switch f.packing {
	case packNone:
		for k := range planes {
			if len(f.body) < (k+1)*size {
				return nil, errShort
			}
			planes[k] = f.body[k*size : (k+1)*size]
		}
	case packRuns:
		count := 2
		if f.wide {
			count = 4
		}
		head := f.Height * f.samples * count
		if head > len(f.body) {
			return nil, errShort
		}
		at := head
		for k := range planes {
			planes[k] = make([]byte, size)
			for y := range f.Height {
				entry := f.body[(k*f.Height+y)*count:]
				n := int(binary.BigEndian.Uint16(entry))
				if f.wide {
					n = int(binary.BigEndian.Uint32(entry))
				}
				if n > len(f.body)-at {
					return nil, errShort
				}
				if !unpackRuns(planes[k][y*line:(y+1)*line], f.body[at:at+n]) {
					return nil, fmt.Errorf("row %d does not hold its pixels", y+1)
				}
				at += n
			}
		}
	default:
		z, err := zlib.NewReader(bytes.NewReader(f.body))
		if err != nil {
			return nil, err
		}
		defer z.Close()
		for k := range planes {
			// Read before trusting the size: a damaged header must not cost memory.
			if planes[k], err = io.ReadAll(io.LimitReader(z, int64(size))); err != nil {
				return nil, err
			}
			if len(planes[k]) < size {
				return nil, errShort
			}
			if f.packing == packZipDifference {
				for y := range f.Height {
					undoDifference(planes[k][y*line:(y+1)*line], f.bits)
				}
			}
		}
	}
	return planes, nil
}

// unpackRuns unpacks one row of PackBits (TIFF 6.0, section 9) and reports whether it filled it.
func unpackRuns(row, b []byte) bool {
	for len(row) > 0 && len(b) > 1 {
		n := int(int8(b[0]))
		b = b[1:]
		switch {
		case n >= 0:
			n = min(n+1, len(b), len(row))
			copy(row, b[:n])
			row, b = row[n:], b[n:]
		case n > -128:
			n = min(1-n, len(row))
			for i := range n {
				row[i] = b[0]
			}
			row, b = row[n:], b[1:]
		}
	}
	return len(row) == 0
}

func undoDifference(row []byte, bits int) {
	if bits == 16 {
		for i := 2; i+1 < len(row); i += 2 {
			binary.BigEndian.PutUint16(row[i:], binary.BigEndian.Uint16(row[i:])+binary.BigEndian.Uint16(row[i-2:]))
		}
		return
	}
	for i := 1; i < len(row); i++ {
		row[i] += row[i-1]
	}
}

// mapped looks up the colour map, which holds all red, then green, then blue.
func (f *File) mapped(plane []byte) []byte {
	step := 3
	if f.Alpha {
		step = 4
	}
	pix := make([]byte, len(plane)*step)
	for i, v := range plane {
		px := pix[i*step:]
		px[0], px[1], px[2] = f.palette[v], f.palette[256+int(v)], f.palette[512+int(v)]
		if f.Alpha && int(v) != f.clear {
			px[3] = 255
		}
	}
	return pix
}

// unbit makes bytes of bits, of which 1 is black.
func (f *File) unbit(plane []byte) []byte {
	out, line := make([]byte, f.Width*f.Height), f.line()
	for y := range f.Height {
		for x := range f.Width {
			if plane[y*line+x/8]>>(7-x%8)&1 == 0 {
				out[y*f.Width+x] = 255
			}
		}
	}
	return out
}

// offWhite takes the white away that the picture was laid on: what is stored is the colour
// times alpha and white times the rest.
func (f *File) offWhite(pix []byte, step int) {
	if f.Depth == 16 {
		for i := 0; i < len(pix); i += 2 * step {
			a := int(binary.BigEndian.Uint16(pix[i+2*step-2:]))
			if a == 0 || a == 65535 {
				continue
			}
			for k := i; k < i+2*step-2; k += 2 {
				v := 65535 - ((65535-int(binary.BigEndian.Uint16(pix[k:])))*65535+a/2)/a
				binary.BigEndian.PutUint16(pix[k:], uint16(max(0, v)))
			}
		}
		return
	}
	for i := 0; i < len(pix); i += step {
		a := int(pix[i+step-1])
		if a == 0 || a == 255 {
			continue
		}
		for k := i; k < i+step-1; k++ {
			pix[k] = uint8(max(0, 255-((255-int(pix[k]))*255+a/2)/a))
		}
	}
}
