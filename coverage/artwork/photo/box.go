package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"

	"laydown/coverage/fault"
)

// Is reports whether the first bytes of a file are those of a kind that is read here.
func Is(b []byte) bool {
	if isJXL(b) {
		return true
	}
	if len(b) < 12 || string(b[4:8]) != "ftyp" {
		return false
	}
	for _, brand := range brands(b) {
		switch brand {
		case "heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1", "mif2", "avif", "avis", "miaf", "MA1B", "MA1A":
			return true
		}
	}
	return false
}

// brands are the major and the compatible brands of the ftyp box that b begins with.
func brands(b []byte) (all []string) {
	n := int(min(uint64(binary.BigEndian.Uint32(b)), uint64(len(b)), 1024))
	for at := 8; at+4 <= n; at += 4 {
		if at != 12 { // the version of the major brand
			all = append(all, string(b[at:at+4]))
		}
	}
	return all
}

// Read reads what a file says of its picture. The file must be one that [Is] knows. A
// picture of a kind that is not read is a [fault.Fault], anything else damage.
func Read(b []byte) (*Header, error) {
	if isJXL(b) {
		return readJXL(b)
	}
	return readBoxes(b)
}

// box is one box of ISO/IEC 14496-12, 4.2.
type box struct {
	kind string
	at   int // where its content begins in the file
	data []byte
}

// boxes walks the boxes that lie in the bytes b, which begin at place at of the file. It
// stops at the first that is broken, which is for who needs what is missing then.
func boxes(b []byte, at int, see func(box) error) error {
	for len(b) >= 8 {
		n, head := uint64(binary.BigEndian.Uint32(b)), 8
		switch n {
		case 0:
			n = uint64(len(b))
		case 1:
			if len(b) < 16 {
				return nil
			}
			n, head = binary.BigEndian.Uint64(b[8:]), 16
		}
		if n < uint64(head) || n > uint64(len(b)) {
			return nil
		}
		if err := see(box{string(b[4:8]), at + head, b[head:n]}); err != nil {
			return err
		}
		b, at = b[n:], at+int(n)
	}
	return nil
}

// cursor reads numbers; past the end they are 0 and bad is set.
type cursor struct {
	b   []byte
	at  int
	bad bool
}

func (c *cursor) uint(n int) (v uint64) {
	if n < 0 || n > len(c.b)-c.at {
		c.bad, c.at = true, len(c.b)
		return 0
	}
	for _, d := range c.b[c.at : c.at+n] {
		v = v<<8 | uint64(d)
	}
	c.at += n
	return v
}

// item is one entry of a file's meta box.
type item struct {
	kind       string
	properties []int // from 1 on
}

// file is what the meta box says.
type file struct {
	primary            uint32
	metaAt             int   // where the content of the meta box begins in the file
	parts              []box // of the meta box
	items              map[uint32]*item
	properties         []box
	references         []link
	places             map[uint32][]place
	data               []byte
	hasMeta, hasTracks bool
}

// link is what one item says of others.
type link struct {
	kind string
	from uint32
	to   []uint32
}

type place struct {
	from, length uint64
	inData       bool // in the meta box's own data
}

// most bounds lists of items and of properties, of which pictures have dozens.
const most = 1 << 16

func (f *file) item(id uint32) *item {
	if f.items[id] == nil {
		f.items[id] = &item{}
	}
	return f.items[id]
}

func readMeta(b []byte) (*file, error) {
	f := &file{items: map[uint32]*item{}, places: map[uint32][]place{}}
	err := boxes(b, 0, func(x box) error {
		switch x.kind {
		case "moov":
			f.hasTracks = true
		case "meta":
			if f.hasMeta || len(x.data) < 4 {
				return nil
			}
			f.hasMeta, f.metaAt = true, x.at
			return boxes(x.data[4:], x.at+4, func(p box) error {
				if len(f.parts) < most {
					f.parts = append(f.parts, p)
				}
				return f.take(p)
			})
		}
		return nil
	})
	return f, err
}

