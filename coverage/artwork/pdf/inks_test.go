package pdf

import (
	"context"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"laydown/colour/reference"
	"laydown/coverage/artwork/pdf/content"
	"laydown/coverage/artwork/pdf/object/objecttest"
)

// inksOf draws a page in its inks, a pixel for each point.
func inksOf(t *testing.T, data []byte) (facts content.Facts, width int, pix []byte) {
	t.Helper()
	d := open(t, data)
	p, err := d.Page(0)
	if err != nil {
		t.Fatal(err)
	}
	facts, inks, err := d.Facts(&p)
	if err != nil {
		t.Fatal(err)
	}
	if inks == nil {
		return facts, 0, nil
	}
	w, h := int(math.Round(p.WidthMM/pointMM)), int(math.Round(p.HeightMM/pointMM))
	pix, err = inks.Draw(context.Background(), w, h)
	if err != nil {
		t.Fatal(err)
	}
	return facts, w, pix
}

// TestInks: numbers of CMYK come out as they are written, whichever way they are written;
// black text has no other ink (ISO 32000-1, 8.6).
func TestInks(t *testing.T) {
	for name, c := range map[string]struct {
		entries, text string
		want          [5]uint8
	}{
		"k":            {``, `0.2 0.4 0.6 0.8 k 0 0 20 20 re f`, [5]uint8{51, 102, 153, 204, 255}},
		"black":        {``, `0 0 0 1 k 0 0 20 20 re f`, [5]uint8{0, 0, 0, 255, 255}},
		"K":            {``, `1 0 0 0 K 40 w 0 10 m 20 10 l S`, [5]uint8{255, 0, 0, 0, 255}},
		"cs":           {``, `/DeviceCMYK cs 0 1 0 0.2 sc 0 0 20 20 re f`, [5]uint8{0, 255, 0, 51, 255}},
		"cs begins":    {``, `/DeviceCMYK cs 0 0 20 20 re f`, [5]uint8{0, 0, 0, 255, 255}},
		"default":      {``, `0 0 20 20 re f 1 0 0 0 k 0 0 1 1 re f`, [5]uint8{0, 0, 0, 255, 255}},
		"grey":         {``, `0.6 g 0 0 20 20 re f 1 0 0 0 k 0 0 1 1 re f`, [5]uint8{0, 0, 0, 102, 255}},
		"grey space":   {``, `/DeviceGray cs 0.6 sc 0 0 20 20 re f 1 0 0 0 k 0 0 1 1 re f`, [5]uint8{0, 0, 0, 102, 255}},
		"half clear":   {`/ExtGState << /H << /ca 0.5 >> >>`, `/H gs 0 1 0 0 k 0 0 20 20 re f`, [5]uint8{0, 255, 0, 0, 128}},
		"half over":    {`/ExtGState << /H << /ca 0.5 >> >>`, `1 0 0 0 k 0 0 20 20 re f /H gs 0 1 0 0 k 0 0 20 20 re f`, [5]uint8{127, 128, 0, 0, 255}},
		"multiplied":   {`/ExtGState << /M << /BM /Multiply >> >>`, `0.5 0 0 0 k 0 0 20 20 re f /M gs 0.5 0.5 0 0 k 0 0 20 20 re f`, [5]uint8{191, 128, 0, 0, 255}},
		"spot":         {`/ColorSpace << /S [/Separation /Sunny /DeviceCMYK << /FunctionType 2 /Domain [0 1] /N 1 /C0 [0 0 0 0] /C1 [0 0.2 0.8 0.4] >>] >>`, `/S cs 0.5 scn 0 0 20 20 re f`, [5]uint8{0, 26, 102, 51, 255}},
		"indexed":      {`/ColorSpace << /I [/Indexed /DeviceCMYK 1 <00000000 3366CCFF>] >>`, `/I cs 1 sc 0 0 20 20 re f`, [5]uint8{51, 102, 204, 255, 255}},
		"inline image": {``, "q 20 0 0 20 0 0 cm BI /W 1 /H 1 /BPC 8 /CS /CMYK /F /AHx ID 3366CC00> EI Q", [5]uint8{51, 102, 204, 0, 255}},
		"shading":      {`/Shading << /A << /ShadingType 2 /ColorSpace /DeviceCMYK /Coords [0 0 20 0] /Extend [true true] /Function << /FunctionType 2 /Domain [0 1] /N 1 /C0 [0.2 0.4 0.6 0.8] /C1 [0.2 0.4 0.6 0.8] >> >> >>`, `/A sh`, [5]uint8{51, 102, 153, 204, 255}},
	} {
		facts, w, pix := inksOf(t, made([2]string{`/MediaBox [0 0 20 20] /Resources << ` + c.entries + ` >>`, c.text}))
		if pix == nil {
			t.Errorf("%s: not in inks: %+v", name, facts)
			continue
		}
		got := pix[5*(10*w+10):][:5]
		for k := range c.want {
			if math.Abs(float64(got[k])-float64(c.want[k])) > 1.5 {
				t.Errorf("%s: %v, want %v", name, got, c.want)
				break
			}
		}
	}
}

