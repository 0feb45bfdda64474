package press

import (
	"encoding/binary"
	"errors"
	"math"

	"laydown/colour/icc"
)

// Black is the tone values 0–1 that the black of sRGB is separated into, exactly as
// [Separator.Eval] makes them. The press's cache keeps them: getting an inverse ready takes
// half a second, which is much for one colour. The error is that of [Press.Separate].
func (p *Press) Black(o Options) ([4]float64, error) {
	src := icc.SRGB()
	sep, err := p.Separate(src, o)
	if err != nil {
		return [4]float64{}, err
	}
	var t tones
	key := p.tableKey(src, o.heeded(src.Space))
	if !p.cache.load("black", key, &t) {
		sep.Eval(t[:], make([]float64, 3))
		p.cache.store("black", key, &t)
	}
	return t, nil
}

// tones are tone values as the cache keeps them.
type tones [4]float64

// MarshalBinary writes the values, big-endian.
func (t *tones) MarshalBinary() ([]byte, error) {
	var b []byte
	for _, v := range t {
		b = binary.BigEndian.AppendUint64(b, math.Float64bits(v))
	}
	return b, nil
}

// UnmarshalBinary restores what [tones.MarshalBinary] wrote.
func (t *tones) UnmarshalBinary(b []byte) error {
	if len(b) != 8*len(t) {
		return errors.New("stored tones have the wrong length")
	}
	for k := range t {
		if t[k] = math.Float64frombits(binary.BigEndian.Uint64(b[8*k:])); !(t[k] >= 0 && t[k] <= 1) {
			return errors.New("stored tones are none")
		}
	}
	return nil
}
