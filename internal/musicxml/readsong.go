package musicxml

import (
	"cmp"
	"slices"

	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// song turns a document into a lead sheet.
func (r *reader) song(doc *document) (leadsheet.Song, bool) {
	chosen := r.melodyPart(doc)
	if chosen == nil {
		return leadsheet.Song{}, false
	}
	lanes, main, ok := r.layAll(doc, chosen)
	if !ok {
		return leadsheet.Song{}, false
	}
	content := reach(lanes, len(main.bars))
	turns := r.turns(lanes, content)
	bars, sig := r.bars(main, content, turns, true)
	chords := chordLane(append([]*lane{main}, lanes...)...)
	if chords != main {
		r.warn(leadsheet.Pos{Line: chords.line}, "chords-elsewhere", "Part", chords.label())
	}
	pg := &page{bars: bars, turns: turns, tune: r.tune(main, bars), marks: r.chordMarks(chords, bars, true), sections: sections(main, len(bars))}
	r.padding(pg)
	r.mode(main, pg)
	r.looseTies(pg)
	visits, ok := r.route(turns, bars)
	if !ok {
		return leadsheet.Song{}, false
	}
	s := leadsheet.Song{File: r.file, KeyDeclared: sig.keyed, MeterDeclared: sig.metered}
	head(doc, &s)
	r.directions(&s, lanes, main, bars)
	marks, ok := r.play(&s, pg, visits)
	if !ok {
		return leadsheet.Song{}, false
	}
	if len(s.Melody) == 0 {
		return leadsheet.Song{}, r.fail(leadsheet.Pos{Line: main.line}, "no-notes.melody")
	}
	s.Bars = roadmap.JoinBars(s.Bars)
	s.Key, s.Meter = s.Bars[0].Key, s.Bars[0].Meter
	s = roadmap.WithGroups(s, nil)
	return roadmap.WithForm(s, marks), true
}

// layAll lays out every part; only the chosen one tells its faults.
func (r *reader) layAll(doc *document, chosen *part) (lanes []*lane, main *lane, ok bool) {
	for _, p := range doc.parts {
		if len(p.measures) == 0 {
			continue
		}
		l, ok := r.lay(p, p == chosen)
		if !ok {
			return nil, nil, false
		}
		lanes = append(lanes, l)
		if p == chosen {
			main = l
		}
	}
	return lanes, main, true
}

// reach returns how far the notes of each of n bars go, over all parts.
func reach(lanes []*lane, n int) []theory.Dur {
	out := make([]theory.Dur, n)
	for _, l := range lanes {
		for i := range min(n, len(l.bars)) {
			out[i] = max(out[i], l.bars[i].content)
		}
	}
	return out
}

// melodyPart chooses the part that holds the tune: the first with notes of
// definite pitch.
func (r *reader) melodyPart(doc *document) *part {
	var chosen *part
	var others []any
	bars, drums := 0, false
	for _, p := range doc.parts {
		bars += len(p.measures)
		pitched, unpitched := p.has()
		drums = drums || unpitched
		switch {
		case pitched && chosen == nil:
			chosen = p
		case pitched || unpitched:
			others = append(others, p.label())
		}
	}
	if chosen == nil {
		switch {
		case bars == 0:
			r.fail(leadsheet.Pos{Line: 1}, "no-bars")
		case drums:
			r.fail(leadsheet.Pos{Line: doc.parts[0].line}, "no-pitch.song")
		default:
			r.fail(leadsheet.Pos{Line: doc.parts[0].line}, "no-notes.song")
		}
		return nil
	}
	if len(others) > 0 {
		n := len(others)
		if n > 6 {
			others = append(others[:6:6], "…")
		}
		r.warn(leadsheet.Pos{Line: chosen.line}, "parts-left-out.song", "Part", chosen.label(), "Others", others)
	}
	return chosen
}

// label is what a part is called by, to be said.
func (p *part) label() any {
	if p.name != "" {
		return leadsheet.Quoted(clip(p.name))
	}
	return leadsheet.Tell(leadsheet.Info, leadsheet.Pos{}, "unnamed-part", "ID", leadsheet.Quoted(clip(p.id)))
}

// has tells whether the part has notes with and without definite pitch.
func (p *part) has() (pitched, unpitched bool) {
	for _, m := range p.measures {
		for _, it := range m.items {
			if n, ok := it.(*note); ok {
				pitched = pitched || n.pitched && !n.cue && !n.slashHead
				unpitched = unpitched || n.unpitched || n.slashHead
			}
		}
	}
	return pitched, unpitched
}

// tuneNote is one note of the melody in its bar.
type tuneNote struct {
	at, dur        theory.Dur
	pitch          theory.Pitch
	graces         []theory.Pitch
	sung           sung
	tieFrom, tieTo bool
	line           int
}

// tune picks the melody out of the lane: one staff, one voice, the top note of
// each chord.
func (r *reader) tune(l *lane, bars []writtenBar) [][]tuneNote {
	staff := tuneStaff(l)
	voice := tuneVoice(l, staff)
	out := make([][]tuneNote, len(bars))
	var graces []theory.Pitch
	var grace place
	begun := -1 // key of a grace note that is tied to its main note
	r.staffLeftOut(l, staff)
	for i := range l.bars {
		b := &l.bars[i]
		v := voiceOf(b, staff, voice)
		if v != voice && v != "" {
			r.warnAt(place{line: l.measures[i].line, bar: i}, "voice-changed", "Voice", clip(voice), "Other", clip(v))
		}
		other := false
		var notes []tuneNote
		for k := range b.notes {
			n := &b.notes[k]
			if n.staff != staff || n.rest {
				continue
			}
			here := place{line: n.line, bar: i, at: n.at, timed: true}
			if n.voice != v {
				if !other && (n.pitched || n.unpitched) {
					other = true
					r.warnAt(here, "voices-left-out", "Voice", clip(v))
				}
				continue
			}
			if !r.usable(n, here) {
				continue
			}
			if n.grace {
				if n.tieFrom {
					begun = n.pitch.MIDI()
				}
				if n.chord && len(graces) > 0 {
					graces[len(graces)-1] = higher(graces[len(graces)-1], n.pitch)
					continue
				}
				if len(graces) < 32 {
					graces = append(graces, n.pitch)
				}
				grace = here
				continue
			}
			if n.tieTo && len(graces) > 0 && begun == n.pitch.MIDI() { // the grace note is the note itself, begun early
				graces = slices.DeleteFunc(graces, func(p theory.Pitch) bool { return p.MIDI() == begun })
				n.note.tieTo = false
			}
			begun = -1
			tn := tuneNote{at: n.at, dur: n.end - n.at, pitch: n.pitch, graces: graces, sung: n.sung,
				tieFrom: n.tieFrom, tieTo: n.tieTo, line: n.line}
			if n.sung.twice {
				r.warnAt(here, "syllable-twice")
			}
			if tn.dur <= 0 {
				r.warnAt(here, "note-without-length")
				continue
			}
			graces = nil
			notes = append(notes, tn)
		}
		out[i] = r.oneLine(notes, i)
	}
	if len(graces) > 0 {
		r.warnAt(grace, "grace-left-out")
	}
	lengths := make([]theory.Dur, len(bars))
	for i, b := range bars {
		lengths[i] = b.dur
	}
	hold(out, lengths)
	return out
}

func higher(a, b theory.Pitch) theory.Pitch {
	if theory.ComparePitch(a, b) < 0 {
		return b
	}
	return a
}

// usable tells whether a note can be part of a melody or page, and why not.
func (r *reader) usable(n *placed, here place) bool {
	switch {
	case n.cue:
		r.warnAt(here, "cue-left-out")
	case n.unpitched:
		r.warnAt(here, "unpitched-left-out")
	case n.faulty || !n.pitched:
		r.warnAt(here, "pitch-invalid")
	case n.slashHead:
		r.warnAt(here, "slash-left-out")
	case n.pitch.Octave < 0 || n.pitch.Octave > 9 || n.pitch.MIDI() < 0 || n.pitch.MIDI() > 127 || n.pitch.Alter > 3 || n.pitch.Alter < -3:
		r.warnAt(here, "pitch-out-of-range")
	default:
		if n.micro {
			r.warnAt(here, "microtone", "Note", n.pitch)
		}
		return true
	}
	return false
}

// oneLine sorts the notes of a bar and keeps one at a time: of those that begin
// together the highest, and the earlier ends where the next begins.
func (r *reader) oneLine(notes []tuneNote, bar int) []tuneNote {
	slices.SortStableFunc(notes, func(a, b tuneNote) int { return cmp.Compare(a.at, b.at) })
	out := notes[:0]
	said := false
	for _, n := range notes {
		if k := len(out) - 1; k >= 0 && out[k].at == n.at {
			if !said {
				said = true
				r.warnAt(place{line: n.line, bar: bar, at: n.at, timed: true}, "chord-top-note")
			}
			if theory.ComparePitch(out[k].pitch, n.pitch) < 0 {
				n.sung = n.sung.with(out[k].sung)
				if len(n.graces) == 0 {
					n.graces = out[k].graces
				}
				out[k] = n
			} else {
				out[k].sung = out[k].sung.with(n.sung)
			}
			continue
		}
		if k := len(out) - 1; k >= 0 && out[k].at+out[k].dur > n.at {
			r.warnAt(place{line: n.line, bar: bar, at: n.at, timed: true}, "melody-overlap")
			out[k].dur = n.at - out[k].at
			out[k].tieFrom = false
		}
		out = append(out, n)
	}
	return out
}

// tuneStaff is the first staff that has notes of definite pitch.
func tuneStaff(l *lane) int {
	best := 0
	for i := range l.bars {
		for _, n := range l.bars[i].notes {
			if n.pitched && (best == 0 || n.staff < best) {
				best = n.staff
			}
		}
	}
	return max(best, 1)
}

func (r *reader) staffLeftOut(l *lane, staff int) {
	for i := range l.bars {
		for _, n := range l.bars[i].notes {
			if n.pitched && n.staff != staff {
				r.warnAt(place{line: n.line, bar: i, at: n.at, timed: true}, "staff-left-out", "Staff", staff)
				return
			}
		}
	}
}

// tuneVoice is voice 1 where it has notes, else the first voice that has.
func tuneVoice(l *lane, staff int) string {
	first := ""
	for i := range l.bars {
		for _, n := range l.bars[i].notes {
			if n.staff != staff || !n.pitched || n.cue {
				continue
			}
			if n.voice == "1" {
				return "1"
			}
			if first == "" {
				first = n.voice
			}
		}
	}
	return first
}

// voiceOf is the voice to read in one bar: the melody's, or, where that has not
// even a rest, the first that has notes.
func voiceOf(b *laneBar, staff int, voice string) string {
	other := ""
	for _, n := range b.notes {
		if n.staff != staff {
			continue
		}
		if n.voice == voice {
			return voice
		}
		if other == "" && n.pitched && !n.cue {
			other = n.voice
		}
	}
	if other != "" {
		return other
	}
	return voice
}

// padding recognises a first bar that rests fill up to a pick-up's full bar: its
// first half at least is silent and without a chord, or a beat of it in a sheet
// whose chords begin with the second bar. The rests are dropped only where the
// bar is played first: a repeat comes back to the whole bar.
func (r *reader) padding(pg *page) {
	bars, tune, marks := pg.bars, pg.tune, pg.marks
	if len(bars) < 2 || bars[0].pickup || bars[0].parts > 1 || len(tune[0]) == 0 {
		return
	}
	b := &bars[0]
	if b.dur != b.meter.Bar() {
		return
	}
	silent := tune[0][0].at
	chordHere, chordLater := false, false
	for i := range marks {
		for _, m := range marks[i] {
			if m.chord.Silent() {
				continue
			}
			if i == 0 {
				chordHere = true
				silent = min(silent, m.at)
			} else {
				chordLater = true
			}
		}
	}
	beat := theory.Whole / theory.Dur(b.meter.Unit)
	if 2*silent < b.dur && (silent < beat || chordHere || !chordLater) || silent == 0 {
		return
	}
	b.silent = silent
	r.warnAt(place{line: b.line, bar: 0}, "pickup-padded", "Rests", silent)
	for i := range bars {
		bars[i].number--
	}
}

// mode decides between major and relative minor where the file gives only the
// signature: the last chord tells, as a rule.
func (r *reader) mode(l *lane, pg *page) {
	bars, marks := pg.bars, pg.marks
	if len(bars) == 0 || l.bars[0].modal || !l.bars[0].key.Valid() {
		return
	}
	var last theory.Chord
	for i := range marks {
		for _, m := range marks[i] {
			if !m.unknown && !m.chord.Silent() {
				last = m.chord
			}
		}
	}
	if last.Silent() {
		return
	}
	for i := range bars {
		if i < len(l.bars) && l.bars[i].modal {
			continue
		}
		if minor := theory.KeyOf(bars[i].key.Fifths(), theory.Minor); last.MinorThird() && last.Root == minor.Tonic && bars[i].key.Mode == theory.Major {
			if i == 0 {
				r.infoAt(place{line: bars[0].line}, "key-mode-guessed", "Key", minor, "Chord", last)
			}
			bars[i].key = minor
		}
	}
}
