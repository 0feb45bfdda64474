package content

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"laydown/coverage/artwork/pdf/object/objecttest"
)

// made is a PDF of one page of 100 × 50 points: see [objecttest.Page].
func made(entries, text string, objects ...string) []byte {
	return objecttest.Page("/MediaBox [0 0 100 50]", entries, text, objects...)
}

func facts(t *testing.T, data []byte) Facts {
	t.Helper()
	f, err := Open(data)
	if err != nil {
		t.Fatal(err)
	}
	frame, err := f.Frame(0)
	if err != nil {
		t.Fatal(err)
	}
	all, err := f.Facts(0, frame)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// TestLexer: operands and operators, as ISO 32000-1, 7.2 and 7.3, writes them.
func TestLexer(t *testing.T) {
	for text, want := range map[string]string{
		"1 0 0 1 2.5 -.5 cm":                  "cm[1 0 0 1 2.5 -0.5]",
		"q%a comment Q\nQ":                    "q[] Q[]",
		"/A#20b gs/C Do":                      "gs[/A b] Do[/C]",
		"(a\\)(b)c) Tj":                       "Tj[()]",
		"<</A [1 2]/B<</C 3>>>> BDC":          "BDC[{/A [1 2] /B {/C 3}}]",
		"[1 (x) -2 <AF>]TJ":                   "TJ[[1 () -2 ()]]",
		"true false null x":                   "x[true false null]",
		"BI /W 2/H 1 ID \x01EI \x80\x81 EI Q": "BI[/W 2 /H 1] Q[]",
		"BI /W 2 ID":                          "BI[/W 2]",
		"1 2 (open":                           "",
		"--5 w 1e999 w":                       "w[0] w[0]",
		strings.Repeat("[", 90) + "1 w":       "",
		") > } 7 w":                           "w[   7]",
	} {
		var got []string
		for l := (&lexer{text: []byte(text)}); ; {
			o, ok := l.next()
			if !ok {
				break
			}
			got = append(got, o.name+listed(o.args))
		}
		if g := strings.Join(got, " "); g != want {
			t.Errorf("%q: %s, want %s", text, g, want)
		}
	}
}

func listed(v []value) string {
	var parts []string
	for _, a := range v {
		switch a.kind {
		case isNumber:
			parts = append(parts, fmt.Sprint(a.number))
		case isName:
			parts = append(parts, "/"+a.text)
		case isString:
			parts = append(parts, "()")
		case isList:
			s := listed(a.list)
			if len(a.list) > 0 && a.list[0].kind == isName {
				s = "{" + s[1:len(s)-1] + "}"
			}
			parts = append(parts, s)
		default:
			parts = append(parts, a.text)
		}
	}
	return "[" + strings.Join(parts, " ") + "]"
}

// TestMarks: strokes with the width and place that they have on the page, however it is
// moved, turned and nested; pictures with their pixels.
func TestMarks(t *testing.T) {
	const line = "3 w 10 10 m 60 10 l S"
	form := "<< /Type /XObject /Subtype /Form /BBox [0 0 100 50] /Matrix [0.5 0 0 0.5 0 0] >>\x00" + line
	for name, c := range map[string]struct {
		entries, text string
		objects       []string
		width         float64 // points
		x0, y0        float64 // of the first place, points from the top left corner
	}{
		"plain":     {"", line, nil, 3, 10, 40},
		"scaled":    {"", "q 0.5 0 0 0.5 10 20 cm " + line + " Q", nil, 1.5, 15, 25},
		"in a form": {"/Resources << /XObject << /F 5 0 R >> >>", "/F Do", []string{form}, 1.5, 5, 45},
		"by state":  {"/Resources << /ExtGState << /W << /LW 0.25 >> >> >>", "/W gs 10 10 m 60 10 l S", nil, 0.25, 10, 40},
		"restored":  {"", "3 w q 9 w Q 10 10 m 60 10 l S", nil, 3, 10, 40},
		"no width":  {"", "0 w 10 10 m 60 10 l S", nil, 0, 10, 40},
		"closed":    {"", "3 w 10 10 m 60 10 l 60 20 l s", nil, 3, 10, 40},
		"both":      {"", "3 w 10 10 20 20 re B", nil, 3, 10, 40},
		"rotated":   {"/Rotate 90", line, nil, 3, 10, 10},
		"upside":    {"/Rotate 180", line, nil, 3, 90, 10},
		"cropped":   {"/CropBox [5 5 95 45]", line, nil, 3, 5, 35},
		"bent":      {"", "3 w 10 10 m 10 20 20 30 60 30 c S", nil, 3, 10, 40},
	} {
		f := facts(t, made(c.entries, c.text, c.objects...))
		wide := map[string]float64{"rotated": 50, "cropped": 90}[name]
		if wide == 0 {
			wide = 100
		}
		if len(f.Strokes) != 1 {
			t.Errorf("%s: %+v", name, f)
			continue
		}
		s := f.Strokes[0]
		if math.Abs(s.Width*wide-c.width) > 1e-9 || math.Abs(s.Path[0].X*wide-c.x0) > 1e-9 || math.Abs(s.Path[0].Y*wide-c.y0) > 1e-9 {
			t.Errorf("%s: %g wide from %g, %g", name, s.Width*wide, s.Path[0].X*wide, s.Path[0].Y*wide)
		}
	}
	for name, text := range map[string]string{"no paint": "3 w 10 10 m 60 10 l n", "a fill": "10 10 9 9 re f", "uneven": "1 0 0 3 0 0 cm 3 w 10 10 m 60 10 l S", "a point": "10 10 m S"} {
		if f := facts(t, made("", text)); len(f.Strokes) > 0 {
			t.Errorf("%s: %+v", name, f.Strokes)
		}
	}
	p := facts(t, made("/Resources << /XObject << /I 5 0 R >> >>", "q 20 0 0 10 30 5 cm /I Do Q", "<< /Subtype /Image /Width 40 /Height 30 /BitsPerComponent 8 /ColorSpace /DeviceGray >>\x00"+strings.Repeat("a", 1200))).Pictures
	if len(p) != 1 || p[0].WidthPX != 40 || p[0].HeightPX != 30 || math.Abs(p[0].Wide-0.2) > 1e-9 || math.Abs(p[0].High-0.1) > 1e-9 || math.Abs(p[0].X-0.3) > 1e-9 || math.Abs(p[0].Y-0.35) > 1e-9 {
		t.Errorf("%+v", p)
	}
}

// TestBounds: files that lead in a circle, or claim without end, are left soon.
func TestBounds(t *testing.T) {
	deep := ""
	for i := range 20 {
		deep += fmt.Sprintf("/F%d Do /F%d Do ", i%2, i%3)
	}
	for name, data := range map[string][]byte{
		"a form of itself":     made("/Resources 5 0 R", "1 0 0 0 k /F0 Do", "<< /XObject << /F0 6 0 R /F1 6 0 R /F2 6 0 R >> >>", "<< /Subtype /Form /Resources 5 0 R >>\x00"+deep+"0 0 1 1 re f"),
		"a space of itself":    made("/Resources << /ColorSpace 5 0 R >>", "/A cs 1 scn 0 0 9 9 re f", "<< /A [/Indexed /A 1 <00>] /B [/Pattern /B] >>"),
		"a function of itself": made("/Resources << /ColorSpace << /A [/Separation /X /DeviceCMYK 5 0 R] >> >>", "/A cs 1 scn 0 0 9 9 re f", "<< /FunctionType 3 /Domain [0 1] /Functions [5 0 R 5 0 R] /Bounds [0.5] /Encode [0 1 0 1] >>"),
		"a pattern of itself":  made("/Resources 5 0 R", "/Pattern cs /P scn 0 0 9 9 re f 1 0 0 0 k 0 0 1 1 re f", "<< /Pattern << /P 6 0 R >> >>", "<< /PatternType 1 /PaintType 1 /Resources 5 0 R >>\x00/Pattern cs /P scn 0 0 9 9 re f"),
	} {
		f, err := Open(data)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, half := range []Half{Colours, Black} {
			if out, err := f.Separated(0, half); err == nil && len(out) > 1<<20 {
				t.Errorf("%s: %d bytes", name, len(out))
			}
		}
		_ = facts(t, data)
	}
}

// FuzzOpen: no file makes a panic, and what is parted can be read again.
func FuzzOpen(f *testing.F) {
	f.Add(made("", "0.2 0.4 0.6 0.8 k 3 w 10 10 m 60 10 l B BT /F 9 Tf (a) Tj ET"))
	f.Add(made("/Resources << /ColorSpace << /S [/Separation /Sunny /DeviceCMYK 5 0 R] >> >>", "/S cs 0.5 scn 0 0 20 20 re f", "<< /FunctionType 4 /Domain [0 1] /Range [0 1 0 1 0 1 0 1] >>\x00{ dup 0.8 mul exch dup 0.4 mul exch 0 mul 0.2 }"))
	f.Add(made("/Resources << /XObject << /F 5 0 R >> >>", "/F Do", "<< /Type /XObject /Subtype /Form /BBox [0 0 100 50] >>\x001 0 0 0 k 0 0 9 9 re f"))
	f.Fuzz(func(t *testing.T, data []byte) {
		file, err := Open(data)
		if err != nil {
			return
		}
		frame, err := file.Frame(0)
		if err != nil {
			return
		}
		all, err := file.Facts(0, frame)
		if err != nil || !all.Inks {
			return
		}
		for _, half := range []Half{Colours, Black} {
			out, err := file.Separated(0, half)
			if err != nil {
				continue
			}
			if _, err := Open(out); err != nil {
				t.Errorf("what was parted cannot be read: %v", err)
			}
		}
	})
}

// FuzzLexer: any stream is read to its end.
func FuzzLexer(f *testing.F) {
	f.Add([]byte("q 1 0 0 1 2 3 cm /A gs [(a) 2 <AF>] TJ BI /W 1 ID x EI Q"))
	f.Add([]byte("<< /A [ ( \\"))
	f.Fuzz(func(t *testing.T, data []byte) {
		l, last := &lexer{text: data}, -1
		for {
			o, ok := l.next()
			if !ok {
				return
			}
			if o.at < last || o.end <= last || o.end > len(data) {
				t.Fatalf("an operation from %d to %d after %d, of %d", o.at, o.end, last, len(data))
			}
			last = o.end
		}
	})
}
