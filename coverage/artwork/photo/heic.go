package photo

import (
	"context"
	"encoding/binary"
	"fmt"
	"maps"
	"slices"
)

// planes are what libheif returns: samples of 8 bits, apart.
type planes struct {
	w, h    int
	grey    bool
	y       []byte
	cb, cr  []byte
	stride  int
	cStride int
	halfX   bool // a chroma sample serves two columns
	halfY   bool // and two rows
}

// Words of libheif for spaces and chroma.
const (
	heifYCbCr = 0
	heifMono  = 2
	heif420   = 1
	heif422   = 2
	heif444   = 3
)

// stride is the bytes from one row to the next that libheif 1.18 gives a plane of w
// samples: an even number of at least 64 samples, and a multiple of 16.
func stride(w int) int { return (max(64, w+w&1) + 15) &^ 15 }

// heifPlanes decodes the primary item of a HEIC file, turned as the container says.
func (e *Engine) heifPlanes(ctx context.Context, data []byte) (*planes, error) {
	d, err := e.heif()
	if err != nil {
		return nil, fmt.Errorf("the decoder does not start: %w", err)
	}
	c, err := d.start(ctx)
	if err != nil {
		return nil, fmt.Errorf("the decoder does not start: %w", err)
	}
	defer c.module.Close(ctx)
	in, err := c.give(data)
	if err != nil {
		return nil, err
	}
	words, err := c.alloc(20)
	if err != nil {
		return nil, err
	}
	decode := func(headerOnly, out uint64) error {
		ok, err := c.run("decode", uint64(in), uint64(len(data)), headerOnly, uint64(words), uint64(words+4), uint64(words+8), uint64(words+12), uint64(words+16), out)
		if err == nil && ok == 0 {
			err = errDamaged
		}
		return err
	}
	if err := decode(1, 0); err != nil {
		return nil, err
	}
	says, err := c.words(words, 4)
	if err != nil {
		return nil, err
	}
	p := &planes{w: says[0], h: says[1], grey: says[2] == heifMono}
	if p.w <= 0 || p.h <= 0 || p.w > 1<<16 || p.h > 1<<16 {
		return nil, errDamaged
	}
	p.stride = stride(p.w)
	chroma := 0
	switch {
	case p.grey:
	case says[2] == heifYCbCr && says[3] >= heif420 && says[3] <= heif444:
		p.halfX, p.halfY = says[3] != heif444, says[3] == heif420
		cw, ch := p.w, p.h
		if p.halfX {
			cw = (cw + 1) / 2
		}
		if p.halfY {
			ch = (ch + 1) / 2
		}
		p.cStride = stride(cw)
		chroma = p.cStride * ch
	default:
		return nil, fmt.Errorf("its samples are laid out in a way that is not read (%d, %d)", says[2], says[3])
	}
	luma := p.stride * p.h
	out, err := c.alloc(luma + 2*chroma)
	if err != nil {
		return nil, err
	}
	if err := decode(0, uint64(out)); err != nil {
		return nil, err
	}
	all, ok := c.read(out, uint32(luma+2*chroma))
	if !ok {
		return nil, errDamaged
	}
	all = append([]byte(nil), all...)
	p.y, p.cb, p.cr = all[:luma], all[luma:luma+chroma], all[luma+chroma:]
	return p, nil
}

// decodeHEIC decodes the picture and its alpha, which is a picture of its own that libheif
// returns when it is named as the file's main one.
func (e *Engine) decodeHEIC(ctx context.Context, data []byte, h *Header) ([]byte, error) {
	p, err := e.heifPlanes(ctx, restaged(data, h.main))
	if err != nil {
		return nil, err
	}
	if p.w != h.Width || p.h != h.Height {
		return nil, fmt.Errorf("its header says %d × %d pixels and it holds %d × %d", h.Width, h.Height, p.w, p.h)
	}
	pix := make([]byte, 4*p.w*p.h)
	if err := p.toRGB(pix, h.Code); err != nil {
		return nil, err
	}
	if h.alphaItem == 0 {
		return pix, nil
	}
	a, err := e.heifPlanes(ctx, restaged(data, h.alphaItem))
	if err != nil {
		return nil, fmt.Errorf("its transparency: %w", err)
	}
	for y := range p.h {
		row := a.y[y*a.h/p.h*a.stride:]
		for x := range p.w {
			pix[4*(y*p.w+x)+3] = row[x*a.w/p.w]
		}
	}
	return pix, nil
}

