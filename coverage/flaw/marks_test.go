package flaw

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"strings"
	"sync"
	"testing"

	"laydown/colour/reference"
	"laydown/coverage/artwork"
	"laydown/coverage/artwork/arttest"
	"laydown/coverage/artwork/mark"
	"laydown/coverage/plate"
)

// studio is made once: a renderer takes long to make.
var studio = sync.OnceValue(arttest.Studio)

// vector reads a drawing of 40 × 30 mm in millimetres, or a page of PDF, at 300 pixels per
// inch.
func vector(t testing.TB, text string, rule plate.Rule) Subject {
	t.Helper()
	if !strings.HasPrefix(text, "%PDF") {
		text = `<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">` + text + `</svg>`
	}
	f, err := artwork.Read([]byte(text), "art", artwork.Options{Canvas: artwork.Canvas{Studio: studio(), PPI: 300}})
	if err != nil {
		t.Fatal(err)
	}
	return scanFile(t, f, 300, plate.WhiteOptions{Rule: rule, DensityPercent: 100})
}

// pixelsAlone is a subject whose file says nothing.
func pixelsAlone(s Subject) Subject {
	s.Art.Marks = nil
	return s
}

// shown are the findings of one check.
func shown(t testing.TB, s Subject, c check) map[Kind]Finding {
	t.Helper()
	list, err := newScene(s).run(c)
	if err != nil {
		t.Fatal(err)
	}
	m := map[Kind]Finding{}
	for _, f := range list {
		m[f.Kind] = f
	}
	return m
}

const ground = `<rect x="2" y="2" width="36" height="26" fill="#fc0"/>`

// TestTrueWidths: the width of a line is what the drawing states, to a micrometre, whatever
// moves and enlarges it, and is measured in the pixels within 0.03 mm of that.
func TestTrueWidths(t *testing.T) {
	for _, width := range reference.Sweep(t, []float64{0.12, 0.17, 0.22, 0.28, 0.32}, func(v float64) bool { return v < 0.15 || v == 0.28 }) {
		for name, text := range map[string]string{
			"level":  fmt.Sprintf(`<path d="M5 10.03H30" stroke="#222" stroke-width="%g"/>`, width),
			"aslant": fmt.Sprintf(`<path d="M5 5L30 21" stroke="#222" stroke-width="%g"/>`, width),
			"bent":   fmt.Sprintf(`<circle cx="20" cy="15" r="8" fill="none" stroke="#222" stroke-width="%g"/>`, width),
			"turned": fmt.Sprintf(`<g transform="translate(4 4) rotate(31) scale(4)"><path d="M0 0h6" style="stroke:#222;stroke-width:%g"/></g>`, width/4),
			"used":   fmt.Sprintf(`<defs><path id="p" d="M5 10.03H30"/></defs><use href="#p" y="7" stroke="#222" stroke-width="%g"/>`, width),
		} {
			s := vector(t, ground+text, plate.NoWhite)
			f := shown(t, s, shapes)[FineLine]
			if math.Abs(f.Measured-width) > 0.0011 || f.Places != 1 {
				t.Errorf("%s, %g mm: %+v", name, width, f)
			}
			if width < 2*25.4/300 && name != "level" { // of less than two pixels pixels tell less
				continue
			}
			if p := shown(t, pixelsAlone(s), shapes)[FineLine]; math.Abs(p.Measured-width) > 0.03 {
				t.Errorf("%s, %g mm: the pixels say %g", name, width, p.Measured)
			}
		}
	}
	// What holds by its stated width holds, though pixels may say a little less.
	if f, has := shown(t, vector(t, ground+`<path d="M5 5L30 21" stroke="#222" stroke-width="0.351"/>`, plate.NoWhite), shapes)[FineLine]; has {
		t.Errorf("0.351 mm: %+v", f)
	}
}

// TestFaintLines: a line too thin for its pixels to tell has the width that the drawing
// states, whether they show it as one of a whole pixel or not at all.
func TestFaintLines(t *testing.T) {
	for width, pixels := range map[float64]bool{0.03: true, 0.01: false} {
		s := vector(t, ground+fmt.Sprintf(`<path d="M5 10.03H30" stroke="#000" stroke-width="%g"/>`, width), plate.NoWhite)
		f := shown(t, s, shapes)[FineLine]
		if math.Abs(f.Measured-width) > 0.0006 || f.Severity != Stop || len(f.Boxes) != 1 || math.Abs(f.Boxes[0].XMM-5) > 0.2 || math.Abs(f.Boxes[0].YMM-10) > 0.2 || math.Abs(f.Boxes[0].WidthMM-25) > 0.4 {
			t.Errorf("%g: %+v", width, f)
		}
		if p, has := shown(t, pixelsAlone(s), shapes)[FineLine]; has != pixels {
			t.Errorf("%g in pixels: %+v", width, p)
		}
	}
}

