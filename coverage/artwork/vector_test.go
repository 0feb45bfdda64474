package artwork_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"laydown/colour/icc"
	"laydown/colour/reference"
	"laydown/coverage/artwork"
	"laydown/coverage/artwork/arttest"
	"laydown/coverage/artwork/font"
	"laydown/coverage/artwork/pdf/object/objecttest"
	"laydown/coverage/unit"
)

func read(t testing.TB, text string, c artwork.Canvas) *artwork.File {
	t.Helper()
	if c.Studio == nil {
		c.Studio = arttest.Studio()
	}
	f, err := artwork.Read([]byte(text), "art.svg", artwork.Options{Canvas: c})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func drawn(t testing.TB, f *artwork.File) *artwork.Art {
	t.Helper()
	a, err := f.Decode()
	if err != nil {
		t.Fatal(err)
	}
	return a
}

const badge = `<svg xmlns="http://www.w3.org/2000/svg" %s><rect x="10" y="5" width="20" height="10" fill="#c0392b"/>
<rect x="30" y="5" width="20" height="10" fill="#204080" fill-opacity="0.5"/></svg>`

// TestDrawingSizes: what a drawing says of its size, what is asked for, and how many
// pixels it is drawn with.
func TestDrawingSizes(t *testing.T) {
	for _, c := range []struct {
		root     string
		wish     artwork.Wish
		ppi      float64
		w, h     int
		size     artwork.Size
		complain string
	}{
		{`width="60mm" height="20mm" viewBox="0 0 60 20"`, artwork.Wish{}, 254, 600, 200, artwork.Size{WidthMM: 60, HeightMM: 20}, ""},
		{`width="60mm" height="20mm" viewBox="0 0 60 20"`, artwork.Wish{WidthMM: 30}, 254, 300, 100, artwork.Size{WidthMM: 30, HeightMM: 10}, ""},
		{`width="60mm" height="20mm" viewBox="0 0 60 20"`, artwork.Wish{DPI: 127}, 254, 300, 100, artwork.Size{WidthMM: 60, HeightMM: 20}, ""},
		{`viewBox="0 0 60 20"`, artwork.Wish{HeightMM: 10}, 254, 300, 100, artwork.Size{WidthMM: 30, HeightMM: 10}, ""},
		{`viewBox="0 0 60 20"`, artwork.Wish{DPI: 60}, 254, 254, 85, artwork.Size{WidthMM: 25.4, HeightMM: 25.4 / 3}, ""},
		{`width="60" height="20" viewBox="0 0 60 20"`, artwork.Wish{}, 254, 51, 17, artwork.Size{}, "does not say how large it prints"},
		{`width="60mm" height="20mm" viewBox="0 0 60 20"`, artwork.Wish{WidthMM: 60, HeightMM: 60}, 254, 508, 169, artwork.Size{}, "would stretch"},
	} {
		f := read(t, fmt.Sprintf(badge, c.root), artwork.Canvas{Wish: c.wish, PPI: c.ppi})
		if f.Width != c.w && c.complain == "" || f.Height != c.h && c.complain == "" {
			t.Errorf("%s, %+v: %d × %d pixels, want %d × %d", c.root, c.wish, f.Width, f.Height, c.w, c.h)
		}
		size, err := f.PrintSize(c.wish)
		switch {
		case c.complain != "":
			if err == nil || !strings.Contains(err.Error(), c.complain) {
				t.Errorf("%s, %+v: %v", c.root, c.wish, err)
			}
		case err != nil || math.Abs(size.WidthMM-c.size.WidthMM) > 1e-9 || math.Abs(size.HeightMM-c.size.HeightMM) > 1e-9:
			t.Errorf("%s, %+v: %v, %v", c.root, c.wish, size, err)
		}
	}
	// However large it is asked for, it can be drawn.
	if f := read(t, fmt.Sprintf(badge, `viewBox="0 0 60 20"`), artwork.Canvas{Wish: artwork.Wish{WidthMM: 20000}, PPI: 600}); f.Width*f.Height > 80_100_000 || math.Abs(float64(f.Width)/float64(f.Height)-3) > 0.01 {
		t.Errorf("%d × %d pixels", f.Width, f.Height)
	}
}

// TestDrawingPixels holds colours, half-clear ones too, and clear ground to what is drawn,
// whole, packed and parted among cores.
func TestDrawingPixels(t *testing.T) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	fmt.Fprintf(z, badge, `width="60mm" height="20mm" viewBox="0 0 60 20"`)
	z.Close()
	for name, c := range map[string]struct {
		text string
		ppi  float64
	}{
		"plain":  {fmt.Sprintf(badge, `width="60mm" height="20mm" viewBox="0 0 60 20"`), 254},
		"packed": {packed.String(), 254},
		"parted": {fmt.Sprintf(badge, `width="60mm" height="20mm" viewBox="0 0 60 20"`), 1016},
	} {
		a := drawn(t, read(t, c.text, artwork.Canvas{PPI: c.ppi}))
		if a.Format != "SVG" || a.Space != icc.RGB || !a.HasAlpha || !a.StatesSRGB || !a.Vector {
			t.Errorf("%s: %+v", name, a.Info)
		}
		k := c.ppi / unit.MMPerInch // pixels a millimetre
		for _, p := range []struct {
			x, y  float64 // mm
			want  artwork.Device
			alpha uint8
		}{{5, 2, artwork.Device{}, 0}, {20, 10, artwork.Device{0xc0, 0x39, 0x2b}, 255}, {40, 10, artwork.Device{0x20, 0x40, 0x80}, 128}, {40, 16, artwork.Device{}, 0}} {
			i := int(p.y*k)*a.Width + int(p.x*k)
			got := a.Device(i)
			if a.AlphaAt(i) != p.alpha {
				t.Errorf("%s: alpha at %g, %g mm is %d, want %d", name, p.x, p.y, a.AlphaAt(i), p.alpha)
			}
			for j := range 3 {
				if p.alpha > 0 && math.Abs(float64(got[j])-float64(p.want[j])) > 1 {
					t.Errorf("%s: %v at %g, %g mm, want %v", name, got, p.x, p.y, p.want)
				}
			}
		}
	}
}

