package artwork

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/draw"
	"image/jpeg"
	"io"
	"math"
	"math/bits"

	"github.com/hhrutter/lzw"
	"golang.org/x/image/ccitt"

	"laydown/colour/icc"
	"laydown/coverage/fault"
)

// TIFF is read here (TIFF 6.0, its technical notes, and BigTIFF): strips and tiles, samples
// together and in planes, of 1 to 64 bits; grey, RGB, CMYK, YCbCr and colour maps; packed
// with LZW, deflate, PackBits, JPEG and the codes of fax machines, or not at all.

// tiffLayout is how a picture lies in a TIFF file.
type tiffLayout struct {
	d                  *directory
	w, h               int
	photometric        int
	base               int // samples that are colour in the file
	samples            int // of a pixel
	alpha              int // the sample that is alpha, or -1
	bits               int // of a sample
	float              bool
	compression        int
	predictor          int
	planes             int // 1, or as many as samples
	tiled              bool
	blockW, blockH     int
	offsets, counts    []int
	subX, subY         int // of YCbCr: how many pixels share chroma
	little             bool
	reversed           bool
	across, down       int
	premultipliedAlpha bool
}

// Photometric kinds and compressions of TIFF.
const (
	whiteIsZero = 0
	photoRGB    = 2
	photoMap    = 3
	photoCMYK   = 5
	photoYCbCr  = 6

	packNone    = 1
	packRLE     = 2
	packGroup3  = 3
	packGroup4  = 4
	packLZW     = 5
	packOldJPEG = 6
	packJPEG    = 7
	packDeflate = 8
	packBits    = 32773
	packZip     = 32946
)

// otherPacking are compressions that are not read.
var otherPacking = map[int]string{packRLE: "the codes of fax machines without line ends", packOldJPEG: "JPEG in an old way", 34925: "LZMA", 50000: "Zstandard",
	50001: "WebP", 50002: "JPEG XL", 34712: "JPEG 2000", 34887: "LERC", 34661: "JBIG", 9: "JBIG", 10: "JBIG", 52546: "JPEG XL", 32809: "ThunderScan", 32766: "NeXT's own way"}

// mostPacked is how many bytes one packed byte can become: of LZW a string of 3838 bytes is
// told by 12 bits, deflate tells 258 bytes by two bits (RFC 1951), PackBits 128 by two bytes,
// a fax code of 13 bits tells 2560 pixels, and JPEG tells a block of 64 samples by at least one bit.
var mostPacked = map[int]int64{packNone: 1, packLZW: 2560, packDeflate: 1032, packZip: 1032, packBits: 64, packGroup3: 256, packJPEG: 2048}

// colourSamples is how many samples of a pixel are colour, by photometric kind.
var colourSamples = map[int]int{whiteIsZero: 1, 1: 1, photoRGB: 3, photoMap: 1, photoCMYK: 4, photoYCbCr: 3}

