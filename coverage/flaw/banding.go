package flaw

import (
	"fmt"
	"math"
	"slices"

	"laydown/colour"
	"laydown/colour/grid"
	"laydown/coverage/plate"
)

// Banding is looked for along rows and columns a little apart.
const (
	bandScanMM = 0.5
	leastSteps = 3   // visible, in one ramp
	mostCodes  = 26  // a larger step between plates is an edge that was meant
	leastRunMM = 0.3 // a narrower flat is part of a smooth ramp
	mostBlur   = 2   // pixels that an antialiased step may take
)

// run is a stretch of pixels with the same toner.
type flatRun struct {
	from, to int // pixels along the scan, to excluded
	tones    [4]uint8
}

// banding looks for long smooth ramps that step visibly: flats side by side in the
// plates, each a little on from the last in the same direction of colour. A step
// is visible if its ΔE00 reaches the limit; the eye joins bands narrower than a
// millimetre, so there the limit rises in proportion (our own figure).
func banding(s *scene) ([]*Finding, error) {
	if s.Printed == nil || s.Limits.BandDeltaE <= 0 {
		return nil, nil
	}
	w, h := s.Art.Width, s.Art.Height
	every := max(1, int(math.Round(bandScanMM/s.PixelMM)))
	type mark struct {
		x, y int
		d    float64
	}
	scan := func(n, length int, at func(line, i int) int) (marks []mark, steps []float64) {
		found := make([][]mark, n)
		seen := make([][]float64, n)
		grid.Parallel(n, func(lo, hi int) {
			b := bander{s: s, lab: map[[4]uint8]colour.Lab{}}
			for k := lo; k < hi; k++ {
				line := k * every
				b.runs = b.runs[:0]
				for i := 0; i < length; {
					p, alpha := b.pixel(at(line, i))
					from := i
					for i++; i < length; i++ {
						if q, a := b.pixel(at(line, i)); q != p || a != alpha {
							break
						}
					}
					if alpha == 255 {
						b.runs = append(b.runs, flatRun{from, i, p})
					}
				}
				for _, st := range b.steps() {
					seen[k] = append(seen[k], st.d)
					i := at(line, st.at)
					found[k] = append(found[k], mark{i % w, i / w, st.d})
				}
			}
		})
		return slices.Concat(found...), slices.Concat(seen...)
	}
	marks, steps := scan((h+every-1)/every, w, func(line, i int) int { return line*w + i })
	more, others := scan((w+every-1)/every, h, func(line, i int) int { return i*w + line })
	marks, steps = append(marks, more...), append(steps, others...)
	if len(steps) < 2*leastSteps { // a single line of the scan proves nothing
		return nil, nil
	}
	r := newRegions(s)
	for _, m := range marks {
		r.add(m.x, m.y, m.d)
	}
	slices.Sort(steps)
	f := &Finding{Kind: Banding, Severity: Look, Measured: steps[len(steps)/2], Limit: s.Limits.BandDeltaE, Unit: "ΔE00"}
	f.Boxes, f.Places = r.boxes()
	f.Advice = fmt.Sprintf("A ramp prints in steps of ΔE00 %.1f, which show as bands. Make it anew with more levels (16 bits, or a little noise in it), or shorter.", f.Measured)
	return []*Finding{f}, nil
}

// bander finds steps along one line after another.
type bander struct {
	s    *scene
	runs []flatRun
	lab  map[[4]uint8]colour.Lab
}

func (b *bander) pixel(i int) (tones [4]uint8, alpha uint8) {
	for k := range tones {
		tones[k] = b.s.Plates.Plane[k][i]
	}
	alpha = 255
	if b.s.Art.AlphaAt >= 0 {
		alpha = b.s.presence[i]
	}
	return tones, alpha
}

func (b *bander) look(tones [4]uint8) colour.Lab {
	c, ok := b.lab[tones]
	if !ok {
		var x [4]float64
		for k, v := range tones {
			x[k] = float64(v) / 255
		}
		c = b.s.Printed(x)
		b.lab[tones] = c
	}
	return c
}

type bandStep struct {
	at int // pixel along the line
	d  float64
}

// steps returns the visible steps of every ramp of the line.
func (b *bander) steps() (out []bandStep) {
	least := max(3, int(math.Round(leastRunMM/b.s.PixelMM)))
	var ramp []bandStep
	end := func() {
		if len(ramp) >= leastSteps {
			out = append(out, ramp...)
		}
		ramp = ramp[:0]
	}
	last := -1 // the flat before
	var way [3]float64
	for i, r := range b.runs {
		if r.to-r.from < least {
			continue
		}
		if last < 0 || r.from-b.runs[last].to > mostBlur || codesApart(r.tones, b.runs[last].tones) > mostCodes {
			end()
			last, way = i, [3]float64{}
			continue
		}
		p, q := b.look(b.runs[last].tones), b.look(r.tones)
		d := colour.DeltaE00(p, q)
		go3 := [3]float64{q.L - p.L, q.A - p.A, q.B - p.B}
		if way[0]*go3[0]+way[1]*go3[1]+way[2]*go3[2] < 0 { // the ramp turns
			end()
		}
		way = go3
		width := float64(min(r.to-r.from, b.runs[last].to-b.runs[last].from)) * b.s.PixelMM
		if d >= b.s.Limits.BandDeltaE*math.Max(1, 1/width) {
			ramp = append(ramp, bandStep{r.from, d})
		}
		last = i
	}
	end()
	return out
}

func codesApart(a, b [4]uint8) (most int) {
	for k := range plate.White {
		most = max(most, int(a[k])-int(b[k]), int(b[k])-int(a[k]))
	}
	return most
}