// restaged is the file with another list of what it holds behind the old one, which is
// struck out. What the list points to stays where it was. By it the main item is main,
// which, if it is coded as a whole, is the one tile of a grid: samples of a grid come as
// they are, where those of a picture are carried to other colours and back, by a way
// that spoils the outermost chroma. Tiles without chroma would be asked for in a layout
// that libheif does not know; what their configuration says of chroma is for this question
// alone: with some, it adds a neutral one.
func restaged(b []byte, main uint32) []byte {
	f, err := readMeta(b)
	if err != nil || f.items[main] == nil {
		return b
	}
	out := append([]byte(nil), b...)
	copy(out[f.metaAt-4:], "free")
	l := list{f, main, 0}
	whole, grey := f.items[main].kind == "hvc1", false
	for _, p := range f.of(main) {
		grey = grey || p.greyConfiguration()
	}
	if whole && grey { // which comes as it is
		return append(out, boxed("meta", l.meta(false))...)
	}
	if whole {
		if l.grid, err = f.wrap(main); err != nil {
			return b
		}
		w, h := 0, 0
		for _, p := range f.of(main) {
			if c := (&cursor{b: p.data, at: 4}); p.kind == "ispe" {
				w, h = int(c.uint(4)), int(c.uint(4))
			}
		}
		// ISO/IEC 23008-12, 6.6.2.3.2: one row and one column, and 32 bits for the size.
		grid := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32([]byte{0, 1, 0, 0}, uint32(w)), uint32(h))
		f.places[l.grid] = []place{{from: uint64(len(out) + 8), length: uint64(len(grid))}}
		out = append(out, boxed("free", grid)...)
	}
	return append(out, boxed("meta", l.meta(!whole))...)
}

// greyConfiguration reports whether a property says that there is no chroma (ISO/IEC 14496-15, 8.3.3.1.2).
func (p box) greyConfiguration() bool {
	return p.kind == "hvcC" && len(p.data) > 16 && p.data[16]&3 == 0
}

func boxed(kind string, inside []byte) []byte {
	return append(append(binary.BigEndian.AppendUint32(nil, uint32(8+len(inside))), kind...), inside...)
}

// wrap adds a grid whose one tile is an item, and which is turned in its stead.
func (f *file) wrap(tile uint32) (uint32, error) {
	id := slices.Max(slices.Collect(maps.Keys(f.items))) + 1
	if id >= 1<<16 {
		return 0, errDamaged
	}
	grid := &item{kind: "grid"}
	var left []int
	for _, n := range f.items[tile].properties {
		if n < 1 || n > len(f.properties) {
			continue
		}
		switch f.properties[n-1].kind {
		case "irot", "imir", "clap":
			grid.properties = append(grid.properties, n)
		case "ispe":
			grid.properties, left = append(grid.properties, n), append(left, n)
		default:
			left = append(left, n)
		}
	}
	f.items[tile].properties, f.items[id] = left, grid
	return id, nil
}

// list is what a new meta box is made of.
type list struct {
	*file
	main, grid uint32 // the grid is 0 if there is none
}

// meta is the content of the new meta box; tiles without chroma may have to claim some.
func (l *list) meta(claim bool) []byte {
	meta, refers := []byte{0, 0, 0, 0}, false
	for _, x := range l.parts {
		data := x.data
		switch x.kind {
		case "pitm":
			main := l.main
			if l.grid != 0 {
				main = l.grid
			}
			data = binary.BigEndian.AppendUint32([]byte{1, 0, 0, 0}, main)
		case "iinf":
			data = l.infos()
		case "iloc":
			data = l.locations()
		case "iref":
			data, refers = l.references4(), true
		case "iprp":
			data = append(boxed("ipco", l.allProperties(claim)), boxed("ipma", l.associations())...)
		}
		meta = append(meta, boxed(x.kind, data)...)
	}
	if !refers {
		meta = append(meta, boxed("iref", l.references4())...)
	}
	return meta
}

// infos is the content of an iinf box (ISO/IEC 14496-12, 8.11.6).
func (l *list) infos() []byte {
	ids := slices.Sorted(maps.Keys(l.items))
	out := binary.BigEndian.AppendUint32([]byte{1, 0, 0, 0}, uint32(len(ids)))
	for _, id := range ids {
		kind := l.items[id].kind
		e := binary.BigEndian.AppendUint32([]byte{3, 0, 0, 0}, id)
		e = append(append(e, 0, 0), kind...)
		e = append(e, 0)
		if kind == "mime" {
			e = append(e, 0)
		}
		out = append(out, boxed("infe", e)...)
	}
	return out
}

// locations is the content of an iloc box (ISO/IEC 14496-12, 8.11.3).
func (l *list) locations() []byte {
	ids := slices.Sorted(maps.Keys(l.places))
	out := binary.BigEndian.AppendUint32([]byte{2, 0, 0, 0, 0x88, 0}, uint32(len(ids)))
	for _, id := range ids {
		out = binary.BigEndian.AppendUint32(out, id)
		method := uint16(0)
		if p := l.places[id]; len(p) > 0 && p[0].inData {
			method = 1
		}
		out = binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint16(out, method), 0)
		out = binary.BigEndian.AppendUint16(out, uint16(len(l.places[id])))
		for _, p := range l.places[id] {
			out = binary.BigEndian.AppendUint64(binary.BigEndian.AppendUint64(out, p.from), p.length)
		}
	}
	return out
}

