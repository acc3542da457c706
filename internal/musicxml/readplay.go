package musicxml

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"gradatim/internal/musicxml/markup"
	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// page is everything of a lead sheet in written order, ready to be played.
type page struct {
	bars     []writtenBar
	turns    []turn
	tune     [][]tuneNote
	marks    [][]tuneMark
	sections []section
}

// section is the beginning of a section at a bar.
type section struct {
	begins bool
	name   string // may be empty
}

// play writes the page out in playing order and returns where sections begin.
func (r *reader) play(s *leadsheet.Song, pg *page, visits []roadmap.Visit) ([]roadmap.SectionMark, bool) {
	var marks []roadmap.SectionMark
	var now theory.Dur
	tied := false // the last note waits for its continuation
	for k, v := range visits {
		b := &pg.bars[v.Bar]
		shift, dur := theory.Dur(0), b.dur
		if k == 0 && b.silent > 0 {
			shift, dur = b.silent, b.dur-b.silent
		}
		if sec := pg.sections[v.Bar]; sec.begins || k > 0 && pg.cut(visits[k-1].Bar, v.Bar) {
			marks = append(marks, roadmap.SectionMark{At: now, Name: sec.name})
		}
		part := dur / theory.Dur(b.parts)
		for p := range b.parts {
			s.Bars = append(s.Bars, leadsheet.Bar{At: now + theory.Dur(p)*part, Dur: part, Meter: b.meter, Key: b.key,
				Written: v.Bar*leadsheet.PageParts + p, Line: b.line})
		}
		for _, n := range pg.tune[v.Bar] {
			at := now + n.at - shift
			if last := len(s.Melody) - 1; n.tieTo && tied && s.Melody[last].End() == at && s.Melody[last].Pitch.MIDI() == n.pitch.MIDI() {
				s.Melody[last].Dur += n.dur
				tied = n.tieFrom
				continue
			}
			here := place{line: n.line, bar: v.Bar, at: n.at, timed: true}
			if len(s.Melody)+len(s.Chords) >= roadmap.MaxPlayedNotes {
				return nil, r.failAt(here, "too-long.notes", "Most", roadmap.MaxPlayedNotes)
			}
			tied = n.tieFrom
			s.Melody = append(s.Melody, leadsheet.Note{At: at, Dur: n.dur, Pitch: n.pitch, Graces: n.graces, Sung: n.sung.syllables, Pos: r.pos(pg.bars, here)})
		}
		for _, m := range pg.marks[v.Bar] {
			s.Chords = append(s.Chords, leadsheet.ChordMark{At: max(now+m.at-shift, now), Chord: m.chord, Text: m.text,
				Unknown: m.unknown, Optional: m.optional, Pos: r.pos(pg.bars, place{line: m.line, bar: v.Bar, at: m.at, timed: true})})
		}
		now += dur
	}
	for n := len(s.Chords); n > 0 && s.Chords[n-1].At >= now; n-- {
		c := s.Chords[n-1]
		r.problems.add(leadsheet.Warning, c.Pos, "chord-after-end", "Chord", c.Text)
		s.Chords = s.Chords[:n-1]
	}
	s.Chords = onePerPlace(s.Chords)
	return marks, true
}

// cut tells whether a section may begin where bar b is played after bar a: a
// repeat sign, a jump or a double bar.
func (pg *page) cut(a, b int) bool {
	return b != a+1 || pg.turns[b].start || pg.turns[a].times > 0 || pg.turns[a].double
}

func (r *reader) pos(bars []writtenBar, p place) leadsheet.Pos {
	pos := posOf(bars, p)
	pos.File = r.file
	return pos
}

// onePerPlace keeps the later of two chords in one place: one that stands at the
// end of a bar gives way to the one with which the next bar played begins.
func onePerPlace(chords []leadsheet.ChordMark) []leadsheet.ChordMark {
	out := chords[:0]
	for _, c := range chords {
		if n := len(out); n > 0 && out[n-1].At >= c.At {
			out[n-1] = c
			continue
		}
		out = append(out, c)
	}
	return out
}

