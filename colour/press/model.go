// Package press is the printing condition: what colour a press prints for
// given tone values of cyan, magenta, yellow and black, and which tone values
// print a wanted colour.
//
// A [Press] comes from an ICC output profile or from a characterisation data
// set (measured patches in CGATS.17 text). Either way its forward direction is
// tabulated into a cellular Yule–Nielsen-modified Neugebauer [Model], which
// can be inverted for any colour under a limit on total toner. With a profile
// the default separation is the profile's own table; with a data set it is
// the inverse of the model.
//
// The model knows dry, opaque-enough toner on the measured medium. White
// toner and the colour of an item are not its business.
package press

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"laydown/colour"
	"laydown/colour/cores"
)

// cells per axis plus one: the corners of the cellular model.
const corners = 17

// Model predicts the printed colour of tone values. Within each of 16⁴ cells
// it is the Neugebauer equation (Neugebauer 1937) with Demichel's area
// weights, on tristimulus values raised to 1/n (Yule and Nielsen 1951; the
// cellular form is Heuberger, Jing and Persiev 1992). It is immutable and safe
// for concurrent use.
type Model struct {
	// N is the Yule–Nielsen factor: fitted to a data set, 2 for a profile.
	N float64
	// HeldOut says how well patches are predicted that the fit has not seen;
	// zero for a profile, which holds no patches.
	HeldOut HeldOut
	// Smoothing is what the fit allows for scatter, as a variance of XYZ^(1/N)
	// over the spline's kernel: 0 if the model meets every patch.
	Smoothing float64
	// Noise is about how far one measurement strays, as the standard deviation of
	// each of L, a and b; 0 without smoothing.
	Noise float64
	// Outliers are the measurements that the fit left out, the worst of each kind
	// first.
	Outliers []Outlier

	node [][3]float32 // XYZ^(1/N) relative to D50, c slowest, k fastest; 24 bits are far finer than ink
}

// HeldOut is the prediction error of patches left out of a fit one at a time,
// in ΔE00.
type HeldOut struct {
	Patches int     `json:"patches"`
	Median  float64 `json:"median_delta_e00"`
	P95     float64 `json:"p95_delta_e00"`
	Worst   float64 `json:"largest_delta_e00"`
}

// factors are the Yule–Nielsen factors that a fit chooses from.
var factors = []float64{1, 1.5, 2, 2.5, 3}

func (m *Model) toPower(c colour.Lab) [3]float64 {
	x := c.XYZ(colour.D50)
	f := func(v, w float64) float64 { return math.Pow(math.Max(v/w, 0), 1/m.N) }
	return [3]float64{f(x.X, colour.D50.X), f(x.Y, colour.D50.Y), f(x.Z, colour.D50.Z)}
}

// raise is v to the power N. The searches spend their time here, and the factors
// that a fit chooses from need no logarithm.
func (m *Model) raise(v float64) float64 {
	switch m.N {
	case 1:
		return v
	case 1.5:
		return v * math.Sqrt(v)
	case 2:
		return v * v
	case 2.5:
		return v * v * math.Sqrt(v)
	case 3:
		return v * v * v
	}
	return math.Pow(v, m.N)
}

func (m *Model) fromPower(v [3]float64) colour.Lab {
	f := func(v, w float64) float64 { return m.raise(math.Max(v, 0)) * w }
	return colour.XYZ{X: f(v[0], colour.D50.X), Y: f(v[1], colour.D50.Y), Z: f(v[2], colour.D50.Z)}.Lab(colour.D50)
}

// modelFrom tabulates any forward function. f is called concurrently.
func modelFrom(n float64, f func(cmyk [4]float64) colour.Lab) *Model {
	m := &Model{N: n, node: make([][3]float32, corners*corners*corners*corners)}
	cores.Share(len(m.node), func(lo, hi int) {
		for i := lo; i < hi; i++ {
			v := m.toPower(f(cornerTones(i)))
			m.node[i] = [3]float32{float32(v[0]), float32(v[1]), float32(v[2])}
		}
	})
	return m
}

func cornerTones(i int) (c [4]float64) {
	for k := 3; k >= 0; k-- {
		c[k] = float64(i%corners) / (corners - 1)
		i /= corners
	}
	return c
}

// spline is the smooth function through scattered patches from which the
// cells' corners are read: a polyharmonic spline (kernel r³, linear trend) in
// four dimensions (Duchon 1977), on tone values raised to a power so that
// light tints lie closer. It meets every patch unless they scatter.
type spline struct {
	m      *Model
	x      [][4]float64
	weight [][3]float64
	trend  [5][3]float64
}

const tonePower = 0.8

func splinePlace(cmyk [4]float64) (x [4]float64) {
	for i, v := range cmyk {
		if v > 0 {
			x[i] = math.Pow(v, tonePower)
		}
	}
	return x
}

func cube(a, b [4]float64) float64 {
	d0, d1, d2, d3 := a[0]-b[0], a[1]-b[1], a[2]-b[2], a[3]-b[3]
	r2 := d0*d0 + d1*d1 + d2*d2 + d3*d3
	return r2 * math.Sqrt(r2)
}

