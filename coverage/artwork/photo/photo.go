// Package photo reads the pictures that newer cameras and browsers write: HEIC, AVIF and
// JPEG XL.
//
// What a file says of itself is read here ([Read]), before any memory is asked for: the
// boxes of ISO/IEC 14496-12 and 23008-12, and the header of ISO/IEC 18181-1. Pixels are
// decoded by libheif with libde265, libavif with aom, and libjxl, as the WebAssembly modules
// that the Go modules github.com/gen2brain/heic, avif and jpegxl carry; fetch.sh says how
// they were obtained and checks them. libheif and libde265 are under the LGPL, version 3: their
// module is a file of its own, and can be exchanged for another. The Go sides of those modules are not used: they would
// take a library of the same name from the machine if there is one, so that the same file
// came out otherwise elsewhere; they write to standard output, compile anew in every run,
// keep their runtimes in global variables and set no bound to memory; and the one for HEIC
// drops alpha and takes rows of narrow pictures for others.
//
// Limits: of a sequence the first picture is read. HEIC is decoded in 8 bits, AVIF of more
// than 8 bits in 16, JPEG XL in 16 if the file has 16 and in 8 otherwise. Where a HEIC says
// nothing of its matrix, BT.601's is taken, in full range (MIAF, ISO/IEC 23000-22, 7.3.6.4).
// Orientation is what the container says; these formats give
// that of EXIF no say.
package photo

import (
	"bytes"
	"compress/gzip"
	"context"
	_ "embed"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"io"
	"path/filepath"
	"runtime"
	"sync"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/experimental"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"
)

//go:generate sh fetch.sh

//go:embed heif.wasm.gz
var heifModule []byte

//go:embed avif.wasm.gz
var avifModule []byte

//go:embed jxl.wasm.gz
var jxlModule []byte

// memoryPages bounds the memory of one picture to 3 GiB, in pages of 64 KiB.
const memoryPages = 48 << 10

// Kinds of file.
const (
	HEIC = "HEIC"
	AVIF = "AVIF"
	JXL  = "JPEG XL"
)

// Header is what a file says of its picture.
type Header struct {
	Kind          string // HEIC, AVIF or JXL
	Width, Height int    // pixels, upright: as [Engine.Decode] returns them
	Depth         int    // bits of a sample as decoded: 8 or 16
	Grey          bool   // the colour samples are alike
	Alpha         bool   // the file can hold transparency
	ICC           []byte // the profile that is embedded; nil if there is none
	Packed        bool   // a profile is embedded in a way that cannot be got at (JPEG XL)
	Code          *Code  // the colours in code points; nil if the file does not say
	// Of JPEG XL, what takes the place of the code's transfer, white and primaries: an
	// exponent, 0 if none, and chromaticities, nil if none.
	Gamma     float64
	White     *[2]float64
	Primaries *[3][2]float64
	Exif      []byte // a TIFF structure; nil if there is none
	Sequence  bool   // the file holds several pictures that follow each other

	turns         []turn
	premultiplied bool
	main          uint32 // item of the picture
	alphaItem     uint32 // of HEIC, item of its alpha; 0 if there is none
	coded         [2]int // pixels before turning
}

// Code are code points of Rec. ITU-T H.273: primaries of table 2, transfer of table 3,
// matrix of table 4, and whether codes use the full range.
type Code struct {
	Primaries, Transfer, Matrix int
	Full                        bool
}

// Engine decodes. A kind of file is made ready when the first of it is decoded, and an
// Engine may be used from several goroutines.
type Engine struct {
	heif, avif, jxl func() (*codec, error)
}

type codec struct {
	runtime wazero.Runtime
	module  wazero.CompiledModule
}

// NewEngine is an engine that keeps its decoders in a folder once they are compiled, which
// takes a second or so each, so that they need be compiled once only; "" keeps nothing. A folder that
// cannot be written keeps nothing either.
func NewEngine(cacheDir string) *Engine {
	ready := func(packed []byte) func() (*codec, error) {
		return sync.OnceValues(func() (*codec, error) {
			ctx := context.Background()
			config := wazero.NewRuntimeConfig().WithMemoryLimitPages(memoryPages)
			if cacheDir != "" {
				if cache, err := wazero.NewCompilationCacheWithDir(filepath.Join(cacheDir, "drawing")); err == nil {
					config = config.WithCompilationCache(cache)
				}
			}
			z, err := gzip.NewReader(bytes.NewReader(packed))
			if err != nil {
				return nil, err
			}
			code, err := io.ReadAll(z)
			if err != nil {
				return nil, err
			}
			r := wazero.NewRuntimeWithConfig(ctx, config)
			if _, err := wasi_snapshot_preview1.Instantiate(ctx, r); err != nil {
				return nil, err
			}
			m, err := r.CompileModule(experimental.WithCompilationWorkers(ctx, runtime.GOMAXPROCS(0)), code)
			return &codec{r, m}, err
		})
	}
	return &Engine{ready(heifModule), ready(avifModule), ready(jxlModule)}
}

