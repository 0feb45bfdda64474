package artwork

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"strings"
)

// stranger is a kind of file that is not read: what it is in plain words, and what to do.
type stranger struct{ kind, do string }

// What to ask for in place of a file that is not read.
const (
	askDrawing = "ask for it as PDF or SVG"
	askFlat    = "ask for it flattened in its full size, as PNG, TIFF or PDF"
	askPage    = "ask for the picture in it, as it was put in, or for the whole as PDF"
	askPicture = "ask for it as PNG, TIFF or JPEG"
	askStill   = "ask for one picture of it, as PNG or JPEG"
	askUnpack  = "unpack it and name the picture in it"
	askOther   = "ask for the picture itself, as PDF, SVG, PNG, TIFF or JPEG"
)

// magic is what a kind of file has at a place in its beginning.
type magic struct {
	at    int
	bytes string
	stranger
}

// magics are kinds that a few bytes tell. The first that fits counts.
var magics = []magic{
	{0, "%!PS", stranger{"a PostScript drawing (.eps, .ps)", "ask for it as PDF"}},
	{0, "\xc5\xd0\xd3\xc6", stranger{"a PostScript drawing (.eps)", "ask for it as PDF"}},
	{0, "gimp xcf", stranger{"a layered working file (.xcf)", askFlat}},
	{0, "\x06\x06\xed\xf5\xd8\x1d\x46\xe5", stranger{"a page layout (.indd)", "ask for it exported as PDF"}},
	{0, "\x00\xffKA", stranger{"a layered working file (.af, .afdesign, .afphoto)", askFlat}},
	{0, "CSFCHUNK", stranger{"a layered working file (.clip)", askFlat}},
	{0, "Paint Shop Pro Image File", stranger{"a layered working file (.pspimage)", askFlat}},
	{0, "WPC", stranger{"a document or drawing (.wpd, .wpg)", askPage}},
	{0, "\xd7\xcd\xc6\x9a", stranger{"a drawing (.wmf)", askDrawing}},
	{40, " EMF", stranger{"a drawing (.emf)", askDrawing}},
	{0, "AC10", stranger{"a technical drawing (.dwg)", askDrawing}},
	{0, "#PES", stranger{"an embroidery design (.pes)", "ask for the drawing that it was made from, as PDF or SVG"}},
	{0, "LA:", stranger{"an embroidery design (.dst)", "ask for the drawing that it was made from, as PDF or SVG"}},
	{0, "BLENDER", stranger{"a scene in space (.blend)", "ask for the rendered picture, as PNG"}},
	{0, "glTF", stranger{"a scene in space (.glb)", "ask for the rendered picture, as PNG"}},

	{8, "CR\x02", stranger{"a camera's raw picture (.cr2), which has yet to be developed", askPicture}},
	{4, "ftypcrx ", stranger{"a camera's raw picture (.cr3), which has yet to be developed", askPicture}},
	{0, "FUJIFILMCCD-RAW", stranger{"a camera's raw picture (.raf), which has yet to be developed", askPicture}},
	{0, "IIRO", stranger{"a camera's raw picture (.orf), which has yet to be developed", askPicture}},
	{0, "IIRS", stranger{"a camera's raw picture (.orf), which has yet to be developed", askPicture}},
	{0, "MMOR", stranger{"a camera's raw picture (.orf), which has yet to be developed", askPicture}},
	{0, "IIU\x00", stranger{"a camera's raw picture (.rw2), which has yet to be developed", askPicture}},
	{0, "FOVb", stranger{"a camera's raw picture (.x3f), which has yet to be developed", askPicture}},
	{0, "\x00MRM", stranger{"a camera's raw picture (.mrw), which has yet to be developed", askPicture}},

	{0, "\x00\x00\x00\x0cjP  ", stranger{"a JPEG 2000 picture (.jp2)", askPicture}},
	{0, "\xff\x4f\xff\x51", stranger{"a JPEG 2000 picture (.j2k)", askPicture}},
	{0, "II\xbc\x01", stranger{"a JPEG XR picture (.jxr, .wdp)", askPicture}},
	{0, "\x76\x2f\x31\x01", stranger{"an OpenEXR picture (.exr), whose light goes beyond a print's white", askPicture}},
	{0, "#?R", stranger{"a picture of light beyond a print's white (.hdr)", askPicture}},
	{0, "\x00\x00\x01\x00", stranger{"an icon (.ico), which is too small to print", askOther}},
	{0, "\x00\x00\x02\x00", stranger{"a mouse pointer (.cur), which is too small to print", askOther}},
	{0, "icns", stranger{"an icon (.icns), which is too small to print", askOther}},
	{0, "DDS ", stranger{"a texture (.dds)", askPicture}},
	{0, "qoif", stranger{"a QOI picture (.qoi)", askPicture}},
	{0, "FLIF", stranger{"a FLIF picture (.flif)", askPicture}},
	{0, "BPG\xfb", stranger{"a BPG picture (.bpg)", askPicture}},
	{0, "farbfeld", stranger{"a farbfeld picture (.ff)", askPicture}},
	{0, "\x8aMNG", stranger{"an animation (.mng)", askStill}},
	{0, "\x8bJNG", stranger{"a JNG picture (.jng)", askPicture}},
	{0, "SIMPLE  =", stranger{"an astronomer's picture (.fits)", askPicture}},
	{128, "DICM", stranger{"a doctor's picture (.dcm)", askPicture}},

	{0, "RIFF????AVI ", stranger{"a film (.avi)", askStill}},
	{0, "RIFF????WAVE", stranger{"a sound (.wav)", askOther}},
	{0, "RIFF????CDR", stranger{"a drawing (.cdr)", askDrawing}},
	{0, "RIFF????cdr", stranger{"a drawing (.cdr)", askDrawing}},
	{4, "ftypM4A", stranger{"a sound (.m4a)", askOther}},
	{4, "ftyp", stranger{"a film (.mp4, .mov)", askStill}},
	{4, "moov", stranger{"a film (.mov)", askStill}},
	{4, "mdat", stranger{"a film (.mov)", askStill}},
	{4, "wide", stranger{"a film (.mov)", askStill}},
	{0, "\x1a\x45\xdf\xa3", stranger{"a film (.mkv, .webm)", askStill}},
	{0, "\x00\x00\x01\xba", stranger{"a film (.mpg)", askStill}},
	{0, "\x00\x00\x01\xb3", stranger{"a film (.mpg)", askStill}},
	{0, "FLV\x01", stranger{"a film (.flv)", askStill}},
	{0, "\x30\x26\xb2\x75\x8e\x66\xcf\x11", stranger{"a film or a sound (.wmv, .wma)", askStill}},
	{0, "OggS", stranger{"a film or a sound (.ogg)", askOther}},
	{0, "ID3", stranger{"a sound (.mp3)", askOther}},
	{0, "\xff\xfb", stranger{"a sound (.mp3)", askOther}},
	{0, "fLaC", stranger{"a sound (.flac)", askOther}},
	{0, "FWS", stranger{"an animation (.swf)", askStill}},
	{0, "CWS", stranger{"an animation (.swf)", askStill}},

	{0, "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", stranger{"an office document of an older kind (.doc, .xls, .ppt, .pub, .msg)", askPage}},
	{0, "{\\rtf", stranger{"a text document (.rtf)", askPage}},
	{0, "From: ", stranger{"an e-mail (.eml)", "save the picture that is attached to it"}},
	{0, "Return-Path:", stranger{"an e-mail (.eml)", "save the picture that is attached to it"}},
	{0, "[InternetShortcut]", stranger{"a link (.url) and no picture", askOther}},
	{0, "L\x00\x00\x00\x01\x14\x02\x00", stranger{"a link (.lnk) and no picture", "name the file that it leads to"}},
	{0, "\x00\x05\x16\x07", stranger{"the hidden companion that some computers put beside a picture", "ask for the file of the same name without ._ before it"}},
	{0, "7z\xbc\xaf\x27\x1c", stranger{"a packed folder (.7z)", askUnpack}},
	{0, "Rar!", stranger{"a packed folder (.rar)", askUnpack}},
	{257, "ustar", stranger{"a packed folder (.tar)", askUnpack}},
	{0, "\x1f\x8b", stranger{"a packed file (.gz)", askUnpack}},
	{0, "\x28\xb5\x2f\xfd", stranger{"a packed file (.zst)", askUnpack}},
	{0, "\xfd7zXZ", stranger{"a packed file (.xz)", askUnpack}},
	{0, "BZh", stranger{"a packed file (.bz2)", askUnpack}},
	{0, "OTTO", stranger{"a font (.otf)", askOther}},
	{0, "\x00\x01\x00\x00\x00", stranger{"a font (.ttf)", askOther}},
	{0, "ttcf", stranger{"a font (.ttc)", askOther}},
	{0, "wOF", stranger{"a font (.woff)", askOther}},
	{0, "MZ", stranger{"a program (.exe)", askOther}},
	{0, "\x7fELF", stranger{"a program", askOther}},
	{0, "SQLite format 3", stranger{"a data base", askOther}},
}

