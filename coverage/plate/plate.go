// Package plate turns artwork into the five plates of one print, cyan,
// magenta, yellow, black and white, and measures what they lay down.
//
// A plate is a grey picture of tone values: 0 no toner, 255 solid. A pixel
// that is partly transparent prints its colour on that part of its area, so
// each tone value is multiplied by alpha, and fully transparent pixels print
// nothing. White follows from alpha and a rule. It is not part of the total
// area coverage (TAC), the sum of C, M, Y and K that ISO 12647-2 limits.
package plate

import (
	"fmt"
	"math"
	"sync"

	"laydown/colour/cores"
	"laydown/colour/grid"
	"laydown/colour/press"
	"laydown/coverage/artwork"
)

// The plates, by index.
const (
	Cyan = iota
	Magenta
	Yellow
	Black
	White
	Count
)

// Names are the plates' names, by index.
var Names = [Count]string{"cyan", "magenta", "yellow", "black", "white"}

// Plates are the five plates of one print. Treat them as read-only: they are
// measured once.
type Plates struct {
	Width, Height int
	Plane         [Count][]uint8 // rows of Width values, 0 none to 255 solid

	once  sync.Once
	stats stats
}

// New returns five empty plates, with their memory at hand: touching it takes a
// while, which a caller can spend while the art is still being decoded.
func New(width, height int) *Plates {
	p := &Plates{Width: width, Height: height}
	const page = 4096
	for k := range p.Plane {
		p.Plane[k] = make([]uint8, width*height)
		for i := 0; i < len(p.Plane[k]); i += page {
			p.Plane[k][i] = 0
		}
	}
	return p
}

// Fill separates artwork into the plates, which must be of its size and still empty,
// by the given separator and white options. The art is only read.
func (p *Plates) Fill(art *artwork.Art, sep *press.Separator, white WhiteOptions) error {
	table := sep.Table()
	if n := art.Space.Channels(); table.Inputs() != n {
		return fmt.Errorf("plates of %d-channel art need a table of as many channels, not %d", n, table.Inputs())
	}
	w, h := art.Width, art.Height
	if p.Width != w || p.Height != h {
		return fmt.Errorf("plates of %d × %d pixels cannot hold art of %d × %d", p.Width, p.Height, w, h)
	}
	lay, err := newWhiteLayer(art, white)
	if err != nil {
		return err
	}
	cores.Share(h, func(lo, hi int) {
		alpha := make([]uint8, w)
		under := lay.rows()
		for y := lo; y < hi; y++ {
			var rows grid.Planes
			for k := range rows {
				rows[k] = p.Plane[k][y*w : (y+1)*w]
			}
			art.Through(rows, table, y)
			if art.HasAlpha {
				art.Alpha(y, alpha)
				for k := range rows {
					for x, a := range alpha {
						if a != 255 {
							rows[k][x] = scale(rows[k][x], a)
						}
					}
				}
			}
			under.lay(p.Plane[White][y*w:(y+1)*w], y, alpha)
		}
	})
	return p.finishWhite(art, white)
}

// scale is v × a ÷ 255, rounded.
func scale(v, a uint8) uint8 {
	t := uint32(v)*uint32(a) + 128
	return uint8((t + t>>8) >> 8)
}

// MeanPercent is a plate's coverage: the mean tone value over the print box.
func (p *Plates) MeanPercent(plate int) float64 {
	return float64(p.Sum(plate)) / 255 / float64(p.Width*p.Height) * 100
}

// Sum adds up a plate's tone values, 255 for one solid pixel: exact, so that
// money can be reckoned from it without rounding.
func (p *Plates) Sum(plate int) uint64 { return p.measured().sum[plate] }

// stats are the sums of all plates and how many pixels have each sum of C, M, Y
// and K.
type stats struct {
	sum [Count]uint64
	tac [maxTAC + 1]uint64
}

// measured looks at every tone value once.
func (p *Plates) measured() *stats {
	p.once.Do(func() {
		const rows = 64
		parts := make([]stats, (p.Height+rows-1)/rows)
		cores.Share(len(parts), func(lo, hi int) {
			for b := lo; b < hi; b++ {
				from, to := b*rows*p.Width, min((b+1)*rows, p.Height)*p.Width
				c, m, y, k := p.Plane[Cyan][from:to], p.Plane[Magenta][from:to], p.Plane[Yellow][from:to], p.Plane[Black][from:to]
				w := p.Plane[White][from:to]
				s := &parts[b]
				var sc, sm, sy, sk, sw uint64
				for i := range c {
					vc, vm, vy, vk := uint64(c[i]), uint64(m[i]), uint64(y[i]), uint64(k[i])
					sc, sm, sy, sk, sw = sc+vc, sm+vm, sy+vy, sk+vk, sw+uint64(w[i])
					s.tac[vc+vm+vy+vk]++
				}
				s.sum = [Count]uint64{sc, sm, sy, sk, sw}
			}
		})
		for i := range parts {
			for k, v := range parts[i].sum {
				p.stats.sum[k] += v
			}
			for v, n := range parts[i].tac {
				p.stats.tac[v] += n
			}
		}
	})
	return &p.stats
}

// OverLimit is the least sum of four 8-bit tone values that is over a limit in
// percent. Rounding four plates to 8 bits can add two steps to a sum, and what
// only rounding put over the limit is not over it.
func OverLimit(percent float64) int { return int(math.Floor(percent*255/100)) + 3 }

// maxTAC is four solid plates in steps of 1/255.
const maxTAC = 4 * 255

// TAC is the total area coverage over the print box, in percent: 400 is four
// solids.
type TAC struct {
	MeanPercent          float64 `json:"mean_percent"`
	P99Percent           float64 `json:"p99_percent"`
	MaxPercent           float64 `json:"max_percent"`
	LimitPercent         float64 `json:"limit_percent"`
	OverLimitAreaPercent float64 `json:"over_limit_area_percent"`
}

// TAC measures the sum of C, M, Y and K at every pixel of the print box
// against a limit in percent.
func (p *Plates) TAC(limitPercent float64) TAC {
	n := p.Width * p.Height
	limit := OverLimit(limitPercent)
	t := TAC{LimitPercent: limitPercent}
	var sum, seen, over uint64
	for v, c := range p.measured().tac {
		if c == 0 {
			continue
		}
		sum += uint64(v) * c
		if seen*100 < uint64(n)*99 && (seen+c)*100 >= uint64(n)*99 {
			t.P99Percent = float64(v) / 255 * 100
		}
		seen += c
		if v >= limit {
			over += c
		}
		t.MaxPercent = float64(v) / 255 * 100
	}
	t.MeanPercent = float64(sum) / 255 / float64(n) * 100
	t.OverLimitAreaPercent = float64(over) / float64(n) * 100
	return t
}
