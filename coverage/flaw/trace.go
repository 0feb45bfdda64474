package flaw

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"laydown/colour/cores"
)

// Enlargement leaves a trace in edges. Each enlarged pixel is mixed from the pixels of
// the original around it, so an edge comes out steep where it fell between two pixels
// of the original and slack where it fell into one: steepness goes up and down with
// the place of the edge, once for each pixel of the original. This is the periodicity
// of interpolated signals (Gallagher, "Detection of linear and cubic interpolation in
// JPEG compressed images", 2005; Mahdian and Saic, "Blind authentication using periodic
// properties of interpolation", 2008), looked for in the edges alone and at places
// between pixels, where compression disturbs it least and where factors of 3 and 1.5
// do not look alike. Our own are the measure of steepness and all thresholds.
const (
	leastEdge   = 60   // codes that an edge rises for its width to count
	widestEdge  = 24   // pixels; a slower rise is a ramp
	leastEdges  = 400  // in the picture
	sharpestOf  = 10   // the 1 in so many sharpest edges count
	nativeWidth = 1.05 // pixels that the sharp edges of art at its own size take
	surelySoft  = 2.2  // and from which it was enlarged, or is soft
	softest     = 8    // and from which it was drawn soft: glows and shadows

	traceRise   = 32   // codes that an edge rises to count
	traceWindow = 2048 // pixels that are looked at together
	traceFine   = 8    // places told in a pixel
	traceLines  = 1000 // rows, and columns, that are looked at
	traceWeight = 16   // edges at one place that count in full
	tracePlaces = 60   // least places with edges along rows, and along columns
)

// edges is what the edges along a picture's rows and columns show of its past.
type edges struct {
	strong widths      // of leastEdge codes and more
	all    widths      // of traceRise codes and more
	along  [2]spectrum // rows, columns
}

// widths count edges by the tenths of a pixel that they take.
type widths struct {
	of    [10*widestEdge + 1]int32
	total int
}

func (w *widths) add(width float64) {
	if width < widestEdge {
		w.of[int(10*width)]++
		w.total++
	}
}

// spectrum is how often something repeats along a line: index j stands for j times in
// traceWindow pixels.
type spectrum struct {
	steep  []float64 // power of what steepness deviates from its mean
	mean   float64   // power of a steepness that goes up and down by itself
	clump  []float64 // power of the edges' places
	whole  float64   // power of edges all at places that repeat
	places int       // that hold edges
	blur   int       // indices that a frequency is spread over, either side
}

// edgesOf looks at the edges of a plane of tones.
func edgesOf(t []uint8, w, h int) *edges {
	var found [2]*edges
	cores.Each(2, func(i int) { found[i] = edgesAlong(linesOf(t, w, h, i == 1)) })
	e := found[0]
	for i := range e.all.of {
		e.strong.of[i] += found[1].strong.of[i]
		e.all.of[i] += found[1].all.of[i]
	}
	e.strong.total += found[1].strong.total
	e.all.total += found[1].all.total
	e.along[1] = found[1].along[0]
	return e
}

// edgesAlong looks at lines of n pixels, of which line copies one.
func edgesAlong(n, lines int, line func(i int, buf []uint8)) *edges {
	e := &edges{}
	steep, count := make([]float64, (n+1)*traceFine), make([]float64, (n+1)*traceFine)
	buf := make([]uint8, n)
	every := max(1, lines/traceLines)
	for i := every / 2; i < lines; i += every {
		line(i, buf)
		eachEdge(buf, func(at, rise, width float64) {
			e.all.add(width)
			if rise >= leastEdge {
				e.strong.add(width)
			}
			place := int(at*traceFine + 0.5)
			steep[place] += 1 / width
			count[place]++
		})
	}
	s := &e.along[0]
	s.steep, s.clump = make([]float64, traceWindow+1), make([]float64, traceWindow+1)
	s.blur = 2 + 3*traceWindow/min(n, traceWindow)
	transform := fourier.NewFFT(traceWindow * traceFine)
	values := make([]float64, traceWindow*traceFine)
	var coefficients []complex128
	add := func(to []float64) {
		coefficients = transform.Coefficients(coefficients, values)
		for j := range to {
			c := coefficients[j]
			to[j] += real(c)*real(c) + imag(c)*imag(c)
		}
	}
	for from := 0; from < len(count); from += len(values) {
		steep, count := steep[from:min(from+len(values), len(count))], count[from:min(from+len(values), len(count))]
		sum, weights := 0.0, 0.0
		clear(values)
		for i, c := range count {
			if c == 0 {
				continue
			}
			weight := math.Sqrt(min(c, traceWeight))
			sum += weight * steep[i] / c
			weights += weight
			values[i] = weight
			s.places++
		}
		if weights == 0 {
			continue
		}
		s.whole += weights * weights
		add(s.clump)
		mean := sum / weights
		s.mean += sum * sum
		for i, c := range count {
			if c > 0 {
				values[i] *= steep[i]/c - mean
			}
		}
		add(s.steep)
	}
	return e
}

