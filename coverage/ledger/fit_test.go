package ledger

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"laydown/colour/reference"
)

func laid(v float64) event { return event{Laid: v} }
func changed(left, in float64, d string) event {
	return event{Change: &Change{LeftPercent: left, PutInPercent: in, During: d}}
}

// TestMarks works out by hand where cartridges ended.
func TestMarks(t *testing.T) {
	for name, c := range map[string]struct {
		events []event
		want   []mark // the last four figures: used, fills, gauges; missed and vary are 0
	}{
		"the first change before any run is exact, an empty one lies in the run before": {
			[]event{changed(0, 0, ""), laid(0.4), laid(0.4), laid(0.3), changed(0, 0, ""), laid(0.5)},
			[]mark{{}, {Laid: 0.95, Half: 0.15, Used: 1, Fills: 1}}},
		"the first change after a run lies in it": {
			[]event{laid(0.2), changed(0, 0, ""), laid(1), changed(0, 0, NoRun)},
			[]mark{{Laid: 0.1, Half: 0.1}, {Laid: 1.2, Used: 1, Fills: 1}}},
		"in the next run": {
			[]event{changed(0, 0, ""), laid(1), changed(0, 0, NextRun), laid(0.2), laid(0.9)},
			[]mark{{}, {Laid: 1.1, Half: 0.1, Used: 1, Fills: 1}}},
		"toner left is between runs, and read on a gauge": {
			[]event{changed(0, 0, ""), laid(0.6), changed(40, 0, ""), laid(1), changed(0, 0, NoRun)},
			[]mark{{}, {Laid: 0.6, Used: 0.6, Fills: 0.36, Gauges: 1}, {Laid: 1.6, Used: 1.6, Fills: 1.36, Gauges: 1}}},
		"taken out with 40 %, put back later": {
			[]event{changed(0, 0, ""), laid(0.6), changed(40, 0, ""), laid(0.3), changed(70, 40, ""), laid(0.4), changed(0, 0, NoRun)},
			[]mark{{}, {Laid: 0.6, Used: 0.6, Fills: 0.36, Gauges: 1}, {Laid: 0.9, Used: 0.9, Fills: 0.45, Gauges: 3}, {Laid: 1.3, Used: 1.3, Fills: 0.61, Gauges: 3}}},
		"a run that used up two: their changes are taken together, in its middle": {
			[]event{changed(0, 0, ""), laid(0.5), laid(1.4), changed(0, 0, ""), changed(0, 0, ""), laid(1), changed(0, 0, NoRun)},
			[]mark{{}, {Laid: 1.2, Half: 0.2, Used: 1.5, Fills: 1.5}, {Laid: 2.9, Used: 3, Fills: 3}}},
		"entered twice": {
			[]event{changed(0, 0, ""), laid(0.9), laid(0.1), changed(0, 0, ""), changed(0, 0, ""), laid(1), changed(0, 0, NoRun)},
			[]mark{{}, {Laid: 0.95, Half: 0.05, Used: 1, Fills: 1}, {Laid: 2, Used: 2, Fills: 2}}},
		"nothing printed between": {
			[]event{changed(0, 0, ""), changed(0, 0, ""), laid(1), changed(0, 0, NoRun)},
			[]mark{{}, {Laid: 1, Used: 1, Fills: 1}}},
	} {
		got := marks(c.events, 0)
		same := len(got) == len(c.want)
		for i := 0; same && i < len(got); i++ {
			g, w := got[i], c.want[i]
			for _, d := range []float64{g.Laid - w.Laid, g.Half - w.Half, g.Used - w.Used, g.Fills - w.Fills, g.Gauges - w.Gauges, g.Missed, g.Vary} {
				same = same && math.Abs(d) < 1e-12
			}
		}
		if !same {
			t.Errorf("%s:\n%+v, want\n%+v", name, got, c.want)
		}
	}
	// A tenth forgotten: 0.4, 0.4 and half of 0.3 stand for more.
	got := marks([]event{changed(0, 0, ""), laid(0.4), laid(0.4), laid(0.3), changed(0, 0, "")}, 0.1)
	usual := 0.41 / 1.1 // Σr² ÷ Σr
	want := 0.8/0.9 + 0.15 + 0.1*(0.3/0.9+usual/2-0.15)
	if len(got) != 2 || math.Abs(got[1].Laid-want) > 1e-12 || !(got[1].Missed > 0) || !(got[1].Vary > 0) {
		t.Errorf("%+v, want %g laid down", got, want)
	}
}

