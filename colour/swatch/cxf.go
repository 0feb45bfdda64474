package swatch

import (
	"encoding/xml"
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"laydown/colour"
)

// cxf is as much of a CxF3 document (ISO 17972-1; CxF/X-4 is ISO 17972-4) as
// colours need. Element names are from memory.
type cxf struct {
	Objects []struct {
		Name   string `xml:"Name,attr"`
		ID     string `xml:"Id,attr"`
		Values struct {
			Lab     []cxfLab      `xml:"ColorCIELab"`
			Spectra []cxfSpectrum `xml:"ReflectanceSpectrum"`
			Others  []cxfOther    `xml:",any"`
		} `xml:"ColorValues"`
		Device struct {
			CMYK   []cxfCMYK  `xml:"ColorCMYK"`
			Others []cxfOther `xml:",any"`
		} `xml:"DeviceColorValues"`
	} `xml:"Resources>ObjectCollection>Object"`
	Specs []cxfSpec `xml:"Resources>ColorSpecificationCollection>ColorSpecification"`
}

type cxfLab struct {
	Spec string `xml:"ColorSpecification,attr"`
	L    string `xml:"L"`
	A    string `xml:"A"`
	B    string `xml:"B"`
}

// cxfCMYK are tone values in percent.
type cxfCMYK struct {
	Cyan    string `xml:"Cyan"`
	Magenta string `xml:"Magenta"`
	Yellow  string `xml:"Yellow"`
	Black   string `xml:"Black"`
}

// cxfOther is a value of a kind that is not read.
type cxfOther struct{ XMLName xml.Name }

type cxfSpectrum struct {
	Spec  string  `xml:"ColorSpecification,attr"`
	Start float64 `xml:"StartWL,attr"`
	Text  string  `xml:",chardata"`
}

type cxfSpec struct {
	ID         string `xml:"Id,attr"`
	Illuminant string `xml:"TristimulusSpec>Illuminant"`
	Observer   string `xml:"TristimulusSpec>Observer"`
	Measured   struct {
		Range struct {
			Start     float64 `xml:"StartWL,attr"`
			Increment float64 `xml:"Increment,attr"`
		} `xml:"WavelengthRange"`
		All string `xml:",innerxml"`
	} `xml:"MeasurementSpec"`
}

// spec is the specification of an ID; an empty one if the document has none.
func (d *cxf) spec(id string) *cxfSpec {
	for i := range d.Specs {
		if d.Specs[i].ID == id {
			return &d.Specs[i]
		}
	}
	return &cxfSpec{}
}

// measurementIn and measurementID find a condition of ISO 13655 in the text of a
// specification's elements, such as M1_Daylight, and as a word of its ID.
var (
	measurementIn = regexp.MustCompile(`<(?:\w+:)?(\w+)[^<>]*>\s*[Mm]([0-3])(?:[^0-9A-Za-z<][^<]*)?<`)
	measurementID = regexp.MustCompile(`(?:^|[^0-9A-Za-z])[Mm]([0-3])(?:[^0-9A-Za-z]|$)`)
)

// measurement is the condition of ISO 13655 that a specification states, "" if none.
func (s *cxfSpec) measurement() Measurement {
	for _, m := range measurementIn.FindAllStringSubmatch(s.Measured.All, -1) {
		if e := m[1]; e != "Manufacturer" && e != "Model" && e != "SerialNumber" { // which may be called anything
			return Measurement("M" + m[2])
		}
	}
	if m := measurementID.FindStringSubmatch(s.ID); m != nil {
		return Measurement("M" + m[1])
	}
	return ""
}

// cxfValue is one measurement of a colour.
type cxfValue struct {
	under Measurement
	lab   func() (colour.Lab, error)
}