// TestUnseenLines: what a drawing states and nobody sees is not told of.
func TestUnseenLines(t *testing.T) {
	const thin = `<path d="M5 10H30" stroke="#222" stroke-width="0.1"/>`
	for name, text := range map[string]string{
		"covered":          ground + thin + ground,
		"clipped":          `<clipPath id="c"><path d="M0 20h40v9H0z"/></clipPath>` + ground + `<g clip-path="url(#c)">` + thin + `</g>`,
		"clear":            ground + `<g opacity="0">` + thin + `</g>`,
		"clear stroke":     ground + `<path d="M5 10H30" stroke="#222" stroke-opacity="0" stroke-width="0.1"/>`,
		"no paint":         ground + `<path d="M5 10H30" stroke="none" stroke-width="0.1"/>`,
		"its ground's":     ground + `<path d="M5 10H30" stroke="#fc0" stroke-width="0.1"/>`,
		"its shape's":      ground + `<rect x="8" y="8" width="12" height="9" fill="#222" stroke="#222" stroke-width="0.05"/>`,
		"around its shape": `<rect x="8" y="8" width="12" height="9" fill="#222" stroke="#222" stroke-width="0.05"/>`,
		"between":          ground + `<path d="M2 2h18v26H2z" fill="#222"/><path d="M20 2v26" stroke="#916c11" stroke-width="0.06"/>`,
		"white on bare":    `<path d="M5 10H30" stroke="#fff" stroke-width="0.1"/><path d="M5 14h20v9H5z"/>`,
		"outside":          ground + `<path d="M-5 -10H50" stroke="#222" stroke-width="0.1"/>`,
		"short":            ground + `<path d="M5 10h0.3" stroke="#222" stroke-width="0.02"/>`,
		"side by side":     ground + `<path d="M5 10H30M5 10.1H30M5 10.2H30M5 10.3H30M5 10.4H30M5 10.5H30" stroke="#222" stroke-width="0.1"/>`,
		"joined to a bar":  ground + `<path d="M5 9.5H30" stroke="#222" stroke-width="1"/><path d="M5 10H30" stroke="#222" stroke-width="0.1"/>`,
	} {
		if f, has := shown(t, vector(t, text, plate.NoWhite), shapes)[FineLine]; has {
			t.Errorf("%s: %+v", name, f)
		}
	}
	// Nor is a line as wide as stated of which a half is cut off lengthwise.
	cut := ground + `<clipPath id="c"><path d="M0 10h40v9H0z"/></clipPath><g clip-path="url(#c)"><path d="M5 10H30" stroke="#222" stroke-width="0.16"/></g>`
	if f, has := shown(t, vector(t, cut, plate.NoWhite), shapes)[FineLine]; !has || f.Measured > 0.12 {
		t.Errorf("half cut off: %+v", f)
	}
	// A part that is covered does not make the line wider: what is seen counts.
	half := ground + `<path d="M5 10H30" stroke="#222" stroke-width="0.3"/><path d="M5 10.05h25v1H5z" fill="#fc0"/>`
	if f := shown(t, vector(t, half, plate.NoWhite), shapes)[FineLine]; math.Abs(f.Measured-0.2) > 0.03 {
		t.Errorf("half covered: %+v", f)
	}
}

