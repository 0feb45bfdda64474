// Package icc reads ICC profiles and carries colours through them.
//
// A [Profile] is parsed once. Each of its two directions for one intent is a
// [Link]: device values to the D50 profile connection space, or back. A
// [Transform] joins two links, with black point compensation (ISO 18619) or
// the media white scaling of the absolute intent between them, and evaluates
// exactly in float64. Compile turns it into a table of package grid for
// pixels.
//
// Read are versions 2 and 4 (ICC.1:2001-04, ICC.1:2010) of the classes input,
// display, output and colour space, in grey, RGB, CMYK and Lab, as matrix with
// tone curves (curv, para) or as lut8, lut16, lutAToB and lutBToA. The
// specification's own version 3.4 (1997) calls its format 2.1; a header that says 3
// all the same is taken at its word and read as version 2, which LittleCMS does
// too. Not read are device links, named colours, abstract profiles, the
// floating-point tags of v4 (the integer tags beside them are used) and version 5.
//
// A file that states its colours without a profile gets one with [Matrix] or
// [Grey].
package icc

import (
	"crypto/md5"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode/utf16"

	"laydown/colour"
)

// Space is a device colour space signature.
type Space string

// The device spaces that are read.
const (
	Gray Space = "GRAY"
	RGB  Space = "RGB "
	CMYK Space = "CMYK"
	Lab  Space = "Lab "
)

// Channels is the number of device channels of s, or 0 if s is not read.
func (s Space) Channels() int {
	switch s {
	case Gray:
		return 1
	case RGB, Lab:
		return 3
	case CMYK:
		return 4
	}
	return 0
}

// String is the name of the space without padding.
func (s Space) String() string { return strings.TrimSpace(string(s)) }

// Class is a profile class signature.
type Class string

// The profile classes that are read.
const (
	Input   Class = "scnr"
	Display Class = "mntr"
	Output  Class = "prtr"
	Spaces  Class = "spac"
)

// Intent is a rendering intent; the numbers are those of ICC.1.
type Intent int

// The four intents of ICC.1.
const (
	Perceptual Intent = iota
	Relative
	Saturation
	Absolute
)

var intentNames = []string{"perceptual", "relative", "saturation", "absolute"}

// String is the intent's name in lower case.
func (i Intent) String() string { return intentNames[i] }

// Intents are the intents' names, in the order of their numbers.
func Intents() []string { return slices.Clone(intentNames) }

// ParseIntent reads a name that [Intent.String] gives.
func ParseIntent(s string) (Intent, error) {
	for i, n := range intentNames {
		if strings.EqualFold(n, strings.TrimSpace(s)) {
			return Intent(i), nil
		}
	}
	return 0, fmt.Errorf("rendering intent %q: choose one of %s", s, strings.Join(intentNames, ", "))
}

// Profile is a parsed ICC profile. It is immutable and safe for concurrent
// use.
type Profile struct {
	Description string     // the profile's own name, "" if it has none
	Class       Class      // what kind of device it describes
	Space       Space      // the device side
	Major       int        // 2, 3 (which is read as 2) or 4
	Minor       int        // the second digit of the version
	MediaWhite  colour.XYZ // wtpt: the medium's white; D50 for v2 displays, as ICC.1:2010 F.2 advises

	pcsLab bool
	tags   map[string][]byte
	id     [md5.Size]byte
}

// ErrNotProfile marks data that is no ICC profile at all.
var ErrNotProfile = errors.New("not an ICC profile")

// mostDescription is how many letters of a description are kept; more are no name.
const mostDescription = 200

// maxTags is far above any real profile's tag count.
const maxTags = 1024

// Parse reads a profile. It keeps no reference to data. The error says what is
// wrong with the profile; it wraps [ErrNotProfile] when there is no profile.
func Parse(data []byte) (*Profile, error) {
	if len(data) < 132 || string(data[36:40]) != "acsp" {
		return nil, fmt.Errorf("%w: no acsp signature in a 128-byte header", ErrNotProfile)
	}
	data = append([]byte(nil), data...)
	size := binary.BigEndian.Uint32(data)
	if int64(size) > int64(len(data)) {
		return nil, fmt.Errorf("profile is cut short: it says %d bytes and has %d", size, len(data))
	}
	p := &Profile{
		Class: Class(data[12:16]), Space: Space(data[16:20]),
		Major: int(data[8]), Minor: int(data[9] >> 4), tags: map[string][]byte{},
	}
	if p.Major < 2 || p.Major > 4 {
		return nil, fmt.Errorf("profile version %d.%d is not read: save it as version 2 or 4", p.Major, p.Minor)
	}
	switch p.Class {
	case Input, Display, Output, Spaces:
	case "link":
		return nil, errors.New("this is a device-link profile, which joins two devices: give a profile of one device")
	case "nmcl":
		return nil, errors.New("this is a named-colour profile: give an input, display or output profile")
	default:
		return nil, fmt.Errorf("profile class %q is not read: give an input, display, output or colour space profile", p.Class)
	}
	if p.Space.Channels() == 0 {
		return nil, fmt.Errorf("device space %q is not read: it must be GRAY, RGB, CMYK or Lab", p.Space)
	}
	switch pcs := string(data[20:24]); pcs {
	case "Lab ":
		p.pcsLab = true
	case "XYZ ":
	default:
		return nil, fmt.Errorf("connection space %q is not XYZ or Lab", pcs)
	}
	if err := p.parseTags(data); err != nil {
		return nil, err
	}
	p.id = profileID(data[:max(size, 132)])
	p.Description = text(p.tags["desc"])
	p.MediaWhite = colour.D50
	if w, ok := p.tags["wtpt"]; ok && !(p.Major < 4 && p.Class == Display) {
		xyz, err := parseXYZ(w)
		if err != nil {
			return nil, fmt.Errorf("media white: %w", err)
		}
		if !(xyz.X > 0 && xyz.Y > 0 && xyz.Z > 0) {
			return nil, errors.New("media white is not positive")
		}
		p.MediaWhite = xyz
	}
	if !p.has("A2B0") && !p.has("A2B1") && !p.matrixShaper() {
		return nil, errors.New("profile has neither lookup tables nor matrix and tone curves")
	}
	return p, nil
}

