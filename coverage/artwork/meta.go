package artwork

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/mandykoh/prism/meta/jpegmeta"
	"github.com/mandykoh/prism/meta/webpmeta"

	"laydown/coverage/limit"
	"laydown/coverage/unit"
)

// meta is what a file's metadata says; zero fields are unknown.
type meta struct {
	profile     []byte
	profileErr  error
	srgb        bool    // the file says that it is sRGB
	stated      *stated // its colours in words other than a profile
	dpiX, dpiY  float64
	orientation int
	quality     int // of a JPEG, 1–100
	frames      int // of a PNG that is animated
}

// pngMeta walks the chunks before the pixels. (The metadata library at hand
// reads iCCP through a short read and loses profiles over 4 kB.) Of several words
// about colour the first counts of cICP, iCCP, sRGB, gAMA with cHRM (PNG, third
// edition, 4.3), EXIF, and cHRM alone, which says nothing of grey; a cICP that is not read
// gives way to a profile.
func pngMeta(b []byte, mostProfile int64) (m meta) {
	var cicp, iccp, gama, chrm, exif []byte
	srgb, grey := false, false
	for at := 8; at+12 <= len(b); {
		n := int64(binary.BigEndian.Uint32(b[at:]))
		kind := string(b[at+4 : at+8])
		if n > int64(len(b)-at-12) || kind == "IDAT" || kind == "IEND" {
			break
		}
		data := b[at+8 : at+8+int(n)]
		switch kind {
		case "IHDR":
			grey = len(data) == 13 && data[9]&2 == 0 // the bit of colour (PNG, third edition, 11.2.1)
		case "pHYs":
			if len(data) == 9 && data[8] == 1 {
				m.dpiX = dpi(float64(binary.BigEndian.Uint32(data)) * unit.MMPerInch / 1000)
				m.dpiY = dpi(float64(binary.BigEndian.Uint32(data[4:])) * unit.MMPerInch / 1000)
			}
		case "acTL":
			if len(data) == 8 {
				m.frames = int(binary.BigEndian.Uint32(data))
			}
		case "sRGB":
			srgb = true
		case "cICP":
			cicp = data
		case "iCCP":
			iccp = data
		case "gAMA":
			gama = data
		case "cHRM":
			chrm = data
		case "eXIf":
			exif = data
		}
		at += 12 + int(n)
	}
	if exif != nil {
		m.exif(exif)
	}
	take := func(s *stated, err error) {
		m.stated, m.profileErr, m.srgb = s, err, s == nil && err == nil
	}
	var err error
	if cicp != nil {
		var s *stated
		if s, err = readCICP(cicp); err == nil {
			take(s, nil)
			return m
		}
	}
	switch {
	case iccp != nil:
		m.profile, m.profileErr = unpackICCP(iccp, mostProfile)
	case err != nil:
		take(nil, err)
	case srgb:
		take(nil, nil)
	case gama != nil && !bytes.Equal(gama, make([]byte, 4)): // 0 means nothing
		take(readGamma(gama, chrm))
	case chrm != nil && !grey && !m.srgb && m.stated == nil:
		m.stated, m.profileErr = readPrimariesAlone(chrm)
	}
	return m
}

func unpackICCP(b []byte, most int64) ([]byte, error) {
	i := bytes.IndexByte(b, 0)
	if i < 0 || i+2 > len(b) || b[i+1] != 0 {
		return nil, errors.New("malformed iCCP chunk")
	}
	z, err := zlib.NewReader(bytes.NewReader(b[i+2:]))
	if err != nil {
		return nil, fmt.Errorf("iCCP chunk: %w", err)
	}
	p, err := io.ReadAll(io.LimitReader(z, most+1))
	if err != nil {
		return nil, fmt.Errorf("iCCP chunk: %w", err)
	}
	if int64(len(p)) > most {
		return nil, fmt.Errorf("it is larger than %d MB", most/limit.MB)
	}
	return p, nil
}

// dpi keeps a resolution only if it can be one.
func dpi(v float64) float64 {
	if !(v >= 1 && v <= 100000) {
		return 0
	}
	return v
}

