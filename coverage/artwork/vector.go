package artwork

import (
	"context"
	"fmt"
	"image"
	"math"
	"runtime"
	"slices"
	"strings"

	"laydown/colour/cores"
	"laydown/colour/icc"
	"laydown/coverage/artwork/font"
	"laydown/coverage/artwork/mark"
	"laydown/coverage/artwork/pdf"
	"laydown/coverage/artwork/photo"
	"laydown/coverage/artwork/resvg"
	"laydown/coverage/artwork/svg"
	"laydown/coverage/fault"
	"laydown/coverage/unit"
)

// Canvas says how vector art is made into pixels, which it has none of its own.
type Canvas struct {
	Wish   Wish    // the print that is asked for
	PPI    float64 // pixels per inch of the print; 0 for 300
	Page   int     // of a file with several pages, the first one 1; 0 if none is named
	Studio *Studio // nil for one that keeps nothing and has only the fonts that are built in
}

// Studio is what drawings are drawn with, and newer photographs decoded. It may be shared by many, and from several
// goroutines.
type Studio struct {
	fonts *font.Library
	svg   *resvg.Engine
	pdf   *pdf.Engine
	photo *photo.Engine
}

// NewStudio is a studio that looks for fonts in folders and keeps its renderer, once it is
// compiled, in a folder for computed things; "" keeps nothing.
func NewStudio(cacheDir string, fontDirs ...string) *Studio {
	return &Studio{font.New(fontDirs...), resvg.NewEngine(cacheDir), pdf.NewEngine(cacheDir), photo.NewEngine(cacheDir)}
}

const (
	usualPPI = 300
	// mostDrawn is the most pixels that vector art is drawn with: A2 at 450 per inch, or A0
	// at 230. Larger prints are drawn coarser.
	mostDrawn = 80_000_000
)

// Substitute is a font that is not there, and what its texts were set in.
type Substitute struct{ Asked, Used string }

// drawing is a vector file that waits for being drawn.
type drawing struct {
	studio *Studio
	svg    *svg.File
	page   pdf.Page  // of a PDF
	inks   *pdf.Inks // of a page that is drawn in CMYK
}

// ManyPages says that a file has several pages and none was named.
type ManyPages struct{ Count int }

// Error says what to do; the field is named as a [fault.Fault] does.
func (m *ManyPages) Error() string { return fmt.Sprintf("has %d pages: name one", m.Count) }

// studio is what f is drawn with.
func (f *File) studio() *Studio {
	if s := f.options.Canvas.Studio; s != nil {
		return s
	}
	return NewStudio("")
}

// takeVector says of f what is so of all drawings. The size in CSS pixels says all of one
// that states no true size.
func (f *File) takeVector(stated Size, wide, high float64) {
	f.Space, f.Depth, f.Vector, f.HasAlpha = icc.RGB, 8, true, true
	f.True, f.Screen = stated, [2]float64{wide, high}
	f.Width, f.Height = f.pixels(f.options.Canvas)
}

func svgHeader(f *File) (meta, error) {
	s, err := svg.Read(f.data)
	if err != nil {
		return meta{}, err
	}
	studio := f.studio()
	if s.WidthPX == 0 { // as large as what is in it
		d, err := studio.svg.Open(context.Background(), s.Unsized(), resvg.Fonts{})
		if err != nil {
			return meta{}, err
		}
		s.WidthPX, s.HeightPX = d.WidthPX, d.HeightPX
		d.Close()
	}
	f.drawing, f.data = &drawing{studio: studio, svg: s}, nil
	f.takeVector(Size{s.WidthMM, s.HeightMM}, s.WidthPX, s.HeightPX)
	return meta{srgb: true}, nil
}

func pdfHeader(f *File) (meta, error) {
	d, err := f.studio().pdf.Open(context.Background(), f.data)
	if err != nil {
		return meta{}, err
	}
	defer d.Close()
	page := f.options.Canvas.Page
	switch {
	case page == 0 && d.Pages > 1:
		return meta{}, &ManyPages{d.Pages}
	case page > d.Pages:
		return meta{}, fault.In("page", fmt.Errorf("there is no page %d: it has %d", page, d.Pages))
	}
	f.Pages = d.Pages
	p, err := d.Page(max(0, page-1))
	if err != nil {
		return meta{}, err
	}
	if d.Pages > 1 {
		f.File = fmt.Sprintf("%s (page %d of %d)", f.File, page, d.Pages)
	}
	f.takeVector(Size{p.WidthMM, p.HeightMM}, p.WidthMM/unit.MMPerInch*96, p.HeightMM/unit.MMPerInch*96)
	facts, inks, err := d.Facts(&p)
	f.drawing = &drawing{studio: f.studio(), page: p, inks: inks}
	facts.Unread = err != nil
	if f.Marks = &facts.Set; inks == nil {
		return meta{srgb: true}, nil
	}
	f.Space = icc.CMYK
	return meta{profile: facts.Profile}, nil
}

// drawPDF draws the page, in its own inks if it has those alone.
func drawPDF(f *File, a *Art) (err error) {
	ctx := context.Background()
	d, err := f.drawing.studio.pdf.Open(ctx, f.data)
	if err != nil {
		return err
	}
	defer d.Close()
	p, marks := f.drawing.page, *f.Marks
	marks.Texts, err = d.Texts(p)
	marks.Partly = marks.Partly || err != nil
	a.Marks = &marks
	if f.drawing.inks != nil {
		a.step, a.alphaAt = 5, 4
		a.pix, err = f.drawing.inks.Draw(ctx, f.Width, f.Height)
		return err
	}
	img, err := d.Draw(p, f.Width, f.Height)
	if err != nil {
		return err
	}
	return a.lay(img, f)
}

