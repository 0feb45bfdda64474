package icc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
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

// TestOverlappingTags refuses a small file whose tags would be gigabytes, lets them share an
// element, and looks through what they share once.
func TestOverlappingTags(t *testing.T) {
	const tags, size = 1000, 4 << 20
	lay := func(shift int) []byte {
		b := append([]byte(nil), v4Press()[:128]...)
		b = binary.BigEndian.AppendUint32(b, tags)
		at := 132 + 12*tags
		for i := range tags {
			b = append(b, fmt.Sprintf("%04d", i)...)
			b = binary.BigEndian.AppendUint32(b, uint32(at+shift*i))
			b = binary.BigEndian.AppendUint32(b, uint32(size-at-shift*tags))
		}
		b = append(b, make([]byte, size-at)...)
		binary.BigEndian.PutUint32(b, uint32(len(b)))
		return b
	}
	if _, err := Parse(lay(4)); err == nil || !strings.Contains(err.Error(), "across each other") {
		t.Errorf("%v", err)
	}
	p := &Profile{tags: map[string][]byte{}}
	if err := p.parseTags(lay(0)); err != nil || len(p.tags) != tags {
		t.Fatalf("%d tags, %v", len(p.tags), err)
	}
	other := &Profile{tags: maps.Clone(p.tags)}
	other.tags["0007"] = append([]byte(nil), p.tags["0007"]...) // as much, elsewhere
	if p.Sum() != other.Sum() {
		t.Error("what is shared counts as something else")
	}
	other.tags["0007"][9]++
	if p.Sum() == other.Sum() {
		t.Error("another byte is passed over")
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
