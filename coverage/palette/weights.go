package palette

import "laydown/coverage/artwork"

// Alphas that decide whether a pixel counts. The figures are our own, chosen on soft
// edges and flat tints.
const (
	solid    = 128  // from here on a pixel counts for itself
	faint    = 13   // 5 %: below, a pixel is as good as clear
	areaStep = 24   // of alpha from a pixel to its neighbours, at most, within a half-clear area; across a soft edge it is more
	leastOf  = 0.05 // of all that is not clear must count, else every pixel does that is not faint
	lookRows = 1000 // tell that
)

// Weights tells how much each pixel of an art counts: its alpha, if it is at least
// half solid or lies in a half-clear area, and else nothing. So tints, shadows and
// fades are judged, and the soft edges of solid art are not taken for colours of its
// own. Art that is next to nothing but such edges is judged by them. It may be used
// concurrently.
type Weights struct {
	art  *artwork.Art
	from uint8 // alpha from which a pixel counts wherever it lies
	area bool  // and others within half-clear areas
}

// NewWeights looks at about a thousand rows of the art.
func NewWeights(art *artwork.Art) Weights {
	w := Weights{art: art, from: solid}
	if !art.HasAlpha {
		return w
	}
	w.area = true
	alpha, weight := make([]uint8, art.Width), make([]uint8, art.Width)
	all, counted := 0, 0
	every := max(1, art.Height/lookRows)
	for y := every / 2; y < art.Height; y += every {
		art.Alpha(y, alpha)
		w.Row(y, weight)
		for x, a := range alpha {
			if a >= faint {
				all += int(a)
			}
			counted += int(weight[x])
		}
	}
	if float64(counted) < leastOf*float64(all) {
		return Weights{art: art, from: faint}
	}
	return w
}

// Row sets weight, as long as the art is wide, to how much each pixel of row y
// counts, 0–255.
func (w Weights) Row(y int, weight []uint8) {
	w.art.Alpha(y, weight)
	any := false
	for x, a := range weight {
		if a < w.from {
			if !w.area || a < faint {
				weight[x] = 0
			} else {
				any = true
			}
		}
	}
	if !any {
		return
	}
	alpha := make([]uint8, 3*len(weight))
	above, here, below := alpha[:len(weight)], alpha[len(weight):2*len(weight)], alpha[2*len(weight):]
	w.art.Alpha(max(0, y-1), above)
	w.art.Alpha(y, here)
	w.art.Alpha(min(w.art.Height-1, y+1), below)
	for x, a := range weight {
		if a == 0 || a >= w.from {
			continue
		}
		for _, b := range [...]uint8{above[x], below[x], here[max(0, x-1)], here[min(len(here)-1, x+1)]} {
			if b < faint || max(a, b)-min(a, b) > areaStep {
				weight[x] = 0
				break
			}
		}
	}
}
