package unit

import (
	"fmt"
	"math"
	"testing"
)

func TestParseLength(t *testing.T) {
	for _, c := range []struct {
		in string
		mm float64
		ok bool
	}{
		{"80mm", 80, true}, {" 80 mm ", 80, true}, {"8cm", 80, true}, {"3.5in", 88.9, true}, {`2"`, 50.8, true},
		{"1pt", 25.4 / 72, true}, {"12", 12, true}, {"-0.3mm", -0.3, true}, {"2IN", 50.8, true},
		{"", 0, false}, {"mm", 0, false}, {"ten mm", 0, false}, {"NaN mm", 0, false}, {"1e9 in", 0, false}, {"5 furlongs", 0, false},
	} {
		got, err := ParseLength(c.in)
		if (err == nil) != c.ok || math.Abs(got.MM()-c.mm) > 1e-9 {
			t.Errorf("ParseLength(%q) = %v, %v", c.in, got, err)
		}
	}
}

func TestParseSheet(t *testing.T) {
	for _, c := range []struct {
		in   string
		w, h float64
		ok   bool
	}{
		{"A4", 210, 297, true}, {"a3", 297, 420, true}, {"letter", 215.9, 279.4, true}, {"210x297mm", 210, 297, true},
		{"8.5x11in", 215.9, 279.4, true}, {"8.5inx279.4mm", 215.9, 279.4, true}, {"100 x 50", 100, 50, true},
		{"let", 215.9, 279.4, true}, {"LEG", 215.9, 355.6, true}, {"le", 0, 0, false}, {"A", 0, 0, false}, {"t", 0, 0, false}, {"A44", 0, 0, false},
		{"B9", 0, 0, false}, {"x", 0, 0, false}, {"0x10", 0, 0, false}, {"-5x10mm", 0, 0, false}, {"", 0, 0, false},
	} {
		got, err := ParseSheet(c.in)
		if (err == nil) != c.ok || math.Abs(got.WidthMM-c.w) > 1e-9 || math.Abs(got.HeightMM-c.h) > 1e-9 {
			t.Errorf("ParseSheet(%q) = %+v, %v", c.in, got, err)
		}
	}
}

func FuzzParseSheet(f *testing.F) {
	f.Add("8.5x11in")
	f.Fuzz(func(t *testing.T, s string) {
		if v, err := ParseSheet(s); err == nil && !(v.WidthMM > 0 && v.HeightMM > 0) {
			t.Errorf("ParseSheet(%q) = %+v", s, v)
		}
	})
}

func ExampleParseLength() {
	l, _ := ParseLength("3.5in")
	fmt.Println(l)
	// Output: 88.9 mm
}
