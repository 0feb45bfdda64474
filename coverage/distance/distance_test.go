package distance

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

func (m Mask) inside(v uint8) bool { return (v >= m.Threshold) != m.Below }

// brute measures by looking at every pixel, and outside the edge one pixel
// beyond.
func brute(m Mask, reach int) []uint16 {
	out := make([]uint16, len(m.Pix))
	for y := range m.Height {
		for x := range m.Width {
			if !m.inside(m.Pix[y*m.Width+x]) {
				continue
			}
			best := reach * reach
			for v := -1; v <= m.Height; v++ {
				for u := -1; u <= m.Width; u++ {
					beyond := u < 0 || v < 0 || u == m.Width || v == m.Height
					if (beyond && m.EdgeIsOutside) || (!beyond && !m.inside(m.Pix[v*m.Width+u])) {
						best = min(best, (u-x)*(u-x)+(v-y)*(v-y))
					}
				}
			}
			out[y*m.Width+x] = uint16(best)
		}
	}
	return out
}

func TestAgainstBruteForce(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for round := range 400 {
		m := Mask{Width: 1 + r.IntN(40), Height: 1 + r.IntN(40), Threshold: uint8(1 + r.IntN(255)),
			Below: r.IntN(2) == 0, EdgeIsOutside: r.IntN(2) == 0}
		m.Pix = make([]uint8, m.Width*m.Height)
		fill := r.IntN(100) // some sparse, some dense
		for i := range m.Pix {
			if r.IntN(100) < fill {
				m.Pix[i] = uint8(r.Uint32())
			}
		}
		reach := 1 + r.IntN(60)
		got, err := Squared(m, reach)
		if err != nil {
			t.Fatal(err)
		}
		for i, w := range brute(m, reach) {
			if got[i] != w {
				t.Fatalf("round %d, %d×%d, reach %d, edge %v: pixel %d,%d is %d, brute force says %d",
					round, m.Width, m.Height, reach, m.EdgeIsOutside, i%m.Width, i/m.Width, got[i], w)
			}
		}
	}
}

func TestReachIsChecked(t *testing.T) {
	for _, reach := range []int{0, -1, 256} {
		if _, err := Squared(Mask{Pix: []uint8{1}, Width: 1, Height: 1, Threshold: 1}, reach); err == nil {
			t.Errorf("reach %d passed", reach)
		}
	}
}

func BenchmarkSquared(b *testing.B) {
	m := Mask{Width: 4000, Height: 4000, Pix: make([]uint8, 16e6), Threshold: 128, EdgeIsOutside: true}
	for y := range m.Height {
		for x := range m.Width {
			if (x/150+y/150)%2 == 0 {
				m.Pix[y*m.Width+x] = 255
			}
		}
	}
	for b.Loop() {
		if _, err := Squared(m, 20); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(16*float64(b.N)/b.Elapsed().Seconds(), "Mpx/s")
}

func ExampleSquared() {
	m := Mask{Pix: []uint8{0, 9, 9, 9, 0}, Width: 5, Height: 1, Threshold: 1}
	d, _ := Squared(m, 10)
	fmt.Println(d)
	// Output: [0 1 4 1 0]
}
