package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"

	"laydown/coverage/fault"
)

const jxlContainer = "\x00\x00\x00\x0cJXL \r\n\x87\n"

func isJXL(b []byte) bool {
	return bytes.HasPrefix(b, []byte("\xff\x0a")) || bytes.HasPrefix(b, []byte(jxlContainer))
}

// bits reads numbers from the lowest bit on (ISO/IEC 18181-1, annex B); past the end they
// are 0 and bad is set.
type bits struct {
	b   []byte
	at  int
	bad bool
}

func (r *bits) u(n int) (v int) {
	for i := range n {
		if r.at/8 >= len(r.b) {
			r.bad = true
			return 0
		}
		v |= int(r.b[r.at/8]>>(r.at%8)&1) << i
		r.at++
	}
	return v
}

func (r *bits) flag() bool { return r.u(1) == 1 }

// u32 is one of four numbers, each given as what is added and how many bits follow.
func (r *bits) u32(d [4][2]int) int {
	k := d[r.u(2)]
	return k[0] + r.u(k[1])
}

func (r *bits) enum() int { return r.u32([4][2]int{{0, 0}, {1, 0}, {2, 4}, {18, 6}}) }

// xy is a pair of chromaticities of the file's own.
func (r *bits) xy() (p [2]float64) {
	for i := range p {
		v := r.u32([4][2]int{{0, 19}, {524288, 19}, {1048576, 20}, {2097152, 21}})
		if v&1 == 1 {
			v = -(v >> 1) - 1
		} else {
			v >>= 1
		}
		p[i] = float64(v) / 1e6
	}
	return p
}

var ratios = [8][2]int{{}, {1, 1}, {12, 10}, {4, 3}, {3, 2}, {16, 9}, {5, 4}, {2, 1}}

// size reads a SizeHeader.
func (r *bits) size() (w, h int) {
	by8 := r.flag()
	side := func() int {
		if by8 {
			return 8 * (1 + r.u(5))
		}
		return r.u32([4][2]int{{1, 9}, {1, 13}, {1, 18}, {1, 30}})
	}
	h = side()
	if k := ratios[r.u(3)]; k[0] > 0 {
		return h * k[0] / k[1], h
	}
	return side(), h
}

func (r *bits) skipPreview() {
	side := [4][2]int{{1, 6}, {65, 8}, {321, 10}, {1345, 12}}
	if r.flag() {
		side = [4][2]int{{16, 0}, {32, 0}, {1, 5}, {33, 9}}
	}
	r.u32(side)
	if r.u(3) == 0 {
		r.u32(side)
	}
}

func (r *bits) skipAnimation() {
	r.u32([4][2]int{{100, 0}, {1000, 0}, {1, 10}, {1, 30}})
	r.u32([4][2]int{{1, 0}, {1001, 0}, {1, 8}, {1, 10}})
	r.u32([4][2]int{{0, 0}, {0, 3}, {0, 16}, {0, 32}})
	r.u(1)
}

// depth is the bits of a sample, and whether it is floating point.
func (r *bits) depth() (n int, float bool) {
	if !r.flag() {
		return r.u32([4][2]int{{8, 0}, {10, 0}, {12, 0}, {1, 6}}), false
	}
	n = r.u32([4][2]int{{32, 0}, {16, 0}, {24, 0}, {1, 6}})
	r.u(4)
	return n, true
}

// Kinds of extra channel (ISO/IEC 18181-1, table of ec_info.type).
const (
	extraAlpha = 0
	extraSpot  = 2
	extraBlack = 4
	extraCFA   = 5
)

// extra reads what a channel beside the colours is.
func (r *bits) extra() (kind int, premultiplied bool) {
	if r.flag() {
		return extraAlpha, false
	}
	kind = r.enum()
	r.depth()
	r.u32([4][2]int{{0, 0}, {3, 0}, {4, 0}, {1, 3}})
	for n := r.u32([4][2]int{{0, 0}, {0, 4}, {16, 5}, {48, 10}}); n > 0 && !r.bad; n-- {
		r.u(8)
	}
	switch kind {
	case extraAlpha:
		premultiplied = r.flag()
	case extraSpot:
		r.u(64)
	case extraCFA:
		r.u32([4][2]int{{1, 0}, {0, 2}, {3, 4}, {19, 8}})
	}
	return kind, premultiplied
}

