package form

import (
	"encoding"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
	"github.com/shopspring/decimal"

	"laydown/coverage/table"
	"laydown/coverage/unit"
)

// binder puts a form's values into a struct. It goes on after a mistake, so that all of
// them are found at once.
type binder struct {
	found []Mistake
	keys  string // where all keys are listed
}

// Bind puts a form's values into the struct that into points to, and returns those that do
// not go in. Its fields have the tag toml with their key, and may have the tag once with a
// former one; they are text, numbers, [decimal.Decimal], lists, structs, maps, and what
// reads itself from text. keys is a sentence that says where all keys are listed.
func Bind(root *Node, into any, keys string) []Mistake {
	b := &binder{keys: keys}
	b.table(reflect.ValueOf(into).Elem(), root, nil)
	return b.found
}

// Dated is a value that reads itself from text and may be written as a date of TOML too.
type Dated interface{ Dated() }

// Describer is a value that reads itself from text and says what text that is, such as a
// colour such as "#17171a".
type Describer interface{ Describe() string }

func (b *binder) say(in Path, key string, n *Node, format string, v ...any) {
	b.found = append(b.found, Mistake{in, key, n.line, fmt.Sprintf(format, v...)})
}

// table puts the keys of a table into a struct.
func (b *binder) table(v reflect.Value, n *Node, in Path) {
	given := map[string]string{} // how each key is spelt
	for _, child := range n.order {
		i, tag := field(v.Type(), child.key)
		if tag == "" {
			b.unknown(v.Type(), child, in)
			continue
		}
		if before, ok := given[tag]; ok {
			b.say(in, child.key, child, "%s and %s mean the same: leave one of them out", before, child.key)
			continue
		}
		given[tag] = child.key
		n.under[tag] = child // found there from now on, whatever its spelling
		b.value(v.Field(i), child, in, child.key, in.To(tag))
	}
}

// field finds the field of a key: by its name, by the name it once had, or by its name
// in other capitals; tag is "" if there is none.
func field(t reflect.Type, key string) (index int, tag string) {
	for _, same := range []func(f reflect.StructTag) bool{
		func(f reflect.StructTag) bool { return f.Get("toml") == key },
		func(f reflect.StructTag) bool { return f.Get("once") == key },
		func(f reflect.StructTag) bool { return strings.EqualFold(f.Get("toml"), key) },
	} {
		for i := range t.NumField() {
			if f := t.Field(i).Tag; f.Get("toml") != "" && same(f) {
				return i, f.Get("toml")
			}
		}
	}
	return 0, ""
}

func (b *binder) unknown(t reflect.Type, n *Node, in Path) {
	var tags []string
	for i := range t.NumField() {
		if tag := t.Field(i).Tag.Get("toml"); tag != "" {
			tags = append(tags, tag)
		}
	}
	hint := "."
	if near := table.Nearest(n.key, tags); near != "" {
		hint = fmt.Sprintf("; is %s meant?", near)
	}
	b.say(in, n.key, n, "no key is called %q here%s %s", n.key, hint, b.keys)
}

