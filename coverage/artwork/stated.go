package artwork

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"laydown/colour/icc"
	"laydown/coverage/fault"
)

// stated is what a file says of its colours without a profile: the chromaticities of
// its primaries, its white and its tone curve, with words for people.
type stated struct {
	words     string // such as "gamma 1.0"
	primaries [3][2]float64
	white     [2]float64
	tone      icc.Tone
}

// profile makes a profile of what is stated, for pixels of a space.
func (s *stated) profile(space icc.Space) (*icc.Profile, error) {
	if name := "stated by the file: " + s.words; space == icc.Gray {
		return icc.Grey(name, s.tone), nil // its white is the print's, whatever its colour
	} else {
		return icc.Matrix(name, s.primaries, s.white, s.tone)
	}
}

var (
	d65       = [2]float64{0.3127, 0.3290}
	bt709     = [3][2]float64{{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}} // and sRGB
	bt601NTSC = [3][2]float64{{0.630, 0.340}, {0.310, 0.595}, {0.155, 0.070}}
	p3        = [3][2]float64{{0.680, 0.320}, {0.265, 0.690}, {0.150, 0.060}}

	// adobeRGB is Adobe RGB (1998), 4.3.
	adobeRGB = &stated{"Adobe RGB (1998)", [3][2]float64{{0.64, 0.33}, {0.21, 0.71}, {0.15, 0.06}}, d65, icc.Gamma(563. / 256)}
)

// primariesCode is a row of Rec. ITU-T H.273 (07/2021), table 2.
type primariesCode struct {
	name      string
	primaries [3][2]float64
	white     [2]float64
}

var primariesCodes = map[byte]primariesCode{
	1:  {"BT.709", bt709, d65},
	4:  {"NTSC 1953", [3][2]float64{{0.67, 0.33}, {0.21, 0.71}, {0.14, 0.08}}, [2]float64{0.310, 0.316}},
	5:  {"BT.601 (625 lines)", [3][2]float64{{0.64, 0.33}, {0.29, 0.60}, {0.15, 0.06}}, d65},
	6:  {"BT.601 (525 lines)", bt601NTSC, d65},
	7:  {"SMPTE 240M", bt601NTSC, d65},
	9:  {"BT.2020", [3][2]float64{{0.708, 0.292}, {0.170, 0.797}, {0.131, 0.046}}, d65},
	11: {"DCI-P3", p3, [2]float64{0.314, 0.351}},
	12: {"Display P3", p3, d65},
}

// toneCode is a row of H.273, table 3. The curves that are given there from light to
// values are turned round; nothing is added for dim surroundings.
type toneCode struct {
	name string
	tone icc.Tone
}

var toneCodes = func() map[byte]toneCode {
	camera := func(alpha, beta float64) icc.Tone {
		return icc.Toe(1/0.45, 1/alpha, (alpha-1)/alpha, 1/4.5, 4.5*beta)
	}
	bt709 := camera(1.099, 0.018)
	return map[byte]toneCode{
		1: {"BT.709 curve", bt709}, 6: {"BT.601 curve", bt709}, 14: {"BT.2020 curve", bt709}, 15: {"BT.2020 curve", camera(1.0993, 0.0181)},
		4: {"gamma 2.2", icc.Gamma(2.2)}, 5: {"gamma 2.8", icc.Gamma(2.8)}, 8: {"gamma 1.0", icc.Gamma(1)},
		13: {"sRGB curve", icc.SRGBTone()},
	}
}()

// errHDR says that a file's values are light that goes beyond white.
var errHDR = &fault.Fault{Err: errors.New("is an HDR picture (PQ or HLG), whose light goes beyond a print's white"),
	Hint: "export it as an ordinary picture in sRGB or Display P3, or use {ignore-profile} to print its numbers as they are"}

