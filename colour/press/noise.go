package press

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"laydown/colour"
	"laydown/colour/cores"
)

// Outlier is a measurement that does not fit the others, and was left out.
type Outlier struct {
	Name     string     // of the patch in its file: where it lies on the sheet, else its name or number; may be ""
	CMYK     [4]float64 // tone values 0–1
	Measured colour.Lab // D50, absolute
	Expected colour.Lab // what the patches around it, or its repeats, lead to expect
	DeltaE00 float64    // between the two
}

func worstFirst(a, b Outlier) int { return cmp.Compare(b.DeltaE00, a.DeltaE00) }

const (
	// tried is how many patches smoothing is chosen by; see [chooseSmoothing].
	tried = 400

	leastSmoothing = 3e-4 // a scatter of about 0.07 in L, a and b
	mostSmoothing  = 1.0  // of about 4

	// worthSmoothing is what smoothing must save of the error at left-out patches:
	// less is the luck of the draw, and a set without scatter is met exactly.
	worthSmoothing = 0.03
)

// chooseSmoothing tries smoothing in growing steps of √10 for as long as it makes
// left-out patches be predicted better, on the mean of ΔE00, which a few outliers
// do not sway as squares would. A large set is tried by a part: the smoothing that
// suits it is the ratio of the scatter's variance to the printed colours' own, and
// depends little on how many there are. Repeats of a patch are not asked how much it
// is: read side by side on one sheet they scatter less than a sheet does. Noise is the standard deviation that the
// residuals show of L, a and b, over the degrees of freedom that the fit leaves
// (Wahba 1990, section 4.7).
func chooseSmoothing(patches []Patch) (smoothing, noise float64, err error) {
	part := spread(patches, tried)
	left := leftOut(part, len(part))
	if len(left) == 0 {
		return 0, 0, nil
	}
	at := func(s float64) (q *system, inverse *mat.Dense, f int, mean float64, err error) {
		if q, err = solve(part, s); err == nil {
			if inverse, err = q.inverse(left); err == nil {
				f, _, mean = q.chooseFactor(left, inverse)
			}
		}
		return q, inverse, f, mean, err
	}
	_, _, _, met, err := at(0)
	if err != nil {
		return 0, 0, err
	}
	least := met
	for s := leastSmoothing; s <= mostSmoothing*1.001; s *= math.Sqrt(10) {
		q, inverse, f, mean, err := at(s)
		if err != nil {
			return 0, 0, err
		}
		if mean > least {
			break
		}
		least = mean
		if mean > met*(1-worthSmoothing) {
			continue
		}
		smoothing, noise = s, 0
		m := &Model{N: factors[f]}
		squares, freedom := 0.0, 0.0
		for j, i := range left {
			p := part[i]
			v, w := m.toPower(p.Lab), q.weight(i, f)
			for k := range v {
				v[k] -= s / p.times() * w[k]
			}
			c := m.fromPower(v)
			squares += p.times() * (sq(c.L-p.Lab.L) + sq(c.A-p.Lab.A) + sq(c.B-p.Lab.B))
			freedom += 3 * s / p.times() * inverse.At(i, j)
		}
		noise = math.Sqrt(squares / freedom)
	}
	return smoothing, noise, nil
}

func sq(v float64) float64 { return v * v }

// spread returns at most about count patches, with all primaries, in their order.
// Every patch's number times the golden section, less its whole part, picks them:
// charts are written in loops, and even steps would fall in with one.
func spread(patches []Patch, count int) (part []Patch) {
	share := float64(count) / float64(len(patches))
	for i, p := range patches {
		if _, at := math.Modf(float64(i) * (math.Sqrt(5) - 1) / 2); at < share || isPrimary(p) {
			part = append(part, p)
		}
	}
	return part
}

const (
	// near is how many neighbours a patch is judged by.
	near = 40
	// screening is the smoothing by which it is: a little, so that one bad
	// neighbour does not bend all around it.
	screening = 0.01

	// strayRatio is how many times the set's median a stray's deviation is. Without
	// outliers, published sets with scatter of 0.7 in L, a and b stay below 4.
	strayRatio = 6
	// strayLeast bounds it from below, for sets without scatter, whose median is
	// tiny: the nine published sets, whole and in parts of 300 patches, stay below
	// 20. In a chart's dense parts 28 is a ΔE00 of about 3, where patches lie far
	// apart it is 12.
	strayLeast = 28
	// strayDeltaE00 is a difference that no print or instrument in order shows.
	strayDeltaE00 = 3
	// strayShare is the most that is left out: a chart with more of it wrong is not
	// one with a few bad patches.
	strayShare = 0.05
)

