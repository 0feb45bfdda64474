package plate

import (
	"archive/zip"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"laydown/colour/icc"
	"laydown/colour/press"
	"laydown/colour/press/presstest"
	"laydown/colour/reference"
	"laydown/coverage/artwork"
	"laydown/coverage/artwork/arttest"
	"laydown/coverage/unit"
)

// TestPublishedDrawings holds what drawings lay down to the references that they are
// published with (testdata/svg): each plate's mean within one point.
func TestPublishedDrawings(t *testing.T) {
	reference.Long(t)
	z, err := zip.OpenReader("../../testdata/svg/pictures.zip")
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	files := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if files[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
		r.Close()
	}
	separators := map[icc.Space]*press.Separator{}
	for space, from := range map[icc.Space]*icc.Profile{icc.RGB: icc.SRGB(), icc.Gray: icc.GrayGamma()} {
		if separators[space], err = presstest.StandIn().Separate(from, press.Options{Intent: icc.Relative, BPC: true, TAC: 2.4, Black: press.BlackMedium}); err != nil {
			t.Fatal(err)
		}
	}
	white := WhiteOptions{Rule: Under, DensityPercent: 100}
	studio := arttest.Studio()
	tried, good, lacking := 0, 0, 0
	var far []string
	var names []string
	for name := range files {
		if name, is := strings.CutSuffix(name, ".svg"); is {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	at := 0
	names = reference.Sweep(t, names, func(string) bool { at++; return at%5 == 0 }) // a part that is all right
	for _, name := range names {
		data := files[name+".svg"]
		ref, err := artwork.Read(files[name+".png"], name, artwork.Options{})
		want := decoded(t, ref, err)
		canvas := artwork.Canvas{Studio: studio, PPI: 300, Wish: artwork.Wish{WidthMM: float64(want.Width) / 300 * unit.MMPerInch}}
		f, err := artwork.Read(data, name, artwork.Options{Canvas: canvas})
		got := decoded(t, f, err)
		if len(got.Linked) > 0 { // nothing outside of the file is opened
			lacking++
			continue
		}
		tried++
		if got.Width != want.Width || got.Height != want.Height {
			far = append(far, name)
			t.Logf("%s: %d × %d pixels, the reference has %d × %d", name, got.Width, got.Height, want.Width, want.Height)
			continue
		}
		p, err := filled(got, separators[got.Space], white)
		if err != nil {
			t.Fatal(err)
		}
		q, err := filled(want, separators[want.Space], white)
		if err != nil {
			t.Fatal(err)
		}
		worst := 0.0
		for k := range Count {
			worst = max(worst, math.Abs(p.MeanPercent(k)-q.MeanPercent(k)))
		}
		if worst > 1 {
			far = append(far, name)
			t.Logf("%s: %.2f points away", name, worst)
			continue
		}
		good++
	}
	t.Logf("%d of %d within a point; %d need files outside", good, tried, lacking)
	if len(names) == 157 && lacking != 4 || float64(good) < 0.98*float64(tried) {
		t.Errorf("%d of %d within a point, want 98 %%: %v", good, tried, far)
	}
}