// inside tells what a packed folder is by the name of a file in it, or by the kind that a
// file called mimetype states.
var inside = []struct {
	file, mime string
	stranger
}{
	{"", "application/x-krita", stranger{"a layered working file (.kra)", askFlat}},
	{"", "image/openraster", stranger{"a layered working file (.ora)", askFlat}},
	{"", "application/vnd.oasis.opendocument.graphics", stranger{"a drawing (.odg)", askDrawing}},
	{"", "application/vnd.oasis.opendocument", stranger{"an office document (.odt, .ods, .odp)", askPage}},
	{"", "application/epub", stranger{"a book (.epub)", askPage}},
	{"", "application/x-vnd.corel", stranger{"a drawing (.cdr)", askDrawing}},
	{"content/riffData.cdr", "", stranger{"a drawing (.cdr)", askDrawing}},
	{"content/root.dat", "", stranger{"a drawing (.cdr)", askDrawing}},
	{"word/", "", stranger{"a text document (.docx)", askPage}},
	{"xl/", "", stranger{"a table (.xlsx)", askPage}},
	{"ppt/", "", stranger{"slides (.pptx)", askPage}},
	{"visio/", "", stranger{"a drawing (.vsdx)", askDrawing}},
	{"Index/", "", stranger{"a document (.pages, .key, .numbers)", askPage}},
	{"Index.zip", "", stranger{"a document (.pages, .key, .numbers)", askPage}},
	{"index.xml", "", stranger{"a document (.pages, .key, .numbers)", askPage}},
	{"Document.archive", "", stranger{"a layered working file (.procreate)", askFlat}},
	{"document.json", "", stranger{"a drawing (.sketch)", askDrawing}},
	{"artwork/", "", stranger{"a drawing (.xd)", askDrawing}},
	{"designmap.xml", "", stranger{"a page layout (.idml)", "ask for it exported as PDF"}},
	{"3D/", "", stranger{"a scene in space (.3mf)", "ask for the rendered picture, as PNG"}},
	{"AndroidManifest.xml", "", stranger{"a program (.apk)", askOther}},
}

