package abc

import (
	"fmt"
	"slices"
	"strings"

	"gradatim/leadsheet"
)

// Options says what to read. The zero Options read the only or first tune.
type Options struct {
	File string // name for messages
	Tune int    // number of the X: field; 0: the only or first tune
}

// Read reads one tune of an ABC file into a song in playing order. What was
// dropped, mended or guessed is in Song.Problems. The error, where no song can be
// had, is a leadsheet.Problems with at least one Error.
func Read(data []byte, opt Options) (leadsheet.Song, error) { return read(data, opt, false) }

// read does the work of Read. literal takes an order of parts at its word, with
// the repeats inside each part played every time; only the comparison with
// another reader needs it.
func read(data []byte, opt Options, literal bool) (leadsheet.Song, error) {
	var ps leadsheet.Problems
	text, ok := decode(data, opt.File, &ps)
	if !ok {
		return leadsheet.Song{}, ps
	}
	head, tunes, all := split(text)
	if !all {
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: opt.File, Line: tunes[MaxTunes-1].line}, "too-many-tunes", "Most", MaxTunes)
		return leadsheet.Song{}, ps
	}
	t, ok := choose(tunes, opt, &ps)
	if !ok {
		return leadsheet.Song{}, ps
	}
	return readTune(head, t, len(tunes) > 1, ps, opt, literal)
}

// readTune reads one tune; several tells that the file has more, and ps is what is
// already known to be wrong.
func readTune(head source, t tune, several bool, ps leadsheet.Problems, opt Options, literal bool) (leadsheet.Song, error) {
	r := newReader(opt.File)
	r.header(head)
	r.tune(t)
	song, found := r.song(literal)
	if several {
		song.Number = t.number
	}
	ps = append(ps, found...)
	ps.Sort()
	if err := ps.Err(); err != nil {
		return leadsheet.Song{}, err
	}
	song.Problems = ps
	return song, nil
}

// choose finds the tune that the options ask for.
func choose(tunes []tune, opt Options, ps *leadsheet.Problems) (tune, bool) {
	if opt.Tune == 0 {
		if len(tunes) > 1 {
			ps.Tell(leadsheet.Info, leadsheet.Pos{File: opt.File, Line: tunes[0].line}, "several-tunes", "n", len(tunes))
		}
		return tunes[0], true
	}
	found := -1
	for i, t := range tunes {
		if t.number != opt.Tune {
			continue
		}
		if found < 0 {
			found = i
			continue
		}
		ps.Tell(leadsheet.Warning, leadsheet.Pos{File: opt.File, Line: t.line}, "tune-twice", "Number", opt.Tune)
		break
	}
	if found < 0 {
		var have []string
		for i, t := range tunes {
			if i == 20 {
				have = append(have, "…")
				break
			}
			have = append(have, fmt.Sprint(t.number))
		}
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: opt.File}, "tune-missing", "Number", opt.Tune, "Numbers", strings.Join(have, ", "))
		return tune{}, false
	}
	return tunes[found], true
}

// reader goes through the lines of a tune: fields change what is in force or
// tell about the song, music goes to the builder.
type reader struct {
	*builder
	out leadsheet.Song

	inBody  bool
	unitSet bool
	keySet  bool
	ended   bool // the tune's closing blank line has been met
	began   place

	order      string // of the parts, as the header gives it
	orderAt    place
	stated     string // form that a remark states
	rightsText []string
	sources    []string
	verse      int           // of the line of music that was read last, from 1
	singing    map[int]sings // by verse: how its last syllable ended
	joined     bool          // the line of music goes on
	held       *fieldLine
	literally  bool   // each letter of an order plays all repeats of its part: %%gradatim-order literal
	hiding     string // directive whose block of text is passed over
	voice      string // voice being read
	first      string // voice that is kept
}

// fieldLine is a field whose continuation lines may follow.
type fieldLine struct {
	letter byte
	value  string
	at     place
}

func newReader(file string) *reader {
	r := &reader{builder: newBuilder(newReport(file))}
	r.out.File = file
	return r
}

// header reads the fields before the first tune of a file.
func (r *reader) header(head source) {
	for n, line := range head.lines() {
		if r.stopped {
			return
		}
		r.line1(n, line, true)
	}
	r.flush()
	r.inBody = false
}

// tune reads the lines of a tune.
func (r *reader) tune(t tune) {
	r.began = place{t.line, 1}
	last := t.line
	for n, line := range t.lines() {
		if r.stopped {
			return
		}
		if r.ended {
			if looksLikeMusic(line) {
				r.warn(outside(place{n, 1}), "text-after-tune")
				break
			}
			continue
		}
		r.line1(n, line, false)
		last = n
	}
	r.flush()
	if r.stopped {
		return
	}
	if !r.keySet && len(r.bars) == 0 && len(r.cur.items) == 0 {
		r.fail(outside(place{last, 1}), "key-missing.nothing")
		return
	}
	r.end(place{last, 1})
}

