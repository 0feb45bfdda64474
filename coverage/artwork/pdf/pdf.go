// Package pdf draws pages of PDF files, through pdfium as the WebAssembly module that
// go-pdfium carries: without C, and without any way to the outside.
//
// A page is as large as its trim box, or its crop box if it has none, turned as it says.
// Where nothing is drawn it is clear. Colours come back as sRGB, or those of a page that is
// painted with CMYK alone in its own numbers ([Inks]); what else spot colours and overprint
// mean is lost, and said ([Document.Facts]).
package pdf

import (
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"path/filepath"
	"runtime"
	"sync"

	"github.com/klippa-app/go-pdfium"
	"github.com/klippa-app/go-pdfium/enums"
	pdferrors "github.com/klippa-app/go-pdfium/errors"
	"github.com/klippa-app/go-pdfium/references"
	"github.com/klippa-app/go-pdfium/requests"
	"github.com/klippa-app/go-pdfium/structs"
	"github.com/klippa-app/go-pdfium/webassembly"
	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/experimental"

	"laydown/coverage/artwork/pdf/content"
	"laydown/coverage/unit"
)

// Engine draws. It is made ready when the first file is opened, and may be used from
// several goroutines.
type Engine struct {
	pool func() (pdfium.Pool, error)
}

// memoryPages bounds the memory of one file to 3 GiB, in pages of 64 KiB.
const memoryPages = 48 << 10

// noChance gives the renderer, which names its caches by chance, the same bytes each time.
type noChance struct{}

func (noChance) Read(b []byte) (int, error) {
	clear(b)
	return len(b), nil
}

// NewEngine is an engine that keeps itself in a folder once it is compiled, which takes
// seconds, so that it need be compiled once only; "" keeps nothing. A folder that cannot
// be written keeps nothing either.
func NewEngine(cacheDir string) *Engine {
	return &Engine{sync.OnceValues(func() (pdfium.Pool, error) {
		config := wazero.NewRuntimeConfig().WithMemoryLimitPages(memoryPages).
			WithCoreFeatures(api.CoreFeaturesV2 | experimental.CoreFeaturesExceptionHandling)
		if cacheDir != "" {
			if cache, err := wazero.NewCompilationCacheWithDir(filepath.Join(cacheDir, "drawing")); err == nil {
				config = config.WithCompilationCache(cache)
			}
		}
		cores := runtime.GOMAXPROCS(0)
		return webassembly.Init(webassembly.Config{Context: experimental.WithCompilationWorkers(context.Background(), cores),
			MaxTotal: -1, RuntimeConfig: config, FSConfig: wazero.NewFSConfig(), // no folder at all
			Stdout: io.Discard, Stderr: io.Discard, RandomSource: noChance{}})
	})}
}

// Document is an opened file. It must be closed, and used from one goroutine at a time.
type Document struct {
	Pages    int
	engine   *Engine
	data     []byte
	instance pdfium.Pdfium
	document references.FPDF_DOCUMENT
}

// ErrLocked says that a file wants a password.
var ErrLocked = errors.New("it is locked with a password")

// Open opens a file. An error says what is wrong with it.
func (e *Engine) Open(ctx context.Context, data []byte) (*Document, error) {
	pool, err := e.pool()
	if err != nil {
		return nil, fmt.Errorf("the renderer does not start: %w", err)
	}
	d := &Document{engine: e, data: data}
	if d.instance, err = pool.GetInstanceWithContext(ctx); err != nil {
		return nil, fmt.Errorf("the renderer does not start: %w", err)
	}
	opened, err := d.instance.OpenDocument(&requests.OpenDocument{File: &data})
	if err == nil {
		d.document = opened.Document
		var count int
		if r, e := d.instance.FPDF_GetPageCount(&requests.FPDF_GetPageCount{Document: d.document}); e == nil {
			count = r.PageCount
		} else {
			err = e
		}
		if d.Pages = count; err == nil && count == 0 {
			err = errors.New("it has no pages")
		}
	}
	if err != nil {
		d.Close()
		switch {
		case errors.Is(err, pdferrors.ErrPassword), errors.Is(err, pdferrors.ErrSecurity):
			return nil, ErrLocked
		case errors.Is(err, pdferrors.ErrFormat), errors.Is(err, pdferrors.ErrFile):
			return nil, errors.New("it is broken")
		}
		return nil, err
	}
	return d, nil
}

// Close lets go of the file.
func (d *Document) Close() { d.instance.Close() }

// Page is one page as it will be drawn.
type Page struct {
	WidthMM, HeightMM float64
	number            int
	left, top         float64       // of what is drawn in the page as the renderer lays it out, points
	trim              box           // what is drawn, before it is turned; zero if that is the whole page
	frame             content.Frame // what is drawn, as its content has it; zero if that is not known
}

const pointMM = unit.MMPerInch / 72

// box is a rectangle of a page before it is turned, points.
type box struct{ left, bottom, right, top float64 }

func (b box) sound() bool { return b.right > b.left && b.top > b.bottom }

