package swatch

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"unicode/utf16"

	"laydown/colour"
)

func TestParse(t *testing.T) {
	for name, c := range map[string]struct {
		data string
		want string // name=hex, comma separated; or an error's words after !
	}{
		"gimp":       {"GIMP Palette\nName: Fen\nColumns: 2\n#\n 31 107  74\tFen Green\n0 0 0 Untitled\n", "Fen Green=#1f6b4a,#000000=#000000"},
		"empty gimp": {"GIMP Palette\n#\n", "!no colours"},
		"empty":      {"", "!no palette"},
		"csv":        {"name,hex\nA,#010203\n", "!no palette"},
		"bom":        {"\xef\xbb\xbfGIMP Palette\n1 2 3 A\n", "A=#010203"},
		"bad gimp":   {"GIMP Palette\n1 2 300 X\n", "!line 2"},
		"short gimp": {"GIMP Palette\n1 2\n", "!line 2"},
	} {
		got, _, err := Parse([]byte(c.data), Options{})
		if want, bad := strings.CutPrefix(c.want, "!"); bad {
			if err == nil || !strings.Contains(err.Error(), want) || errors.Is(err, ErrUnknown) != (want == "no palette") {
				t.Errorf("%s: error %v, want %q", name, err, want)
			}
			continue
		}
		var s []string
		for _, g := range got {
			s = append(s, g.Name+"="+g.Lab.Hex())
		}
		if err != nil || strings.Join(s, ",") != c.want {
			t.Errorf("%s: %v, %v, want %s", name, s, err, c.want)
		}
	}
}

// ase builds a swatch exchange file of the given colours between group blocks.
func ase(colours ...[]byte) []byte {
	b := append([]byte("ASEF"), 0, 1, 0, 0)
	b = binary.BigEndian.AppendUint32(b, uint32(len(colours)+2))
	b = append(b, 0xc0, 1, 0, 0, 0, 4, 0, 1, 0, 0)
	for _, c := range colours {
		b = append(b, 0, 1)
		b = append(binary.BigEndian.AppendUint32(b, uint32(len(c))), c...)
	}
	return append(b, 0xc0, 2, 0, 0, 0, 0)
}

func aseBlock(name, model string, v ...float32) []byte {
	u := append(utf16.Encode([]rune(name)), 0)
	b := binary.BigEndian.AppendUint16(nil, uint16(len(u)))
	for _, c := range u {
		b = binary.BigEndian.AppendUint16(b, c)
	}
	b = append(b, model...)
	for _, f := range v {
		b = binary.BigEndian.AppendUint32(b, math.Float32bits(f))
	}
	return append(b, 0, 2)
}

func TestParseASE(t *testing.T) {
	data := ase(aseBlock("Fen Green", "RGB ", 31./255, 107./255, 74./255), aseBlock("Paper", "LAB ", 0.95, 0, -2),
		aseBlock("Grey", "Gray", 1), aseBlock("Rich", "CMYK", 0.5, 0.25, 0, 1))
	got, _, err := Parse(data, Options{})
	if err != nil || len(got) != 4 {
		t.Fatalf("%v, %v", got, err)
	}
	if got[0].Name != "Fen Green" || got[0].Lab.Hex() != "#1f6b4a" || got[1].Lab != (colour.Lab{L: float64(float32(0.95)) * 100, B: -2}) || got[2].Lab.Hex() != "#ffffff" {
		t.Errorf("%+v", got)
	}
	if got[3].CMYK == nil || *got[3].CMYK != [4]float64{0.5, 0.25, 0, 1} {
		t.Errorf("CMYK %+v", got[3])
	}
	for name, bad := range map[string][]byte{
		"header": data[:11], "block": data[:len(data)-20], "model": ase(aseBlock("X", "HSB ", 0, 0, 0)), "range": ase(aseBlock("X", "RGB ", 2, 0, 0)),
		"values": ase(aseBlock("X", "CMYK", 0)[:14]), "nan": ase(aseBlock("X", "LAB ", float32(math.NaN()), 0, 0)), "none": ase(),
	} {
		if got, _, err := Parse(bad, Options{}); err == nil {
			t.Errorf("%s: %+v passed", name, got)
		}
	}
}

