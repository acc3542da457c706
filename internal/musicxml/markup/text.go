package markup

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"path"
	"regexp"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"

	"gradatim/leadsheet"
)

// Text returns the score of a file as UTF-8 text: out of its archive if it is
// compressed, out of its encoding if it has another. The Problems, without the
// file's name, tell what was guessed; where one of them is an Error there is no
// text.
func Text(data []byte) ([]byte, leadsheet.Problems) {
	var u unpacker
	text, ok := u.unpack(data)
	if !ok {
		return nil, u.problems
	}
	return text, u.problems
}

// unpacker collects what there is to tell about a file.
type unpacker struct{ problems leadsheet.Problems }

// fail adds an Error and returns false.
func (u *unpacker) fail(line int, says leadsheet.Saying, parts ...any) bool {
	u.problems.Tell(leadsheet.Error, leadsheet.Pos{Line: line}, says, parts...)
	return false
}

func (u *unpacker) unpack(data []byte) ([]byte, bool) {
	if len(data) > MaxInput {
		return nil, u.fail(0, "file-too-large.file", "Most", MaxInput>>20)
	}
	if bytes.HasPrefix(data, []byte("PK")) {
		var ok bool
		if data, ok = u.unzip(data); !ok {
			return nil, false
		}
	}
	if len(bytes.TrimSpace(data)) == 0 {
		return nil, u.fail(1, "file-empty")
	}
	text, ok := u.decode(data)
	if ok && !bytes.HasPrefix(bytes.TrimSpace(text), []byte("<")) {
		return nil, u.fail(1, "not-musicxml.no-xml")
	}
	return text, ok
}

// unzip takes the score out of a compressed file (MusicXML 4.0, "compressed
// .mxl files"): META-INF/container.xml names it. Where that is missing or
// damaged the first score in the archive is taken.
func (u *unpacker) unzip(data []byte) ([]byte, bool) {
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, u.fail(0, "mxl-damaged")
	}
	if len(archive.File) > maxEntries {
		return nil, u.fail(0, "mxl-entries", "Most", maxEntries)
	}
	named, why, name := rootFile(archive)
	root := named
	if root == nil {
		for _, f := range archive.File {
			if isScoreName(f.Name) {
				root = f
				break
			}
		}
		if root == nil {
			return nil, u.fail(0, "mxl-no-score")
		}
		u.problems.Tell(leadsheet.Warning, leadsheet.Pos{}, why, "Name", leadsheet.Quoted(path.Base(root.Name)), "Named", leadsheet.Quoted(name))
	}
	packed := max(root.CompressedSize64, 1)
	if root.UncompressedSize64 > MaxInput {
		return nil, u.fail(0, "file-too-large.inside", "Most", MaxInput>>20)
	}
	if root.UncompressedSize64 > freeRatio && root.UncompressedSize64/packed > maxRatio {
		return nil, u.fail(0, "mxl-ratio", "Most", maxRatio)
	}
	out, err := readEntry(root, MaxInput)
	switch {
	case errors.Is(err, errTooLong):
		return nil, u.fail(0, "file-too-large.inside", "Most", MaxInput>>20)
	case errors.Is(err, zip.ErrAlgorithm) || root.Flags&1 == 1:
		return nil, u.fail(0, "mxl-method")
	case err != nil:
		return nil, u.fail(0, "mxl-damaged")
	}
	return out, true
}

func isScoreName(name string) bool {
	if strings.HasPrefix(name, "META-INF/") || strings.HasPrefix(path.Base(name), ".") {
		return false
	}
	switch strings.ToLower(path.Ext(name)) {
	case ".musicxml", ".xml":
		return true
	}
	return false
}