// readLayout reads how the picture of a directory lies in its file. What is not read is a
// [fault.Fault]; all else is damage.
func readLayout(d *directory) (*tiffLayout, error) {
	l := &tiffLayout{d: d, w: d.int(tagWidth, 0), h: d.int(tagHeight, 0), photometric: d.int(tagPhotometric, -1), alpha: -1,
		samples: d.int(tagSamples, 1), bits: d.int(tagBits, 1), compression: d.int(tagCompression, packNone),
		predictor: d.int(tagPredictor, 1), planes: 1, little: d.order == binary.LittleEndian, subX: 1, subY: 1}
	if _, ok := d.tags[tagPhotometric]; !ok {
		return nil, errors.New("it does not say what its samples mean")
	}
	l.base = colourSamples[l.photometric]
	switch l.photometric {
	case 8, 9, 10:
		return nil, fault.New("is a TIFF in Lab", "save it as RGB or CMYK")
	case 32803, 34892:
		return nil, rawPicture
	}
	if l.base == 0 {
		return nil, fault.New(fmt.Sprintf("is a TIFF of colour kind %d", l.photometric), "save it as RGB, grey or CMYK")
	}
	if l.photometric == photoCMYK && d.int(tagInkSet, 1) != 1 {
		return nil, fault.New("is a TIFF of inks other than cyan, magenta, yellow and black", "save it as CMYK or RGB")
	}
	if l.samples < l.base || l.samples > 64 {
		return nil, fmt.Errorf("it has %d samples a pixel where %d or more belong", l.samples, l.base)
	}
	for _, n := range d.ints(tagBits) {
		if n != l.bits {
			return nil, fault.New("is a TIFF whose samples differ in bits", "save it with 8 or 16")
		}
	}
	switch kind := d.int(tagSampleFormat, 1); {
	case kind == 3 && (l.bits == 16 || l.bits == 32 || l.bits == 64):
		l.float = true
	case kind != 1 && kind != 4:
		return nil, fault.New("is a TIFF of samples below 0", "save it with 8 or 16 bits")
	}
	switch l.bits {
	case 8, 16, 32:
	case 64:
		if !l.float {
			l.bits = 0
		}
	case 1, 2, 4:
		if l.base > 1 {
			l.bits = 0
		}
	default:
		l.bits = 0
	}
	if l.bits == 0 || l.photometric == photoYCbCr && l.bits != 8 || l.photometric == photoMap && l.bits > 8 {
		return nil, fault.New(fmt.Sprintf("is a TIFF of %d bits a sample", d.int(tagBits, 1)), "save it with 8 or 16")
	}
	for i, kind := range d.ints(tagExtraSamples) {
		if (kind == 1 || kind == 2) && l.base+i < l.samples && l.photometric != photoMap && l.photometric != photoYCbCr {
			l.alpha, l.premultipliedAlpha = l.base+i, kind == 1
			break
		}
	}
	switch name, ok := otherPacking[l.compression]; {
	case ok:
		return nil, fault.New("is a TIFF packed with "+name, "save it with LZW or ZIP, or as PNG")
	case l.compression == packGroup3 && d.int(tagT4Options, 0)&1 == 1:
		return nil, fault.New("is a TIFF packed with the codes of fax machines in two dimensions", "save it with LZW or ZIP, or as PNG")
	case l.compression == packGroup3 && d.int(tagT4Options, 0)&4 != 0:
		return nil, fault.New("is a TIFF packed with the codes of fax machines, filled up to whole bytes", "save it with LZW or ZIP, or as PNG")
	case l.compression == packGroup3, l.compression == packGroup4:
		if l.bits != 1 || l.samples != 1 {
			return nil, errors.New("it is packed as black and white and is neither")
		}
	case mostPacked[l.compression] == 0:
		return nil, fault.New(fmt.Sprintf("is a TIFF packed in a way of its own (%d)", l.compression), "save it with LZW or ZIP, or as PNG")
	case l.compression == packJPEG && l.bits != 8:
		return nil, fault.New(fmt.Sprintf("is a TIFF packed with JPEG of %d bits", l.bits), "save it with LZW or ZIP, or as PNG")
	}
	if p := l.predictor; p != 1 && !(p == 2 && !l.float && l.bits >= 8) && !(p == 3 && l.float) {
		return nil, fmt.Errorf("its samples are told by differences in a way (%d) that does not go with %d bits", p, l.bits)
	}
	return l, l.placeBlocks()
}