// sections finds the sections that the page names: rehearsal marks and words
// such as "Verse". A number over a bar counts bars and names nothing.
func sections(l *lane, n int) []section {
	out := make([]section, n)
	for i := range l.bars {
		for _, d := range l.bars[i].signs {
			name := d.rehearsal
			for _, w := range d.words {
				name = cmp.Or(name, sectionOf(w))
			}
			if name == "" {
				continue
			}
			if _, numeric := markup.Integer(name); numeric {
				name = ""
			}
			at := i
			if late := l.bars[i].content; late > 0 && 2*d.at > late && i+1 < n {
				at++
			}
			out[at] = section{true, cmp.Or(out[at].name, name)}
		}
	}
	return out
}

// directions reads tempo, feel, style and remarks from the words over the staff.
func (r *reader) directions(s *leadsheet.Song, lanes []*lane, l *lane, bars []writtenBar) {
	remarks := 0
	for i := range l.bars {
		for _, d := range l.bars[i].signs {
			here := place{line: d.line, bar: i, at: d.at, timed: true}
			r.tempo(&s.Tempo, d, here)
			r.feel(&s.Feel, nil, d, here)
			if d.guide.any() {
				continue
			}
			for _, w := range d.words {
				if i == 0 && s.Rhythm == "" {
					s.Rhythm = rhythmOf(w)
				}
				switch {
				case sectionOf(w) != "", isSymbol(w), !strings.ContainsFunc(w, unicode.IsLetter):
				case i == 0 && s.Tempo.Words == "" && isTempo(w, d.direction):
					s.Tempo.Words = tempoText(w, d.sound.swing)
				default:
					if remarks++; remarks <= maxRemarks {
						s.Notes = append(s.Notes, fmt.Sprintf("bar %d: %s", bars[i].number, w))
					}
				}
			}
		}
	}
	for _, l := range lanes {
		r.systemTempo(&s.Tempo, &s.Feel, nil, l)
	}
	if s.Feel == leadsheet.Unstated {
		s.Feel = feelOf(s.Rhythm)
	}
}

// maxRemarks bounds the words that are kept for the reader.
const maxRemarks = 50

func isTempo(words string, d *direction) bool {
	return tempoWords.MatchString(words) || d.tempo.Set() || d.sound.tempo.d != 0
}

func isSymbol(words string) bool {
	_, err := theory.ParseSymbol(words)
	return err == nil
}

// tempo takes the first tempo that the page gives; a metronome mark wins over
// the sound that stands with it.
func (r *reader) tempo(t *leadsheet.Tempo, d placedDirection, here place) {
	found := d.tempo
	if q := d.sound.tempo; !found.Set() && q.d != 0 {
		n := (2*q.n + q.d) / (2 * q.d)
		if n < leadsheet.MinQuarters || n > leadsheet.MaxQuarters {
			r.warnAt(here, "tempo-invalid")
			return
		}
		found = leadsheet.Tempo{Beat: theory.Quarter, PerMinute: int(n)}
	}
	switch {
	case !found.Set():
	case !t.Set():
		found.Words = t.Words
		*t = found
	case found.QuartersPerMinute() != t.QuartersPerMinute():
		r.warnAt(here, "tempo-change.here")
	}
}

// systemTempo takes tempo and feel from the first bar of another part, where the
// part that is read has none: they stand over the system.
func (r *reader) systemTempo(t *leadsheet.Tempo, f *leadsheet.Feel, ratio *score.Ratio, l *lane) {
	if len(l.bars) == 0 {
		return
	}
	for _, d := range l.bars[0].signs {
		if !t.Set() {
			r.tempo(t, d, place{line: d.line, bar: 0})
			if t.Set() && t.Words == "" && len(d.words) > 0 && isTempo(d.words[0], d.direction) {
				t.Words = d.words[0]
			}
		}
		if *f == leadsheet.Unstated {
			r.feel(f, ratio, d, place{line: d.line, bar: 0})
		}
	}
}

