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
		Name: "profile", Usage: "what a press's ICC profile or data set says: paper, black, total toner, gamut, greys",
		ArgsUsage: "[FILE]", Flags: orderFlags(
			&cli.StringFlag{Name: "picture", Usage: "draw the gamut in a*b* to `FILE`.svg or .png"},
			&cli.StringFlag{Name: "art", Usage: "show the colours of this art `FILE` in the picture"}),
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
			o, err := readOrder(c)
			if err != nil {
				return err
			}
			if f := c.Args().First(); f != "" {
				if o.Press, err = readPress(f, cacheDir(c.String("cache"))); err != nil {
					return err
				}
			}
			o.ArtPath = c.String("art")
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
				if err := writeBeside(c, to, b); err != nil {
					return err
				}
			}
			return printOne(c, d, show.Condition(d, style(c)))
		},
	}
}
