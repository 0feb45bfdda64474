package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"github.com/urfave/cli/v2"

	"laydown/coverage/proof"
	"laydown/coverage/sheet"
	"laydown/coverage/shop"
	"laydown/coverage/unit"
)

var errInput = errors.New("is the input itself, which is never changed: choose another name or folder")

func coverageCommand() *cli.Command {
	return &cli.Command{
		Name: "coverage", Usage: "what one print and one sheet lay down, plate by plate, and what the toner costs",
		ArgsUsage: "ART...", Flags: orderFlags(),
		Action: func(c *cli.Context) error {
			all, err := proofs(c, 0)
			if err != nil {
				return err
			}
			return show(c, all, (*proof.Proof).CoverageText, func(p *proof.Proof) any { return p.Coverage() })
		},
	}
}

func preflightCommand() *cli.Command {
	return &cli.Command{
		Name: "preflight", Usage: "what will print badly, where, and what to do about it",
		ArgsUsage: "ART...", Flags: orderFlags(
			&cli.StringFlag{Name: "mark", Usage: "draw the findings on the art and write it to `FILE`.png"},
			&cli.BoolFlag{Name: "strict", Usage: "exit with 3 if a finding stops the print"}),
		Action: func(c *cli.Context) error {
			to := c.String("mark")
			if to != "" && c.Args().Len() > 1 {
				return usageError{errors.New("--mark is one picture of one art file: name one")}
			}
			all, err := proofs(c, proof.Findings)
			if err != nil {
				return err
			}
			if to != "" {
				b, err := all[0].MarkedPNG()
				if err != nil {
					return err
				}
				if err := writeBeside(c, to, b); err != nil {
					return err
				}
			}
			if err := show(c, all, (*proof.Proof).FindingsText, func(p *proof.Proof) any { return proof.FindingFacts{Findings: p.Findings} }); err != nil {
				return err
			}
			return strict(c, all)
		},
	}
}

func matchCommand() *cli.Command {
	return &cli.Command{
		Name: "match", Usage: "which colours, the brand's and the art's own, can be matched on this item, in numbers",
		ArgsUsage: "[ART...]", Flags: orderFlags(swatchFlags()...),
		Action: func(c *cli.Context) error {
			if !c.Args().Present() {
				if c.String("swatches") == "" && len(c.StringSlice("colour")) == 0 {
					return usageError{errors.New("give the brand's colours with --swatches FILE or --colour, or an art file to look at its own")}
				}
				o, err := readOrder(c)
				if err != nil {
					return err
				}
				found, err := proof.MatchSwatches(o)
				if err != nil {
					return err
				}
				return showOne(c, found, func() string { return found.Text(style(c.App.Writer)) })
			}
			all, err := proofs(c, proof.Matches)
			if err != nil {
				return err
			}
			return show(c, all, (*proof.Proof).MatchText, func(p *proof.Proof) any { return p.Matches() })
		},
	}
}

func swatchFlags(more ...cli.Flag) []cli.Flag {
	return append([]cli.Flag{
		&cli.StringFlag{Name: "swatches", Usage: "brand colours: a CSV, GIMP palette, swatch exchange (.ase) or CxF `FILE`"},
		&cli.StringSliceFlag{Name: "colour", Usage: "a brand `COLOUR`, or NAME=COLOUR: #rrggbb, a name, or L,a,b; may be given again"},
	}, more...)
}

func proofCommand() *cli.Command {
	return &cli.Command{
		Name: "proof", Usage: "the whole order: coverage, cost, findings, brand colours; as text, JSON and an HTML page",
		ArgsUsage: "ART...", Flags: orderFlags(swatchFlags(
			&cli.StringFlag{Name: "html", Usage: "write one self-contained page to `FILE`"},
			&cli.BoolFlag{Name: "customer", Usage: "leave money and the press out of the page"},
			&cli.BoolFlag{Name: "strict", Usage: "exit with 3 if a finding stops the print"})...),
		Action: func(c *cli.Context) error {
			to := c.String("html")
			if to != "" && c.Args().Len() > 1 {
				return usageError{errors.New("--html is one page for one art file: name one")}
			}
			all, err := proofs(c, proof.Everything)
			if err != nil {
				return err
			}
			if to != "" {
				b, err := all[0].HTML(c.Bool("customer"))
				if err != nil {
					return err
				}
				if err := writeBeside(c, to, b); err != nil {
					return err
				}
			}
			if err := show(c, all, (*proof.Proof).Text, func(p *proof.Proof) any { return p }); err != nil {
				return err
			}
			if to != "" && !c.Bool("json") {
				fmt.Fprintf(c.App.Writer, "The page is in %s.\n", to)
			}
			return strict(c, all)
		},
	}
}

