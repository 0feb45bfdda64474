package colour

import (
	"errors"
	"fmt"
)

// observer holds, per wavelength in nm, the colour matching functions of the
// CIE 1931 standard observer (ISO/CIE 11664-1) and the relative power of D50
// (ISO/CIE 11664-2), both at 10 nm from CIE 15. The numbers are those that
// Debian's python3-colormath 3.0.0 carries (BSD licence).
var observer = [...]struct{ nm, x, y, z, d50 float64 }{
	{380, 0.001368, 0.000039, 0.006450001, 24.45},
	{390, 0.004243, 0.00012, 0.02005001, 29.83},
	{400, 0.01431, 0.000396, 0.06785001, 49.25},
	{410, 0.04351, 0.00121, 0.2074, 56.45},
	{420, 0.13438, 0.004, 0.6456, 59.97},
	{430, 0.2839, 0.0116, 1.3856, 57.76},
	{440, 0.34828, 0.023, 1.74706, 74.77},
	{450, 0.3362, 0.038, 1.77211, 87.19},
	{460, 0.2908, 0.06, 1.6692, 90.56},
	{470, 0.19536, 0.09098, 1.28764, 91.32},
	{480, 0.09564, 0.13902, 0.8129501, 95.07},
	{490, 0.03201, 0.20802, 0.46518, 91.93},
	{500, 0.0049, 0.323, 0.272, 95.7},
	{510, 0.0093, 0.503, 0.1582, 96.59},
	{520, 0.06327, 0.71, 0.07824999, 97.11},
	{530, 0.1655, 0.862, 0.04216, 102.09},
	{540, 0.2904, 0.954, 0.0203, 100.75},
	{550, 0.4334499, 0.9949501, 0.008749999, 102.31},
	{560, 0.5945, 0.995, 0.0039, 100},
	{570, 0.7621, 0.952, 0.0021, 97.74},
	{580, 0.9163, 0.87, 0.001650001, 98.92},
	{590, 1.0263, 0.757, 0.0011, 93.51},
	{600, 1.0622, 0.631, 0.0008, 97.71},
	{610, 1.0026, 0.503, 0.00034, 99.29},
	{620, 0.8544499, 0.381, 0.00019, 99.07},
	{630, 0.6424, 0.265, 0.00004999999, 95.75},
	{640, 0.4479, 0.175, 0.00002, 98.9},
	{650, 0.2835, 0.107, 0, 95.71},
	{660, 0.1649, 0.061, 0, 98.24},
	{670, 0.0874, 0.032, 0, 103.06},
	{680, 0.04677, 0.017, 0, 99.19},
	{690, 0.0227, 0.00821, 0, 87.43},
	{700, 0.01135916, 0.004102, 0, 91.66},
	{710, 0.005790346, 0.002091, 0, 92.94},
	{720, 0.002899327, 0.001047, 0, 76.89},
	{730, 0.001439971, 0.00052, 0, 86.56},
	{740, 0.0006900786, 0.0002492, 0, 92.63},
	{750, 0.0003323011, 0.00012, 0, 78.27},
	{760, 0.0001661505, 0.00006, 0, 57.72},
	{770, 0.00008307527, 0.00003, 0, 82.97},
	{780, 0.00004150994, 0.00001499, 0, 78.31},
}

// FromReflectance returns the XYZ under D50 of a spectral reflectance: factors
// (1 is the perfect diffuser) at equal steps from first to last nm, by CIE 15
// with sums over 10 nm. Between samples it interpolates by cubics, and beyond
// the ends the end values go on, as ASTM E308 advises. The error says that the
// range is too short: it must reach from 420 to 680 nm in steps of at most 20.
func FromReflectance(factors []float64, firstNM, lastNM float64) (XYZ, error) {
	n := len(factors)
	if n < 2 || !(lastNM > firstNM) {
		return XYZ{}, errors.New("a spectrum needs at least two wavelengths in rising order")
	}
	step := (lastNM - firstNM) / float64(n-1)
	if firstNM > 420 || lastNM < 680 || step > 20.01 {
		return XYZ{}, fmt.Errorf("a spectrum from %g to %g nm in steps of %g is too short or coarse: 420 to 680 in steps of 20 at the least", firstNM, lastNM, step)
	}
	at := func(i int) float64 { return factors[max(0, min(n-1, i))] }
	var c, w XYZ
	for _, o := range observer {
		t := (o.nm - firstNM) / step
		t = max(0, min(float64(n-1), t))
		i := min(int(t), n-2)
		f := t - float64(i)
		a, b, d, e := at(i-1), at(i), at(i+1), at(i+2)
		// Catmull–Rom; it meets straight lines and parabolas exactly.
		r := b + f/2*(d-a+f*(2*a-5*b+4*d-e+f*(3*(b-d)+e-a)))
		c.X, c.Y, c.Z = c.X+r*o.d50*o.x, c.Y+r*o.d50*o.y, c.Z+r*o.d50*o.z
		w.X, w.Y, w.Z = w.X+o.d50*o.x, w.Y+o.d50*o.y, w.Z+o.d50*o.z
	}
	// White is made the PCS's own, so that ten-nanometre sums cannot tint it.
	return XYZ{D50.X * c.X / w.X, D50.Y * c.Y / w.Y, D50.Z * c.Z / w.Z}, nil
}