// TestTrueLetters: the height of an x is that of the outlines, and is measured in pixels
// within 0.03 mm of that. Liberation Sans has an x of 1082/2048 em in its own table (OS/2
// sxHeight), whose round letters reach 0.01 em beyond.
func TestTrueLetters(t *testing.T) {
	for _, size := range []float64{1.2, 1.6, 2.0} {
		text := fmt.Sprintf(`<text x="4" y="15" font-size="%g" font-family="sans-serif" fill="#222">summer on our seven rivers</text>`, size)
		s := vector(t, ground+text, plate.NoWhite)
		f := shown(t, s, shapes)[SmallText]
		want := 1082. / 2048 * size
		if math.Abs(f.Measured-want) > 0.02*size || !strings.Contains(f.Advice, fmt.Sprintf("Text in Liberation Sans at %.1f pt", size/25.4*72)) {
			t.Errorf("%g mm: %+v, want %g", size, f, want)
		}
		if p := shown(t, pixelsAlone(s), shapes)[SmallText]; math.Abs(p.Measured-f.Measured) > 0.03 {
			t.Errorf("%g mm: %g in pixels, %g in truth", size, p.Measured, f.Measured)
		}
	}
	for name, text := range map[string]string{
		"covered":      ground + `<text x="4" y="15" font-size="1.5" fill="#222">summer on our rivers</text>` + ground,
		"its ground's": ground + `<text x="4" y="15" font-size="1.5" fill="#fc0">summer on our rivers</text>`,
		"large":        ground + `<text x="4" y="15" font-size="4" fill="#222">summer on our rivers</text>`,
	} {
		if f, has := shown(t, vector(t, text, plate.NoWhite), shapes)[SmallText]; has {
			t.Errorf("%s: %+v", name, f)
		}
	}
	// Two letters are no row of pixels; the drawing says what they are.
	f := shown(t, vector(t, ground+`<text x="14" y="15" font-size="1.5" font-family="sans-serif" fill="#222">xo</text>`, plate.NoWhite), shapes)[SmallText]
	if math.Abs(f.Measured-0.8) > 0.05 || len(f.Boxes) != 1 || math.Abs(f.Boxes[0].XMM-14) > 0.3 {
		t.Errorf("two letters: %+v", f)
	}
}