var errDamaged = errors.New("its picture cannot be decoded")

// call is one run of a decoder, in a memory of its own.
type call struct {
	ctx    context.Context
	module interface {
		Close(context.Context) error
	}
	run   func(name string, args ...uint64) (uint32, error)
	read  func(at, n uint32) ([]byte, bool)
	write func(at uint32, b []byte) bool
}

func (c *codec) start(ctx context.Context) (*call, error) {
	// Nothing of the machine is given to it: no folder, no clock, no chance, no output.
	m, err := c.runtime.InstantiateModule(ctx, c.module, wazero.NewModuleConfig().WithName(""))
	if err != nil {
		return nil, err
	}
	return &call{ctx: ctx, module: m,
		run: func(name string, args ...uint64) (uint32, error) {
			r, err := m.ExportedFunction(name).Call(ctx, args...)
			if err != nil || len(r) == 0 {
				return 0, errDamaged // what it says is a trace of the stack
			}
			return uint32(r[0]), nil
		},
		read:  m.Memory().Read,
		write: m.Memory().Write,
	}, nil
}

var errMemory = errors.New("it needs more memory than a picture is given")

// alloc is n bytes of the decoder's memory, at least one.
func (c *call) alloc(n int) (uint32, error) {
	at, err := c.run("malloc", uint64(max(n, 1)))
	if err != nil || at == 0 {
		return 0, errMemory
	}
	return at, nil
}

// give puts b into the decoder's memory.
func (c *call) give(b []byte) (uint32, error) {
	at, err := c.alloc(len(b))
	if err == nil && !c.write(at, b) {
		err = errMemory
	}
	return at, err
}

// words reads n numbers.
func (c *call) words(at uint32, n int) ([]int, error) {
	b, ok := c.read(at, uint32(4*n))
	if !ok {
		return nil, errDamaged
	}
	v := make([]int, n)
	for i := range v {
		v[i] = int(binary.LittleEndian.Uint32(b[4*i:]))
	}
	return v, nil
}

// Decode decodes the picture of a file whose header h is, upright: as *image.NRGBA, or
// *image.NRGBA64 if h.Depth is 16. The size of h must have been found fit for memory.
func (e *Engine) Decode(ctx context.Context, data []byte, h *Header) (image.Image, error) {
	var pix []byte
	var err error
	switch h.Kind {
	case HEIC:
		pix, err = e.decodeHEIC(ctx, data, h)
	case AVIF:
		pix, err = e.decodePlain(ctx, e.avif, data, h)
	default:
		pix, err = e.decodePlain(ctx, e.jxl, data, h)
	}
	if err != nil {
		return nil, err
	}
	p := &picture{h.coded[0], h.coded[1], 4 * h.Depth / 8, pix}
	for _, t := range h.turns {
		p = p.turned(t)
	}
	if p.w != h.Width || p.h != h.Height {
		return nil, fmt.Errorf("its header says %d × %d pixels and it holds %d × %d", h.Width, h.Height, p.w, p.h)
	}
	box := image.Rect(0, 0, p.w, p.h)
	if h.Depth == 16 {
		img := &image.NRGBA64{Pix: p.pix, Stride: 8 * p.w, Rect: box}
		if h.premultiplied {
			divide16(img.Pix)
		}
		return img, nil
	}
	img := &image.NRGBA{Pix: p.pix, Stride: 4 * p.w, Rect: box}
	if h.premultiplied {
		divide8(img.Pix)
	}
	return img, nil
}

// Frames is how many pictures a sequence of AVIF or JPEG XL holds; 0 if it cannot be told.
func (e *Engine) Frames(ctx context.Context, data []byte, h *Header) int {
	ready := e.jxl
	if h.Kind == AVIF {
		ready = e.avif
	}
	if h.Kind == HEIC {
		return 0
	}
	if says, _, end, err := open(ctx, ready, data); err == nil {
		end()
		return says[3]
	}
	return 0
}

// open gives data to a decoder and returns what that says of it: width, height, depth and
// count; and where the file and those words lie in its memory.
func open(ctx context.Context, ready func() (*codec, error), data []byte) (says []int, at struct {
	*call
	in, words uint32
}, end func(), err error) {
	d, err := ready()
	if err != nil {
		return nil, at, nil, fmt.Errorf("the decoder does not start: %w", err)
	}
	c, err := d.start(ctx)
	if err != nil {
		return nil, at, nil, fmt.Errorf("the decoder does not start: %w", err)
	}
	end = func() { c.module.Close(ctx) }
	defer func() {
		if err != nil {
			end()
		}
	}()
	at.call = c
	if at.in, err = c.give(data); err != nil {
		return nil, at, nil, err
	}
	// The decoder of JPEG XL notes how long each picture of a sequence stays, also when it only counts.
	if at.words, err = c.alloc(16); err != nil {
		return nil, at, nil, err
	}
	delays, err := c.alloc(mostDelays)
	if err != nil {
		return nil, at, nil, err
	}
	ok, err := c.run("decode", uint64(at.in), uint64(len(data)), 1, 0, uint64(at.words), uint64(at.words+4), uint64(at.words+8), uint64(at.words+12), uint64(delays), 0)
	if err == nil && ok == 0 {
		err = errDamaged
	}
	if err != nil {
		return nil, at, nil, err
	}
	says, err = c.words(at.words, 4)
	return says, at, end, err
}