// TestFitByHand holds the estimate to what is left of it where the matter is plain.
func TestFitByHand(t *testing.T) {
	exact := func(laid ...float64) (out []mark) {
		out = []mark{{}}
		for i, v := range laid {
			n := float64(i + 1)
			out = append(out, mark{Laid: out[i].Laid + v, Used: n, Fills: n})
		}
		return out
	}
	// Cartridges of 80, 100 and 120 % of what they state lay down 1 on average: used over
	// stated is 1, less what the mean of an inverse is too large by, of which 1 % to be seen.
	e, err := fit(exact(0.8, 1, 1.2))
	if err != nil || e.Cartridges != 3 || e.Correction > 1 || e.Correction < 0.98 || !(e.Low < 0.95 && e.High > 1.05) {
		t.Errorf("%+v, %v", e, err)
	}
	if e, err := fit(exact(0.5)); err != nil || math.Abs(e.Correction-2) > 0.05 || e.Low != 0 || e.High != 0 || e.Scatter != 0 {
		t.Errorf("one span: %+v, %v", e, err)
	}
	for name, of := range map[string][]mark{"nothing": nil, "one change": {{}}, "nothing printed": {{}, {Used: 1}}} {
		if _, err := fit(of); !errors.Is(err, errTooFew) {
			t.Errorf("%s: %v", name, err)
		}
	}
	// A tenth of all the same: the interval is narrow, and so is the scatter; where each
	// second lays down half as much, both are wide.
	same, _ := fit(exact(slices.Repeat([]float64{0.8}, 20)...))
	uneven, _ := fit(exact(slices.Repeat([]float64{1.1, 0.5}, 10)...))
	if math.Abs(same.Correction-1.25) > 0.001 || same.High-same.Low > 0.03 || same.Scatter > 0.02 || uneven.Scatter < 0.2 || uneven.High-uneven.Low < 0.2 {
		t.Errorf("%+v, %+v", same, uneven)
	}
}

// TestStudent holds the mixture to Student's t for one degree less than there are spans,
// which it is where marks are exact and nothing is known of the scatter beforehand (Box and
// Tiao, Bayesian Inference in Statistical Analysis, 2.2; from memory). The quantiles are
// gonum's.
func TestStudent(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 3))
	for _, n := range []int{3, 6, 15} {
		of := []mark{{}}
		sum, squares := 0.0, 0.0
		for i := range n {
			v := 1 + 0.1*rng.NormFloat64()
			of = append(of, mark{Laid: of[i].Laid + v, Used: float64(i + 1), Fills: float64(i + 1)})
			sum, squares = sum+v, squares+v*v
		}
		mean := sum / float64(n)
		half := distuv.StudentsT{Sigma: 1, Nu: float64(n - 1)}.Quantile(0.975) * math.Sqrt((squares-sum*mean)/float64(n-1)/float64(n))
		below, all := 0.0, 0.0
		for k := range 4000 { // equal steps of the logarithm: a weight of 1 ÷ scatter
			g := guessOf(of, mean, 0, 1e-4*math.Pow(1e6, float64(k)/4000))
			w := math.Exp(g.weight)
			all += w
			below += w * cumulated(half, g.normal, g.a, g.b)
			if math.Abs(g.mean-mean) > 1e-9 {
				t.Fatalf("mean %g, want %g", g.mean, mean)
			}
		}
		if p := below / all; math.Abs(p-0.975) > 0.001 {
			t.Errorf("%d spans: %.4f lies below Student's 97.5 %%", n, p)
		}
	}
}

// TestSolve holds the solver to gonum's Cholesky of the whole matrix.
func TestSolve(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 5))
	for n := 1; n < 8; n++ {
		diag, off, right := make([]float64, n), make([]float64, n), make([]float64, n)
		a := mat.NewSymDense(n, nil)
		for j := range n {
			diag[j], right[j], off[j] = 2+rng.Float64(), rng.NormFloat64(), -rng.Float64()
			a.SetSym(j, j, diag[j])
		}
		for j := range n - 1 {
			a.SetSym(j, j+1, off[j])
		}
		var c mat.Cholesky
		var want mat.VecDense
		if !c.Factorize(a) {
			t.Fatal("not positive definite")
		}
		if err := c.SolveVecTo(&want, mat.NewVecDense(n, right)); err != nil {
			t.Fatal(err)
		}
		x, logDet := solve(diag, off, right)
		if math.Abs(logDet-c.LogDet()) > 1e-9 {
			t.Errorf("log det %g, want %g", logDet, c.LogDet())
		}
		for j := range x {
			if math.Abs(x[j]-want.AtVec(j)) > 1e-9 {
				t.Errorf("x %v, want %v", x, want.RawVector().Data)
			}
		}
	}
}

