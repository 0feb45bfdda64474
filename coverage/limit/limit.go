// Package limit is what one run takes on at most: how large files, pictures, lists and sheets
// may be, so that a damaged or hostile file ends in words and not in a machine without memory.
//
// All are counted, none is a time: the same input is refused everywhere alike. Each has a
// usual value, which the shop file may set anew within a range. What is no file of the shop's
// and has a bound in its own format is left to who reads it.
package limit

// MB is what a megabyte counts for here, in bytes.
const MB = 1 << 20

// ShopMB bounds the shop file itself, which can say nothing of that: megabytes.
const ShopMB = 4

// Limits are those of a shop. A field of 0 stands for the usual value.
type Limits struct {
	ArtMB      int `toml:"art_mb"`
	Megapixels int `toml:"megapixels"`
	PressMB    int `toml:"press_mb"`
	Patches    int `toml:"patches"`
	ListMB     int `toml:"list_mb"`
	Rows       int `toml:"rows"`
	Colours    int `toml:"colours"`
	Quantities int `toml:"quantities"`
	SheetMM    int `toml:"sheet_mm"`
	Bundle     int `toml:"bundle"`
	BundleMB   int `toml:"bundle_mb"`
	BundleOver int `toml:"bundle_over"`
}

// Limit is one of them.
type Limit struct {
	Key                string // in the shop file
	Value              *int
	Usual, Least, Most int
	Of                 string // what it bounds, as in "megabytes of an art file"
}

// Each is every limit, in the order in which they are told; values are l's own.
func (l *Limits) Each() []Limit {
	return []Limit{
		{"art_mb", &l.ArtMB, 4096, 1, 16384, "megabytes of an art file"},
		{"megapixels", &l.Megapixels, 400, 1, 1000, "million pixels of art; 400 are A0 at 600 an inch"},
		{"press_mb", &l.PressMB, 64, 1, 1024, "megabytes of a profile or data set of a press, and of a profile inside art"},
		{"patches", &l.Patches, 2500, 100, 8000, "different patches of a data set; twice as many take eight times as long"},
		{"list_mb", &l.ListMB, 64, 1, 1024, "megabytes of a list, an order, brand colours or a journal"},
		{"rows", &l.Rows, 100_000, 1, 1_000_000, "rows of a list of orders"},
		{"colours", &l.Colours, 500, 1, 10_000, "brand colours that are matched at once"},
		{"quantities", &l.Quantities, 100, 1, 1000, "quantities of a quote"},
		{"sheet_mm", &l.SheetMM, 10_000, 100, 20_000, "millimetres of a sheet's longer side"},
		{"bundle", &l.Bundle, 1000, 1, 100_000, "files of a folder, or entries of a .zip"},
		{"bundle_mb", &l.BundleMB, 8192, 1, 65536, "megabytes of all that a .zip holds, unpacked"},
		{"bundle_over", &l.BundleOver, 200, 1, 1032, "times its packed size that what is over 64 MB in a .zip may be"},
	}
}

// Usual are the limits where no shop says anything.
func Usual() Limits { return Limits{}.Filled() }

// Filled is l with the usual values where it says nothing.
func (l Limits) Filled() Limits {
	for _, v := range l.Each() {
		if *v.Value == 0 {
			*v.Value = v.Usual
		}
	}
	return l
}
