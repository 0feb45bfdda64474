package proof

import (
	"fmt"
	"time"

	"laydown/colour/press"
	"laydown/coverage/artwork"
	"laydown/coverage/distance"
	"laydown/coverage/fault"
	"laydown/coverage/island"
	"laydown/coverage/ledger"
	"laydown/coverage/name"
	"laydown/coverage/order"
	"laydown/coverage/outline"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/sheet"
)

// Laid is one print as it will be laid down, which the numbers of a [Proof] are
// worked out from and pictures are drawn from.
type Laid struct {
	Job     *order.Job
	Art     *artwork.Art
	Sent    *artwork.Art   // the art as it came, if its background was taken away; else nil
	Colours *order.Colours // of the art, on this press
	Plates  *plate.Plates
	Size    artwork.Size // of one print
	PixelMM float64
	Layout  sheet.Layout // of the copies on a sheet
	// CutMM is how long the outline is that a person cuts along for one print; 0 on media
	// that weed themselves.
	CutMM float64

	sep  *press.Separator // that made the plates
	seen *seen            // how the print looks, once somebody asked
}

// plan is what is known of a print before its art is decoded: whether the job can be done
// at all.
type plan struct {
	job    *order.Job
	size   artwork.Size // of one print
	layout sheet.Layout
	sep    *press.Separator
}

// RoomOf is what the sheet of a job has room for: prints with their bleed between margins, gaps
// and what a cutter needs for its marks.
func RoomOf(j *order.Job) sheet.Room {
	space := j.Shop.LayoutOn(j.Medium)
	return sheet.Room{Sheet: j.SheetOrOwn(), MarginMM: space.EdgeMM(), GapMM: space.Gap.MM(), CornerMM: space.Corner.MM()}
}

// newPlan sets copies of an art on a sheet, and finds how its colours are separated.
func newPlan(j *order.Job, art artwork.Info, colours *order.Colours) (plan, error) {
	size, err := art.PrintSize(j.Wish)
	if err != nil {
		return plan{}, err
	}
	if j.Unbought {
		var sheets []string
		for _, v := range j.Medium.SheetsBought() {
			sheets = append(sheets, v.String())
		}
		return plan{}, fault.In("sheet", fmt.Errorf("%s is not bought in %s: choose %s, or add a [[media.size]] with that sheet and its price to it in the shop file", j.Medium.Name, j.Sheet, name.Or(sheets)))
	}
	bleed := 2 * j.Shop.Layout.Bleed.MM()
	layout, err := RoomOf(j).Fit(size.WidthMM+bleed, size.HeightMM+bleed)
	if err != nil {
		return plan{}, fmt.Errorf("%s: %w", art.File, err)
	}
	sep, err := j.Press.Separate(colours.Source, j.Options)
	if err != nil {
		return plan{}, fmt.Errorf("%s: %w", art.File, err)
	}
	return plan{j, size, layout, sep}, nil
}

// lay makes the plates of the art that was planned; they come empty, of its size.
func (p plan) lay(art *order.Art, plates *plate.Plates) (*Laid, error) {
	l := &Laid{Job: p.job, Art: art.Picture, Sent: art.Sent, Colours: art.Colours, Plates: plates, Size: p.size, PixelMM: p.size.WidthMM / float64(art.Picture.Width), Layout: p.layout, sep: p.sep}
	white, err := l.white()
	if err != nil {
		return nil, err
	}
	if err := plates.Fill(l.Art, p.sep, white); err != nil {
		return nil, fmt.Errorf("%s: %w", l.Art.File, err)
	}
	if !l.Job.Medium.WeedsItself {
		px, err := outline.Length(l.shape(), l.Art.Width, l.Art.Height)
		if err != nil {
			return nil, err
		}
		l.CutMM = px * l.PixelMM
	}
	return l, nil
}

