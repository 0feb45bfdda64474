package main

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/press"
	"laydown/colour/swatch"
	"laydown/coverage/artwork"
	"laydown/coverage/artwork/font"
	"laydown/coverage/fault"
	"laydown/coverage/file"
	"laydown/coverage/limit"
	"laydown/coverage/name"
	"laydown/coverage/order"
	"laydown/coverage/unit"
)

// readOrder turns the options into an order without its artwork: first all that can be
// refused without a file, then the files.
func readOrder(c *cli.Context) (order.Order, error) {
	o := order.Order{ProcessName: c.String("process"), ItemName: c.String("item"), NoBPC: c.Bool("no-bpc"), TACPercent: c.Float64("tac"),
		Black: c.String("black"), PureBlack: c.Bool("pure-black"), KeepPure: c.String("keep-pure"), IgnoreProfile: c.Bool("ignore-profile"),
		DropBackground: c.Bool("drop-background") || c.Bool("drop-holes"), DropHoles: c.Bool("drop-holes")}
	usage := func(name string, err error) error { return usageError{fault.In(name, err)} }
	var err error
	if s := c.String("item-colour"); s != "" {
		lab, err := colour.Parse(s)
		if err != nil {
			return o, usage("item-colour", err)
		}
		o.ItemColour, o.ItemColourName = &lab, colour.Name(s)
	}
	if o.Wish.WidthMM, err = readSide(c, "width"); err != nil {
		return o, err
	}
	if o.Wish.HeightMM, err = readSide(c, "height"); err != nil {
		return o, err
	}
	if o.Wish.DPI = c.Float64("dpi"); o.Wish.DPI < 0 || (c.IsSet("dpi") && o.Wish.DPI == 0) {
		return o, usage("dpi", errors.New("must be above 0"))
	}
	if o.Page = c.Int("page"); o.Page < 0 || (c.IsSet("page") && o.Page == 0) {
		return o, usage("page", errors.New("the first one is 1"))
	}
	if c.IsSet("dpi") && (c.IsSet("width") || c.IsSet("height")) {
		return o, usageError{fault.New("the print is given two sizes", "give either {dpi} or a size, not both")}
	}
	if c.IsSet("tac") && !(o.TACPercent > 0 && o.TACPercent <= 400) {
		return o, usage("tac", errors.New("must be above 0 and at most 400"))
	}
	o.Black, o.KeepPure = inFull(o.Black, press.Blacks()), inFull(o.KeepPure, press.Keeps())
	if _, err := press.ParseBlack(o.Black); o.Black != "" && err != nil {
		return o, usage("black", err)
	}
	if _, err := press.ParseKeep(o.KeepPure); o.KeepPure != "" && err != nil {
		return o, usage("keep-pure", err)
	}
	if s := c.String("sheet"); s != "" {
		v, err := unit.ParseSheet(s)
		if err != nil {
			return o, usage("sheet", err)
		}
		o.Sheet = &v
	}
	if o.Intent, err = icc.ParseIntent(inFull(cmp.Or(c.String("intent"), icc.Relative.String()), icc.Intents())); err != nil {
		return o, usage("intent", err)
	}
	if o.Intent == icc.Absolute && o.NoBPC {
		return o, without(c, "absolute colours are never compensated: leave it out", "no-bpc")
	}
	var how swatch.Options
	if s := c.String("measurement"); s != "" {
		if how.Measurement, err = swatch.ParseMeasurement(s); err != nil {
			return o, usage("measurement", err)
		}
		if c.String("swatches") == "" {
			return o, usage("measurement", errors.New("is about a list of brand colours, and none is given"))
		}
	}
	var given []swatch.Swatch
	for _, text := range c.StringSlice("colour") {
		name, value, ok := strings.Cut(text, "=")
		if !ok {
			name, value = text, text
		}
		recipe, ok, err := swatch.ParseRecipe(name, value)
		if err != nil {
			return o, usage("colour", err)
		}
		if ok {
			given = append(given, recipe)
			continue
		}
		lab, err := colour.Parse(value)
		if err != nil {
			return o, usage("colour", err)
		}
		given = append(given, swatch.Swatch{Name: name, Lab: lab, Screen: !strings.Contains(value, ",")})
	}
	if o.Quantities, err = readQuantities(c); err != nil {
		return o, err
	}

	if o.Shop, err = readShop(c); err != nil {
		return o, err
	}
	if n, most := len(o.Quantities), o.Shop.Limits.Quantities; n > most {
		return o, usageError{tooMany(n, most)}
	}
	if _, err := o.Resolve(); err != nil {
		return o, err
	}
	if f := c.String("swatches"); f != "" {
		b, err := file.Read(f, int64(o.Shop.Limits.ListMB)*limit.MB)
		if err == nil {
			o.Swatches, o.SwatchesSkipped, err = order.ReadSwatches(b, how)
		}
		if err != nil {
			return o, named(f, err)
		}
	}
	o.Swatches = append(o.Swatches, given...)
	if n, most := len(o.Swatches), o.Shop.Limits.Colours; n > most {
		return o, fmt.Errorf("there are %d brand colours, and at most %d are matched at once: split the list, or raise colours under [limits] in the shop file", n, most)
	}
	w, cache := worldOf(c), cacheDir(c.String("cache"))
	o.Studio = artwork.NewStudio(cache, font.Folders(runtime.GOOS, w.getenv)...)
	o.Press, err = readPress(w, c.String("press"), cache, o.Shop.Limits)
	return o, err
}

