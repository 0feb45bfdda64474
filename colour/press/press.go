package press

import (
	"crypto/sha256"
	_ "embed"
	"errors"
	"fmt"
	"math"
	"sync"

	"laydown/colour"
	"laydown/colour/cores"
	"laydown/colour/grid"
	"laydown/colour/icc"
)

// Press is one printing condition. It is safe for concurrent use, does the slow
// parts of its work, fitting the model and compiling tables, when first asked for
// them, and remembers the last separators it gave out.
type Press struct {
	Name    string       // what the profile or data set calls itself
	Origin  string       // who says so, "" if unknown
	StandIn bool         // it is the built-in condition, not the shop's own
	Profile *icc.Profile // nil for a data set
	Set     *Set         // nil for a profile

	key   [32]byte // of the content
	cache Cache
	model func() (*Model, error)
	given separators
}

// The stand-in and what [Fit] makes of it: one fit is on every machine the same
// to the last bit, and nobody waits for it.
var (
	//go:embed fogra39l/FOGRA39L.ti3
	standInSet []byte
	//go:embed fogra39l/FOGRA39L.model
	standInModel []byte
)

// StandIn is the condition used when a shop has no profile of its own: the
// published data set FOGRA39L, offset on coated paper. It is a fair idea of
// CMYK toner on white film and no more.
func StandIn(cache Cache) *Press {
	p, err := fromSet(standInSet, cache)
	if err != nil {
		panic("press: embedded data set: " + err.Error())
	}
	p.StandIn, p.key = true, sha256.Sum256(standInModel)
	p.model = sync.OnceValues(func() (*Model, error) {
		m := &Model{}
		return m, m.UnmarshalBinary(standInModel)
	})
	return p
}

// Open reads an ICC output profile or a CGATS data set, whichever data is.
// The cache, which may be the zero value, keeps what is slow to compute. The
// error says what was found and what was expected.
func Open(data []byte, cache Cache) (*Press, error) {
	prof, err := icc.Parse(data)
	if errors.Is(err, icc.ErrNotProfile) {
		return fromSet(data, cache)
	}
	if err != nil {
		return nil, err
	}
	if prof.Space != icc.CMYK {
		return nil, fmt.Errorf("profile %q is for %s, not CMYK: a press needs the profile of a CMYK printer", prof.Description, prof.Space)
	}
	in, err := prof.ToPCS(icc.Relative)
	if err != nil {
		return nil, err
	}
	if _, err := prof.FromPCS(icc.Relative); err != nil {
		return nil, err
	}
	p := &Press{Name: prof.Description, Profile: prof, key: sha256.Sum256(data), cache: cache}
	if p.Name == "" {
		p.Name = "unnamed CMYK profile"
	}
	p.model = sync.OnceValues(func() (*Model, error) {
		return modelFrom(factors[2], func(c [4]float64) colour.Lab {
			return in.XYZ(c[:]).Scale(prof.MediaWhite, colour.D50).Lab(colour.D50)
		}), nil
	})
	return p, nil
}

func fromSet(data []byte, cache Cache) (*Press, error) {
	set, err := ParseSet(data)
	if err != nil {
		return nil, err
	}
	p := &Press{Name: set.Name, Origin: set.Origin, Set: set, key: sha256.Sum256(data), cache: cache}
	if p.Name == "" {
		p.Name = "unnamed data set"
	}
	p.model = sync.OnceValues(func() (*Model, error) {
		m := &Model{}
		if cache.load("model", p.key[:], m) {
			return m, nil
		}
		m, err := Fit(set)
		if err == nil {
			cache.store("model", p.key[:], m)
		}
		return m, err
	})
	return p, nil
}

// Sum names the press by its content: SHA-256 of its profile or data set.
func (p *Press) Sum() [32]byte { return p.key }

// Model is the forward model of the press. The error says why the data set
// can carry none.
func (p *Press) Model() (*Model, error) { return p.model() }

// Options say how colours become tone values.
type Options struct {
	Intent icc.Intent
	BPC    bool    // black point compensation; never applied to the absolute intent
	TAC    float64 // highest sum of tone values, 1 for one solid toner; a profile's own separation does not heed it
	Black  Black   // likewise

	// Own separates by the inverse of the model even where the press's profile
	// has a separation of its own.
	Own bool
	// PureBlack prints the art's black and neutral greys on the black plate
	// alone; of CMYK art what is only black, as [KeepBlack] does.
	PureBlack bool
	// Keep is what stays pure of CMYK art that is not in the press's own numbers.
	Keep Keep
}

