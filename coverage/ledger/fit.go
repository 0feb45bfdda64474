package ledger

import (
	"errors"
	"math"
	"slices"
)

// event is a run or a change in the life of one toner of one printer.
type event struct {
	Laid   float64 // what a run laid down, in cartridges as they state their yield
	Change *Change // nil for a run
}

// mark is where one cartridge followed another, in what was laid down. It is known to lie
// in a run; where a long run used up several cartridges, it is the middle of their changes.
type mark struct {
	Laid   float64 // up to here, in stated cartridges
	Half   float64 // the true place is up to so much before or behind, and all are as likely
	Vary   float64 // variance of the place beside that, because the run may not be entered
	Missed float64 // variance of Laid, because runs before may not be entered

	Used   float64 // cartridges used up since the first mark
	Fills  float64 // sum of squares of the parts of cartridges that Used is made of
	Gauges float64 // how many figures of Used were read on a gauge
}

// variance is that of the place itself.
func (m mark) variance() float64 { return m.Half*m.Half/3 + m.Vary }

// longRun is what a run must lay down, in stated cartridges, for each further change to be
// within it; else the change was entered twice, or the runs between were not, and it is left out.
const longRun = 0.5

// marks finds where cartridges followed each other, in events in the order of time.
// forgotten is the share of runs, from 0 to under 1, that nobody entered: those that were
// entered then stand for all, and it is allowed for that this is not exact.
func marks(events []event, forgotten float64) (out []mark) {
	kept := 1 - forgotten
	sum, squares := 0.0, 0.0
	for _, e := range events {
		sum, squares = sum+e.Laid, squares+e.Laid*e.Laid
	}
	struck := 0.0 // how long a run is that a cartridge ends in: a long one more likely
	if sum > 0 {
		struck = squares / sum
	}
	sum, squares = 0, 0 // from here on up to the event
	last, atLast := -1, mark{}
	in, inRun, together := 0.0, -1, 0 // what the cartridge in use held, and the last mark's run and changes
	used := mark{}
	for i, e := range events {
		if e.Change == nil {
			if e.Laid > 0 {
				last, atLast = i, mark{Laid: sum / kept, Missed: squares * forgotten / (kept * kept)}
			}
			sum, squares = sum+e.Laid, squares+e.Laid*e.Laid
			continue
		}
		run, m := -1, mark{Laid: sum / kept, Missed: squares * forgotten / (kept * kept)}
		switch e.Change.during() {
		case LastRun:
			if run = last; run >= 0 {
				m = atLast
			}
		case NextRun:
			run = slices.IndexFunc(events[i:], func(v event) bool { return v.Laid > 0 })
			if run >= 0 {
				run += i
			}
		}
		if run >= 0 {
			// If the run was entered the mark is in it, else in another that came behind.
			size := events[run].Laid
			behind := size/kept + struck/2 - size/2
			m.Laid += size/2 + forgotten*behind
			m.Half = size / 2
			m.Vary = forgotten*kept*behind*behind + forgotten*max(0, struck*struck-size*size)/12
		}
		if len(out) == 0 {
			out, in, inRun, together = append(out, m), e.Change.in(), run, 1
			continue
		}
		part := in - e.Change.LeftPercent/100
		next := used
		next.Used += part
		next.Fills += part * part
		if e.Change.LeftPercent > 0 {
			next.Gauges++
		}
		if e.Change.in() < 1 {
			next.Gauges++
		}
		p := &out[len(out)-1]
		m.Laid = max(m.Laid, p.Laid)
		switch {
		case run >= 0 && run == inRun:
			if events[run].Laid < longRun*float64(together) {
				continue
			}
			// The middle of the changes moves on by half a cartridge.
			p.Used += part / 2
			p.Fills += part * part / 2
			p.Gauges = next.Gauges
			p.Half = max(0, p.Half-part/2)
			together++
		case m.Laid == p.Laid && m.Half == 0 && p.Half == 0:
			in = e.Change.in() // nothing was printed with it
			continue
		default:
			m.Used, m.Fills, m.Gauges = next.Used, next.Fills, next.Gauges
			out, inRun, together = append(out, m), run, 1
		}
		used, in = next, e.Change.in()
	}
	return out
}

