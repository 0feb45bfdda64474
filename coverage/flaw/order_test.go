package flaw

import (
	"fmt"
	"image"
	"image/color"
	"laydown/colour/reference"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"sync"
	"testing"

	"laydown/coverage/artwork"
	"laydown/coverage/artwork/mark"
	"laydown/coverage/plate"
)

// orders is art of several kinds, between which every check finds something.
func orders(t testing.TB) map[string]Subject {
	t.Helper()
	under := plate.WhiteOptions{Rule: plate.Under, DensityPercent: 100, ChokeMM: 0.3}
	badge := func(ground color.NRGBA) func(x, y float64) color.NRGBA {
		return func(x, y float64) color.NRGBA {
			u, v := turned(x, y, 20)
			switch {
			case math.Abs(u) < 0.12 && math.Abs(v) < 4, disc(x, y, 7, 5, 0.1):
				return cream
			case disc(x, y, 0, 0, 6):
				return moss
			case disc(x, y, 0, 0, 8):
				return color.NRGBA{20, 60, 250, 255}
			case math.Abs(u-9.5) < 0.1 && math.Abs(v) < 3, disc(x, y, -9, 8, 0.1):
				return slate
			}
			return ground
		}
	}
	glow := func(x, y float64) color.NRGBA {
		c := brick
		c.A = uint8(255 * math.Max(0, math.Min(1, (11-math.Hypot(x, y))/5)))
		return c
	}
	bands := func(x, y float64) color.NRGBA {
		q := math.Floor((x+22)/2.2) * 2.2
		return color.NRGBA{uint8(40 + 2.2*q), uint8(30 + 1.8*q), uint8(40 + 1.6*q), 255}
	}
	lettered := paint(40, 12, 300, func(x, y float64) color.NRGBA { return clear0 })
	words(t, lettered, 300, 0.8, "hand printed in june", slate)
	small := paint(26, 26, 100, badge(cream))
	large := image.NewNRGBA(image.Rect(0, 0, 3*small.Rect.Dx(), 3*small.Rect.Dy()))
	for y := range large.Rect.Dy() {
		for x := range large.Rect.Dx() {
			large.SetNRGBA(x, y, small.NRGBAAt(x/3, y/3))
		}
	}
	blocky := compressed(t, paint(40, 40, 100, func(x, y float64) color.NRGBA {
		return color.NRGBA{uint8(130 + 40*math.Sin(x/9)), uint8(120 + 40*math.Cos(y/7)), uint8(110 + 30*math.Sin((x+y)/11)), 255}
	}), 20)
	m := map[string]Subject{
		"cut out":   scan(t, paint(26, 26, 300, badge(clear0)), 300, under),
		"very fine": scan(t, paint(21, 21, 600, badge(clear0)), 600, under),
		"on white":  scan(t, paint(26, 26, 300, badge(white)), 300, under),
		"glow":      scan(t, paint(24, 24, 150, glow), 150, under),
		"bands":     scan(t, paint(44, 22, 100, bands), 100, plate.WhiteOptions{Rule: plate.NoWhite}),
		"heavy":     scan(t, paint(40, 40, 100, func(x, y float64) color.NRGBA { return color.NRGBA{70, 30, 25, 255} }), 100, under),
		"lettering": scan(t, lettered, 300, under),
		"enlarged":  scan(t, large, 300, under),
		"blocky":    scan(t, blocky, 100, plate.WhiteOptions{Rule: plate.NoWhite}),
		"faint": scan(t, paint(22, 22, 150, func(x, y float64) color.NRGBA {
			if math.Abs(x) < 5 && math.Abs(y) < 5 {
				return color.NRGBA{250, 250, 250, 255}
			}
			return clear0
		}), 150, under),
	}
	dark := paint(40, 12, 300, func(x, y float64) color.NRGBA { return clear0 })
	words(t, dark, 300, 2.4, "not to be seen", color.NRGBA{12, 12, 14, 255})
	m["dark on dark"] = scan(t, dark, 300, under)
	m["screen"] = scan(t, paint(24, 24, 300, halftone(0.5, 20, brick, cream, func(x, y float64) float64 { return 0.4 + x/60 })), 300, under)
	m["black of four"] = inCMYK(lettered, 300, 150)
	s := m["cut out"]
	s.Unsuited, s.Material, s.Foil, s.Limits.PrintableWidthMM, s.Limits.PrintableHeightMM = true, "glass", true, 20, 20
	s.Limits.TACPercent, s.Art.StatesSRGB = 150, false
	m["cut out"] = s
	m["blocky"].Art.Format = "JPEG"
	m["lettering"].Art.Substitutes = []artwork.Substitute{{Asked: "Hand", Used: "Round"}}
	m["lettering"].Art.Linked = []string{"logo.png"}
	m["lettering"].Art.Marks = &mark.Set{Spots: []string{"Sunny"}, Overprint: true, LostInks: "it is so"}
	return m
}

// TestOrderOfChecks runs the checks each alone on a scene of its own, and on one scene
// in order, backwards, shuffled and all at once: each finds the same every time.
func TestOrderOfChecks(t *testing.T) {
	reference.Long(t)
	all := checks()
	finds := make([]bool, len(all)) // on some art
	for name, subject := range orders(t) {
		alone := make([][]Finding, len(all))
		var err error
		for i, c := range all {
			if alone[i], err = newScene(subject).run(c); err != nil {
				t.Fatal(err)
			}
			finds[i] = finds[i] || len(alone[i]) > 0
		}
		forwards := make([]int, len(all))
		for i := range forwards {
			forwards[i] = i
		}
		backwards := slices.Clone(forwards)
		slices.Reverse(backwards)
		ways := [][]int{forwards, backwards}
		rng := rand.New(rand.NewPCG(1, 2))
		for range 2 {
			ways = append(ways, rng.Perm(len(all)))
		}
		for _, way := range ways {
			s := newScene(subject)
			for _, i := range way {
				got, err := s.run(all[i])
				if err != nil {
					t.Fatal(err)
				}
				if !reflect.DeepEqual(got, alone[i]) {
					t.Errorf("%s: in the order %v check %d finds %+v, alone %+v", name, way, i, got, alone[i])
				}
			}
		}
		s := newScene(subject)
		together := make([][]Finding, len(all))
		faults := make([]error, len(all))
		var wg sync.WaitGroup
		for i, c := range all {
			wg.Go(func() { together[i], faults[i] = s.run(c) })
		}
		wg.Wait()
		if !reflect.DeepEqual(together, alone) {
			t.Errorf("%s: all at once the checks find %+v, alone %+v", name, together, alone)
		}
		for _, err := range faults {
			if err != nil {
				t.Error(err)
			}
		}
	}
	for i, some := range finds {
		if !some {
			t.Errorf("check %d finds nothing on any art, which is no test of it", i)
		}
	}
}

// TestFindAtOnce looks at one subject from several goroutines; the race detector
// listens.
func TestFindAtOnce(t *testing.T) {
	reference.Long(t)
	for name, subject := range orders(t) {
		want, err := Find(subject)
		if err != nil {
			t.Fatal(err)
		}
		got := make([][]Finding, 3)
		var wg sync.WaitGroup
		for i := range got {
			wg.Go(func() {
				found, err := Find(subject)
				if err != nil {
					found = []Finding{{Advice: fmt.Sprint(err)}}
				}
				got[i] = found
			})
		}
		wg.Wait()
		for _, g := range got {
			if !reflect.DeepEqual(g, want) {
				t.Errorf("%s: %+v beside others, %+v alone", name, g, want)
			}
		}
	}
}
