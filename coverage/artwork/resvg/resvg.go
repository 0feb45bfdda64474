// Package resvg runs the renderer of that name, which draws static SVG, as WebAssembly.
//
// resvg.wasm is the module of the npm package @resvg/resvg-wasm (MPL-2.0, LICENSE beside
// it), as it is published; fetch.sh says how it was obtained and checks it. It runs in
// wazero without C and without any way to the outside: it is given bytes and fonts and
// gives pixels back; no file and no address can be opened from inside a drawing.
//
// A drawing is static: scripts, animation and links to pictures outside of the file are
// not heeded.
package resvg

import (
	"context"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"path/filepath"
	"runtime"
	"sync"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/experimental"
)

//go:generate sh fetch.sh

//go:embed resvg.wasm
var module []byte

// Fonts are what texts may be set in.
type Fonts struct {
	Files   [][]byte // TrueType or OpenType
	Default string   // family of texts that name none of these, and of all generic ones
}

// memoryPages bounds the memory of one drawing to 3 GiB, in pages of 64 KiB.
const memoryPages = 48 << 10

// Engine draws. It is made ready when the first drawing is opened, and may be used from
// several goroutines.
type Engine struct {
	ready func() (wazero.Runtime, wazero.CompiledModule, error)
}

// NewEngine is an engine that keeps itself in a folder once it is compiled, which takes
// seconds, so that it need be compiled once only; "" keeps nothing. A folder that cannot
// be written keeps nothing either.
func NewEngine(cacheDir string) *Engine {
	type made struct {
		runtime wazero.Runtime
		module  wazero.CompiledModule
		err     error
	}
	once := sync.OnceValue(func() (m made) {
		ctx := context.Background()
		config := wazero.NewRuntimeConfig().WithMemoryLimitPages(memoryPages)
		if cacheDir != "" {
			if cache, err := wazero.NewCompilationCacheWithDir(filepath.Join(cacheDir, "drawing")); err == nil {
				config = config.WithCompilationCache(cache)
			}
		}
		m.runtime = wazero.NewRuntimeWithConfig(ctx, config)
		if m.err = bind(ctx, m.runtime); m.err == nil {
			m.module, m.err = m.runtime.CompileModule(experimental.WithCompilationWorkers(ctx, runtime.GOMAXPROCS(0)), module)
		}
		return m
	})
	return &Engine{func() (wazero.Runtime, wazero.CompiledModule, error) {
		m := once()
		return m.runtime, m.module, m.err
	}}
}

// Drawing is a drawing that has been read. It must be closed.
type Drawing struct {
	WidthPX, HeightPX float64 // the size that the file states, CSS pixels
	host              *host
	at                uint32 // of the drawing, in the module's memory
}

// Open reads a drawing, which must be SVG as UTF-8. An error says what is wrong with it.
// The context ends all work on the drawing.
func (e *Engine) Open(ctx context.Context, svg []byte, fonts Fonts) (*Drawing, error) {
	r, compiled, err := e.ready()
	if err != nil {
		return nil, fmt.Errorf("the renderer does not start: %w", err)
	}
	d := &Drawing{host: &host{values: map[uint32]any{}}}
	ctx = d.in(ctx)
	if d.host.module, err = r.InstantiateModule(ctx, compiled, wazero.NewModuleConfig().WithName("")); err != nil {
		return nil, fmt.Errorf("the renderer does not start: %w", err)
	}
	if err := d.guard(func() error { return d.read(ctx, svg, fonts) }); err != nil {
		d.Close()
		return nil, err
	}
	return d, nil
}

// in is the context of calls about d.
func (d *Drawing) in(ctx context.Context) context.Context {
	return context.WithValue(ctx, hostKey{}, d.host)
}

func (d *Drawing) read(ctx context.Context, svg []byte, fonts Fonts) error {
	how, err := json.Marshal(map[string]any{"font": map[string]any{"loadSystemFonts": false, "defaultFontFamily": fonts.Default}})
	if err != nil {
		return err
	}
	files := &list{}
	for _, f := range fonts.Files {
		files.items = append(files.items, f)
	}
	r, err := d.answer(ctx, "resvg_new", 3, uint64(d.host.keep(svg)), uint64(d.host.give(ctx, how)), uint64(len(how)), uint64(d.host.keep(files)))
	if err != nil {
		return err
	}
	if r[2] != 0 {
		return d.refused(r[1])
	}
	d.at = r[0]
	for name, to := range map[string]*float64{"resvg_width": &d.WidthPX, "resvg_height": &d.HeightPX} {
		v, err := d.call(ctx, name, uint64(d.at))
		if err != nil {
			return err
		}
		*to = float64(api.DecodeF32(v[0]))
	}
	return nil
}

