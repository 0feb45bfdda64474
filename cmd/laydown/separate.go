package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"laydown/coverage/file"
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
			if err := apart(c.Args().Slice()); err != nil {
				return err
			}
			all, err := proofs(c, 0)
			if err != nil {
				return err
			}
			step, stop := progress(c)
			defer stop()
			step("writing plates into " + dir)
			pages := map[string]int{} // of each art
			for _, p := range all {
				pages[p.Laid.Art.File]++
			}
			var files []file.Out
			page := 0
			for i, p := range all {
				if page++; i > 0 && all[i-1].Laid.Art.File != p.Laid.Art.File {
					page = 1
				}
				of := 0
				if pages[p.Laid.Art.File] > 1 {
					of = page
				}
				plates, err := show.Plates(p.Laid, of)
				if err != nil {
					return err
				}
				for _, f := range plates {
					files = append(files, file.Out{Path: filepath.Join(dir, f.Name), Data: f.Data})
				}
			}
			if err := os.MkdirAll(dir, 0o755); err != nil {
				return named(dir, err)
			}
			if err := file.Write(files, inputs(c)); err != nil {
				return err
			}
			stop()
			if c.Bool("json") {
				return printAll(c, all, nil, func(p *proof.Proof) any { return p.Coverage() }, "")
			}
			// The names of the files alone are on stdout, for other programs to read.
			for _, p := range all {
				fmt.Fprint(c.App.ErrWriter, show.Style{}.Safe(show.Assumed(p.Head, show.Style{})+show.Stops(p.Head, show.Style{})))
			}
			for _, f := range files {
				name := f.Path // as it is for programs
				if worldOf(c).terminal(c.App.Writer) {
					name = show.Style{}.Safe(name)
				}
				fmt.Fprintln(c.App.Writer, name)
			}
			return nil
		},
	}
}

// apart refuses art whose plates would have the same names.
func apart(art []string) error {
	seen := map[string]string{}
	for _, f := range art {
		stem := strings.ToLower(show.Stem(f))
		if other := seen[stem]; other != "" {
			return usageError{fmt.Errorf("the plates of %s and %s would have the same names: separate them one by one, each with its own --out FOLDER", other, f)}
		}
		seen[stem] = f
	}
	return nil
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
