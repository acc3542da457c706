package imprint

import (
	"bytes"
	_ "embed"
	"fmt"
	"maps"
	"net/url"
	"path"
	"slices"
	"strconv"
	"strings"

	"gradatim/internal/settings"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
)

// Imprint is a teacher's file. The zero Imprint adds nothing.
type Imprint struct {
	Studio       string            `toml:"studio"`
	Contact      string            `toml:"contact"`
	Logo         string            `toml:"logo"`         // a picture beside the file
	Address      string            `toml:"address"`      // where the lesson will stand, for the code to scan
	Introduction string            `toml:"introduction"` // Markdown, as all her texts
	Dedication   string            `toml:"dedication"`
	Price        string            `toml:"price"`
	Licence      string            `toml:"licence"`
	Language     string            `toml:"language"`
	Order        []int             `toml:"order"`   // the levels that the lesson has, in her order; none: all, upwards
	Without      []string          `toml:"without"` // techniques (ids) that the words pass over
	Drills       Amount            `toml:"drills"`
	Teacher      Amount            `toml:"teacher"` // of what is for the teacher alone: a page of its own, or ("" too) nothing
	EPUB         bool              `toml:"epub"`    // a book for readers, beside the site
	Look         Look              `toml:"look"`
	Levels       map[string]Words  `toml:"levels"`   // by number
	Sections     map[string]string `toml:"sections"` // by letter, for whoever learns
	Notes        map[string]string `toml:"notes"`    // by letter, for whoever teaches
	Media        []Medium          `toml:"media"`
}

// Look are colours, each a six-digit hexadecimal one after #; "": as it is.
type Look struct {
	Paper  string `toml:"paper"`  // behind the text
	Ink    string `toml:"ink"`    // the text
	Accent string `toml:"accent"` // links and buttons
}

// Words are texts of one level.
type Words struct {
	Words   string `toml:"words"`   // for whoever learns
	Teacher string `toml:"teacher"` // for whoever teaches
}

// Amount says how much there is of something. "": all drills, and no page for the teacher.
type Amount string

// Amounts.
const (
	All  Amount = "all"
	None Amount = "none"
)

// Medium is a film or recording of her own: a link, which is shown and never fetched, or
// a file beside the lesson file.
type Medium struct {
	Title string `toml:"title"`
	Link  string `toml:"link"`
	File  string `toml:"file"`
	Level int    `toml:"level"` // 0: of the whole lesson
}

//go:embed template.toml
var template []byte

// Template is a file with every key, each said what it is and none of them set.
func Template() []byte { return bytes.Clone(template) }

var form = settings.Form{Encoding: "imprint-syntax.encoding", Syntax: "imprint-syntax", Key: "imprint-key"}

// Name tells what a file for a sheet is called: NAME.lesson.toml for NAME.abc.
func Name(stem string) string { return stem + ".lesson.toml" }