// take reads a box of the meta box (ISO/IEC 14496-12, 8.11; 23008-12, 9.3).
func (f *file) take(x box) error {
	c := &cursor{b: x.data}
	if x.kind == "iprp" {
		return boxes(x.data, x.at, f.takeProperties)
	}
	if x.kind == "idat" {
		f.data = x.data
		return nil
	}
	version := int(c.uint(1))
	c.uint(3)
	wide := func(from int) int {
		if version >= from {
			return 4
		}
		return 2
	}
	switch x.kind {
	case "pitm":
		f.primary = uint32(c.uint(wide(1)))
	case "iinf":
		c.uint(wide(1))
		return boxes(c.b[c.at:], x.at+c.at, func(e box) error {
			c := &cursor{b: e.data}
			v := c.uint(1)
			c.uint(3)
			if e.kind != "infe" || v < 2 || len(f.items) > most {
				return nil
			}
			size := 2
			if v > 2 {
				size = 4
			}
			id := uint32(c.uint(size))
			c.uint(2)
			if c.at+4 <= len(c.b) {
				f.item(id).kind = string(c.b[c.at : c.at+4])
			}
			return nil
		})
	case "iref":
		size := wide(1)
		return boxes(c.b[c.at:], x.at+c.at, func(e box) error {
			c := &cursor{b: e.data}
			r := link{kind: e.kind, from: uint32(c.uint(size))}
			for n := int(c.uint(2)); n > 0 && !c.bad; n-- {
				r.to = append(r.to, uint32(c.uint(size)))
			}
			if !c.bad && len(f.references) < most {
				f.references = append(f.references, r)
			}
			return nil
		})
	case "iloc":
		sizes := c.uint(2)
		offset, length, base, index := int(sizes>>12), int(sizes>>8&15), int(sizes>>4&15), int(sizes&15)
		if version == 0 {
			index = 0
		}
		if offset > 8 || length > 8 || base > 8 || index > 8 {
			return nil
		}
		for n := int(c.uint(wide(2))); n > 0 && !c.bad; n-- {
			id := uint32(c.uint(wide(2)))
			inData := false
			if version > 0 {
				inData = c.uint(2)&15 == 1
			}
			c.uint(2)
			from := c.uint(base)
			for k := int(c.uint(2)); k > 0 && !c.bad; k-- {
				c.uint(index)
				p := place{from: from + c.uint(offset), inData: inData}
				p.length = c.uint(length)
				if !c.bad && len(f.places[id]) < most {
					f.places[id] = append(f.places[id], p)
				}
			}
		}
	}
	return nil
}

func (f *file) takeProperties(x box) error {
	switch x.kind {
	case "ipco":
		return boxes(x.data, x.at, func(p box) error {
			if len(f.properties) < most {
				f.properties = append(f.properties, p)
			}
			return nil
		})
	case "ipma":
		c := &cursor{b: x.data}
		version, flags := c.uint(1), c.uint(3)
		id, index := 2, 1
		if version > 0 {
			id = 4
		}
		if flags&1 == 1 {
			index = 2
		}
		for n := int(c.uint(4)); n > 0 && !c.bad; n-- {
			item := uint32(c.uint(id))
			for k := int(c.uint(1)); k > 0 && !c.bad; k-- {
				v := int(c.uint(index)) &^ (1 << (8*index - 1)) // less the bit that it is essential
				if !c.bad && len(f.items) <= most {
					f.item(item).properties = append(f.item(item).properties, v)
				}
			}
		}
	}
	return nil
}

// of are the properties of an item, in its order.
func (f *file) of(id uint32) (all []box) {
	if i := f.items[id]; i != nil {
		for _, n := range i.properties {
			if n >= 1 && n <= len(f.properties) {
				all = append(all, f.properties[n-1])
			}
		}
	}
	return all
}

