package order_test

import (
	"testing"

	"laydown/colour"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/shop"
)

func as(t *testing.T, text string) shop.Colour {
	t.Helper()
	var c shop.Colour
	if err := c.UnmarshalText([]byte(text)); err != nil {
		t.Fatal(err)
	}
	return c
}

// resolved is the demo's badge on its black tee in white toner, with changes.
func resolved(t *testing.T, change func(o *order.Order, p *shop.Printer, v *shop.Item)) *order.Job {
	t.Helper()
	o := ordertest.Badge(t)
	o.ProcessName, o.ItemName = "dark garment", "black tee"
	item, err := o.Shop.Item("black tee")
	if err != nil {
		t.Fatal(err)
	}
	change(&o, &o.Shop.Printers[0], item)
	j, err := o.Resolve()
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func printWhite(t *testing.T, j *order.Job) colour.Lab {
	t.Helper()
	e, err := j.Eye()
	if err != nil {
		t.Fatal(err)
	}
	return e.Print
}

// TestMeasuredWhite reads white back from where it was measured: over both grounds and on
// the item itself.
func TestMeasuredWhite(t *testing.T) {
	onBlack, onWhite, onItem := as(t, "82,-1,-4"), as(t, "90,0,-1"), as(t, "77,-1,-5")
	other := as(t, "20,0,0").Lab
	measured := func(p *shop.Printer) {
		p.WhiteOnBlack, p.WhiteOnWhite, p.BlackGround = onBlack, onWhite, as(t, "8,0,0")
	}
	m, err := ordertest.Badge(t).Press.Model()
	if err != nil {
		t.Fatal(err)
	}
	paper := m.Lab([4]float64{})
	for name, c := range map[string]struct {
		change func(o *order.Order, p *shop.Printer, v *shop.Item)
		want   colour.Lab
	}{
		"black ground": {func(o *order.Order, p *shop.Printer, v *shop.Item) { measured(p); v.Colour = as(t, "8,0,0") }, onBlack.Lab},
		"white ground": {func(o *order.Order, p *shop.Printer, v *shop.Item) {
			measured(p)
			p.WhiteGround, v.Colour = as(t, "93,1,2"), as(t, "93,1,2")
		}, onWhite.Lab},
		"paper":       {func(o *order.Order, p *shop.Printer, v *shop.Item) { measured(p); o.ItemColour = &paper }, onWhite.Lab},
		"on the item": {func(o *order.Order, p *shop.Printer, v *shop.Item) { v.WhiteOnItem = onItem }, onItem.Lab},
		"both": {func(o *order.Order, p *shop.Printer, v *shop.Item) {
			measured(p)
			v.WhiteOnItem, v.Colour = onItem, as(t, "8,0,0")
		}, onItem.Lab},
		"a film's own hides it": {func(o *order.Order, p *shop.Printer, v *shop.Item) {
			measured(p)
			v.WhiteOnItem, o.ProcessName = onItem, "white film"
		}, paper},
	} {
		if d := colour.DeltaE00(printWhite(t, resolved(t, c.change)), c.want); d > 1e-6 {
			t.Errorf("%s: white looks ΔE00 %g off", name, d)
		}
	}
	// Another colour than the item's is another item: what was measured on it says nothing.
	pinned := resolved(t, func(o *order.Order, p *shop.Printer, v *shop.Item) { v.WhiteOnItem, o.ItemColour = onItem, &other })
	plain := resolved(t, func(o *order.Order, p *shop.Printer, v *shop.Item) { o.ItemColour = &other })
	if a, b := printWhite(t, pinned), printWhite(t, plain); a != b {
		t.Errorf("on another colour white is %v, want %v", a, b)
	}
	wrong := resolved(t, func(o *order.Order, p *shop.Printer, v *shop.Item) {
		measured(p)
		p.BlackGround = as(t, "90,0,0")
	})
	if _, err := wrong.Eye(); err == nil {
		t.Error("grounds alike passed")
	}
}

// TestMixed has an item of two yarns: it counts as their mean, and its look lies between
// those on each.
func TestMixed(t *testing.T) {
	mixed := func(a, b string, shares ...float64) *order.Job {
		return resolved(t, func(o *order.Order, p *shop.Printer, v *shop.Item) {
			v.Colour, v.Colours, v.Shares = shop.Colour{}, []shop.Colour{as(t, a), as(t, b)}, shares
		})
	}
	one := func(c string) *order.Job {
		return resolved(t, func(o *order.Order, p *shop.Printer, v *shop.Item) { v.Colour = as(t, c) })
	}
	if d := colour.DeltaE00(printWhite(t, mixed("navy", "navy", 30, 70)), printWhite(t, one("navy"))); d > 1e-9 {
		t.Errorf("navy mixed with navy looks ΔE00 %g off navy", d)
	}
	dark, mid, light := printWhite(t, one("#2b2d33")), printWhite(t, mixed("#2b2d33", "#d0d0d4")), printWhite(t, one("#d0d0d4"))
	if !(dark.L < mid.L && mid.L < light.L) {
		t.Errorf("white is L %g, %g and %g on dark, mixed and light", dark.L, mid.L, light.L)
	}
	j := mixed("black", "white")
	if y := j.Colour.XYZ(colour.D50).Y; y < 0.4999 || y > 0.5001 {
		t.Errorf("half black, half white is of Y %g", y)
	}
	j.Process.White = "knockout"
	need, err := j.WhiteNeed()
	if err != nil {
		t.Fatal(err)
	}
	if a, b := need(j.Colour), need(colour.Lab{}); a != 0 || b != 1 {
		t.Errorf("the mean needs %g white and black %g, want none and all", a, b)
	}
}

// TestClear looks at a clear item from both sides, with white on either side of the colours.
func TestClear(t *testing.T) {
	red := colour.Lab{L: 48, A: 68, B: 48}
	look := func(seen, side, behind string, printed colour.Lab, white float64) colour.Lab {
		j := resolved(t, func(o *order.Order, p *shop.Printer, v *shop.Item) {
			v.Clear, v.Seen, v.Colour = true, seen, as(t, behind)
		})
		as := *j.Process
		as.WhiteSide = side
		j.Process = &as
		s, _, err := j.Stack()
		if err != nil {
			t.Fatal(err)
		}
		return s.Look(printed, white)
	}
	for _, behind := range []string{"black", "#777777", "white"} {
		for _, w := range []float64{0, 0.5, 1} {
			front, through := look("front", "under", behind, red, w), look("through", "over", behind, red, w)
			if front != through {
				t.Errorf("%s behind, white %g: %v from the front with white under, %v through with white over", behind, w, front, through)
			}
			hidden, other := look("through", "under", behind, red, w), look("front", "over", behind, red, w)
			if hidden != other {
				t.Errorf("%s behind, white %g: %v through with white under, %v from the front with white over", behind, w, hidden, other)
			}
			if w == 0 && colour.DeltaE00(front, hidden) > 1e-9 {
				t.Errorf("%s behind: without white %v from one side, %v from the other", behind, front, hidden)
			}
			if w == 1 && hidden.Chroma() > front.Chroma()/2 {
				t.Errorf("%s behind: red under white is as vivid as %v", behind, hidden)
			}
		}
	}
	if dark, light := look("front", "under", "black", red, 0), look("front", "under", "white", red, 0); light.L < dark.L+20 {
		t.Errorf("without white red looks %v before black and %v before white", dark, light)
	}
}

// TestMetal has metal that mirrors: bare, it is the mean of what it shows before light and
// dark; solid white on it does not care.
func TestMetal(t *testing.T) {
	gold := "75,8,45"
	metal := func(finish, process string) *order.Job {
		return resolved(t, func(o *order.Order, p *shop.Printer, v *shop.Item) {
			v.Finish, v.Colour, o.ProcessName = finish, as(t, gold), process
		})
	}
	if got, want := metal("matte", "light garment").Colour, as(t, gold).Lab; got != want {
		t.Errorf("matte metal is %v, want its colour %v", got, want)
	}
	y := as(t, gold).Lab.XYZ(colour.D50).Y
	for finish, want := range map[string]float64{"": 1, "matte": 1, "satin": (1 + 0.515) / 2, "mirror": (1 + 0.03) / 2} { // by hand
		bare := metal(finish, "light garment")
		if got := bare.Colour.XYZ(colour.D50).Y / y; got < want-1e-9 || got > want+1e-9 {
			t.Errorf("finish %q shows %g of the metal, want %g", finish, got, want)
		}
		s, paper, err := bare.Stack()
		if err != nil {
			t.Fatal(err)
		}
		if d := colour.DeltaE00(s.Look(paper, 0), bare.Colour); d > 1e-6 {
			t.Errorf("finish %q: nothing printed looks ΔE00 %g off the item", finish, d)
		}
		for _, process := range []string{"light garment", "dark garment"} {
			j := metal(finish, process)
			light, err := j.WhiteFacing(order.FacesLight)
			if err != nil {
				t.Fatal(err)
			}
			dark, err := j.WhiteFacing(order.FacesDark)
			if err != nil {
				t.Fatal(err)
			}
			differ := j.Item.Mirrors() > 0 && process == "light garment"
			if d := colour.DeltaE00(light, dark); (d > 1) != differ {
				t.Errorf("finish %q, %s: print's white before light and dark differs by ΔE00 %g", finish, process, d)
			}
		}
		if d := colour.DeltaE00(printWhite(t, metal(finish, "dark garment")), printWhite(t, metal("", "dark garment"))); d > 1e-9 {
			t.Errorf("finish %q: solid white looks ΔE00 %g off that on matte", finish, d)
		}
	}
}
