package flaw

import (
	"fmt"
	"math"

	"laydown/colour/cores"
	"laydown/coverage/distance"
	"laydown/coverage/plate"
)

func overLimit(s *scene) ([]*Finding, error) {
	tac := s.Plates.TAC(s.Limits.TACPercent)
	if tac.OverLimitAreaPercent == 0 {
		return nil, nil
	}
	limit := plate.OverLimit(s.Limits.TACPercent)
	w := s.Plates.Width
	c, m, y, k := s.Plates.Plane[plate.Cyan], s.Plates.Plane[plate.Magenta], s.Plates.Plane[plate.Yellow], s.Plates.Plane[plate.Black]
	r := newRegions(s)
	for row := range s.Plates.Height {
		for x := range w {
			i := row*w + x
			if int(c[i])+int(m[i])+int(y[i])+int(k[i]) >= limit {
				r.mark(x, row)
			}
		}
	}
	f := &Finding{Kind: OverLimit, Severity: Look, Measured: tac.MaxPercent, Limit: s.Limits.TACPercent, Unit: "%"}
	if tac.OverLimitAreaPercent >= 0.5 {
		f.Severity = Stop
	}
	f.Boxes, f.Places = r.boxes()
	f.Advice = fmt.Sprintf("C, M, Y and K add up to as much as %.0f %% where the fuser and film take %.0f %%, on %.2f %% of the print. "+
		"Too much toner cracks, offsets in the fuser and stays stiff: separate with a total toner limit of %.0f %%, or lighten the darkest colours.",
		tac.MaxPercent, s.Limits.TACPercent, tac.OverLimitAreaPercent, s.Limits.TACPercent)
	return []*Finding{f}, nil
}

// leastFaintMM2 and leastFaintShare are how much must be faint to be worth a word.
const (
	leastFaintMM2   = 1
	leastFaintShare = 0.0005
	lossyTone       = 6 // of 255
	faintReachPX    = 3 // pixels of the original to every side that are as faint: crumbs of compression are smaller
)

// faintTint looks for parts on which even the strongest toner is under the
// smallest tone that holds. Only pixels whose neighbours are as faint count, for
// every soft edge passes through faint tones.
func faintTint(s *scene) ([]*Finding, error) {
	limit := s.Limits.SmallestTonePercent * 2.55
	if limit < 1.5 {
		return nil, nil
	}
	w, h := s.Art.Width, s.Art.Height
	top := uint8(math.Min(254, math.Ceil(limit)-1))
	noise := uint8(0) // tones that compression leaves on bare paper
	if s.lossy() {
		noise = lossyTone
	}
	var presence []uint8 // nil if the art is all there
	if s.Art.HasAlpha {
		presence = s.presence()
	}
	// faint sets row to the strongest toner of each pixel of row y, 0 if that is not
	// faint, and reports whether three in a row are.
	faint := func(y int, row []uint8) (some bool) {
		strongest(s.Plates, y, row)
		beside := 0
		for x, v := range row {
			// What is half clear is a fade, and faint for that.
			if v <= noise || v > top || (presence != nil && presence[y*w+x] <= 247) {
				row[x], beside = 0, 0
				continue
			}
			beside++
			some = some || beside == 3
		}
		return some
	}
	some := make([]bool, h)
	cores.Share(h, func(lo, hi int) {
		row := make([]uint8, w)
		for y := lo; y < hi; y++ {
			some[y] = faint(y, row)
		}
	})
	// Few rows are looked at again, with those above and below.
	reach := max(1, int(math.Round(faintReachPX*s.past().factor)))
	kept := make([][]uint8, 2*reach+1)
	has := make([]int, len(kept)) // which row each is, and one
	row := func(y int) []uint8 {
		k := y % len(kept)
		if kept[k] == nil {
			kept[k] = make([]uint8, w)
		}
		if has[k] != y+1 {
			faint(y, kept[k])
			has[k] = y + 1
		}
		return kept[k]
	}
	v := s.view()
	grainy := func(x, y int) bool { return v.grain.has(x/v.scale, y/v.scale) } // of a photograph's lights nobody misses a dot
	r := newRegions(s)
	var tones [256]int
	n := 0
	for y := reach; y < h-reach; y++ {
		if !some[y] {
			continue
		}
		above, here, below := row(y-reach), row(y), row(y+reach)
		for x := reach; x < w-reach; x++ {
			if v := here[x]; v != 0 && here[x-1] != 0 && here[x+1] != 0 && here[x-reach] != 0 && here[x+reach] != 0 && above[x] != 0 && below[x] != 0 && !grainy(x, y) {
				r.mark(x, y)
				tones[v]++
				n++
			}
		}
	}
	share := float64(n) / float64(w*h)
	if share < leastFaintShare || float64(n)*s.PixelMM*s.PixelMM < leastFaintMM2 {
		return nil, nil
	}
	middle, seen := 0, 0
	for v, c := range tones {
		if seen += c; 2*seen >= n {
			middle = v
			break
		}
	}
	f := &Finding{Kind: FaintTint, Severity: Note, Measured: float64(middle) / 2.55, Limit: s.Limits.SmallestTonePercent, Unit: "%"}
	if share >= 0.02 {
		f.Severity = Look
	}
	f.Boxes, f.Places = r.boxes()
	f.Advice = fmt.Sprintf("Tints so light that no toner reaches %.0f %%, on %.2f %% of the print: their dots are too far apart to hold and print as stray specks or nothing. "+
		"Make them at least %.0f %%, or leave them out.", f.Limit, share*100, f.Limit)
	return []*Finding{f}, nil
}

