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
		} `xml:"ColorValues"`
	} `xml:"Resources>ObjectCollection>Object"`
	Specs []cxfSpec `xml:"Resources>ColorSpecificationCollection>ColorSpecification"`
}

type cxfLab struct {
	Spec string `xml:"ColorSpecification,attr"`
	L    string `xml:"L"`
	A    string `xml:"A"`
	B    string `xml:"B"`
}

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
func parseCxF(data []byte, o Options) ([]Swatch, error) {
	var doc cxf
	if err := xml.Unmarshal(data, &doc); err != nil {
		return nil, fmt.Errorf("CxF document: %w", err)
	}
	var list []Swatch
	for _, object := range doc.Objects {
		s := Swatch{Name: object.Name}
		if s.Name == "" {
			s.Name = object.ID
		}
		var values []cxfValue
		for _, v := range object.Values.Spectra {
			spec := doc.spec(v.Spec)
			values = append(values, cxfValue{spec.measurement(), func() (colour.Lab, error) { return v.lab(spec) }})
		}
		for _, v := range object.Values.Lab {
			spec := doc.spec(v.Spec)
			values = append(values, cxfValue{spec.measurement(), func() (colour.Lab, error) { return v.lab(spec) }})
		}
		if len(values) == 0 {
			continue // an object of another sort, such as a parameter set
		}
		if err := s.choose(values, o.Measurement); err != nil {
			if s.Name == "" {
				s.Name = fmt.Sprintf("colour %d", len(list)+1)
			}
			return nil, fmt.Errorf("%s: %w", s.Name, err)
		}
		if s.Name == "" {
			s.Name = s.Lab.Hex()
		}
		if len(list) == maxSwatches {
			return nil, fmt.Errorf("more than %d colours", maxSwatches)
		}
		list = append(list, s)
	}
	return list, nil
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
