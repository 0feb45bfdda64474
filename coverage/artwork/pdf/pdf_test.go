package pdf

import (
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"laydown/colour/reference"
	"laydown/coverage/artwork/pdf/object"
)

var engine = NewEngine(filepath.Join(os.TempDir(), "laydown-tests"))

// made is a PDF of pages, each with entries of its own and a content stream.
func made(pages ...[2]string) []byte {
	kids := ""
	var objects [][]byte
	for i, p := range pages {
		kids += fmt.Sprintf("%d 0 R ", 3+2*i)
		objects = append(objects, fmt.Appendf(nil, "<< /Type /Page /Parent 2 0 R /Contents %d 0 R %s >>", 4+2*i, p[0]), object.Stream("", []byte(p[1])))
	}
	return object.File("1.7", append([][]byte{[]byte("<< /Type /Catalog /Pages 2 0 R >>"), fmt.Appendf(nil, "<< /Type /Pages /Kids [%s] /Count %d >>", kids, len(pages))}, objects...)...)
}

func open(t *testing.T, data []byte) *Document {
	t.Helper()
	d, err := engine.Open(context.Background(), data)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(d.Close)
	return d
}

func drawn(t *testing.T, d *Document, number int, perMM float64) (Page, *image.NRGBA) {
	t.Helper()
	p, err := d.Page(number)
	if err != nil {
		t.Fatal(err)
	}
	img, err := d.Draw(p, int(math.Round(p.WidthMM*perMM)), int(math.Round(p.HeightMM*perMM)))
	if err != nil {
		t.Fatal(err)
	}
	return p, img
}

// TestBoxes draws a red square at the top left corner of a page's trim box, a green one at
// its bottom right, and blue around the box; turned as the page says (ISO 32000-1, table
// 30 and section 14.11.2).
func TestBoxes(t *testing.T) {
	// The trim box is 144 × 72 points from 30, 20 of a page that begins at 10, 10.
	const content = `0 0 1 rg 0 0 400 400 re f 1 g 30 20 144 72 re f 1 0 0 rg 30 82 10 10 re f 0 1 0 rg 164 20 10 10 re f`
	const boxes = `/MediaBox [10 10 310 210] /TrimBox [30 20 174 92]`
	red, green := color.NRGBA{255, 0, 0, 255}, color.NRGBA{0, 255, 0, 255}
	const inch = 25.4
	for _, c := range []struct {
		entries    string
		w, h       float64
		red, green image.Point // at 72 pixels an inch
	}{
		{boxes, 2 * inch, inch, image.Pt(5, 5), image.Pt(139, 67)},
		{boxes + ` /CropBox [20 15 300 200]`, 2 * inch, inch, image.Pt(5, 5), image.Pt(139, 67)},
		{boxes + ` /Rotate 90`, inch, 2 * inch, image.Pt(67, 5), image.Pt(5, 139)},
		{boxes + ` /Rotate 180`, 2 * inch, inch, image.Pt(139, 67), image.Pt(5, 5)},
		{boxes + ` /Rotate 270`, inch, 2 * inch, image.Pt(5, 139), image.Pt(67, 5)},
		{`/MediaBox [0 0 999 999] /CropBox [30 20 174 92]`, 2 * inch, inch, image.Pt(5, 5), image.Pt(139, 67)},
		{`/MediaBox [30 20 174 92]`, 2 * inch, inch, image.Pt(5, 5), image.Pt(139, 67)},
		{`/MediaBox [30 20 174 92] /TrimBox [5 5 5 5]`, 2 * inch, inch, image.Pt(5, 5), image.Pt(139, 67)},
	} {
		p, img := drawn(t, open(t, made([2]string{c.entries, content})), 0, 72/inch)
		if math.Abs(p.WidthMM-c.w) > 1e-3 || math.Abs(p.HeightMM-c.h) > 1e-3 {
			t.Errorf("%s: %g × %g mm, want %g × %g", c.entries, p.WidthMM, p.HeightMM, c.w, c.h)
		}
		if img.NRGBAAt(c.red.X, c.red.Y) != red || img.NRGBAAt(c.green.X, c.green.Y) != green {
			t.Errorf("%s: %v at %v and %v at %v", c.entries, img.NRGBAAt(c.red.X, c.red.Y), c.red, img.NRGBAAt(c.green.X, c.green.Y), c.green)
		}
		for i := 0; i < len(img.Pix); i += 4 {
			if img.Pix[i] == 0 && img.Pix[i+1] == 0 && img.Pix[i+2] == 255 {
				t.Errorf("%s: what is outside the box is drawn", c.entries)
				break
			}
		}
	}
}

