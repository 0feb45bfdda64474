package flaw

import (
	"slices"

	"laydown/colour"
	"laydown/colour/cores"
	"laydown/coverage/artwork"
	"laydown/coverage/palette"
	"laydown/coverage/plate"
)

// flatMap says of every pixel of a flat design which of its colours it shows, or
// which two and in what parts. An antialiased edge is such a mix, and so is a
// line too thin to show its colour anywhere: telling a mix from a third colour is
// what lets strokes of one colour on another be measured.
type flatMap struct {
	colours []palette.MainColour
	bare    []bool  // prints nothing
	main    []uint8 // colour of the larger part, or unknown
	other   []uint8 // colour of the smaller part
	part    []uint8 // how much of the other colour, 0–255
	clear   bool    // the art has transparency
	w, h    int
}

const unknown = 255

// nearFlat is how far a pixel may lie from a flat colour, in the sum of the squares
// of its 8-bit codes, and offMix how far from the straight line between two.
const (
	nearFlat = 3 * 12 * 12
	offMix   = 3 * 16 * 16
)

// newFlatMap returns the map of a flat design of two or more colours, nil of
// anything else: in a photograph, everything is a thin line of something.
func newFlatMap(s *scene, d *sketch) *flatMap {
	art := d.art
	if s.Design == nil {
		return nil
	}
	main := palette.Main(s.colours(), func(d artwork.Device) colour.Lab { return s.Design(d.Fractions()) })
	if len(main) < 2 || !main[0].Flat || len(main) > mostFlat {
		return nil
	}
	w, h := art.Width, art.Height
	f := &flatMap{colours: main, main: make([]uint8, w*h), other: make([]uint8, w*h), part: make([]uint8, w*h), bare: make([]bool, len(main)),
		clear: d.cut, w: w, h: h}
	flats := make([][4]int, len(main))
	for i, c := range main {
		flats[i] = codes(c.Device)
	}
	cores.Share(h, func(lo, hi int) {
		last, at := artwork.Device{}, uint8(unknown)
		for i := lo * w; i < hi*w; i++ {
			if v := art.Device(i); v != last || i == lo*w {
				last, at = v, unknown
				best := nearFlat
				for c, flat := range flats {
					if d := square(codes(v), flat); d <= best {
						best, at = d, uint8(c)
					}
				}
			}
			f.main[i] = at
		}
	})
	// Mixes are told from their neighbours, so what is decided goes to a copy.
	main0 := slices.Clone(f.main)
	cores.Share(h, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			for x := range w {
				i := y*w + x
				if c := main0[i]; c != unknown && x > 0 && y > 0 && main0[i-1] == c && main0[i-w] == c {
					continue // most of any picture
				}
				if main0[i] != unknown && !thinHere(main0, i, x, y, w, h) {
					continue
				}
				f.mix(i, x, y, codes(art.Device(i)), main0, flats)
			}
		}
	})
	f.forgetRamps()
	f.markBare(s, d)
	return f
}

// forgetRamps takes back mixes that touch, through a few others, pixels that
// nothing explains: those are part of a ramp or a texture, whose edge looks like
// one.
func (f *flatMap) forgetRamps() {
	around := [8]int{-f.w - 1, -f.w, -f.w + 1, -1, 1, f.w - 1, f.w, f.w + 1}
	inner := func(i int) bool { return i >= f.w && i < f.w*(f.h-1) && i%f.w > 0 && i%f.w < f.w-1 }
	lost := func(i int) bool {
		n := 0
		for _, o := range around {
			if f.main[i+o] == unknown {
				n++
			}
		}
		return n >= 2
	}
	var rim []int
	for i, part := range f.part {
		if part != 0 && inner(i) && lost(i) {
			rim = append(rim, i)
		}
	}
	const deep = 4
	for range deep {
		for _, i := range rim {
			f.main[i], f.part[i] = unknown, 0
		}
		var next []int
		for _, i := range rim {
			for _, o := range around {
				if j := i + o; f.part[j] != 0 && inner(j) && lost(j) {
					next = append(next, j)
				}
			}
		}
		rim = next
	}
}

// mostFlat bounds the work; a design of more colours is a picture.
const mostFlat = 10

