// Package bundle is the art that a call names at once: files, a folder, a pattern such as
// "*.png", a .zip, and standard input.
//
// A name becomes one or more pieces of [Art], each read only when its turn comes, so that a
// folder takes no more memory than its largest file. Whatever is wrong with a name or an entry
// is that art's own error, and the others stand. Of a folder and a .zip only art is taken, as
// its first bytes tell; what else is there is listed as passed over. What is hidden, and the
// folders in a folder, are not looked at.
//
// A .zip is read where it is, and nothing is unpacked to the disk: names in it become words and
// never paths. Numbers that it states are held to the limits before anything is read by them, and
// what is read is held to the numbers.
//
// Not covered: a .zip in a .zip or in a folder, one that is locked, one in several parts, and
// folders in folders.
package bundle

import (
	"archive/zip"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"laydown/coverage/artwork"
	"laydown/coverage/file"
	"laydown/coverage/limit"
)

// Stdin is how standard input is named in a call.
const Stdin = "-"

// StdinName is how art from standard input is called.
const StdinName = "standard-input"

// overFrom is the size from which an entry of a .zip is held to [limit.Limits.BundleOver]: a
// flat picture that is not packed shrinks as far as the format can, and is no danger below this.
const overFrom = 64 * limit.MB

// Art is one piece of art, not yet read.
type Art struct {
	// Name is what it is called: its path, or the .zip's path and the entry's name with a
	// stroke between, without what could act on a terminal or lead elsewhere.
	Name string
	// File is whether Name is the path of a file, which whoever wants it opens.
	File bool

	read func() ([]byte, error)
}

// Data reads art that is no file. The error says what to do, and does not name the art.
func (a Art) Data() ([]byte, error) { return a.read() }

// Set is the art that a call names.
type Set struct {
	Art []Art // at least one of every name
	// Several is whether more than one is meant, also where there is but one: a folder, a
	// pattern or a .zip is named, or several names.
	Several bool
	Passed  []string // files and entries that are not art, by name

	open []io.Closer
}

// Close lets go of the files that are still being read.
func (s *Set) Close() {
	for _, f := range s.open {
		f.Close()
	}
}

// Open finds the art that names stand for, in their order; of a folder, a pattern and a .zip in
// the order of names. stdin is read here, at once, if it is named. An error is about the names;
// what is wrong with one art is told when that is read.
func Open(names []string, stdin io.Reader, l limit.Limits) (*Set, error) {
	s := &Set{Several: len(names) > 1}
	l = l.Filled()
	given := false
	for _, n := range names {
		if n != Stdin {
			s.name(n, l, true)
			continue
		}
		if given {
			return nil, errors.New("- is standard input, which can be read once: leave one out")
		}
		given = true
		data, err := readMost(stdin, int64(l.ArtMB)*limit.MB)
		if err == nil && len(data) == 0 {
			err = errors.New("nothing came in: pipe a file into it")
		}
		s.add(StdinName, func() ([]byte, error) { return data, err })
	}
	return s, nil
}

// Files are the files that a name stands for, without a look into them.
func Files(name string) []string {
	if st, err := os.Stat(name); err == nil && st.IsDir() {
		entries, _ := os.ReadDir(name)
		var out []string
		for _, e := range entries {
			out = append(out, filepath.Join(name, e.Name()))
		}
		return out
	}
	if found, err := matches(name); err == nil && len(found) > 0 {
		return found
	}
	return []string{name}
}

func (s *Set) add(name string, read func() ([]byte, error)) {
	s.Art = append(s.Art, Art{Name: name, read: read})
}

// bad is art that cannot be read.
func (s *Set) bad(name string, err error) {
	s.add(name, func() ([]byte, error) { return nil, err })
}

// name adds what a name stands for. patterns says whether it may be one.
func (s *Set) name(name string, l limit.Limits, patterns bool) {
	st, err := os.Stat(name)
	switch {
	case err == nil && st.IsDir():
		s.Several = true
		s.folder(name, l)
	case err == nil && st.Mode().IsRegular() && strings.EqualFold(filepath.Ext(name), ".zip"):
		s.Several = true
		s.zip(name, l)
	case err != nil && patterns && isPattern(name):
		s.Several = true
		found, err := matches(name)
		switch {
		case err != nil:
			s.bad(name, errors.New("there is no such file, and as a pattern it lacks a ]: check the name"))
		case len(found) == 0:
			s.bad(name, errors.New("there is no such file, and none that the pattern fits: check the name and the folder"))
		case len(found) > l.Bundle:
			s.bad(name, tooMany("the pattern fits", len(found), "files", l))
		default:
			for _, f := range found {
				s.name(f, l, false)
			}
		}
	default:
		s.Art = append(s.Art, Art{Name: name, File: true})
	}
}