// heeded is o without what a source space does not heed, so that what is the same has
// one name.
func (o Options) heeded(space icc.Space) Options {
	if space != icc.CMYK {
		o.Keep = KeepNone
	} else if o.PureBlack {
		o.Keep, o.PureBlack = max(o.Keep, KeepBlack), false
	}
	return o
}

// Separator turns the device values of one kind of artwork into tone values
// of a press. It is immutable and safe for concurrent use.
type Separator struct {
	eval  func(dst, src []float64)
	table func() *grid.Table
}

// Eval carries src (0–1 per channel) to four tone values 0–1, exactly.
func (s *Separator) Eval(dst, src []float64) { s.eval(dst, src) }

// Table is the separator compiled for pixels; the first call may take up to a
// second unless the press's cache has it.
func (s *Separator) Table() *grid.Table { return s.table() }

// Separate prepares the way from a source profile to the press. A nil source
// is artwork in the press's own CMYK, whose numbers are kept as they are.
func (p *Press) Separate(src *icc.Profile, o Options) (*Separator, error) {
	if src == nil {
		keep := func(dst, src []float64) { copy(dst[:4], src[:4]) }
		return &Separator{keep, sync.OnceValue(func() *grid.Table { return grid.Compile(4, 2, keep) })}, nil
	}
	if _, err := src.ToPCS(o.Intent); err != nil {
		return nil, fmt.Errorf("artwork's profile: %w", err)
	}
	o = o.heeded(src.Space)
	n, key := src.Space.Channels(), p.tableKey(src, o)
	if s := p.given.keep(key, nil); s != nil {
		return s, nil
	}
	way := sync.OnceValues(func() (func(dst, src []float64), error) { return p.way(src, o) })
	if !p.cache.has("table", key) {
		if _, err := way(); err != nil {
			return nil, err
		}
	}
	eval := func(dst, src []float64) {
		// An error can only show here if a cached table, which needs no model,
		// was found damaged, and the model cannot be made. Nothing prints then.
		if f, err := way(); err == nil {
			f(dst, src)
		}
	}
	return p.given.keep(key, &Separator{eval, sync.OnceValue(func() *grid.Table {
		t := &grid.Table{}
		if p.cache.load("table", key, t) && t.Inputs() == n {
			return t
		}
		t = grid.Compile(n, icc.GridPoints(src.Space), eval)
		p.cache.store("table", key, t)
		return t
	})}), nil
}

// separators are the last few that a press gave out, so that a list of orders, or
// two looks at one, compile a table once. It is safe for concurrent use.
type separators struct {
	mu   sync.Mutex
	last []keyed
}

type keyed struct {
	key string // by tableKey
	*Separator
}

// mostSeparators bounds what is held: a table takes one to two megabytes, and a
// list may bring a profile with every file.
const mostSeparators = 16

// keep returns the separator under a key: the one that is there, else the one
// just made, which may be nil to only ask.
func (s *separators) keep(key []byte, made *Separator) *Separator {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, k := range s.last {
		if k.key == string(key) {
			return k.Separator
		}
	}
	if made != nil {
		s.last = append(s.last[max(0, len(s.last)+1-mostSeparators):], keyed{string(key), made})
	}
	return made
}

// way works out the exact separation: by the press's own profile or by the
// inverse of the model.
func (p *Press) way(src *icc.Profile, o Options) (func(dst, src []float64), error) {
	var eval func(dst, src []float64)
	if p.Profile != nil && !o.Own {
		t, err := icc.NewTransform(src, p.Profile, o.Intent, o.BPC)
		if err != nil {
			return nil, err
		}
		eval = t.Eval
	} else {
		var err error
		if eval, err = p.inverse(src, o); err != nil {
			return nil, err
		}
	}
	if !o.PureBlack && o.Keep == KeepNone {
		return eval, nil
	}
	m, err := p.Model()
	if err != nil {
		return nil, err
	}
	if o.Keep != KeepNone {
		return keepPure(m, src, o, eval)
	}
	return pureBlack(m, src, o.Intent, eval)
}

// tableKey names everything that a compiled table depends on.
func (p *Press) tableKey(src *icc.Profile, o Options) []byte {
	sum := src.Sum()
	return fmt.Appendf(nil, "%x %x %+v %d", p.key, sum, o, icc.GridPoints(src.Space))
}