func (l *tiffLayout) placeBlocks() error {
	d := l.d
	if l.photometric == photoYCbCr {
		if v := d.ints(tagSubsampling); len(v) == 2 {
			l.subX, l.subY = v[0], v[1]
		} else {
			l.subX, l.subY = 2, 2
		}
		if !(l.subX == 1 || l.subX == 2 || l.subX == 4) || !(l.subY == 1 || l.subY == 2 || l.subY == 4) {
			return errors.New("its chroma is shared in a way that cannot be")
		}
	}
	l.reversed = d.int(tagFillOrder, 1) == 2
	l.blockW, l.blockH = l.w, d.int(tagRowsPerStrip, l.h)
	l.offsets, l.counts = d.ints(tagStripOffsets), d.ints(tagStripCounts)
	if tw := d.int(tagTileWidth, 0); tw > 0 {
		l.tiled = true
		l.blockW, l.blockH = tw, d.int(tagTileHeight, 0)
		if offsets := d.ints(tagTileOffsets); offsets != nil {
			l.offsets, l.counts = offsets, d.ints(tagTileCounts)
		}
	}
	if l.w <= 0 || l.h <= 0 {
		return nil // refused with its own message
	}
	const longest = 1 << 20 // of a tile
	if l.blockH <= 0 || l.blockW <= 0 || l.tiled && (l.blockW > longest || l.blockH > longest) {
		return errors.New("its strips or tiles have no size")
	}
	if !l.tiled {
		l.blockH = min(l.blockH, l.h)
	}
	if d.int(tagPlanar, 1) == 2 && l.samples > 1 {
		l.planes = l.samples
		if l.photometric == photoYCbCr {
			return fault.New("is a TIFF of YCbCr in planes", "save it as RGB")
		}
	}
	l.across, l.down = (l.w+l.blockW-1)/l.blockW, (l.h+l.blockH-1)/l.blockH
	if len(l.counts) == 0 && len(l.offsets) == 1 && l.compression == packNone {
		l.counts = []int{len(d.all) - l.offsets[0]}
	}
	if n := int64(l.across) * int64(l.down) * int64(l.planes); int64(len(l.offsets)) < n || int64(len(l.counts)) < n {
		return errors.New("strips or tiles are missing")
	}
	return nil
}

// fits refuses a file too short to hold its pixels, before memory is asked for them.
func (l *tiffLayout) fits() error {
	packed := int64(0)
	for _, n := range l.counts {
		packed += int64(max(0, n))
	}
	packed = min(packed, int64(len(l.d.all))*4) // strips may lie over each other, but not by much
	bits := int64(l.bits) * int64(l.samples)
	if l.photometric == photoYCbCr {
		bits = 8 + 16/int64(l.subX*l.subY)
	}
	enough := (int64(l.w)*bits+7)/8*int64(l.h)/mostPackedOf(l.compression) <= packed
	if l.compression == packGroup4 { // a row like the one above it takes a bit
		enough = int64(l.h) <= 8*packed
	}
	if !enough {
		return fmt.Errorf("claims %d × %d pixels but holds only %d bytes of them: it is cut short, export it again", l.w, l.h, packed)
	}
	return nil
}

func mostPackedOf(compression int) int64 { return max(1, mostPacked[compression]) }

// outBase is how many samples of colour a decoded pixel has, and outDepth their bits.
func (l *tiffLayout) outBase() int {
	if l.photometric == photoMap {
		return 3
	}
	return l.base
}

func (l *tiffLayout) outDepth() int {
	if l.bits > 8 {
		return 16
	}
	return 8
}

// decode decodes into the layout of [Art]: the colour samples, then alpha if the file has it.
func (l *tiffLayout) decode() (pix []byte, step, alphaAt int, err error) {
	width, base := l.outDepth()/8, l.outBase()
	step, alphaAt = base, -1
	if l.alpha >= 0 {
		step, alphaAt = base+1, base
	}
	colours, err := l.colourMap()
	if err != nil {
		return nil, 0, 0, err
	}
	pix = make([]byte, l.w*l.h*step*width)
	perBlock := l.samples / l.planes
	for p := range l.planes {
		for j := range l.down {
			for i := range l.across {
				rows, err := l.block((p*l.down+j)*l.across+i, j, perBlock)
				if err != nil {
					return nil, 0, 0, err
				}
				wide := min(l.blockW, l.w-i*l.blockW)
				for y := range min(l.blockH, l.h-j*l.blockH) {
					row := rows(y)
					at := ((j*l.blockH+y)*l.w + i*l.blockW) * step * width
					if colours != nil {
						for x := range wide {
							copy(pix[at+3*x:], colours[3*int(row[x*perBlock]):][:3])
						}
						continue
					}
					for s := range perBlock {
						to := p + s
						switch {
						case to < base:
						case to == l.alpha:
							to = base
						default:
							continue
						}
						for x := range wide {
							copy(pix[at+(x*step+to)*width:][:width], row[(x*perBlock+s)*width:])
						}
					}
				}
			}
		}
	}
	if l.photometric == whiteIsZero {
		for i := 0; i < len(pix); i += step * width {
			for k := range width {
				pix[i+k] ^= 0xff
			}
		}
	}
	if l.premultipliedAlpha {
		unpremultiply(pix, base, step, width)
	}
	return pix, step, alphaAt, nil
}