const box20 = `/MediaBox [0 0 20 20] `

// TestInksOfObjects: spot colours by a calculator and by a table, pictures of CMYK, plain
// and with an alpha, patterns, forms and glyphs.
func TestInksOfObjects(t *testing.T) {
	table := make([]byte, 0, 8)
	table = append(table, 0, 0, 0, 0, 51, 102, 204, 255)
	picture := "\x33\x66\xcc\x00"
	for name, c := range map[string]struct {
		entries, text string
		objects       []string
		want          [5]uint8
	}{
		"calculator": {`/Resources << /ColorSpace << /S [/Separation /Sunny /DeviceCMYK 5 0 R] >> >>`, `/S cs 0.5 scn 0 0 20 20 re f`,
			[]string{"<< /FunctionType 4 /Domain [0 1] /Range [0 1 0 1 0 1 0 1] >>\x00{ dup 0.8 mul exch dup 0.4 mul exch 0 mul 0.2 }"}, [5]uint8{102, 51, 0, 51, 255}},
		"two inks": {`/Resources << /ColorSpace << /S [/DeviceN [/Sunny /Black] /DeviceCMYK 5 0 R] >> >>`, `/S cs 0.5 0.25 scn 0 0 20 20 re f`,
			[]string{"<< /FunctionType 4 /Domain [0 1 0 1] /Range [0 1 0 1 0 1 0 1] >>\x00{ 0 3 1 roll exch 0 3 1 roll exch }"}, [5]uint8{0, 0, 128, 64, 255}},
		"table": {`/Resources << /ColorSpace << /S [/Separation /Sunny /DeviceCMYK 5 0 R] >> >>`, `/S cs 1 scn 0 0 20 20 re f`,
			[]string{"<< /FunctionType 0 /Domain [0 1] /Range [0 1 0 1 0 1 0 1] /Size [2] /BitsPerSample 8 >>\x00" + string(table)}, [5]uint8{51, 102, 204, 255, 255}},
		"picture": {`/Resources << /XObject << /I 5 0 R >> >>`, `q 20 0 0 20 0 0 cm /I Do Q`,
			[]string{"<< /Type /XObject /Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceCMYK >>\x00" + picture}, [5]uint8{51, 102, 204, 0, 255}},
		"inverted picture": {`/Resources << /XObject << /I 5 0 R >> >>`, `q 20 0 0 20 0 0 cm /I Do Q`,
			[]string{"<< /Type /XObject /Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceCMYK /Decode [1 0 1 0 1 0 1 0] >>\x00" + picture}, [5]uint8{204, 153, 51, 255, 255}},
		"clear picture": {`/Resources << /XObject << /I 5 0 R >> >>`, `q 20 0 0 20 0 0 cm /I Do Q`,
			[]string{"<< /Type /XObject /Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceCMYK /SMask 6 0 R >>\x00" + picture,
				"<< /Type /XObject /Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceGray >>\x00\x66"}, [5]uint8{51, 102, 204, 0, 102}},
		"form": {`/Resources << /XObject << /F 5 0 R >> >>`, `0 1 0 0 k /F Do`, // which goes on with the colour around it
			[]string{"<< /Type /XObject /Subtype /Form /BBox [0 0 20 20] >>\x000 0 20 20 re f"}, [5]uint8{0, 255, 0, 0, 255}},
		"pattern": {`/Resources << /Pattern << /P 5 0 R >> >>`, `1 0 0 0 k 0 0 1 1 re f /Pattern cs /P scn 0 0 20 20 re f`, // which begins with black
			[]string{"<< /PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 4 4] /XStep 4 /YStep 4 /Resources << >> >>\x000 0 4 4 re f"}, [5]uint8{0, 0, 0, 255, 255}},
		"inked pattern": {`/Resources << /Pattern << /P 5 0 R >> /ColorSpace << /U [/Pattern /DeviceCMYK] >> >>`, `/U cs 0.2 0.4 0.6 0 /P scn 0 0 20 20 re f`,
			[]string{"<< /PatternType 1 /PaintType 2 /TilingType 1 /BBox [0 0 4 4] /XStep 4 /YStep 4 /Resources << >> >>\x000 0 4 4 re f"}, [5]uint8{51, 102, 153, 0, 255}},
		"glyph": {`/Resources << /Font << /T << /Type /Font /Subtype /Type3 /FontBBox [0 0 1 1] /FontMatrix [1 0 0 1 0 0] /FirstChar 97 /LastChar 97 /Widths [1] /Encoding << /Type /Encoding /Differences [97 /a] >> /CharProcs << /a 5 0 R >> >> >> >>`,
			`0 0 0 1 k BT /T 20 Tf (a) Tj ET`, []string{"<<>>\x001 0 0 0 1 1 d1 0 0 1 1 re f"}, [5]uint8{0, 0, 0, 255, 255}},
		"soft mask": {`/Resources << /ExtGState << /M << /SMask << /Type /Mask /S /Luminosity /G 5 0 R >> >> >> >>`, `/M gs 0 0 1 0 k 0 0 20 20 re f`,
			[]string{"<< /Type /XObject /Subtype /Form /BBox [0 0 20 20] /Group << /S /Transparency /CS /DeviceGray >> >>\x000.4 g 0 0 20 20 re f"}, [5]uint8{0, 0, 255, 0, 102}},
	} {
		facts, w, pix := inksOf(t, objecttest.Page("", box20+c.entries, c.text, c.objects...))
		if pix == nil {
			t.Errorf("%s: not in inks: %+v", name, facts)
			continue
		}
		got := pix[5*(10*w+10):][:5]
		for k := range c.want {
			if math.Abs(float64(got[k])-float64(c.want[k])) > 2 {
				t.Errorf("%s: %v, want %v", name, got, c.want)
				break
			}
		}
	}
}