// heavyTileMM is how finely heavy solids are looked for.
const heavyTileMM = 0.5

// heavyArea looks for large parts where all five toners together are so many that
// the print gets stiff. A part is large if it holds a circle.
func heavyArea(s *scene) ([]*Finding, error) {
	if s.Limits.HeavyPercent <= 0 || s.Limits.HeavyWidthMM <= 0 {
		return nil, nil
	}
	w, h := s.Art.Width, s.Art.Height
	tile := max(1, int(math.Round(heavyTileMM/s.PixelMM)))
	for s.Limits.HeavyWidthMM/2/(float64(tile)*s.PixelMM) > distance.MaxReach-2 {
		tile *= 2
	}
	cols, rows := w/tile, h/tile
	if cols == 0 || rows == 0 {
		return nil, nil
	}
	heavy := make([]uint8, cols*rows)
	sums := make([]float64, cols*rows) // percent
	cores.Share(rows, func(lo, hi int) {
		for ty := lo; ty < hi; ty++ {
			for k := range plate.Count {
				for y := ty * tile; y < (ty+1)*tile; y++ {
					row := s.Plates.Plane[k][y*w:]
					for tx := range cols {
						sum := 0
						for _, v := range row[tx*tile : (tx+1)*tile] {
							sum += int(v)
						}
						sums[ty*cols+tx] += float64(sum)
					}
				}
			}
			for tx := range cols {
				v := &sums[ty*cols+tx]
				*v /= 2.55 * float64(tile*tile)
				if *v >= s.Limits.HeavyPercent {
					heavy[ty*cols+tx] = 255
				}
			}
		}
	})
	tileMM := float64(tile) * s.PixelMM
	radius := s.Limits.HeavyWidthMM / 2 / tileMM
	d, err := distance.Squared(distance.Mask{Pix: heavy, Width: cols, Height: rows, Threshold: 255, EdgeIsOutside: true}, int(radius)+2)
	if err != nil {
		return nil, err
	}
	// The distance runs to the centre of the first tile outside.
	deep := uint16(math.Max(1, math.Ceil((radius+0.5)*(radius+0.5))))
	r := newRegionsOf(cols, rows, tileMM)
	most, n := 0.0, 0
	for i, v := range d {
		if v >= deep {
			r.add(i%cols, i/cols, sums[i])
			most = math.Max(most, sums[i])
		}
	}
	for _, v := range heavy {
		n += int(v) / 255
	}
	if most == 0 {
		return nil, nil
	}
	f := &Finding{Kind: HeavyArea, Severity: Look, Measured: most, Limit: s.Limits.HeavyPercent, Unit: "%"}
	f.Boxes, f.Places = r.boxes()
	for i, b := range f.Boxes { // of middles: the whole circle around each is heavy
		f.Boxes[i] = b.grow(s.Limits.HeavyWidthMM/2, float64(w)*s.PixelMM, float64(h)*s.PixelMM)
	}
	f.Advice = fmt.Sprintf("Large solids carry as much as %.0f %% of toner, white included, %.0f cm² in all: they print stiff, crack when stretched and trap sweat. "+
		"Break them up with a screen or holes, lighten them, or let the item's own colour stand for them.", most, float64(n)*tileMM*tileMM/100)
	return []*Finding{f}, nil
}

func noProfile(s *scene) ([]*Finding, error) {
	if s.Art.Profile != nil || s.Art.StatesSRGB {
		return nil, nil
	}
	f := &Finding{Kind: NoProfile, Severity: Note, Unit: "profiles", Limit: 1}
	switch s.Art.Space.Channels() {
	case 4:
		f.Advice = "The file does not say which CMYK it is in. Its numbers are kept as they are and go to the toners unchanged; " +
			"if it was made for another printer, ask for it with its profile."
	default:
		f.Advice = "The file does not say which colours its numbers mean. They are taken as sRGB, which is usual; " +
			"if the colours look wrong, ask for it with its profile."
	}
	return []*Finding{f}, nil
}