// Close lets go of the drawing and all memory.
func (d *Drawing) Close() { d.host.module.Close(context.Background()) }

// Draw draws it at the size that the file states, whose sides are rounded up to pixels.
// Colours are multiplied by alpha.
func (d *Drawing) Draw(ctx context.Context) (img *image.RGBA, err error) {
	ctx = d.in(ctx)
	err = d.guard(func() error {
		r, err := d.answer(ctx, "resvg_render", 3, uint64(d.at))
		if err != nil {
			return err
		}
		if r[2] != 0 {
			return d.refused(r[1])
		}
		var w, h, pix []uint64
		for name, to := range map[string]*[]uint64{"renderedimage_width": &w, "renderedimage_height": &h, "renderedimage_pixels": &pix} {
			if *to, err = d.call(ctx, name, uint64(r[0])); err != nil {
				return err
			}
		}
		b, ok := d.host.take(uint32(pix[0])).([]byte)
		if !ok || uint64(len(b)) != 4*w[0]*h[0] {
			return fmt.Errorf("%d bytes of %d × %d pixels came back", len(b), w[0], h[0])
		}
		img = &image.RGBA{Pix: b, Stride: 4 * int(w[0]), Rect: image.Rect(0, 0, int(w[0]), int(h[0]))}
		_, err = d.call(ctx, "__wbg_renderedimage_free", uint64(r[0]))
		return err
	})
	return img, err
}

// Plain is the drawing as paths and pictures alone: styles, texts, references and units
// are worked out, every coordinate is in CSS pixels of the element it stands in.
func (d *Drawing) Plain(ctx context.Context) (svg string, err error) {
	ctx = d.in(ctx)
	err = d.guard(func() error {
		r, err := d.answer(ctx, "resvg_toString", 2, uint64(d.at))
		if err == nil {
			svg = d.host.text(r[0], r[1])
			_, err = d.call(ctx, "__wbindgen_free", uint64(r[0]), uint64(r[1]), 1)
		}
		return err
	})
	return svg, err
}

// guard runs what may throw.
func (d *Drawing) guard(f func() error) (err error) {
	defer func() {
		switch v := recover().(type) {
		case nil:
		case thrown:
			err = v
		default:
			panic(v)
		}
	}()
	return f()
}

func (d *Drawing) call(ctx context.Context, name string, with ...uint64) ([]uint64, error) {
	r, err := d.host.module.ExportedFunction(name).Call(ctx, with...)
	if err != nil {
		var told thrown
		switch {
		case ctx.Err() != nil:
			return nil, ctx.Err()
		case errors.As(err, &told):
			return nil, told
		}
		return nil, errTooMuch
	}
	return r, nil
}

// errTooMuch is all that can be said when the module gives up: it traps where memory ends
// or where an assertion of its own fails.
var errTooMuch = errors.New("it cannot be drawn: it is too large or too involved")

// answer calls a function that writes words to where it is told.
func (d *Drawing) answer(ctx context.Context, name string, words int, with ...uint64) (r [3]uint32, err error) {
	at, err := d.call(ctx, "__wbindgen_add_to_stack_pointer", api.EncodeI32(-16))
	if err != nil {
		return r, err
	}
	if _, err := d.call(ctx, name, append([]uint64{at[0]}, with...)...); err != nil {
		return r, err
	}
	for i := range words {
		r[i], _ = d.host.module.Memory().ReadUint32Le(uint32(at[0]) + 4*uint32(i))
	}
	_, err = d.call(ctx, "__wbindgen_add_to_stack_pointer", 16)
	return r, err
}

// refused is the error that the module answered with.
func (d *Drawing) refused(index uint32) error {
	switch v := d.host.take(index).(type) {
	case error:
		return v
	case string:
		return errors.New(v)
	}
	return errTooMuch
}
