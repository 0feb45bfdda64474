package sheet

import (
	"math"
	"slices"
)

// partition finds blocks that hold the most copies of one print: a rectangle holds a
// grid, or is parted into up to five rectangles that turn like a wheel around the middle
// one, each of which holds a grid or is parted again (the recursive five-block heuristic of
// Morabito and Morales, "A simple and effective recursive procedure for the manufacturer's
// pallet loading problem", Journal of the Operational Research Society 49, 1998).
//
// Parts end at sums of the copies' sides alone, and of those only where as much can stand
// behind as before (the raster points of Scheithauer and Terno, "The G4-heuristic for the
// pallet loading problem", same journal 47, 1996). A part that holds what its bound allows
// is not parted, and a parting whose bounds do not add up to more than is held already is
// not tried. Both sources from memory.
//
// Lengths are whole units of a hundred-thousandth of a millimetre, in which the errors of
// rounding of a thousand copies stay below [slack].
type partition struct {
	a, b   int64   // a copy's sides, each with a gap
	sums   []int64 // i·a + j·b from 0 up to the longest side that is asked about, rising
	most   []int32 // bound on what sums[i] × sums[j] holds, at i·len(sums)+j; -1 if not worked out yet
	held   []int32 // the most that is known to go in; -1 likewise
	depth  []int8  // of partings within partings that was searched there
	parted map[int]parting
	work   int // partings that may still be tried
}

// parting is where a rectangle is parted: of the five parts, the first reaches from its
// corner to x1, y2, the second from x1 to its right side and up to y1, the third from x1, y1 to
// x2, y2, the fourth from x2, y1 to the far corner, and the fifth from y2 on up to x2.
type parting struct{ x1, x2, y1, y2 int64 }

// perMM are the units in a millimetre.
const perMM = 1e5

func units(mm float64) int64 { return int64(math.Round(mm * perMM)) }

// Means of the search: what a sheet of a few hundred copies takes to be searched whole, in
// some tenths of a second at worst.
const (
	mostPartings = 6_000_000
	mostDepth    = 4
	mostSides    = 700   // sums of sides: with more of them copies are so small that grids waste little
	mostUnits    = 2.5e9 // of a side, 25 m: areas stay whole numbers
)

// newPartition makes one for copies of a × b units on up to longest; nil if they are too
// many for the search.
func newPartition(a, b, longest int64) *partition {
	p := &partition{a: a, b: b, parted: map[int]parting{}, work: mostPartings}
	if (longest/a+1)*(longest/b+1) > 20*mostSides {
		return nil
	}
	for x := int64(0); x <= longest; x += a {
		for y := x; y <= longest; y += b {
			p.sums = append(p.sums, y)
		}
	}
	slices.Sort(p.sums)
	p.sums = slices.Compact(p.sums)
	n := len(p.sums)
	if n > mostSides {
		return nil
	}
	p.most, p.held, p.depth = make([]int32, n*n), make([]int32, n*n), make([]int8, n*n)
	for i := range p.most {
		p.most[i], p.held[i] = -1, -1
	}
	return p
}

// at is the index of the largest sum that is not above a length.
func (p *partition) at(length int64) int {
	i, found := slices.BinarySearch(p.sums, length)
	if !found {
		i--
	}
	return i
}

// grid is what copies all standing one way make of a rectangle, and whether they are turned.
func grid(a, b, w, h int64) (n int64, turned bool) {
	n = (w / a) * (h / b)
	if m := (w / b) * (h / a); m > n {
		return m, true
	}
	return n, false
}

// atMost is how many copies of a × b units can go in w × h at most: by area, and by the
// waste that strips as long as a copy's side and one unit wide leave (Barnes, "Packing the
// maximum number of m × n tiles in a large p × q rectangle", Discrete Mathematics 26, 1979;
// from memory). It holds best where w and h are sums of the copy's sides.
func atMost(a, b, w, h int64) int64 {
	strips := func(k int64) int64 {
		r, s := w%k, h%k
		if (k-r)+(k-s) < k { // the far corner is where the least is lost
			return (k - r) * (k - s)
		}
		return r * s
	}
	return (w*h - max(strips(a), strips(b))) / (a * b)
}

// look works out bound and grid of sums[i] × sums[j] once.
func (p *partition) look(s, i, j int) {
	w, h := p.sums[i], p.sums[j]
	n, _ := grid(p.a, p.b, w, h)
	p.held[s], p.most[s] = int32(n), int32(atMost(p.a, p.b, w, h))
}

func (p *partition) mostAt(i, j int) int32 {
	s := i*len(p.sums) + j
	if p.most[s] < 0 {
		p.look(s, i, j)
	}
	return p.most[s]
}

// raster are the indices of the sums at which sums[i] is parted: those that leave as much
// behind as any sum between them and the next does.
func (p *partition) raster(i int) (at []int) {
	side := p.sums[i]
	for _, v := range p.sums[:i+1] {
		at = append(at, p.at(side-v))
	}
	slices.Sort(at)
	return slices.Compact(at)
}