// readCICP reads a PNG's cICP chunk (PNG, third edition, 11.3.2.6): coding-independent
// code points of primaries, transfer, matrix and range. sRGB itself is told by both
// being nil.
func readCICP(b []byte) (*stated, error) {
	if len(b) != 4 {
		return nil, errors.New("malformed cICP chunk")
	}
	p, haveP := primariesCodes[b[0]]
	t, haveT := toneCodes[b[1]]
	switch {
	case b[1] == 16 || b[1] == 18:
		return nil, errHDR
	case b[2] != 0:
		return nil, fmt.Errorf("its cICP chunk says that it is not RGB (matrix %d)", b[2])
	case !haveP:
		return nil, fmt.Errorf("its cICP chunk names primaries %d, which are not read", b[0])
	case !haveT:
		return nil, fmt.Errorf("its cICP chunk names transfer %d, which is not read", b[1])
	case b[3] != 1:
		return nil, errors.New("its cICP chunk says that its values have the narrow range of video")
	case b[0] == 1 && b[1] == 13:
		return nil, nil
	}
	words := p.name + " primaries, " + t.name
	if b[0] == 12 && b[1] == 13 {
		words = "Display P3"
	}
	return &stated{words, p.primaries, p.white, t.tone}, nil
}

// srgbGamma is the gAMA chunk that the PNG specification has writers of sRGB add, for
// programs that do not know sRGB. On the primaries of sRGB it means sRGB, whose curve
// no gamma is.
const srgbGamma = 45455

// readGamma reads a PNG's gAMA and cHRM chunks (PNG, third edition, 11.3.2.1 and
// 11.3.2.2); chrm may be nil. sRGB itself is told by both results being nil.
func readGamma(gama, chrm []byte) (*stated, error) {
	if len(gama) != 4 {
		return nil, errChunk
	}
	code := binary.BigEndian.Uint32(gama)
	g := 1e5 / float64(code)
	if !(g >= 0.1 && g <= 10) {
		return nil, fmt.Errorf("its gAMA chunk says %d, which is no picture's gamma", code)
	}
	s := &stated{fmt.Sprintf("gamma %.1f", g), bt709, d65, icc.Gamma(g)}
	if r := math.Round(g*10) / 10; math.Abs(g-r) > 0.002 {
		s.words = fmt.Sprintf("gamma %.3g", g)
	}
	own := false
	if chrm != nil {
		var err error
		if own, err = s.readPrimaries(chrm); err != nil {
			return nil, err
		}
		if own {
			s.words += " and primaries of its own"
		}
	}
	if !own && code >= srgbGamma-10 && code <= srgbGamma+10 { // as programs round it
		return nil, nil
	}
	return s, nil
}

// readPrimariesAlone reads a PNG's cHRM chunk where nothing tells the tone curve: that of
// sRGB is taken, as it is for art that says nothing. Primaries of sRGB, by which nothing
// changes, and chunks of zeros make nil.
func readPrimariesAlone(chrm []byte) (*stated, error) {
	if bytes.Equal(chrm, make([]byte, 32)) {
		return nil, nil
	}
	s := &stated{words: "primaries of its own (tone curve not stated, taken as sRGB's)", primaries: bt709, white: d65, tone: icc.SRGBTone()}
	if own, err := s.readPrimaries(chrm); !own {
		return nil, err
	}
	return s, nil
}

var errChunk = errors.New("malformed gAMA or cHRM chunk")

// readPrimaries takes the white and the primaries of a cHRM chunk, and reports whether
// they are others than those that s has.
func (s *stated) readPrimaries(chrm []byte) (own bool, err error) {
	if len(chrm) != 32 {
		return false, errChunk
	}
	var v [8]float64
	for i := range v {
		v[i] = float64(int32(binary.BigEndian.Uint32(chrm[4*i:]))) / 1e5
	}
	white, primaries := [2]float64{v[0], v[1]}, [3][2]float64{{v[2], v[3]}, {v[4], v[5]}, {v[6], v[7]}}
	if own = !near(white, s.white); !own {
		for i, p := range primaries {
			own = own || !near(p, s.primaries[i])
		}
	}
	if own {
		s.white, s.primaries = white, primaries
	}
	return own, nil
}

// near reports whether two chromaticities are the same but for rounding.
func near(a, b [2]float64) bool {
	return math.Abs(a[0]-b[0]) < 5e-4 && math.Abs(a[1]-b[1]) < 5e-4
}