// references4 is the content of an iref box (ISO/IEC 14496-12, 8.11.12).
func (l *list) references4() []byte {
	out := []byte{1, 0, 0, 0}
	all := l.references
	if l.grid != 0 {
		all = append(slices.Clone(all), link{"dimg", l.grid, []uint32{l.main}})
	}
	for _, r := range all {
		e := binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint32(nil, r.from), uint16(len(r.to)))
		for _, id := range r.to {
			e = binary.BigEndian.AppendUint32(e, id)
		}
		out = append(out, boxed(r.kind, e)...)
	}
	return out
}

// allProperties is the content of an ipco box.
func (l *list) allProperties(claim bool) (all []byte) {
	for _, p := range l.properties {
		data := p.data
		if claim && p.greyConfiguration() {
			data = append([]byte(nil), data...)
			data[16] |= heif420
		}
		all = append(all, boxed(p.kind, data)...)
	}
	return all
}

// associations is the content of an ipma box (ISO/IEC 23008-12, 9.3.2).
func (l *list) associations() []byte {
	ids := slices.Sorted(maps.Keys(l.items))
	out := binary.BigEndian.AppendUint32([]byte{1, 0, 0, 1}, uint32(len(ids)))
	for _, id := range ids {
		var list []uint16
		for _, n := range l.items[id].properties {
			if n < 1 || n > len(l.properties) || len(list) == 255 {
				continue
			}
			switch p := l.properties[n-1]; {
			case p.kind == "colr": // which is heeded here
			case p.kind == "hvcC" || p.kind == "irot" || p.kind == "imir" || p.kind == "clap":
				list = append(list, uint16(n)|0x8000) // essential
			default:
				list = append(list, uint16(n))
			}
		}
		out = append(binary.BigEndian.AppendUint32(out, id), byte(len(list)))
		for _, n := range list {
			out = binary.BigEndian.AppendUint16(out, n)
		}
	}
	return out
}

// weights are the shares of red and blue in luma (Rec. ITU-T H.273, table 4).
var weights = map[int][2]float64{
	1: {0.2126, 0.0722}, 4: {0.30, 0.11}, 5: {0.299, 0.114}, 6: {0.299, 0.114}, 7: {0.212, 0.087}, 9: {0.2627, 0.0593},
	2: {0.299, 0.114}, // not said
}

// toRGB fills in red, green, blue and a solid alpha. A chroma sample serves its pixels as it is.
func (p *planes) toRGB(pix []byte, code *Code) error {
	matrix, full := 6, true
	if code != nil {
		matrix, full = code.Matrix, code.Full
	}
	k, known := weights[matrix]
	if !known && matrix != 0 && !p.grey {
		return fmt.Errorf("its colours are mixed in a way that is not read (matrix %d)", matrix)
	}
	// Both ranges, in codes of 8 bits: H.273, equations 20 to 37.
	black, lumaScale, chromaScale := 0., 1., 1.
	if !full {
		black, lumaScale, chromaScale = 16, 255./219, 255./224
	}
	red, blue := 2*(1-k[0])*chromaScale, 2*(1-k[1])*chromaScale
	greenB, greenR := blue*k[1]/(1-k[0]-k[1]), red*k[0]/(1-k[0]-k[1])
	clip := func(v float64) uint8 { return uint8(max(0, min(255, v+0.5))) }
	for y := range p.h {
		luma := p.y[y*p.stride:]
		cy := y
		if p.halfY {
			cy /= 2
		}
		for x := range p.w {
			o := pix[4*(y*p.w+x):][:4:4]
			o[3] = 255
			l := (float64(luma[x]) - black) * lumaScale
			if p.grey {
				v := clip(l)
				o[0], o[1], o[2] = v, v, v
				continue
			}
			cx := x
			if p.halfX {
				cx /= 2
			}
			u, v := p.cb[cy*p.cStride+cx], p.cr[cy*p.cStride+cx]
			if matrix == 0 { // green, blue and red as they are
				o[0], o[1], o[2] = clip((float64(v)-black)*lumaScale), clip(l), clip((float64(u)-black)*lumaScale)
				continue
			}
			cb, cr := float64(u)-128, float64(v)-128
			o[0], o[1], o[2] = clip(l+red*cr), clip(l-greenB*cb-greenR*cr), clip(l+blue*cb)
		}
	}
	return nil
}