func TestParseCxF(t *testing.T) {
	half := strings.TrimSpace(strings.Repeat("0.5 ", 31))
	doc := func(objects, illuminant string) []byte {
		return []byte(`<?xml version="1.0"?><cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core"><cc:Resources><cc:ObjectCollection>` + objects +
			`</cc:ObjectCollection><cc:ColorSpecificationCollection><cc:ColorSpecification Id="s"><cc:TristimulusSpec><cc:Illuminant>` + illuminant +
			`</cc:Illuminant><cc:Observer>2_Degree</cc:Observer></cc:TristimulusSpec><cc:MeasurementSpec><cc:WavelengthRange StartWL="400" Increment="10"/>` +
			`</cc:MeasurementSpec></cc:ColorSpecification></cc:ColorSpecificationCollection></cc:Resources></cc:CxF>`)
	}
	object := func(name, values string) string {
		return `<cc:Object ObjectType="Target" Name="` + name + `" Id="o"><cc:ColorValues>` + values + `</cc:ColorValues></cc:Object>`
	}
	lab := `<cc:ColorCIELab ColorSpecification="s"><cc:L>52.5</cc:L><cc:A>-10</cc:A><cc:B>31.25</cc:B></cc:ColorCIELab>`
	spectrum := `<cc:ReflectanceSpectrum ColorSpecification="s" StartWL="400">` + half + `</cc:ReflectanceSpectrum>`
	got, _, err := Parse(doc(object("Moss", lab)+object("Slate", lab+spectrum)+object("Note", ""), "D50"), Options{})
	if err != nil || len(got) != 2 {
		t.Fatalf("%v, %v", got, err)
	}
	grey := colour.XYZ{X: 0.5 * colour.D50.X, Y: 0.5, Z: 0.5 * colour.D50.Z}.Lab(colour.D50)
	if got[0].Name != "Moss" || got[0].Lab != (colour.Lab{L: 52.5, A: -10, B: 31.25}) || colour.DeltaE00(got[1].Lab, grey) > 1e-6 {
		t.Errorf("%+v, want Moss as it is and Slate from its spectrum, %v", got, grey)
	}
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"D65":     {doc(object("Moss", lab), "D65"), "not D50"},
		"xml":     {[]byte("<cc:CxF><broken"), "CxF document"},
		"none":    {doc("", "D50"), "no colours"},
		"numbers": {doc(object("Moss", strings.Replace(lab, "52.5", "dark", 1)), "D50"), "not a number"},
		"short":   {doc(object("Slate", strings.Replace(spectrum, half, "0.5 0.5", 1)), "D50"), "too short"},
	} {
		if _, _, err := Parse(c.data, Options{}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q", name, err, c.want)
		}
	}
}

func TestParseRecipe(t *testing.T) {
	for text, want := range map[string]*[4]float64{"0/100/60/5": {0, 1, 0.6, 0.05}, " 1.5 / 0/0/ 100": {0.015, 0, 0, 1}, "0/0/0/101": nil, "0/-1/0/0": nil, "0/0/0/": nil, "0/0/NaN/0": nil} {
		s, ok, err := ParseRecipe("Rose", text)
		if !ok || (err != nil) != (want == nil) || (want != nil && (s.Name != "Rose" || *s.CMYK != *want)) {
			t.Errorf("%q: %+v, %t, %v, want %v", text, s, ok, err, want)
		}
	}
	for _, text := range []string{"", "navy", "#010203", "50,0,0", "1/2/3", "1/2/3/4/5"} {
		if s, ok, err := ParseRecipe("Rose", text); ok || err != nil {
			t.Errorf("%q: %+v, %t, %v", text, s, ok, err)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte("GIMP Palette\n1 2 3 X\n"))
	f.Add(ase(aseBlock("X", "RGB ", 0, 0.5, 1)))
	f.Add([]byte("<CxF><Resources><ObjectCollection><Object Name=\"a\"><ColorValues><ColorCIELab><L>1</L><A>2</A><B>3</B></ColorCIELab></ColorValues></Object></ObjectCollection></Resources></CxF>"))
	f.Add(severalMeasurements("<cc:M>M1_Daylight</cc:M>"))
	f.Fuzz(func(t *testing.T, b []byte) {
		_, _, _ = Parse(b, Options{Measurement: M1})
		list, _, err := Parse(b, Options{})
		for _, s := range list {
			if err == nil && (s.Name == "" || s.Lab.Check() != nil) {
				t.Errorf("%+v passed", s)
			}
		}
	})
}

func ExampleParse() {
	list, _, _ := Parse([]byte("GIMP Palette\n31 107 74 Fen Green\n"), Options{})
	fmt.Println(list[0].Name, list[0].Lab)
	// Output: Fen Green L 40.0 a -30.5 b 11.6
}
