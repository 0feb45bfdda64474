package main

import (
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"laydown/coverage/artwork"
	"laydown/coverage/bundle"
	"laydown/coverage/order"
	"laydown/coverage/proof"
	"laydown/coverage/show"
)

// answers are the proofs of the art that a call names.
type answers struct {
	all     []*proof.Proof
	several bool // more than one is meant, also where one came out
	// failed is what could not be worked out where several are meant, told behind the answers;
	// else nil.
	failed error
}

// anyArt refuses a call that names none, before anything is read.
func anyArt(c *cli.Context) error {
	if !c.Args().Present() {
		return usageError{errors.New("name at least one art file")}
	}
	return nil
}

// findArt finds the art that the arguments, of which there are some, stand for. What is no art
// in a folder or a .zip is told at once. Close it.
func findArt(c *cli.Context, o order.Order) (*bundle.Set, error) {
	s, err := bundle.Open(c.Args().Slice(), worldOf(c).stdin, o.Shop.Limits)
	if err != nil {
		return nil, usageError{err}
	}
	if n := len(s.Passed); n > 0 {
		said, more := s.Passed, ""
		if n > mostPassed {
			said, more = said[:mostPassed], fmt.Sprintf(" and %d more", n-mostPassed)
		}
		fmt.Fprint(c.App.ErrWriter, show.Style{}.Safe(fmt.Sprintf("not art, passed over: %s%s\n", strings.Join(said, ", "), more)))
	}
	return s, nil
}

// mostPassed is how many files that are no art are named.
const mostPassed = 20

// oneArt is the art of a call that is about one alone.
func oneArt(c *cli.Context, s *bundle.Set) error {
	if n := len(s.Art); n != 1 {
		return usageError{fmt.Errorf("%s holds %d art files and this is about one: name it", c.Args().First(), n)}
	}
	return nil
}

// of puts an art into an order.
func of(o *order.Order, a bundle.Art) (err error) {
	o.ArtPath, o.ArtData = a.Name, nil
	if a.File {
		return nil
	}
	o.ArtPath = path.Base(a.Name) // as files are called
	if o.ArtData, err = a.Data(); err != nil {
		return named(a.Name, err)
	}
	return nil
}

// fully says an error about an art in a .zip with its whole name.
func fully(a bundle.Art, err error) error {
	if rest, ok := strings.CutPrefix(words(err), path.Base(a.Name)+": "); ok && !a.File {
		return saidError{a.Name + ": " + rest, err}
	}
	return err
}

// saidError is an error in other words.
type saidError struct {
	text string
	of   error
}

func (e saidError) Error() string { return e.text }
func (e saidError) Unwrap() error { return e.of }

// proofs works out every art named on the command line.
func proofs(c *cli.Context, parts proof.Part) (*answers, error) {
	if err := anyArt(c); err != nil {
		return nil, err
	}
	o, err := readOrder(c)
	if err != nil {
		return nil, err
	}
	s, err := findArt(c, o)
	if err != nil {
		return nil, err
	}
	defer s.Close()
	return proofsOf(c, o, s, parts, nil)
}

// proofsOf is proofs of an order that the options have been read into. each, which may be nil,
// is given every proof with its plates, and the page from 1 on where an art has several; of
// several, none keeps its pixels after that.
func proofsOf(c *cli.Context, o order.Order, s *bundle.Set, parts proof.Part, each func(p *proof.Proof, page int) error) (*answers, error) {
	// What writes one file is about one page.
	one := c.Command.Name == "ticket" || c.String("html") != "" || c.String("mark") != "" || c.String("pdf") != ""
	if one {
		if err := oneArt(c, s); err != nil {
			return nil, err
		}
	}
	step, stop := progress(c)
	defer stop()
	out := &answers{several: s.Several}
	var bad failures
	take := func(a bundle.Art, o order.Order, page int) error {
		p, err := proof.Make(o, parts)
		if err == nil && each != nil {
			err = each(p, page)
		}
		if err != nil {
			return err
		}
		if !one && (len(s.Art) > 1 || page > 0) {
			p.Laid = &proof.Laid{Job: p.Laid.Job}
			p.Laid.Job.ArtData = nil
		}
		out.all = append(out.all, p)
		return nil
	}
	for i, a := range s.Art {
		doing := "working out " + a.Name
		if len(s.Art) > 1 {
			doing += fmt.Sprintf(", %d of %d", i+1, len(s.Art))
		}
		step(doing)
		err := of(&o, a)
		if err == nil {
			err = take(a, o, 0)
		}
		var many *artwork.ManyPages
		if errors.As(err, &many) && !one {
			of := o
			for of.Page = 1; of.Page <= many.Count; of.Page++ {
				step(fmt.Sprintf("%s, page %d of %d", doing, of.Page, many.Count))
				if err := take(a, of, of.Page); err != nil {
					bad.add(a, of.Page, err)
				}
			}
			bad.of += many.Count
			continue
		}
		bad.of++
		if err != nil {
			bad.add(a, 0, err)
		}
	}
	stop()
	out.several = out.several || bad.of > 1
	err := bad.err()
	if len(out.all) == 0 {
		return nil, err
	}
	out.failed = err
	return out, nil
}

// failures are the art, or pages of it, that could not be worked out.
type failures struct {
	of    int // how many there are with those that could
	texts []string
	first error
}

func (f *failures) add(a bundle.Art, page int, err error) {
	err = fully(a, err)
	base := filepath.Base(a.Name)
	text := strings.TrimPrefix(strings.TrimPrefix(words(err), a.Name+": "), base+": ")
	if !strings.Contains(text, base) { // or it is told where it is told best
		name := a.Name
		if page > 0 {
			name += fmt.Sprintf(", page %d", page)
		}
		text = name + ": " + text
	}
	if f.texts = append(f.texts, text); f.first == nil {
		f.first = err
	}
}

// err is what failed of several, or of one its own error; nil if nothing did.
func (f *failures) err() error {
	switch {
	case len(f.texts) == 0:
		return nil
	case f.of == 1:
		return f.first
	case len(f.texts) == f.of:
		// All alike in kind: it may be how the command was called.
		return saidError{fmt.Sprintf("none of %d could be worked out:\n%s", f.of, strings.Join(f.texts, "\n")), f.first}
	}
	return fmt.Errorf("%d of %d could not be worked out:\n%s", len(f.texts), f.of, strings.Join(f.texts, "\n"))
}
