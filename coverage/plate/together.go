package plate

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"math"

	"laydown/colour/cores"
	"laydown/coverage/artwork/pdf/object"
	"laydown/coverage/fault"
	"laydown/coverage/unit"
)

// inks are the plates' names as inks in a file that holds all five. Cyan, Magenta, Yellow and
// Black are the names that ISO 32000-1, 8.6.6.4, sets for the process inks.
var inks = [Count]string{"Cyan", "Magenta", "Yellow", "Black", "White"}

// stripBytes is about how many bytes of pixels a packed strip holds. Each strip is packed by
// itself, so that cores share the work and the bytes do not depend on how many there are.
const stripBytes = 1 << 20

// together are rows of all five plates, the samples of a pixel beside each other, each as its
// difference from the pixel on its left: TIFF's horizontal predictor (TIFF 6.0, section 14),
// which PDF has as well (ISO 32000-1, 7.4.4.4).
func (p *Plates) together(from, to int) []byte {
	w := p.Width
	out := make([]byte, 0, Count*w*(to-from))
	for y := from; y < to; y++ {
		var left [Count]uint8
		for i := y * w; i < (y+1)*w; i++ {
			for k := range Count {
				v := p.Plane[k][i]
				out = append(out, v-left[k])
				left[k] = v
			}
		}
	}
	return out
}

// rowsOfStrip is how many rows a strip has.
func (p *Plates) rowsOfStrip() int { return min(p.Height, max(1, stripBytes/(Count*p.Width))) }

// strips packs all rows with zlib, in strips of rowsOfStrip.
func (p *Plates) strips() [][]byte {
	rows := p.rowsOfStrip()
	out := make([][]byte, (p.Height+rows-1)/rows)
	cores.Each(len(out), func(i int) {
		var b bytes.Buffer
		z := zlib.NewWriter(&b)
		z.Write(p.together(i*rows, min((i+1)*rows, p.Height))) // a buffer fails never
		z.Close()
		out[i] = b.Bytes()
	})
	return out
}

// Tags of TIFF 6.0, and of ICC.1:2010, annex B.4, for the profile.
const (
	tagWidth       = 256
	tagHeight      = 257
	tagBits        = 258
	tagCompression = 259
	tagPhotometric = 262
	tagOffsets     = 273
	tagSamples     = 277
	tagRows        = 278
	tagCounts      = 279
	tagAcross      = 282
	tagDown        = 283
	tagPlanar      = 284
	tagUnit        = 296
	tagPredictor   = 317
	tagInkSet      = 332
	tagInkNames    = 333
	tagInks        = 334
	tagExtra       = 338
	tagProfile     = 34675
)

// Types of TIFF's entries.
const (
	kindText     = 2
	kindShort    = 3
	kindLong     = 4
	kindRational = 5
	kindBytes    = 7
)

