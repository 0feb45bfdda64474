package show

import (
	"fmt"
	"image"
	"math"
	"strings"

	"github.com/disintegration/imaging"

	"laydown/coverage/flaw"
	"laydown/coverage/proof"
)

// A close-up shows a place four times as large as the picture does, yet no more than
// mostWindowMM and no less than leastWindowMM of it.
const (
	closeUpTimes  = 4
	leastWindowMM = 2.0
	mostWindowMM  = 5.0
	smallMM       = 3.0 // a place that is no wider or no higher needs a close-up
	closeUpArtPX  = 160 // most pixels of art that it holds, both ways
)

// closeUp is a part of the art, on the item's colour, at the art's own pixels.
type closeUp struct {
	place   int
	art     *image.NRGBA
	sideMM  float64  // of the square that is shown
	box     flaw.Box // the place, from the square's top left corner
	artBox  flaw.Box // the art's part, from there
	times   float64  // how many times as large as in the picture
	barMM   float64
	barSaid string
	said    string // what was measured there, or the place's size
	worst   bool
}

// closeUps shows the worst of the small places that have a tag, sidePX wide and high, and
// of every finding the place of what was measured, if that is small; perMM is the picture's
// pixels on a mm of the print. There are none where the picture is nearly as large.
func closeUps(d *designed, p *proof.Proof, all []place, sidePX int, perMM float64) (out []closeUp) {
	window := math.Min(math.Max(float64(sidePX)/closeUpTimes/perMM, leastWindowMM), mostWindowMM)
	near := make([][]int, len(p.Findings)) // the places of each finding that need one
	for i, q := range all {
		if q.tag == "" {
			continue
		}
		f := p.Findings[q.finding]
		first := i == 0 || all[i-1].finding != q.finding
		// A larger place may hold what is small, as a thin line from corner to corner.
		holds := first && f.Unit == "mm" && f.Limit > 0 && f.Measured <= smallMM && q.box.WidthMM*q.box.HeightMM*groundPart < p.Print.WidthMM*p.Print.HeightMM
		if holds || math.Min(q.box.WidthMM, q.box.HeightMM) <= smallMM {
			near[q.finding] = append(near[q.finding], i)
		}
	}
	want := make([]int, len(near))
	for i := range near {
		want[i] = len(near[i])
	}
	if float64(sidePX)/window/perMM < 1.5 { // the picture shows them as large
		return nil
	}
	for i, n := range deal(want, mostCloseUps, mostCloseUps) {
		for _, k := range near[i][:n] {
			b := all[k].box
			c := closeUp{place: k, sideMM: window, times: float64(sidePX) / window / perMM}
			f := p.Findings[i]
			first := k == 0 || all[k-1].finding != i
			c.worst = first && !strings.HasPrefix(f.Unit, "% of")
			if c.said = sizeSaid(b); c.worst {
				c.said, _, _ = strings.Cut(amount(f), " (limit")
			}
			c.barMM, c.barSaid = 1, "1 mm"
			if f.Unit == "mm" && f.Limit > 0.1 && f.Limit < 0.7*window {
				c.barMM, c.barSaid = f.Limit, fmt.Sprintf("%.2f mm, the limit", f.Limit)
			}
			for _, at := range [][2]float64{{.5, .5}, {0, .5}, {1, .5}, {.5, 0}, {.5, 1}, {0, 0}, {1, 0}, {0, 1}, {1, 1}, {.5, .5}} {
				if c.cut(d, b, at); !flat(c.art) {
					break // else what is meant is not in the box's middle
				}
			}
			out = append(out, c)
		}
	}
	return out
}

// cut takes a square out of the art, round a point of a place that is given as parts of
// its width and height; it keeps within the place, where that is larger, and within the art.
func (c *closeUp) cut(d *designed, b flaw.Box, part [2]float64) {
	mm := d.laid.PixelMM
	from := func(at, size, part, most float64) float64 {
		if most < c.sideMM {
			return (most - c.sideMM) / 2
		}
		v := at + (size-c.sideMM)/2
		if size > c.sideMM {
			v = at + (size-c.sideMM)*part
		}
		return math.Min(math.Max(v, 0), most-c.sideMM)
	}
	x := from(b.XMM, b.WidthMM, part[0], float64(d.laid.Art.Width)*mm)
	y := from(b.YMM, b.HeightMM, part[1], float64(d.laid.Art.Height)*mm)
	c.box = flaw.Box{XMM: b.XMM - x, YMM: b.YMM - y, WidthMM: b.WidthMM, HeightMM: b.HeightMM}
	r := image.Rect(int(math.Floor(x/mm)), int(math.Floor(y/mm)), int(math.Ceil((x+c.sideMM)/mm)), int(math.Ceil((y+c.sideMM)/mm))).
		Intersect(image.Rect(0, 0, d.laid.Art.Width, d.laid.Art.Height))
	c.artBox = flaw.Box{XMM: float64(r.Min.X)*mm - x, YMM: float64(r.Min.Y)*mm - y, WidthMM: float64(r.Dx()) * mm, HeightMM: float64(r.Dy()) * mm}
	c.art = onItem(d.laid, d.part(r, closeUpArtPX))
}

// flat says that a picture is of one colour, nearly.
func flat(img *image.NRGBA) bool {
	const least = 24 // codes
	var lo, hi [3]uint8
	for i := 0; i < len(img.Pix); i += 4 {
		for k, v := range img.Pix[i : i+3] {
			if i == 0 {
				lo[k], hi[k] = v, v
			}
			lo[k], hi[k] = min(lo[k], v), max(hi[k], v)
			if hi[k]-lo[k] >= least {
				return false
			}
		}
	}
	return true
}

// onItem lays a picture on the item's colour.
func onItem(l *proof.Laid, top *image.NRGBA) *image.NRGBA {
	out := imaging.New(top.Rect.Dx(), top.Rect.Dy(), l.Job.Colour.SRGB())
	return imaging.Overlay(out, top, image.Point{}, 1)
}

// corners are the brackets round a place in its close-up, each three points in mm, outset by
// a gap and as long as arm; along a side that is longer than the close-up they meet.
func (c *closeUp) corners(gap, arm float64) (out [][3][2]float64) {
	x0, y0, x1, y1 := c.box.XMM-gap, c.box.YMM-gap, c.box.XMM+c.box.WidthMM+gap, c.box.YMM+c.box.HeightMM+gap
	long := func(side float64) float64 {
		if side > c.sideMM {
			return side / 2
		}
		return math.Min(arm, side/3)
	}
	ax, ay := long(x1-x0), long(y1-y0)
	for _, q := range [][4]float64{{x0, y0, ax, ay}, {x1, y0, -ax, ay}, {x1, y1, -ax, -ay}, {x0, y1, ax, -ay}} {
		out = append(out, [3][2]float64{{q[0] + q[2], q[1]}, {q[0], q[1]}, {q[0], q[1] + q[3]}})
	}
	return out
}

// sizeSaid is a place's size.
func sizeSaid(b flaw.Box) string {
	mm := func(v float64) string {
		if v < 1 {
			return fmt.Sprintf("%.2f", v)
		}
		return f1(v)
	}
	return mm(b.WidthMM) + " × " + mm(b.HeightMM) + " mm"
}
