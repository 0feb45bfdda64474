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
		ArgsUsage: "ART...", Flags: orderFlags([]cli.Flag{fileFlag("out", "`FOLDER` for the plates, made if it is not there")}),
		Action: func(c *cli.Context) error {
			dir := c.String("out")
			if dir == "" {
				return usageError{errors.New("say where to with --out FOLDER")}
			}
			if err := folder(dir); err != nil {
				return err
			}
			all, err := proofs(c, 0)
			if err != nil {
				return err
			}
			step, stop := progress(c)
			defer stop()
			step("writing plates into " + dir)
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
			stop()
			if c.Bool("json") {
				return printAll(c, all, nil, func(p *proof.Proof) any { return p.Coverage() }, "")
			}
			// The names of the files alone are on stdout, for other programs to read.
			for _, p := range all {
				fmt.Fprint(c.App.ErrWriter, show.Assumed(p.Head, show.Style{})+show.Stops(p.Head, show.Style{}))
			}
			for _, f := range files {
				fmt.Fprintln(c.App.Writer, filepath.Join(dir, f.Name))
			}
			return nil
		},
	}
}

// folder looks whether a folder is there or can be made.
func folder(dir string) error {
	for at := filepath.Clean(dir); ; at = filepath.Dir(at) {
		st, err := os.Stat(at)
		switch {
		case err == nil && !st.IsDir():
			return fmt.Errorf("--out %s: %s is no folder", dir, at)
		case err == nil || at == filepath.Dir(at):
			return nil
		}
	}
}