// data is a picture as a data: address.
func data(t testing.TB, n int, at func(x, y int) color.NRGBA) string {
	img := image.NewNRGBA(image.Rect(0, 0, n, n))
	for y := range n {
		for x := range n {
			img.SetNRGBA(x, y, at(x, y))
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return "data:image/png;base64," + base64.StdEncoding.EncodeToString(b.Bytes())
}

// TestPicturesInside: low resolution is said of pictures inside a drawing, with the pixels
// per inch that they have there, and of no outlines.
func TestPicturesInside(t *testing.T) {
	checked := data(t, 40, func(x, y int) color.NRGBA {
		if (x/2+y/2)%2 == 0 {
			return color.NRGBA{200, 30, 40, 255}
		}
		return color.NRGBA{240, 230, 210, 255}
	})
	smooth := data(t, 40, func(x, y int) color.NRGBA { return color.NRGBA{uint8(4 * x), 90, uint8(255 - 3*y), 255} })
	shadow := data(t, 40, func(x, y int) color.NRGBA {
		return color.NRGBA{0, 0, 0, uint8(math.Max(0, 200-10*math.Hypot(float64(x)-20, float64(y)-20)))}
	})
	for name, c := range map[string]struct {
		text     string
		ppi      float64
		severity Severity
	}{
		"coarse":           {`<image x="5" y="5" width="16" height="16" href="` + checked + `"/>`, 63.5, Stop},
		"turned":           {`<image transform="translate(20 4) rotate(30)" width="16" height="16" href="` + checked + `"/>`, 63.5, Stop},
		"middling":         {`<image x="5" y="5" width="5" height="5" href="` + checked + `"/>`, 203.2, Look},
		"fine":             {`<image x="5" y="5" width="3" height="3" href="` + checked + `"/>`, 0, ""},
		"coarse and small": {`<image x="5" y="5" width="16" height="16" href="` + checked + `"/><image x="25" y="5" width="3" height="3" href="` + checked + `"/>`, 63.5, Stop},
		"fade":             {`<image x="5" y="5" width="16" height="16" href="` + smooth + `"/>`, 0, ""},
		"soft shadow":      {`<image x="5" y="5" width="16" height="16" href="` + shadow + `"/>`, 0, ""},
		"covered":          {`<image x="5" y="5" width="16" height="16" href="` + checked + `"/>` + ground, 0, ""},
		"outlines alone":   {`<path d="M5 5h9v9z" fill="#a33"/>`, 0, ""},
	} {
		f, has := shown(t, vector(t, ground+c.text, plate.NoWhite), resolution)[LowResolution]
		if has != (c.ppi > 0) || math.Abs(f.Measured-c.ppi) > 0.01*c.ppi || f.Severity != c.severity || has && (len(f.Boxes) != 1 || !strings.Contains(f.Advice, "40 × 40 pixels inside")) {
			t.Errorf("%s: %+v", name, f)
		}
	}
}

// TestPagesOfTruth: a page of PDF tells its lines, texts and pictures as a drawing in SVG
// does; a width of 0 is the thinnest there is.
func TestPagesOfTruth(t *testing.T) {
	page := func(text string) string {
		all := "%PDF-1.4\n"
		var at []int
		for _, o := range []string{"<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
			"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 144 72] /Contents 4 0 R /Resources << /Font << /F << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >> >> >>",
			fmt.Sprintf("<< /Length %d >>\nstream\n%s\nendstream", len(text), text)} {
			at = append(at, len(all))
			all += fmt.Sprintf("%d 0 obj\n%s\nendobj\n", len(at), o)
		}
		start := len(all)
		all += fmt.Sprintf("xref\n0 %d\n0000000000 65535 f \n", len(at)+1)
		for _, v := range at {
			all += fmt.Sprintf("%010d 00000 n \n", v)
		}
		return all + fmt.Sprintf("trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n", len(at)+1, start)
	}
	const yellow = "1 0.8 0 rg 5 5 134 62 re f 0 0 0 RG 0 0 0 rg "
	for _, c := range []struct {
		name, text string
		kind       Kind
		measured   float64
		words      string
	}{
		{"line", yellow + "0.5 w 20 20 m 120 50 l S", FineLine, 0.5 / 72 * 25.4, ""},
		{"line in a matrix", yellow + "q 0.5 0 0 0.5 3 3 cm 1 w 20 20 m 240 50 l S Q", FineLine, 0.5 / 72 * 25.4, ""},
		{"no width", yellow + "0 w 20 20.3 m 120 20.3 l S", FineLine, 0, "without a width"},
		{"text", yellow + "BT /F 4 Tf 20 30 Td (summer on our seven rivers) Tj ET", SmallText, 4 * 0.538 / 72 * 25.4, "Text in Helvetica at 4.0 pt"},
		{"text in a matrix", yellow + "q 0 1 -1 0 100 8 cm BT /F 8 Tf 0.5 0 0 0.5 0 0 Tm (summer on our seven) Tj ET Q", SmallText, 4 * 0.538 / 72 * 25.4, "Text in Helvetica at 4.0 pt"},
		{"picture", yellow + "q 30 0 0 30 20 20 cm BI /W 4 /H 4 /BPC 8 /CS /G /F /AHx ID 00FF00FF FF00FF00 00FF00FF FF00FF00> EI Q", LowResolution, 4. / 30 * 72, "4 × 4 pixels inside"},
	} {
		look := shapes
		if c.kind == LowResolution {
			look = resolution
		}
		f, has := shown(t, vector(t, page(c.text), plate.NoWhite), look)[c.kind]
		if !has || math.Abs(f.Measured-c.measured) > 0.015*c.measured+0.001 || !strings.Contains(f.Advice, c.words) {
			t.Errorf("%s: %+v, want %g", c.name, f, c.measured)
		}
	}
	for name, text := range map[string]string{
		"unseen text":  yellow + "BT 3 Tr /F 4 Tf 20 30 Td (summer on our seven rivers) Tj ET",
		"covered line": "0 0 0 RG 0.5 w 20 20 m 120 50 l S " + yellow,
		"clipped line": yellow + "q 10 10 5 5 re W n 0.5 w 20 20 m 120 50 l S Q",
	} {
		found := shown(t, vector(t, page(text), plate.NoWhite), shapes)
		if len(found[FineLine].Boxes)+len(found[SmallText].Boxes) > 0 {
			t.Errorf("%s: %+v", name, found)
		}
	}
}

// TestManyMarks: however many strokes a file claims, looking at them ends soon.
func TestManyMarks(t *testing.T) {
	s := vector(t, ground, plate.NoWhite)
	marks := &mark.Set{}
	for i := range mark.Most {
		y := float64(i%7000) / 10000
		marks.Strokes = append(marks.Strokes, mark.Stroke{Path: []mark.Point{{X: -9, Y: y}, {X: 9, Y: y + 1}, {X: math.Inf(1), Y: 0}, {X: math.NaN(), Y: 0}}, Width: 0.001, Solid: true})
		marks.Texts = append(marks.Texts, mark.Text{Box: mark.Box{X: math.NaN(), Width: 1, Height: 1}, XHeight: 0.001})
		marks.Pictures = append(marks.Pictures, mark.Picture{Box: mark.Box{X: -1e9, Y: -1e9, Width: 1e18, Height: 1e18}, WidthPX: 1, HeightPX: 1, Wide: 1, High: 1})
	}
	s.Art.Marks = marks
	if f, has := shown(t, s, shapes)[FineLine]; has {
		t.Errorf("%+v", f)
	}
}
