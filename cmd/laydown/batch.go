package main

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/jedib0t/go-pretty/v6/progress"
	"github.com/urfave/cli/v2"

	"laydown/coverage/proof"
)

// quoteList quotes a CSV list of orders.
func quoteList(c *cli.Context, file string) error {
	if c.Args().Present() {
		return usageError{errors.New("--orders names the art itself: leave art files out")}
	}
	if c.String("qty") != "" {
		return usageError{errors.New("--qty: quantities are in the list")}
	}
	o, err := readOrder(c)
	if err != nil {
		return err
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return named(file, err)
	}
	rows, err := proof.ParseBatch(data, filepath.Dir(file))
	if err != nil {
		return named(file, err)
	}
	context, err := contextOf(c)
	if err != nil {
		return err
	}
	var done map[string]proof.BatchResult
	var journal io.Writer
	if to := c.String("resume"); to != "" {
		for _, k := range []string{file, c.String("shop"), c.String("press")} {
			if sameFile(to, k) {
				return named(to, errInput)
			}
		}
		old, err := os.ReadFile(to)
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			return named(to, err)
		}
		done = proof.ReadJournal(old)
		f, err := os.OpenFile(to, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
		if err != nil {
			return named(to, err)
		}
		defer f.Close()
		if n := len(old); n > 0 && old[n-1] != '\n' { // an earlier run broke off within a line
			if _, err := f.Write([]byte("\n")); err != nil {
				return named(to, err)
			}
		}
		journal = f
	}
	bar, stop := progressBar(c, len(rows))
	results, err := proof.Batch(o, rows, context, done, journal, bar)
	stop()
	if err != nil {
		return named(c.String("resume"), err)
	}
	if to := c.String("csv"); to != "" {
		b, err := proof.BatchCSV(results)
		if err != nil {
			return err
		}
		if err := writeFiles(filepath.Dir(to), []proof.File{{Name: filepath.Base(to), Data: b}}, []string{file, c.String("shop"), c.String("press"), c.String("resume")}); err != nil {
			return err
		}
	}
	out := []byte(proof.BatchText(results))
	if c.Bool("json") {
		if out, err = proof.BatchJSON(results); err != nil {
			return err
		}
	}
	if _, err := c.App.Writer.Write(out); err != nil {
		return err
	}
	if n := proof.BatchFailed(results); n > 0 {
		return fmt.Errorf("%d of %d rows of %s could not be quoted", n, len(rows), file)
	}
	return nil
}

// contextOf names everything but the rows that a quote follows from.
func contextOf(c *cli.Context) (string, error) {
	s := ""
	for _, name := range []string{"shop", "press"} {
		if f := c.String(name); f != "" {
			b, err := os.ReadFile(f)
			if err != nil {
				return "", named(f, err)
			}
			s += fmt.Sprintf("%s %x ", name, sha256.Sum256(b))
		}
	}
	for _, f := range c.Command.Flags {
		for _, n := range f.Names() {
			switch n {
			case "shop", "press", "orders", "resume", "csv", "json", "cache":
			default:
				if c.IsSet(n) {
					s += fmt.Sprintf("%s=%v ", n, c.Value(n))
				}
			}
		}
	}
	return s, nil
}

// progressBar shows how far a list is, on a terminal that is not the place of the
// results.
func progressBar(c *cli.Context, rows int) (step, stop func()) {
	f, ok := c.App.ErrWriter.(*os.File)
	if !ok {
		return func() {}, func() {}
	}
	if st, err := f.Stat(); err != nil || st.Mode()&os.ModeCharDevice == 0 {
		return func() {}, func() {}
	}
	w := progress.NewWriter()
	w.SetOutputWriter(f)
	w.SetUpdateFrequency(200 * time.Millisecond)
	w.SetAutoStop(false)
	w.Style().Visibility.Speed = false
	t := &progress.Tracker{Message: "quoting", Total: int64(rows)}
	w.AppendTracker(t)
	go w.Render()
	return func() { t.Increment(1) }, func() {
		t.MarkAsDone()
		for w.IsRenderInProgress() && w.LengthActive() > 0 {
			time.Sleep(20 * time.Millisecond)
		}
		w.Stop()
	}
}
