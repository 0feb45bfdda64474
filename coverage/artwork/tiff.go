package artwork

import (
	"bytes"
	"compress/zlib"
	"errors"
	"fmt"
	"io"

	"github.com/hhrutter/lzw"
)

// The TIFF library reads the usual kinds. What it refuses or would misread
// (samples in separate planes, grey with alpha, CMYK with alpha or of 16 bits,
// extra samples that mean nothing) is read here, for the compressions none,
// LZW, deflate and PackBits (TIFF 6.0).

// errRaw asks for readRawTIFF in place of a Go image.
var errRaw = errors.New("read as raw samples")

// baseSamples is how many samples of a pixel are colour, 0 if unknown.
func baseSamples(d *directory) int {
	return map[int]int{0: 1, 1: 1, 2: 3, 5: 4}[d.int(tagPhotometric, -1)]
}

// alphaSample is the place of the alpha sample in a pixel, or -1.
func alphaSample(d *directory) int {
	base := baseSamples(d)
	for i, kind := range d.ints(tagExtraSamples) {
		if base > 0 && (kind == 1 || kind == 2) && base+i < d.int(tagSamples, 1) {
			return base + i
		}
	}
	return -1
}

func needsOwnReader(d *directory) bool {
	base, samples, bits := baseSamples(d), d.int(tagSamples, 1), d.int(tagBits, 1)
	if base == 0 || bits == 1 {
		return false
	}
	separate := samples > 1 && d.int(tagPlanar, 1) == 2
	known := samples == base || (base == 3 && samples == 4 && alphaSample(d) == 3)
	return separate || !known || (base == 4 && bits == 16)
}

// readRawTIFF decodes into the layout of [Art]: the colour samples, then alpha
// if the file has it.
func readRawTIFF(b []byte) (pix []byte, step int, alphaAt int, err error) {
	d, err := readIFD(b)
	if err != nil {
		return nil, 0, 0, err
	}
	w, h := d.int(tagWidth, 0), d.int(tagHeight, 0)
	base, samples, alpha := baseSamples(d), d.int(tagSamples, 1), alphaSample(d)
	width := d.int(tagBits, 1) / 8
	if base == 0 || samples < base || samples > 32 || (width != 1 && width != 2) {
		return nil, 0, 0, fmt.Errorf("a TIFF of %d samples a pixel and %d bits is not read", samples, 8*width)
	}
	for _, bits := range d.ints(tagBits) {
		if bits != 8*width {
			return nil, 0, 0, errors.New("a TIFF whose samples differ in bits is not read")
		}
	}
	step, alphaAt = base, -1
	if alpha >= 0 {
		step, alphaAt = base+1, base
	}
	pix = make([]byte, w*h*step*width)

	blockW, blockH := w, d.int(tagRowsPerStrip, h)
	offsets, counts := d.ints(tagStripOffsets), d.ints(tagStripCounts)
	if tw := d.int(tagTileWidth, 0); tw > 0 {
		blockW, blockH = tw, d.int(tagTileHeight, 0)
		offsets, counts = d.ints(tagTileOffsets), d.ints(tagTileCounts)
	}
	if blockH <= 0 || blockW <= 0 || blockW > 1<<20 {
		return nil, 0, 0, errors.New("its strips or tiles have no size")
	}
	blockH = min(blockH, max(h, 1))
	across, down := (w+blockW-1)/blockW, (h+blockH-1)/blockH
	planes, perBlock := 1, samples
	if d.int(tagPlanar, 1) == 2 {
		planes, perBlock = samples, 1
	}
	if n := across * down * planes; len(offsets) < n || len(counts) < n {
		return nil, 0, 0, errors.New("strips or tiles are missing")
	}
	tiled := d.int(tagTileWidth, 0) > 0
	little := d.order.String() == "LittleEndian"
	for p := range planes {
		for j := range down {
			for i := range across {
				at := p*across*down + j*across + i
				rows := blockH
				if !tiled {
					rows = min(blockH, h-j*blockH)
				}
				line := blockW * perBlock * width
				raw, err := unpack(b, offsets[at], counts[at], d.int(tagCompression, 1), rows*line)
				if err != nil {
					return nil, 0, 0, err
				}
				for y := range rows {
					gy := j*blockH + y
					if gy >= h {
						break
					}
					row := raw[y*line : (y+1)*line]
					bigEndian(row, width, little)
					if d.int(tagPredictor, 1) == 2 {
						undoDifference(row, perBlock, width)
					}
					for x := range min(blockW, w-i*blockW) {
						dst := pix[(gy*w+i*blockW+x)*step*width:]
						for s := range perBlock {
							to := p + s
							switch {
							case to < base:
							case to == alpha:
								to = base
							default:
								continue
							}
							copy(dst[to*width:(to+1)*width], row[(x*perBlock+s)*width:])
						}
					}
				}
			}
		}
	}
	if d.int(tagPhotometric, 1) == 0 { // white is zero
		for i := 0; i < len(pix); i += step * width {
			for k := range width {
				pix[i+k] ^= 0xff
			}
		}
	}
	if extra := d.ints(tagExtraSamples); alpha >= 0 && extra[alpha-base] == 1 {
		unpremultiply(pix, base, step, width)
	}
	return pix, step, alphaAt, nil
}

// unpack returns exactly want bytes of a strip or tile.
func unpack(b []byte, off, n, compression, want int) ([]byte, error) {
	if off < 0 || n < 0 || off > len(b) || n > len(b)-off {
		return nil, errors.New("pixel data lies outside the file")
	}
	var r io.Reader
	switch src := bytes.NewReader(b[off : off+n]); compression {
	case 1:
		r = src
	case 5:
		z := lzw.NewReader(src, true)
		defer z.Close()
		r = z
	case 8, 32946:
		z, err := zlib.NewReader(src)
		if err != nil {
			return nil, err
		}
		defer z.Close()
		r = z
	case 32773:
		r = bytes.NewReader(unpackBits(b[off:off+n], want))
	default:
		return nil, fmt.Errorf("TIFF compression %d is not read for this kind of picture: save it with LZW", compression)
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

func bigEndian(row []byte, width int, little bool) {
	if width == 2 && little {
		for i := 0; i+1 < len(row); i += 2 {
			row[i], row[i+1] = row[i+1], row[i]
		}
	}
}

func undoDifference(row []byte, samples, width int) {
	if width == 1 {
		for i := samples; i < len(row); i++ {
			row[i] += row[i-samples]
		}
		return
	}
	for i := 2 * samples; i+1 < len(row); i += 2 {
		v := uint16(row[i])<<8 | uint16(row[i+1])
		v += uint16(row[i-2*samples])<<8 | uint16(row[i-2*samples+1])
		row[i], row[i+1] = byte(v>>8), byte(v)
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