// TestFacts: what a page says of its inks, and why they are not kept.
func TestFacts(t *testing.T) {
	sunny := `/ColorSpace << /S [/Separation /Sunny#20Side /DeviceCMYK << /FunctionType 2 /Domain [0 1] /N 1 /C0 [0 0 0 0] /C1 [0 0.2 0.8 0.4] >>] /B [/Separation /Black /DeviceGray << /FunctionType 2 /Domain [0 1] /N 1 /C0 [1] /C1 [0] >>]
		/L [/Separation /Light /Lab << /FunctionType 2 /Domain [0 1] /N 1 /C0 [100 0 0] /C1 [50 0 0] >>] >>`
	for name, c := range map[string]struct {
		entries, text string
		spots         string
		over, kept    bool
		lost          string
	}{
		"grey alone":     {``, `0 g 0 0 9 9 re f`, "", false, false, ""},
		"screen alone":   {``, `1 0 0 rg 0 0 9 9 re f`, "", false, false, ""},
		"inks":           {``, `1 0 0 0 k 0 0 9 9 re f`, "", false, true, ""},
		"both":           {``, `1 0 0 0 k 0 0 9 9 re f 1 0 0 rg 0 0 9 9 re f`, "", false, false, "screen colours"},
		"set, not used":  {``, `1 0 0 rg 1 0 0 0 k 0 0 9 9 re f`, "", false, true, ""},
		"no paint":       {``, `1 0 0 0 k 0 0 9 9 re f 1 0 0 rg 0 0 9 9 re n`, "", false, true, ""},
		"spot":           {sunny, `/S cs 1 scn 0 0 9 9 re f`, "Sunny Side", false, true, ""},
		"black by name":  {sunny, `/B cs 1 scn 0 0 9 9 re f`, "", false, true, ""},
		"spot of light":  {sunny, `/L cs 1 scn 0 0 9 9 re f 0 0 0 1 k 0 0 9 9 re f`, "Light", false, false, "screen colours"},
		"overprint":      {`/ExtGState << /O << /op true >> >>`, `/O gs 0 0 0 1 k 0 0 9 9 re f`, "", true, true, ""},
		"strokes only":   {`/ExtGState << /O << /OP true /op false >> >>`, `/O gs 0 0 0 1 k 0 0 9 9 re f`, "", false, true, ""},
		"by hue":         {`/ExtGState << /O << /BM /Hue >> >>`, `/O gs 0 0 0 1 k 0 0 9 9 re f`, "", false, false, "blends"},
		"unseen text":    {``, `1 0 0 rg BT 3 Tr (a) Tj ET 0 0 0 1 k 0 0 9 9 re f`, "", false, true, ""},
		"screen picture": {``, "0 0 0 1 k 0 0 9 9 re f BI /W 1 /H 1 /BPC 8 /CS /RGB /F /AHx ID 3366CC> EI", "", false, false, "screen colours"},
	} {
		facts, _, pix := inksOf(t, made([2]string{box20 + `/Resources << ` + c.entries + ` >>`, c.text}))
		if strings.Join(facts.Spots, ",") != c.spots || facts.Overprint != c.over || (pix != nil) != c.kept || facts.Inks != c.kept || !strings.Contains(facts.LostInks, c.lost) || (facts.LostInks == "") != (c.lost == "") {
			t.Errorf("%s: %+v", name, facts)
		}
	}
}

