package press

import (
	"crypto/sha256"
	_ "embed"
	"errors"
	"fmt"
	"math"
	"sync"

	"laydown/colour"
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

	key    [32]byte // of the content
	cache  Cache
	model  func() (*Model, error)
	given  recent[*Separator]
	bodies recent[func() *Gamut]
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
		return nil, fmt.Errorf("profile %q is for %s, not CMYK: give the profile of a CMYK printer", prof.Description, prof.Space)
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
	if s, ok := p.given.find(string(key)); ok {
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
	return p.given.keep(string(key), &Separator{eval, sync.OnceValue(func() *grid.Table {
		t := &grid.Table{}
		if p.cache.load("table", key, t) && t.Inputs() == n {
			return t
		}
		t = grid.Compile(n, icc.GridPoints(src.Space), eval)
		p.cache.store("table", key, t)
		return t
	})}), nil
}

// recent are the last few values that a press gave out, so that a list of orders, or
// two looks at one, make each once. It is safe for concurrent use.
type recent[V any] struct {
	mu   sync.Mutex
	last []keyed[V]
}

type keyed[V any] struct {
	key   string
	value V
}

// mostRecent bounds what is held: a table takes one to two megabytes, and a list may
// bring a profile with every file.
const mostRecent = 16

// find returns the value under a key; false if there is none.
func (r *recent[V]) find(key string) (v V, ok bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, k := range r.last {
		if k.key == key {
			return k.value, true
		}
	}
	return v, false
}

// keep returns the value under a key: the one that is there, else the one just made.
func (r *recent[V]) keep(key string, made V) V {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, k := range r.last {
		if k.key == key {
			return k.value
		}
	}
	r.last = append(r.last[max(0, len(r.last)+1-mostRecent):], keyed[V]{key, made})
	return made
}

// gamut is the press's body of colours under a limit and a black, which is searched for
// when it is first called for.
func (p *Press) gamut(m *Model, o Options) func() *Gamut {
	return p.bodies.keep(fmt.Sprintf("%g %d", o.TAC, o.Black), sync.OnceValue(func() *Gamut { return inverterOf(m, o).gamut() }))
}

// inverterOf stays below a limit by as much as plates of 8 bits may be rounded up.
func inverterOf(m *Model, o Options) *inverter {
	const rounding = 4 * 0.5 / 255
	tac := o.TAC
	if tac < 4 {
		tac = math.Max(0, tac-rounding)
	}
	return newInverter(m, tac, o.Black)
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
	whole := Options{TAC: o.TAC, Black: blackWhole}
	if p.Profile != nil && !o.Own {
		whole.TAC = 4
	}
	return pureBlack(m, p.gamut(m, whole), src, o.Intent, eval)
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
	v := inverterOf(m, o)
	scale, shift := [3]float64{1, 1, 1}, [3]float64{}
	if o.Intent == icc.Absolute {
		// Media-relative to absolute, and that relative to this paper.
		white := src.MediaWhite.Scale(colour.D50, v.white)
		scale = [3]float64{white.X / colour.D50.X, white.Y / colour.D50.Y, white.Z / colour.D50.Z}
	} else if o.BPC {
		from, err := src.BlackPoint(o.Intent)
		if err != nil {
			return nil, fmt.Errorf("artwork's profile: %w", err)
		}
		dark := v.relative(v.dark).Lab(colour.D50)
		scale, shift = icc.BlackCompensation(from, colour.Lab{L: math.Max(0, dark.L)}.XYZ(colour.D50))
	}
	body := p.gamut(m, o)
	return func(dst, device []float64) {
		g, c := body(), in.XYZ(device)
		share := leastReach
		c = colour.XYZ{X: c.X*scale[0] + shift[0], Y: c.Y*scale[1] + shift[1], Z: c.Z*scale[2] + shift[2]}
		if o.Intent == icc.Perceptual {
			c = g.compress(c)
			share = 0
		}
		x := g.separate(c, share)
		copy(dst, x[:])
	}, nil
}