// TestCumulated holds the sum of a normal and two uniform deviates to what a sum over the
// uniform ones gives.
func TestCumulated(t *testing.T) {
	for _, c := range [][3]float64{{1, 0, 0}, {1, 0.04, 0.01}, {1, 2, 0}, {0.1, 1, 0.8}, {0.3, 1, 1}, {1, 0.2, 0.1}} {
		normal, a, b := c[0], c[1], c[2]
		for _, q := range []float64{-2, -0.7, 0, 0.3, 1.1} {
			const n = 200
			want := 0.0
			for i := range n {
				for j := range n {
					x, y := a*(2*(float64(i)+0.5)/n-1), b*(2*(float64(j)+0.5)/n-1)
					want += distuv.UnitNormal.CDF((q-x-y)/normal) / (n * n)
				}
			}
			if got := cumulated(q, normal, a, b); math.Abs(got-want) > 2e-4 {
				t.Errorf("%g of %v: %.5f, want %.5f", q, c, got, want)
			}
		}
	}
}

// shopOf is a simulated shop: how large runs are, in whole cartridges, and by how much its
// cartridges differ.
type shopOf struct {
	run     func(*rand.Rand) float64
	scatter func(*rand.Rand) float64
}

func between(lo, hi float64) func(*rand.Rand) float64 {
	return func(r *rand.Rand) float64 { return lo + (hi-lo)*r.Float64() }
}

// shops are how large their runs are. The harsher one has many small runs and some that
// use up more than a cartridge.
var shops = map[string]func(*rand.Rand) float64{
	"runs of 1 %":     between(0.01, 0.01),
	"runs of 15-30 %": between(0.15, 0.3),
	"runs of 5-90 %":  between(0.05, 0.9),
	"harsher":         func(r *rand.Rand) float64 { return 0.2 * math.Exp(0.9*r.NormFloat64()) },
}

// truth is what every simulated printer uses over what is stated.
const truth = 1.3

// life makes a ledger of so many cartridges that were used up; a share of its runs is not
// entered. Half the ledgers begin with a new cartridge, half somewhere in the life of one.
// A cartridge ends in the midst of a run, and its change is entered behind that run.
func life(rng *rand.Rand, s shopOf, cartridges int, forgotten float64) (out []event) {
	scatter := s.scatter(rng)
	fill := func() float64 { return max(0.2, 1+scatter*rng.NormFloat64()) }
	left, changes := fill(), 0
	if rng.IntN(2) == 0 {
		out = append(out, event{Change: &Change{}})
		changes++
	} else {
		left *= rng.Float64()
	}
	for changes <= cartridges {
		size := s.run(rng)
		use, ended := size, 0
		for use > left {
			use, left = use-left, fill()
			ended++
		}
		left -= use
		if rng.Float64() >= forgotten {
			out = append(out, laid(size/truth))
		}
		for ; ended > 0 && changes <= cartridges; ended-- {
			out = append(out, event{Change: &Change{}})
			changes++
		}
	}
	return out
}

// tally counts how often an interval holds the truth, what the estimates are on average,
// and how wide the intervals are.
type tally struct{ ledgers, held, none, sum, squares, width float64 }

func (v *tally) add(e estimate) {
	if !(e.High > 0) {
		v.none++
		return
	}
	v.ledgers++
	if e.Low <= truth && truth <= e.High {
		v.held++
	}
	v.sum += e.Correction / truth
	v.squares += e.Correction / truth * e.Correction / truth
	v.width += (e.High - e.Low) / 2 / truth
}

func (v *tally) join(w tally) {
	v.ledgers, v.held, v.none = v.ledgers+w.ledgers, v.held+w.held, v.none+w.none
	v.sum, v.squares, v.width = v.sum+w.sum, v.squares+w.squares, v.width+w.width
}

func (v tally) share() float64 { return v.held / v.ledgers }
func (v tally) bias() float64  { return v.sum/v.ledgers - 1 }

// error is the standard error of bias.
func (v tally) error() float64 {
	mean := v.sum / v.ledgers
	return math.Sqrt(max(0, v.squares/v.ledgers-mean*mean) / v.ledgers)
}

func (v tally) String() string {
	return fmt.Sprintf("%.1f %% hold, %+.1f %% off, ±%.0f %%", 100*v.share(), 100*v.bias(), 100*v.width/v.ledgers)
}

// simulate fits ledgers of a shop; told is the share of forgotten runs that the fit is told.
func simulate(seed uint64, s shopOf, cartridges, ledgers int, forgotten, told float64) (v tally) {
	rng := rand.New(rand.NewPCG(seed, uint64(cartridges)))
	for range ledgers {
		e, err := fit(marks(life(rng, s, cartridges, forgotten), told))
		if err != nil { // no two changes are apart
			e = estimate{}
		}
		v.add(e)
	}
	return v
}

// cartridgeCounts are how many were used up in simulated ledgers.
var cartridgeCounts = []int{2, 3, 5, 10, 20}

