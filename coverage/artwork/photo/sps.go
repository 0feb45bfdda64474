package photo

import "bytes"

// reader reads bits from the highest on, as Rec. ITU-T H.265 has them; past the end they are
// 0 and bad is set.
type reader struct {
	b   []byte
	at  int
	bad bool
}

func (r *reader) u(n int) (v int) {
	for range n {
		v <<= 1
		if r.at/8 >= len(r.b) {
			r.bad = true
			continue
		}
		v |= int(r.b[r.at/8] >> (7 - r.at%8) & 1)
		r.at++
	}
	return v
}

func (r *reader) flag() bool { return r.u(1) == 1 }

// skip leaves n bits out.
func (r *reader) skip(n int) {
	if r.at += n; r.at > 8*len(r.b) {
		r.at, r.bad = 8*len(r.b), true
	}
}

// ue is a number in exponential Golomb code (9.2); one that is signed takes as many bits.
func (r *reader) ue() int {
	zeros := 0
	for !r.bad && !r.flag() {
		if zeros++; zeros > 31 {
			r.bad = true
		}
	}
	if r.bad {
		return 0
	}
	return 1<<zeros - 1 + r.u(zeros)
}

// streamCode is what the sequence parameter set in a decoder configuration (ISO/IEC 14496-15,
// 8.3.3.1) says of colours (H.265, annex E); nil if it says nothing or cannot be read.
func streamCode(hvcC []byte) *Code {
	c := &cursor{b: hvcC}
	c.uint(8)
	c.uint(8)
	c.uint(6)
	for arrays := c.uint(1); arrays > 0 && !c.bad; arrays-- {
		kind := c.uint(1) & 63
		for units := c.uint(2); units > 0 && !c.bad; units-- {
			n := int(c.uint(2))
			if n > len(c.b)-c.at {
				return nil
			}
			unit := c.b[c.at : c.at+n]
			c.at += n
			if kind == 33 && n > 2 {
				return readSPS(&reader{b: bytes.ReplaceAll(unit[2:], []byte{0, 0, 3}, []byte{0, 0})})
			}
		}
	}
	return nil
}

// readSPS walks a sequence parameter set (H.265, 7.3.2.2) to what it says of colours.
func readSPS(r *reader) *Code {
	r.skip(4)
	layers := r.u(3)
	r.skip(1)
	r.skipProfile(layers)
	r.ue()
	if r.ue() == 3 {
		r.skip(1)
	}
	r.ue()
	r.ue()
	if r.flag() {
		r.many(4)
	}
	r.many(2)
	order := 4 + r.ue()
	from := layers
	if r.flag() {
		from = 0
	}
	r.many(3 * (layers + 1 - from))
	r.many(6)
	if lists := r.flag(); lists { // which need not be told
		if told := r.flag(); told {
			r.skipScaling()
		}
	}
	r.skip(2)
	if r.flag() {
		r.skip(8)
		r.many(2)
		r.skip(1)
	}
	if !r.skipReferences() {
		return nil
	}
	if r.flag() {
		for n := r.ue(); n > 0 && !r.bad; n-- {
			r.skip(order + 1)
		}
	}
	r.skip(2)
	if !r.flag() { // nothing of how it is to be shown
		return nil
	}
	if r.flag() && r.u(8) == 255 {
		r.skip(32)
	}
	if r.flag() {
		r.skip(1)
	}
	if !r.flag() {
		return nil
	}
	r.skip(3)
	code := &Code{2, 2, 2, r.flag()}
	if r.flag() {
		code.Primaries, code.Transfer, code.Matrix = r.u(8), r.u(8), r.u(8)
	}
	if r.bad {
		return nil
	}
	return code
}

// many leaves n numbers out.
func (r *reader) many(n int) {
	for range n {
		r.ue()
	}
}

// skipProfile leaves out profile_tier_level (7.3.3).
func (r *reader) skipProfile(layers int) {
	r.skip(96)
	bits := 0
	for range layers {
		if r.flag() {
			bits += 88
		}
		if r.flag() {
			bits += 8
		}
	}
	if layers > 0 {
		r.skip(2 * (8 - layers))
	}
	r.skip(bits)
}

// skipScaling leaves out scaling_list_data (7.3.4).
func (r *reader) skipScaling() {
	for size := range 4 {
		step := 1
		if size == 3 {
			step = 3
		}
		for m := 0; m < 6; m += step {
			switch {
			case !r.flag():
				r.ue()
			case size > 1:
				r.many(1 + min(64, 1<<(4+2*size)))
			default:
				r.many(min(64, 1<<(4+2*size)))
			}
		}
	}
}

// skipReferences leaves out all st_ref_pic_set (7.3.7), and reports whether there were no
// more of them than there may be.
func (r *reader) skipReferences() bool {
	n := r.ue()
	if n > 64 {
		return false
	}
	count := 0
	for i := range n {
		if i > 0 && r.flag() {
			r.skip(1)
			r.ue()
			left := 0
			for range count + 1 {
				used := r.flag()
				if !used {
					used = r.flag()
				}
				if used {
					left++
				}
			}
			count = left
			continue
		}
		count = r.ue() + r.ue()
		if count > 32 {
			return false
		}
		for range count {
			r.ue()
			r.skip(1)
		}
	}
	return !r.bad
}
