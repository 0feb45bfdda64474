package svg

import (
	"bytes"
	"compress/gzip"
	"encoding/xml"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"golang.org/x/text/encoding/unicode"
)

const space = `xmlns="http://www.w3.org/2000/svg"`

func packedUp(text string) []byte {
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	w.Write([]byte(text))
	w.Close()
	return b.Bytes()
}

// TestSizes: the units are those of CSS Values and Units 3, section 6.2.
func TestSizes(t *testing.T) {
	const in = 25.4
	for _, c := range []struct {
		root                          string
		widthMM, heightMM, wide, high float64
	}{
		{`width="80mm" height="40mm"`, 80, 40, 80 / in * 96, 40 / in * 96},
		{`width="8cm" height="1in" viewBox="0 0 9 9"`, 80, in, 80 / in * 96, 96},
		{`width="72pt" height='6pc'`, in, in, 96, 96},
		{`width="40Q" height="40q"`, 10, 10, 10 / in * 96, 10 / in * 96},
		{`width="1e2mm" viewBox="0,0,200,100"`, 100, 50, 100 / in * 96, 50 / in * 96},
		{`height="5mm" viewBox="-3 -3 20 10"`, 10, 5, 10 / in * 96, 5 / in * 96},
		{`width="300" height="200px"`, 0, 0, 300, 200},
		{`width="300" height="20mm"`, 0, 0, 300, 20 / in * 96},
		{`width="100%" height="100%" viewBox="0 0 30 20"`, 0, 0, 30, 20},
		{`viewBox="0 0 30 20"`, 0, 0, 30, 20},
		{`viewBox="0 0 0 20"`, 0, 0, 0, 0},
		{`viewBox="0 0 30"`, 0, 0, 0, 0},
		{`width="-3mm" height="4mm"`, 0, 0, 0, 0},
		{``, 0, 0, 0, 0},
	} {
		f, err := Read([]byte("<svg " + space + " " + c.root + "/>"))
		if err != nil {
			t.Fatalf("%s: %v", c.root, err)
		}
		got, want := []float64{f.WidthMM, f.HeightMM, f.WidthPX, f.HeightPX}, []float64{c.widthMM, c.heightMM, c.wide, c.high}
		for i := range got {
			if math.Abs(got[i]-want[i]) > 1e-9*want[i] {
				t.Errorf("%s: %v, want %v", c.root, got, want)
				break
			}
		}
	}
}