// estimate is a toner's correction: measured use over the stated one.
type estimate struct {
	Cartridges float64 // used up between the first change and the last, in whole ones
	Spans      int     // between marks
	Correction float64
	// Low and High hold the true correction at 95 %; without a second span there is
	// no such interval, and both are 0.
	Low, High float64
	// Scatter is by how much what a cartridge lays down differs from one to the next: a
	// standard deviation, in parts of it. 0 with one span.
	Scatter float64
}

// errTooFew says that no cartridge was used up yet.
var errTooFew = errors.New("no whole cartridge yet: enter two changes of it with runs between them")

// What is taken of cartridges where the ledger does not tell: see the package comment.
const (
	fillUsual, fillStep = 0.058, 1.7 // standard deviation of what cartridges lay down, in parts of it, and a usual factor from it
	fillLeast, fillMost = 0.005, 0.3 // the range of them that is tried
	fills               = 24         // how many
	gaugeStep           = 0.1        // of a cartridge, that a gauge is read to
	leastPart           = 20         // the interval ends at such a part of the mean
	outside             = 0.025      // probability on either side of the interval
)

// logPrior is how likely a scatter of cartridges is before any was seen, as a logarithm and
// but for a constant: Student's t with three degrees about the usual one, on a logarithmic
// scale, so that a few cartridges overrule it.
func logPrior(fill float64) float64 {
	z := math.Log(fill/fillUsual) / math.Log(fillStep)
	return -2 * math.Log1p(z*z/3)
}

// guess is what one scatter of the cartridges makes of the spans.
type guess struct {
	weight float64
	mean   float64 // laid down by a cartridge, in stated ones
	normal float64 // standard deviation of the error of mean, all but
	a, b   float64 // the two largest parts of it, uniform up to so much either side
	fill   float64
}

func (g guess) variance() float64 { return g.normal*g.normal + (g.a*g.a+g.b*g.b)/3 }

// fit estimates a toner's correction from its marks, as the package comment says.
func fit(of []mark) (estimate, error) {
	n := len(of) - 1
	if n < 1 || !(of[n].Used > of[0].Used) || !(of[n].Laid > of[0].Laid) {
		return estimate{}, errTooFew
	}
	e := estimate{Cartridges: of[n].Used - of[0].Used, Spans: n}
	rough := (of[n].Laid - of[0].Laid) / e.Cartridges
	missed := max(0, of[n].Missed-of[0].Missed) / e.Cartridges
	guesses := make([]guess, fills)
	most := math.Inf(-1)
	for k := range guesses {
		fill := fillLeast * math.Pow(fillMost/fillLeast, float64(k)/(fills-1))
		guesses[k] = guessOf(of, rough, missed, fill)
		guesses[k].weight += logPrior(fill)
		most = max(most, guesses[k].weight)
	}
	sum, mean, variance := 0.0, 0.0, 0.0
	for k := range guesses {
		g := &guesses[k]
		g.weight = math.Exp(g.weight - most)
		sum += g.weight
		mean += g.weight * g.mean
		e.Scatter += g.weight * g.fill
		variance += g.weight * g.variance()
	}
	mean, variance, e.Scatter = mean/sum, variance/sum, e.Scatter/sum
	// The mean of an inverse is larger than the inverse of the mean by the variance, in parts
	// of the square. Few cartridges tell little of the variance: it is trusted up to a limit.
	e.Correction = 1 / (mean * (1 + min(variance/(mean*mean), 0.03)))
	if n == 1 {
		e.Scatter = 0
		return e, nil
	}
	quantile := func(at float64) float64 {
		lo, hi := mean/leastPart, 4*mean
		for range 36 {
			mid := (lo + hi) / 2
			below := 0.0
			for _, g := range guesses {
				below += g.weight / sum * cumulated(mid-g.mean, g.normal, g.a, g.b)
			}
			if below < at {
				lo = mid
			} else {
				hi = mid
			}
		}
		return hi
	}
	e.Low, e.High = 1/quantile(1-outside), 1/quantile(outside)
	return e, nil
}

