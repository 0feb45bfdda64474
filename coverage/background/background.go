// Package background finds the flat ground that a picture stands on and can take
// it away: the stray white box behind a logo, which would print, or get white
// toner under it, as a rectangle.
//
// A ground is one colour, within the noise of compression, along nearly all of the
// picture's edge, or half of it if it is the white of paper, and whatever of that colour hangs together with the edge. Holes
// in the art show the same colour but do not touch the edge: they count apart.
package background

import (
	"math"

	"laydown/colour"
	"laydown/colour/cores"
	"laydown/coverage/artwork"
	"laydown/coverage/distance"
	"laydown/coverage/island"
)

// within is the ΔE00 that compression moves a flat colour, and alongEdge the part
// of the edge that must have it. Both are our own figures.
const (
	within    = 4.0
	alongEdge = 0.9
)

// Art that touches its picture's edge leaves less of it to a ground of paper white,
// which nothing else is as often; paper is so light and so neutral.
const (
	alongPaper  = 0.5
	paperL      = 92.0 // absolute, as it looks on paper
	paperChroma = 6.0
	leastPaper  = 0.1 // of the picture
)

// edgePX is how many pixels along a picture's edge may be half there, and leastArt
// the part of it that something must take for the rest to be its ground.
const (
	edgePX   = 3
	leastArt = 0.005
)

// Ground is a picture's background.
type Ground struct {
	Colour     colour.Lab // the most frequent along the edge
	Device     artwork.Device
	Pixels     int // that hang together with the edge
	HolePixels int // of the same colour within the art
	// Where marks the pixels: Edge, Hole or 0, row after row.
	Where []uint8
}

// Marks of [Ground.Where].
const (
	Edge = 2
	Hole = 1
)

// Find finds the ground, or returns nil if the picture has none: its edge is clear
// or of many colours, or it is all one colour. lab tells the Lab of device values
// 0–1 and is called concurrently.
func Find(art *artwork.Art, lab func([4]float64) colour.Lab) *Ground {
	x0, y0, x1, y1, ok := solidBox(art)
	if !ok {
		return nil
	}
	g := &Ground{}
	var edge []artwork.Device
	solid := 0
	walk(x0, y0, x1, y1, func(x, y int) {
		d, a := pixel(art, x, y)
		edge = append(edge, d)
		if a >= 128 {
			solid++
		}
	})
	if float64(solid) < alongEdge*float64(len(edge)) {
		return nil // no rectangle
	}
	count := map[artwork.Device]int{}
	for _, d := range edge {
		count[d]++
	}
	most := 0
	for _, d := range edge { // in order, so that the same one wins every time
		if count[d] > most {
			most, g.Device = count[d], d
		}
	}
	g.Colour = lab(g.Device.Fractions())
	m := matcher{lab: lab, ground: g.Colour}
	like := 0
	walk(x0, y0, x1, y1, func(x, y int) {
		if d, a := pixel(art, x, y); a >= 128 && m.same(d) {
			like++
		}
	})
	least := alongEdge
	if g.Colour.L > paperL && g.Colour.Chroma() < paperChroma {
		least = alongPaper
	}
	if float64(like) < least*float64(len(edge)) {
		return nil
	}
	w, h := art.Width, art.Height
	g.Where = make([]uint8, w*h)
	cores.Share(h, func(lo, hi int) {
		m := matcher{lab: lab, ground: g.Colour}
		for y := lo; y < hi; y++ {
			for x := range w {
				if d, a := pixel(art, x, y); a >= 128 && m.same(d) {
					g.Where[y*w+x] = Hole
				}
			}
		}
	})
	found := island.Find(distance.Mask{Pix: g.Where, Width: w, Height: h, Threshold: Hole}, false)
	for _, i := range found.Islands {
		if i.X0 > x0 && i.Y0 > y0 && i.X1 < x1 && i.Y1 < y1 {
			g.HolePixels += i.Pixels
			continue
		}
		g.Pixels += i.Pixels
		for _, r := range found.Runs(i) {
			for x := r.X0; x < r.X1; x++ {
				g.Where[int(r.Y)*w+int(x)] = Edge
			}
		}
	}
	if art.Format == "JPEG" {
		g.sweep(w, h)
	}
	if least < alongEdge && float64(g.Pixels) < leastPaper*float64(w*h) {
		return nil // white in a frame that the art fills
	}
	// Something must stand on it, away from the edge, where pixels are part ground.
	stands := 0
	for y := y0 + edgePX; y <= y1-edgePX; y++ {
		for x := x0 + edgePX; x <= x1-edgePX; x++ {
			if g.Where[y*w+x] == 0 {
				stands++
			}
		}
	}
	if float64(stands) < leastArt*float64((x1-x0+1)*(y1-y0+1)) {
		return nil
	}
	return g
}

// crumb is the most pixels of what compression leaves around the art, on the
// ground and by itself.
const crumb = 12

