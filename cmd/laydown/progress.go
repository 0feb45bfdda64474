package main

import (
	"fmt"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"github.com/urfave/cli/v2"
)

// progressEvery is how long work goes on in silence, and how often the line is renewed.
const progressEvery = time.Second

// progress says on one line of stderr what is being done and for how long, from a second on,
// if that is a terminal whose cursor goes back: a dumb one's does not. step tells what comes
// next; stop takes the line away. Spaces do that, so that nothing but text is ever written.
func progress(c *cli.Context) (step func(what string), stop func()) {
	w := worldOf(c)
	if !w.terminal(w.stderr) || w.getenv("TERM") == "dumb" {
		return func(string) {}, func() {}
	}
	var mu sync.Mutex
	doing, begun := "", w.now()
	ticks, end := w.ticks(progressEvery)
	quit, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		shown := 0 // letters that stand there
		say := func(text string) {
			long := utf8.RuneCountInString(text)
			fmt.Fprint(w.stderr, "\r"+text+strings.Repeat(" ", max(0, shown-long)))
			shown = long
		}
		for {
			select {
			case <-quit:
				if shown > 0 {
					say("")
					fmt.Fprint(w.stderr, "\r")
				}
				return
			case <-ticks:
				seconds := w.now().Sub(begun) / time.Second
				mu.Lock()
				what := doing
				mu.Unlock()
				say(fmt.Sprintf("%s … %d s", what, seconds))
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