// TestClear: bare paper is clear, half-clear paint is half clear and keeps its colour.
func TestClear(t *testing.T) {
	d := open(t, made([2]string{`/MediaBox [0 0 30 10] /Resources << /ExtGState << /H << /ca 0.5 >> >> >>`, `0.2 0.4 0.8 rg 10 0 10 10 re f /H gs 20 0 10 10 re f`}))
	_, img := drawn(t, d, 0, 72/25.4)
	for x, want := range map[int]color.NRGBA{5: {}, 15: {51, 102, 204, 255}, 25: {51, 102, 204, 128}} {
		got := img.NRGBAAt(x, 5)
		if far := func(a, b uint8) bool { return math.Abs(float64(a)-float64(b)) > 2 }; far(got.A, want.A) || want.A > 0 && (far(got.R, want.R) || far(got.G, want.G) || far(got.B, want.B)) {
			t.Errorf("at %d: %v, want %v", x, got, want)
		}
	}
}

func TestPages(t *testing.T) {
	d := open(t, made([2]string{`/MediaBox [0 0 72 72]`, ``}, [2]string{`/MediaBox [0 0 144 72]`, ``}))
	if d.Pages != 2 {
		t.Errorf("%d pages", d.Pages)
	}
	if p, err := d.Page(1); err != nil || math.Abs(p.WidthMM-50.8) > 1e-3 {
		t.Errorf("%+v, %v", p, err)
	}
	if _, err := d.Page(2); err == nil {
		t.Error("there is a third page")
	}
}

func TestBroken(t *testing.T) {
	good := made([2]string{`/MediaBox [0 0 72 72]`, `0 g 0 0 9 9 re f`})
	for name, data := range map[string][]byte{"empty": nil, "head": good[:20], "none": []byte("%PDF-1.4\nnothing of the kind"), "no pages": made()} {
		if d, err := engine.Open(context.Background(), data); err == nil {
			t.Errorf("%s: opened with %d pages", name, d.Pages)
			d.Close()
		}
	}
	tool := reference.Tool(t, "qpdf")
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.pdf"), filepath.Join(dir, "out.pdf")
	if err := os.WriteFile(in, good, 0o600); err != nil {
		t.Fatal(err)
	}
	if b, err := exec.Command(tool, "--encrypt", "user", "owner", "256", "--", in, out).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, b)
	}
	locked, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := engine.Open(context.Background(), locked); !errors.Is(err, ErrLocked) {
		t.Errorf("a locked file: %v", err)
	}
}