// mostDelays is room for the delays of a sequence: a quarter million pictures.
const mostDelays = 1 << 20

// decodePlain decodes by libavif or libjxl, whose modules are called alike.
func (e *Engine) decodePlain(ctx context.Context, ready func() (*codec, error), data []byte, h *Header) ([]byte, error) {
	says, at, end, err := open(ctx, ready, data)
	if err != nil {
		return nil, err
	}
	defer end()
	if says[0] != h.coded[0] || says[1] != h.coded[1] {
		return nil, fmt.Errorf("its header says %d × %d pixels and it holds %d × %d", h.coded[0], h.coded[1], says[0], says[1])
	}
	wide := says[2] > 8
	if h.Kind == JXL {
		wide = says[2] == 16
	}
	if wide != (h.Depth == 16) {
		return nil, fmt.Errorf("its header says %d bits and it has %d", h.Depth, says[2])
	}
	n := 4 * h.Depth / 8 * h.coded[0] * h.coded[1]
	out, err := at.alloc(n)
	if err != nil {
		return nil, err
	}
	delays, err := at.alloc(mostDelays)
	if err != nil {
		return nil, err
	}
	ok, err := at.run("decode", uint64(at.in), uint64(len(data)), 0, 0, uint64(at.words), uint64(at.words+4), uint64(at.words+8), uint64(at.words+12), uint64(delays), uint64(out))
	if err == nil && ok == 0 {
		err = errDamaged
	}
	if err != nil {
		return nil, err
	}
	mem, isThere := at.read(out, uint32(n))
	if !isThere {
		return nil, errDamaged
	}
	pix := append([]byte(nil), mem...)
	if h.Kind == AVIF && wide { // the module's own byte order
		for i := 0; i+1 < len(pix); i += 2 {
			pix[i], pix[i+1] = pix[i+1], pix[i]
		}
	}
	return pix, nil
}

// divide8 and divide16 undo a multiplication by alpha.
func divide8(pix []byte) {
	for i := 0; i+3 < len(pix); i += 4 {
		if a := int(pix[i+3]); a != 0 && a != 255 {
			for k := range 3 {
				pix[i+k] = uint8(min(255, (int(pix[i+k])*255+a/2)/a))
			}
		}
	}
}

func divide16(pix []byte) {
	for i := 0; i+7 < len(pix); i += 8 {
		if a := int(binary.BigEndian.Uint16(pix[i+6:])); a != 0 && a != 65535 {
			for k := 0; k < 6; k += 2 {
				v := (int(binary.BigEndian.Uint16(pix[i+k:]))*65535 + a/2) / a
				binary.BigEndian.PutUint16(pix[i+k:], uint16(min(65535, v)))
			}
		}
	}
}

// turn is what the container asks to be done with decoded pixels.
type turn struct {
	kind       byte // 'r' quarter turns to the left, 'm' mirrored, 'c' cropped
	n          int  // of 'r' quarters; of 'm' 0 for top and bottom exchanged, 1 for left and right
	x, y, w, h int  // of 'c'
}

// size is what becomes of a picture's size.
func (t turn) size(w, h int) (int, int) {
	switch {
	case t.kind == 'c':
		return t.w, t.h
	case t.kind == 'r' && t.n%2 == 1:
		return h, w
	}
	return w, h
}

type picture struct {
	w, h, size int // pixels; bytes of one
	pix        []byte
}

func (p *picture) turned(t turn) *picture {
	w, h := t.size(p.w, p.h)
	if t.kind == 'r' && t.n == 0 {
		return p
	}
	out := &picture{w, h, p.size, make([]byte, w*h*p.size)}
	for y := range h {
		for x := range w {
			u, v := x, y
			switch {
			case t.kind == 'c':
				u, v = x+t.x, y+t.y
			case t.kind == 'm' && t.n == 0:
				v = h - 1 - y
			case t.kind == 'm':
				u = w - 1 - x
			case t.n == 1:
				u, v = p.w-1-y, x
			case t.n == 2:
				u, v = w-1-x, h-1-y
			default:
				u, v = y, p.h-1-x
			}
			copy(out.pix[(y*w+x)*p.size:][:p.size], p.pix[(v*p.w+u)*p.size:])
		}
	}
	return out
}