// codes are device codes to reckon with.
func codes(d artwork.Device) [4]int { return [4]int{int(d[0]), int(d[1]), int(d[2]), int(d[3])} }

func square(a, b [4]int) (d int) {
	for k := range a {
		d += (a[k] - b[k]) * (a[k] - b[k])
	}
	return d
}

// thinHere reports whether a pixel's colour is one pixel thin: it may be a mix
// that happens to look like a third colour.
func thinHere(main []uint8, i, x, y, w, h int) bool {
	c := main[i]
	return (x > 0 && x < w-1 && main[i-1] != c && main[i+1] != c) || (y > 0 && y < h-1 && main[i-w] != c && main[i+w] != c)
}

// mix explains a pixel as two colours: both of its neighbourhood if that will do,
// else one of it and any other.
func (f *flatMap) mix(i, x, y int, v [4]int, main []uint8, flats [][4]int) {
	var seen [mostFlat]uint8
	around := seen[:0]
	for r := 1; r <= 2; r++ {
		for t := max(0, y-r); t <= min(f.h-1, y+r); t++ {
			for u := max(0, x-r); u <= min(f.w-1, x+r); u++ {
				j := t*f.w + u
				c := main[j]
				if c == unknown || j == i || slices.Contains(around, c) || (r == 1 && thinHere(main, j, u, t, f.w, f.h)) {
					continue
				}
				around = append(around, c)
			}
		}
		if len(around) > 1 {
			break
		}
	}
	if len(around) == 0 {
		return
	}
	best := offMix
	try := func(a, b uint8) {
		if a == b {
			return
		}
		t, off := along(v, flats[a], flats[b])
		if off < best {
			best = off
			if t > 127 {
				a, b, t = b, a, 255-t
			}
			f.main[i], f.other[i], f.part[i] = a, b, uint8(t)
		}
	}
	for k, a := range around {
		for _, b := range around[k+1:] {
			try(a, b)
		}
	}
	if best < offMix || main[i] != unknown {
		return
	}
	for _, a := range around {
		for b := range flats {
			try(a, uint8(b))
		}
	}
}

// along finds how far v lies on the way from a to b, 0–255, and how far off it,
// squared.
func along(v, a, b [4]int) (t, off int) {
	dot, length := 0, 0
	for k := range v {
		dot += (v[k] - a[k]) * (b[k] - a[k])
		length += (b[k] - a[k]) * (b[k] - a[k])
	}
	if length == 0 {
		return 0, square(v, a)
	}
	t = max(0, min(255, dot*255/length))
	for k := range v {
		d := v[k] - a[k] - (b[k]-a[k])*t/255
		off += d * d
	}
	return t, off
}

// markBare notes which colours print nothing, as in art on a white ground.
func (f *flatMap) markBare(s *scene, d *sketch) {
	seen := make([]bool, len(f.bare))
	left := len(f.bare)
	for i, c := range f.main {
		if c == unknown || f.part[i] != 0 || seen[c] || (f.clear && d.presence[i] != 255) {
			continue
		}
		seen[c] = true
		x, y := d.at(i)
		strongest := uint8(0)
		for k := plate.Cyan; k <= plate.Black; k++ {
			strongest = max(strongest, s.Plates.Plane[k][y*s.Art.Width+x])
		}
		f.bare[c] = strongest < paper
		if left--; left == 0 {
			return
		}
	}
}

// count is how many colours there are, 0 of no map.
func (f *flatMap) count() int {
	if f == nil {
		return 0
	}
	return len(f.colours)
}

// show sets into, of the map's size, to how much of each pixel shows a colour, 0–255.
func (f *flatMap) show(c int, presence, into []uint8) {
	cores.Share(f.h, func(lo, hi int) {
		for i := lo * f.w; i < hi*f.w; i++ {
			v := uint8(0)
			switch uint8(c) {
			case f.main[i]:
				v = 255 - f.part[i]
			case f.other[i]:
				v = f.part[i]
			}
			if f.clear && v != 0 && presence[i] != 255 {
				v = uint8(int(v) * int(presence[i]) / 255)
			}
			into[i] = v
		}
	})
}
