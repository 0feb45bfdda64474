package content

import (
	"slices"

	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/types"
)

// class is what a colour space's numbers are about.
type class uint8

const (
	grey  class = iota // DeviceGray and what stands for it: of black alone
	cmyk               // four numbers of ink
	spot               // a spot colour, or several inks, that stand for CMYK or grey
	light              // RGB, Lab and all else
)

// space is a colour space as far as it matters here (ISO 32000-1, 8.6).
type space struct {
	class   class
	inks    []string // of Separation and DeviceN
	profile []byte   // of an ICC-based CMYK space
	zero    bool     // its first colour is all zeros
	pattern bool
}

// process are the inks that are no spot colours.
var process = []string{"Cyan", "Magenta", "Yellow", "Black", "All", "None"}

// deepestSpace is how many colour spaces lie within each other at most.
const deepestSpace = 6

// space reads a colour space out of resources.
func (f *File) space(o types.Object, resources types.Dict, depth int) space {
	bad := space{class: light}
	if depth > deepestSpace {
		return bad
	}
	switch v := f.deref(o).(type) {
	case types.Name:
		switch n := f.name(v); n {
		case "DeviceGray", "G", "CalGray":
			return space{class: grey}
		case "DeviceCMYK", "CMYK":
			return space{class: cmyk}
		case "DeviceRGB", "RGB", "CalRGB", "Lab":
			return bad
		case "Pattern":
			return space{class: grey, pattern: true}
		default:
			named, ok := f.dict(resources["ColorSpace"])[n]
			if !ok {
				return bad
			}
			if again, is := f.deref(named).(types.Name); is && f.name(again) == n {
				return bad
			}
			return f.space(named, resources, depth+1)
		}
	case types.Array:
		if len(v) == 0 {
			return bad
		}
		if len(v) == 1 {
			return f.space(v[0], resources, depth+1)
		}
		switch f.name(v[0]) {
		case "CalGray", "DeviceGray":
			return space{class: grey}
		case "DeviceCMYK":
			return space{class: cmyk}
		case "ICCBased":
			d, data, ok := f.stream(v[1])
			switch n := f.float(d["N"], 0); {
			case ok && n == 4:
				return space{class: cmyk, profile: data, zero: true}
			case ok && n == 1:
				return space{class: grey}
			}
		case "Indexed", "I":
			return f.space(v[1], resources, depth+1)
		case "Pattern":
			s := f.space(v[1], resources, depth+1)
			s.pattern = true
			return s
		case "Separation", "DeviceN":
			if len(v) < 4 {
				return bad
			}
			names := f.array(v[1])
			if names == nil {
				names = types.Array{v[1]}
			}
			base := f.space(v[2], resources, depth+1)
			out := space{class: spot, profile: base.profile}
			if base.class == light || base.class == spot || !f.foldable(v[3], 0) {
				out.class = light
			}
			for _, n := range names {
				out.inks = append(out.inks, f.name(n))
			}
			return out
		}
	}
	return bad
}

// spots are the spot colours among a space's inks.
func (s space) spots() []string {
	return slices.DeleteFunc(slices.Clone(s.inks), func(n string) bool { return slices.Contains(process, n) })
}
