package flaw

// repeated is the factor of an enlargement that repeats pixels, 1 if it was not that: in
// both directions, all that changes does so on every k-th column and row, or, for a half
// factor, by turns on the one before. What compression adds is small against it.
func repeated(t []uint8, w, h int) float64 {
	columns, rows := make([]float64, w), make([]float64, h)
	every := max(1, h/600)
	for y := 0; y < h; y += every {
		row := t[y*w : (y+1)*w]
		for x := 1; x < w; x++ {
			d := int(row[x]) - int(row[x-1])
			columns[x] += float64(d * d)
		}
	}
	every = max(1, w/600)
	for y := 1; y < h; y++ {
		for x := 0; x < w; x += every {
			d := int(t[y*w+x]) - int(t[(y-1)*w+x])
			rows[y] += float64(d * d)
		}
	}
	return min(repeats(columns), repeats(rows))
}

// repeats is the factor of which changes, squared and summed by place, show an
// enlargement that repeats pixels.
func repeats(changes []float64) float64 {
	total := 0.0
	for _, c := range changes {
		total += c
	}
	held := func(i int) bool { return i < len(changes) && changes[i] >= leastRepeat*leastRepeat }
	for m := 16; m > 1; m-- {
		share := make([]float64, m)
		places, next := make([]int, m), make([]int, m) // that changed, and did so again m further on
		for i, c := range changes {
			share[i%m] += c / total
			if held(i) {
				places[i%m]++
				if held(i + m) {
					next[i%m]++
				}
			}
		}
		full := func(i int) bool { return places[i] >= 24 && 2*next[i] > places[i] }
		for i := range m {
			if share[i] >= repeatShare && full(i) {
				return float64(m)
			}
			j := (i + m/2) % m
			if m%2 == 1 && m < 8 && share[i]+share[j] >= repeatShare && full(i) && full(j) {
				return float64(m) / 2
			}
		}
	}
	return 1
}

const (
	leastRepeat = 20  // codes of a change that is none of compression
	repeatShare = 0.9 // of what changes, at the places where pixels meet
)