// eachEdge calls found for each rise or fall of traceRise codes and more along a line:
// where it is halfway, by how much it rises and how many pixels that would take at its
// steepest.
func eachEdge(line []uint8, found func(at, rise, width float64)) {
	for x := 1; x < len(line); {
		d := int(line[x]) - int(line[x-1])
		if d == 0 {
			x++
			continue
		}
		from, steep := x-1, 0
		for ; x < len(line); x++ {
			e := int(line[x]) - int(line[x-1])
			if e == 0 || (e > 0) != (d > 0) {
				break
			}
			steep = max(steep, e, -e)
		}
		a, b := int(line[from]), int(line[x-1])
		if abs(b-a) < traceRise {
			continue
		}
		i := from
		for abs(2*int(line[i+1])-2*a) < abs(b-a) {
			i++
		}
		v, next := float64(line[i]), float64(line[i+1])
		found(float64(i)+(float64(a+b)/2-v)/(next-v), float64(abs(b-a)), float64(abs(b-a))/float64(steep))
	}
}

// width is the pixels that the sharpest edges take, of which share is that part of the
// strong ones, or of all where the art has little contrast; 0 where there are too few to
// tell.
func (e *edges) width(share float64) float64 {
	w := &e.strong
	if w.total < leastEdges {
		w = &e.all
	}
	if w.total < leastEdges {
		return 0
	}
	seen := 0
	for i, n := range w.of {
		if seen += int(n); float64(seen) >= share*float64(w.total) {
			return float64(i) / 10
		}
	}
	return 0
}

// interpolated is the factor of an enlargement that mixes pixels, 1 where none shows. Width
// is that of the sharpest edges: enlargement makes about so many pixels of one, and the
// half and the double of a factor leave like traces.
func (e *edges) interpolated(width float64) float64 {
	if width < leastMixed || width >= softest {
		return 1
	}
	rows, columns := &e.along[0], &e.along[1]
	if rows.places < tracePlaces || columns.places < tracePlaces {
		return 1 // one direction alone may be a pattern
	}
	factor, deepest := 1.0, leastDepth
	least, last := max(int(traceWindow/mostShare/width), 1), min(int(traceWindow/leastShare/width), traceWindow*5/6)
	for j := least; j <= last; j++ {
		// Of both directions the mean, for what shows in one alone is no enlargement.
		depth := 2 * math.Sqrt(math.Sqrt(rows.peak(j)/rows.mean*columns.peak(j)/columns.mean))
		if depth < deepest || math.Sqrt(rows.stands(j)*columns.stands(j)) < leastStands || rows.ofBlocks(j) && columns.ofBlocks(j) {
			continue
		}
		if clump := math.Sqrt(math.Sqrt(rows.clump[j] / rows.whole * columns.clump[j] / columns.whole)); clump <= mostClump*depth {
			factor, deepest = traceWindow/float64(j), depth
		}
	}
	return factor
}

const (
	leastMixed  = 1.3   // pixels that the sharpest edges of enlarged art take at least
	leastShare  = 0.59  // of that width is the factor at least
	mostShare   = 1.67  // and at most
	leastStands = 7     // by how much a trace is stronger than chance
	leastDepth  = 0.105 // and what part of steepness goes up and down; compression does so to 0.1
	mostClump   = 0.85  // of that is the part of edges whose places repeat, at most; more is a pattern that was drawn
)

// peak is the power of steepness at index j or next to it: the two directions of a picture
// need not agree to the last.
func (s *spectrum) peak(j int) float64 {
	return max(s.steep[j-1], s.steep[j], s.steep[j+1])
}

// stands is by how much the power of steepness at index j is more than that around it.
func (s *spectrum) stands(j int) float64 {
	around := slices.Clone(s.steep[max(1, j-100):min(len(s.steep), j+100)])
	slices.Sort(around)
	floor := around[len(around)/2] / math.Ln2 // the mean of what is exponentially distributed
	return s.peak(j) / (floor + 1e-9)
}

// ofBlocks reports whether index j is among the eighths of a pixel's frequency, and not much
// stronger than the others: then blocks of compression make it.
func (s *spectrum) ofBlocks(j int) bool {
	const eighth = traceWindow / 8
	at := (j + eighth/2) / eighth
	if abs(j-at*eighth) > s.blur {
		return false
	}
	others := 0.0
	for k := 2; k < 8; k++ {
		if k%at != 0 {
			others = max(others, s.peak(k*eighth))
		}
	}
	return s.peak(j) < 3*others
}
