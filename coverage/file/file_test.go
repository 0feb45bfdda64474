package file

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func put(t *testing.T, path, data string) string {
	t.Helper()
	if err := os.WriteFile(path, []byte(data), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func holds(t *testing.T, path, want string) {
	t.Helper()
	if b, err := os.ReadFile(path); err != nil || string(b) != want {
		t.Errorf("%s holds %q, %v; want %q", path, b, err, want)
	}
}

// TestRead reads files up to a size and refuses what has none.
func TestRead(t *testing.T) {
	dir := t.TempDir()
	path := put(t, filepath.Join(dir, "a"), "12345")
	if b, err := Read(path, 5); err != nil || string(b) != "12345" {
		t.Errorf("%q, %v", b, err)
	}
	if b, err := Read(put(t, filepath.Join(dir, "none"), ""), 5); err != nil || len(b) != 0 {
		t.Errorf("%q, %v", b, err)
	}
	if _, err := Read(path, 4); err == nil || !strings.Contains(err.Error(), "1 MB large, and at most 0") {
		t.Errorf("%v", err)
	}
	// Terabytes that nobody wrote take no memory.
	if err := os.Truncate(path, 1<<40); err == nil {
		if _, err := Read(path, 64<<20); err == nil || !strings.Contains(err.Error(), "1048576 MB large, and at most 64 are read") {
			t.Errorf("%v", err)
		}
	}
	for name, want := range map[string]error{dir: ErrFolder, filepath.Join(dir, "gone"): ErrGone, os.DevNull: ErrKind, "/dev/zero": ErrKind} {
		if _, err := os.Stat(name); err != nil && want == ErrKind {
			continue // another system
		}
		if _, err := Read(name, 1<<20); !errors.Is(err, want) {
			t.Errorf("%s: %v, want %v", name, err, want)
		}
	}
}

// TestWrite writes several files together, over one that is there and behind a link.
func TestWrite(t *testing.T) {
	dir := t.TempDir()
	old := put(t, filepath.Join(dir, "old"), "before")
	link, far := filepath.Join(dir, "link"), filepath.Join(dir, "far")
	if err := os.Symlink("far", link); err != nil {
		t.Skip(err)
	}
	fresh := filepath.Join(dir, "fresh")
	out := []Out{{old, []byte("after")}, {link, []byte("linked")}, {fresh, []byte("new")}, {os.DevNull, []byte("nothing")}}
	if err := Write(out, nil); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{old: "after", far: "linked", fresh: "new"} {
		holds(t, path, want)
	}
	if st, err := os.Lstat(link); err != nil || st.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is %v, %v", st, err)
	}
	if st, err := os.Stat(os.DevNull); err != nil || st.Mode().IsRegular() {
		t.Errorf("the device is %v, %v", st, err)
	}
	if st, err := os.Stat(old); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("a file of one's own is open to others: %v, %v", st.Mode(), err)
	}
	empty(t, dir, 4)
}

// empty looks that a folder holds so many files and none under a passing name.
func empty(t *testing.T, dir string, want int) {
	t.Helper()
	all, err := os.ReadDir(dir)
	if err != nil || len(all) != want {
		t.Errorf("%v, %v; want %d files", all, err, want)
	}
}

// TestWriteRefuses leaves everything as it was.
func TestWriteRefuses(t *testing.T) {
	dir := t.TempDir()
	art := put(t, filepath.Join(dir, "art"), "picture")
	hard := filepath.Join(dir, "hard")
	if err := os.Link(art, hard); err != nil {
		t.Skip(err)
	}
	round := filepath.Join(dir, "round")
	if err := os.Symlink("round", round); err != nil {
		t.Skip(err)
	}
	fresh := filepath.Join(dir, "fresh")
	for name, c := range map[string]struct {
		paths []string
		want  string
	}{
		"an input":                {[]string{fresh, art}, art + ": is the input itself"},
		"its other name":          {[]string{hard}, "is the input itself"},
		"one name twice":          {[]string{fresh, filepath.Join(dir, ".", "fresh")}, "would be written twice"},
		"letters of another case": {[]string{fresh, filepath.Join(dir, "Fresh")}, "would be written twice"},
		"a folder":                {[]string{fresh, dir}, "is a folder"},
		"a link to itself":        {[]string{round}, "leads to itself"},
		"a folder that is gone":   {[]string{fresh, filepath.Join(dir, "gone", "x")}, "no such file"},
	} {
		var out []Out
		for _, p := range c.paths {
			out = append(out, Out{p, []byte("x")})
		}
		if err := Write(out, []string{"", art}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
		empty(t, dir, 3)
		holds(t, art, "picture")
	}
}

// TestWriteBreaksOff stops between any two bytes, as on a full disk: what was there stays.
func TestWriteBreaksOff(t *testing.T) {
	dir := t.TempDir()
	a, b := put(t, filepath.Join(dir, "a"), "old a"), put(t, filepath.Join(dir, "b"), "old b")
	full := errors.New("the disk is full")
	data := []byte("new")
	for at := range 2 * len(data) {
		left := at
		err := write([]Out{{a, data}, {b, data}}, nil, func(f *os.File, p []byte) (int, error) {
			n := min(left, len(p))
			left -= n
			n, err := f.Write(p[:n])
			if err == nil && n < len(p) {
				err = full
			}
			return n, err
		})
		if !errors.Is(err, full) {
			t.Fatalf("%d bytes: %v", at, err)
		}
		holds(t, a, "old a")
		holds(t, b, "old b")
		empty(t, dir, 2)
	}
}

// TestAppend goes on behind a file's end, and takes nothing that is no file.
func TestAppend(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a")
	for range 2 {
		f, err := Append(path)
		if err != nil {
			t.Fatal(err)
		}
		f.Write([]byte("x"))
		f.Close()
	}
	if b, err := os.ReadFile(path); err != nil || !bytes.Equal(b, []byte("xx")) {
		t.Errorf("%q, %v", b, err)
	}
	for name, want := range map[string]error{os.DevNull: ErrKind, filepath.Dir(path): ErrFolder} {
		if _, err := Append(name); !errors.Is(err, want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