func jpegMeta(b []byte) (m meta) {
	if md, _, err := jpegmeta.Load(bytes.NewReader(b)); err == nil {
		m.profile, m.profileErr = md.ICCProfileData()
	}
	var tables [4]float64 // mean step of each quantisation table, 0 if there is none
	luminance := 0        // the table of the first component
	jpegSegments(b, func(marker byte, data []byte) {
		switch {
		case marker == 0xe0 && has(data, 0, "JFIF\x00") && len(data) >= 12:
			unit := map[byte]float64{1: 1, 2: 2.54}[data[7]]
			m.dpiX = dpi(float64(binary.BigEndian.Uint16(data[8:])) * unit)
			m.dpiY = dpi(float64(binary.BigEndian.Uint16(data[10:])) * unit)
		case marker == 0xe1 && has(data, 0, "Exif\x00\x00"):
			m.exif(data[6:])
		case marker == 0xdb:
			readSteps(data, &tables)
		case marker >= 0xc0 && marker <= 0xc2 && len(data) >= 9: // a frame that Huffman codes hold (ITU-T T.81, B.2.2)
			luminance = int(data[8])
		}
	})
	if luminance < len(tables) {
		m.quality = jpegQuality(tables[luminance])
	}
	return m
}

// readSteps reads a DQT segment (ITU-T T.81, B.2.4.1): of each table in it, the mean step.
func readSteps(b []byte, means *[4]float64) {
	for len(b) > 0 {
		bytes, table := 1+int(b[0]>>4), int(b[0]&15)
		b = b[1:]
		if bytes > 2 || table >= len(means) || len(b) < 64*bytes {
			return
		}
		sum := 0
		for i := range 64 {
			if bytes == 1 {
				sum += int(b[i])
			} else {
				sum += int(binary.BigEndian.Uint16(b[2*i:]))
			}
		}
		means[table], b = float64(sum)/64, b[64*bytes:]
	}
}

// luminanceSteps are the quantisation steps for luminance of ITU-T T.81 | ISO/IEC
// 10918-1, table K.1, row by row.
var luminanceSteps = [64]int{
	16, 11, 10, 16, 24, 40, 51, 61,
	12, 12, 14, 19, 26, 58, 60, 55,
	14, 13, 16, 24, 40, 57, 69, 56,
	14, 17, 22, 29, 51, 87, 80, 62,
	18, 22, 37, 56, 68, 109, 103, 77,
	24, 35, 55, 64, 81, 104, 113, 92,
	49, 64, 78, 87, 103, 121, 120, 101,
	72, 92, 95, 98, 112, 100, 103, 99,
}

// jpegQuality is the quality, 1 to 100, whose table for luminance has the mean step
// nearest to mean; 0 for a mean of 0. The standard knows no quality: that a table is table
// K.1 times 50/quality, or times 2 − quality/50 from 50 on, is common practice since the
// Independent JPEG Group's free library. Programs with tables of their own are told
// about as well as their mean tells.
func jpegQuality(mean float64) int {
	if mean <= 0 {
		return 0
	}
	best, least := 0, math.Inf(1)
	for quality := 1; quality <= 100; quality++ {
		percent := 200 - 2*quality
		if quality < 50 {
			percent = 5000 / quality
		}
		sum := 0
		for _, step := range luminanceSteps {
			sum += min(max((step*percent+50)/100, 1), 255)
		}
		if off := math.Abs(float64(sum)/64 - mean); off < least {
			best, least = quality, off
		}
	}
	return best
}

func webpMeta(b []byte) (m meta) {
	if md, _, err := webpmeta.Load(bytes.NewReader(b)); err == nil {
		m.profile, m.profileErr = md.ICCProfileData()
	}
	webpChunks(b[min(12, len(b)):], func(kind string, data []byte) bool {
		if kind == "EXIF" {
			m.exif(bytes.TrimPrefix(data, []byte("Exif\x00\x00")))
		}
		return false
	})
	return m
}