func isPattern(name string) bool { return strings.ContainsAny(name, "*?[") }

// matches are the files that a pattern fits, as a POSIX shell would find them: hidden ones only
// if the pattern begins with a point as well.
func matches(pattern string) ([]string, error) {
	if !isPattern(pattern) {
		return nil, nil
	}
	found, err := filepath.Glob(pattern)
	if err != nil {
		return nil, err
	}
	if !strings.HasPrefix(filepath.Base(pattern), ".") {
		found = slices.DeleteFunc(found, func(f string) bool { return strings.HasPrefix(filepath.Base(f), ".") })
	}
	return found, nil
}

func tooMany(what string, n int, of string, l limit.Limits) error {
	return fmt.Errorf("%s %d %s, and at most %d are taken at once: do it in parts, or raise bundle under [limits] in the shop file", what, n, of, l.Bundle)
}

// folder adds the art of a folder.
func (s *Set) folder(dir string, l limit.Limits) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		s.bad(dir, file.Bare(err))
		return
	}
	entries = slices.DeleteFunc(entries, func(e fs.DirEntry) bool { return e.IsDir() || hidden(e.Name()) })
	if len(entries) > l.Bundle {
		s.bad(dir, tooMany("holds", len(entries), "files", l))
		return
	}
	before := len(s.Art)
	for _, e := range entries {
		at := filepath.Join(dir, e.Name())
		first, err := firstBytes(at)
		switch {
		case errors.Is(err, file.ErrFolder): // a link to one
		case errors.Is(err, file.ErrKind) || err == nil && !artwork.Is(first):
			s.Passed = append(s.Passed, at)
		default: // what cannot be read is told by who reads it
			s.Art = append(s.Art, Art{Name: at, File: true})
		}
	}
	if len(s.Art) == before {
		s.bad(dir, errors.New("there is no art in the folder"))
	}
}

func hidden(name string) bool { return strings.HasPrefix(name, ".") }

// firstBytes reads the beginning of a regular file.
func firstBytes(name string) ([]byte, error) {
	if err := file.Look(name, 1<<62); err != nil {
		return nil, err
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, artwork.FirstBytes))
}

// readMost reads all of r, which must not be more than so many bytes.
func readMost(r io.Reader, most int64) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, most+1))
	if err == nil && int64(len(data)) > most {
		err = fmt.Errorf("is larger than the %d MB that are read: name another, or raise the limit in the shop file", most/limit.MB)
	}
	if err != nil {
		return nil, err
	}
	return data, nil
}

// zip adds the art of a .zip (APPNOTE.TXT of the format; entries that are stored or deflated).
func (s *Set) zip(name string, l limit.Limits) {
	fail := func(err error) { s.bad(name, err) }
	if err := file.Look(name, int64(l.ArtMB)*limit.MB); err != nil {
		fail(err)
		return
	}
	f, err := os.Open(name)
	if err != nil {
		fail(err)
		return
	}
	st, err := f.Stat()
	if err != nil {
		f.Close()
		fail(err)
		return
	}
	z, err := list(f, st.Size(), l)
	if err != nil {
		f.Close()
		fail(err)
		return
	}
	s.open = append(s.open, f)
	before := len(s.Art)
	for _, e := range z {
		said := name + "/" + e.name
		if e.err != nil {
			s.bad(said, e.err)
			continue
		}
		first, err := e.begin(artwork.FirstBytes)
		switch {
		case err != nil:
			s.bad(said, err)
		case !artwork.Is(first):
			s.Passed = append(s.Passed, said)
		default:
			s.add(said, e.all)
		}
	}
	if len(s.Art) == before {
		fail(errors.New("there is no art in it"))
	}
}

// entry is a file in a .zip.
type entry struct {
	name string // safe
	of   *zip.File
	err  error // why it is not read; nil if it may be
}

var errDamaged = errors.New("is a damaged or cut-short .zip: pack it again")

