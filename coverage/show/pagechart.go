package show

import (
	"fmt"
	"html/template"
	"image"
	"math"
	"strings"

	"laydown/coverage/flaw"
	"laydown/coverage/proof"
)

// pageChart is the art with its places, in CSS pixels.
type pageChart struct {
	Class         string
	Width, Height int
	X, Y          int
	ArtWidth      int
	ArtHeight     int
	Scale         float64 // of the art's picture
	Lines         []pageLines
	Labels        []pageLabel
}

// pageLines are places of a finding that are drawn alike.
type pageLines struct {
	ID, Path, Class string
	Title           string
}

type pageLabel struct {
	Tag                 string
	Number              int // of the finding
	Kind                flaw.Kind
	Severity            flaw.Severity
	Leader              string
	X, Y, Width, Height int
	TextX, TextY        int
}

// pageCloseUp is a close-up; its lengths are in the units of its view box.
type pageCloseUp struct {
	Tag                 string
	Finding             flaw.Finding
	Picture             template.URL
	X, Y, Width, Height string
	Squares             bool // its pixels are larger than the screen's
	Corners             string
	At                  string // the picture's, as parts of the print's sides
	Bar                 string
	BarSaid, Said       string
	Worst               bool
	SideMM              string
}

// Sizes on the page in CSS pixels.
const (
	chartPX, chartHigh   = 880, 760 // most width and height of art
	narrowPX, narrowHigh = 270, 420 // on a narrow screen
	closeUpPX            = 150
)

// chart draws the places and their close-ups.
func (d *pageData) chart(seen *designed, p *proof.Proof, places []place) error {
	w, h := p.Print.WidthMM, p.Print.HeightMM
	fit := func(px, high float64) float64 { return math.Min(px/w, high/h) } // pixels on a mm
	size := func(perMM float64) (int, int) {
		return max(1, int(math.Round(w*perMM))), max(1, int(math.Round(h*perMM)))
	}
	perMM := fit(chartPX, chartHigh)
	d.ArtSize[0], d.ArtSize[1] = size(perMM)
	d.Shown[0], d.Shown[1] = size(fit(lookPX, lookHigh))
	for _, v := range []struct {
		class        string
		perMM        float64
		margin, high int
	}{{"wide", perMM, 40, 22}, {"narrow", fit(narrowPX, narrowHigh), 32, 19}} {
		aw, ah := size(v.perMM)
		margin := v.margin
		if len(places) == 0 {
			margin = 0
		}
		c := newChart(places, aw, ah, w, h, margin, v.high, func(tag string) int { return 8 + 9*len(tag) }, func(place, image.Rectangle) int { return 2 })
		out := pageChart{Class: v.class, Width: c.canvas.Dx(), Height: c.canvas.Dy(), X: c.art.Min.X, Y: c.art.Min.Y, ArtWidth: aw, ArtHeight: ah, Scale: float64(aw) / float64(d.ArtSize[0])}
		for i := len(p.Findings) - 1; i >= 0; i-- { // the worst on top
			f := p.Findings[i]
			var paths [4]strings.Builder // without a number and with one, of small outlines and then of larger
			for k, q := range places {
				if q.finding == i {
					r := c.outlines[k].Inset(1)
					to := 0
					if q.tag != "" {
						to = 1
					}
					if min(r.Dx(), r.Dy()) >= dashedPX/2 {
						to += 2
					}
					fmt.Fprintf(&paths[to], "M%d %dh%dv%dh%dz", r.Min.X, r.Min.Y, r.Dx(), r.Dy(), -r.Dx())
				}
			}
			for k, kind := range []string{"thin small", "small", "thin", ""} {
				if paths[k].Len() > 0 {
					out.Lines = append(out.Lines, pageLines{ID: fmt.Sprintf("%s%d-%d", v.class, i+1, k), Path: paths[k].String(),
						Class: strings.TrimSpace(string(f.Severity) + " " + kind), Title: fmt.Sprintf("%d: %s", i+1, f.Kind)})
				}
			}
		}
		for _, l := range c.labels {
			q := places[l.place]
			out.Labels = append(out.Labels, pageLabel{Tag: q.tag, Number: q.finding + 1, Kind: p.Findings[q.finding].Kind, Severity: p.Findings[q.finding].Severity,
				Leader: fmt.Sprintf("M%d %dL%d %d", l.from.X, l.from.Y, l.to.X, l.to.Y),
				X:      l.box.Min.X, Y: l.box.Min.Y, Width: l.box.Dx(), Height: l.box.Dy(), TextX: (l.box.Min.X + l.box.Max.X) / 2, TextY: l.box.Min.Y + v.high/2 + 5})
		}
		d.Charts = append(d.Charts, out)
	}
	for _, c := range closeUps(seen, p, places, closeUpPX, perMM) {
		img, err := packed(c.art, nearPNG, nearMost)
		if err != nil {
			return err
		}
		scale := closeUpPX / c.sideMM
		px := func(mm float64) string { return fmt.Sprintf("%.1f", mm*scale) }
		q := places[c.place]
		shown := flaw.Box{XMM: q.box.XMM - c.box.XMM + c.artBox.XMM, YMM: q.box.YMM - c.box.YMM + c.artBox.YMM, WidthMM: c.artBox.WidthMM, HeightMM: c.artBox.HeightMM}
		out := pageCloseUp{At: d.at(shown), Tag: q.tag, Finding: p.Findings[q.finding], Picture: img.URL(), X: px(c.artBox.XMM), Y: px(c.artBox.YMM), Width: px(c.artBox.WidthMM), Height: px(c.artBox.HeightMM),
			Squares: c.artBox.WidthMM*scale > 2*float64(c.art.Rect.Dx()), Bar: px(c.barMM), BarSaid: c.barSaid, Said: c.said, Worst: c.worst, SideMM: f1(c.sideMM)}
		for _, k := range c.corners(5/scale, 12/scale) {
			out.Corners += fmt.Sprintf("M%s %sL%s %sL%s %s", px(k[0][0]), px(k[0][1]), px(k[1][0]), px(k[1][1]), px(k[2][0]), px(k[2][1]))
		}
		d.CloseUp = append(d.CloseUp, out)
	}
	return nil
}
