package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/urfave/cli/v2"

	"laydown/coverage/proof"
	"laydown/coverage/show"
)

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
			var files []show.File
			for _, p := range all {
				f, err := show.Plates(p.Laid)
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
				return printAll(c, all, nil, func(p *proof.Proof) any { return p.Coverage() })
			}
			for _, f := range files {
				fmt.Fprintln(c.App.Writer, filepath.Join(dir, f.Name))
			}
			return nil
		},
	}
}
