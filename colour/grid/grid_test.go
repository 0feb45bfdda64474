package grid

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// A multilinear function without products is met exactly by every scheme.
func TestLatticeMeetsPlanes(t *testing.T) {
	for n := 1; n <= 4; n++ {
		size := []int{3, 4, 5, 6}[:n]
		l, err := New(size, 2)
		if err != nil {
			t.Fatal(err)
		}
		plane := func(x []float64) float64 {
			v := 0.1
			for i, c := range x {
				v += c * float64(i+1)
			}
			return v
		}
		x := make([]float64, n)
		for i := range len(l.Node) / 2 {
			for k, q := n-1, i; k >= 0; k-- {
				x[k] = float64(q%size[k]) / float64(size[k]-1)
				q /= size[k]
			}
			l.Node[2*i], l.Node[2*i+1] = plane(x), -plane(x)
		}
		r := rand.New(rand.NewPCG(1, 1))
		var a, b [2]float64
		for range 1000 {
			for k := range x {
				x[k] = r.Float64()
			}
			l.Eval(a[:], x)
			l.EvalLinear(b[:], x)
			if w := plane(x); math.Abs(a[0]-w) > 1e-12 || math.Abs(b[1]+w) > 1e-12 {
				t.Fatalf("%d variables at %v: %v %v, want %v", n, x, a, b, w)
			}
		}
	}
}

func TestLatticeClips(t *testing.T) {
	l, _ := New([]int{2}, 1)
	l.Node[1] = 1
	for x, want := range map[float64]float64{-1: 0, 2: 1, math.Inf(1): 1} {
		var v [1]float64
		if l.Eval(v[:], []float64{x}); v[0] != want {
			t.Errorf("at %v: %v, want %v", x, v[0], want)
		}
	}
	var v [1]float64
	if l.Eval(v[:], []float64{math.NaN()}); v[0] != 0 {
		t.Errorf("NaN gave %v", v[0])
	}
}

func TestNewRefuses(t *testing.T) {
	for _, size := range [][]int{nil, {1}, {300}, {2, 2, 2, 2, 2}, {200, 200, 200, 200}} {
		if _, err := New(size, 3); err == nil {
			t.Errorf("New(%v) passed", size)
		}
	}
}

// TestTableAgainstLattice holds the integer table to the float lattice on the
// same nodes, for both widths of pixel.
func TestTableAgainstLattice(t *testing.T) {
	for _, in := range []int{3, 4} {
		size := []int{9, 9, 9, 9}[:in]
		l, _ := New(size, 4)
		r := rand.New(rand.NewPCG(7, uint64(in)))
		for i := range l.Node {
			l.Node[i] = r.Float64()
		}
		table := Compile(in, 9, l.Eval)
		const n = 4000
		px8, px16 := make([]uint8, n*in), make([]byte, 2*n*in)
		for i := range px8 {
			px8[i] = []uint8{0, 255, uint8(r.Uint32()), uint8(r.Uint32())}[r.IntN(4)]
			px16[2*i], px16[2*i+1] = px8[i], px8[i]
		}
		a, b := planes(n), planes(n)
		table.Row8(a, px8, in)
		table.Row16(b, px16, in)
		var want [4]float64
		x := make([]float64, in)
		for i := range n {
			for k := range x {
				x[k] = float64(px8[i*in+k]) / 255
			}
			l.Eval(want[:], x)
			for k, w := range want {
				if math.Abs(float64(a[k][i])-w*255) > 0.51 || a[k][i] != b[k][i] {
					t.Fatalf("%d inputs, pixel %v: 8-bit %d, 16-bit %d, want %.3f", in, x, a[k][i], b[k][i], w*255)
				}
			}
		}
	}
}

func planes(n int) (p Planes) {
	for i := range p {
		p[i] = make([]uint8, n)
	}
	return p
}

func TestRound8IsExact(t *testing.T) {
	for v := range uint64(65536) {
		want := uint8(math.Round(float64(v) / 257))
		if got := round8(v); got != want {
			t.Fatalf("round8(%d) = %d, want %d", v, got, want)
		}
		if got := to8(v<<15 | v<<47); uint8(got) != want || uint8(got>>32) != want {
			t.Fatalf("to8(%d) = %x, want %d", v, got, want)
		}
	}
}

func TestTableStores(t *testing.T) {
	a := Compile(3, 5, func(d, s []float64) { d[0], d[1] = s[0], s[2] })
	b, _ := a.MarshalBinary()
	var c Table
	if err := c.UnmarshalBinary(b); err != nil {
		t.Fatal(err)
	}
	x, y := planes(1), planes(1)
	px := []uint8{10, 20, 30}
	a.Row8(x, px, 3)
	c.Row8(y, px, 3)
	if x[0][0] != y[0][0] || x[1][0] != y[1][0] || x[0][0] != 10 || x[1][0] != 30 {
		t.Errorf("stored table gives %v, made table %v", y, x)
	}
	for _, bad := range [][]byte{nil, b[:7], b[:len(b)-1], append([]byte{9}, b[1:]...)} {
		if (&Table{}).UnmarshalBinary(bad) == nil {
			t.Error("damaged table was restored")
		}
	}
}

func FuzzUnmarshal(f *testing.F) {
	b, _ := Compile(3, 2, func(d, s []float64) { d[0] = s[0] }).MarshalBinary()
	f.Add(b)
	f.Fuzz(func(t *testing.T, b []byte) {
		var c Table
		if c.UnmarshalBinary(b) == nil {
			c.Row8(planes(1), []uint8{1, 2, 3, 4}, 4)
			c.Row16(planes(1), []byte{1, 2, 3, 4, 5, 6, 7, 8}, 4)
		}
	})
}

func ExampleCompile() {
	// A function of three values to four, sampled on a grid and applied to pixels.
	t := Compile(3, 17, func(dst, src []float64) { dst[0], dst[1], dst[2], dst[3] = 1-src[0], 1-src[1], 1-src[2], 0 })
	out := Planes{make([]uint8, 2), make([]uint8, 2), make([]uint8, 2), make([]uint8, 2)}
	t.Row8(out, []uint8{255, 0, 51, 0, 255, 255}, 3)
	fmt.Println(out[0], out[1], out[2])
	// Output: [0 255] [255 0] [204 0]
}