func separateCommand() *cli.Command {
	return &cli.Command{
		Name: "separate", Usage: "write the five plates as grey PNG files, 0 no toner and 255 solid",
		ArgsUsage: "ART...", Flags: orderFlags(&cli.StringFlag{Name: "out", Usage: "`FOLDER` for the plates, made if it is not there"}),
		Action: func(c *cli.Context) error {
			dir := c.String("out")
			if dir == "" {
				return usageError{errors.New("say where to with --out FOLDER")}
			}
			all, err := proofs(c, 0)
			if err != nil {
				return err
			}
			var files []proof.File
			for _, p := range all {
				f, err := p.PlateFiles()
				if err != nil {
					return err
				}
				files = append(files, f...)
			}
			if err := os.MkdirAll(dir, 0o755); err != nil {
				return named(dir, err)
			}
			if err := writeFiles(dir, files, c.Args().Slice()); err != nil {
				return err
			}
			if c.Bool("json") {
				return show(c, all, nil, func(p *proof.Proof) any { return p.Coverage() })
			}
			for _, f := range files {
				fmt.Fprintln(c.App.Writer, filepath.Join(dir, f.Name))
			}
			return nil
		},
	}
}

func underbaseCommand() *cli.Command {
	return &cli.Command{
		Name: "underbase", Usage: "which of the shop's processes suits this art on this item: no white, white toner, or a white film",
		ArgsUsage: "ART", Flags: orderFlags(&cli.BoolFlag{Name: "rules", Usage: "try every white rule for processes that print white"}),
		Action: func(c *cli.Context) error {
			if c.Args().Len() != 1 {
				return usageError{errors.New("name one art file")}
			}
			o, err := readOrder(c)
			if err != nil {
				return err
			}
			o.ArtPath, o.EveryRule = c.Args().First(), c.Bool("rules")
			d, err := proof.Compare(o)
			if err != nil {
				return err
			}
			return showOne(c, d, d.Text)
		},
	}
}

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
			o, err := readOrder(c)
			if err != nil {
				return err
			}
			if f := c.Args().First(); f != "" {
				if o.Press, err = readPress(f, c.String("cache")); err != nil {
					return err
				}
			}
			o.ArtPath = c.String("art")
			d, err := proof.Describe(o)
			if err != nil {
				return err
			}
			if to := c.String("picture"); to != "" {
				b, err := d.GamutPlot(proof.PlotFormat(to))
				if err != nil {
					return named(to, err)
				}
				if err := writeBeside(c, to, b); err != nil {
					return err
				}
			} else if c.String("art") != "" {
				return usageError{errors.New("--art shows in a picture: name one with --picture FILE.svg")}
			}
			return showOne(c, d, d.Text)
		},
	}
}

func quoteCommand() *cli.Command {
	return &cli.Command{
		Name: "quote", Usage: "what quantities cost, where every cent comes from, and what to ask",
		ArgsUsage: "ART...", Flags: orderFlags(
			&cli.StringFlag{Name: "orders", Usage: "a CSV `FILE` of many orders: columns art, quantity, item, process, width, height, dpi"},
			&cli.StringFlag{Name: "csv", Usage: "with --orders: write the results as CSV to `FILE`"},
			&cli.StringFlag{Name: "resume", Usage: "with --orders: keep results in `FILE` as they come, and go on where an earlier run stopped"}),
		Action: func(c *cli.Context) error {
			if file := c.String("orders"); file != "" {
				return quoteList(c, file)
			}
			if c.String("csv") != "" || c.String("resume") != "" {
				return usageError{errors.New("--csv and --resume are for a list: name one with --orders FILE")}
			}
			all, err := proofs(c, proof.Quotation)
			if err != nil {
				return err
			}
			return show(c, all, func(p *proof.Proof, _ proof.Style) string { return p.Quoted.Text() }, func(p *proof.Proof) any { return p.Quoted })
		},
	}
}

