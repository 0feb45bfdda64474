package icc

import (
	"encoding/binary"
	"math"
)

// v4Press builds a version 4 CMYK printer profile with lutAToB and lutBToA
// tags (parametric, gamma and table curves, a matrix, 8- and 16-bit grids with
// a size of their own along each input) over an invented, smooth press. The
// tests give the same bytes to LittleCMS.
func v4Press() []byte {
	var body, table []byte
	add := func(sig string, b []byte) {
		for len(body)%4 != 0 {
			body = append(body, 0)
		}
		table = append(table, sig...)
		table = binary.BigEndian.AppendUint32(table, uint32(128+4+12*5+len(body)))
		table = binary.BigEndian.AppendUint32(table, uint32(len(b)))
		body = append(body, b...)
	}
	add("wtpt", xyzTag(0.9642, 1, 0.8249))
	add("A2B0", aToB(1))
	add("A2B1", aToB(2))
	add("B2A0", bToA(2))
	add("B2A1", bToA(1))
	h := make([]byte, 128)
	h[8] = 4
	copy(h[12:], "prtrCMYKLab ")
	copy(h[36:], "acsp")
	binary.BigEndian.PutUint32(h[68:], 0xf6d6)
	binary.BigEndian.PutUint32(h[72:], 0x10000)
	binary.BigEndian.PutUint32(h[76:], 0xd32d)
	out := append(h, 0, 0, 0, 5)
	out = append(append(out, table...), body...)
	binary.BigEndian.PutUint32(out, uint32(len(out)))
	return out
}

func fixed(v float64) []byte {
	return binary.BigEndian.AppendUint32(nil, uint32(int32(math.Round(v*65536))))
}

func xyzTag(v ...float64) []byte {
	b := []byte("XYZ \x00\x00\x00\x00")
	for _, x := range v {
		b = append(b, fixed(x)...)
	}
	return b
}

func para(kind int, v ...float64) []byte {
	b := append([]byte("para\x00\x00\x00\x00"), 0, byte(kind), 0, 0)
	for _, x := range v {
		b = append(b, fixed(x)...)
	}
	return b
}

func curv(v ...uint16) []byte {
	b := binary.BigEndian.AppendUint32([]byte("curv\x00\x00\x00\x00"), uint32(len(v)))
	for _, x := range v {
		b = binary.BigEndian.AppendUint16(b, x)
	}
	for len(b)%4 != 0 {
		b = append(b, 0)
	}
	return b
}

func clut(sizes []byte, width byte, out int, f func(dst, src []float64)) []byte {
	b := make([]byte, 20)
	copy(b, sizes)
	b[16] = width
	n := 1
	for _, s := range sizes {
		n *= int(s)
	}
	src, dst := make([]float64, len(sizes)), make([]float64, out)
	for i := range n {
		q := i
		for k := len(sizes) - 1; k >= 0; k-- {
			src[k] = float64(q%int(sizes[k])) / float64(sizes[k]-1)
			q /= int(sizes[k])
		}
		f(dst, src)
		for _, v := range dst {
			v = math.Max(0, math.Min(1, v))
			if width == 1 {
				b = append(b, byte(v*255+0.5))
			} else {
				b = binary.BigEndian.AppendUint16(b, uint16(v*65535+0.5))
			}
		}
	}
	for len(b)%4 != 0 {
		b = append(b, 0)
	}
	return b
}

// staged lays out a lutAToB or lutBToA element from its five parts.
func staged(kind string, in, out byte, b, matrix, m, c, a []byte) []byte {
	e := append([]byte(kind), 0, 0, 0, 0, in, out, 0, 0)
	e = append(e, make([]byte, 20)...)
	for i, part := range [][]byte{b, matrix, m, c, a} {
		if len(part) > 0 {
			binary.BigEndian.PutUint32(e[12+4*i:], uint32(len(e)))
			e = append(e, part...)
		}
	}
	return e
}

func join(parts ...[]byte) (b []byte) {
	for _, p := range parts {
		b = append(b, p...)
	}
	return b
}

func aToB(width byte) []byte {
	matrix := join(fixed(0.98), fixed(0.01), fixed(0), fixed(0), fixed(0.97), fixed(0.02), fixed(0.01), fixed(0), fixed(0.99),
		fixed(0.005), fixed(0.004), fixed(0.003))
	return staged("mAB ", 4, 3,
		join(curv(), para(0, 1.0), curv()),
		matrix,
		join(para(3, 1.1, 0.98, 0.02, 0.9, 0.05), curv(256), curv(0, 20000, 40000, 65535)),
		clut([]byte{7, 9, 5, 6}, width, 3, func(dst, s []float64) {
			k := 1 - 0.9*s[3]
			dst[0] = (1 - 0.42*s[0] - 0.5*s[1] - 0.1*s[2] + 0.25*s[0]*s[1]) * k
			dst[1] = 0.5 + (-0.18*s[0]+0.3*s[1]-0.03*s[2])*k
			dst[2] = 0.5 + (-0.2*s[0]-0.03*s[1]+0.36*s[2])*k
		}),
		join(para(0, 1.2), para(1, 1.3, 0.95, 0.05), para(2, 1.1, 0.9, 0.05, 0.02), para(4, 1.4, 0.95, 0.05, 0.8, 0.1, 0.01, 0.005)))
}

func bToA(width byte) []byte {
	return staged("mBA ", 3, 4,
		join(curv(), curv(), curv()),
		nil, nil,
		clut([]byte{17, 15, 13}, width, 4, func(dst, s []float64) {
			l, a, b := s[0], (s[1]-0.5)*2, (s[2]-0.5)*2
			k := math.Max(0, 1-1.6*l) * 0.9
			dst[0] = (1-l)*0.9 - 0.8*a - 0.3*b
			dst[1] = (1-l)*0.85 + 0.9*a - 0.1*b
			dst[2] = (1-l)*0.8 + 0.1*a + 0.9*b
			dst[3] = k
		}),
		join(para(0, 0.9), curv(300), curv(0, 30000, 65535), para(0, 1.05)))
}