// colourMap is red, green and blue of every index; nil if the picture has no such map.
// Maps of which no value has more than 8 bits were written by programs that took them for
// such, as libtiff's own tools assume too.
func (l *tiffLayout) colourMap() ([]byte, error) {
	if l.photometric != photoMap {
		return nil, nil
	}
	n := 1 << l.bits
	v := l.d.ints(tagColorMap)
	if len(v) < 3*n {
		return nil, errors.New("its colour map is cut short")
	}
	most := 0
	for _, c := range v[:3*n] {
		most = max(most, c)
	}
	out := make([]byte, 3*256)
	for i := range n {
		for k := range 3 {
			c := v[k*n+i]
			if most > 255 {
				c = (c*255 + 32767) / 65535
			}
			out[3*i+k] = byte(c)
		}
	}
	return out, nil
}

// block unpacks a strip or tile in row j of them and returns how to get at its rows: samples
// of 8 bits or of 16, the upper first. A row may be had once.
func (l *tiffLayout) block(at, j, samples int) (func(y int) []byte, error) {
	off, n, b := l.offsets[at], l.counts[at], l.d.all
	if off < 0 || n < 0 || off > len(b) || n > len(b)-off {
		return nil, errors.New("pixel data lies outside the file")
	}
	packed := b[off : off+n]
	rows := l.blockH
	if !l.tiled {
		rows = min(l.blockH, l.h-j*l.blockH)
	}
	if l.compression == packJPEG {
		return l.blockJPEG(packed, rows, samples)
	}
	if l.reversed && l.compression != packGroup3 && l.compression != packGroup4 {
		packed = append([]byte(nil), packed...)
		for i, v := range packed {
			packed[i] = bits.Reverse8(v)
		}
	}
	if l.photometric == photoYCbCr {
		return l.blockYCbCr(packed, rows)
	}
	line := (l.blockW*samples*l.bits + 7) / 8
	raw, err := l.unpack(packed, rows, rows*line)
	if err != nil {
		return nil, err
	}
	out := make([]byte, l.blockW*samples*l.outDepth()/8)
	return func(y int) []byte {
		row := raw[y*line : (y+1)*line]
		if l.predictor == 3 {
			l.undoFloatDifference(row, samples)
		} else {
			l.bigEndian(row)
		}
		if l.predictor == 2 {
			undoDifference(row, samples, l.bits/8)
		}
		return l.toDepth(row, out)
	}, nil
}

// toDepth turns one row's samples, the upper byte first, into 8 or 16 bits.
func (l *tiffLayout) toDepth(row, out []byte) []byte {
	put := func(i int, v float64) {
		// What is beyond black and white, also what is no number, is black or white.
		if !(v > 0) {
			v = 0
		}
		binary.BigEndian.PutUint16(out[2*i:], uint16(min(v, 1)*65535+0.5))
	}
	switch {
	case l.float && l.bits == 16:
		for i := range len(out) / 2 {
			put(i, half(binary.BigEndian.Uint16(row[2*i:])))
		}
	case l.float && l.bits == 32:
		for i := range len(out) / 2 {
			put(i, float64(math.Float32frombits(binary.BigEndian.Uint32(row[4*i:]))))
		}
	case l.float:
		for i := range len(out) / 2 {
			put(i, math.Float64frombits(binary.BigEndian.Uint64(row[8*i:])))
		}
	case l.bits == 32:
		for i := range len(out) / 2 {
			copy(out[2*i:2*i+2], row[4*i:])
		}
	case l.bits < 8:
		per, top := 8/l.bits, 1<<l.bits-1
		for i := range out {
			v := int(row[i/per]) >> (8 - l.bits*(i%per+1)) & top
			if l.photometric != photoMap {
				v = v * 255 / top
			}
			out[i] = byte(v)
		}
	default:
		return row
	}
	return out
}

