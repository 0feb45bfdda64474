package main

import (
	"errors"

	"github.com/urfave/cli/v2"

	"laydown/coverage/fault"
	"laydown/coverage/proof"
	"laydown/coverage/show"
)

func profileCommand() *cli.Command {
	return &cli.Command{
		Name: "profile", Usage: "what a printer's ICC profile or data set says: paper, black, total toner, gamut, greys",
		ArgsUsage: "[FILE]", Flags: append([]cli.Flag{
			fileFlag("picture", "draw the gamut in a*b* to `FILE`.svg or .png"),
			&cli.StringFlag{Name: "art", Usage: "show the colours of this art `FILE` in the picture"},
			&cli.StringFlag{Name: "process", Aliases: []string{"p"}, Category: groupOn, Usage: "process `NAME` of the shop file, for its toner limit (default: the shop's own default)"},
		}, shared("drop-background", "drop-holes", "ignore-profile", "shop", "press", "no-bpc", "tac", "black", "pure-black", "json", "cache")...),
		Action: func(c *cli.Context) error {
			if c.Args().Len() > 1 {
				return usageError{errors.New("name one profile or data set")}
			}
			if c.Args().Present() && c.String("press") != "" {
				return usageError{errors.New("--press names a profile or data set as FILE does: leave one of them out")}
			}
			to := c.String("picture")
			if to == "" && c.String("art") != "" {
				return usageError{errors.New("--art shows in a picture: name one with --picture FILE.svg")}
			}
			if format := show.Format(to); to != "" && format != "svg" && format != "png" {
				return usageError{fault.In("picture", errors.New("name a file that ends in .svg or .png"))}
			}
			if c.String("art") == "" {
				if err := without(c, "is about the art of a picture: name it with --art", "drop-background", "drop-holes", "ignore-profile", "no-bpc", "pure-black"); err != nil {
					return err
				}
			}
			if err := writable(c, []string{"picture"}); err != nil {
				return err
			}
			o, err := readOrder(c)
			if err != nil {
				return err
			}
			if f := c.Args().First(); f != "" {
				if o.Press, err = readPress(worldOf(c), f, cacheDir(c.String("cache")), o.Shop.Limits); err != nil {
					return err
				}
			}
			o.ArtPath = c.String("art")
			step, stop := progress(c)
			defer stop()
			step("looking into the printing condition")
			d, err := proof.Describe(o)
			if err != nil {
				return err
			}
			if to != "" {
				g, err := d.Gamut()
				if err != nil {
					return err
				}
				b, err := show.Gamut(g, show.Format(to))
				if err != nil {
					return named(to, err)
				}
				if err := writeOne(c, to, b); err != nil {
					return err
				}
			}
			stop()
			return printOne(c, d.Head, d, show.Condition(d, style(c)))
		},
	}
}
