package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"laydown/coverage/bundle"
	"laydown/coverage/file"
	"laydown/coverage/limit"
	"laydown/coverage/name"
	"laydown/coverage/proof"
	"laydown/coverage/show"
)

func separateCommand() *cli.Command {
	return &cli.Command{
		Name: "separate", Usage: "write the five plates, as grey PNG files or together as TIFF or PDF; 0 no toner and 255 solid",
		ArgsUsage: "ART...", Flags: orderFlags([]cli.Flag{
			fileFlag("out", "`FOLDER` for the plates, made if it is not there"),
			&cli.StringFlag{Name: "format", Value: show.PlatesPNG, Usage: "`KIND` of file: png, five grey pictures; tiff, one picture of CMYK and white; or pdf, one page of five inks"},
			&cli.BoolFlag{Name: "soft-proof", Usage: "write the print as it looks on the item besides, as PNG"},
		}),
		Action: func(c *cli.Context) error {
			dir := c.String("out")
			if dir == "" {
				return usageError{errors.New("say where to with --out FOLDER")}
			}
			format := inFull(c.String("format"), show.PlateFormats)
			if !slices.Contains(show.PlateFormats, format) {
				return usageError{fmt.Errorf("--format %q: write %s", format, name.Or(show.PlateFormats))}
			}
			if err := folder(dir); err != nil {
				return err
			}
			if err := anyArt(c); err != nil {
				return err
			}
			o, err := readOrder(c)
			if err != nil {
				return err
			}
			profile, note, err := profileFor(c, o.Press.Name, o.Press.Profile != nil, format, o.Shop.Limits)
			if err != nil {
				return err
			}
			s, err := findArt(c, o)
			if err != nil {
				return err
			}
			defer s.Close()
			if err := apart(s.Art); err != nil {
				return err
			}
			var files []file.Out
			found, err := proofsOf(c, o, s, 0, func(p *proof.Proof, page int) error {
				made, err := show.Plates(p.Laid, page, format, profile)
				if err == nil && c.Bool("soft-proof") {
					var f show.File
					f, err = show.SoftProof(p.Laid, page)
					made = append(made, f)
				}
				if err != nil {
					return err
				}
				for _, f := range made {
					files = append(files, file.Out{Path: filepath.Join(dir, f.Name), Data: f.Data})
				}
				return nil
			})
			if err != nil {
				return err
			}
			step, stop := progress(c)
			defer stop()
			step("writing plates into " + dir)
			if err := os.MkdirAll(dir, 0o755); err != nil {
				return named(dir, err)
			}
			if err := file.Write(files, inputs(c)); err != nil {
				return err
			}
			stop()
			if c.Bool("json") {
				return printAll(c, found, nil, func(p *proof.Proof) any { return p.Coverage() }, "")
			}
			// The names of the files alone are on stdout, for other programs to read.
			for _, p := range found.all {
				fmt.Fprint(c.App.ErrWriter, show.Style{}.Safe(show.Assumed(p.Head, show.Style{})+show.Stops(p.Head, show.Style{})))
			}
			fmt.Fprint(c.App.ErrWriter, show.Style{}.Safe(note))
			for _, f := range files {
				name := f.Path // as it is for programs
				if worldOf(c).terminal(c.App.Writer) {
					name = show.Style{}.Safe(name)
				}
				fmt.Fprintln(c.App.Writer, name)
			}
			return found.failed
		},
	}
}

// profileFor is the ICC profile that a TIFF of plates carries, which is the press's own file, or
// a note of why there is none.
func profileFor(c *cli.Context, press string, isProfile bool, format string, l limit.Limits) (profile []byte, note string, err error) {
	switch {
	case format != show.PlatesTIFF:
		return nil, "", nil
	case !isProfile:
		return nil, fmt.Sprintf("no colour profile is in the TIFF: %s is a data set, and has none\n", press), nil
	}
	path := c.String("press")
	if profile, err = file.Read(path, int64(l.PressMB)*limit.MB); err != nil {
		return nil, "", named(path, err)
	}
	return profile, "", nil
}

// apart refuses art whose plates would have the same names.
func apart(art []bundle.Art) error {
	seen := map[string]string{}
	for _, f := range art {
		stem := strings.ToLower(show.Stem(f.Name))
		if other := seen[stem]; other != "" {
			return usageError{fmt.Errorf("the plates of %s and %s would have the same names: separate them one by one, each with its own --out FOLDER", other, f.Name)}
		}
		seen[stem] = f.Name
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