// Parse reads a file and tells all that is wrong with it. beside tells whether a file
// that it names is there.
func Parse(name string, data []byte, beside func(string) bool) (Imprint, leadsheet.Problems) {
	var in Imprint
	ps, ok := form.Decode(name, data, &in)
	if !ok {
		return Imprint{}, ps
	}
	bad := func(key []string, says leadsheet.Saying, parts ...any) {
		pos := leadsheet.Pos{File: name}
		pos.Line, pos.Col = settings.Place(data, key...)
		ps.Tell(leadsheet.Error, pos, says, parts...)
	}
	file := func(f string, key ...string) {
		switch {
		case f == "":
		case path.IsAbs(f) || strings.Contains(f, "..") || strings.ContainsAny(f, `\:`):
			bad(key, "imprint-file.outside", "Key", strings.Join(key, "."), "File", leadsheet.Quoted(f))
		case !beside(f):
			bad(key, "imprint-file", "Key", strings.Join(key, "."), "File", leadsheet.Quoted(f))
		}
	}
	file(in.Logo, "logo")
	if in.Logo != "" && !slices.Contains([]string{".png", ".jpg", ".jpeg"}, strings.ToLower(path.Ext(in.Logo))) {
		bad([]string{"logo"}, "imprint-file.kind", "Key", "logo", "File", leadsheet.Quoted(in.Logo), "Kinds", ".png, .jpg")
	}
	link(in.Address, bad, "address")
	for i, m := range in.Media {
		if (m.Link == "") == (m.File == "") {
			bad([]string{"media"}, "imprint-media", "Key", "media", "N", i+1)
		}
		link(m.Link, bad, "media", "link")
		file(m.File, "media", "file")
		if ext := strings.ToLower(path.Ext(m.File)); m.File != "" && !slices.Contains(heard, ext) {
			bad([]string{"media", "file"}, "imprint-file.kind", "Key", "media.file", "File", leadsheet.Quoted(m.File), "Kinds", strings.Join(heard, ", "))
		}
	}
	for _, id := range in.Without {
		if _, ok := technique.ByID(id); !ok {
			bad([]string{"without"}, "imprint-technique", "Key", "without", "Word", leadsheet.Quoted(id))
		}
	}
	for _, a := range []struct {
		key  string
		much Amount
	}{{"drills", in.Drills}, {"teacher", in.Teacher}} {
		if a.much != "" && a.much != All && a.much != None {
			bad([]string{a.key}, "imprint-drills", "Key", a.key, "Word", leadsheet.Quoted(a.much))
		}
	}
	for _, n := range slices.Sorted(maps.Keys(in.Levels)) {
		if k, err := strconv.Atoi(n); err != nil || k < 1 || k > 99 {
			bad([]string{"levels", n}, "imprint-level", "Key", "levels"+"."+n, "Word", leadsheet.Quoted(n))
		}
	}
	seen := map[int]bool{}
	for _, n := range in.Order {
		if n < 1 || n > 99 || seen[n] {
			bad([]string{"order"}, "imprint-level", "Key", "order", "Word", strconv.Itoa(n))
		}
		seen[n] = true
	}
	in.Look.check(bad)
	if ps.Err() != nil {
		return Imprint{}, ps
	}
	return in, ps
}

// heard are the kinds of her own files that a browser plays.
var heard = []string{".mp3", ".m4a", ".mp4", ".ogg", ".webm", ".wav"}

func link(s string, bad func([]string, leadsheet.Saying, ...any), key ...string) {
	if s == "" {
		return
	}
	if u, err := url.Parse(s); err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Host == "" {
		bad(key, "imprint-link", "Key", strings.Join(key, "."), "Link", leadsheet.Quoted(s))
	}
}

// Files are the files beside it that it names, each once, in order.
func (in Imprint) Files() []string {
	var out []string
	add := func(f string) {
		if f != "" && !slices.Contains(out, f) {
			out = append(out, f)
		}
	}
	add(in.Logo)
	for _, m := range in.Media {
		add(m.File)
	}
	return out
}

// Files lists the files beside it that a file names, as far as it can be read.
func Files(data []byte) []string {
	in, _ := Parse("", data, func(string) bool { return true })
	return in.Files()
}

// Level is what it says of a level.
func (in Imprint) Level(n int) Words { return in.Levels[strconv.Itoa(n)] }

// Light is the colours as they are written, the built-in ones where none is given.
func (l Look) Light() Look {
	pick := func(a, b string) string {
		if a != "" {
			return a
		}
		return b
	}
	return Look{pick(l.Paper, "#fcfbf7"), pick(l.Ink, "#1d1c1a"), pick(l.Accent, "#1f4b6e")}
}

// leastContrast is what text needs against what lies behind it: Web Content
// Accessibility Guidelines 2.2, success criterion 1.4.3.
const leastContrast = 4.5

func (l Look) check(bad func([]string, leadsheet.Saying, ...any)) {
	whole := true
	for _, c := range []struct{ key, value string }{{"paper", l.Paper}, {"ink", l.Ink}, {"accent", l.Accent}} {
		if _, ok := luminance(c.value); c.value != "" && !ok {
			bad([]string{"look", c.key}, "imprint-colour", "Key", "look"+"."+c.key, "Colour", leadsheet.Quoted(c.value))
			whole = false
		}
	}
	if !whole || l == (Look{}) {
		return
	}
	full := l.Light()
	for _, c := range []struct{ key, value string }{{"ink", full.Ink}, {"accent", full.Accent}} {
		if r := Contrast(c.value, full.Paper); r < leastContrast {
			bad([]string{"look", c.key}, "imprint-contrast", "Key", "look"+"."+c.key, "Colour", c.value, "Paper", full.Paper, "Ratio", fmt.Sprintf("%.1f", r))
		}
	}
}
