// Package file is the way in and out: every file that somebody names is read by [Read] and
// written by [Write] or [Append].
//
// Read are regular files alone, and their size is looked at first: a pipe may never end, a
// device never does, and a file may say that it is larger than memory. Written files appear
// whole or not at all, on the disk in the order in which they must: the bytes, the name, the
// folder. A link is followed and stays; what is no regular file, such as a terminal, is
// written to as it is. Permissions are those of the user's own mask, or of the file that is
// replaced.
//
// Not covered: the file that another program changes between two looks, and file systems that
// do not rename at one stroke.
package file

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// Reasons why a file is not read, wrapped in the errors of [Read].
var (
	ErrGone   = errors.New("there is no such file: check the name and the folder")
	ErrFolder = errors.New("is a folder: name a file in it")
	ErrKind   = errors.New("is no regular file but a pipe, a device or the like: save what it holds as a file, and name that")
)

// ErrInput says that a file that is read would be written.
var ErrInput = errors.New("is the input itself, which is never changed: choose another name or folder")

// Read reads a regular file of at most so many bytes. The error does not name the file.
func Read(path string, most int64) ([]byte, error) {
	if err := Look(path, most); err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, Bare(err)
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return nil, Bare(err)
	}
	if err := fits(st, most); err != nil { // what was looked at may have made way
		return nil, err
	}
	// A file may grow meanwhile, and some of the system's own say that they are empty.
	data := make([]byte, 0, st.Size()+1)
	for {
		n, err := f.Read(data[len(data):cap(data)])
		data = data[:len(data)+n]
		switch {
		case int64(len(data)) > most:
			return nil, TooLarge(int64(len(data)), most)
		case err == io.EOF:
			return data, nil
		case err != nil:
			return nil, Bare(err)
		case len(data) == cap(data):
			data = append(data, 0)[:len(data)]
		}
	}
}

// Look is what [Read] refuses before it reads: a file that is not there, none that is regular,
// one of more than so many bytes.
func Look(path string, most int64) error {
	st, err := os.Stat(path)
	if err != nil {
		return Bare(err)
	}
	return fits(st, most)
}

func fits(st fs.FileInfo, most int64) error {
	switch {
	case st.IsDir():
		return ErrFolder
	case !st.Mode().IsRegular():
		return ErrKind
	case st.Size() > most:
		return TooLarge(st.Size(), most)
	}
	return nil
}

// TooLarge is said of a file of more bytes than are read.
func TooLarge(is, most int64) error {
	return fmt.Errorf("is %d MB large, and at most %d are read: name another, or raise the limit in the shop file", (is-1)>>20+1, most>>20)
}

// Bare is an error of the system without the file's name, and [ErrGone] if there is no such file.
func Bare(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	if errors.Is(err, fs.ErrNotExist) {
		return ErrGone
	}
	return err
}

// Same reports whether two names are of one file that is there.
func Same(a, b string) bool {
	x, err := os.Stat(a)
	if err != nil {
		return false
	}
	y, err := os.Stat(b)
	return err == nil && os.SameFile(x, y)
}

// mostLinks is how many links may lead on to each other.
const mostLinks = 40

// Target is where a name leads: links are followed, also to where nothing is yet.
func Target(path string) (string, error) {
	for range mostLinks {
		st, err := os.Lstat(path)
		if err != nil || st.Mode()&fs.ModeSymlink == 0 {
			return path, nil // what is wrong with the folder is said by who writes there
		}
		to, err := os.Readlink(path)
		if err != nil {
			return "", Bare(err)
		}
		if !filepath.IsAbs(to) {
			to = filepath.Join(filepath.Dir(path), to)
		}
		path = to
	}
	return "", errors.New("is a link that leads to itself: choose another name")
}

// Out is a file to write.
type Out struct {
	Path string
	Data []byte
}

// Error is what went wrong with one of the files that are written.
type Error struct {
	Path string
	Err  error
}

func (e *Error) Error() string { return e.Path + ": " + e.Err.Error() }

// Unwrap returns what is wrong.
func (e *Error) Unwrap() error { return e.Err }

// Check looks, before any work, whether files can be written: that none is among the inputs,
// none a folder, none protected, and no two are the same. The error is an [Error].
func Check(paths, inputs []string) error {
	for i, path := range paths {
		if err := check(path, paths[:i], inputs); err != nil {
			return &Error{path, err}
		}
	}
	return nil
}

