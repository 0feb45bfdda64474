package commission

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"
)

const team = "name;number;size\nHill;7;M\nLund;12;L\n;3;M\n"

const whole = `number = "118"
customer = "Lund"
date = "2026-11-27"
due = 2026-12-10
`

func folder(t *testing.T) string {
	dir := t.TempDir()
	for name, data := range map[string]string{"team.csv": team, "half.csv": "name,size\na,M\nb,\n", "a.png": "x", "b.svg": "y", ".hidden.png": "z", "readme.txt": "t"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(data), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestRead(t *testing.T) {
	dir := folder(t)
	c, err := Read([]byte(`number = "118"
date = 2026-11-27
rush = true
discount_percent = "5"
[[charge]]
name = "delivery"
amount = 6.50
[[goods]]
item = "black tee"
names = "team.csv"
[[goods.print]]
art = "badge.png"
width = "3 in"
[[goods.print]]
text = "{number} {name}"
letter_height = "5 cm"
colour = "white"
[[goods]]
sizes = { XL = 4, M = 10, "2XL" = 1 }
own_blanks = true
item_colour = "#102030"
[[goods.print]]
art = "/elsewhere/a.png"
`), "order.toml", dir)
	if err != nil {
		t.Fatal(err)
	}
	tees, other := c.Goods[0], c.Goods[1]
	if c.Date.String() != "2026-11-27" || !c.Rush || c.Charges[0].Amount.String() != "6.5" {
		t.Errorf("%+v", c)
	}
	if tees.Quantity != 3 || fmt.Sprint(tees.Sizes, tees.SizeOrder) != "map[L:1 M:2] [M L]" || tees.Prints[0].Art != filepath.Join(dir, "badge.png") || tees.Prints[0].Width.MM() != 76.2 {
		t.Errorf("%+v", tees)
	}
	if p := tees.Prints[1]; !p.Own() || p.Said(tees.List[0]) != "7 Hill" || p.Said(tees.List[2]) != "3" || p.Colour != "#ffffff" || p.Letters.MM() != 50 {
		t.Errorf("%+v", p)
	}
	if other.Quantity != 15 || fmt.Sprint(other.SizeOrder) != "[XL M 2XL]" || other.Colour.Hex() != "#102030" || other.Prints[0].Art != "/elsewhere/a.png" {
		t.Errorf("%+v", other)
	}
}

// TestReadRefuses makes each mistake alone; #! marks the line that is told.
func TestReadRefuses(t *testing.T) {
	dir := folder(t)
	print := "\n[[goods.print]]\nart = \"a.png\"\n"
	for _, c := range []struct{ text, want string }{
		{"number = \"1\" #!", "there are no [[goods]]"},
		{"date = \"27.11.2026\" #!\n[[goods]]\nquantity = 1" + print, `"27.11.2026" is no date`},
		{"date = true #!\n[[goods]]\nquantity = 1" + print, `a date such as "2026-03-14", not true or false`},
		{"date = 1 #!\n[[goods]]\nquantity = 1" + print, `"1" is no date`},
		{"date = \"2026-11-27\"\ndue = \"2026-11-26\" #!\n[[goods]]\nquantity = 1" + print, "due is before date"},
		{"discount_percent = 101 #!\n[[goods]]\nquantity = 1" + print, "at most 100"},
		{"[[charge]] #!\nname = \"delivery\"\n[[goods]]\nquantity = 1" + print, "amount is missing"},
		{"[[charge]]\nname = \"delivery\"\namount = -1 #!\n[[goods]]\nquantity = 1" + print, "must not be negative"},
		{"[[goods]] #!\nname = \"tees\"" + print, `goods "tees": quantity is missing: write for example quantity = 24, or sizes`},
		{"[[goods]]\nquantity = 0 #!" + print, "above 0"},
		{"[[goods]]\nquantity = 3 #!\nsizes = { M = 2 }" + print, "quantity = 3, but the sizes are 2"},
		{"[[goods]]\nsizes = { M = 0 } #!" + print, "M = 0"},
		{"[[goods]] #!\nquantity = 3", "no [[goods.print]]"},
		{"[[goods]]\nquantity = 3\n[[goods.print]] #!", "art or a text"},
		{"[[goods]]\nquantity = 3\n[[goods.print]] #!\nart = \"a\"\ntext = \"b\"", "art or a text"},
		{"[[goods]]\nquantity = 3" + print + "colour = \"white\" #!", "colour is for a text"},
		{"[[goods]]\nquantity = 3" + print + "width = \"-1 mm\" #!", "must not be negative"},
		{"[[goods]]\nquantity = 3" + print + "width = \"1 mm\"\ndpi = 300 #!", "either it or a size"},
		{"[[goods]]\nquantity = 3" + print + "wdith = \"1 mm\" #!", "is width meant?"},
		{"[[goods]]\nquantity = 3\n[[goods.print]] #!\ntext = \"a\"\ncolour = \"white\"", "letter_height is missing"},
		{"[[goods]]\nquantity = 3\n[[goods.print]]\ntext = \"a\"\nletter_height = \"5 mm\"\ncolour = \"blurple\" #!", "blurple"},
		{"[[goods]]\nquantity = 3\n[[goods.print]] #!\ntext = \"a\"\nletter_height = \"5 mm\"\ncolour = \"white\"\noutline = \"1 mm\"", "outline_colour is missing"},
		{"[[goods]]\nquantity = 3\n[[goods.print]]\ntext = \"{name}\" #!\nletter_height = \"5 mm\"\ncolour = \"white\"", "names = the list"},
		{"[[goods]]\nnames = \"none.csv\" #!\nquantity = 3" + print, "leave quantity and sizes out"},
		{"[[goods]]\nnames = \"none.csv\" #!" + print, "none.csv: there is no such file"},
		{"[[goods]]\nnames = \"half.csv\" #!" + print, "some rows have a size"},
		{"[[goods]]\nitem_colour = \"blurple\" #!\nquantity = 3" + print, "blurple"},
	} {
		line := strings.Count(c.text[:strings.Index(c.text, "#!")], "\n") + 1
		_, err := Read([]byte(c.text), "o.toml", dir)
		if err == nil || !strings.HasPrefix(err.Error(), fmt.Sprintf("o.toml:%d: ", line)) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s\n%v, want line %d, %s", c.text, err, line, c.want)
		}
	}
}

func TestReadList(t *testing.T) {
	c, err := ReadList([]byte("goods,art,quantity,item,place,width,size,Own blanks\ncrew,a.png,12,black tee,chest,80mm,,yes\ncrew,b.svg,12,,back,250mm,,\n,c.png,5,,,,,\ncaps,d.png,3,cap,,,M,no\ncaps,d.png,4,cap,,,L,\n"), "in")
	if err != nil || len(c.Goods) != 3 {
		t.Fatalf("%+v, %v", c, err)
	}
	crew, caps := c.Goods[0], c.Goods[2]
	if len(crew.Prints) != 2 || crew.Quantity != 12 || crew.Prints[1].Place != "back" || crew.Prints[0].Art != filepath.Join("in", "a.png") {
		t.Errorf("%+v", crew)
	}
	if !crew.OwnBlanks || c.Goods[1].OwnBlanks || caps.OwnBlanks {
		t.Errorf("the customer's own: %t, %t, %t", crew.OwnBlanks, c.Goods[1].OwnBlanks, caps.OwnBlanks)
	}
	if caps.Quantity != 7 || fmt.Sprint(caps.SizeOrder) != "[M L]" || len(caps.Prints) != 1 {
		t.Errorf("%+v", caps)
	}
	for text, want := range map[string]string{
		"art,quantity\n":                                               "no goods",
		"art,quantity\na.png,0\n":                                      "line 2: quantity",
		"goods,art,quantity\nx,a.png,1\nx,b.png,2\n":                   "the quantity of \"x\" above, 1",
		"goods,art,quantity,item\nx,a.png,1,cap\nx,b.png,1,tee\n":      "the same item in all rows",
		"goods,art,quantity,own_blanks\nx,a.png,1,yes\nx,b.png,1,no\n": "the same in all rows of \"x\"",
		"art,quantity,own_blanks\na.png,1,mine\n":                      "own_blanks",
		"goods,art,quantity,size\nx,a.png,1,M\nx,b.png,1,L\n":          "sizes of \"x\" in rows with the same print",
	} {
		if _, err := ReadList([]byte(text), ""); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

func TestOfFolder(t *testing.T) {
	c, err := OfFolder(folder(t), 12)
	if err != nil || len(c.Goods) != 2 || c.Goods[0].Name != "a" || c.Goods[1].Quantity != 12 {
		t.Errorf("%+v, %v", c, err)
	}
	if _, err := OfFolder(t.TempDir(), 1); err == nil || !strings.Contains(err.Error(), "no art") {
		t.Error(err)
	}
}

// TestExample: the order to start from reads, and has every key, if only in a comment.
func TestExample(t *testing.T) {
	c, err := Read(Example(), "order.toml", folder(t))
	if err != nil || len(c.Goods) != 2 || c.Goods[0].Quantity != 12 || c.Goods[1].Quantity != 3 {
		t.Errorf("%+v, %v", c, err)
	}
	for _, of := range []reflect.Type{reflect.TypeFor[Commission](), reflect.TypeFor[Charge](), reflect.TypeFor[Goods](), reflect.TypeFor[Print]()} {
		for i := range of.NumField() {
			key := of.Field(i).Tag.Get("toml")
			if key != "" && key != "goods" && key != "charge" && key != "print" && !regexp.MustCompile(`(?m)^(# )?`+key+` = `).Match(Example()) {
				t.Errorf("no %s in the example", key)
			}
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(whole + "[[goods]]\nquantity = 3\n[[goods.print]]\nart = \"a.png\"\n"))
	f.Add([]byte("[[goods]]\nsizes = { M = 1 }\n[[goods.print]]\ntext = \"a\"\nletter_height = \"1 mm\"\ncolour = \"white\""))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := Read(data, "o", "/nowhere")
		if err == nil && len(c.Goods) == 0 {
			t.Error("no goods and no error")
		}
	})
}

func FuzzReadList(f *testing.F) {
	f.Add([]byte("goods,art,quantity,size\nx,a.png,1,M\nx,a.png,1,L\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if c, err := ReadList(data, "x"); err == nil && len(c.Goods) == 0 {
			t.Error("no goods and no error")
		}
	})
}

func ExampleReadList() {
	c, err := ReadList([]byte("goods,art,quantity,place\ntees,front.png,12,chest\ntees,back.png,12,back\n"), ".")
	fmt.Println(len(c.Goods), c.Goods[0].Quantity, len(c.Goods[0].Prints), err)
	// Output: 1 12 2 <nil>
}
