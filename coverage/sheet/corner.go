package sheet

// between sets as many copies of a print as it finds room for where the corners stay free.
//
// It tries a band between the corners at either end, as high as copies beside and upon each
// other may be, with a block as wide as the sheet between the bands, and the same turned by a
// quarter; each part by the search of [partition]. And it takes the layouts of a sheet that is free all
// over, moved to either side or the middle, and leaves out what would lie on a corner; and what the
// packer of gangs sets. The most copies win, of equals the first.
func (r Room) between(width, height float64) []Place {
	freeW, freeH := r.Sheet.WidthMM-2*r.MarginMM, r.Sheet.HeightMM-2*r.MarginMM
	if 2*r.CornerMM >= min(freeW, freeH) {
		return nil
	}
	a, b := units(width+r.GapMM), units(height+r.GapMM)
	w, h, corner := units(freeW+r.GapMM+slack), units(freeH+r.GapMM+slack), units(r.CornerMM)
	var best []Place
	consider := func(tiles []tile) {
		if places := r.outside(tiles, width, height); len(places) > len(best) {
			best = places
		}
	}
	consider(bands(a, b, w, h, corner))
	side := bands(b, a, h, w, corner) // of the sheet on its side
	for i, t := range side {
		side[i] = tile{t.y, t.x, t.h, t.w, t.turned}
	}
	consider(side)
	for _, whole := range [][]block{blocks(width, height, freeW, freeH, r.GapMM), {{0, 0, freeW, freeH, false}}, {{0, 0, freeW, freeH, true}}} {
		var tiles []tile
		var right, low int64 // where the last copies end
		for _, v := range whole {
			t := tile{units(v.x), units(v.y), units(v.w + r.GapMM), units(v.h + r.GapMM), v.turned}
			x, y := a, b
			if t.turned {
				x, y = b, a
			}
			tiles, right, low = append(tiles, t), max(right, t.x+(t.w+units(slack))/x*x), max(low, t.y+(t.h+units(slack))/y*y)
		}
		for _, across := range []int64{0, (w - right) / 2, w - right} {
			for _, down := range []int64{0, (h - low) / 2, h - low} {
				moved := make([]tile, len(tiles))
				for i, t := range tiles {
					moved[i] = t
					moved[i].x, moved[i].y = t.x+max(0, across), t.y+max(0, down)
				}
				consider(moved)
			}
		}
	}
	if one := (Piece{Name: "print", WidthMM: width, HeightMM: height, Quantity: int(float64(w) * float64(h) / (float64(a) * float64(b)))}); one.Quantity > len(best) && one.Quantity <= mostPacked {
		p := r.packer([]Piece{one}, 1)
		if puts, _ := p.most(packedTries); len(puts) > len(best) {
			best = nil
			for _, v := range puts {
				g := r.layout([]put{v}, []Piece{one}, 1).Places[0].Place
				best = append(best, g)
			}
		}
	}
	return best
}

// Means of the search between corners.
const (
	mostPacked  = 500 // copies that the packer is asked for as well
	packedTries = 100
	mostBands   = 24 // heights of a band that are tried at each end
	bandDepth   = 2  // partings within partings of each part
)

// bands are a way to set copies of a × b units in bands between the corners of w × h at
// either end and a block between those; none where that holds nothing.
func bands(a, b, w, h, corner int64) (best []tile) {
	p := newPartition(a, b, max(w, h))
	if p == nil {
		return plainBands(a, b, w, h, corner)
	}
	hold := func(w, h int64) int32 {
		if w <= 0 || h <= 0 {
			return 0
		}
		return p.hold(p.at(w), p.at(h), bandDepth)
	}
	heights := p.sums[:p.at(h)+1]
	// Higher than a corner and two copies a band is worse than the block, unless there is none.
	for len(heights) > 1 && heights[len(heights)-1] > corner+2*max(a, b) {
		heights = heights[:len(heights)-1]
	}
	for len(heights) > mostBands {
		thin := []int64{}
		for i := 0; i < len(heights); i += 2 {
			thin = append(thin, heights[i])
		}
		heights = thin
	}
	between := w - 2*corner
	most := int32(0)
	try := func(upper, lower int64) {
		from, to := max(corner, upper), h-max(corner, lower)
		if upper+lower > h {
			return
		}
		if n := hold(between, upper) + hold(w, to-from) + hold(between, lower); n > most {
			most, best = n, nil
			if upper > 0 {
				best = p.tiles(corner, 0, between, upper, best)
			}
			if to > from {
				best = p.tiles(0, from, w, to-from, best)
			}
			if lower > 0 {
				best = p.tiles(corner, h-lower, between, lower, best)
			}
		}
	}
	try(h, 0)
	for _, upper := range heights {
		for _, lower := range heights {
			if lower <= upper {
				try(upper, lower)
			}
		}
	}
	return best
}

// plainBands are bands of grids alone, for copies too small to be worth a search: as many rows
// of each as the corners are high.
func plainBands(a, b, w, h, corner int64) (out []tile) {
	for _, turned := range []bool{false, true} {
		x, y := a, b
		if turned {
			x, y = b, a
		}
		band := (corner + y - 1) / y * y
		if 2*band >= h || x > w-2*corner {
			continue
		}
		way := []tile{{corner, 0, w - 2*corner, band, turned}, {0, band, w, h - 2*band, turned}, {corner, h - band, w - 2*corner, band, turned}}
		count := func(tiles []tile) (n int64) {
			for _, t := range tiles {
				n += (t.w / x) * (t.h / y)
			}
			return n
		}
		if out == nil || count(way) > count(out) {
			out = way
		}
	}
	return out
}

// outside are the copies of tiles that do not lie on a corner.
func (r Room) outside(tiles []tile, width, height float64) (out []Place) {
	freeW, freeH, c := r.Sheet.WidthMM-2*r.MarginMM, r.Sheet.HeightMM-2*r.MarginMM, r.CornerMM
	for _, t := range tiles {
		v := t.block(r.GapMM)
		w, h := width, height
		if v.turned {
			w, h = h, w
		}
		for j := range fits(h, v.h, r.GapMM) {
			for i := range fits(w, v.w, r.GapMM) {
				x, y := v.x+float64(i)*(w+r.GapMM), v.y+float64(j)*(h+r.GapMM)
				beside := x < c-slack || x+w > freeW-c+slack
				if upon := y < c-slack || y+h > freeH-c+slack; !beside || !upon {
					out = append(out, Place{r.MarginMM + x, r.MarginMM + y, w, h, v.turned})
				}
			}
		}
	}
	return out
}