// exif fills in what nothing before it has said.
func (m *meta) exif(b []byte) {
	if d, err := readIFD(b); err == nil {
		m.directory(d)
	}
}

// directory is exif for a directory that has been read.
func (m *meta) directory(d *directory) {
	if o := d.int(tagOrientation, 1); m.orientation == 0 {
		m.orientation = o
	}
	if x, y := d.resolution(); m.dpiX == 0 || m.dpiY == 0 {
		m.dpiX, m.dpiY = x, y
	}
	sub := d.int(tagExifIFD, 0)
	if sub <= 0 {
		return
	}
	e, _, err := d.at(uint64(sub))
	if err != nil {
		return
	}
	switch space := e.int(tagColorSpace, 0); {
	case space == 1:
		m.srgb = true
	case space == 2 || space == uncalibrated && e.interoperability() == "R03":
		m.stated = adobeRGB
	}
}

// uncalibrated is the EXIF colour space of all that is not sRGB.
const uncalibrated = 0xffff

// interoperability is the index that an EXIF directory points to, such
// as R98 for sRGB and R03 for Adobe RGB (Exif 2.32, 4.6.3; DCF 2.0); "" if none.
func (d *directory) interoperability() string {
	at := d.int(tagInteroperability, 0)
	if at <= 0 {
		return ""
	}
	i, _, err := d.at(uint64(at))
	if err != nil {
		return ""
	}
	s, _, _ := strings.Cut(string(i.tags[tagInteropIndex].data), "\x00")
	return s
}

// TIFF tags (TIFF 6.0; EXIF 2.3).
const (
	tagInteropIndex     = 1 // in a directory of its own
	tagSubfile          = 254
	tagOldSubfile       = 255
	tagWidth            = 256
	tagHeight           = 257
	tagBits             = 258
	tagCompression      = 259
	tagPhotometric      = 262
	tagFillOrder        = 266
	tagMake             = 271
	tagStripOffsets     = 273
	tagOrientation      = 274
	tagSamples          = 277
	tagRowsPerStrip     = 278
	tagStripCounts      = 279
	tagXResolution      = 282
	tagYResolution      = 283
	tagPlanar           = 284
	tagT4Options        = 292
	tagUnit             = 296
	tagPredictor        = 317
	tagColorMap         = 320
	tagTileWidth        = 322
	tagTileHeight       = 323
	tagTileOffsets      = 324
	tagTileCounts       = 325
	tagSubIFDs          = 330
	tagInkSet           = 332
	tagExtraSamples     = 338
	tagSampleFormat     = 339
	tagJPEGTables       = 347
	tagYCbCrWeights     = 529
	tagSubsampling      = 530
	tagBlackWhite       = 532
	tagICC              = 34675
	tagExifIFD          = 34665
	tagColorSpace       = 40961
	tagInteroperability = 40965
	tagDNGVersion       = 50706
	maxDirectoryTags    = 4096
)

// directory is one image file directory of a TIFF structure.
type directory struct {
	order binary.ByteOrder
	big   bool // offsets and counts have 64 bits (BigTIFF)
	all   []byte
	tags  map[int]entry
}

type entry struct {
	kind, count int
	data        []byte
}

var typeSize = map[int]int{1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8}

func readIFD(b []byte) (*directory, error) {
	d, _, err := readIFDNext(b)
	return d, err
}

// readIFDNext reads the first directory of a file, and says where the next one is.
func readIFDNext(b []byte) (*directory, uint64, error) {
	d := &directory{all: b}
	switch {
	case has(b, 0, "II") && len(b) >= 8:
		d.order = binary.LittleEndian
	case has(b, 0, "MM") && len(b) >= 8:
		d.order = binary.BigEndian
	default:
		return nil, 0, errors.New("no TIFF header")
	}
	switch kind := d.order.Uint16(b[2:]); {
	case kind == 42:
		return d.at(uint64(d.order.Uint32(b[4:])))
	case kind == 43 && len(b) >= 16 && d.order.Uint16(b[4:]) == 8:
		d.big = true
		return d.at(d.order.Uint64(b[8:]))
	}
	return nil, 0, errors.New("no TIFF header")
}

