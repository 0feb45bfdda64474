package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/urfave/cli/v2"

	"laydown/coverage/artwork/font"
	"laydown/coverage/commission"
	"laydown/coverage/file"
	"laydown/coverage/limit"
	"laydown/coverage/proof"
	"laydown/coverage/show"
)

func orderCommand() *cli.Command {
	return &cli.Command{
		Name: "order", Usage: "a whole order of several designs: what it costs, the customer's quote, tickets, shared sheets",
		ArgsUsage: "FILE|FOLDER", Flags: orderFlags([]cli.Flag{
			quantityFlag(),
			fileFlag("html", "write the customer's quote as one page to `FILE`"),
			&cli.StringFlag{Name: "pdf", Usage: "write the customer's quote as PDF to `FILE`"},
			&cli.StringFlag{Name: "tickets", Usage: "write the bench's tickets, a page for each print, to the HTML `FILE`"},
			&cli.StringFlag{Name: "picture", Usage: "draw what lies where on the shared sheets to the SVG `FILE`"},
		}, "sheet", "page", "dpi", "width", "height", "drop-background", "drop-holes"),
		Action: func(c *cli.Context) error {
			if c.Args().Len() != 1 {
				return usageError{errors.New("name one order: a TOML or CSV file, or a folder of art")}
			}
			if err := writable(c, []string{"html", "pdf", "tickets", "picture"}); err != nil {
				return err
			}
			o, err := readOrder(c)
			if err != nil {
				return err
			}
			of, err := readCommission(c, c.Args().First(), o.Shop.Limits)
			if err != nil {
				return err
			}
			if err := writable(c, []string{"html", "pdf", "tickets", "picture"}, of.Files()...); err != nil {
				return err
			}
			o.Quantities = nil
			w := worldOf(c)
			step, stop := progress(c)
			whole, err := proof.MakeWhole(o, of, font.New(font.Folders(runtime.GOOS, w.getenv)...), w.now(), step, show.TicketPicture)
			stop()
			if err != nil {
				return err
			}
			for _, out := range []struct {
				option string
				make   func(*proof.Whole) ([]byte, error)
			}{{"html", show.LetterPage}, {"pdf", show.LetterPDF}, {"tickets", show.TicketPages}, {"picture", show.WholeSheets}} {
				to := c.String(out.option)
				if to == "" {
					continue
				}
				b, err := out.make(whole)
				if err != nil {
					return err
				}
				if err := writeOne(c, to, b); err != nil {
					return err
				}
			}
			return printUnder(c, whole.Head, whole, show.Whole(whole, style(c)))
		},
	}
}

// readCommission reads an order from a form, a list or a folder.
func readCommission(c *cli.Context, path string, l limit.Limits) (*commission.Commission, error) {
	quantities, err := readQuantities(c)
	if err != nil {
		return nil, err
	}
	st, err := os.Stat(path)
	if err != nil {
		return nil, named(path, err)
	}
	if st.IsDir() {
		if len(quantities) != 1 {
			return nil, usageError{errors.New("--qty: say how many pieces of each art of the folder are ordered")}
		}
		of, err := commission.OfFolder(path, quantities[0])
		if err != nil {
			return nil, named(path, err)
		}
		return of, nil
	}
	if len(quantities) > 0 {
		return nil, usageError{errors.New("--qty: quantities are in the file")}
	}
	data, err := file.Read(path, int64(l.ListMB)*limit.MB)
	if err != nil {
		return nil, named(path, err)
	}
	if strings.EqualFold(filepath.Ext(path), ".csv") {
		of, err := commission.ReadList(data, filepath.Dir(path))
		if err != nil {
			return nil, named(path, err)
		}
		return of, nil
	}
	if !strings.EqualFold(filepath.Ext(path), ".toml") {
		return nil, fmt.Errorf("%s: an order is a .toml or .csv file, or a folder of art; for one art alone there is laydown quote", path)
	}
	return commission.Read(data, path, filepath.Dir(path))
}