func (b box) within(o box) box {
	return box{max(b.left, o.left), max(b.bottom, o.bottom), min(b.right, o.right), min(b.top, o.top)}
}

// Page is a page, the first one 0.
func (d *Document) Page(number int) (Page, error) {
	page := requests.Page{ByIndex: &requests.PageByIndex{Document: d.document, Index: number}}
	all, err := d.instance.FPDF_GetPageSizeByIndexF(&requests.FPDF_GetPageSizeByIndexF{Document: d.document, Index: number})
	if err != nil {
		return Page{}, fmt.Errorf("page %d cannot be read", number+1)
	}
	p := Page{number: number, WidthMM: float64(all.Size.Width) * pointMM, HeightMM: float64(all.Size.Height) * pointMM}
	media, err := d.instance.FPDFPage_GetMediaBox(&requests.FPDFPage_GetMediaBox{Page: page})
	if err != nil {
		return p, nil // inherited, and then no trim box is of use
	}
	shown := box{float64(media.Left), float64(media.Bottom), float64(media.Right), float64(media.Top)}
	if crop, err := d.instance.FPDFPage_GetCropBox(&requests.FPDFPage_GetCropBox{Page: page}); err == nil {
		if b := (box{float64(crop.Left), float64(crop.Bottom), float64(crop.Right), float64(crop.Top)}).within(shown); b.sound() {
			shown = b
		}
	}
	r, err := d.instance.FPDFPage_GetTrimBox(&requests.FPDFPage_GetTrimBox{Page: page})
	if err != nil {
		return p, nil
	}
	trim := box{float64(r.Left), float64(r.Bottom), float64(r.Right), float64(r.Top)}.within(shown)
	if !trim.sound() {
		return p, nil
	}
	w, h := trim.right-trim.left, trim.top-trim.bottom
	left, top, right, bottom := trim.left-shown.left, shown.top-trim.top, shown.right-trim.right, trim.bottom-shown.bottom
	turn, err := d.instance.FPDFPage_GetRotation(&requests.FPDFPage_GetRotation{Page: page})
	if err != nil {
		return p, nil
	}
	switch turn.PageRotation { // clockwise
	case enums.FPDF_PAGE_ROTATION_90_CW:
		p.left, p.top, w, h = bottom, left, h, w
	case enums.FPDF_PAGE_ROTATION_180_CW:
		p.left, p.top = right, bottom
	case enums.FPDF_PAGE_ROTATION_270_CW:
		p.left, p.top, w, h = top, right, h, w
	default:
		p.left, p.top = left, top
	}
	p.WidthMM, p.HeightMM, p.trim = w*pointMM, h*pointMM, trim
	return p, nil
}

// Draw draws a page with so many pixels.
func (d *Document) Draw(p Page, width, height int) (*image.NRGBA, error) {
	bitmap, err := d.instance.FPDFBitmap_Create(&requests.FPDFBitmap_Create{Width: width, Height: height, Alpha: 1})
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errTooMuch, err)
	}
	defer d.instance.FPDFBitmap_Destroy(&requests.FPDFBitmap_Destroy{Bitmap: bitmap.Bitmap})
	if _, err := d.instance.FPDFBitmap_FillRect(&requests.FPDFBitmap_FillRect{Bitmap: bitmap.Bitmap, Width: width, Height: height, Color: 0}); err != nil {
		return nil, fmt.Errorf("%w: %w", errTooMuch, err)
	}
	x, y := float64(width)/(p.WidthMM/pointMM), float64(height)/(p.HeightMM/pointMM)
	if _, err := d.instance.FPDF_RenderPageBitmapWithMatrix(&requests.FPDF_RenderPageBitmapWithMatrix{Bitmap: bitmap.Bitmap,
		Page:     requests.Page{ByIndex: &requests.PageByIndex{Document: d.document, Index: p.number}},
		Matrix:   structs.FPDF_FS_MATRIX{A: float32(x), D: float32(y), E: float32(-p.left * x), F: float32(-p.top * y)},
		Clipping: structs.FPDF_FS_RECTF{Right: float32(width), Bottom: float32(height)},
		Flags:    enums.FPDF_RENDER_FLAG_ANNOT | enums.FPDF_RENDER_FLAG_REVERSE_BYTE_ORDER | enums.FPDF_RENDER_FLAG_PRINTING}); err != nil {
		return nil, fmt.Errorf("%w: %w", errTooMuch, err)
	}
	buffer, err := d.instance.FPDFBitmap_GetBuffer(&requests.FPDFBitmap_GetBuffer{Bitmap: bitmap.Bitmap})
	if err != nil || len(buffer.Buffer) != 4*width*height {
		return nil, fmt.Errorf("%w: %w", errTooMuch, err)
	}
	img := &image.NRGBA{Pix: append([]byte(nil), buffer.Buffer...), Stride: 4 * width, Rect: image.Rect(0, 0, width, height)}
	return img, nil
}

var errTooMuch = errors.New("it cannot be drawn: it is too large or too involved")