// at reads another directory of d's file, and says where the one behind that is; 0 for none.
func (d *directory) at(at uint64) (*directory, uint64, error) {
	b := d.all
	head, size, inline := uint64(2), uint64(12), uint64(4)
	if d.big {
		head, size, inline = 8, 20, 8
	}
	if at < 8 || at > uint64(len(b)) || head > uint64(len(b))-at {
		return nil, 0, errors.New("its directory lies outside the file")
	}
	n := uint64(d.order.Uint16(b[at:]))
	if d.big {
		n = d.order.Uint64(b[at:])
	}
	if n > maxDirectoryTags || n*size > uint64(len(b))-at-head {
		return nil, 0, errors.New("its directory is cut short")
	}
	out := &directory{d.order, d.big, b, map[int]entry{}}
	for i := range n {
		e := b[at+head+size*i:]
		kind, count := int(d.order.Uint16(e[2:])), uint64(d.order.Uint32(e[4:]))
		data := e[8:12]
		if d.big {
			count, data = d.order.Uint64(e[4:]), e[12:20]
		}
		each := uint64(typeSize[kind])
		if each == 0 || count > uint64(len(b)) {
			continue
		}
		if each*count > inline {
			off := uint64(d.order.Uint32(data))
			if d.big {
				off = d.order.Uint64(data)
			}
			if off > uint64(len(b)) || each*count > uint64(len(b))-off {
				continue // a damaged side entry is no reason to refuse the picture
			}
			data = b[off : off+each*count]
		}
		out.tags[int(d.order.Uint16(e))] = entry{kind, int(count), data}
	}
	next := uint64(0)
	switch end := b[at+head+size*n:]; {
	case d.big && len(end) >= 8:
		next = d.order.Uint64(end)
	case !d.big && len(end) >= 4:
		next = uint64(d.order.Uint32(end))
	}
	return out, next, nil
}

// ints reads an entry of whole numbers that are not below 0.
func (d *directory) ints(tag int) []int {
	e, ok := d.tags[tag]
	if !ok {
		return nil
	}
	var v []int
	for i := range e.count {
		switch e.kind {
		case 1, 7:
			if i < len(e.data) {
				v = append(v, int(e.data[i]))
			}
		case 3:
			if 2*i+2 <= len(e.data) {
				v = append(v, int(d.order.Uint16(e.data[2*i:])))
			}
		case 4, 13:
			if 4*i+4 <= len(e.data) {
				v = append(v, int(d.order.Uint32(e.data[4*i:])))
			}
		case 16, 18:
			if 8*i+8 <= len(e.data) {
				v = append(v, int(min(d.order.Uint64(e.data[8*i:]), math.MaxInt64)))
			}
		}
	}
	return v
}

func (d *directory) int(tag, otherwise int) int {
	if v := d.ints(tag); len(v) > 0 {
		return v[0]
	}
	return otherwise
}

// rationals reads an entry of fractions; those that are none are 0.
func (d *directory) rationals(tag int) (v []float64) {
	e := d.tags[tag]
	if e.kind != 5 {
		return nil
	}
	for b := e.data; len(b) >= 8; b = b[8:] {
		x := float64(d.order.Uint32(b)) / float64(d.order.Uint32(b[4:]))
		if math.IsNaN(x) || math.IsInf(x, 0) {
			x = 0
		}
		v = append(v, x)
	}
	return v
}

func (d *directory) rational(tag int) float64 {
	if v := d.rationals(tag); len(v) > 0 {
		return v[0]
	}
	return 0
}

func (d *directory) resolution() (x, y float64) {
	unit := map[int]float64{2: 1, 3: 2.54}[d.int(tagUnit, 2)]
	return dpi(d.rational(tagXResolution) * unit), dpi(d.rational(tagYResolution) * unit)
}

func tiffMeta(d *directory) (m meta) {
	m.directory(d)
	if e, ok := d.tags[tagICC]; ok {
		m.profile = e.data
	}
	return m
}