// content is the bytes of an item that lies in one piece; nil if they cannot be had.
func (f *file) content(b []byte, id uint32) []byte {
	places := f.places[id]
	if len(places) != 1 {
		return nil
	}
	p := places[0]
	if p.inData {
		b = f.data
	}
	if p.from > uint64(len(b)) || p.length > uint64(len(b))-p.from {
		return nil
	}
	return b[p.from : p.from+p.length]
}

// otherCoded are kinds of coded picture that are not read, and how they are called.
var otherCoded = map[string]string{"avc1": "H.264", "vvc1": "H.266", "evc1": "EVC", "jpeg": "JPEG", "j2k1": "JPEG 2000", "unci": "uncompressed", "mski": "a mask"}

func readBoxes(b []byte) (*Header, error) {
	f, err := readMeta(b)
	if err != nil {
		return nil, err
	}
	main := f.items[f.primary]
	switch {
	case !f.hasMeta && f.hasTracks:
		return nil, fault.New("is a film or a burst without a still picture in it", "ask for one picture of it, as JPEG or PNG")
	case !f.hasMeta:
		return nil, errors.New("what it holds is cut off")
	case main == nil:
		return nil, errors.New("it names no main picture")
	}
	h := &Header{Depth: 8, main: f.primary, Sequence: f.hasTracks}
	coded, codedID := main, f.primary
	for range 4 { // a picture may be made of others: tiles of a grid, or one that is turned
		if coded.kind != "grid" && coded.kind != "iden" && coded.kind != "iovl" && coded.kind != "tmap" {
			break
		}
		for _, r := range f.references {
			if r.kind == "dimg" && r.from == codedID && len(r.to) > 0 && f.items[r.to[0]] != nil {
				codedID = r.to[0]
				coded = f.items[codedID]
				break
			}
		}
	}
	switch coded.kind {
	case "hvc1":
		h.Kind = HEIC
	case "av01":
		h.Kind = AVIF
	default:
		if name := otherCoded[coded.kind]; name != "" {
			return nil, fault.New(fmt.Sprintf("holds its picture in a way that is not read (%s)", name), "ask for it as JPEG, PNG or TIFF")
		}
		return nil, fmt.Errorf("its main picture is of no known kind (%.4q)", coded.kind)
	}
	for _, r := range f.references {
		switch {
		case r.kind == "auxl" && contains(r.to, f.primary) && f.isAlpha(r.from):
			h.Alpha = true
			if h.Kind == HEIC {
				h.alphaItem = r.from
			}
		case r.kind == "prem" && r.from == f.primary:
			h.premultiplied = true
		case r.kind == "cdsc" && contains(r.to, f.primary) && f.items[r.from] != nil && f.items[r.from].kind == "Exif":
			if e := f.content(b, r.from); len(e) > 4 {
				if skip := uint64(binary.BigEndian.Uint32(e)); skip < uint64(len(e)-4) {
					h.Exif = bytes.TrimPrefix(e[4+skip:], []byte("Exif\x00\x00"))
				}
			}
		}
	}
	if h.Kind == HEIC {
		h.premultiplied = h.premultiplied && h.Alpha
	} else {
		h.premultiplied = h.Alpha // as libavif is told to return it
	}
	for _, p := range f.of(codedID) {
		switch {
		case p.kind == "av1C" && len(p.data) >= 4:
			if p.data[2]&0x40 != 0 {
				h.Depth = 16
			}
			h.Grey = p.data[2]&0x10 != 0
		case p.kind == "hvcC" && len(p.data) > 16:
			h.Grey = p.data[16]&3 == 0
		}
	}
	if err := h.takeBoxes(f, codedID); err != nil {
		return nil, err
	}
	return h, nil
}

func contains(list []uint32, v uint32) bool {
	for _, x := range list {
		if x == v {
			return true
		}
	}
	return false
}

