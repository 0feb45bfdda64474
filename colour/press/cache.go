package press

import (
	"bytes"
	"crypto/sha256"
	"encoding"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
)

// Cache keeps computed tables in a folder, keyed by their content, so that a
// second run need not compute them. The zero value keeps nothing. A damaged
// or foreign file is ignored, a folder that cannot be written is no error, and
// files appear whole or not at all.
type Cache struct{ Dir string }

// cacheVersion changes whenever the same key would give other numbers.
const cacheVersion = "laydown cache 9\n"

func (c Cache) path(kind string, key []byte) string {
	sum := sha256.Sum256(append([]byte(cacheVersion+kind+"\n"), key...))
	return filepath.Join(c.Dir, fmt.Sprintf("%s-%x", kind, sum[:16]))
}

// mostCached is more bytes than any table has: 49³ mixes are 2 MB.
const mostCached = 256 << 20

// seal is the sum at the end of a file. It binds the table to its name: one that was put in
// another's place is no answer to the other's question.
func (c Cache) seal(kind string, key, body []byte) []byte {
	sum := sha256.New()
	sum.Write([]byte(filepath.Base(c.path(kind, key)) + "\n"))
	sum.Write(body)
	return sum.Sum(nil)
}

func (c Cache) has(kind string, key []byte) bool {
	if c.Dir == "" {
		return false
	}
	_, err := os.Stat(c.path(kind, key))
	return err == nil
}

func (c Cache) load(kind string, key []byte, into encoding.BinaryUnmarshaler) bool {
	if c.Dir == "" {
		return false
	}
	path := c.path(kind, key)
	if st, err := os.Stat(path); err != nil || !st.Mode().IsRegular() || st.Size() > mostCached {
		return false
	}
	b, err := os.ReadFile(path)
	if err != nil || len(b) < len(cacheVersion)+32 || !bytes.HasPrefix(b, []byte(cacheVersion)) {
		return false
	}
	body, sum := b[len(cacheVersion):len(b)-32], b[len(b)-32:]
	if !bytes.Equal(c.seal(kind, key, body), sum) {
		return false
	}
	return into.UnmarshalBinary(body) == nil
}

func (c Cache) store(kind string, key []byte, from encoding.BinaryMarshaler) {
	if c.Dir == "" {
		return
	}
	body, err := from.MarshalBinary()
	if err != nil || os.MkdirAll(c.Dir, 0o755) != nil {
		return
	}
	f, err := os.CreateTemp(c.Dir, "new-*")
	if err != nil {
		return
	}
	_, err = f.Write(append(append([]byte(cacheVersion), body...), c.seal(kind, key, body)...))
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(f.Name(), c.path(kind, key))
	}
	if err != nil {
		os.Remove(f.Name())
	}
}

// remarks follow a stored model's corners if its measurements gave cause.
type remarks struct {
	Smoothing, Noise float64
	Outliers         []Outlier
}

// MarshalBinary writes the model; see [Model.UnmarshalBinary].
func (m *Model) MarshalBinary() ([]byte, error) {
	var b []byte
	put := func(v float64) { b = binary.BigEndian.AppendUint64(b, math.Float64bits(v)) }
	for _, v := range []float64{m.N, float64(m.HeldOut.Patches), m.HeldOut.Median, m.HeldOut.P95, m.HeldOut.Worst} {
		put(v)
	}
	for _, v := range m.node {
		for _, x := range v {
			b = binary.BigEndian.AppendUint32(b, math.Float32bits(x))
		}
	}
	if m.Smoothing == 0 && m.Noise == 0 && m.Outliers == nil {
		return b, nil
	}
	said, err := json.Marshal(remarks{m.Smoothing, m.Noise, m.Outliers})
	return append(b, said...), err
}

// UnmarshalBinary restores a model that [Model.MarshalBinary] wrote.
func (m *Model) UnmarshalBinary(b []byte) error {
	const n = corners * corners * corners * corners
	if len(b) < 8*5+4*3*n {
		return errors.New("stored model has the wrong length")
	}
	var said remarks
	if b := b[8*5+4*3*n:]; len(b) > 0 {
		if err := json.Unmarshal(b, &said); err != nil {
			return fmt.Errorf("stored model: %w", err)
		}
	}
	m.Smoothing, m.Noise, m.Outliers = said.Smoothing, said.Noise, said.Outliers
	next := func() float64 {
		v := math.Float64frombits(binary.BigEndian.Uint64(b))
		b = b[8:]
		return v
	}
	m.N = next()
	m.HeldOut = HeldOut{Patches: int(next()), Median: next(), P95: next(), Worst: next()}
	m.node = make([][3]float32, n)
	for i := range m.node {
		for j := range m.node[i] {
			m.node[i][j] = math.Float32frombits(binary.BigEndian.Uint32(b))
			b = b[4:]
		}
	}
	return nil
}
