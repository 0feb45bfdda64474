package mark

import "math"

// Matrix is a transformation a b c d e f, which takes a point x, y to ax + cy + e,
// bx + dy + f: ISO 32000-1, 8.3.4, and matrix() of SVG 1.1, 7.4.
type Matrix [6]float64

// Then is the matrix that does m first and o after it.
func (m Matrix) Then(o Matrix) Matrix {
	return Matrix{m[0]*o[0] + m[1]*o[2], m[0]*o[1] + m[1]*o[3], m[2]*o[0] + m[3]*o[2], m[2]*o[1] + m[3]*o[3],
		m[4]*o[0] + m[5]*o[2] + o[4], m[4]*o[1] + m[5]*o[3] + o[5]}
}

// At is where a point comes to lie.
func (m Matrix) At(x, y float64) Point { return Point{m[0]*x + m[2]*y + m[4], m[1]*x + m[3]*y + m[5]} }

// OfSquare is the box around what the square from 0, 0 to 1, 1 becomes.
func (m Matrix) OfSquare() Box { return Around(m.At(0, 0), m.At(1, 0), m.At(0, 1), m.At(1, 1)) }

// mostUneven is how much more a matrix may stretch one way than another for a stroke to
// have one width.
const mostUneven = 1.02

// Scale is the factor by which it stretches lengths, the geometric mean over all ways. even
// says that it is about the same all ways, so that a stroke keeps one width.
func (m Matrix) Scale() (by float64, even bool) {
	a, b := math.Hypot(m[0]+m[3], m[1]-m[2]), math.Hypot(m[0]-m[3], m[1]+m[2])
	most, least := (a+b)/2, math.Abs(a-b)/2
	return math.Sqrt(most * least), most > 0 && most <= mostUneven*least
}