// line1 reads one line.
func (r *reader) line1(n int, line string, fileHeader bool) {
	at := place{n, 1}
	if strings.HasPrefix(line, "%%") {
		r.flush()
		r.directive(strings.TrimSpace(line[2:]), at)
		return
	}
	if r.hiding != "" {
		return
	}
	if strings.HasPrefix(line, "%") {
		if strings.Contains(line, "Nottingham Music Database") {
			r.collection()
		}
		return
	}
	blank := strings.TrimSpace(line) == ""
	line = uncomment(line)
	if !blank && strings.TrimSpace(line) == "" {
		return // a comment
	}
	if strings.HasPrefix(line, "+:") {
		if r.held != nil && len(r.held.value)+len(line) <= MaxFieldBytes {
			r.held.value += " " + strings.TrimSpace(line[2:])
		}
		return
	}
	if !blank && !isField(line, r.inBody) && !r.inBody && r.held != nil && r.held.letter == 'H' {
		if len(r.held.value)+len(line) <= MaxFieldBytes {
			r.held.value += " " + strings.TrimSpace(line)
		}
		return
	}
	r.flush()
	switch {
	case r.stopped:
	case blank:
		r.ended = !fileHeader && (r.inBody || r.out.Title != "" || len(r.bars) > 0)
	case isField(line, r.inBody):
		value := strings.TrimSpace(line[2:])
		if len(value) > MaxFieldBytes {
			r.fail(outside(at), "field-too-long", "Most", MaxFieldBytes)
			return
		}
		r.held = &fieldLine{line[0], value, at}
	case fileHeader:
	default:
		if !r.inBody {
			if !looksLikeMusic(line) {
				r.once(leadsheet.Warning, outside(at), "line-unknown", "")
				return
			}
			r.warn(outside(at), "key-missing")
			r.openBody()
		}
		if !r.joined {
			r.line, r.verse = nil, 0
		}
		r.joined = strings.HasSuffix(strings.TrimRight(line, " \t"), "\\")
		if r.first == "" {
			r.first, r.voice = "1", "1"
		}
		r.music(line, n, r.inline)
	}
}

// isField tells whether a line is an information field. In the body "d:|" is a
// note before a repeat sign.
func isField(line string, inBody bool) bool {
	if len(line) < 2 || !isLetter(line[0]) || line[1] != ':' {
		return false
	}
	if inBody && len(line) > 2 && (line[2] == '|' || line[2] == ':' || line[2] == ']') {
		return strings.IndexByte("WwTNPVKMLQIRU", line[0]) >= 0 && line[2] != '|'
	}
	return true
}

// looksLikeMusic tells whether a line can be music code: it has a bar line, and
// something that can be a note.
func looksLikeMusic(line string) bool {
	return strings.Contains(line, "|") && strings.ContainsAny(line, "ABCDEFGabcdefgz") && !isField(line, true) && !strings.HasPrefix(line, "%")
}

// flush reads the field that was held for its continuation lines.
func (r *reader) flush() {
	if h := r.held; h != nil {
		r.held = nil
		r.field(h.letter, h.value, h.at)
	}
}

// inline reads a field inside the music.
func (r *reader) inline(t token) {
	if strings.IndexByte("IKLMmNPQRrUVw", t.field) < 0 {
		r.once(leadsheet.Warning, r.here(t.pos), "field-misplaced", string(t.field), "Field", string(t.field))
		return
	}
	r.field(t.field, t.text, t.pos)
}

// openBody ends the header: what it leaves out gets its default.
func (r *reader) openBody() {
	r.inBody = true
	if !r.unitSet {
		r.unit = unitFor(r.meter)
	}
}

// directive reads a %% line or an I: field. Typesetting and playback hints do
// not concern the sheet's content.
func (r *reader) directive(text string, at place) {
	name, value, _ := strings.Cut(text, " ")
	name = strings.ToLower(name)
	if r.hiding != "" {
		if name == "end"+r.hiding {
			r.hiding = ""
		}
		return
	}
	value = strings.TrimSpace(value)
	switch {
	case name == "begintext" || name == "beginps" || name == "beginsvg" || name == "beginml":
		r.hiding = strings.TrimPrefix(name, "begin")
		r.once(leadsheet.Warning, outside(at), "directive-dropped", name)
	case name == "propagate-accidentals":
		switch value {
		case "pitch":
			r.spread = byPitch
		case "octave":
			r.spread = byOctave
		case "not":
			r.spread = byNone
		default:
			r.warn(outside(at), "directive-unknown", "Value", leadsheet.Quoted(value))
		}
	case name == "gradatim-order":
		switch value {
		case "literal", "counted":
			r.literally = value == "literal"
		default:
			r.warn(outside(at), "directive-unknown.order", "Value", leadsheet.Quoted(value))
		}
	case name == "abc-charset" || name == "abc-version" || name == "":
	case name == "abc-copyright":
		r.out.Rights.Licence = plain(value)
		r.rightsText = append(r.rightsText, plain(value))
	default:
		if len(name) > 40 {
			name = name[:40]
		}
		r.once(leadsheet.Info, outside(at), "directive-ignored", name, "Name", leadsheet.Quoted(strings.ToValidUTF8(name, "")))
	}
}

// collection is called where the page names the Nottingham database, which
// writes "F+" for F sharp.
func (r *reader) collection() {
	r.plusSharp = true
	if !slices.Contains(r.sources, "Nottingham Music Database") {
		r.sources = append(r.sources, "Nottingham Music Database")
	}
}
