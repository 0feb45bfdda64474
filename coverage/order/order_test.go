package order_test

import (
	"fmt"
	"image"
	"image/color"
	"reflect"
	"strings"
	"testing"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/press"
	"laydown/colour/swatch"
	"laydown/coverage/artwork"
	"laydown/coverage/fault"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/plate"
	"laydown/coverage/shop"
	"laydown/coverage/unit"
)

func TestResolveSaysWhichField(t *testing.T) {
	for field, ask := range map[string]func(*order.Order){
		"process":   func(o *order.Order) { o.ProcessName = "laundry" },
		"item":      func(o *order.Order) { o.ItemName = "pink tee" },
		"tac":       func(o *order.Order) { o.TACPercent = -3 },
		"black":     func(o *order.Order) { o.Black = "inky" },
		"keep-pure": func(o *order.Order) { o.KeepPure = "most" },
	} {
		o := ordertest.Badge(t)
		ask(&o)
		_, err := o.Resolve()
		if got := fault.Words(err, strings.ToUpper); err == nil || !strings.HasPrefix(got, strings.ToUpper(field)+": ") {
			t.Errorf("%s: %v", field, err)
		}
	}
}

// TestFingerprint changes every field of an order in turn: each but the art's name
// makes another fingerprint, and a copy of all figures makes the same.
func TestFingerprint(t *testing.T) {
	sum := func(o order.Order) [32]byte {
		t.Helper()
		s, err := o.Fingerprint()
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	base := sum(ordertest.Badge(t))
	if again := sum(ordertest.Badge(t)); again != base {
		t.Error("the same shop file read twice gives two fingerprints")
	}
	lab := colour.Lab{L: 40}
	changes := map[string]any{
		"IgnoreProfile": true, "ProcessName": "light garment", "ItemName": "white tee", "ItemColour": &lab, "Wish": artwork.Wish{WidthMM: 30}, "Page": 2,
		"Sheet": &unit.Sheet{WidthMM: 100, HeightMM: 90}, "Intent": icc.Absolute, "NoBPC": true, "TACPercent": 200.0, "Black": "full", "DropBackground": true,
		"DropHoles": true, "PureBlack": true, "ItemColourName": "navy", "KeepPure": "all", "Swatches": []swatch.Swatch{{Name: "a", Lab: lab}}, "SwatchesSkipped": []swatch.Skipped{{Name: "a"}}, "Quantities": []int{3}, "EveryRule": true,
	}
	seen := map[[32]byte]string{base: "nothing changed"}
	for i := range reflect.TypeFor[order.Order]().NumField() {
		f := reflect.TypeFor[order.Order]().Field(i)
		o := ordertest.Badge(t)
		switch f.Name {
		case "ArtPath":
			o.ArtPath = "other.png"
			if sum(o) != base {
				t.Error("what the art is called counts")
			}
			continue
		case "ArtData": // nor are its bytes, which the asker adds
			if o.ArtData = []byte("<svg/>"); sum(o) != base {
				t.Error("the art's bytes count")
			}
			continue
		case "Studio": // what draws is no figure
			if o.Studio = artwork.NewStudio(""); sum(o) != base {
				t.Error("what draws the art counts")
			}
			continue
		case "Shop":
			o.Shop.Labour.RateHour = o.Shop.Labour.RateHour.Add(o.Shop.Labour.RateHour)
		case "Press":
			p, err := press.Open([]byte(tinySet), press.Cache{})
			if err != nil {
				t.Fatal(err)
			}
			o.Press = p
		default:
			v, ok := changes[f.Name]
			if !ok {
				t.Fatalf("the test does not know field %s", f.Name)
			}
			reflect.ValueOf(&o).Elem().Field(i).Set(reflect.ValueOf(v))
		}
		got := sum(o)
		if was, ok := seen[got]; ok {
			t.Errorf("%s makes the same fingerprint as %s", f.Name, was)
		}
		seen[got] = f.Name
	}
	cmyk := [4]float64{1}
	o := ordertest.Badge(t)
	o.Swatches = []swatch.Swatch{{Name: "a", Lab: lab, CMYK: &cmyk}}
	if _, ok := seen[sum(o)]; ok {
		t.Error("a swatch's CMYK does not count")
	}
}

// tinySet is a data set in the form of CGATS.17, with figures of our own.
const tinySet = `CGATS.17
NUMBER_OF_FIELDS 7
BEGIN_DATA_FORMAT
CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B
END_DATA_FORMAT
NUMBER_OF_SETS 9
BEGIN_DATA
0 0 0 0 95 0 0
100 0 0 0 55 -37 -50
0 100 0 0 48 74 -3
0 0 100 0 89 -5 93
0 0 0 100 16 0 0
100 100 100 0 22 0 0
0 100 100 0 47 68 48
100 0 100 0 50 -65 27
100 100 0 0 24 22 -46
END_DATA
`

// TestKeepsBlackByDefault keeps pure black on its toner unless no black toner is wanted.
func TestKeepsBlackByDefault(t *testing.T) {
	for _, c := range []struct {
		black, keep string
		want        press.Keep
	}{{"", "", press.KeepBlack}, {"full", "", press.KeepBlack}, {"none", "", press.KeepNone}, {"none", "all", press.KeepAll}, {"", "none", press.KeepNone}} {
		o := ordertest.Badge(t)
		o.Black, o.KeepPure = c.black, c.keep
		j, err := o.Resolve()
		if err != nil || j.Options.Keep != c.want {
			t.Errorf("black %q, keep %q: %v, %v", c.black, c.keep, j.Options.Keep, err)
		}
	}
}

// TestWhiteNeed asks by rule: only rules that go by colour need to know it.
func TestWhiteNeed(t *testing.T) {
	for _, rule := range plate.Rules {
		o := ordertest.Badge(t)
		j, err := o.Resolve()
		if err != nil {
			t.Fatal(err)
		}
		as := *j.Process
		as.White = rule
		other, err := j.With(as)
		if err != nil {
			t.Fatal(err)
		}
		need, err := other.WhiteNeed()
		if err != nil || (need != nil) != (rule == plate.Knockout || rule == plate.Tonal) {
			t.Errorf("%s: %v, a need by colour: %v", rule, err, need != nil)
		}
		if j.Process.White != plate.Under || o.Shop.Processes[0].White != plate.Under {
			t.Errorf("%s: the job or the shop was changed", rule)
		}
	}
}

// TestDesignsWhiteIsPaper holds the meaning of white and black to the press's own.
func TestDesignsWhiteIsPaper(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 4, 4))
	img.SetNRGBA(1, 1, color.NRGBA{R: 255, G: 255, B: 255, A: 255})
	o := ordertest.Draw(t, img)
	j, err := o.Resolve()
	if err != nil {
		t.Fatal(err)
	}
	opened, err := j.Open()
	if err != nil {
		t.Fatal(err)
	}
	art, err := opened.Decode()
	if err != nil || art.Picture == nil || art.DroppedPercent != nil || art.Colours != opened.Colours {
		t.Fatalf("decoded: %+v, %v", art, err)
	}
	other, err := j.With(*j.Process)
	if err != nil {
		t.Fatal(err)
	}
	if as := art.For(other); as.Picture != art.Picture || as.Colours == art.Colours || as.Colours.SourceName != art.Colours.SourceName {
		t.Errorf("for another job: %+v, was %+v", as, art)
	}
	relative, err := art.Colours.Relative()
	if err != nil {
		t.Fatal(err)
	}
	design, err := art.Colours.Design()
	if err != nil {
		t.Fatal(err)
	}
	model, err := j.Press.Model()
	if err != nil {
		t.Fatal(err)
	}
	white := [4]float64{1, 1, 1}
	if got := relative(white); colour.DeltaE00(got, colour.Lab{L: 100}) > 0.01 {
		t.Errorf("white is %v, relative", got)
	}
	if got, paper := design(white), model.Lab([4]float64{}); colour.DeltaE00(got, paper) > 0.01 {
		t.Errorf("white is designed as %v, paper %v", got, paper)
	}
	if got := design([4]float64{}); got.L < 5 {
		t.Errorf("black is designed as %v, darker than the press prints", got)
	}
}

func ExampleOrder_Resolve() {
	s, err := shop.Load(shop.Demo(), "demo")
	if err != nil {
		fmt.Println(err)
		return
	}
	j, err := order.Order{Shop: s, ItemName: "white tee", ProcessName: "light garment"}.Resolve()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(j.Medium.Name, j.Colour.Hex(), j.Limit)
	// Output: light film #f6f6f3 240
}