func ticketCommand() *cli.Command {
	return &cli.Command{
		Name: "ticket", Usage: "the recipe of an order, step by step, for the person at the press",
		ArgsUsage: "ART", Flags: orderFlags(&cli.StringFlag{Name: "html", Usage: "write one page that prints on one sheet to `FILE`"}),
		Action: func(c *cli.Context) error {
			if c.Args().Len() != 1 {
				return usageError{errors.New("name one art file")}
			}
			all, err := proofs(c, 0)
			if err != nil {
				return err
			}
			quantities, err := readQuantities(c)
			if err != nil {
				return err
			}
			if len(quantities) > 1 {
				return usageError{errors.New("--qty: a ticket is for one quantity")}
			}
			t := all[0].Ticket(slices.Max(append(quantities, 0)))
			if to := c.String("html"); to != "" {
				b, err := t.HTML()
				if err != nil {
					return err
				}
				if err := writeBeside(c, to, b); err != nil {
					return err
				}
			}
			return showOne(c, t, t.Text)
		},
	}
}

func gangCommand() *cli.Command {
	return &cli.Command{
		Name: "gang", Usage: "set pieces of several sizes and quantities on shared sheets",
		ArgsUsage: "PIECES.csv", Flags: []cli.Flag{
			&cli.StringFlag{Name: "sheet", Value: "A4", Usage: "sheet `SIZE`: A4, Letter …, or 210x297mm"},
			&cli.StringFlag{Name: "margin", Value: "5mm", Usage: "`LENGTH` that stays free on every side"},
			&cli.StringFlag{Name: "gap", Value: "2mm", Usage: "`LENGTH` between pieces"},
			&cli.StringFlag{Name: "picture", Usage: "draw the layouts to `FILE`.svg"},
			&cli.BoolFlag{Name: "one-layout", Usage: "a single layout with every piece on it, printed as often as the worst-served piece needs"},
			&cli.BoolFlag{Name: "json", Usage: "print JSON"},
		},
		Action: func(c *cli.Context) error {
			if c.Args().Len() != 1 {
				return usageError{errors.New("name one CSV file of pieces with the columns name, width_mm, height_mm and quantity")}
			}
			s, err := unit.ParseSheet(c.String("sheet"))
			if err != nil {
				return usageError{fmt.Errorf("--sheet: %w", err)}
			}
			var margin, gap unit.Length
			for name, to := range map[string]*unit.Length{"margin": &margin, "gap": &gap} {
				if *to, err = unit.ParseLength(c.String(name)); err == nil && *to < 0 {
					err = errors.New("must not be negative")
				}
				if err != nil {
					return usageError{fmt.Errorf("--%s: %w", name, err)}
				}
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
			g, err := proof.Gang(proof.Room(s, margin, gap), pieces, c.Bool("one-layout"))
			if err != nil {
				return named(file, err)
			}
			if to := c.String("picture"); to != "" {
				b, err := g.SVG()
				if err != nil {
					return err
				}
				if err := writeBeside(c, to, b); err != nil {
					return err
				}
			}
			return showOne(c, g, g.Text)
		},
	}
}

func initCommand() *cli.Command {
	return &cli.Command{
		Name: "init", Usage: "write a commented shop file to start from, to FILE or to the terminal",
		ArgsUsage: "[FILE]",
		Action: func(c *cli.Context) error {
			if !c.Args().Present() {
				_, err := c.App.Writer.Write(shop.Demo())
				return err
			}
			to := c.Args().First()
			if _, err := os.Lstat(to); err == nil {
				return fmt.Errorf("%s: is there already and may hold your figures: choose another name", to)
			}
			return writeFiles(filepath.Dir(to), []proof.File{{Name: filepath.Base(to), Data: shop.Demo()}}, nil)
		},
	}
}