// system is a spline's equations, solved for every factor at once, three columns
// each: the matrix does not depend on the factor, and one factorisation serves all.
type system struct {
	patches []Patch
	x       [][4]float64
	lu      mat.LU
	w       mat.Dense // a row for each patch, then five of the trend
}

// solve sets up and solves a spline's equations. Smoothing 0 meets every patch
// exactly; more stands for measurements that scatter, and goes on the kernel's
// diagonal (Wahba 1990, Spline Models for Observational Data, section 2.4), less
// of it for a patch that is the mean of several. It is the same in all channels and
// places: scatter of one size in Lab is that in XYZ^(1/3), and with the smaller
// factors the weights that would make up for the difference change the mean error
// of a noisy set by no more than ΔE00 0.01.
func solve(patches []Patch, smoothing float64) (*system, error) {
	q := &system{patches: patches}
	n := len(patches)
	a := mat.NewDense(n+5, n+5, nil)
	for _, p := range patches {
		q.x = append(q.x, splinePlace(p.CMYK))
	}
	cores.Share(n, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			row := a.RawRowView(i)
			for j := range n {
				row[j] = cube(q.x[i], q.x[j])
			}
			row[i] = smoothing / patches[i].times()
			row[n] = 1
			copy(row[n+1:], q.x[i][:])
		}
	})
	b := mat.NewDense(n+5, 3*len(factors), nil)
	for i, p := range patches {
		for k := range 5 {
			a.Set(n+k, i, a.At(i, n+k))
		}
		for f, v := range factors {
			y := (&Model{N: v}).toPower(p.Lab)
			copy(b.RawRowView(i)[3*f:], y[:])
		}
	}
	q.lu.Factorize(a)
	if err := q.lu.SolveTo(&q.w, false, b); err != nil {
		return nil, fmt.Errorf("data set's patches do not spread over the four toners, so no model can be fitted: %w", err)
	}
	return q, nil
}

// inverse returns the columns of the inverse matrix that belong to some patches.
func (q *system) inverse(patches []int) (*mat.Dense, error) {
	size, _ := q.w.Dims()
	unit := mat.NewDense(size, len(patches), nil)
	for j, i := range patches {
		unit.Set(i, j, 1)
	}
	var inverse mat.Dense
	return &inverse, q.lu.SolveTo(&inverse, false, unit)
}

// weight is a patch's row of the solution for the factor at f.
func (q *system) weight(i, f int) [3]float64 { return [3]float64(q.w.RawRowView(i)[3*f:]) }

// fitSpline solves for the spline through the patches, or, where they scatter,
// smoothly between them, by the Yule–Nielsen factor that predicts left-out patches
// best.
func fitSpline(patches []Patch) (*spline, error) {
	smoothing, noise, err := chooseSmoothing(patches)
	if err != nil {
		return nil, err
	}
	q, err := solve(patches, smoothing)
	if err != nil {
		return nil, err
	}
	left := leftOut(patches, leaveOut)
	f, m := 2, &Model{N: factors[2]}
	if len(left) > 0 {
		inverse, err := q.inverse(left)
		if err != nil {
			return nil, err
		}
		f, m, _ = q.chooseFactor(left, inverse)
	}
	m.Smoothing, m.Noise = smoothing, noise
	s := &spline{m: m, x: q.x}
	for i := range patches {
		s.weight = append(s.weight, q.weight(i, f))
	}
	for k := range s.trend {
		s.trend[k] = q.weight(len(patches)+k, f)
	}
	return s, nil
}

// leaveOut is how many patches are left out in turn, spread over the set.
const leaveOut = 160

// leftOut returns about count of the patches that can be left out, in even steps.
func leftOut(patches []Patch, count int) (left []int) {
	for i := 0; i < len(patches); i += max(1, len(patches)/count) {
		if !isPrimary(patches[i]) {
			left = append(left, i)
		}
	}
	return left
}

// chooseFactor predicts patches from all the others; inverse has their columns. For
// a spline that needs no new fit: the error at patch i is its weight over the i-th
// diagonal element of the inverse matrix (Rippa 1999), and so it is for one that is
// smoothed. It returns the factor's place, a model that has it and how well it did,
// and the mean error in ΔE00.
func (q *system) chooseFactor(left []int, inverse *mat.Dense) (best int, model *Model, mean float64) {
	least := math.Inf(1)
	for f, n := range factors {
		m := &Model{N: n}
		d := make([]float64, len(left))
		sum := 0.0
		for j, i := range left {
			v, w := m.toPower(q.patches[i].Lab), q.weight(i, f)
			for k := range v {
				v[k] -= w[k] / inverse.At(i, j)
			}
			d[j] = colour.DeltaE00(q.patches[i].Lab, m.fromPower(v))
			sum += d[j]
		}
		if sum < least {
			slices.Sort(d)
			m.HeldOut = HeldOut{len(d), d[len(d)/2], d[len(d)*95/100], d[len(d)-1]}
			best, least, model = f, sum, m
		}
	}
	return best, model, least / float64(len(left))
}