// isAlpha reports whether an auxiliary picture is an alpha (ISO/IEC 23008-12, annex B;
// MIAF, ISO/IEC 23000-22).
func (f *file) isAlpha(id uint32) bool {
	for _, p := range f.of(id) {
		if p.kind == "auxC" && len(p.data) > 4 {
			kind, _, _ := bytes.Cut(p.data[4:], []byte{0})
			switch string(kind) {
			case "urn:mpeg:mpegB:cicp:systems:auxiliary:alpha", "urn:mpeg:hevc:2015:auxid:1", "urn:mpeg:avc:2015:auxid:1":
				return true
			}
		}
	}
	return false
}

// takeBoxes reads the size of the main picture, how it is turned, and its colours, which
// those of a tile stand in for.
func (h *Header) takeBoxes(f *file, tile uint32) error {
	w, high := 0, 0
	for _, p := range f.of(f.primary) {
		c := &cursor{b: p.data}
		switch p.kind {
		case "ispe":
			c.uint(4)
			w, high = int(c.uint(4)), int(c.uint(4))
			h.coded = [2]int{w, high}
		case "irot":
			h.turns = append(h.turns, turn{kind: 'r', n: int(c.uint(1) & 3)})
		case "imir":
			h.turns = append(h.turns, turn{kind: 'm', n: int(c.uint(1) & 1)})
		case "clap":
			t, err := crop(c, w, high)
			if err != nil {
				return err
			}
			h.turns = append(h.turns, t)
		default:
			continue
		}
		if c.bad {
			return fmt.Errorf("its %s box is cut short", p.kind)
		}
	}
	const longest = 1 << 20
	if w <= 0 || high <= 0 {
		return errors.New("it does not say how large its picture is")
	}
	if w > longest || high > longest {
		return fmt.Errorf("it claims %d × %d pixels", w, high)
	}
	for _, t := range h.turns {
		w, high = t.size(w, high)
	}
	h.Width, h.Height = w, high
	if h.Kind == HEIC { // libheif turns
		h.turns, h.coded = nil, [2]int{w, high}
	}
	for _, id := range []uint32{f.primary, tile} {
		for _, p := range f.of(id) {
			if p.kind != "colr" || len(p.data) < 4 {
				continue
			}
			switch kind, rest := string(p.data[:4]), p.data[4:]; {
			case (kind == "prof" || kind == "rICC") && h.ICC == nil:
				h.ICC = rest
			case kind == "nclx" && len(rest) >= 7 && h.Code == nil:
				u := func(i int) int { return int(binary.BigEndian.Uint16(rest[i:])) }
				h.Code = &Code{u(0), u(2), u(4), rest[6]&0x80 != 0}
			}
		}
	}
	for _, p := range f.of(tile) {
		if p.kind == "hvcC" && h.Code == nil {
			h.Code = streamCode(p.data)
		}
	}
	return nil
}

// crop reads a clean aperture (ISO/IEC 14496-12, 12.1.4): how large, and how far its middle
// lies from that of the picture.
func crop(c *cursor, w, h int) (turn, error) {
	var v [8]int64
	for i := range v {
		v[i] = int64(int32(c.uint(4)))
	}
	for i := 1; i < 8; i += 2 {
		if v[i] <= 0 {
			return turn{}, errors.New("its clap box has a denominator of 0")
		}
	}
	cw, ch := v[0]/v[1], v[2]/v[3]
	// left = offset + (width − own width) / 2, rounded to a whole pixel.
	left := (2*v[4] + (int64(w)-cw)*v[5]) / (2 * v[5])
	top := (2*v[6] + (int64(h)-ch)*v[7]) / (2 * v[7])
	if cw <= 0 || ch <= 0 || left < 0 || top < 0 || left+cw > int64(w) || top+ch > int64(h) {
		return turn{}, errors.New("its clap box lies outside the picture")
	}
	return turn{kind: 'c', x: int(left), y: int(top), w: int(cw), h: int(ch)}, nil
}