// parseCxF takes, of a colour that was measured several times, the one that is asked
// for, else the first of M1, M0, none stated, M2 and M3; of one condition a spectrum
// before Lab. Lab that is stated for another light than D50 or another observer than
// 2° cannot be carried over: it is passed over, and an error if there is nothing else.
// A colour that has device CMYK alone is a recipe, under whatever condition is asked for.
// Skipped are colours that were not measured under it, and those of other kinds alone.
func parseCxF(data []byte, o Options) (list []Swatch, skipped []Skipped, err error) {
	var doc cxf
	if err := xml.Unmarshal(data, &doc); err != nil {
		return nil, nil, fmt.Errorf("CxF document: %w", err)
	}
	var unmeasured error // the first
	measured := false
	for n, object := range doc.Objects {
		s := Swatch{Name: object.Name}
		if s.Name == "" {
			s.Name = object.ID
		}
		called := s.Name
		if called == "" {
			called = fmt.Sprintf("colour %d", n+1)
		}
		skip := func(why string) { skipped = append(skipped, Skipped{called, why}) }
		var values []cxfValue
		for _, v := range object.Values.Spectra {
			spec := doc.spec(v.Spec)
			values = append(values, cxfValue{spec.measurement(), func() (colour.Lab, error) { return v.lab(spec) }})
		}
		for _, v := range object.Values.Lab {
			spec := doc.spec(v.Spec)
			values = append(values, cxfValue{spec.measurement(), func() (colour.Lab, error) { return v.lab(spec) }})
		}
		switch others := slices.Concat(object.Values.Others, object.Device.Others); {
		case len(values) > 0:
			err := s.choose(values, o.Measurement)
			if errors.Is(err, ErrMeasurement) {
				if unmeasured == nil {
					unmeasured = fmt.Errorf("%s: %w", called, err)
				}
				skip(err.Error())
				continue
			}
			if err != nil {
				return nil, nil, fmt.Errorf("%s: %w", called, err)
			}
			measured = true
		case len(object.Device.CMYK) > 0:
			x, err := object.Device.CMYK[0].tones()
			if err != nil {
				skip(err.Error())
				continue
			}
			s = Recipe(s.Name, x)
		case len(others) > 0:
			skip(fmt.Sprintf("has %s alone: spectra, Lab and device CMYK are read", others[0].XMLName.Local))
			continue
		default:
			continue // an object of another sort, such as a parameter set
		}
		if s.Name == "" {
			s.Name = s.Lab.Hex()
		}
		if len(list) == maxSwatches {
			return nil, nil, fmt.Errorf("more than %d colours", maxSwatches)
		}
		list = append(list, s)
	}
	switch {
	case o.Measurement == "" || measured:
		return list, skipped, nil
	case unmeasured == nil && len(list) > 0:
		unmeasured = fmt.Errorf("%s: %w %s: the list has CMYK alone", list[0].Name, ErrMeasurement, o.Measurement)
	}
	return list, skipped, unmeasured
}

// tones are 0–1.
func (v *cxfCMYK) tones() (x [4]float64, err error) {
	for i, text := range [...]string{v.Cyan, v.Magenta, v.Yellow, v.Black} {
		percent, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
		if err != nil || !(percent >= 0 && percent <= 100) {
			return x, fmt.Errorf("has CMYK that is not percent from 0 to 100: %q", text)
		}
		x[i] = percent / 100
	}
	return x, nil
}

// cxfOrder is the order in which conditions are taken.
var cxfOrder = []Measurement{M1, M0, "", M2, M3}

// choose takes one of several measurements, under a condition unless that is "".
func (s *Swatch) choose(values []cxfValue, asked Measurement) error {
	has := map[Measurement]bool{}
	for _, v := range values {
		has[v.under] = true
	}
	order := cxfOrder
	if asked != "" {
		if order = []Measurement{asked}; !has[asked] {
			var there []string
			for _, m := range cxfOrder {
				if has[m] && m != "" {
					there = append(there, string(m))
				}
			}
			if len(there) == 0 {
				return fmt.Errorf("%w %s: the list does not say how it was measured", ErrMeasurement, asked)
			}
			return fmt.Errorf("%w %s: the list has %s of it", ErrMeasurement, asked, strings.Join(there, ", "))
		}
	}
	var fault error
	for _, under := range order {
		for _, v := range values {
			if v.under != under {
				continue
			}
			lab, err := v.lab()
			if err == nil {
				err = lab.Check()
			}
			if err != nil {
				if fault == nil {
					fault = err
				}
				continue
			}
			s.Lab, s.Measurement = lab, under
			for _, m := range cxfOrder {
				if has[m] && m != under {
					s.Also = append(s.Also, m)
				}
			}
			slices.Sort(s.Also)
			return nil
		}
	}
	return fault
}

func (v *cxfSpectrum) lab(spec *cxfSpec) (colour.Lab, error) {
	start, step := v.Start, 10.0
	if r := spec.Measured.Range; r.Increment > 0 {
		step = r.Increment
		if start == 0 {
			start = r.Start
		}
	}
	var r []float64
	for _, f := range strings.Fields(v.Text) {
		q, err := strconv.ParseFloat(f, 64)
		if err != nil || math.IsNaN(q) || q < 0 || q > 3 {
			return colour.Lab{}, fmt.Errorf("%q is no reflectance", f)
		}
		r = append(r, q)
	}
	x, err := colour.FromReflectance(r, start, start+step*float64(len(r)-1))
	if err != nil {
		return colour.Lab{}, err
	}
	return x.Lab(colour.D50), nil
}

func (v *cxfLab) lab(spec *cxfSpec) (colour.Lab, error) {
	if (spec.Illuminant != "" && spec.Illuminant != "D50") || (spec.Observer != "" && !strings.HasPrefix(spec.Observer, "2")) {
		return colour.Lab{}, fmt.Errorf("its Lab is for %s and %s, not D50 and 2 degrees: ask for the spectrum or D50 values",
			spec.Illuminant, spec.Observer)
	}
	return colour.Parse(strings.Join([]string{v.L, v.A, v.B}, ","))
}

// ErrMeasurement says that a colour was not measured under the condition that is asked
// for.
var ErrMeasurement = errors.New("is not measured under")