// half is a number of IEEE 754's binary16.
func half(v uint16) float64 {
	sign, exponent, part := 1., int(v>>10&31), float64(v&1023)
	if v&0x8000 != 0 {
		sign = -1
	}
	switch exponent {
	case 0:
		return sign * math.Ldexp(part, -24)
	case 31:
		if part != 0 {
			return math.NaN()
		}
		return math.Inf(int(sign))
	}
	return sign * math.Ldexp(1024+part, exponent-25)
}

// blockYCbCr reads samples that share chroma: for each little rectangle of pixels their luma,
// then both chroma (TIFF 6.0, section 21).
func (l *tiffLayout) blockYCbCr(packed []byte, rows int) (func(y int) []byte, error) {
	across, down := (l.blockW+l.subX-1)/l.subX, (rows+l.subY-1)/l.subY
	unit := l.subX*l.subY + 2
	raw, err := l.unpack(packed, rows, across*down*unit)
	if err != nil {
		return nil, err
	}
	k := [3]float64{0.299, 0.587, 0.114}
	if v := l.d.rationals(tagYCbCrWeights); len(v) == 3 && v[1] > 0 {
		k = [3]float64(v)
	}
	ranges := [6]float64{0, 255, 128, 255, 128, 255}
	if v := l.d.rationals(tagBlackWhite); len(v) == 6 && v[1] != v[0] && v[3] != v[2] && v[5] != v[4] {
		ranges = [6]float64(v)
	}
	clip := func(v float64) byte { return byte(max(0, min(255, v+0.5))) }
	out := make([]byte, 3*l.blockW)
	return func(y int) []byte {
		for x := range l.blockW {
			u := raw[(y/l.subY*across+x/l.subX)*unit:][:unit]
			luma := (float64(u[y%l.subY*l.subX+x%l.subX]) - ranges[0]) * 255 / (ranges[1] - ranges[0])
			cb := (float64(u[unit-2]) - ranges[2]) * 127 / (ranges[3] - ranges[2])
			cr := (float64(u[unit-1]) - ranges[4]) * 127 / (ranges[5] - ranges[4])
			r, b := luma+cr*(2-2*k[0]), luma+cb*(2-2*k[2])
			out[3*x], out[3*x+1], out[3*x+2] = clip(r), clip((luma-k[0]*r-k[2]*b)/k[1]), clip(b)
		}
		return out
	}, nil
}

// blockJPEG decodes a block that is a JPEG file of its own but for tables that all share
// (TIFF Technical Note 2). Go is told by a marker what its colours are.
func (l *tiffLayout) blockJPEG(packed []byte, rows, samples int) (func(y int) []byte, error) {
	if len(packed) < 4 || !has(packed, 0, "\xff\xd8") {
		return nil, errors.New("a strip or tile is no JPEG")
	}
	whole := []byte("\xff\xd8")
	if l.photometric != photoYCbCr && samples >= 3 {
		whole = append(whole, adobeMarker...)
	}
	if t := l.d.tags[tagJPEGTables].data; len(t) > 4 && has(t, 0, "\xff\xd8") {
		whole = append(whole, bytes.TrimSuffix(t[2:], []byte("\xff\xd9"))...)
	}
	whole = append(whole, packed[2:]...)
	c, err := jpeg.DecodeConfig(bytes.NewReader(whole))
	if err != nil {
		return nil, err
	}
	if c.Width < l.blockW || c.Height < rows || c.Width > l.blockW+32 || c.Height > rows+32 {
		return nil, fmt.Errorf("a strip or tile holds %d × %d pixels where %d × %d belong", c.Width, c.Height, l.blockW, rows)
	}
	img, err := jpeg.Decode(bytes.NewReader(whole))
	if err != nil {
		return nil, err
	}
	out := make([]byte, l.blockW*samples)
	switch p := img.(type) {
	case *image.Gray:
		if samples == 1 {
			return func(y int) []byte { return p.Pix[y*p.Stride:][:l.blockW] }, nil
		}
	case *image.CMYK:
		if samples == 4 {
			return func(y int) []byte {
				for i, v := range p.Pix[y*p.Stride:][:len(out)] {
					out[i] = 255 - v // Go takes the marker for that of another program, which turns values round
				}
				return out
			}, nil
		}
	default:
		if samples == 3 {
			rgba := image.NewRGBA(image.Rect(0, 0, l.blockW, 1))
			return func(y int) []byte {
				draw.Draw(rgba, rgba.Rect, img, image.Point{0, y}, draw.Src)
				for x := range l.blockW {
					copy(out[3*x:3*x+3], rgba.Pix[4*x:])
				}
				return out
			}, nil
		}
	}
	return nil, fmt.Errorf("a strip or tile does not hold %d samples a pixel", samples)
}