// value puts the value at a path, which is that of a key of the table in, into v.
func (b *binder) value(v reflect.Value, n *Node, in Path, key string, at Path) {
	mismatch := func() { b.say(in, key, n, "%s must be %s, not %s", key, Wanted(v.Type()), kindName(n.kind)) }
	number := n.kind == unstable.Integer || n.kind == unstable.Float
	switch to := v.Addr().Interface().(type) {
	case *decimal.Decimal:
		if !number && n.kind != unstable.String {
			mismatch()
			return
		}
		b.amount(to, n, in, key, number)
		return
	case encoding.TextUnmarshaler:
		_, dated := to.(Dated)
		if !number && n.kind != unstable.String && !(dated && n.kind == unstable.LocalDate) {
			mismatch()
		} else if err := to.UnmarshalText([]byte(n.text)); err != nil {
			b.say(in, key, n, "%v", err)
		}
		return
	}
	switch v.Kind() {
	case reflect.String:
		if n.kind != unstable.String {
			mismatch()
			return
		}
		v.SetString(n.text)
	case reflect.Bool:
		if n.kind != unstable.Bool {
			mismatch()
			return
		}
		v.SetBool(n.text == "true")
	case reflect.Int, reflect.Int64:
		if n.kind != unstable.Integer {
			mismatch()
			return
		}
		i, err := strconv.ParseInt(n.text, 0, 64)
		if err != nil || v.OverflowInt(i) {
			b.say(in, key, n, "%s = %s has more digits than a whole number may have", key, n.text)
			return
		}
		v.SetInt(i)
	case reflect.Float64:
		if !number {
			mismatch()
			return
		}
		f, ok := float(n.text)
		if !ok {
			b.say(in, key, n, "%s = %s is not a number to reckon with", key, n.text)
			return
		}
		v.SetFloat(f)
	case reflect.Struct:
		if n.kind != unstable.Table {
			mismatch()
			return
		}
		b.table(v, n, at)
	case reflect.Map:
		if n.kind != unstable.Table {
			mismatch()
			return
		}
		v.Set(reflect.MakeMap(v.Type()))
		for _, child := range n.order {
			to := reflect.New(v.Type().Elem()).Elem()
			b.value(to, child, at, child.key, at.To(child.key))
			v.SetMapIndex(reflect.ValueOf(child.key), to)
		}
	case reflect.Slice:
		items := n.items
		if n.kind == unstable.Table && v.Type().Elem().Kind() == reflect.Struct {
			items = []*Node{n} // [printer] for a shop's only [[printer]]
		} else if n.kind != unstable.Array {
			mismatch()
			return
		}
		v.Set(reflect.MakeSlice(v.Type(), len(items), len(items)))
		for i, item := range items {
			b.value(v.Index(i), item, in, key, at.To(i))
		}
	default:
		panic("form: no key can be a " + v.Type().String()) // a field of a new type
	}
}

// float reads a number of TOML: decimal, or whole with the prefix 0x, 0o or 0b.
func float(text string) (f float64, ok bool) {
	if i, err := strconv.ParseInt(text, 0, 64); err == nil {
		return float64(i), true
	}
	f, err := strconv.ParseFloat(strings.ReplaceAll(text, "_", ""), 64)
	return f, err == nil && !math.IsInf(f, 0) && !math.IsNaN(f)
}

// mostDigits bounds the digits of an amount on either side of its point: reckoning with
// 1e999999999 would take all the memory there is.
const mostDigits = 15

// amount reads an amount digit by digit.
func (b *binder) amount(to *decimal.Decimal, n *Node, in Path, key string, number bool) {
	text := n.text
	if number {
		text = strings.ReplaceAll(text, "_", "")
	}
	d, err := decimal.NewFromString(text)
	if err != nil {
		b.say(in, key, n, "%s = %q: write an amount with a decimal point, such as \"12.50\"", key, n.text)
		return
	}
	if e := int(d.Exponent()); e < -mostDigits || e > mostDigits || d.NumDigits()+e > mostDigits {
		b.say(in, key, n, "%s has more than %d digits on one side of its point", key, mostDigits)
		return
	}
	*to = d
}

// Wanted says what a key of a type must be.
func Wanted(t reflect.Type) string {
	switch t {
	case reflect.TypeFor[decimal.Decimal]():
		return `an amount such as "12.50"`
	case reflect.TypeFor[unit.Length]():
		return `a length such as "5 mm"`
	case reflect.TypeFor[unit.Sheet]():
		return `a size such as "A4" or "210x297mm"`
	}
	if d, ok := reflect.Zero(t).Interface().(Describer); ok {
		return d.Describe()
	}
	switch t.Kind() {
	case reflect.String:
		return "text in quotes"
	case reflect.Bool:
		return "true or false"
	case reflect.Int, reflect.Int64:
		return "a whole number"
	case reflect.Float64:
		return "a number"
	case reflect.Slice:
		if t.Elem().Kind() == reflect.Struct {
			return "a list of tables"
		}
		return "a list in square brackets"
	}
	return "a table"
}

// kindName says what a value of the file is.
func kindName(k unstable.Kind) string {
	switch k {
	case unstable.String:
		return "text"
	case unstable.Integer:
		return "a whole number"
	case unstable.Float:
		return "a number that is not whole"
	case unstable.Bool:
		return "true or false"
	case unstable.Array:
		return "a list"
	case unstable.Table:
		return "a table"
	}
	return "a date or a time"
}