// TestBands: a drawing parted among cores is the drawing.
func TestBands(t *testing.T) {
	reference.Long(t)
	text := `<svg xmlns="http://www.w3.org/2000/svg" width="127mm" height="95.25mm" viewBox="0 0 400 300"><defs><linearGradient id="g"><stop offset="0" stop-color="red"/><stop offset="1" stop-color="blue"/></linearGradient></defs>
<ellipse cx="50%" cy="50%" rx="45%" ry="45%" fill="url(#g)" stroke="#123" stroke-width="3%"/><text x="200" y="160" font-size="40" text-anchor="middle" font-family="sans-serif" fill="white">in two parts</text></svg>`
	large := drawn(t, read(t, text, artwork.Canvas{PPI: 400})) // 2000 × 1500: more than a million
	small := drawn(t, read(t, text, artwork.Canvas{PPI: 200}))
	var sum, diff float64
	for y := range small.Height {
		for x := range small.Width {
			var mean float64
			for i := range 4 {
				mean += float64(large.AlphaAt((2*y+i/2)*large.Width+2*x+i%2)) / 4
			}
			a := float64(small.AlphaAt(y*small.Width + x))
			sum, diff = sum+a, diff+math.Abs(a-mean)
		}
	}
	if diff > 0.004*sum {
		t.Errorf("they differ by %.2f %%", diff/sum*100)
	}
}

func TestFontsOfDrawings(t *testing.T) {
	reference.Long(t)
	set := func(family string) string {
		return `<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="10mm" viewBox="0 0 40 10"><text x="1" y="8" font-size="7" ` + family + `>Hamburg</text></svg>`
	}
	ink := func(family string) (float64, []artwork.Substitute) {
		a := drawn(t, read(t, set(family), artwork.Canvas{PPI: 300}))
		sum := 0.0
		for i := range a.Width * a.Height {
			sum += float64(a.AlphaAt(i))
		}
		return sum, a.Substitutes
	}
	serif, none := ink(`font-family="serif"`)
	if len(none) > 0 || serif == 0 {
		t.Errorf("serif: %v, ink of %g", none, serif)
	}
	for _, c := range []struct {
		family  string
		like    string
		missing []artwork.Substitute
	}{
		{`font-family="No Such Hand"`, `font-family="serif"`, []artwork.Substitute{{Asked: "No Such Hand", Used: font.Serif}}},
		{`font-family="No Such Hand, Liberation Mono"`, `font-family="monospace"`, []artwork.Substitute{{Asked: "No Such Hand", Used: font.Mono}}},
		{`style="font:7px 'No Such Hand',sans-serif"`, `font-family="Liberation Sans"`, []artwork.Substitute{{Asked: "No Such Hand", Used: font.Sans}}},
		{`font-family="liberation sans"`, `font-family="sans-serif"`, nil},
		{``, `font-family="serif"`, nil},
	} {
		got, missing := ink(c.family)
		want, _ := ink(c.like)
		if got != want || !reflect.DeepEqual(missing, c.missing) {
			t.Errorf("%s: ink of %g and %v, want %g as %s and %v", c.family, got, missing, want, c.like, c.missing)
		}
	}
	strange := drawn(t, read(t, strings.Replace(set(`font-family="serif"`), "Hamburg", "\U00013000", 1), artwork.Canvas{PPI: 100}))
	if want := []artwork.Substitute{{Asked: "one that has \"\U00013000\""}}; !reflect.DeepEqual(strange.Substitutes, want) {
		t.Errorf("a character that no font has: %q", strange.Substitutes)
	}
}