// sweep counts crumbs that lie on the ground as ground.
func (g *Ground) sweep(w, h int) {
	art := island.Find(distance.Mask{Pix: g.Where, Width: w, Height: h, Threshold: Hole, Below: true}, true)
	for _, i := range art.Islands {
		if i.Pixels > crumb {
			continue
		}
		on := false
		for _, r := range art.Runs(i) {
			on = on || (r.X0 > 0 && g.Where[int(r.Y)*w+int(r.X0)-1] == Edge)
		}
		if !on {
			continue
		}
		g.Pixels += i.Pixels
		for _, r := range art.Runs(i) {
			for x := r.X0; x < r.X1; x++ {
				g.Where[int(r.Y)*w+int(x)] = Edge
			}
		}
	}
}

// solidBox is the box, both ends inside, of what is not clear.
func solidBox(art *artwork.Art) (x0, y0, x1, y1 int, ok bool) {
	w, h := art.Width, art.Height
	if !art.HasAlpha {
		return 0, 0, w - 1, h - 1, true
	}
	x0, y0, x1, y1 = w, h, -1, -1
	row := make([]uint8, w)
	for y := range h {
		art.Alpha(y, row)
		for x, a := range row {
			if a >= 128 {
				x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x), max(y1, y)
			}
		}
	}
	return x0, y0, x1, y1, x1 > x0 && y1 > y0
}

// walk visits the rim of a box once.
func walk(x0, y0, x1, y1 int, f func(x, y int)) {
	for x := x0; x <= x1; x++ {
		f(x, y0)
		f(x, y1)
	}
	for y := y0 + 1; y < y1; y++ {
		f(x0, y)
		f(x1, y)
	}
}

// pixel is a pixel's device colour in 8 bits and its alpha.
func pixel(art *artwork.Art, x, y int) (d artwork.Device, alpha uint8) {
	i := y*art.Width + x
	return art.Device(i), art.AlphaAt(i)
}

// matcher tells whether device colours are the ground's, remembering what it
// worked out.
type matcher struct {
	lab    func([4]float64) colour.Lab
	ground colour.Lab
	known  map[artwork.Device]bool
	last   artwork.Device
	was    bool
	any    bool
}

func (m *matcher) same(d artwork.Device) bool {
	if m.any && d == m.last {
		return m.was
	}
	was, ok := m.known[d]
	if !ok {
		c := m.lab(d.Fractions())
		// Lab is far apart long before CIEDE2000 needs to be asked.
		was = math.Abs(c.L-m.ground.L)+math.Abs(c.A-m.ground.A)+math.Abs(c.B-m.ground.B) < 14*within && colour.DeltaE00(c, m.ground) <= within
		if m.known == nil {
			m.known = map[artwork.Device]bool{}
		}
		m.known[d] = was
	}
	m.last, m.was, m.any = d, was, true
	return was
}

// Drop returns the art without the ground: clear there, and in the holes too if
// they are asked for. The pixels at the art's edge, which are part ground, keep the
// colour of the art beside them and get the alpha that makes up the mix. The given
// art is not changed.
func (g *Ground) Drop(art *artwork.Art, holes bool) *artwork.Art {
	w, h := art.Width, art.Height
	info := art.Info
	info.HasAlpha = true
	out := artwork.NewDraft(info)
	least := uint8(Edge)
	if holes {
		least = Hole
	}
	gone := func(x, y int) bool { return x >= 0 && y >= 0 && x < w && y < h && g.Where[y*w+x] >= least }
	cores.Share(h, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			for x := range w {
				i := y*w + x
				from, alpha := i, art.AlphaAt(i)
				if g.Where[i] >= least {
					alpha = 0
				}
				if alpha == 255 {
					if j, part := g.unmix(art, x, y, gone); part < 255 {
						from, alpha = j, part
					}
				}
				out.Copy(i, art, from, alpha)
			}
		}
	})
	return out.Art()
}

// unmix explains a pixel next to the ground as part ground, part the neighbour
// that differs most from it. It returns that neighbour and how much of the pixel
// is it; 255 says that there is nothing to explain.
func (g *Ground) unmix(art *artwork.Art, x, y int, gone func(x, y int) bool) (at int, part uint8) {
	const reach = 2 // pixels that an antialiased edge takes at most
	beside := false
	for k := range (2*reach + 1) * (2*reach + 1) {
		beside = beside || gone(x+k%(2*reach+1)-reach, y+k/(2*reach+1)-reach)
	}
	if !beside {
		return 0, 255
	}
	away := func(d artwork.Device) (sum int) {
		for k := range art.Space.Channels() {
			v := int(d[k]) - int(g.Device[k])
			sum += v * v
		}
		return sum
	}
	own, _ := pixel(art, x, y)
	mine := away(own)
	best := mine
	at = y*art.Width + x
	for dy := -reach; dy <= reach; dy++ {
		for dx := -reach; dx <= reach; dx++ {
			u, v := x+dx, y+dy
			if u < 0 || v < 0 || u >= art.Width || v >= art.Height || gone(u, v) {
				continue
			}
			if d, _ := pixel(art, u, v); away(d) > best {
				best, at = away(d), v*art.Width+u
			}
		}
	}
	share := math.Sqrt(float64(mine) / math.Max(1, float64(best)))
	if share > 0.98 { // its own colour, but for noise
		return 0, 255
	}
	return at, uint8(math.Round(255 * share))
}
