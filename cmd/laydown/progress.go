package main

import (
	"fmt"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"github.com/urfave/cli/v2"

	"laydown/coverage/show"
)

// progressEvery is how long work goes on in silence, and how often the line is renewed.
const progressEvery = time.Second

// progress says on one line of stderr what is being done and for how long, from a second on,
// if that is a terminal. step tells what comes next; stop takes the line away.
func progress(c *cli.Context) (step func(what string), stop func()) {
	w := worldOf(c)
	if !w.terminal(w.stderr) {
		return func(string) {}, func() {}
	}
	// Dumb terminals know no sequences, and NO_COLOR is set by people who want none: there the
	// line is written over with spaces.
	plain := w.getenv("TERM") == "dumb" || w.getenv("NO_COLOR") != ""
	wide := 0
	say := func(line string) {
		line = show.Style{}.Safe(line)
		if !plain {
			fmt.Fprint(w.stderr, "\r\x1b[K"+line)
			return
		}
		n := utf8.RuneCountInString(line)
		fmt.Fprint(w.stderr, "\r"+line+strings.Repeat(" ", max(0, wide-n)))
		if wide = n; n == 0 {
			fmt.Fprint(w.stderr, "\r")
		}
	}
	var mu sync.Mutex
	doing, begun := "", w.now()
	ticks, end := w.ticks(progressEvery)
	quit, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		shown := false
		for {
			select {
			case <-quit:
				if shown {
					say("")
				}
				return
			case <-ticks:
				seconds := w.now().Sub(begun) / time.Second
				mu.Lock()
				say(fmt.Sprintf("%s … %d s", doing, seconds))
				mu.Unlock()
				shown = true
			}
		}
	}()
	step = func(what string) {
		mu.Lock()
		doing = what
		mu.Unlock()
	}
	var once sync.Once
	return step, func() {
		once.Do(func() {
			end()
			close(quit)
			<-done
		})
	}
}
