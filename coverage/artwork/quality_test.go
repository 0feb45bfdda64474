package artwork

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/jpeg"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"laydown/colour/reference"
)

// TestQualityAgainstReference has ImageMagick, with the Independent JPEG Group's scale of
// qualities, and Go's own encoder compress a picture: the same quality is read back.
func TestQualityAgainstReference(t *testing.T) {
	tool := reference.Tool(t, "convert-im6.q16")
	dir := t.TempDir()
	src := filepath.Join(dir, "src.png")
	if err := os.WriteFile(src, samplePNG(t, false), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, quality := range []int{1, 5, 10, 25, 49, 50, 51, 60, 75, 85, 90, 95, 99, 100} {
		for _, interlace := range []string{"none", "JPEG"} {
			to := filepath.Join(dir, "q.jpg")
			if out, err := exec.Command(tool, src, "-interlace", interlace, "-quality", strconv.Itoa(quality), to).CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			f, err := Open(to, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if f.Quality != quality {
				t.Errorf("quality %d, interlace %s: read as %d", quality, interlace, f.Quality)
			}
		}
		var b bytes.Buffer
		if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 16, 16)), &jpeg.Options{Quality: quality}); err != nil {
			t.Fatal(err)
		}
		if f, err := Read(b.Bytes(), "grey.jpg", Options{}); err != nil || f.Quality != quality {
			t.Errorf("Go's encoder, quality %d: %+v, %v", quality, f, err)
		}
	}
	if f, err := Open(src, Options{}); err != nil || f.Quality != 0 {
		t.Errorf("a PNG has quality %d (%v)", f.Quality, err)
	}
}

// TestReadSteps reads tables of both sizes, and nothing of what is cut short.
func TestReadSteps(t *testing.T) {
	table := func(id byte, step int) []byte {
		b := []byte{id}
		for range 64 {
			if id>>4 == 0 {
				b = append(b, byte(step))
			} else {
				b = binary.BigEndian.AppendUint16(b, uint16(step))
			}
		}
		return b
	}
	for _, c := range []struct {
		name string
		data []byte
		want [4]float64
	}{
		{"none", nil, [4]float64{}},
		{"two tables", append(table(0x00, 3), table(0x01, 7)...), [4]float64{3, 7}},
		{"16 bits", append(table(0x12, 300), table(0x00, 9)...), [4]float64{9, 0, 300}},
		{"cut short", append(table(0x01, 5), table(0x00, 5)[:64]...), [4]float64{0, 5}},
		{"no such table", table(0x04, 5), [4]float64{}},
		{"no such size", table(0x20, 5), [4]float64{}},
	} {
		var got [4]float64
		if readSteps(c.data, &got); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	sum := 0
	for _, s := range luminanceSteps {
		sum += s
	}
	if mean := float64(sum) / 64; math.Abs(mean-57.625) > 1e-9 || jpegQuality(mean) != 50 || jpegQuality(0) != 0 {
		t.Errorf("table K.1 has a mean of %g and is quality %d", mean, jpegQuality(mean))
	}
}
