package flaw

import (
	"fmt"
	"math"
	"slices"

	"laydown/colour"
	"laydown/colour/cores"
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

// flatRun is a stretch of pixels with the same toner.
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
	rows, columns := (h+every-1)/every, (w+every-1)/every
	marks := make([][]bandStep, rows+columns)
	cores.Share(rows, func(lo, hi int) {
		b := newBander(s, 1)
		for k := lo; k < hi; k++ {
			for x := range w {
				b.pixel(0, x, k*every*w+x)
			}
			marks[k] = b.steps(0, w)
			for i := range marks[k] {
				marks[k][i].across = k * every
			}
		}
	})
	// Columns are followed side by side, row after row, as the plates lie in memory.
	cores.Share(columns, func(lo, hi int) {
		b := newBander(s, hi-lo)
		for y := range h {
			for k := lo; k < hi; k++ {
				b.pixel(k-lo, y, y*w+k*every)
			}
		}
		for k := lo; k < hi; k++ {
			m := b.steps(k-lo, h)
			for i := range m {
				m[i].across, m[i].down = k*every, true
			}
			marks[rows+k] = m
		}
	})
	var steps []float64
	r := newRegions(s)
	for _, m := range slices.Concat(marks...) {
		steps = append(steps, m.d)
		for at := m.from; at < m.to; at += every { // both flats, so that a ramp is one place
			x, y := at, m.across
			if m.down {
				x, y = y, x
			}
			r.add(x, y, m.d)
		}
	}
	if len(steps) < 2*leastSteps { // a single line of the scan proves nothing
		return nil, nil
	}
	slices.Sort(steps)
	f := &Finding{Kind: Banding, Severity: Look, Measured: steps[len(steps)/2], Limit: s.Limits.BandDeltaE, Unit: "ΔE00"}
	f.Boxes, f.Places = r.boxes()
	f.Advice = fmt.Sprintf("A ramp prints in steps of ΔE00 %.1f, which show as bands. Make the ramp again with more levels (16 bits, or a little noise in it), or make it shorter.", f.Measured)
	return []*Finding{f}, nil
}

// bander finds steps along lines, of which it follows several at a time.
type bander struct {
	s        *scene
	presence []uint8 // nil if the art is all there
	least    int     // pixels of a flat
	lines    []bandLine
	lab      map[[4]uint8]colour.Lab
}

// bandLine is what was seen of one line: the flats so far, and the stretch of
// equal pixels that is going on.
type bandLine struct {
	flats []flatRun
	going flatRun
	solid bool
}

func newBander(s *scene, lines int) *bander {
	b := &bander{s: s, least: max(3, int(math.Round(leastRunMM/s.PixelMM))), lines: make([]bandLine, lines), lab: map[[4]uint8]colour.Lab{}}
	if s.Art.HasAlpha {
		b.presence = s.presence()
	}
	return b
}

// pixel goes on with a line: at is how far along it, i the pixel in the art.
func (b *bander) pixel(line, at, i int) {
	p := &b.s.Plates.Plane
	tones := [4]uint8{p[0][i], p[1][i], p[2][i], p[3][i]}
	solid := b.presence == nil || b.presence[i] == 255
	l := &b.lines[line]
	if at > 0 && tones == l.going.tones && solid == l.solid {
		return
	}
	b.close(l, at)
	l.going, l.solid = flatRun{from: at, tones: tones}, solid
}

// close ends the stretch that is going on.
func (b *bander) close(l *bandLine, at int) {
	if l.solid && at-l.going.from >= b.least {
		l.going.to = at
		l.flats = append(l.flats, l.going)
	}
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

// bandStep is a step between two flats that lie side by side on a line.
type bandStep struct {
	from, to int // pixels along the line, of both flats
	across   int // where the line is
	down     bool
	d        float64
}

// steps returns the visible steps of every ramp of a line of a length, and makes
// it ready for another.
func (b *bander) steps(line, length int) (out []bandStep) {
	l := &b.lines[line]
	b.close(l, length)
	var ramp []bandStep
	end := func() {
		if len(ramp) >= leastSteps {
			out = append(out, ramp...)
		}
		ramp = ramp[:0]
	}
	var last flatRun
	var way [3]float64
	for i, r := range l.flats {
		if i == 0 || r.from-last.to > mostBlur || codesApart(r.tones, last.tones) > mostCodes {
			end()
			last, way = r, [3]float64{}
			continue
		}
		p, q := b.look(last.tones), b.look(r.tones)
		d := colour.DeltaE00(p, q)
		turn := [3]float64{q.L - p.L, q.A - p.A, q.B - p.B}
		if way[0]*turn[0]+way[1]*turn[1]+way[2]*turn[2] < 0 { // the ramp turns
			end()
		}
		way = turn
		width := float64(min(r.to-r.from, last.to-last.from)) * b.s.PixelMM
		if d >= b.s.Limits.BandDeltaE*math.Max(1, 1/width) {
			ramp = append(ramp, bandStep{from: last.from, to: r.to, d: d})
		}
		last = r
	}
	end()
	*l = bandLine{flats: l.flats[:0]}
	return out
}

func codesApart(a, b [4]uint8) (most int) {
	for k := range plate.White {
		most = max(most, int(a[k])-int(b[k]), int(b[k])-int(a[k]))
	}
	return most
}
