// Package font finds the fonts that texts ask for by the name of their family: those of
// the machine, and a few that are built in, the Liberation fonts (SIL Open Font License
// 1.1), which have the widths of the fonts that offices use most.
//
// Read are TrueType and OpenType files and collections of them. Names are compared
// without regard to case. Variable fonts count as their regular face.
package font

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"codeberg.org/go-fonts/liberation/liberationmonobold"
	"codeberg.org/go-fonts/liberation/liberationmonobolditalic"
	"codeberg.org/go-fonts/liberation/liberationmonoitalic"
	"codeberg.org/go-fonts/liberation/liberationmonoregular"
	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansbolditalic"
	"codeberg.org/go-fonts/liberation/liberationsansitalic"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-fonts/liberation/liberationserifbold"
	"codeberg.org/go-fonts/liberation/liberationserifbolditalic"
	"codeberg.org/go-fonts/liberation/liberationserifitalic"
	"codeberg.org/go-fonts/liberation/liberationserifregular"
	"golang.org/x/image/font/sfnt"
)

// The families that are built in.
const (
	Sans  = "Liberation Sans"
	Serif = "Liberation Serif"
	Mono  = "Liberation Mono"
)

// face is one font file.
type face struct {
	path     string // "" if it is built in
	data     []byte
	families []string
}

// Library is a set of fonts. Its methods may be called from several goroutines.
type Library struct {
	dirs []string
	list func() []face
}

// New is the library of all fonts in folders and the folders within, and of those that
// are built in. Folders are looked through when a font is first asked for; what cannot be
// read is passed over.
func New(dirs ...string) *Library {
	l := &Library{dirs: dirs}
	l.list = sync.OnceValue(func() []face {
		out := builtIn()
		for _, dir := range l.dirs {
			filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
				if err == nil && d.Type().IsRegular() && slices.Contains([]string{".ttf", ".otf", ".ttc", ".otc"}, strings.ToLower(filepath.Ext(path))) {
					if names := namesIn(path); len(names) > 0 {
						out = append(out, face{path: path, families: names})
					}
				}
				return nil
			})
		}
		return out
	})
	return l
}

func builtIn() (out []face) {
	add := func(family string, files ...[]byte) {
		for _, f := range files {
			out = append(out, face{data: f, families: []string{family}})
		}
	}
	add(Sans, liberationsansregular.TTF, liberationsansbold.TTF, liberationsansitalic.TTF, liberationsansbolditalic.TTF)
	add(Serif, liberationserifregular.TTF, liberationserifbold.TTF, liberationserifitalic.TTF, liberationserifbolditalic.TTF)
	add(Mono, liberationmonoregular.TTF, liberationmonobold.TTF, liberationmonoitalic.TTF, liberationmonobolditalic.TTF)
	return out
}

// namesIn are the families of a file's fonts; none if it is no font.
func namesIn(path string) (names []string) {
	f, err := os.Open(path)
	if err != nil {
		return nil
	}
	defer f.Close()
	c, err := sfnt.ParseCollectionReaderAt(f)
	if err != nil {
		return nil
	}
	var b sfnt.Buffer
	for i := range c.NumFonts() {
		font, err := c.Font(i)
		if err != nil {
			continue
		}
		for _, id := range []sfnt.NameID{sfnt.NameIDFamily, sfnt.NameIDTypographicFamily} {
			if n, err := font.Name(&b, id); err == nil && n != "" && !slices.Contains(names, n) {
				names = append(names, n)
			}
		}
	}
	return names
}

// Family is every file with a face of a family, and the family's name as they spell it;
// none if there is none.
func (l *Library) Family(asked string) (files [][]byte, name string) {
	for _, f := range l.list() {
		i := slices.IndexFunc(f.families, func(n string) bool { return strings.EqualFold(n, asked) })
		if i < 0 {
			continue
		}
		data := f.data
		if f.path != "" {
			var err error
			if data, err = os.ReadFile(f.path); err != nil {
				continue
			}
		}
		files, name = append(files, data), f.families[i]
	}
	return files, name
}

// Lacks reports which of the characters no file has a glyph for.
func Lacks(files [][]byte, characters []rune) (lacking []rune) {
	var fonts []*sfnt.Font
	for _, f := range files {
		if c, err := sfnt.ParseCollection(f); err == nil {
			for i := range c.NumFonts() {
				if font, err := c.Font(i); err == nil {
					fonts = append(fonts, font)
				}
			}
		}
	}
	var b sfnt.Buffer
	for _, r := range characters {
		if !slices.ContainsFunc(fonts, func(f *sfnt.Font) bool { g, err := f.GlyphIndex(&b, r); return err == nil && g != 0 }) {
			lacking = append(lacking, r)
		}
	}
	return lacking
}

// With is the first file of the library, in the order of its folders, that has a glyph for
// a character, and its family; nil if none has.
func (l *Library) With(r rune) (file []byte, family string) {
	for _, f := range l.list() {
		data := f.data
		if f.path != "" {
			data, _ = os.ReadFile(f.path)
		}
		if len(Lacks([][]byte{data}, []rune{r})) == 0 {
			return data, f.families[0]
		}
	}
	return nil, ""
}

// Folders are where a system keeps fonts: system is as runtime.GOOS has it, and variable
// looks up the environment.
func Folders(system string, variable func(string) string) (dirs []string) {
	home := variable("HOME")
	under := func(base string, parts ...string) {
		if base != "" {
			dirs = append(dirs, filepath.Join(append([]string{base}, parts...)...))
		}
	}
	switch system {
	case "windows":
		under(variable("WINDIR"), "Fonts")
		under(variable("LOCALAPPDATA"), "Microsoft", "Windows", "Fonts")
	case "darwin":
		under(home, "Library", "Fonts")
		dirs = append(dirs, "/Library/Fonts", "/System/Library/Fonts")
	default:
		under(variable("XDG_DATA_HOME"), "fonts")
		under(home, ".local", "share", "fonts")
		under(home, ".fonts")
		dirs = append(dirs, "/usr/local/share/fonts", "/usr/share/fonts")
	}
	return dirs
}