// recognise says what a file is that is not read; nil if its first bytes do not tell.
func recognise(b []byte) *stranger {
	if has(b, 0, "PK\x03\x04") || has(b, 0, "PK\x05\x06") {
		s := packed(b)
		return &s
	}
	for i, m := range magics {
		if fits(b, m.at, m.bytes) {
			return &magics[i].stranger
		}
	}
	return words(b)
}

// fits is has, where ? stands for any byte.
func fits(b []byte, at int, magic string) bool {
	if len(b) < at+len(magic) {
		return false
	}
	for i := range len(magic) {
		if magic[i] != '?' && b[at+i] != magic[i] {
			return false
		}
	}
	return true
}

// packed says what a ZIP file is. Its list of files is at its end; where that is cut off,
// the first of them tell.
func packed(b []byte) stranger {
	var names []string
	mime := ""
	// The first file's name and content (APPNOTE 4.3.7), where the kind is stated unpacked.
	if len(b) >= 30 {
		n, extra, size := int(binary.LittleEndian.Uint16(b[26:])), int(binary.LittleEndian.Uint16(b[28:])), int(binary.LittleEndian.Uint32(b[18:]))
		if from := 30 + n + extra; from <= len(b) {
			names = append(names, string(b[30:30+n]))
			if names[0] == "mimetype" {
				if size == 0 { // told behind the content
					size = 128
				}
				mime = string(b[from:min(len(b), from+min(size, 256))])
			}
		}
	}
	if z, err := zip.NewReader(bytes.NewReader(b), int64(len(b))); err == nil {
		for _, f := range z.File[:min(len(z.File), 4096)] {
			names = append(names, f.Name)
		}
	}
	for _, k := range inside {
		if k.mime != "" && strings.HasPrefix(mime, k.mime) {
			return k.stranger
		}
		for _, name := range names {
			if k.file != "" && (name == k.file || strings.HasSuffix(k.file, "/") && strings.HasPrefix(name, k.file)) {
				return k.stranger
			}
		}
	}
	return stranger{"a packed folder (.zip)", askUnpack}
}

// words says what a file of text is.
func words(b []byte) *stranger {
	head := strings.ToLower(strings.TrimSpace(strings.TrimPrefix(string(b[:min(len(b), 1024)]), "\ufeff")))
	switch {
	case strings.HasPrefix(head, "<!doctype html"), strings.HasPrefix(head, "<html"), strings.Contains(head, "<html"), strings.HasPrefix(head, "<head"), strings.HasPrefix(head, "<body"):
		return &stranger{"a web page (.html), perhaps saved in place of the picture that it shows", "save the picture itself"}
	case strings.HasPrefix(head, "0\r\nsection"), strings.HasPrefix(head, "0\nsection"), strings.HasPrefix(head, "999\n"), strings.HasPrefix(head, "999\r\n"):
		return &stranger{"a technical drawing (.dxf)", askDrawing}
	case len(head) > 2 && head[0] == 'p' && head[1] >= '1' && head[1] <= '7' && (head[2] == '\n' || head[2] == ' ' || head[2] == '\r'):
		return &stranger{"a plain picture (.pbm, .pgm, .ppm)", askPicture}
	case strings.HasPrefix(head, "<?xml"):
		return &stranger{"a file of data (.xml) and no drawing", askOther}
	}
	return nil
}
