package flaw

import (
	"math"

	"laydown/colour/cores"
)

// leastBlocked is the least width and height of art in which blocks can be told.
const leastBlocked = 64

// grid is what steps along a picture's rows and columns show of blocks.
type grid struct{ along [2]steps }

// gridOf looks at the steps in a plane of tones; nil in one that is too small.
func gridOf(t []uint8, w, h int) *grid {
	if w < leastBlocked || h < leastBlocked {
		return nil
	}
	g := &grid{}
	cores.Each(2, func(i int) { g.along[i] = stepsAlong(linesOf(t, w, h, i == 1)) })
	return g
}

// stands is by how many standard errors blocks of so many pixels stand out, in the
// direction in which they do less, and by how many codes the steps between them.
func (g *grid) stands(period float64) (errors, codes float64) {
	x, y := &g.along[0], &g.along[1]
	steps, codes := every(x.sum, x.count, period)
	steps1, codes1 := every(y.sum, y.count, period)
	ends, _ := every(x.ends, x.lines, period)
	ends1, _ := every(y.ends, y.lines, period)
	return max(min(steps, steps1), min(ends, ends1)), min(codes, codes1)
}

// about is stands for a period that is known to one in 300, and what it is exactly.
func (g *grid) about(period float64) (errors, codes, exact float64) {
	for by := -6; by <= 6; by++ {
		p := period * (1 + float64(by)/2000)
		if e, c := g.stands(p); e > errors {
			errors, codes, exact = e, c, p
		}
	}
	return errors, codes, exact
}

// settle takes an enlargement's factor that edges show for what it is: hard compression
// before the enlargement leaves an even stronger trace in them, at the parts of a block.
func (g *grid) settle(factor, width float64) float64 {
	second, _, _ := g.about(blockSide * factor)
	if second >= surelyGrid {
		return factor
	}
	best, whole := 0., 0.
	plain, _ := g.stands(blockSide) // of blocks that came after it, and at twice their width too
	second = max(second, plain)
	for m := 3; m <= 9; m++ {
		period := factor * float64(m)
		if m == blockSide/2 || m == blockSide || math.Abs(period-blockSide) < 0.1 {
			continue
		}
		if e, _, exact := g.about(period); e > best {
			best, second, whole = e, max(best, second), exact/blockSide
		} else {
			second = max(second, e)
		}
	}
	// Enlargement by itself stands out at all its multiples alike.
	if best >= surelyGrid && best > 1.3*second && whole > 1.1 && whole > width*leastShare && whole < width*mostShare {
		return whole
	}
	return factor
}

// blocks are the width in pixels of JPEG compression's blocks in art that was enlarged by
// factor, 0 for none, and by how many codes the steps between them stand out.
func (g *grid) blocks(t []uint8, w, h int, factor float64) (width, codes float64) {
	plain, _ := g.stands(blockSide)
	// Enlargement by a part of 8 has steps of its own at every eighth pixel.
	if n := blockSide / factor; factor == 1 || math.Abs(n-math.Round(n)) > 0.05 {
		codes = min(blockSteps(w, h, func(x, y int) int { return int(t[y*w+x]) }), blockSteps(h, w, func(y, x int) int { return int(t[y*w+x]) }))
		if plain < likelyGrid { // a few steep places that happen to lie so
			codes = min(codes, 0)
		}
		if plain >= surelyGrid || codes >= leastBlock {
			width = blockSide
		}
	}
	if factor > 1 {
		if e, c, _ := g.about(blockSide * factor); e > max(surelyGrid, 1.2*plain) { // blocks of 8 stand out at 16 and 24 too
			width, codes = blockSide*factor, max(codes, c)
		}
	}
	return width, codes
}

const (
	blockSide  = 8 // pixels of a block (ITU-T T.81, A.1.1)
	likelyGrid = 5 // standard errors with which steps that a person sees are blocks
	surelyGrid = 9 // standard errors by which steps at a period stand out; art without blocks reaches 7
)

// steps are sums by place along a line.
type steps struct {
	sum, count []float64 // of steps from one pixel to the next in smooth parts, and how many there are
	// ends is how often a flat ends in something faint, over lines: what compression
	// leaves beside an edge stops at the end of its block.
	ends, lines []float64
}