// list is the files of a .zip in the order of their names, without hidden ones.
func list(r io.ReaderAt, size int64, l limit.Limits) ([]entry, error) {
	// Its list stands at the end and may be as long as the file says: it is read through a
	// reader that gives up behind a kilobyte for each entry that is taken.
	b := &bounded{r: r, left: limit.MB + int64(l.Bundle)<<10}
	z, err := zip.NewReader(b, size)
	switch {
	case b.left < 0:
		return nil, fmt.Errorf("its list of entries is too long for the %d that are taken at once: pack fewer, or raise bundle under [limits] in the shop file", l.Bundle)
	case errors.Is(err, zip.ErrInsecurePath): // names are never paths here
	case err != nil:
		return nil, errDamaged
	}
	b.open = true
	if len(z.File) > l.Bundle {
		return nil, tooMany("holds", len(z.File), "entries", l)
	}
	var out []entry
	var sum uint64
	for _, f := range z.File {
		name := safe(f.Name)
		if f.FileInfo().IsDir() || name == "" || slices.ContainsFunc(strings.Split(name, "/"), func(p string) bool { return hidden(p) || p == "__MACOSX" }) {
			continue
		}
		if sum += min(f.UncompressedSize64, 1<<50); sum > uint64(l.BundleMB)*limit.MB {
			return nil, fmt.Errorf("holds more than %d MB when unpacked: pack fewer, or raise bundle_mb under [limits] in the shop file", l.BundleMB)
		}
		e := entry{name: name, of: f}
		switch {
		case !f.Mode().IsRegular():
			e.err = errors.New("is no file but a link or the like: pack the file itself")
		case f.Flags&1 != 0:
			e.err = errors.New("is locked with a password: ask for it without one")
		case f.Method != zip.Store && f.Method != zip.Deflate:
			e.err = errors.New("is packed in a way that is not read: pack it again as an ordinary .zip")
		case f.UncompressedSize64 > uint64(l.ArtMB)*limit.MB:
			e.err = file.TooLarge(int64(f.UncompressedSize64), int64(l.ArtMB)*limit.MB) // the sum has seen that it is below 2⁶³
		case f.UncompressedSize64 > overFrom && f.UncompressedSize64/uint64(l.BundleOver) > f.CompressedSize64:
			e.err = fmt.Errorf("would unpack to more than %d times its size, which no picture does: name the file itself, or raise bundle_over under [limits] in the shop file", l.BundleOver)
		}
		out = append(out, e)
	}
	slices.SortStableFunc(out, func(a, b entry) int { return cmp.Compare(a.name, b.name) })
	return out, nil
}

// begin reads at most so many bytes of an entry.
func (e entry) begin(most int64) ([]byte, error) {
	r, err := e.of.Open()
	if err != nil {
		return nil, errDamaged
	}
	defer r.Close()
	data, err := io.ReadAll(io.LimitReader(r, most))
	if err != nil {
		return nil, errDamaged
	}
	return data, nil
}

// all reads an entry, which must be as long as the .zip says and have the sum that it says.
func (e entry) all() ([]byte, error) {
	size := int64(e.of.UncompressedSize64) // at most what is taken, as [list] has seen
	data, err := e.begin(size + 1)
	if err == nil && int64(len(data)) != size {
		err = errDamaged
	}
	if err != nil {
		return nil, err
	}
	return data, nil
}

// safe is an entry's name as words: whatever it was packed with, it has no strokes at its ends,
// leads to no folder above, and holds no character that acts on a terminal or a file system.
func safe(name string) string {
	name = strings.ToValidUTF8(name, "_")
	name = strings.Map(func(r rune) rune {
		switch {
		case r == '\\':
			return '/'
		case r < 0x20 || r >= 0x7f && r < 0xa0 || strings.ContainsRune(`:*?"<>|`, r):
			return '_'
		}
		return r
	}, name)
	return strings.TrimPrefix(path.Clean("/"+name), "/")
}

// bounded is a reader that gives up behind so many bytes, until it is open.
type bounded struct {
	r    io.ReaderAt
	left int64
	open bool
}

func (b *bounded) ReadAt(p []byte, at int64) (int, error) {
	if !b.open {
		if b.left -= int64(len(p)); b.left < 0 {
			return 0, errors.New("too long")
		}
	}
	return b.r.ReadAt(p, at)
}