// lab evaluates the spline.
func (s *spline) lab(cmyk [4]float64) colour.Lab {
	x := splinePlace(cmyk)
	o := s.trend[0]
	for k, v := range x {
		t := s.trend[k+1]
		o[0], o[1], o[2] = o[0]+v*t[0], o[1]+v*t[1], o[2]+v*t[2]
	}
	for i, p := range s.x {
		r, w := cube(x, p), &s.weight[i]
		o[0], o[1], o[2] = o[0]+r*w[0], o[1]+r*w[1], o[2]+r*w[2]
	}
	return s.m.fromPower(o)
}

// Fit makes a model from a data set. It needs at least the patches that
// [ParseSet] demands and a spread of others. Outliers are left out, and where the
// measurements scatter the model runs smoothly between them; the fields of [Model]
// say so.
func Fit(set *Set) (*Model, error) {
	patches, outliers := screen(set.Patches)
	s, err := fitSpline(patches)
	if err != nil {
		return nil, err
	}
	m := modelFrom(s.m.N, s.lab)
	m.HeldOut, m.Smoothing, m.Noise = s.m.HeldOut, s.m.Smoothing, s.m.Noise
	m.Outliers = slices.Concat(set.Strays, outliers)
	return m, nil
}

// Lab predicts the printed colour, absolute under D50, for tone values 0–1
// (clipped).
func (m *Model) Lab(cmyk [4]float64) colour.Lab {
	v, _ := m.power(cmyk, false)
	return m.fromPower(v)
}

// power interpolates within the cell and, if wanted, differentiates by each
// tone value.
func (m *Model) power(cmyk [4]float64, slopes bool) (v [3]float64, d [4][3]float64) {
	var f [4]float64
	base := 0
	for k, x := range cmyk {
		p := x * (corners - 1)
		c := 0
		switch {
		case !(p > 0):
			p = 0
		case p >= corners-1:
			c, p = corners-2, 1
		default:
			c = int(p)
			p -= float64(c)
		}
		f[k] = p
		base = base*corners + c
	}
	const sk, sy, sm, sc = 1, corners, corners * corners, corners * corners * corners
	// Fold the cell one toner at a time; the slope by a toner is the difference
	// of its two faces, folded by the others.
	var y [8][3]float64  // after k
	var dk [8][3]float64 // slope by k
	for i := range y {
		b := base + (i>>2)*sc + (i>>1&1)*sm + (i&1)*sy
		lo, hi := &m.node[b], &m.node[b+sk]
		for j := range lo {
			dk[i][j] = float64(hi[j]) - float64(lo[j])
			y[i][j] = float64(lo[j]) + f[3]*dk[i][j]
		}
	}
	fold := func(q *[8][3]float64) [3]float64 {
		var o [3]float64
		for j := range o {
			a := q[0][j] + f[2]*(q[1][j]-q[0][j])
			b := q[2][j] + f[2]*(q[3][j]-q[2][j])
			c := q[4][j] + f[2]*(q[5][j]-q[4][j])
			e := q[6][j] + f[2]*(q[7][j]-q[6][j])
			ab := a + f[1]*(b-a)
			o[j] = ab + f[0]*(c+f[1]*(e-c)-ab)
		}
		return o
	}
	v = fold(&y)
	if !slopes {
		return v, d
	}
	d[3] = fold(&dk)
	for j := range v {
		y0 := y[0][j] + f[2]*(y[1][j]-y[0][j])
		y1 := y[2][j] + f[2]*(y[3][j]-y[2][j])
		y2 := y[4][j] + f[2]*(y[5][j]-y[4][j])
		y3 := y[6][j] + f[2]*(y[7][j]-y[6][j])
		d[0][j] = (y2 + f[1]*(y3-y2)) - (y0 + f[1]*(y1-y0))
		d[1][j] = (y1 - y0) + f[0]*((y3-y2)-(y1-y0))
		u0 := (y[1][j] - y[0][j]) + f[1]*((y[3][j]-y[2][j])-(y[1][j]-y[0][j]))
		u1 := (y[5][j] - y[4][j]) + f[1]*((y[7][j]-y[6][j])-(y[5][j]-y[4][j]))
		d[2][j] = u0 + f[0]*(u1-u0)
	}
	for k := range d {
		for j := range v {
			d[k][j] *= corners - 1
		}
	}
	return v, d
}

// xyzSlopes returns the colour, absolute under D50, and its derivatives by each tone
// value.
func (m *Model) xyzSlopes(cmyk [4]float64) (colour.XYZ, [4][3]float64) {
	v, d := m.power(cmyk, true)
	white := [3]float64{colour.D50.X, colour.D50.Y, colour.D50.Z}
	var c, f [3]float64 // f: d XYZ / d power value
	for j, p := range v {
		p = math.Max(p, 1e-4)
		c[j] = m.raise(p) * white[j]
		f[j] = m.N * c[j] / p
	}
	for k := range d {
		for j := range f {
			d[k][j] *= f[j]
		}
	}
	return colour.XYZ{X: c[0], Y: c[1], Z: c[2]}, d
}