// TestLinkedPictures: what is not in the file is not opened, though it lies beside it.
func TestLinkedPictures(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "red.svg"), []byte(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"><rect width="1" height="1" fill="red"/></svg>`), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, to := range []string{"red.svg", filepath.Join(dir, "red.svg"), "file://" + filepath.Join(dir, "red.svg")} {
		path := filepath.Join(dir, "art.svg")
		text := `<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9"><image href="` + to + `" width="9" height="9"/></svg>`
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		f, err := artwork.Open(path, artwork.Options{Canvas: artwork.Canvas{Studio: arttest.Studio()}})
		if err != nil {
			t.Fatal(err)
		}
		a := drawn(t, f)
		if !reflect.DeepEqual(a.Linked, []string{to}) {
			t.Errorf("%s: linked are %q", to, a.Linked)
		}
		for i := range a.Width * a.Height {
			if a.AlphaAt(i) > 0 {
				t.Fatalf("%s is drawn", to)
			}
		}
	}
}

// TestAgainstLibrsvg holds drawings to librsvg's (Debian package librsvg2-bin): the mean
// of every channel, multiplied by alpha, and of alpha.
func TestAgainstLibrsvg(t *testing.T) {
	reference.Long(t)
	tool := reference.Tool(t, "rsvg-convert")
	icons, err := filepath.Glob("../../testdata/icons/*.svg")
	if err != nil || len(icons) == 0 {
		t.Fatal("no icons: ", err)
	}
	for _, path := range icons {
		to := filepath.Join(t.TempDir(), "out.png")
		if out, err := exec.Command(tool, "-w", "300", "-o", to, path).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v: %s", path, err, out)
		}
		ref, err := artwork.Open(to, artwork.Options{})
		if err != nil {
			t.Fatal(err)
		}
		f, err := artwork.Open(path, artwork.Options{Canvas: artwork.Canvas{Studio: arttest.Studio(), PPI: 254, Wish: artwork.Wish{WidthMM: 30}}})
		if err != nil {
			t.Fatal(err)
		}
		got, want := mean(drawn(t, f)), mean(drawn(t, ref))
		for k := range got {
			if math.Abs(got[k]-want[k]) > 0.002 {
				t.Errorf("%s: %v, librsvg has %v", filepath.Base(path), got, want)
				break
			}
		}
	}
}

// mean is of every channel times alpha, and of alpha, 0–1.
func mean(a *artwork.Art) (m [4]float64) {
	n := float64(a.Width*a.Height) * 255
	for i := range a.Width * a.Height {
		alpha := float64(a.AlphaAt(i))
		d := a.Device(i)
		for k := range 3 {
			c := d[k]
			if a.Space == icc.Gray {
				c = d[0]
			}
			m[k] += float64(c) * alpha / 255 / n
		}
		m[3] += alpha / n
	}
	return m
}

// page is a PDF of one page of 144 × 72 points.
func page(resources, text string) []byte {
	return objecttest.Page("", "/MediaBox [0 0 144 72] /Resources << /Font << /F << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >> "+resources+" >>", text)
}

func readPage(t testing.TB, resources, text string) *artwork.Art {
	t.Helper()
	f, err := artwork.Read(page(resources, text), "page.pdf", artwork.Options{Canvas: artwork.Canvas{Studio: arttest.Studio()}})
	if err != nil {
		t.Fatal(err)
	}
	return drawn(t, f)
}

// TestPagesInInks: text of black alone is on no other plate, however its edges are
// smoothed; beside screen colours the page is one of screen colours, and says why.
func TestPagesInInks(t *testing.T) {
	const text = `1 0 0 0 k 0 0 30 72 re f 0 0 0 1 k BT /F 20 Tf 40 30 Td (Black) Tj ET`
	a := readPage(t, "", text)
	if a.Space != icc.CMYK || !a.HasAlpha || !a.Vector || a.StatesSRGB || a.Marks == nil || a.Marks.LostInks != "" {
		t.Fatalf("%+v", a.Info)
	}
	black := 0.0
	for i := range a.Width * a.Height {
		if x := i % a.Width * 144 / a.Width; x < 32 {
			continue
		}
		d := a.Device(i)
		if d[0]+d[1]+d[2] > 0 {
			t.Fatalf("%v beside the black", d)
		}
		black += float64(d[3]) / 255 * float64(a.AlphaAt(i)) / 255
	}
	if share := black / float64(a.Width*a.Height); share < 0.02 || share > 0.1 {
		t.Errorf("black takes %.3f of the page", share)
	}
	mixed := readPage(t, "", text+" 1 0 0 rg 0 0 9 9 re f")
	if mixed.Space != icc.RGB || !mixed.StatesSRGB || mixed.Marks.LostInks == "" {
		t.Errorf("%+v", mixed.Info)
	}
}