// TIFF encodes all five plates as one picture of five 8-bit samples a pixel, 0 for no toner and
// 255 for solid: CMYK, and white as a fifth sample beside them. pixelMM is the size of a pixel
// on the print; profile is the ICC profile of the printing condition, or nil for none. What
// would be larger than 4 GB is an error.
//
// White is an extra sample of unspecified meaning beside ink set 1, so that what knows CMYK
// alone shows the colours rightly. All five are named as inks besides. TIFF 6.0, section 16,
// means names for ink set 2; there libvips took the picture for five bands without a colour
// space, where under ink set 1 it, libtiff and ImageMagick read all of it without a warning.
func (p *Plates) TIFF(pixelMM float64, profile []byte) ([]byte, error) {
	strips := p.strips()
	size := int64(len(profile)) + 4096
	for _, s := range strips {
		size += int64(len(s)) + 8
	}
	if size > math.MaxUint32 {
		return nil, fault.New(fmt.Sprintf("the plates of %d × %d pixels are larger than the 4 GB that a TIFF holds", p.Width, p.Height), "write them as png with {format}")
	}
	order := binary.LittleEndian
	short := func(v ...int) (out []byte) {
		for _, n := range v {
			out = order.AppendUint16(out, uint16(n))
		}
		return out
	}
	long := func(v ...int) (out []byte) {
		for _, n := range v {
			out = order.AppendUint32(out, uint32(n))
		}
		return out
	}
	var names []byte
	for _, n := range inks {
		names = append(append(names, n...), 0)
	}
	// Pixels per inch to a ten-thousandth, as far as 32 bits go.
	const fine = 10_000
	dpi := long(int(min(math.Round(unit.MMPerInch/pixelMM*fine), math.MaxUint32)), fine)
	var counts []int
	for _, s := range strips {
		counts = append(counts, len(s))
	}
	type entry struct {
		tag, kind, n int
		data         []byte
	}
	entries := []entry{ // in rising order, as section 2 wants them
		{tagWidth, kindLong, 1, long(p.Width)}, {tagHeight, kindLong, 1, long(p.Height)},
		{tagBits, kindShort, Count, short(8, 8, 8, 8, 8)}, {tagCompression, kindShort, 1, short(8)}, // deflate
		{tagPhotometric, kindShort, 1, short(5)}, // separated
		{tagOffsets, kindLong, len(strips), make([]byte, 4*len(strips))},
		{tagSamples, kindShort, 1, short(Count)}, {tagRows, kindLong, 1, long(p.rowsOfStrip())}, {tagCounts, kindLong, len(strips), long(counts...)},
		{tagAcross, kindRational, 1, dpi}, {tagDown, kindRational, 1, dpi},
		{tagPlanar, kindShort, 1, short(1)}, {tagUnit, kindShort, 1, short(2)}, {tagPredictor, kindShort, 1, short(2)},
		{tagInkSet, kindShort, 1, short(1)}, {tagInkNames, kindText, len(names), names}, {tagInks, kindShort, 1, short(Count)},
		{tagExtra, kindShort, 1, short(0)},
	}
	if profile != nil {
		entries = append(entries, entry{tagProfile, kindBytes, len(profile), profile})
	}
	// The directory stands first, then what does not fit into it, then the strips; all begin at
	// even bytes.
	at := 8 + 2 + 12*len(entries) + 4
	places := make([]int, len(entries))
	for i, e := range entries {
		if len(e.data) > 4 {
			places[i] = at
			at += len(e.data) + len(e.data)%2
		}
	}
	for i, s := range strips {
		order.PutUint32(entries[5].data[4*i:], uint32(at))
		at += len(s) + len(s)%2
	}
	out := make([]byte, 0, at)
	even := func(b []byte) {
		if out = append(out, b...); len(b)%2 == 1 {
			out = append(out, 0)
		}
	}
	out = order.AppendUint32(append(out, "II*\x00"...), 8)
	out = order.AppendUint16(out, uint16(len(entries)))
	for i, e := range entries {
		out = order.AppendUint16(order.AppendUint16(out, uint16(e.tag)), uint16(e.kind))
		out = order.AppendUint32(out, uint32(e.n))
		if places[i] > 0 {
			out = order.AppendUint32(out, uint32(places[i]))
			continue
		}
		out = append(append(out, e.data...), make([]byte, 4-len(e.data))...)
	}
	out = order.AppendUint32(out, 0) // no further picture
	for i, e := range entries {
		if places[i] > 0 {
			even(e.data)
		}
	}
	for _, s := range strips {
		even(s)
	}
	return out, nil
}

// mostPDFSide is how long a side of a page may be, in points of 1/72 inch (ISO 32000-1, annex C).
const mostPDFSide = 14400

// PDF encodes all five plates as one page of the print's size that holds one picture in the
// colour space DeviceN of five inks (ISO 32000-1, 8.6.6.5): Cyan, Magenta, Yellow, Black and the
// spot colour White. What has no white ink shows the other four. pixelMM is the size of a
// pixel on the print. A side longer than 5.08 m is an error.
func (p *Plates) PDF(pixelMM float64) ([]byte, error) {
	points := func(px int) float64 { return float64(px) * pixelMM / unit.MMPerInch * 72 }
	w, h := points(p.Width), points(p.Height)
	if max(w, h) > mostPDFSide {
		return nil, fault.New("the print is longer than the 5080 mm of a page of PDF", "write its plates as tiff or png with {format}")
	}
	// One zlib stream of all rows: what packs it does not see how rows are shared out.
	var packed bytes.Buffer
	z := zlib.NewWriter(&packed)
	rows := p.rowsOfStrip()
	for y := 0; y < p.Height; y += rows {
		z.Write(p.together(y, min(y+rows, p.Height))) // a buffer fails never
	}
	z.Close()

	content := fmt.Appendf(nil, "q %.4f 0 0 %.4f 0 0 cm /Plates Do Q", w, h)
	// The function, the last object, is given the five tones and leaves out white: it colours no paper.
	return object.File("1.4",
		[]byte("<< /Type /Catalog /Pages 2 0 R >>"),
		[]byte("<< /Type /Pages /Kids [3 0 R] /Count 1 >>"),
		fmt.Appendf(nil, "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %.4f %.4f] /Resources << /XObject << /Plates 5 0 R >> >> /Contents 4 0 R >>", w, h),
		object.Stream("", content),
		object.Stream(fmt.Sprintf("/Type /XObject /Subtype /Image /Width %d /Height %d /BitsPerComponent 8 /ColorSpace 6 0 R /Filter /FlateDecode /DecodeParms << /Predictor 2 /Colors %d /BitsPerComponent 8 /Columns %d >>",
			p.Width, p.Height, Count, p.Width), packed.Bytes()),
		fmt.Appendf(nil, "[/DeviceN [/%s /%s /%s /%s /%s] /DeviceCMYK 7 0 R]", inks[0], inks[1], inks[2], inks[3], inks[4]),
		object.Stream("/FunctionType 4 /Domain [0 1 0 1 0 1 0 1 0 1] /Range [0 1 0 1 0 1 0 1]", []byte("{pop}"))), nil
}
