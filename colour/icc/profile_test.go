package icc

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

func TestParseRefuses(t *testing.T) {
	good := v4Press()
	edit := func(at int, s string) []byte {
		b := append([]byte(nil), good...)
		copy(b[at:], s)
		return b
	}
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"empty":         {nil, "not an ICC profile"},
		"text":          {[]byte(strings.Repeat("hello ", 100)), "not an ICC profile"},
		"cut short":     {good[:len(good)-10], "cut short"},
		"device link":   {edit(12, "link"), "device-link"},
		"named colours": {edit(12, "nmcl"), "named-colour"},
		"abstract":      {edit(12, "abst"), "class"},
		"version 5":     {edit(8, "\x05"), "version 5"},
		"six colours":   {edit(16, "6CLR"), "device space"},
		"PCS":           {edit(20, "Luv "), "connection space"},
		"tag count":     {edit(128, "\xff\xff\xff\xff"), "tag table"},
		"tag offset":    {edit(136, "\xff\xff\xff\xff"), "outside the profile"},
		"no tables":     {edit(128, "\x00\x00\x00\x01"), "neither lookup tables"},
	} {
		_, err := Parse(c.data)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q in it", name, err, c.want)
		}
	}
	if _, err := Parse(nil); !errors.Is(err, ErrNotProfile) {
		t.Errorf("error %v does not wrap ErrNotProfile", err)
	}
}

func TestParseIntent(t *testing.T) {
	for i := Perceptual; i <= Absolute; i++ {
		if got, err := ParseIntent(i.String()); err != nil || got != i {
			t.Errorf("%v: %v %v", i, got, err)
		}
	}
	if _, err := ParseIntent("best"); err == nil {
		t.Error("unknown intent passed")
	}
}

// FuzzParse lets no profile, however damaged, panic in parsing or use.
func FuzzParse(f *testing.F) {
	f.Add(v4Press())
	f.Add([]byte("acsp"))
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := Parse(b)
		if err != nil {
			return
		}
		var dev [4]float64
		if l, err := p.ToPCS(Perceptual); err == nil {
			l.XYZ(dev[:])
		}
		if l, err := p.FromPCS(Relative); err == nil {
			l.Device(dev[:], p.MediaWhite)
		}
		_, _ = NewTransform(p, p, Relative, true)
	})
}

func ExampleProfile_ToPCS() {
	link, err := SRGB().ToPCS(Relative)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f\n", link.XYZ([]float64{1, 1, 1}).Y)
	// Output: 1.000
}