// stepsAlong adds up the steps in lines of n pixels, of which line copies one.
func stepsAlong(n, lines int, line func(i int, buf []uint8)) steps {
	s := steps{make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)}
	buf := make([]uint8, n)
	for l, every := 0, max(1, lines/300); l < lines; l += every {
		line(l, buf)
		changed := -blockSide // the last place where there was something other than a flat
		for i := 2; i+2 < n; i++ {
			a, b, c, d := int(buf[i-2]), int(buf[i-1]), int(buf[i]), int(buf[i+1])
			s.lines[i]++
			if a == b && b != c && i-changed > stillRun && abs(c-b) <= faint && abs(d-b) <= faint {
				s.ends[i]++
			}
			if b != c {
				if i-changed <= stillRun && c == d && d == int(buf[i+2]) && abs(c-b) <= faint && abs(c-a) <= faint {
					s.ends[i]++ // or begins after it
				}
				changed = i
			}
			if max(a, b, c, d)-min(a, b, c, d) < 16 && i-changed < blockSide {
				s.sum[i] += float64(abs(c - b))
				s.count[i]++
			}
		}
	}
	return s
}

const (
	stillRun = 3  // pixels alike that are a flat
	faint    = 12 // codes of what compression leaves
)

// every is by how many standard errors, and by how many codes that an enlargement has
// spread, what is summed by place stands out at one place of each period of pixels.
func every(sums, counts []float64, period float64) (stands, codes float64) {
	const most = 16
	bins := min(most, int(period))
	var sum, count [most]float64
	total, squares, places := 0.0, 0.0, 0.0
	for i, n := range counts[:min(len(counts), traceWindow)] { // further on, the period is not known well enough
		if n < 3 {
			continue
		}
		mean := sums[i] / n
		b := int(math.Mod(float64(i), period) / period * float64(bins))
		sum[b] += mean
		count[b]++
		total += mean
		squares += mean * mean
		places++
	}
	width := 1 + bins/most // of the bins that a step is spread over
	best, at := math.Inf(-1), 0
	for b := range bins {
		if count[b] < 4 {
			return 0, 0
		}
		v, n := 0.0, 0.0
		for k := range width {
			v, n = v+sum[(b+k)%bins], n+count[(b+k)%bins]
		}
		if v/n > best {
			best, at = v/n, b
		}
	}
	in := 0.0
	for k := range width {
		in += count[(at+k)%bins]
	}
	others := (total - best*in) / (places - in)
	variance := squares/places - total/places*total/places
	return (best - others) / math.Sqrt(variance/in+1e-9), (best - others) * period / blockSide
}

// leastBlock is how many codes the steps between blocks stand out from those
// within when a person sees blocks; our own figure.
const leastBlock = 1.5

// blockSteps is by how many codes the steps at every eighth place stand out from
// the others, where there are no edges.
func blockSteps(n, lines int, at func(i, line int) int) float64 {
	var sum [8]float64
	var count [8]int
	every := max(1, lines/150)
	for line := every / 2; line < lines; line += every {
		a, b, c := at(0, line), at(1, line), at(2, line)
		changed := -8 // where there was something other than a flat
		for i := 2; i < n-1; i++ {
			d := at(i+1, line)
			// The step from b to c against its neighbours.
			before, step, after := abs(b-a), abs(c-b), abs(d-c)
			if before+step+after > 0 {
				changed = i
			}
			if before < 12 && step < 24 && after < 12 && i-changed < 8 {
				sum[i%8] += float64(2*step-before-after) / 2
				count[i%8]++
			}
			a, b, c = b, c, d
		}
	}
	mean := func(k int) float64 { return sum[k] / math.Max(1, float64(count[k])) }
	best, at8 := math.Inf(-1), 0
	for k := range 8 {
		if m := mean(k); m > best {
			best, at8 = m, k
		}
	}
	others := 0.0
	for k := range 8 {
		if count[k] < 500 {
			return 0
		}
		if k != at8 {
			others += mean(k) / 7
		}
	}
	return best - others
}

func abs(v int) int { return max(v, -v) }
