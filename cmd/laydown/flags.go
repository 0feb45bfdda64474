package main

import (
	"slices"

	"github.com/urfave/cli/v2"
)

// The groups that options are shown in behind a command's own.
const (
	groupPrint  = "The art and its print"
	groupOn     = "What it is printed on, and how"
	groupColour = "Colour"
	groupAnswer = "The answer"
)

var groups = []string{groupPrint, groupOn, groupColour, groupAnswer}

// sharedFlags are the options that several commands take, in the order of help. A command
// takes those that change its answer.
func sharedFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringFlag{Name: "width", Aliases: []string{"w"}, Category: groupPrint, Usage: "width of the print: a `LENGTH` such as 80mm or 3.5in"},
		&cli.StringFlag{Name: "height", Category: groupPrint, Usage: "height of the print, a `LENGTH`"},
		&cli.IntFlag{Name: "page", Category: groupPrint, Usage: "`PAGE` of art that has several, the first one 1 (default: all of a PDF, the first of a TIFF)"},
		&cli.Float64Flag{Name: "dpi", Category: groupPrint, Usage: "`PIXELS` per inch, in place of a size"},
		&cli.StringFlag{Name: "sheet", Aliases: []string{"s"}, Category: groupPrint, Usage: "sheet `SIZE`: A4, Letter …, or 210x297mm (default: the media's)"},
		&cli.BoolFlag{Name: "drop-background", Category: groupPrint, Usage: "work it out as if the flat ground that the art stands on were gone"},
		&cli.BoolFlag{Name: "drop-holes", Category: groupPrint, Usage: "that, and its colour out of holes in the art as well"},
		&cli.BoolFlag{Name: "ignore-profile", Category: groupPrint, Usage: "take the art as if it said nothing of its colours"},
		&cli.StringFlag{Name: "item", Aliases: []string{"i"}, Category: groupOn, Usage: "item `NAME` of the shop file, or none for loose goods (default: the shop's, which is then told)"},
		&cli.StringFlag{Name: "item-colour", Aliases: []string{"item-color", "c"}, Category: groupOn, Usage: "`COLOUR` of the item: #rrggbb, a name, or L,a,b"},
		&cli.StringFlag{Name: "process", Aliases: []string{"p"}, Category: groupOn, Usage: "process `NAME` of the shop file (default: the best for the item, which is then told)"},
		&cli.StringFlag{Name: "shop", Aliases: []string{"f"}, Category: groupOn, Usage: "shop `FILE` (default: shop.toml here, $LAYDOWN_SHOP, laydown/shop.toml in your config folder, or the demo shop)"},
		&cli.StringFlag{Name: "press", Category: groupColour, Usage: "`FILE` of your printer's printing condition: an ICC profile or a CGATS data set (default: a published stand-in)"},
		&cli.StringFlag{Name: "intent", Category: groupColour, Value: "relative", Usage: "rendering `INTENT`: relative, perceptual, saturation or absolute"},
		&cli.BoolFlag{Name: "no-bpc", Category: groupColour, Usage: "no black point compensation"},
		&cli.Float64Flag{Name: "tac", Category: groupColour, Usage: "limit on C+M+Y+K in `PERCENT`, in place of the shop's and of a profile's own separation"},
		&cli.StringFlag{Name: "black", Category: groupColour, Usage: "black generation `CURVE` in place of the printer's and of a profile's own: none, light, medium, heavy or full"},
		&cli.BoolFlag{Name: "pure-black", Category: groupColour, Usage: "print black and neutral greys on the black toner alone"},
		&cli.StringFlag{Name: "keep-pure", Category: groupColour, Usage: "`WHAT` stays on its own toner of CMYK art made for another printing condition: none, black, or all solids and tints of one toner (default: black)"},
		&cli.BoolFlag{Name: "json", Aliases: []string{"j"}, Category: groupAnswer, Usage: "print JSON"},
		&cli.StringFlag{Name: "cache", Category: groupAnswer, Usage: "`FOLDER` for computed tables; none keeps nothing (default: your cache folder)"},
	}
}

// shared are the shared options of these names.
func shared(names ...string) []cli.Flag {
	return slices.DeleteFunc(sharedFlags(), func(f cli.Flag) bool { return !slices.Contains(names, f.Names()[0]) })
}

// orderFlags are a command's own options, then all that are about an order of artwork, but
// for some that the command has no use for.
func orderFlags(own []cli.Flag, without ...string) []cli.Flag {
	rest := slices.DeleteFunc(sharedFlags(), func(f cli.Flag) bool { return slices.Contains(without, f.Names()[0]) })
	return append(own, rest...)
}

// The options of several commands that are shown as their own.
func quantityFlag() cli.Flag {
	return &cli.StringFlag{Name: "qty", Aliases: []string{"q"}, Usage: "quantities: `N`, or N,N,N (default: the shop's)"}
}

func fullFlag() cli.Flag {
	return &cli.BoolFlag{Name: "full", Usage: "show everything: every line, reason and figure, the absolute ones too"}
}

func strictFlag() cli.Flag {
	return &cli.BoolFlag{Name: "strict", Usage: "exit with 3 if a finding stops the print"}
}

// fileFlag is where a command writes to; -o means it.
func fileFlag(name, usage string) cli.Flag {
	return &cli.StringFlag{Name: name, Aliases: []string{"o"}, Usage: usage}
}

func swatchFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringFlag{Name: "swatches", Usage: "brand colours: a CSV, GIMP palette, swatch exchange (.ase) or CxF `FILE`"},
		&cli.StringSliceFlag{Name: "colour", Aliases: []string{"color"}, Usage: "a brand `COLOUR`, or NAME=COLOUR: #rrggbb, a name, L,a,b, or C/M/Y/K in percent; may be given again"},
		&cli.StringFlag{Name: "measurement", Usage: "`CONDITION` to take of CxF colours that were measured under several: m0, m1, m2 or m3 (default: m1, else m0)"},
	}
}

// isSwitch reports whether an option takes no value.
func isSwitch(f cli.Flag) bool {
	_, is := f.(*cli.BoolFlag)
	return is
}

// dashed is how an option's name is typed.
func dashed(name string) string {
	if len(name) == 1 {
		return "-" + name
	}
	return "--" + name
}
