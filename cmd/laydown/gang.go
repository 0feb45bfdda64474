package main

import (
	"errors"
	"os"

	"github.com/urfave/cli/v2"

	"laydown/coverage/fault"
	"laydown/coverage/sheet"
	"laydown/coverage/show"
	"laydown/coverage/unit"
)

func gangCommand() *cli.Command {
	return &cli.Command{
		Name: "gang", Usage: "set pieces of several sizes and quantities on shared sheets",
		ArgsUsage: "PIECES.csv", Flags: []cli.Flag{
			&cli.StringFlag{Name: "sheet", Aliases: []string{"s"}, Value: "A4", Usage: "sheet `SIZE`: A4, Letter …, or 210x297mm"},
			&cli.StringFlag{Name: "margin", Value: "5mm", Usage: "`LENGTH` that stays free on every side"},
			&cli.StringFlag{Name: "gap", Value: "2mm", Usage: "`LENGTH` between pieces"},
			fileFlag("picture", "draw the layouts to `FILE`.svg"),
			&cli.BoolFlag{Name: "one-layout", Usage: "a single layout with every piece on it, printed as often as the worst-served piece needs"},
			&cli.BoolFlag{Name: "json", Aliases: []string{"j"}, Usage: "print JSON"},
		},
		Action: func(c *cli.Context) error {
			if c.Args().Len() != 1 {
				return usageError{errors.New("name one CSV file of pieces with the columns name, width_mm, height_mm and quantity")}
			}
			s, err := unit.ParseSheet(c.String("sheet"))
			if err != nil {
				return usageError{fault.In("sheet", err)}
			}
			room := sheet.Room{Sheet: s}
			if room.MarginMM, err = readFree(c, "margin"); err != nil {
				return err
			}
			if room.GapMM, err = readFree(c, "gap"); err != nil {
				return err
			}
			if err := writable(c, []string{"picture"}); err != nil {
				return err
			}
			file := c.Args().First()
			data, err := os.ReadFile(file)
			if err != nil {
				return named(file, err)
			}
			pieces, err := sheet.ReadPieces(data)
			if err != nil {
				return named(file, err)
			}
			set := room.Share
			if c.Bool("one-layout") {
				set = room.OneLayout
			}
			step, stop := progress(c)
			defer stop()
			step("setting the pieces of " + file)
			g, err := set(pieces)
			stop()
			if err != nil {
				return named(file, err)
			}
			if to := c.String("picture"); to != "" {
				b, err := show.GangPicture(g)
				if err != nil {
					return err
				}
				if err := writeOne(to, b); err != nil {
					return err
				}
			}
			return printOne(c, nil, g, show.Gang(g, style(c)))
		},
	}
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
