package batch

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os"

	"laydown/coverage/file"
)

// journal keeps results as they come, one JSON object a line. The nil one
// keeps nothing.
type journal struct {
	known map[string]Result // of earlier runs, by key
	to    io.Writer
	file  *os.File // nil if to is not one
}

// errNoJournal says that a file is something else than a journal, which must not be written to.
var errNoJournal = errors.New("is no journal of an earlier run: name that, or a file that is not there yet")

// beginning is what the first line of a journal begins with: see [Result].
const beginning = `{"line":`

// openJournal opens a journal of at most so many bytes to go on with, or makes it. Lines that
// an earlier run left cut short are passed over; what does not begin as a journal is refused.
func openJournal(path string, most int64) (*journal, error) {
	old, err := file.Read(path, most)
	if err != nil && !errors.Is(err, file.ErrGone) {
		return nil, err
	}
	if n := min(len(old), len(beginning)); string(old[:n]) != beginning[:n] {
		return nil, errNoJournal
	}
	f, err := file.Append(path)
	if err != nil {
		return nil, err
	}
	if n := len(old); n > 0 && old[n-1] != '\n' { // an earlier run broke off within a line
		if _, err := f.Write([]byte("\n")); err != nil {
			f.Close()
			return nil, err
		}
	}
	return &journal{readJournal(old), f, f}, nil
}

// close closes the journal's file.
func (j *journal) close() error {
	if j == nil || j.file == nil {
		return nil
	}
	return j.file.Close()
}

// readJournal reads the results of earlier runs by their keys.
func readJournal(data []byte) map[string]Result {
	known := map[string]Result{}
	s := bufio.NewScanner(bytes.NewReader(data))
	s.Buffer(nil, 1<<20)
	for s.Scan() {
		var r Result
		if json.Unmarshal(s.Bytes(), &r) == nil && r.Key != "" && r.Error == "" {
			known[r.Key] = r
		}
	}
	return known
}

func (j *journal) done(key string) (Result, bool) {
	if j == nil {
		return Result{}, false
	}
	r, ok := j.known[key]
	return r, ok
}

func (j *journal) keep(r Result) error {
	if j == nil {
		return nil
	}
	line, err := json.Marshal(r)
	if err == nil {
		_, err = j.to.Write(append(line, '\n'))
	}
	return err
}