// TestAgainstPoppler draws pages that other programs made, icons by librsvg's
// rsvg-convert and a page of text by groff, and holds the mean of every channel times alpha
// to that of poppler's pdftocairo.
func TestAgainstPoppler(t *testing.T) {
	cairo, rsvg, groff := reference.Tool(t, "pdftocairo"), reference.Tool(t, "rsvg-convert"), reference.Tool(t, "groff")
	dir := t.TempDir()
	files, err := filepath.Glob("../../../testdata/icons/*.svg")
	if err != nil || len(files) == 0 {
		t.Fatal("no icons: ", err)
	}
	pages := map[string]string{}
	for _, f := range reference.Sweep(t, files, func(f string) bool { return strings.Contains(f, "an") }) {
		to := filepath.Join(dir, filepath.Base(f)+".pdf")
		if b, err := exec.Command(rsvg, "-f", "pdf", "-w", "200", "-o", to, f).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, b)
		}
		pages[filepath.Base(f)] = to
	}
	text := exec.Command(groff, "-Tpdf", "-ms")
	text.Stdin = strings.NewReader(".TL\nA page of text\n.PP\nSet in the fonts that every reader of such files has, in\n.B bold\nand in\n.I italic\ntoo.\n")
	b, err := text.Output()
	if err != nil {
		t.Fatal(err)
	}
	pages["text"] = filepath.Join(dir, "text.pdf")
	if err := os.WriteFile(pages["text"], b, 0o600); err != nil {
		t.Fatal(err)
	}
	for name, page := range map[string][2]string{
		"own fills":   {`/MediaBox [0 0 144 72]`, `0.9 0.2 0.1 rg 10 10 60 40 re f 0.1 0.3 0.8 rg 40 30 m 120 20 110 70 90 60 c h f* 0 0.4 0 RG 3 w [6 2] 0 d 5 5 m 139 67 l S`},
		"own fades":   {`/MediaBox [0 0 144 72] /Resources << /ExtGState << /H << /ca 0.4 >> /M << /BM /Multiply >> >> /Shading << /A << /ShadingType 2 /ColorSpace /DeviceRGB /Coords [0 0 144 0] /Function << /FunctionType 2 /Domain [0 1] /N 1 /C0 [1 0 0] /C1 [0 0 1] >> >> >> >>`, `q 10 10 100 30 re W n /A sh Q /H gs 0 0.5 0 rg 30 20 90 45 re f /M gs 1 0.8 0 rg 5 5 60 60 re f`},
		"own turned":  {`/MediaBox [0 0 144 72] /CropBox [20 10 120 60] /Rotate 90`, `0.2 0.6 0.4 rg 30 20 50 10 re f 1 0 0 RG 0.5 w 20 10 m 120 60 l S`},
		"own picture": {`/MediaBox [0 0 144 72]`, "q 60 0 0 60 48 6 cm BI /W 4 /H 4 /BPC 8 /CS /G /F /AHx ID 00FF40FF FF00FF80 20FF00FF FF60FF00> EI Q"},
	} {
		pages[name] = filepath.Join(dir, name+".pdf")
		if err := os.WriteFile(pages[name], made(page), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for name, path := range pages {
		ref := poppler(t, cairo, path, "-cropbox", "-r", "150")
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		_, img := drawn(t, open(t, data), 0, 150/25.4)
		got, want := mean(img), mean(ref)
		for k := range got {
			if math.Abs(got[k]-want[k]) > 1 {
				t.Errorf("%s: %.2f %%, poppler has %.2f", name, got, want)
				break
			}
		}
	}
}

// poppler draws the only page of a file as poppler's pdftocairo does.
func poppler(t *testing.T, cairo, path string, options ...string) image.Image {
	t.Helper()
	to := strings.TrimSuffix(path, ".pdf")
	if b, err := exec.Command(cairo, append(append([]string{"-png", "-transp", "-singlefile"}, options...), path, to)...).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, b)
	}
	f, err := os.Open(to + ".png")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// mean is what is taken of each channel's light, times alpha, and alpha, percent.
func mean(src image.Image) (m [4]float64) {
	img := image.NewNRGBA(src.Bounds())
	draw.Draw(img, img.Rect, src, img.Rect.Min, draw.Src)
	for i := 0; i < len(img.Pix); i += 4 {
		a := float64(img.Pix[i+3]) / 255
		for k := range 3 {
			m[k] += a * float64(255-img.Pix[i+k]) / 255
		}
		m[3] += a
	}
	for k := range m {
		m[k] *= 400 / float64(len(img.Pix))
	}
	return m
}
