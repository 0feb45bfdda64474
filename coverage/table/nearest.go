package table

import "math"

// Nearest returns the word of a list that takes the fewest letters changed, put in or
// left out to become w (Levenshtein 1966); "" if the nearest takes more than two and
// more than half of w's letters. The first of equals wins.
func Nearest(w string, list []string) string {
	best, least := "", math.MaxInt
	for _, v := range list {
		if d := apart(v, w); d < least {
			best, least = v, d
		}
	}
	if least > max(2, len([]rune(w))/2) {
		return ""
	}
	return best
}

// apart counts letters.
func apart(v, w string) int {
	a, b := []rune(v), []rune(w)
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range a {
		before := row[0]
		row[0] = i + 1
		for j := range b {
			cost := 1
			if a[i] == b[j] {
				cost = 0
			}
			before, row[j+1] = row[j+1], min(row[j+1]+1, row[j]+1, before+cost)
		}
	}
	return row[len(b)]
}
