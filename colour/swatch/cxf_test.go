package swatch

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"laydown/colour"
)

// severalMeasurements is a CxF document with a colour, Moss, that has Lab under M0 and
// a spectrum and Lab under the condition that the inside of a MeasurementSpec states;
// one, Slate, under M0 alone; and one, Chalk, of which nothing is said.
func severalMeasurements(inside string) []byte {
	half := strings.TrimSpace(strings.Repeat("0.5 ", 31))
	lab := func(spec string, l int) string {
		return fmt.Sprintf(`<cc:ColorCIELab ColorSpecification="%s"><cc:L>%d</cc:L><cc:A>-10</cc:A><cc:B>5</cc:B></cc:ColorCIELab>`, spec, l)
	}
	object := func(name, values string) string {
		return `<cc:Object ObjectType="Standard" Name="` + name + `" Id="o"><cc:ColorValues>` + values + `</cc:ColorValues></cc:Object>`
	}
	spec := func(id, illuminant, inside string) string {
		return `<cc:ColorSpecification Id="` + id + `"><cc:TristimulusSpec><cc:Illuminant>` + illuminant + `</cc:Illuminant><cc:Observer>2_Degree</cc:Observer></cc:TristimulusSpec>` +
			`<cc:MeasurementSpec><cc:MeasurementType>Spectrum_Reflectance</cc:MeasurementType><cc:WavelengthRange StartWL="400" Increment="10"/>` + inside + `</cc:MeasurementSpec></cc:ColorSpecification>`
	}
	return []byte(`<?xml version="1.0"?><cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core"><cc:Resources><cc:ObjectCollection>` +
		object("Moss", lab("a", 40)+lab("b", 42)+`<cc:ReflectanceSpectrum ColorSpecification="b" StartWL="400">`+half+`</cc:ReflectanceSpectrum>`) +
		object("Slate", lab("a", 30)+lab("d65", 31)) + object("Chalk", lab("none", 90)) + `</cc:ObjectCollection><cc:ColorSpecificationCollection>` +
		spec("a", "D50", `<cc:Device><cc:DeviceIllumination>M0_Incandescent</cc:DeviceIllumination></cc:Device>`) + spec("b", "D50", inside) +
		spec("d65", "D65", `<cc:Device><cc:DeviceIllumination>M1_Daylight</cc:DeviceIllumination></cc:Device>`) +
		`</cc:ColorSpecificationCollection></cc:Resources></cc:CxF>`)
}

// TestMeasurements chooses among the conditions of ISO 13655.
func TestMeasurements(t *testing.T) {
	illuminated := func(s string) string {
		return "<cc:Device><cc:Model>M2 X</cc:Model><cc:DeviceIllumination>" + s + "</cc:DeviceIllumination></cc:Device>"
	}
	for _, c := range []struct {
		inside string
		asked  Measurement
		moss   float64 // L
		under  Measurement
		also   []Measurement
		err    string
	}{
		{illuminated("M1_Daylight"), "", 76.07, M1, []Measurement{M0}, ""}, // its spectrum before its Lab
		{illuminated("M1"), "", 76.07, M1, []Measurement{M0}, ""},
		{illuminated("M2_UVExcluded"), "", 40, M0, []Measurement{M2}, ""},
		{illuminated("M3_Polarized"), "", 40, M0, []Measurement{M3}, ""},
		{"", "", 40, M0, []Measurement{""}, ""},
		{illuminated("M12"), "", 40, M0, []Measurement{""}, ""},
		{illuminated("M1_Daylight"), M2, 0, "", nil, "Moss: is not measured under M2: the list has M1, M0 of it"},
	} {
		got, _, err := Parse(severalMeasurements(c.inside), Options{Measurement: c.asked})
		if c.err != "" {
			if err == nil || err.Error() != c.err || !errors.Is(err, ErrMeasurement) {
				t.Errorf("%s, asked for %q: error %v, want %q", c.inside, c.asked, err, c.err)
			}
			continue
		}
		if err != nil || len(got) != 3 {
			t.Fatalf("%s: %v, %v", c.inside, got, err)
		}
		if m := got[0]; m.Lab.L < c.moss-0.01 || m.Lab.L > c.moss+0.01 || m.Measurement != c.under || !reflect.DeepEqual(m.Also, c.also) {
			t.Errorf("%s: Moss is %+v, want L %g under %s beside %v", c.inside, m, c.moss, c.under, c.also)
		}
		// Lab for another light is passed over.
		if s := got[1]; s.Lab.L != 30 || s.Measurement != M0 || !reflect.DeepEqual(s.Also, []Measurement{M1}) {
			t.Errorf("Slate is %+v", s)
		}
		if s := got[2]; s.Lab.L != 90 || s.Measurement != "" || s.Also != nil {
			t.Errorf("Chalk is %+v", s)
		}
	}
	// Asked for M0, the colour that says nothing is skipped, and so is one of M1 alone.
	data := []byte(strings.Replace(string(severalMeasurements(illuminated("M1"))), `Name="Slate" Id="o"><cc:ColorValues><cc:ColorCIELab ColorSpecification="a">`, `Name="Slate" Id="o"><cc:ColorValues><cc:ColorCIELab ColorSpecification="b">`, 1))
	want := []Skipped{{"Slate", "is not measured under M0: the list has M1 of it"}, {"Chalk", "is not measured under M0: the list does not say how it was measured"}}
	if got, skipped, err := Parse(data, Options{Measurement: M0}); err != nil || len(got) != 1 || got[0].Name != "Moss" || !reflect.DeepEqual(skipped, want) {
		t.Errorf("M0 of some: %+v, %+v, %v", got, skipped, err)
	}
	// Without the colour that says nothing.
	data = []byte(strings.Replace(string(severalMeasurements(illuminated("M1"))), `ColorSpecification="none"`, `ColorSpecification="a"`, 1))
	if got, _, err := Parse(data, Options{Measurement: M0}); err != nil || got[0].Lab.L != 40 || got[0].Measurement != M0 || got[2].Lab.L != 90 {
		t.Errorf("M0: %+v, %v", got, err)
	}
	// The ID of a specification may say it alone.
	data = []byte(strings.ReplaceAll(string(severalMeasurements("")), `"b"`, `"CS_D50_M1"`))
	if got, _, err := Parse(data, Options{}); err != nil || got[0].Measurement != M1 {
		t.Errorf("by ID: %+v, %v", got, err)
	}
	if _, _, err := Parse([]byte("GIMP Palette\n1 2 3 X\n"), Options{Measurement: M1}); !errors.Is(err, ErrMeasurement) {
		t.Errorf("a palette of screen colours: %v", err)
	}
}

