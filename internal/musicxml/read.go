package musicxml

import (
	"gradatim/leadsheet"
	"gradatim/score"
)

// Options says how a file is to be read. The zero value is ready.
type Options struct {
	File string // its name, for messages
}

// What the reader accepts at most, beside what package markup bounds. A page of
// music stays far below; a file that goes beyond is refused with a placed error
// before it can fill the memory.
const (
	maxParts     = 200
	maxBars      = 20_000  // written bars of a part
	maxNotes     = 150_000 // notes, rests and other events of the whole file
	maxDivisions = 1 << 20
	maxBarLength = 4096 // quarters in one bar
	maxProblems  = 12   // warnings with one code; what comes after is counted
)

// ReadSong reads a lead sheet: the first part that has notes, its first voice,
// the top note of its chords, and the chord symbols, with repeats and jumps
// written out. The data may be partwise or timewise MusicXML 1.0 to 4.0 in any
// usual encoding, or a compressed file.
//
// What is dropped or guessed is a warning in Song.Problems. The error is a
// leadsheet.Problems that holds at least one Error; then there is no Song.
func ReadSong(data []byte, opt Options) (leadsheet.Song, error) {
	r := newReader(opt)
	doc, ok := r.document(data)
	if !ok {
		return leadsheet.Song{}, r.problems.list()
	}
	song, ok := r.song(doc)
	if !ok {
		return leadsheet.Song{}, r.problems.list()
	}
	song.Problems = append(song.Problems, r.problems.list()...)
	song.Problems.Sort()
	return song, nil
}

// ReadScore reads a piano score: the first part that has two staves, or two
// parts of one staff each, treble above bass. Bars stay in written order; where
// the file has repeats, a Problem says so. Pitches sound as they stand in the
// result: an octave sign has been taken into account.
//
// The Problems tell what was dropped or guessed. The error is a
// leadsheet.Problems that holds at least one Error; then there is no Score.
func ReadScore(data []byte, opt Options) (score.Score, leadsheet.Problems, error) {
	r := newReader(opt)
	doc, ok := r.document(data)
	if !ok {
		return score.Score{}, nil, r.problems.list()
	}
	s, ok := r.score(doc)
	if !ok {
		return score.Score{}, nil, r.problems.list()
	}
	return s, r.problems.list(), nil
}

// reader carries what the steps of reading share: the file's name and what
// there is to tell about it.
type reader struct {
	file     string
	problems collector
}

func newReader(opt Options) *reader { return &reader{file: opt.File} }

// fail adds an Error and returns false.
func (r *reader) fail(pos leadsheet.Pos, says leadsheet.Saying, parts ...any) bool {
	pos.File = r.file
	r.problems.add(leadsheet.Error, pos, says, parts...)
	return false
}

func (r *reader) warn(pos leadsheet.Pos, says leadsheet.Saying, parts ...any) {
	pos.File = r.file
	r.problems.add(leadsheet.Warning, pos, says, parts...)
}

func (r *reader) info(pos leadsheet.Pos, says leadsheet.Saying, parts ...any) {
	pos.File = r.file
	r.problems.add(leadsheet.Info, pos, says, parts...)
}

// passOn tells what another layer found; false where that holds an Error.
func (r *reader) passOn(ps leadsheet.Problems) bool {
	for _, p := range ps {
		p.Pos.File = r.file
		r.problems.keep(p, nowhere)
	}
	return ps.Err() == nil
}

// collector keeps Problems, at most maxProblems with one code: a page with ten
// thousand equal faults should not make ten thousand lines.
type collector struct {
	all    leadsheet.Problems
	places []place // of each; the zero place is none
	codes  map[string]*tally
	bars   []writtenBar
}

type tally struct {
	kept, more int
	last       leadsheet.Pos
	where      place
}

// nowhere is the place of a Problem that is placed by its Pos alone.
var nowhere = place{bar: -1}

func (c *collector) add(sev leadsheet.Severity, pos leadsheet.Pos, says leadsheet.Saying, parts ...any) {
	c.keep(leadsheet.Tell(sev, pos, says, parts...), nowhere)
}

func (c *collector) addAt(sev leadsheet.Severity, file string, p place, says leadsheet.Saying, parts ...any) {
	c.keep(leadsheet.Tell(sev, leadsheet.Pos{File: file}, says, parts...), p)
}

func (c *collector) keep(p leadsheet.Problem, at place) {
	if c.codes == nil {
		c.codes = map[string]*tally{}
	}
	t := c.codes[p.Code]
	if t == nil {
		t = &tally{}
		c.codes[p.Code] = t
	}
	if t.kept >= maxProblems && p.Severity != leadsheet.Error {
		t.more++
		t.last, t.where = p.Pos, at
		return
	}
	t.kept++
	c.all = append(c.all, p)
	c.places = append(c.places, at)
}

// list returns everything in order, with a line for what was only counted.
func (c *collector) list() leadsheet.Problems {
	pos := func(p leadsheet.Pos, at place) leadsheet.Pos {
		if at == nowhere {
			return p
		}
		q := posOf(c.bars, at)
		q.File = p.File
		return q
	}
	out := make(leadsheet.Problems, len(c.all))
	for i, p := range c.all {
		p.Pos = pos(p.Pos, c.places[i])
		out[i] = p
	}
	for _, p := range c.all {
		if t := c.codes[p.Code]; t.more > 0 {
			more := leadsheet.Tell(p.Severity, pos(t.last, t.where), "and-more", "n", t.more)
			more.Code = p.Code
			out = append(out, more)
			t.more = 0
		}
	}
	out.Sort()
	return out
}
