package psd

import (
	"bytes"
	"encoding/binary"
	"errors"
	"strings"
	"testing"

	"laydown/coverage/fault"
)

// layered writes a file by hand: its header, resources, layers and flattened picture, as the
// Adobe Photoshop File Formats Specification has them.
func layered(mode, bits, samples, width, height int, resources, layers []byte, packing int, body []byte) []byte {
	b := []byte("8BPS\x00\x01\x00\x00\x00\x00\x00\x00")
	b = binary.BigEndian.AppendUint16(b, uint16(samples))
	b = binary.BigEndian.AppendUint32(b, uint32(height))
	b = binary.BigEndian.AppendUint32(b, uint32(width))
	b = binary.BigEndian.AppendUint16(b, uint16(bits))
	b = binary.BigEndian.AppendUint16(b, uint16(mode))
	var colours []byte
	if mode == indexed {
		colours = make([]byte, 768)
		copy(colours, []byte{10, 20})
		copy(colours[256:], []byte{30, 40})
		copy(colours[512:], []byte{50, 60})
	}
	for _, part := range [][]byte{colours, resources, layers} {
		b = binary.BigEndian.AppendUint32(b, uint32(len(part)))
		b = append(b, part...)
	}
	b = binary.BigEndian.AppendUint16(b, uint16(packing))
	return append(b, body...)
}

// resource is one resource block.
func resource(id uint16, data []byte) []byte {
	b := binary.BigEndian.AppendUint16([]byte("8BIM"), id)
	b = append(b, 0, 0)
	b = binary.BigEndian.AppendUint32(b, uint32(len(data)))
	b = append(b, data...)
	if len(data)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

// seeThrough says that the first channel behind the colours is transparency: minus one layer.
var seeThrough = []byte{0, 0, 0, 4, 0xff, 0xff, 0, 0}

func TestRead(t *testing.T) {
	perInch := make([]byte, 16)
	binary.BigEndian.PutUint32(perInch, 300<<16)
	binary.BigEndian.PutUint32(perInch[8:], 150<<16)
	for _, c := range []struct {
		name string
		file []byte
		want []byte
	}{
		{"rgb", layered(rgb, 8, 3, 2, 1, resource(resolution, perInch), nil, packNone, []byte{1, 2, 3, 4, 5, 6}), []byte{1, 3, 5, 2, 4, 6}},
		{"a saved selection is no alpha", layered(rgb, 8, 4, 1, 1, nil, nil, packNone, []byte{1, 2, 3, 9}), []byte{1, 2, 3}},
		{"cmyk is stored as light", layered(cmyk, 8, 4, 1, 1, nil, nil, packNone, []byte{255, 0, 200, 100}), []byte{0, 255, 55, 155}},
		{"runs", layered(grey, 8, 1, 4, 2, nil, nil, packRuns, []byte{0, 2, 0, 5, 0xfd, 7, 3, 1, 2, 3, 4}), []byte{7, 7, 7, 7, 1, 2, 3, 4}},
		{"16 bits", layered(grey, 16, 1, 1, 1, nil, nil, packNone, []byte{0x12, 0x34}), []byte{0x12, 0x34}},
		// Half-clear red on white: 255, 128, 128 at alpha 127.
		{"alpha off white", layered(rgb, 8, 4, 2, 1, nil, seeThrough, packNone, []byte{255, 9, 128, 9, 128, 9, 127, 255}), []byte{255, 0, 0, 127, 9, 9, 9, 255}},
		{"black and white", layered(bitmap, 1, 1, 3, 1, nil, nil, packNone, []byte{0b01000000}), []byte{255, 0, 255}},
		{"colour map", layered(indexed, 8, 1, 2, 1, nil, nil, packNone, []byte{0, 1}), []byte{10, 30, 50, 20, 40, 60}},
		{"colour map with a clear one", layered(indexed, 8, 1, 2, 1, resource(clearIndex, []byte{0, 1}), nil, packNone, []byte{0, 1}), []byte{10, 30, 50, 255, 20, 40, 60, 0}},
	} {
		f, err := Read(c.file)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if err := f.Fits(); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		got, err := f.Decode()
		if err != nil || !bytes.Equal(got, c.want) {
			t.Errorf("%s: %v, %v; want %v", c.name, got, err, c.want)
		}
		if c.name == "rgb" && (f.DPIX != 300 || f.DPIY != 150) {
			t.Errorf("resolution %g × %g", f.DPIX, f.DPIY)
		}
	}
}

func TestReadRefuses(t *testing.T) {
	for _, c := range []struct {
		name   string
		file   []byte
		tell   bool // what to ask for; else it is damage
		inside string
	}{
		{"32 bits", layered(rgb, 32, 3, 1, 1, nil, nil, 0, make([]byte, 12)), true, "32 bits"},
		{"Lab", layered(lab, 8, 3, 1, 1, nil, nil, 0, make([]byte, 3)), true, "Lab"},
		{"inks", layered(multichannel, 8, 3, 1, 1, nil, nil, 0, make([]byte, 3)), true, "inks of its own"},
		{"no flattened picture", layered(rgb, 8, 3, 1, 1, resource(versionInfo, []byte{0, 0, 0, 1, 0}), nil, 0, make([]byte, 3)), true, "without a flattened picture"},
		{"nothing", []byte("8BPS"), false, "cut short"},
		{"mode", layered(77, 8, 3, 1, 1, nil, nil, 0, make([]byte, 3)), false, "kind 77"},
		{"too few channels", layered(rgb, 8, 2, 1, 1, nil, nil, 0, make([]byte, 3)), false, "2 channels"},
		{"large", layered(rgb, 8, 3, 1_000_000, 1, nil, nil, 0, nil), false, "1000000"},
	} {
		_, err := Read(c.file)
		if err == nil || !strings.Contains(err.Error(), c.inside) || errors.As(err, new(*fault.Fault)) != c.tell {
			t.Errorf("%s: %v, want %q", c.name, err, c.inside)
		}
	}
	// What claims more than it holds is refused before memory is asked for.
	f, err := Read(layered(rgb, 8, 3, 30_000, 30_000, nil, nil, packNone, make([]byte, 9)))
	if err != nil || f.Fits() == nil {
		t.Errorf("nine bytes pass for 2.7 GB: %v", err)
	}
}

func FuzzRead(f *testing.F) {
	f.Add(layered(rgb, 8, 4, 2, 1, nil, seeThrough, packNone, make([]byte, 8)))
	f.Add(layered(grey, 8, 1, 4, 2, nil, nil, packRuns, []byte{0, 2, 0, 5, 0xfd, 7, 3, 1, 2, 3, 4}))
	f.Add(layered(indexed, 8, 1, 2, 1, resource(clearIndex, []byte{0, 1}), nil, packNone, []byte{0, 1}))
	f.Add(layered(rgb, 16, 3, 1, 1, nil, nil, packZip, []byte{0x78, 0x9c, 1, 2, 3}))
	f.Fuzz(func(t *testing.T, data []byte) {
		file, err := Read(data)
		if err != nil || file.Fits() != nil || file.Width*file.Height > 1<<20 {
			return
		}
		pix, err := file.Decode()
		if err != nil {
			return
		}
		channels := file.Channels
		if file.Alpha {
			channels++
		}
		if want := file.Width * file.Height * channels * file.Depth / 8; len(pix) != want {
			t.Errorf("%d bytes, want %d", len(pix), want)
		}
	})
}