// TestInksOfOtherWriters: object streams, encryption without a password, and pages that
// inherit, as qpdf writes them, come out alike.
func TestInksOfOtherWriters(t *testing.T) {
	tool := reference.Tool(t, "qpdf")
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.pdf"), filepath.Join(dir, "out.pdf")
	if err := os.WriteFile(in, made([2]string{box20, `0.2 0.4 0.6 0.8 k 0 0 20 20 re f`}), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, options := range [][]string{{"--object-streams=generate"}, {"--linearize"}, {"--encrypt", "", "owner", "256", "--"}, {"--encrypt", "", "owner", "128", "--use-aes=y", "--"}, {"--compress-streams=y", "--recompress-flate"}} {
		if b, err := exec.Command(tool, append(options, in, out)...).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, b)
		}
		data, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		if facts, _, pix := inksOf(t, data); pix == nil || [5]byte(pix[:5]) != [5]byte{51, 102, 153, 204, 255} {
			t.Errorf("%v: %+v", options, facts)
		}
	}
}

// TestInksAgainstPoppler holds how much of a page is covered, in CMYK, to poppler's
// pdftocairo, which knows of screen colours alone: within a point; and that all of text in
// black alone is on the black plate.
func TestInksAgainstPoppler(t *testing.T) {
	cairo, groff := reference.Tool(t, "pdftocairo"), reference.Tool(t, "groff")
	dir := t.TempDir()
	set := exec.Command(groff, "-Tpdf")
	set.Stdin = strings.NewReader(".defcolor ink cmyk 0f 0f 0f 1f\n.gcolor ink\n.ps 24\n.vs 30\n.sp 2\nBlack alone, in letters of 24 points, and again on the lines that follow below.\n")
	typeset, err := set.Output()
	if err != nil {
		t.Fatal(err)
	}
	fonts := `/Font << /F << /Type /Font /Subtype /Type1 /BaseFont /Times-Roman >> >>`
	for name, c := range map[string]struct {
		entries, text string
		black         bool // alone
	}{
		"text":   {"", "", true}, // by groff
		"shapes": {fonts, `1 0 0 0 k 10 10 60 40 re f 0 1 1 0.2 K 4 w 20 5 m 130 65 l S BT /F 20 Tf 0 0 0 1 k 60 30 Td (Over) Tj ET`, false},
		"clear":  {`/ExtGState << /H << /ca 0.3 >> >>`, `/H gs 0 0 0 1 k 10 10 100 50 re f`, true},
	} {
		data := made([2]string{`/MediaBox [0 0 144 72] /Resources << ` + c.entries + ` >>`, c.text})
		if name == "text" {
			data = typeset
		}
		path := filepath.Join(dir, name+".pdf")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		ref := poppler(t, cairo, path, "-r", "144")
		d := open(t, data)
		p, err := d.Page(0)
		if err != nil {
			t.Fatal(err)
		}
		_, inks, err := d.Facts(&p)
		if err != nil || inks == nil {
			t.Fatalf("%s: %v", name, err)
		}
		wide, high := ref.Bounds().Dx(), ref.Bounds().Dy()
		pix, err := inks.Draw(context.Background(), wide, high)
		if err != nil {
			t.Fatal(err)
		}
		var black, all float64 // percent of the page
		for ; len(pix) > 0; pix = pix[5:] {
			if c.black && max(pix[0], pix[1], pix[2]) > 0 {
				t.Fatalf("%s: %v beside black", name, pix[:5])
			}
			a := float64(pix[4]) / 255 / float64(wide*high) * 100
			all += a
			black += a * float64(pix[3]) / 255
		}
		want := mean(ref)[3]
		if math.Abs(all-want) > 1 || c.black && math.Abs(black-want) > 1 {
			t.Errorf("%s: %.2f %% covered, %.2f %% with black; poppler covers %.2f %%", name, all, black, want)
		}
	}
}
