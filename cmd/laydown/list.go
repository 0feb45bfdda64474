package main

import (
	"fmt"

	"github.com/urfave/cli/v2"

	"laydown/coverage/name"
	"laydown/coverage/proof"
	"laydown/coverage/shop"
	"laydown/coverage/show"
)

func listCommand() *cli.Command {
	return &cli.Command{
		Name: "list", Usage: "the names of the shop file, and how short each may be typed: items, processes, media, sheets, printers",
		ArgsUsage: "[WHAT...]", Flags: shared("shop", "json"),
		Action: func(c *cli.Context) error {
			var parts []string
			for _, w := range c.Args().Slice() {
				i, err := name.Find("list", w, "laydown", show.Lists)
				if err != nil {
					return usageError{err}
				}
				parts = append(parts, show.Lists[i])
			}
			if len(parts) > 0 && c.Bool("json") {
				return usageError{fmt.Errorf("--json lists everything: leave %s out", name.Or(parts))}
			}
			s, err := readShop(c)
			if err != nil {
				return err
			}
			h, l := proof.HeadOf(s), s.List()
			return printOne(c, h, struct {
				shop.Listing
				*proof.Head
			}{l, h}, show.List(l, s.Currency, style(c), parts...))
		},
	}
}