// adobeMarker says that components are what they are, and no YCbCr or YCCK.
const adobeMarker = "\xff\xee\x00\x0eAdobe\x00\x64\x00\x00\x00\x00\x00"

// unpack returns exactly want bytes of a strip or tile.
func (l *tiffLayout) unpack(packed []byte, rows, want int) ([]byte, error) {
	var r io.Reader
	switch src := bytes.NewReader(packed); l.compression {
	case packNone:
		r = src
	case packLZW:
		z := lzw.NewReader(src, true)
		defer z.Close()
		r = z
	case packDeflate, packZip:
		z, err := zlib.NewReader(src)
		if err != nil {
			return nil, err
		}
		defer z.Close()
		r = z
	case packBits:
		r = bytes.NewReader(unpackBits(packed, want))
	case packGroup3, packGroup4:
		order, kind := ccitt.MSB, ccitt.Group4
		if l.reversed {
			order = ccitt.LSB
		}
		align := false
		if l.compression == packGroup3 {
			kind, align = ccitt.Group3, l.d.int(tagT4Options, 0)&4 != 0
		}
		r = ccitt.NewReader(src, order, kind, l.blockW, rows, &ccitt.Options{Align: align, Invert: true})
	}
	// Read before trusting want: a damaged header must not cost memory.
	out, err := io.ReadAll(io.LimitReader(r, int64(want)))
	if err != nil {
		return nil, err
	}
	if len(out) < want {
		return nil, errors.New("pixel data is cut short")
	}
	return out, nil
}

func unpackBits(b []byte, want int) (out []byte) {
	for len(b) > 1 && len(out) < want {
		n := int(int8(b[0]))
		b = b[1:]
		switch {
		case n >= 0:
			n = min(n+1, len(b))
			out, b = append(out, b[:n]...), b[n:]
		case n > -128:
			out, b = append(out, bytes.Repeat(b[:1], 1-n)...), b[1:]
		}
	}
	return out
}

// bigEndian sets the upper byte of every sample first.
func (l *tiffLayout) bigEndian(row []byte) {
	n := l.bits / 8
	if !l.little || n < 2 {
		return
	}
	for i := 0; i+n <= len(row); i += n {
		for a, b := i, i+n-1; a < b; a, b = a+1, b-1 {
			row[a], row[b] = row[b], row[a]
		}
	}
}

func undoDifference(row []byte, samples, width int) {
	switch width {
	case 1:
		for i := samples; i < len(row); i++ {
			row[i] += row[i-samples]
		}
	case 2:
		for i := 2 * samples; i+1 < len(row); i += 2 {
			binary.BigEndian.PutUint16(row[i:], binary.BigEndian.Uint16(row[i:])+binary.BigEndian.Uint16(row[i-2*samples:]))
		}
	case 4:
		for i := 4 * samples; i+3 < len(row); i += 4 {
			binary.BigEndian.PutUint32(row[i:], binary.BigEndian.Uint32(row[i:])+binary.BigEndian.Uint32(row[i-4*samples:]))
		}
	}
}

// undoFloatDifference undoes predictor 3 of TIFF Technical Note 3: bytes are told by
// differences, and all upper bytes of a row stand before all that come next.
func (l *tiffLayout) undoFloatDifference(row []byte, samples int) {
	for i := samples; i < len(row); i++ {
		row[i] += row[i-samples]
	}
	bytesOf := l.bits / 8
	n := len(row) / bytesOf
	parts := append([]byte(nil), row...)
	for i := range n {
		for k := range bytesOf {
			row[i*bytesOf+k] = parts[k*n+i]
		}
	}
}

