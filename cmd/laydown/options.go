package main

import (
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
	"laydown/coverage/order"
	"laydown/coverage/proof"
	"laydown/coverage/shop"
	"laydown/coverage/unit"
)

// orderFlags are the options that every command on artwork takes.
func orderFlags(more ...cli.Flag) []cli.Flag {
	return append([]cli.Flag{
		&cli.StringFlag{Name: "shop", Usage: "shop `FILE` (default: the built-in demo shop)"},
		&cli.StringFlag{Name: "process", Usage: "process `NAME` of the shop file"},
		&cli.StringFlag{Name: "item", Usage: "item `NAME` of the shop file"},
		&cli.StringFlag{Name: "item-colour", Usage: "`COLOUR` of the item: #rrggbb, a name, or L,a,b"},
		&cli.StringFlag{Name: "width", Usage: "width of the print: a `LENGTH` such as 80mm or 3.5in"},
		&cli.StringFlag{Name: "height", Usage: "height of the print, a `LENGTH`"},
		&cli.Float64Flag{Name: "dpi", Usage: "pixels per inch, in place of a size"},
		&cli.StringFlag{Name: "qty", Usage: "quantities to quote: `N`, or N,N,N (default: the shop's)"},
		&cli.StringFlag{Name: "sheet", Usage: "sheet `SIZE`: A4, Letter …, or 210x297mm (default: the media's)"},
		&cli.StringFlag{Name: "press", Usage: "`FILE` of the press: an ICC profile or a CGATS data set (default: a published stand-in)"},
		&cli.StringFlag{Name: "intent", Value: "relative", Usage: "rendering `INTENT`: relative, perceptual, saturation or absolute"},
		&cli.BoolFlag{Name: "no-bpc", Usage: "no black point compensation"},
		&cli.Float64Flag{Name: "tac", Usage: "limit on C+M+Y+K in `PERCENT`, in place of the shop's and of a profile's own separation"},
		&cli.StringFlag{Name: "black", Usage: "black generation `CURVE` in place of the printer's and of a profile's own: none, light, medium, heavy or full"},
		&cli.BoolFlag{Name: "pure-black", Usage: "print black and neutral greys on the black toner alone"},
		&cli.StringFlag{Name: "keep-pure", Usage: "`WHAT` stays on its own toner of CMYK art made for another press: none, black, or all solids and tints of one toner (default: black)"},
		&cli.BoolFlag{Name: "drop-background", Usage: "work it out as if the flat ground that the art stands on were gone"},
		&cli.BoolFlag{Name: "drop-holes", Usage: "with --drop-background: take its colour out of holes in the art as well"},
		&cli.BoolFlag{Name: "ignore-profile", Usage: "take the art as if it said nothing of its colours"},
		&cli.StringFlag{Name: "cache", Usage: "`FOLDER` for computed tables; none keeps nothing (default: the user's cache folder)"},
		&cli.BoolFlag{Name: "json", Usage: "print JSON"},
	}, more...)
}

// readOrder turns the options into an order without its artwork.
func readOrder(c *cli.Context) (order.Order, error) {
	o := order.Order{ProcessName: c.String("process"), ItemName: c.String("item"), NoBPC: c.Bool("no-bpc"), TACPercent: c.Float64("tac"),
		Black: c.String("black"), PureBlack: c.Bool("pure-black"), KeepPure: c.String("keep-pure"), IgnoreProfile: c.Bool("ignore-profile"),
		DropBackground: c.Bool("drop-background") || c.Bool("drop-holes"), DropHoles: c.Bool("drop-holes")}
	var err error
	if o.Shop, err = readShop(c.String("shop")); err != nil {
		return o, err
	}
	usage := func(name string, err error) error { return usageError{fault.In(name, err)} }
	if s := c.String("item-colour"); s != "" {
		lab, err := colour.Parse(s)
		if err != nil {
			return o, usage("item-colour", err)
		}
		o.ItemColour = &lab
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
	if c.IsSet("dpi") && (c.IsSet("width") || c.IsSet("height")) {
		return o, usageError{fault.New("the print is given two sizes", "give either {dpi} or a size, not both")}
	}
	if c.IsSet("tac") && !(o.TACPercent > 0 && o.TACPercent <= 400) {
		return o, usage("tac", errors.New("must be above 0 and at most 400"))
	}
	if s := c.String("sheet"); s != "" {
		v, err := unit.ParseSheet(s)
		if err != nil {
			return o, usage("sheet", err)
		}
		o.Sheet = &v
	}
	if o.Intent, err = icc.ParseIntent(c.String("intent")); err != nil {
		return o, usage("intent", err)
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
	if f := c.String("swatches"); f != "" {
		b, err := os.ReadFile(f)
		if err == nil {
			o.Swatches, o.SwatchesSkipped, err = order.ReadSwatches(b, how)
		}
		if err != nil {
			return o, named(f, err)
		}
	}
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
			o.Swatches = append(o.Swatches, recipe)
			continue
		}
		lab, err := colour.Parse(value)
		if err != nil {
			return o, usage("colour", err)
		}
		o.Swatches = append(o.Swatches, swatch.Swatch{Name: name, Lab: lab, Screen: !strings.Contains(value, ",")})
	}
	if o.Quantities, err = readQuantities(c); err != nil {
		return o, err
	}
	cache := cacheDir(c.String("cache"))
	o.Studio = artwork.NewStudio(cache, font.Folders(runtime.GOOS, os.Getenv)...)
	o.Press, err = readPress(c.String("press"), cache)
	return o, err
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
	for _, part := range strings.Split(text, ",") {
		n, err := strconv.Atoi(strings.TrimSpace(part))
		if err != nil || n <= 0 || n > 10_000_000 {
			return nil, usageError{fmt.Errorf("--qty %q: write a quantity above 0, or several with commas", text)}
		}
		out = append(out, n)
	}
	return out, nil
}

// named puts the file's name before an error that lacks it, on every line.
func named(file string, err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	if text := err.Error(); strings.Contains(text, "\n") {
		return errors.New(file + ": " + strings.ReplaceAll(text, "\n", "\n"+file+": "))
	}
	return fmt.Errorf("%s: %w", file, err)
}

func readShop(file string) (*shop.Shop, error) {
	if file == "" {
		return shop.Load(shop.Demo(), "built-in demo shop")
	}
	b, err := os.ReadFile(file)
	if err != nil {
		return nil, named(file, err)
	}
	return shop.Load(b, file)
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

func readPress(file, cacheDir string) (*press.Press, error) {
	keep := press.Cache{Dir: cacheDir}
	if file == "" {
		return press.StandIn(keep), nil
	}
	b, err := os.ReadFile(file)
	if err != nil {
		return nil, named(file, err)
	}
	p, err := press.Open(b, keep)
	if err != nil {
		return nil, named(file, err)
	}
	return p, nil
}

// proofs works out every art file named on the command line.
func proofs(c *cli.Context, parts proof.Part) ([]*proof.Proof, error) {
	o, err := readOrder(c)
	if err != nil {
		return nil, err
	}
	if !c.Args().Present() {
		return nil, usageError{errors.New("name at least one art file")}
	}
	var all []*proof.Proof
	for _, f := range c.Args().Slice() {
		o.ArtPath = f
		p, err := proof.Make(o, parts)
		if err != nil {
			return nil, err
		}
		all = append(all, p)
	}
	return all, nil
}