func check(path string, before, inputs []string) error {
	for _, in := range inputs {
		if in != "" && Same(path, in) {
			return ErrInput
		}
	}
	to, err := Target(path)
	if err != nil {
		return err
	}
	for _, other := range before {
		if o, err := Target(other); err == nil && strings.EqualFold(filepath.Clean(o), filepath.Clean(to)) {
			return errors.New("would be written twice: give the files that it comes from different names, or write them into different folders")
		}
	}
	st, err := os.Stat(to)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return Bare(err)
	case st.IsDir():
		return ErrFolder
	case !st.Mode().IsRegular():
		return nil
	}
	f, err := os.OpenFile(to, os.O_WRONLY, 0)
	if err != nil {
		return fmt.Errorf("cannot be written to (%w): choose another name, or change its permissions", Bare(err))
	}
	return f.Close()
}

// Write writes files, all or none: each under a passing name first, then renamed together. What
// is among the inputs is refused. The error is an [Error]; that one of the last steps fails, a
// rename within one folder, may leave the files that went before.
func Write(out []Out, inputs []string) error { return write(out, inputs, (*os.File).Write) }

// write has the step that puts bytes into a file, so that a test can break off within it.
func write(out []Out, inputs []string, put func(*os.File, []byte) (int, error)) (err error) {
	var paths []string
	for _, o := range out {
		paths = append(paths, o.Path)
	}
	if err := Check(paths, inputs); err != nil {
		return err
	}
	type passing struct{ name, to, said string }
	var made []passing
	defer func() {
		if err != nil {
			for _, m := range made {
				os.Remove(m.name) // gone already if it was renamed
			}
		}
	}()
	for _, o := range out {
		to, err := Target(o.Path)
		if err != nil {
			return &Error{o.Path, err}
		}
		mode := fs.FileMode(0)
		if st, err := os.Stat(to); err == nil {
			if !st.Mode().IsRegular() {
				if err := straight(to, o.Data); err != nil {
					return &Error{o.Path, err}
				}
				continue
			}
			mode = st.Mode().Perm()
		}
		f, err := beside(to)
		if err != nil {
			return &Error{o.Path, Bare(err)}
		}
		made = append(made, passing{f.Name(), to, o.Path})
		_, err = put(f, o.Data)
		if err == nil && mode != 0 {
			err = f.Chmod(mode)
		}
		if err == nil {
			err = f.Sync()
		}
		if e := f.Close(); err == nil {
			err = e
		}
		if err != nil {
			return &Error{o.Path, Bare(err)}
		}
	}
	folders := map[string]bool{}
	for _, m := range made {
		if err := os.Rename(m.name, m.to); err != nil {
			var l *os.LinkError
			if errors.As(err, &l) {
				err = l.Err
			}
			return &Error{m.said, err}
		}
		folders[filepath.Dir(m.to)] = true
	}
	for dir := range folders {
		syncFolder(dir)
	}
	return nil
}

// straight writes to what is no regular file, such as a terminal or a pipe.
func straight(to string, data []byte) error {
	f, err := os.OpenFile(to, os.O_WRONLY, 0)
	if err != nil {
		return Bare(err)
	}
	_, err = f.Write(data)
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return Bare(err)
	}
	return nil
}

// beside makes a file that nobody else has, in the folder of another.
func beside(to string) (*os.File, error) {
	for n := 0; ; n++ {
		f, err := os.OpenFile(filepath.Join(filepath.Dir(to), fmt.Sprintf(".laydown-%d-%d", os.Getpid(), n)), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if !errors.Is(err, fs.ErrExist) || n == 10_000 {
			return f, err
		}
	}
}

// syncFolder writes a folder's names through to the disk, where the system knows that.
func syncFolder(dir string) {
	if f, err := os.Open(dir); err == nil {
		f.Sync()
		f.Close()
	}
}

// Append opens a regular file to write behind its end, and makes it if it is not there. The
// error does not name the file.
func Append(path string) (*os.File, error) {
	to, err := Target(path)
	if err != nil {
		return nil, err
	}
	if st, err := os.Stat(to); err == nil {
		if err := fits(st, st.Size()); err != nil {
			return nil, err
		}
	}
	f, err := os.OpenFile(to, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o666)
	if err != nil {
		return nil, Bare(err)
	}
	return f, nil
}