func (p *Profile) parseTags(data []byte) error {
	n := binary.BigEndian.Uint32(data[128:])
	if n > maxTags || 132+12*int(n) > len(data) {
		return fmt.Errorf("tag table of %d entries does not fit the profile", n)
	}
	type place struct{ off, size int64 }
	seen, sum := map[place]bool{}, int64(0)
	for i := range int(n) {
		e := data[132+12*i:]
		off, size := int64(binary.BigEndian.Uint32(e[4:])), int64(binary.BigEndian.Uint32(e[8:]))
		if off+size > int64(len(data)) {
			return fmt.Errorf("tag %q lies outside the profile", e[:4])
		}
		// Several tags may have the same element, and no two lie across each other (ICC.1:2010,
		// 7.3.1); else a small file could hold gigabytes to look through.
		if at := (place{off, size}); !seen[at] {
			seen[at] = true
			if sum += size; sum > 2*int64(len(data)) {
				return errors.New("its tags lie across each other")
			}
		}
		p.tags[string(e[:4])] = data[off : off+size : off+size]
	}
	return nil
}

// Sum is a digest of everything in the profile that decides colours: equal
// sums mean equal transforms.
func (p *Profile) Sum() [32]byte {
	h := sha256.New()
	fmt.Fprintf(h, "%s %s %d %v %v\n", p.Class, p.Space, p.Major, p.pcsLab, p.MediaWhite)
	type element struct {
		first *byte
		size  int
	}
	known := map[element][32]byte{} // tags may share theirs
	for _, t := range slices.Sorted(maps.Keys(p.tags)) {
		data := p.tags[t]
		e := element{first(data), len(data)}
		sum, ok := known[e]
		if !ok {
			sum = sha256.Sum256(data)
			known[e] = sum
		}
		fmt.Fprintf(h, "%q %x\n", t, sum)
	}
	return [32]byte(h.Sum(nil))
}

// first is where an element begins; nil for an empty one.
func first(b []byte) *byte {
	if len(b) == 0 {
		return nil
	}
	return &b[0]
}

// profileID is the profile ID of ICC.1:2010, 7.2.18: the MD5 of the profile with its
// flags, its rendering intent and the ID itself taken as 0. data is not changed.
func profileID(data []byte) [md5.Size]byte {
	var header [128]byte
	copy(header[:], data)
	clear(header[44:48])
	clear(header[64:68])
	clear(header[84:100])
	h := md5.New()
	h.Write(header[:])
	h.Write(data[128:])
	return [md5.Size]byte(h.Sum(nil))
}

// ID is the profile ID of ICC.1:2010, 7.2.18, worked out from the content whatever
// the header says; 0 for a profile that was not parsed.
func (p *Profile) ID() [md5.Size]byte { return p.id }

// Same reports whether two profiles have the same content: the same profile ID, or
// the same tags, device and connection space. The second is wider than the first:
// the date, the maker of the file and the other words of the header, which programs
// write anew when they embed a profile, change no colour.
func (p *Profile) Same(o *Profile) bool {
	if p == nil || o == nil {
		return p == o
	}
	return p.id != [md5.Size]byte{} && p.id == o.id || p.Sum() == o.Sum()
}

func (p *Profile) has(tag string) bool { _, ok := p.tags[tag]; return ok }

func (p *Profile) matrixShaper() bool {
	if p.Space == Gray {
		return p.has("kTRC")
	}
	for _, t := range []string{"rXYZ", "gXYZ", "bXYZ", "rTRC", "gTRC", "bTRC"} {
		if !p.has(t) {
			return false
		}
	}
	return p.Space == RGB && !p.pcsLab
}

func s15f16(b []byte) float64 { return float64(int32(binary.BigEndian.Uint32(b))) / 65536 }

func parseXYZ(b []byte) (colour.XYZ, error) {
	if len(b) < 20 || string(b[:4]) != "XYZ " {
		return colour.XYZ{}, errors.New("tag is no XYZ value")
	}
	return colour.XYZ{X: s15f16(b[8:]), Y: s15f16(b[12:]), Z: s15f16(b[16:])}, nil
}

// text reads a text, desc or mluc tag (the first language); anything else is
// "".
func text(b []byte) string {
	if len(b) < 12 {
		return ""
	}
	var s string
	switch string(b[:4]) {
	case "text":
		s = string(b[8:])
	case "desc":
		n := int64(binary.BigEndian.Uint32(b[8:]))
		s = string(b[12:min(12+n, int64(len(b)))])
	case "mluc":
		if len(b) < 28 {
			return ""
		}
		n, off := int64(binary.BigEndian.Uint32(b[20:])), int64(binary.BigEndian.Uint32(b[24:]))
		if off+n > int64(len(b)) {
			return ""
		}
		u := make([]uint16, n/2)
		for i := range u {
			u[i] = binary.BigEndian.Uint16(b[off+2*int64(i):])
		}
		s = string(utf16.Decode(u))
	}
	s, _, _ = strings.Cut(s, "\x00")
	s = strings.TrimSpace(strings.ToValidUTF8(s, "?"))
	if r := []rune(s); len(r) > mostDescription {
		s = string(r[:mostDescription]) + "…"
	}
	return s
}