// inverse is the way from a source profile through the inverse of the model:
// source to media-relative XYZ, black point compensation (ISO 18619), the
// paper's white, search.
func (p *Press) inverse(src *icc.Profile, o Options) (func(dst, src []float64), error) {
	m, err := p.Model()
	if err != nil {
		return nil, err
	}
	in, err := src.ToPCS(o.Intent)
	if err != nil {
		return nil, fmt.Errorf("artwork's profile: %w", err)
	}
	v := newInverter(m, o.TAC, o.Black)
	paper := v.paper.XYZ(colour.D50)
	scale, shift := [3]float64{1, 1, 1}, [3]float64{}
	white := paper
	if o.Intent == icc.Absolute {
		white = src.MediaWhite
	} else if o.BPC {
		from, err := src.BlackPoint(o.Intent)
		if err != nil {
			return nil, fmt.Errorf("artwork's profile: %w", err)
		}
		dark := v.dark.XYZ(colour.D50).Scale(colour.D50, paper).Lab(colour.D50)
		scale, shift = icc.BlackCompensation(from, colour.Lab{L: math.Max(0, dark.L)}.XYZ(colour.D50))
	}
	soften := func(c colour.Lab) colour.Lab { return c }
	if o.Intent == icc.Perceptual {
		soften = v.gamut().compress
	}
	return func(dst, device []float64) {
		c := in.XYZ(device)
		c = colour.XYZ{X: c.X*scale[0] + shift[0], Y: c.Y*scale[1] + shift[1], Z: c.Z*scale[2] + shift[2]}
		x := v.invert(soften(c.Scale(white, colour.D50).Lab(colour.D50)))
		copy(dst, x[:])
	}, nil
}

// Match is how near a press comes to a wanted colour.
type Match struct {
	Target, Printed colour.Lab // absolute, D50
	CMYK            [4]float64 // tone values 0–1
	DeltaE00        float64
}

// Wish is a colour that is wanted of a print, absolute under D50.
type Wish struct {
	Target colour.Lab
	// Seen tells how a print that measures printed on the press's own paper is
	// seen where it will be looked at; nil if there is no more to it.
	Seen func(printed colour.Lab) colour.Lab
	// Start is about what must be printed to be seen as Target; it is not read
	// without Seen.
	Start colour.Lab
}

// Nearest finds what the press can print nearest to each wish, under the
// options' limit and black.
func (p *Press) Nearest(wishes []Wish, o Options) ([]Match, error) {
	m, err := p.Model()
	if err != nil {
		return nil, err
	}
	v := newInverter(m, o.TAC, o.Black)
	v.match = true
	out := make([]Match, len(wishes))
	cores.Share(len(wishes), func(lo, hi int) {
		for i := lo; i < hi; i++ {
			w := wishes[i]
			if w.Seen == nil {
				w.Seen, w.Start = func(c colour.Lab) colour.Lab { return c }, w.Target
			}
			off := func(x [4]float64) float64 { return colour.DeltaE00(w.Target, w.Seen(m.Lab(x))) }
			x := v.invert(w.Start)
			d := off(x)
			if d > seenWell {
				x, d = v.compass(x, off)
				// CIEDE2000 turns at blue, and may have more than one valley.
				if y, e := v.compass(v.coarse(off), off); e < d {
					x, d = y, e
				}
			}
			out[i] = Match{w.Target, w.Seen(m.Lab(x)), x, d}
		}
	})
	return out, nil
}

// coarse looks at every mix in steps of a fifth and returns the best.
func (v *inverter) coarse(off func([4]float64) float64) (at [4]float64) {
	best := math.Inf(1)
	const steps = 5
	for i := range (steps + 1) * (steps + 1) * (steps + 1) * (steps + 1) {
		var x [4]float64
		sum := 0.0
		for k, q := 0, i; k < 4; k, q = k+1, q/(steps+1) {
			x[k] = float64(q%(steps+1)) / steps * v.top[k]
			sum += x[k]
		}
		if sum > v.tac {
			continue
		}
		if d := off(x); d < best {
			at, best = x, d
		}
	}
	return at
}

// seenWell is the ΔE00 that need not be bettered.
const seenWell = 0.3

// compass betters tone values by trial: every toner a step up or down, alone or
// against another, and a finer step when nothing helps (Hooke and Jeeves 1961).
func (v *inverter) compass(x [4]float64, off func([4]float64) float64) ([4]float64, float64) {
	d := off(x)
	for step := 0.1; step > 5e-4; {
		best, at := d, x
		for a := range 4 {
			for b := range 4 {
				for _, sign := range []float64{step, -step} {
					y := x
					y[a] += sign
					if b != a {
						y[b] -= sign
					}
					sum := 0.0
					for k := range y {
						y[k] = math.Max(0, math.Min(v.top[k], y[k]))
						sum += y[k]
					}
					if sum > v.tac {
						continue
					}
					if e := off(y); e < best-1e-6 {
						best, at = e, y
					}
				}
			}
		}
		if best < d {
			x, d = at, best
		} else {
			step /= 2
		}
	}
	return x, d
}
