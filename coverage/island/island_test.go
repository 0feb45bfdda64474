package island

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"laydown/coverage/distance"
)

func mask(rows ...string) distance.Mask {
	m := distance.Mask{Width: len(rows[0]), Height: len(rows), Threshold: 1}
	for _, c := range strings.Join(rows, "") {
		v := uint8(0)
		if c == '#' {
			v = 200
		}
		m.Pix = append(m.Pix, v)
	}
	return m
}

func TestFind(t *testing.T) {
	m := mask(
		"##..#",
		"#..#.",
		"..#..",
		"#...#",
		"#####")
	for _, c := range []struct {
		diagonal, below bool
		want            []int
	}{
		{true, false, []int{3, 3, 7}},
		{false, false, []int{3, 1, 1, 1, 7}},
		{false, true, []int{12}},
	} {
		m.Below = c.below
		var got []int
		for _, i := range Find(m, c.diagonal).Islands {
			got = append(got, i.Pixels)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("diagonal %v, below %v: islands of %v pixels, want %v", c.diagonal, c.below, got, c.want)
		}
	}
}

// TestAgainstFlood compares with the plainest method there is on random masks.
func TestAgainstFlood(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 300 {
		w, h := 1+rng.IntN(30), 1+rng.IntN(20)
		m := distance.Mask{Width: w, Height: h, Threshold: uint8(60 + rng.IntN(150)), Pix: make([]uint8, w*h), Below: rng.IntN(2) == 0}
		for i := range m.Pix {
			m.Pix[i] = uint8(rng.IntN(256))
		}
		diagonal := rng.IntN(2) == 0
		in := func(i int) bool { return (m.Pix[i] >= m.Threshold) != m.Below }
		seen := make([]int, w*h) // island number + 1
		n := 0
		for s := range seen {
			if seen[s] != 0 || !in(s) {
				continue
			}
			n++
			queue := []int{s}
			seen[s] = n
			for len(queue) > 0 {
				at := queue[0]
				queue = queue[1:]
				for dy := -1; dy <= 1; dy++ {
					for dx := -1; dx <= 1; dx++ {
						x, y := at%w+dx, at/w+dy
						if x < 0 || y < 0 || x >= w || y >= h || (dx != 0 && dy != 0 && !diagonal) {
							continue
						}
						if i := y*w + x; seen[i] == 0 && in(i) {
							seen[i] = n
							queue = append(queue, i)
						}
					}
				}
			}
		}
		found := Find(m, diagonal)
		if len(found.Islands) != n {
			t.Fatalf("%d islands, want %d", len(found.Islands), n)
		}
		for k, island := range found.Islands {
			pixels := 0
			for _, r := range found.Runs(island) {
				for x := r.X0; x < r.X1; x++ {
					if seen[int(r.Y)*w+int(x)] != k+1 {
						t.Fatalf("pixel %d, %d is in island %d, want %d", x, r.Y, k+1, seen[int(r.Y)*w+int(x)])
					}
					pixels++
				}
			}
			if pixels != island.Pixels {
				t.Fatalf("island says %d pixels and has %d", island.Pixels, pixels)
			}
		}
	}
}

func BenchmarkFind(b *testing.B) {
	m := distance.Mask{Width: 3508, Height: 4961, Threshold: 128}
	m.Pix = make([]uint8, m.Width*m.Height)
	for i := range m.Pix {
		if x, y := i%m.Width, i/m.Width; (x/40+y/40)%2 == 0 {
			m.Pix[i] = 255
		}
	}
	b.SetBytes(int64(len(m.Pix)))
	for b.Loop() {
		Find(m, false)
	}
}

func ExampleFind() {
	m := mask(
		"##..#",
		"##..#")
	found := Find(m, true)
	for _, i := range found.Islands {
		fmt.Println(i.Pixels, "pixels from", i.X0, "to", i.X1)
	}
	// Output:
	// 4 pixels from 0 to 1
	// 2 pixels from 4 to 4
}