// pixels is how many pixels vector art is drawn with: as many as the canvas wants of the
// print, and no more than can be drawn.
func (a Info) pixels(c Canvas) (w, h int) {
	ppi := c.PPI
	if ppi == 0 {
		ppi = usualPPI
	}
	if c.Wish.DPI > 0 && a.True.WidthMM > 0 {
		ppi = c.Wish.DPI
	}
	size, err := a.PrintSize(c.Wish)
	if err != nil { // which will be said when the print is planned
		size = Size{a.Screen[0] / usualPPI * unit.MMPerInch, a.Screen[1] / usualPPI * unit.MMPerInch}
	}
	wide, high := size.WidthMM/unit.MMPerInch*ppi, size.HeightMM/unit.MMPerInch*ppi
	if all := wide * high; all > mostDrawn {
		k := math.Sqrt(mostDrawn / all)
		wide, high = wide*k, high*k
	}
	return max(2, int(math.Round(wide))), max(2, int(math.Round(high)))
}

// drawSVG draws the file, and says in f which fonts and pictures it lacks.
func drawSVG(f *File) (image.Image, error) {
	ctx := context.Background()
	fonts := resvg.Fonts{Default: font.Serif}
	studio := f.drawing.studio
	if texts := f.drawing.svg.Texts(); len(texts.Characters) > 0 {
		fonts.Files, f.drawing.svg.Families, f.Substitutes = choose(studio.fonts, texts)
	}
	f.Linked = f.drawing.svg.Linked()
	// Every core draws a band of a large drawing, but of one that holds pictures: each band
	// would take as long as the whole.
	bands := 1
	if f.Width*f.Height > leastBanded && !f.drawing.svg.HoldsPictures() {
		bands = min(runtime.GOMAXPROCS(0), f.Height)
	}
	img := image.NewRGBA(image.Rect(0, 0, f.Width, f.Height))
	errs := make([]error, bands)
	cores.Each(bands, func(i int) {
		top, end := i*f.Height/bands, (i+1)*f.Height/bands
		text := f.drawing.svg.At(f.Width, f.Height)
		if bands > 1 {
			text = f.drawing.svg.Band(f.Width, f.Height, top, end-top)
		}
		marked := i == 0 && f.drawing.svg.HasMarks()
		if marked {
			text = svg.WithNames(text)
		}
		d, err := studio.svg.Open(ctx, text, fonts)
		if err != nil {
			errs[i] = err
			return
		}
		defer d.Close()
		part, err := d.Draw(ctx)
		if err == nil && (part.Rect.Dx() != f.Width || part.Rect.Dy() != end-top) {
			err = fmt.Errorf("it came out as %v pixels where %d × %d were asked for", part.Rect.Size(), f.Width, end-top)
		}
		if errs[i] = err; err == nil {
			copy(img.Pix[top*img.Stride:], part.Pix)
		}
		if err == nil && marked {
			plain, err := d.Plain(ctx)
			if f.Marks = svg.Marks(plain, text); err != nil {
				f.Marks = &mark.Set{Unread: true}
			}
		}
	})
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return img, nil
}

// leastBanded is the pixels from which on a drawing is parted among the cores.
const leastBanded = 1 << 20

// generic are the families of CSS Fonts 3 that every machine has some font for.
var generic = map[string]string{"serif": font.Serif, "sans-serif": font.Sans, "monospace": font.Mono, "cursive": font.Sans, "fantasy": font.Sans, "system-ui": font.Sans}

// choose finds the fonts of texts, what their families are called in them, and which of
// those asked for first are missing.
func choose(library *font.Library, texts svg.Texts) (files [][]byte, names map[string]string, missing []Substitute) {
	names = map[string]string{}
	for asked, name := range generic {
		names[asked] = name
	}
	for _, family := range []string{font.Serif, font.Sans, font.Mono} {
		found, _ := library.Family(family)
		files = append(files, found...)
	}
	for _, list := range texts.Families {
		used := font.Serif
		for _, asked := range list {
			asked = strings.ToLower(asked)
			if name, ok := names[asked]; ok {
				used = name
				break
			}
			if found, name := library.Family(asked); len(found) > 0 {
				files, used, names[asked] = append(files, found...), name, name
				break
			}
		}
		if first := list[0]; names[strings.ToLower(first)] == "" {
			missing = append(missing, Substitute{first, used})
		}
	}
	var nowhere []rune
	for lacking := font.Lacks(files, texts.Characters); len(lacking) > 0; {
		file, family := library.With(lacking[0])
		if file == nil {
			nowhere, lacking = append(nowhere, lacking[0]), lacking[1:]
			continue
		}
		files = append(files, file)
		missing = append(missing, Substitute{fmt.Sprintf("one that has %q", lacking[0]), family})
		lacking = font.Lacks([][]byte{file}, lacking)
	}
	if len(nowhere) > 0 {
		missing = append(missing, Substitute{Asked: fmt.Sprintf("one that has %q", string(nowhere[:min(len(nowhere), 12)]))})
	}
	slices.SortFunc(missing, func(a, b Substitute) int { return strings.Compare(a.Asked, b.Asked) })
	return files, names, slices.Compact(missing)
}
