package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"laydown/coverage/artwork"
	"laydown/coverage/fault"
	"laydown/coverage/file"
	"laydown/coverage/limit"
	"laydown/coverage/proof"
	"laydown/coverage/sheet"
	"laydown/coverage/show"
	"laydown/coverage/unit"
)

func gangCommand() *cli.Command {
	return &cli.Command{
		Name: "gang", Usage: "set pieces of several sizes and quantities on shared sheets, and split what those cost",
		ArgsUsage: "PIECES.csv|ART=QUANTITY[,SIZE]...", Flags: orderFlags([]cli.Flag{
			&cli.StringFlag{Name: "margin", Usage: "`LENGTH` that stays free on every side, beside what a cutter needs (default: the shop's)"},
			&cli.StringFlag{Name: "gap", Usage: "`LENGTH` between pieces (default: the shop's)"},
			fileFlag("picture", "draw the layouts to `FILE`.svg"),
			&cli.BoolFlag{Name: "one-layout", Usage: "a single layout with every piece on it, printed as often as the worst-served piece needs"},
		}, "width", "height", "dpi"),
		Action: func(c *cli.Context) error {
			if !c.Args().Present() {
				return usageError{errors.New("name a CSV file of pieces with the columns name, width_mm, height_mm and quantity, or art files with how many of each, such as badge.png=12 or badge.png=12,80mm")}
			}
			var space proof.GangSpace
			for name, to := range map[string]**float64{"margin": &space.MarginMM, "gap": &space.GapMM} {
				if c.IsSet(name) {
					mm, err := readFree(c, name)
					if err != nil {
						return err
					}
					*to = &mm
				}
			}
			o, err := readOrder(c)
			if err != nil {
				return err
			}
			if err := writable(c, []string{"picture"}); err != nil {
				return err
			}
			asks, err := readAsks(c.Args().Slice(), o.Shop.Limits)
			if err != nil {
				return err
			}
			var arts []string
			for _, a := range asks {
				arts = append(arts, a.Art)
			}
			if err := writable(c, []string{"picture"}, arts...); err != nil {
				return err
			}
			step, stop := progress(c)
			defer stop()
			g, err := proof.MakeGang(o, asks, space, c.Bool("one-layout"), step)
			stop()
			if err != nil {
				if c.Args().Len() == 1 {
					err = named(listOf(c.Args().First()), err)
				}
				return err
			}
			if to := c.String("picture"); to != "" {
				b, err := show.GangPicture(g)
				if err != nil {
					return err
				}
				if err := writeOne(c, to, b); err != nil {
					return err
				}
			}
			return printOne(c, g.Head, g, show.Gang(g, style(c)))
		},
	}
}

// readAsks reads lists, and art files with how many of each, as they are named.
func readAsks(args []string, l limit.Limits) (asks []sheet.Ask, err error) {
	for _, arg := range args {
		list := listOf(arg)
		if list == "" {
			a, err := parseAsk(arg)
			if err != nil {
				return nil, usageError{err}
			}
			asks = append(asks, a)
			continue
		}
		data, err := file.Read(list, int64(l.ListMB)*limit.MB)
		if err != nil {
			return nil, named(list, err)
		}
		some, err := sheet.ReadPieces(data, filepath.Dir(list))
		if err != nil {
			if _, isArt := artwork.Open(list, artwork.Options{Limits: l}); isArt == nil {
				return nil, usageError{fmt.Errorf("%s is an art file: say how many, as in %s=12, or how large too, as in %s=12,80mm", list, list, list)}
			}
			return nil, named(list, err)
		}
		if len(args) > 1 {
			for i := range some { // which list a line is of, nobody could tell
				some[i].Line = 0
			}
		}
		asks = append(asks, some...)
	}
	return asks, nil
}

// listOf is the list that an argument names; "" if it names an art file and how many.
func listOf(arg string) string {
	if _, err := os.Stat(arg); err != nil && strings.Contains(arg, "=") {
		return ""
	}
	return arg
}

// parseAsk reads an art file, how many of it, and, if that is said, how large: a width, or
// width x height.
func parseAsk(arg string) (a sheet.Ask, err error) {
	at := strings.LastIndexByte(arg, '=')
	a.Art = arg[:at]
	a.Name = sheet.NameOf(a.Art)
	number, size, sized := strings.Cut(arg[at+1:], ",")
	if a.Quantity, err = strconv.Atoi(strings.TrimSpace(number)); err != nil || a.Quantity <= 0 || a.Art == "" {
		return a, fmt.Errorf("%q: write an art file, = and a quantity above 0, as in badge.png=12 or badge.png=12,80mm", arg)
	}
	if !sized {
		return a, nil
	}
	if strings.ContainsAny(size, "xX×") {
		s, err := unit.ParseSheet(strings.ReplaceAll(size, "×", "x"))
		a.WidthMM, a.HeightMM = s.WidthMM, s.HeightMM
		if err == nil {
			return a, nil
		}
	} else if l, err := unit.ParseLength(size); err == nil && l > 0 {
		a.WidthMM = l.MM()
		return a, nil
	}
	return a, fmt.Errorf("%q: %q is no size: write a width such as 80mm or 3.5in, or both sides such as 80x60mm", arg, size)
}

// readFree reads a length that may be 0.
func readFree(c *cli.Context, name string) (float64, error) {
	l, err := unit.ParseLength(c.String(name))
	if err == nil && l < 0 {
		err = errors.New("must not be negative")
	}
	if err != nil {
		return 0, usageError{fault.In(name, err)}
	}
	return l.MM(), nil
}
