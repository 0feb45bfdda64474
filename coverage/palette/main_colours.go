package palette

import (
	"cmp"
	"math"
	"slices"

	"laydown/colour"
	"laydown/coverage/artwork"
)

// MainColour is a colour that much of the art has.
type MainColour struct {
	Device artwork.Device // a colour that is in the art
	Lab    colour.Lab     // of Device
	Pixels float64        // that look like it
	Flat   bool           // a colour of a flat design; else the middle of a cloud of colours
}

// What makes a design flat: its flat colours take nearly all of it. The figures
// are our own, chosen on drawn logos and photographs.
const (
	leastFlat  = 0.001 // of the pixels have exactly a flat colour
	surelyFlat = 0.004 // and from here on it is one even if it could be a blend of two others
	flatSpread = 4     // ΔE00 that compression or a soft edge moves it
	flatShare  = 0.75  // of the pixels belong to some flat colour
	mostMain   = 12
	clouds     = 8 // at most, of art that is not flat
	cloudApart = 8 // ΔE00 between their middles, at least
	leastCloud = 0.01
)

// Main returns the art's main colours, the largest first: the colours of a flat
// design as they are, or for anything else the middles of the clouds that its
// colours form in Lab. colours is what [Count] returns; lab is called
// concurrently.
func Main(colours []Colour, lab func(artwork.Device) colour.Lab) []MainColour {
	total := 0.0
	for _, c := range colours {
		total += c.Pixels
	}
	if total == 0 {
		return nil
	}
	out := flats(colours, lab, total)
	if out == nil {
		out = cloudsOf(colours, lab, total)
	}
	slices.SortStableFunc(out, func(a, b MainColour) int { return cmp.Compare(b.Pixels, a.Pixels) })
	return out[:min(len(out), mostMain)]
}

// flats returns the colours of a flat design, or nil if it is none.
func flats(colours []Colour, lab func(artwork.Device) colour.Lab, total float64) []MainColour {
	var out []MainColour
	var at []colour.Lab
	for _, c := range colours {
		if c.Pixels < leastFlat*total {
			break // the rest are fewer
		}
		l := lab(c.Device)
		if slices.ContainsFunc(at, func(o colour.Lab) bool { return colour.DeltaE00(l, o) < flatSpread }) {
			continue
		}
		if c.Pixels < surelyFlat*total && isBlend(c.Device, out) {
			continue
		}
		out, at = append(out, MainColour{Device: c.Device, Lab: l, Flat: true}), append(at, l)
	}
	if len(out) == 0 {
		return nil
	}
	covered := 0.0
	for i, n := range Shares(colours, lab, at, flatSpread) {
		out[i].Pixels = n
		covered += n
	}
	if covered < flatShare*total {
		return nil
	}
	return out
}

// isBlend reports whether a colour lies between two of the flat ones, as those of
// antialiased edges do.
func isBlend(d artwork.Device, flat []MainColour) bool {
	for i, a := range flat {
		for _, b := range flat[i+1:] {
			dot, length := 0.0, 0.0
			for k := range d {
				way := float64(b.Device[k]) - float64(a.Device[k])
				dot += (float64(d[k]) - float64(a.Device[k])) * way
				length += way * way
			}
			t := dot / length
			if !(t > 0 && t < 1) {
				continue
			}
			off := 0.0
			for k := range d {
				v := float64(d[k]) - float64(a.Device[k]) - t*(float64(b.Device[k])-float64(a.Device[k]))
				off += v * v
			}
			if off < blendOff*blendOff {
				return true
			}
		}
	}
	return false
}

// blendOff is how far, in codes, a blend may lie off the way between its colours.
const blendOff = 24

// bucket is all colours that share their upper five bits.
type bucket struct {
	lab      colour.Lab
	device   artwork.Device // the most frequent
	pixels   float64
	belongs  int
	nearness float64 // squared distance to the nearest middle
}

// cloudsOf is a weighted k-means (Lloyd 1982) in Lab, begun at the largest colour
// and then, one by one, at the colour with the most weight farthest from all
// middles so far.
func cloudsOf(colours []Colour, lab func(artwork.Device) colour.Lab, total float64) []MainColour {
	index := map[artwork.Device]int{}
	var buckets []bucket
	for _, c := range colours {
		key := Bucket(c.Device)
		i, ok := index[key]
		if !ok {
			i = len(buckets)
			index[key] = i
			buckets = append(buckets, bucket{device: c.Device})
		}
		buckets[i].pixels += c.Pixels
	}
	for i := range buckets {
		buckets[i].lab, buckets[i].nearness = lab(buckets[i].device), math.Inf(1)
	}
	square := func(a, b colour.Lab) float64 {
		return (a.L-b.L)*(a.L-b.L) + (a.A-b.A)*(a.A-b.A) + (a.B-b.B)*(a.B-b.B)
	}
	var middles []colour.Lab
	for next := 0; len(middles) < clouds && next >= 0; {
		m := buckets[next].lab
		middles = append(middles, m)
		next = -1
		best := 0.0
		for i := range buckets {
			b := &buckets[i]
			b.nearness = math.Min(b.nearness, square(b.lab, m))
			if w := b.nearness * b.pixels; w > best {
				best, next = w, i
			}
		}
	}
	for range 20 {
		sum := make([][4]float64, len(middles))
		for i := range buckets {
			b := &buckets[i]
			b.nearness = math.Inf(1)
			for j, m := range middles {
				if d := square(b.lab, m); d < b.nearness {
					b.nearness, b.belongs = d, j
				}
			}
			s := &sum[b.belongs]
			s[0] += b.lab.L * b.pixels
			s[1] += b.lab.A * b.pixels
			s[2] += b.lab.B * b.pixels
			s[3] += b.pixels
		}
		for j, s := range sum {
			if s[3] > 0 {
				middles[j] = colour.Lab{L: s[0] / s[3], A: s[1] / s[3], B: s[2] / s[3]}
			}
		}
	}
	// The colour of the art that is nearest to each middle stands for it.
	found := make([]MainColour, len(middles))
	near := make([]float64, len(middles))
	for j := range near {
		near[j] = math.Inf(1)
	}
	for _, b := range buckets {
		j := b.belongs
		found[j].Pixels += b.pixels
		if b.nearness < near[j] {
			near[j], found[j].Device, found[j].Lab = b.nearness, b.device, b.lab
		}
	}
	slices.SortStableFunc(found, func(a, b MainColour) int { return cmp.Compare(b.Pixels, a.Pixels) })
	var out []MainColour
	for _, f := range found {
		at := slices.IndexFunc(out, func(o MainColour) bool { return colour.DeltaE00(f.Lab, o.Lab) < cloudApart })
		switch {
		case at >= 0:
			out[at].Pixels += f.Pixels
		case f.Pixels >= leastCloud*total:
			out = append(out, f)
		}
	}
	return out
}