// screen parts a set's patches from its outliers, which come worst first. Each
// patch is predicted from the nearest others by a spline of their own. Its
// deviation, ΔE00 times the root of the inverse matrix's diagonal element, has the
// same spread wherever patches lie dense or far apart (it is the prediction's error
// over its expected size, but for a factor: Rasmussen and Williams 2006, Gaussian
// Processes for Machine Learning, section 5.4.2). The worst goes first and its
// neighbours are judged anew, since a bad patch makes good neighbours look bad. The
// paper, the solids and their overprints stay whatever they are: few others say
// what to expect of a corner, and no model is without them.
func screen(patches []Patch) (kept []Patch, outliers []Outlier) {
	x := make([][4]float64, len(patches))
	for i, p := range patches {
		x[i] = splinePlace(p.CMYK)
	}
	gone := make([]bool, len(patches))
	views := make([]view, len(patches))
	cores.Share(len(patches), func(lo, hi int) {
		for i := lo; i < hi; i++ {
			if !isPrimary(patches[i]) {
				views[i] = look(patches, x, gone, i)
			}
		}
	})
	var all []float64
	for _, v := range views {
		if v.deviation > 0 {
			all = append(all, v.deviation)
		}
	}
	if len(all) <= near {
		return patches, nil // too few to tell
	}
	slices.Sort(all)
	limit := max(strayLeast, strayRatio*all[len(all)/2])
	for len(outliers) < int(strayShare*float64(len(patches))) {
		worst := -1
		for i, v := range views {
			if !gone[i] && v.deviation > limit && v.deltaE00 > strayDeltaE00 && (worst < 0 || v.deviation > views[worst].deviation) {
				worst = i
			}
		}
		if worst < 0 {
			break
		}
		gone[worst] = true
		p, v := patches[worst], views[worst]
		outliers = append(outliers, Outlier{p.Name, p.CMYK, p.Lab, v.expected, v.deltaE00})
		for i := range views {
			if !gone[i] && slices.Contains(views[i].by, worst) {
				views[i] = look(patches, x, gone, i)
			}
		}
	}
	for i, p := range patches {
		if !gone[i] {
			kept = append(kept, p)
		}
	}
	slices.SortStableFunc(outliers, worstFirst)
	return kept, outliers
}

// view is a patch as its neighbours see it; zero if they cannot.
type view struct {
	by                  []int
	expected            colour.Lab
	deltaE00, deviation float64
}

func look(patches []Patch, x [][4]float64, gone []bool, i int) view {
	by := nearest(x, gone, i)
	n := len(by)
	a, b := mat.NewDense(n+5, n+5, nil), mat.NewDense(n+5, 4, nil)
	m := &Model{N: 3} // near Lab, whatever the press
	for r, j := range by {
		for c, k := range by {
			a.Set(r, c, cube(x[j], x[k]))
		}
		a.Set(r, r, screening/patches[j].times())
		for c, v := range [5]float64{1, x[j][0], x[j][1], x[j][2], x[j][3]} {
			a.Set(r, n+c, v)
			a.Set(n+c, r, v)
		}
		y := m.toPower(patches[j].Lab)
		copy(b.RawRowView(r), y[:])
	}
	for c := range 5 {
		// Neighbours may all lack one toner: its trend is then nought, and costs.
		a.Set(n+c, n+c, -1e-6)
	}
	b.Set(0, 3, 1)
	var lu mat.LU
	lu.Factorize(a)
	var w mat.Dense
	if lu.SolveTo(&w, false, b) != nil || !(w.At(0, 3) > 0) {
		return view{}
	}
	v := m.toPower(patches[i].Lab)
	for k := range v {
		v[k] -= w.At(0, k) / w.At(0, 3)
	}
	o := view{by: by, expected: m.fromPower(v)}
	o.deltaE00 = colour.DeltaE00(patches[i].Lab, o.expected)
	o.deviation = o.deltaE00 * math.Sqrt(w.At(0, 3))
	return o
}

// nearest returns patch i and its nearest neighbours, by rising distance.
func nearest(x [][4]float64, gone []bool, i int) []int {
	at := make([]int, 0, near+2)
	far := make([]float64, 0, near+2)
	for j := range x {
		if gone[j] {
			continue
		}
		d := cube(x[i], x[j])
		if j == i {
			d = -1 // itself first, whatever else lies here
		}
		if len(far) > near && d >= far[near] {
			continue
		}
		k, _ := slices.BinarySearch(far, d)
		for k < len(far) && far[k] == d {
			k++
		}
		at, far = slices.Insert(at, k, j), slices.Insert(far, k, d)
		if len(far) > near+1 {
			at, far = at[:near+1], far[:near+1]
		}
	}
	return at
}