// inFull is the word of a list that is meant, in any case or by its beginning; the same word
// where none is, which is then refused by who knows what for.
func inFull(word string, words []string) string {
	if at, err := name.Find("word", word, "the list", words); err == nil && word != "" {
		return words[at]
	}
	return word
}

// readSide reads a length above 0; 0 says that it is not given.
func readSide(c *cli.Context, name string) (float64, error) {
	s := c.String(name)
	if s == "" {
		return 0, nil
	}
	l, err := unit.ParseLength(s)
	if err == nil && l <= 0 {
		err = errors.New("must be above 0")
	}
	if err != nil {
		return 0, usageError{fault.In(name, err)}
	}
	return l.MM(), nil
}

// readQuantities reads --qty.
func readQuantities(c *cli.Context) (out []int, err error) {
	text := c.String("qty")
	if text == "" {
		return nil, nil
	}
	l := limit.Usual() // the shop's own is held to when its file is read
	for _, v := range l.Each() {
		if n := strings.Count(text, ",") + 1; v.Key == "quantities" && n > v.Most {
			return nil, usageError{tooMany(n, v.Most)}
		}
	}
	for _, part := range strings.Split(text, ",") {
		n, err := strconv.Atoi(strings.TrimSpace(part))
		if err != nil || n <= 0 || n > 10_000_000 {
			if len(text) > 60 {
				text = part[:min(len(part), 60)]
			}
			return nil, usageError{fmt.Errorf("--qty %q: write a quantity above 0, or several with commas", text)}
		}
		out = append(out, n)
	}
	return out, nil
}

// tooMany says that there are more quantities than are quoted.
func tooMany(n, most int) error {
	return fault.In("qty", fmt.Errorf("there are %d quantities, and at most %d are quoted: leave some out, or raise quantities under [limits] in the shop file", n, most))
}

// named puts the file's name before an error that lacks it, on every line, and says of a
// file that is not there what to do.
func named(path string, err error) error {
	err = file.Bare(err)
	if text := err.Error(); strings.Contains(text, "\n") {
		return errors.New(path + ": " + strings.ReplaceAll(text, "\n", "\n"+path+": "))
	}
	return fmt.Errorf("%s: %w", path, err)
}

// cacheDir is the folder for what is worked out once; "" for none.
func cacheDir(asked string) string {
	switch asked {
	case "none":
		return ""
	case "":
		dir, err := os.UserCacheDir()
		if err != nil {
			return ""
		}
		return filepath.Join(dir, "laydown")
	}
	return asked
}

func readPress(w world, path, cacheDir string, l limit.Limits) (*press.Press, error) {
	keep := press.Cache{Dir: cacheDir}
	if path == "" {
		return w.standIn(keep), nil
	}
	b, err := file.Read(path, int64(l.PressMB)*limit.MB)
	if err != nil {
		return nil, named(path, err)
	}
	p, err := press.Open(b, keep)
	if err != nil {
		return nil, named(path, err)
	}
	// A model takes memory as the square of the patches and time as their cube.
	if p.Set != nil && len(p.Set.Patches) > l.Patches {
		return nil, fmt.Errorf("%s: has %d different patches, and at most %d are fitted: measure a standard chart, leave patches out, or raise patches under [limits] in the shop file", path, len(p.Set.Patches), l.Patches)
	}
	return p, nil
}