// TestDeviceValues takes a colour's CMYK where it has nothing else, and tells which
// colours it has no use for.
func TestDeviceValues(t *testing.T) {
	doc := func(objects ...string) []byte {
		return []byte(`<cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core"><cc:Resources><cc:ObjectCollection>` + strings.Join(objects, "") + `</cc:ObjectCollection></cc:Resources></cc:CxF>`)
	}
	object := func(name, inside string) string { return `<cc:Object Name="` + name + `">` + inside + `</cc:Object>` }
	cmyk := func(cyan string) string {
		return `<cc:DeviceColorValues><cc:ColorCMYK><cc:Cyan>` + cyan + `</cc:Cyan><cc:Magenta>90</cc:Magenta><cc:Yellow>10</cc:Yellow><cc:Black>5</cc:Black></cc:ColorCMYK></cc:DeviceColorValues>`
	}
	lab := `<cc:ColorValues><cc:ColorCIELab><cc:L>50</cc:L><cc:A>0</cc:A><cc:B>0</cc:B></cc:ColorCIELab></cc:ColorValues>`
	rose := Recipe("Rose", [4]float64{0.2, 0.9, 0.1, 0.05})
	moss := Swatch{Name: "Moss", Lab: colour.Lab{L: 50}}
	for name, c := range map[string]struct {
		data    []byte
		asked   Measurement
		want    []Swatch
		skipped []Skipped
		err     string
	}{
		"alone":       {doc(object("Rose", cmyk("20"))), "", []Swatch{rose}, nil, ""},
		"beside Lab":  {doc(object("Moss", lab+cmyk("20")), object("Rose", cmyk("20"))), "", []Swatch{moss, rose}, nil, ""},
		"no colour":   {doc(object("Moss", lab), object("Settings", "<cc:Note>1</cc:Note>")), "", []Swatch{moss}, nil, ""},
		"other kinds": {doc(object("Moss", lab), object("Haze", `<cc:DeviceColorValues><cc:ColorRGB/></cc:DeviceColorValues>`), object("Fog", `<cc:ColorValues><cc:ColorCIEXYZ/></cc:ColorValues>`)), "", []Swatch{moss}, []Skipped{{"Haze", "has ColorRGB alone: spectra, Lab and device CMYK are read"}, {"Fog", "has ColorCIEXYZ alone: spectra, Lab and device CMYK are read"}}, ""},
		"range":       {doc(object("Moss", lab), object("Rose", cmyk("200"))), "", []Swatch{moss}, []Skipped{{"Rose", `has CMYK that is not percent from 0 to 100: "200"`}}, ""},
		"none":        {doc(object("Rose", cmyk(""))), "", nil, nil, `the list holds no colours that are read: Rose has CMYK that is not percent from 0 to 100: ""`},
		"asked":       {doc(object("Rose", cmyk("20"))), M0, nil, nil, "Rose: is not measured under M0: the list has CMYK alone"},
	} {
		got, skipped, err := Parse(c.data, Options{Measurement: c.asked})
		if c.err != "" {
			if err == nil || err.Error() != c.err {
				t.Errorf("%s: error %v, want %q", name, err, c.err)
			}
			continue
		}
		if err != nil || !reflect.DeepEqual(got, c.want) || !reflect.DeepEqual(skipped, c.skipped) {
			t.Errorf("%s: %+v, %+v, %v, want %+v and %+v", name, got, skipped, err, c.want, c.skipped)
		}
	}
}

func TestParseMeasurement(t *testing.T) {
	for _, s := range []string{"m0", "M1", " m2", "M3"} {
		if m, err := ParseMeasurement(s); err != nil || !strings.EqualFold(string(m), strings.TrimSpace(s)) {
			t.Errorf("%q: %v, %v", s, m, err)
		}
	}
	for _, s := range []string{"", "m4", "1", "uv"} {
		if m, err := ParseMeasurement(s); err == nil {
			t.Errorf("%q is read as %s", s, m)
		}
	}
}