// guessOf fits what a cartridge lays down by generalised least squares, if what cartridges
// hold differs by fill. Its weight is the logarithm of the likelihood that remains when the
// mean is integrated out.
func guessOf(of []mark, rough, missed, fill float64) guess {
	n := len(of) - 1
	own, off, used, laid := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	diag := make([]float64, n)
	for j := range n {
		a, b := of[j], of[j+1]
		used[j], laid[j] = b.Used-a.Used, b.Laid-a.Laid
		own[j] = missed*used[j] + rough*rough*(fill*fill*(b.Fills-a.Fills)+gaugeStep*gaugeStep/12*(b.Gauges-a.Gauges))
		diag[j] = own[j] + a.variance() + b.variance()
		off[j] = -b.variance()
	}
	w, logDet := solve(diag, off, used)
	uu := dot(w, used)
	g := guess{mean: dot(w, laid) / uu, fill: fill}
	rest := make([]float64, n)
	for j := range rest {
		rest[j] = laid[j] - g.mean*used[j]
	}
	v, _ := solve(diag, off, rest)
	g.weight = -(logDet + math.Log(uu) + dot(v, rest)) / 2
	// How mean errs: each span and each mark has its part.
	normal := 0.0
	for j := range of {
		c := 0.0
		if j > 0 {
			c += w[j-1] / uu
			normal += w[j-1] / uu * w[j-1] / uu * own[j-1]
		}
		if j < n {
			c -= w[j] / uu
		}
		normal += c * c * of[j].Vary
		h := math.Abs(c) * of[j].Half
		if h > g.a {
			h, g.a = g.a, h
		}
		if h > g.b {
			h, g.b = g.b, h
		}
		normal += h * h / 3
	}
	g.normal = math.Sqrt(normal)
	return g
}

func dot(a, b []float64) (sum float64) {
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

// solve solves a symmetric, positive definite system of three diagonals, off[j] between j
// and j+1, and returns the logarithm of its determinant too.
func solve(diag, off, right []float64) (x []float64, logDet float64) {
	n := len(diag)
	d, x := slices.Clone(diag), slices.Clone(right)
	for j := 1; j < n; j++ {
		f := off[j-1] / d[j-1]
		d[j] -= f * off[j-1]
		x[j] -= f * x[j-1]
	}
	for j := n - 1; j >= 0; j-- {
		logDet += math.Log(d[j])
		if j < n-1 {
			x[j] -= off[j] * x[j+1]
		}
		x[j] /= d[j]
	}
	return x, logDet
}

// cumulated is the probability that a normal deviate and two uniform ones, up to a and b
// either side of 0, a ≥ b, are at most q together. Uniform parts that are small beside the
// normal one are taken as normal: their difference would be lost in rounding.
func cumulated(q, normal, a, b float64) float64 {
	const small = 0.05
	if b < small*normal {
		normal, b = math.Hypot(normal, b/math.Sqrt(3)), 0
	}
	if a < small*normal {
		normal, a = math.Hypot(normal, a/math.Sqrt(3)), 0
	}
	density := func(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }
	below := func(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
	switch {
	case a == 0:
		return below(q / normal)
	case b == 0: // the integral of below
		g := func(q float64) float64 { z := q / normal; return z*below(z) + density(z) }
		return (g(q+a) - g(q-a)) * normal / (2 * a)
	}
	h := func(q float64) float64 { z := q / normal; return ((z*z+1)*below(z) + z*density(z)) / 2 } // once more
	return (h(q+a+b) - h(q+a-b) - h(q-a+b) + h(q-a-b)) * normal * normal / (4 * a * b)
}