// TestInterval makes up ledgers of shops with every size of run, whose cartridges differ by
// 3 to 10 %, with all runs entered and with a tenth forgotten: the mean of the estimates is
// within 2 % of the truth, and 93 to 97 % of the intervals hold it.
func TestInterval(t *testing.T) {
	some := func(r *rand.Rand) float64 { return 0.03 * math.Pow(10.0/3, r.Float64()) }
	for _, name := range reference.Sweep(t, slices.Sorted(maps.Keys(shops)), func(name string) bool { return strings.HasPrefix(name, "runs of 15") }) {
		run, widths := shops[name], [2]float64{}
		for i, forgotten := range []float64{0, 0.1} {
			var all tally
			for _, n := range cartridgeCounts {
				v := simulate(11, shopOf{run, some}, n, 300, forgotten, forgotten)
				t.Logf("%s, %g %% forgotten, %d cartridges: %v, %.0f without interval", name, 100*forgotten, n, v, v.none)
				if math.Abs(v.bias()) > 0.02+2*v.error() {
					t.Errorf("%s, %g %% forgotten, %d cartridges: the mean is %+.1f %% off (standard error %.1f %%)", name, 100*forgotten, n, 100*v.bias(), 100*v.error())
				}
				if v.share() < 0.90 {
					t.Errorf("%s, %g %% forgotten, %d cartridges: %v", name, 100*forgotten, n, v)
				}
				all.join(v)
			}
			t.Logf("%s, %g %% forgotten, all: %v", name, 100*forgotten, all)
			if all.share() < 0.93 || all.share() > 0.97+0.005 || // its standard error
				math.Abs(all.bias()) > 0.02 {
				t.Errorf("%s, %g %% forgotten: %v", name, 100*forgotten, all)
			}
			widths[i] = all.width / all.ledgers
		}
		if widths[1] <= widths[0] {
			t.Errorf("%s: forgotten runs make the interval ±%.3f, else ±%.3f", name, widths[1], widths[0])
		}
	}
}

// TestScatters measures what the interval holds where cartridges all differ by as much:
// more than 95 % where they hardly do, and less where they do by 10 %, which a few of them
// do not tell yet.
func TestScatters(t *testing.T) {
	reference.Long(t)
	for name, run := range shops {
		for scatter, least := range map[float64]float64{0.03: 0.95, 0.05: 0.945, 0.1: 0.88} {
			var all tally
			for _, n := range cartridgeCounts {
				all.join(simulate(12, shopOf{run, between(scatter, scatter)}, n, 120, 0, 0))
			}
			t.Logf("%s, cartridges differ by %g %%: %v", name, 100*scatter, all)
			if all.share() < least || math.Abs(all.bias()) > 0.02 {
				t.Errorf("%s, cartridges differ by %g %%: %v, want at least %g %%", name, 100*scatter, all, 100*least)
			}
		}
	}
}

// TestNextRun enters every change before the run that it ended in, as who changes a cartridge
// at once does: said so, it is as good; unsaid, marks are a run too early.
func TestNextRun(t *testing.T) {
	for name, run := range shops {
		var said, unsaid tally
		for _, n := range []int{2, 5} {
			rng := rand.New(rand.NewPCG(14, uint64(n)))
			for range 150 {
				events := life(rng, shopOf{run, between(0.05, 0.05)}, n, 0)
				first := 0
				if events[0].Change != nil { // in no run
					first = 1
				}
				for i := 1; i < len(events); i++ {
					if events[i].Change != nil && events[i-1].Change == nil {
						events[i], events[i-1] = events[i-1], events[i]
					}
				}
				e, _ := fit(marks(events, 0)) // too few count as without an interval
				unsaid.add(e)
				for _, v := range events[first:] {
					if v.Change != nil {
						v.Change.During = NextRun
					}
				}
				e, _ = fit(marks(events, 0))
				said.add(e)
			}
		}
		t.Logf("%s, changes before their runs: said %v; unsaid %v", name, said, unsaid)
		if math.Abs(said.bias()) > 0.02 || said.share() < 0.93 {
			t.Errorf("%s, changes before their runs: %v", name, said)
		}
	}
}

// TestForgottenUntold shows why a shop must say what it forgets: a tenth of runs that is
// missing everywhere looks like a higher use, and no interval from the ledger alone can know.
func TestForgottenUntold(t *testing.T) {
	for name, run := range shops {
		v := simulate(13, shopOf{run, between(0.05, 0.05)}, 20, 150, 0.1, 0)
		told := simulate(13, shopOf{run, between(0.05, 0.05)}, 20, 150, 0.1, 0.1)
		t.Logf("%s, 20 cartridges, a tenth forgotten: untold %v; told %v", name, v, told)
		if v.bias() < 0.05 || math.Abs(told.bias()) > 0.02 || told.share() < v.share() {
			t.Errorf("%s: untold %v; told %v", name, v, told)
		}
	}
}