// unpremultiply divides colour by alpha. Premultiplied CMYK is scaled towards
// no toner like the rest towards 0, so one rule serves all.
func unpremultiply(pix []byte, base, step, width int) {
	top := 255
	get := func(p []byte) int { return int(p[0]) }
	put := func(p []byte, v int) { p[0] = byte(v) }
	if width == 2 {
		top = 65535
		get = func(p []byte) int { return int(p[0])<<8 | int(p[1]) }
		put = func(p []byte, v int) { p[0], p[1] = byte(v>>8), byte(v) }
	}
	for i := 0; i < len(pix); i += step * width {
		a := get(pix[i+(step-1)*width:])
		if a == 0 || a == top {
			continue
		}
		for k := range base {
			p := pix[i+k*width:]
			put(p, min(top, (get(p)*top+a/2)/a))
		}
	}
}

// rawPicture says that a file holds what a camera's sensor saw, of which no picture has been made.
var rawPicture = fault.New("is a camera's raw picture, which has yet to be developed", "ask for the finished picture as TIFF, PNG or JPEG")

// isRaw reports whether a TIFF is a camera's raw picture by its first directory: it is a
// Digital Negative, or holds a small preview and keeps the picture in a directory below, as
// cameras' own kinds do.
func (d *directory) isRaw() bool {
	_, dng := d.tags[tagDNGVersion]
	_, below := d.tags[tagSubIFDs]
	_, maker := d.tags[tagMake]
	return dng || has(d.all, 8, "CR") || below && maker && d.int(tagSubfile, 0)&1 == 1
}

// tiffPages are the directories of a TIFF that are pages: neither smaller copies nor masks.
func tiffPages(b []byte) ([]*directory, error) {
	first, next, err := readIFDNext(b)
	if err != nil {
		return nil, err
	}
	var pages []*directory
	seen := map[uint64]bool{}
	for d := first; ; {
		if kind := d.int(tagSubfile, 0); kind&5 == 0 && d.int(tagOldSubfile, 1) != 2 && d.int(tagWidth, 0) > 0 {
			pages = append(pages, d)
		}
		if next == 0 || seen[next] || len(pages) >= mostPages {
			break
		}
		seen[next] = true
		if d, next, err = first.at(next); err != nil {
			break // what is behind a broken one is lost, which is no reason to refuse the rest
		}
	}
	if len(pages) == 0 {
		pages = append(pages, first)
	}
	return pages, nil
}

// mostPages is how many pages of a TIFF are looked for.
const mostPages = 10000

func tiffHeader(f *File) (meta, error) {
	pages, err := tiffPages(f.data)
	if err != nil {
		return meta{}, err
	}
	if pages[0].isRaw() {
		return meta{}, rawPicture
	}
	page := f.options.Canvas.Page
	if page > len(pages) {
		return meta{}, fault.In("page", fmt.Errorf("there is no page %d: it has %d", page, len(pages)))
	}
	f.Pages = len(pages)
	if len(pages) > 1 {
		if page == 0 {
			f.Chosen = Choice{Of: "page", Value: fmt.Sprintf("1 of %d", len(pages)), Because: "it is the first"}
		} else {
			f.File = fmt.Sprintf("%s (page %d of %d)", f.File, page, len(pages))
		}
	}
	d := pages[max(0, page-1)]
	l, err := readLayout(d)
	if err != nil {
		return meta{}, err
	}
	f.tiff = l
	f.Width, f.Height, f.Depth, f.HasAlpha = l.w, l.h, l.outDepth(), l.alpha >= 0
	f.Space = spaceOf(l.outBase())
	return tiffMeta(d), nil
}

// tiffCheck refuses what is too short.
func tiffCheck(f *File) error { return f.tiff.fits() }

func decodeTIFF(f *File, a *Art) error {
	pix, step, alphaAt, err := f.tiff.decode()
	a.pix, a.step, a.alphaAt, a.Depth, a.Space = pix, step, alphaAt, f.tiff.outDepth(), spaceOf(f.tiff.outBase())
	return err
}

// spaceOf is the space of so many samples of colour.
func spaceOf(samples int) icc.Space {
	return map[int]icc.Space{1: icc.Gray, 3: icc.RGB, 4: icc.CMYK}[samples]
}