// TestDialects reads one drawing as several programs write it.
func TestDialects(t *testing.T) {
	drawing := func(head string) string {
		return head + `<svg ` + space + ` width="10mm" height="10mm"><title>é</title></svg>`
	}
	utf16, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().Bytes([]byte(drawing(`<?xml version="1.0" encoding="UTF-16"?>`)))
	if err != nil {
		t.Fatal(err)
	}
	latin := strings.ReplaceAll(drawing(`<?xml version="1.0" encoding="ISO-8859-1"?>`), "é", "\xe9")
	for name, data := range map[string][]byte{
		"plain":      []byte(drawing("")),
		"declared":   []byte(drawing("<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<!-- by hand > and by eye -->\n")),
		"byte order": []byte("\xef\xbb\xbf" + drawing("<?xml version='1.0'?>")),
		"utf-16":     utf16,
		"latin":      []byte(latin),
		"packed":     packedUp(drawing("")),
		"doctype":    []byte(drawing(`<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "svg11.dtd" [<!ENTITY ns "http://a.example/"><!ENTITY gt2 "<svg>">]>`)),
		"prefixed":   []byte(`<s:svg xmlns:s="http://www.w3.org/2000/svg" width="10mm" height="10mm"><s:title>é</s:title></s:svg>`),
		"entity":     []byte(`<!DOCTYPE svg [<!ENTITY ns "http://www.w3.org/2000/svg">]><svg xmlns="&ns;" width="10mm" height="10mm"><title>é</title></svg>`),
		"over lines": []byte("<svg\n\t" + space + "\n\twidth = \"10mm\"\n\theight\n=\n'10mm'\n><title>é</title></svg>"),
	} {
		if !Is(data) {
			t.Errorf("%s: is taken for none", name)
		}
		f, err := Read(data)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if math.Abs(f.WidthMM-10) > 1e-9 || math.Abs(f.HeightMM-10) > 1e-9 {
			t.Errorf("%s: %g × %g mm", name, f.WidthMM, f.HeightMM)
		}
		at := string(f.At(300, 200))
		if !strings.Contains(at, "é") {
			t.Errorf("%s: the text is lost: %s", name, at)
		}
		again, err := Read([]byte(at))
		if err != nil || again.WidthPX != 300 || again.HeightPX != 200 {
			t.Errorf("%s: at 300 × 200: %+v, %v", name, again, err)
		}
		if strings.Count(at, "width") != 1 {
			t.Errorf("%s: several widths: %s", name, at)
		}
	}
	for _, data := range []string{"", "<html/>", "plain words", "<?xml version='1.0'?><plist/>", "\x1f\x8b nothing", "<!-- <svg/> -->"} {
		if Is([]byte(data)) {
			t.Errorf("%q is taken for a drawing", data)
		}
		if _, err := Read([]byte(data)); err == nil {
			t.Errorf("%q is read", data)
		}
	}
	if _, err := Read([]byte(`<?xml version="1.0" encoding="klingon"?><svg/>`)); err == nil || !strings.Contains(err.Error(), "klingon") {
		t.Errorf("unknown encoding: %v", err)
	}
}

func TestTexts(t *testing.T) {
	read := func(inside string) Texts {
		f, err := Read([]byte("<svg " + space + ">" + inside + "</svg>"))
		if err != nil {
			t.Fatal(err)
		}
		return f.Texts()
	}
	got := read(`<style>.a { font: italic bold 12px/1.2 "Old Hand", serif } .b{font-family:Slab ;fill:red}</style>
		<g font-family="Round, 'Other One'"><text style="font-family: Tall, sans-serif">ab <tspan>ba</tspan>ç</text></g><desc>z</desc>`)
	want := Texts{[][]string{{"Old Hand", "serif"}, {"Round", "Other One"}, {"Slab"}, {"Tall", "sans-serif"}}, []rune("abç")}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	for _, none := range []string{`<g font-family="Round"><path d="M0 0"/></g>`, `<text font-family="Round"> </text>`, `<textPath/>`} {
		if got := read(none); got.Families != nil || got.Characters != nil {
			t.Errorf("%s: %q", none, got)
		}
	}
}