// hold is the most copies that are found to go in sums[i] × sums[j] with so many partings
// within partings.
func (p *partition) hold(i, j int, depth int8) int32 {
	n := len(p.sums)
	s := i*n + j
	most := p.mostAt(i, j)
	if p.held[s] == most || p.depth[s] >= depth || p.work <= 0 {
		return p.held[s]
	}
	p.depth[s] = depth
	w, h := p.sums[i], p.sums[j]
	xs, ys := p.raster(i), p.raster(j)
	// between[k][l] is what lies between two places of a side, behind[k] what lies behind one.
	apart := func(at []int, side int64) (between [][]int, behind []int) {
		for k := range at {
			row := make([]int, len(at))
			for l := k; l < len(at); l++ {
				row[l] = p.at(p.sums[at[l]] - p.sums[at[k]])
			}
			between, behind = append(between, row), append(behind, p.at(side-p.sums[at[k]]))
		}
		return between, behind
	}
	acrossX, behindX := apart(xs, w)
	acrossY, behindY := apart(ys, h)
	each := p.a * p.b
	for k1, x1 := range xs {
		for k2 := k1; k2 < len(xs); k2++ {
			x2 := xs[k2]
			if p.sums[x1]+p.sums[x2] > w { // the same turned by half a turn
				break
			}
			for l1, y1 := range ys {
				second, fourth := p.mostAt(behindX[k1], y1), p.mostAt(behindX[k2], behindY[l1])
				rest := w*h - (w-p.sums[x1])*p.sums[y1] - (w-p.sums[x2])*(h-p.sums[y1])
				if int64(second+fourth)+rest/each <= int64(p.held[s]) {
					continue
				}
				for l2 := l1; l2 < len(ys); l2++ {
					if p.work--; p.work <= 0 {
						return p.held[s]
					}
					y2 := ys[l2]
					sum := second + fourth + p.mostAt(x1, y2) + p.mostAt(acrossX[k1][k2], acrossY[l1][l2]) + p.mostAt(x2, behindY[l2])
					if sum <= p.held[s] {
						continue
					}
					parts := [5][2]int{{x1, y2}, {behindX[k1], y1}, {acrossX[k1][k2], acrossY[l1][l2]}, {behindX[k2], behindY[l1]}, {x2, behindY[l2]}}
					if slices.Contains(parts[:], [2]int{i, j}) {
						continue // parts nothing off
					}
					for _, of := range parts {
						if sum += p.hold(of[0], of[1], depth-1) - p.mostAt(of[0], of[1]); sum <= p.held[s] {
							break
						}
					}
					if sum > p.held[s] {
						p.held[s], p.parted[s] = sum, parting{p.sums[x1], p.sums[x2], p.sums[y1], p.sums[y2]}
						if sum == most {
							return sum
						}
					}
				}
			}
		}
	}
	return p.held[s]
}

// tile is a part of a sheet that holds a grid, in units.
type tile struct {
	x, y, w, h int64
	turned     bool
}

// block is the tile in millimetres, without the gaps behind its last copies.
func (t tile) block(gap float64) block {
	return block{float64(t.x) / perMM, float64(t.y) / perMM, float64(t.w)/perMM - gap, float64(t.h)/perMM - gap, t.turned}
}

// tiles are the grids of the best that is known for w × h at a place.
func (p *partition) tiles(x, y, w, h int64, out []tile) []tile {
	i, j := p.at(w), p.at(h)
	s := i*len(p.sums) + j
	if p.mostAt(i, j) == 0 || p.held[s] == 0 {
		return out
	}
	c, ok := p.parted[s]
	w, h = p.sums[i], p.sums[j]
	if !ok {
		_, turned := grid(p.a, p.b, w, h)
		return append(out, tile{x, y, w, h, turned})
	}
	out = p.tiles(x, y, c.x1, c.y2, out)
	out = p.tiles(x+c.x1, y, w-c.x1, c.y1, out)
	out = p.tiles(x+c.x1, y+c.y1, c.x2-c.x1, c.y2-c.y1, out)
	out = p.tiles(x+c.x2, y+c.y1, w-c.x2, h-c.y1, out)
	return p.tiles(x, y+c.y2, c.x2, h-c.y2, out)
}

// fiveBlocks finds grids on w × h units that hold more copies of a × b than enough; none if
// the search finds no more, or would find too many copies to be worth it.
func fiveBlocks(a, b, w, h, enough int64) (best []tile) {
	if a <= 0 || b <= 0 || a == b || float64(max(w, h, a, b)) > mostUnits {
		return nil
	}
	p := newPartition(a, b, max(w, h))
	if p == nil {
		return nil
	}
	i, j := p.at(w), p.at(h)
	most := int64(p.mostAt(i, j))
	for depth := int8(1); depth <= mostDepth && p.work > 0; depth++ {
		n := int64(p.hold(i, j, depth))
		if n > enough {
			best, enough = p.tiles(0, 0, w, h, nil), n
		}
		if n == most {
			break
		}
	}
	return best
}