// feel takes the first statement about swing.
func (r *reader) feel(f *leadsheet.Feel, ratio *score.Ratio, d placedDirection, here place) {
	found := leadsheet.Unstated
	switch {
	case d.sound.straight:
		found = leadsheet.Straight
	case d.sound.swing, d.swung:
		found = leadsheet.Swing
	}
	if d.sound.swing && !d.sound.eighths {
		r.warnAt(here, "swing-sixteenths")
		return
	}
	for _, w := range d.words {
		found = cmp.Or(found, feelOf(w))
	}
	switch {
	case found == leadsheet.Unstated:
	case *f == leadsheet.Unstated:
		*f = found
		if ratio != nil && found == leadsheet.Swing {
			*ratio = d.sound.ratio
		}
	case *f != found:
		r.warnAt(here, "feel-change")
	}
}

// looseTies tells of ties that lead nowhere in written order.
func (r *reader) looseTies(pg *page) {
	var last *tuneNote
	bar := 0
	for i := range pg.tune {
		for k := range pg.tune[i] {
			n := &pg.tune[i][k]
			if last != nil && last.tieFrom && !(n.tieTo && n.pitch.MIDI() == last.pitch.MIDI()) && (i == bar || !pg.cut(bar, i)) {
				r.warnAt(place{line: last.line, bar: bar, at: last.at, timed: true}, "tie-open.end")
			}
			last, bar = n, i
		}
	}
	if last != nil && last.tieFrom && len(pg.tune) > 0 {
		r.warnAt(place{line: last.line, bar: bar, at: last.at, timed: true}, "tie-open.end")
	}
}

// head reads title and rights. The movement is the piece; the work may be the
// book it stands in.
func head(doc *document, s *leadsheet.Song) {
	s.Title, s.Words = doc.title(), doc.verses
	for _, c := range doc.creators {
		switch c.role {
		case "composer", "music":
			s.Rights.Composers = append(s.Rights.Composers, people(c.name)...)
		case "lyricist", "poet", "words", "text", "librettist":
			s.Rights.Lyricists = append(s.Rights.Lyricists, people(c.name)...)
		case "arranger":
			s.Rights.Arranger = cmp.Or(s.Rights.Arranger, c.name)
		case "":
			s.Notes = append(s.Notes, "Creator: "+c.name)
		default:
			s.Notes = append(s.Notes, strings.ToUpper(c.role[:1])+c.role[1:]+": "+c.name)
		}
	}
	s.Rights.Text = strings.Join(doc.rights, "; ")
	s.Rights.Source = doc.source
}

func (doc *document) title() string {
	if t := cmp.Or(doc.movementTitle, doc.workTitle); t != "" {
		return t
	}
	best := credit{}
	for _, c := range doc.credits {
		switch {
		case c.page != 1:
		case c.kind == "title" && best.kind != "title", best.kind != "title" && c.kind == "" && c.size > best.size:
			best = c
		}
	}
	return clipTo(best.words, 200)
}

// people divides "A and B", "A & B", "A; B". A comma is left alone: it may stand
// between family name and first name.
func people(s string) []leadsheet.Person {
	var out []leadsheet.Person
	for _, f := range []string{" and ", " & ", ";", "/"} {
		s = strings.ReplaceAll(s, f, "\x00")
	}
	for _, n := range strings.Split(s, "\x00") {
		if n = strings.TrimSpace(n); n != "" && !slices.ContainsFunc(out, func(p leadsheet.Person) bool { return p.Name == n }) {
			out = append(out, leadsheet.Person{Name: n})
		}
	}
	return out
}