// TestFamilies: lists and shorthands are those of CSS Fonts 3, sections 3.1 and 3.7.
func TestFamilies(t *testing.T) {
	for text, want := range map[string]string{
		`<svg font-family="serif"/>`:                                                             `<svg font-family="'A'"/>`,
		`<svg><text font-family='My mono, Mono' id="serif"/></svg>`:                              `<svg><text font-family='My mono,"C"' id="serif"/></svg>`,
		`<svg><g style="font-family:&quot;x&quot;, serif"/></svg>`:                               `<svg><g style="font-family:&quot;x&quot;, serif"/></svg>`,
		`<svg><g style="fill:red; font-family: Other, Serif"/></svg>`:                            `<svg><g style="fill:red; font-family: Other,'A'"/></svg>`,
		`<svg><style>.a{font:italic 700 3px/1.5 'old hand' , sans-serif;fill:red}</style></svg>`: `<svg><style>.a{font-family:'Old Hand','B';font-style:italic;font-weight:700;font-size:3px;fill:red}</style></svg>`,
		`<svg><style>.a{font: 12pt mono}</style></svg>`:                                          `<svg><style>.a{font-family:'C';font-size:12pt}</style></svg>`,
		`<svg><style>.a{font:inherit}</style></svg>`:                                             `<svg><style>.a{font:inherit}</style></svg>`,
	} {
		f, err := Read([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		f.Families = map[string]string{"serif": "A", "sans-serif": "B", "mono": "C", "old hand": "Old Hand"}
		if got := string(f.Unsized()); got != want {
			t.Errorf("%s\ngot  %s\nwant %s", text, got, want)
		}
	}
}

func TestLinked(t *testing.T) {
	f, err := Read([]byte(`<svg xmlns:xlink="http://www.w3.org/1999/xlink"><image href="data:image/png;base64,AA"/><image xlink:href="logo.png"/>
		<filter><feImage href="http://a.example/b.png"/><feImage href="#own"/></filter><a href="no.html"/><image xlink:href="logo.png"/></svg>`))
	if err != nil {
		t.Fatal(err)
	}
	if got := f.Linked(); !reflect.DeepEqual(got, []string{"logo.png", "http://a.example/b.png"}) || !f.HoldsPictures() {
		t.Errorf("%q, %v", got, f.HoldsPictures())
	}
}

// TestOrigins: keywords and percentages as CSS Transforms 1, section 5, has them.
func TestOrigins(t *testing.T) {
	for _, c := range []struct {
		origin string
		x, y   float64
		ok     bool
	}{
		{"left top", 0, 0, true}, {"bottom", 100, 80, true}, {"center", 100, 40, true}, {"bottom right", 200, 80, true}, {"top left", 0, 0, true},
		{"25% 50%", 50, 40, true}, {"10 20px", 10, 20, true}, {"1in top", 96, 0, true}, {"30", 30, 40, true}, {"x", 0, 0, false}, {"", 0, 0, false},
	} {
		f, err := Read([]byte(fmt.Sprintf(`<svg viewBox="0 0 200 80"><g transform="rotate(9)" transform-origin="%s"/></svg>`, c.origin)))
		if err != nil {
			t.Fatal(err)
		}
		want := fmt.Sprintf(`<g transform="translate(%g %g) rotate(9) translate(%g %g)"`, c.x, c.y, -c.x, -c.y)
		if got := string(f.At(2, 2)); strings.Contains(got, want) != c.ok {
			t.Errorf("%q: %s", c.origin, got)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("<svg " + space + ` width="8mm" viewBox="0 0 4 4"><g transform="x" transform-origin="top"/><text font-family="a">b</text></svg>`))
	f.Add(packedUp("<svg style='background-color:red'><image href='a'/></svg>"))
	f.Add([]byte("\xff\xfe<\x00s\x00v\x00g\x00/\x00>\x00"))
	f.Fuzz(func(t *testing.T, b []byte) {
		file, err := Read(b)
		if err != nil {
			return
		}
		file.Texts()
		file.pictures()
		if file.WidthPX == 0 {
			file.WidthPX, file.HeightPX = 10, 10
		}
		out := file.At(30, 20)
		again, err := Read(out)
		if err != nil {
			t.Fatalf("what was written does not read: %v\n%s", err, out)
		}
		if again.WidthPX != 30 || again.HeightPX != 20 {
			t.Fatalf("it comes back as %g × %g\n%s", again.WidthPX, again.HeightPX, out)
		}
		var e struct{}
		if xml.Unmarshal(file.text, &e) == nil && xml.Unmarshal(out, &e) != nil {
			t.Fatalf("sound XML is broken:\n%s\n%s", file.text, out)
		}
	})
}

func ExampleRead() {
	f, err := Read([]byte(`<svg xmlns="http://www.w3.org/2000/svg" width="8cm" viewBox="0 0 400 200"/>`))
	fmt.Printf("%.1f × %.1f mm, %v\n", f.WidthMM, f.HeightMM, err)
	// Output: 80.0 × 40.0 mm, <nil>
}