// inked is the sum of tone values from which a pixel of art without clear parts counts as
// printed: a tenth of a solid.
const inked = 26

// shape is what is cut out of a film: where the art is not clear, with its holes; of art
// without clear parts what is printed, without them, for what is bare inside is meant so.
func (l *Laid) shape() []uint8 {
	w, h := l.Art.Width, l.Art.Height
	out := make([]uint8, w*h)
	if l.Art.HasAlpha {
		for y := range h {
			l.Art.Alpha(y, out[y*w:(y+1)*w])
		}
		return out
	}
	for i := range out {
		sum := 0
		for k := range l.Plates.Plane {
			sum += int(l.Plates.Plane[k][i])
		}
		if sum >= inked {
			out[i] = 255
		}
	}
	bare := island.Find(distance.Mask{Pix: out, Width: w, Height: h, Threshold: 128, Below: true}, false)
	for _, v := range bare.Islands {
		if v.AtEdge(w, h) {
			continue
		}
		for _, r := range bare.Runs(v) {
			for x := r.X0; x < r.X1; x++ {
				out[int(r.Y)*w+int(x)] = 255
			}
		}
	}
	return out
}

// white is the process's rule for white, for this art on this item.
func (l *Laid) white() (plate.WhiteOptions, error) {
	p := l.Job.Process
	o := plate.WhiteOptions{Rule: p.White, DensityPercent: p.WhiteDensity, ChokeMM: p.Choke.MM(), PixelMM: l.PixelMM,
		ThresholdPercent: p.WhiteThreshold, SmallestMM: p.SmallestWhite.MM()}
	need, err := l.Job.WhiteNeed()
	if err != nil || need == nil {
		return o, err
	}
	design, err := l.Colours.Design()
	if err != nil {
		return o, err
	}
	o.Need = func(d [4]float64) float64 { return need(design(d)) }
	return o, nil
}

// toner is what one print lays down, by plate.
func (l *Laid) toner() (laid [plate.Count]price.Laid) {
	for k := range laid {
		laid[k] = price.Laid{Sum: l.Plates.Sum(k), Pixels: uint64(l.Art.Width) * uint64(l.Art.Height), AreaMM2: l.Size.WidthMM * l.Size.HeightMM}
	}
	return laid
}

// sumCost words what sums of tone values cost, for a finding.
func (l *Laid) sumCost(sum [plate.Count]uint64) string {
	laid := l.toner()
	for k := range laid {
		laid[k].Sum = sum[k]
	}
	t, err := price.TonerCost(l.Job.Printer.Cartridges(), laid, 1)
	if err != nil {
		return "" // the print's own cost has said so already
	}
	return l.Job.Shop.Currency + " " + t.Total.StringFixed(price.Places)
}

// Run is a run of this print: so many pieces on so many sheets, under a job's name or,
// without one, the art's. 0 sheets are as many as the pieces take, 0 pieces are all that
// the sheets hold. The error is a [fault.Fault] about pieces.
func (l *Laid) Run(name string, pieces, sheets int, at time.Time) (ledger.Run, error) {
	if name == "" {
		name = l.Art.File
	}
	copies := l.Layout.Copies()
	switch {
	case sheets == 0:
		sheets = l.Layout.Sheets(pieces)
	case pieces == 0:
		pieces = sheets * copies
	case pieces > sheets*copies:
		return ledger.Run{}, fault.In("pieces", fmt.Errorf("%d cannot be on %d of %s, which hold %d each of this print", pieces, sheets, l.Layout.Sheet, copies))
	}
	r := ledger.Run{At: at, Job: name, Printer: l.Job.Printer.Name, Sheets: sheets, Pieces: pieces, Copies: copies}
	area := l.Size.WidthMM * l.Size.HeightMM * float64(pieces)
	for k := range r.AreaMM2 {
		r.AreaMM2[k] = l.Plates.MeanPercent(k) / 100 * area
	}
	return r, nil
}