// jxlParts finds the beginning of the codestream, and the EXIF data beside it.
func jxlParts(b []byte) (code, exif []byte) {
	if !bytes.HasPrefix(b, []byte(jxlContainer)) {
		return b, nil
	}
	_ = boxes(b, 0, func(x box) error {
		switch {
		case code == nil && x.kind == "jxlc":
			code = x.data
		case code == nil && x.kind == "jxlp" && len(x.data) > 4:
			code = x.data[4:]
		case x.kind == "Exif" && len(x.data) > 4:
			if skip := uint64(binary.BigEndian.Uint32(x.data)); skip < uint64(len(x.data)-4) {
				exif = x.data[4+skip:]
			}
		}
		return nil
	})
	return code, exif
}

// readJXL reads the size and the metadata that a codestream begins with.
func readJXL(b []byte) (*Header, error) {
	code, exif := jxlParts(b)
	if !bytes.HasPrefix(code, []byte("\xff\x0a")) {
		return nil, errors.New("what it holds is cut off")
	}
	r := &bits{b: code[2:]}
	h := &Header{Kind: JXL, Depth: 8, Exif: exif}
	h.Width, h.Height = r.size()
	orientation := 1
	if !r.flag() { // else all is as usual: 8 bits, sRGB, no alpha
		if err := h.takeMetadata(r, &orientation); err != nil {
			return nil, err
		}
	} else {
		h.Code = &Code{Primaries: 1, Transfer: 13, Full: true}
	}
	if r.bad {
		return nil, errors.New("its header is cut short")
	}
	if h.Width > 1<<30 || h.Height > 1<<30 {
		return nil, fmt.Errorf("it claims %d × %d pixels", h.Width, h.Height)
	}
	if orientation >= 5 {
		h.Width, h.Height = h.Height, h.Width
	}
	h.coded = [2]int{h.Width, h.Height} // libjxl turns
	return h, nil
}

func (h *Header) takeMetadata(r *bits, orientation *int) error {
	more := r.flag()
	if more {
		*orientation = 1 + r.u(3)
		if r.flag() {
			r.size()
		}
		if r.flag() {
			r.skipPreview()
		}
		if h.Sequence = r.flag(); h.Sequence {
			r.skipAnimation()
		}
	}
	n, _ := r.depth()
	if n == 16 {
		h.Depth = 16
	}
	r.u(1)
	for k := r.u32([4][2]int{{0, 0}, {1, 0}, {2, 4}, {1, 12}}); k > 0 && !r.bad; k-- {
		switch kind, premultiplied := r.extra(); kind {
		case extraAlpha:
			if !h.Alpha {
				h.Alpha, h.premultiplied = true, premultiplied
			}
		case extraBlack:
			return fault.New("is a JPEG XL of CMYK", "ask for it as a TIFF or PDF")
		}
	}
	xyb := r.flag()
	if r.flag() {
		h.Code = &Code{Primaries: 1, Transfer: 13, Full: true}
		return nil
	}
	profile := r.flag()
	space := r.enum()
	h.Grey = space == 1
	switch {
	case profile && xyb: // libjxl returns them linear in 8 bits, in which the dark falls into steps
		return fault.New("is a JPEG XL with a colour profile packed inside a picture of its own colours, which is not read", "ask for it as PNG or TIFF")
	case profile:
		h.Packed = true
		return nil
	case space > 1:
		return fault.New("is a JPEG XL of colours that are not named", "ask for it as PNG or TIFF")
	}
	return h.takeColours(r)
}

// takeColours reads an encoding that needs no profile.
func (h *Header) takeColours(r *bits) error {
	const custom = 2
	white := r.enum()
	if white == custom {
		v := r.xy()
		h.White = &v
	}
	primaries := 1
	if !h.Grey {
		if primaries = r.enum(); primaries == custom {
			h.Primaries = &[3][2]float64{r.xy(), r.xy(), r.xy()}
		}
	}
	h.Code = &Code{Primaries: primaries, Full: true}
	switch {
	case white == 11 && primaries == 11 || primaries == custom:
	case white == 1 && primaries == 11: // named as in H.273, which tells the two by their white
		h.Code.Primaries = 12
	case white == 10:
		h.White = &[2]float64{1. / 3, 1. / 3}
	case white == 11:
		h.White = &[2]float64{0.314, 0.351}
	}
	if r.flag() {
		h.Gamma = 1e7 / float64(max(1, r.u(24)))
	} else {
		h.Code.Transfer = r.enum()
	}
	return nil
}