// rootFile finds the score that the container names; where it cannot, why says
// so.
func rootFile(archive *zip.Reader) (f *zip.File, why leadsheet.Saying, name string) {
	var container *zip.File
	for _, f := range archive.File {
		if f.Name == "META-INF/container.xml" {
			container = f
			break
		}
	}
	if container == nil {
		return nil, "mxl-container.missing", ""
	}
	text, err := readEntry(container, maxContainer)
	if err != nil {
		return nil, "mxl-container.unreadable", ""
	}
	dec := xml.NewDecoder(bytes.NewReader(text))
	dec.CharsetReader = sameCharset
	for {
		tok, err := dec.Token()
		if err != nil {
			if errors.Is(err, io.EOF) {
				return nil, "mxl-container.names-none", ""
			}
			return nil, "mxl-container.malformed", ""
		}
		e, ok := tok.(xml.StartElement)
		if !ok || e.Name.Local != "rootfile" {
			continue
		}
		name, media := "", ""
		for _, a := range e.Attr {
			switch a.Name.Local {
			case "full-path":
				name = a.Value
			case "media-type":
				media = a.Value
			}
		}
		if media != "" && !strings.Contains(media, "musicxml") {
			continue // a picture or a sound of the score
		}
		for _, f := range archive.File {
			if f.Name == name {
				return f, "", name
			}
		}
		return nil, "mxl-container.absent", name
	}
}

var errTooLong = errors.New("musicxml: longer than allowed")

func readEntry(f *zip.File, limit int64) ([]byte, error) {
	rc, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer rc.Close()
	out, err := io.ReadAll(io.LimitReader(rc, limit+1))
	if int64(len(out)) > limit {
		return nil, errTooLong
	}
	return out, err
}

var encodingDecl = regexp.MustCompile(`^\s*<\?xml[^>]*?encoding\s*=\s*["']([A-Za-z0-9._:-]+)["']`)

// decode turns the text into UTF-8. A byte order mark wins over the
// declaration; bytes that are not what they claim to be are read as
// Windows-1252, with a warning.
func (u *unpacker) decode(data []byte) ([]byte, bool) {
	enc, name := encoding.Encoding(nil), ""
	switch {
	case bytes.HasPrefix(data, []byte{0xEF, 0xBB, 0xBF}):
		data = data[3:]
	case bytes.HasPrefix(data, []byte{0xFF, 0xFE}), bytes.HasPrefix(data, []byte{'<', 0}):
		enc, name = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), "UTF-16"
	case bytes.HasPrefix(data, []byte{0xFE, 0xFF}), bytes.HasPrefix(data, []byte{0, '<'}):
		enc, name = unicode.UTF16(unicode.BigEndian, unicode.UseBOM), "UTF-16"
	default:
		if m := encodingDecl.FindSubmatch(data[:min(len(data), 256)]); m != nil {
			name = string(m[1])
		}
		if up := strings.ToUpper(name); name != "" && up != "UTF-8" && up != "UTF8" && !strings.HasPrefix(up, "UTF-16") {
			var err error
			if enc, err = htmlindex.Get(name); err != nil {
				return nil, u.fail(1, "encoding-unknown", "Name", leadsheet.Quoted(name))
			}
		}
	}
	if enc == nil && !utf8.Valid(data) {
		line := 1 + bytes.Count(data[:validPrefix(data)], []byte("\n"))
		u.problems.Tell(leadsheet.Warning, leadsheet.Pos{Line: line}, "encoding-guessed")
		enc, name = charmap.Windows1252, "Windows-1252"
	}
	if enc == nil {
		return data, true
	}
	out, err := enc.NewDecoder().Bytes(data)
	if err != nil {
		return nil, u.fail(1, "encoding-damaged", "Name", name)
	}
	return bytes.TrimPrefix(out, []byte("\uFEFF")), true
}

func validPrefix(data []byte) int {
	n := 0
	for n < len(data) {
		c, size := utf8.DecodeRune(data[n:])
		if c == utf8.RuneError && size <= 1 {
			break
		}
		n += size
	}
	return n
}

// sameCharset serves text that is UTF-8 already, whatever it says.
func sameCharset(_ string, r io.Reader) (io.Reader, error) { return r, nil }
