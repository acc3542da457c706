package ear

import (
	"cmp"
	"slices"

	"gradatim/internal/audit"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Codes of the counts, in the order of a table.
const (
	ChordAgainstTune = "chord-against-tune"
	BassNinth        = "bass-ninth"
	EarlyAlone       = "early-alone"
	TuneStruckAgain  = "tune-struck-again"
	SlashBass        = "slash-bass"
	StepBass         = "step-bass"
	Dropped          = "dropped"
	OtherSymbol      = "other-symbol"
	EndTurnaround    = "end-turnaround"
	EndApart         = "end-apart"
	EndAfter         = "end-after"
	EndRootless      = "end-rootless"
	EndRub           = "end-rub"
	EndFermata       = "end-fermata"
	HalfStep         = "half-step"
	CloseRub         = "close-rub"
	RightSecond      = "right-second"
	LowSecond        = "low-second"
	LowThird         = "low-third"
	NoRoot           = "no-root"
	NoRootHome       = "no-root-home"
	BusyBar          = "busy-bar"
	OddSpelling      = "odd-spelling"
	SameKey          = "same-key"
	LeftLeap         = "left-leap"
	TuneRange        = "tune-range"
	TiedSixteenth    = "tied-sixteenth"
	PatternChange    = "pattern-change"
	FigureChange     = "figure-change"
	ThinReturn       = "thin-return"
	ColouredTonic    = "coloured-tonic"
	QuickChord       = "quick-chord"
	HeldUnderRun     = "held-under-run"
	LoneChord        = "lone-chord"
	RolledRow        = "rolled-row"
	CloseOrnament    = "close-ornament"
	SameAgain        = "same-again"
	LateFinger       = "late-finger"
)

// Count is how often something was heard, of how many places.
type Count struct {
	Code string
	Says string // what is counted, of what
}

// Counts lists what is counted. The list is fresh at each call.
func Counts() []Count {
	return []Count{
		{ChordAgainstTune, "chords that the sheet does not have, with a note of the tune that they do not allow, of such chords"},
		{BassNinth, "notes of the tune held or accented a half step or minor ninth above the bass, of the tune's notes; the ♭9 over a dominant that falls a fifth and the sheet's own bass apart"},
		{EarlyAlone, "early notes of the tune that belong to the next chord only, which is not early, of early notes"},
		{TuneStruckAgain, "held notes of the tune that another note strikes again or covers, a run of five notes and more apart, of the tune's notes"},
		{SlashBass, "printed slash basses that are not the lowest note, of those printed"},
		{StepBass, "notes of a printed bass of three or more steps that are not the lowest note, of such notes"},
		{Dropped, "chords of these left out, of those printed"},
		{OtherSymbol, "chords with a printed slash bass under a symbol with another bass, of those printed"},
		{EndTurnaround, "pages with a chord after the last tonic, of pages"},
		{EndApart, "pages whose last strike is not both hands', of pages"},
		{EndAfter, "pages whose left hand strikes after the tune's last note, of pages"},
		{EndRootless, "pages that end over another note than the last root or printed bass, of pages"},
		{EndRub, "pages with a half step or minor ninth in the last strike, of pages"},
		{EndFermata, "pages without a fermata for each hand on the last strike, of pages"},
		{HalfStep, "attacks with a half step or minor ninth in them, of attacks of two keys and more"},
		{CloseRub, "attacks with neighbouring keys a half step apart in the left hand or across the hands, of the same"},
		{RightSecond, "right-hand chords of three keys and more with a second, of such chords"},
		{LowSecond, "seconds below G3 struck by one hand, of its chords"},
		{LowThird, "thirds below C3 struck by one hand, of its chords"},
		{NoRoot, "bars whose first beat has another lowest note than root or printed bass, of bars with a chord there"},
		{NoRootHome, "the same where a dominant falls to a tonic at the bar line, of those"},
		{BusyBar, "bars with more than two changes of chord, of bars"},
		{OddSpelling, "symbols on C♭, F♭, E♯, B♯ or a double accidental outside the key, of symbols"},
		{SameKey, "keys that one hand plays where the other has them or takes them over, of left-hand notes"},
		{LeftLeap, "moves of the left hand's lowest note by more than a fifth, of moves"},
		{TuneRange, "notes of the tune outside C4–G5, of the tune's notes"},
		{TiedSixteenth, "notes of the tune that a sixteenth ties over a beat, of the tune's notes"},
		{PatternChange, "bars whose left hand strikes at other times than mostly in its phrase, of bars that neither end it nor have a long note or rest of the tune"},
		{FigureChange, "bars whose left hand has another figure (times and numbers of keys struck) than mostly in its phrase, of bars that do not end it"},
		{ThinReturn, "bars of a section's last time with fewer notes than at its first, of such bars"},
		{ColouredTonic, "tonic triads of the sheet that are another chord on the page, one that leads away at the end apart, of such triads"},
		{QuickChord, "right-hand chords of three keys and more on a note of the tune shorter than a beat, of notes of the tune with something under them"},
		{HeldUnderRun, "notes that the right hand holds under three and more notes of the tune, of notes that it adds"},
		{LoneChord, "bars with one chord beside the tune and none in the bars before and after, of bars"},
		{RolledRow, "rolled chords of the left hand that follow another within a bar, of rolled chords"},
		{CloseOrnament, "bars with a sign, fill or run within four bars of another, of bars with one"},
		{SameAgain, "sections written out again at once in which two bars of three are as before, of such sections"},
		{LateFinger, "strikes with a finger that no hand brings there in time at the page's tempo, of fingered strikes"},
	}
}

// Mark is one thing heard.
type Mark struct {
	Code string
	At   theory.Dur
	Text string
}

// Heard is what Listen found: of each code how many places could have it, and the
// marks, in order of time.
type Heard struct {
	Of    map[string]int
	Marks []Mark
}

// Hits counts the marks with a code.
func (h Heard) Hits(code string) int {
	n := 0
	for _, m := range h.Marks {
		if m.Code == code {
			n++
		}
	}
	return n
}

// Listen hears a page of a song. Both are in the same key.
func Listen(s score.Score, song leadsheet.Song) Heard {
	e := newEar(s, song)
	e.harmony()
	e.bassLine()
	e.tune()
	e.attacks()
	e.bars()
	e.ending()
	e.habits()
	e.textures()
	e.fingers()
	slices.SortStableFunc(e.out.Marks, func(a, b Mark) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Code, b.Code), cmp.Compare(a.Text, b.Text))
	})
	return e.out
}

// note is a struck note.
type note struct {
	at, end theory.Dur
	key     int
	hand    score.Hand
	melody  int // index into the song's melody; −1: not the tune's
	score   int // index into the score's notes
}

// strike is what one hand strikes at one moment, ascending.
type strike struct {
	at    theory.Dur
	notes []note
}

// ear is a page prepared for listening.
type ear struct {
	s    score.Score
	song leadsheet.Song
	out  Heard

	notes  []note     // by onset, then key
	long   theory.Dur // the longest of them
	sung   []note     // the tune's, in order
	chords []span     // of the page
	sheet  []span     // of the sheet
	hands  map[score.Hand][]strike
}

// span is a chord in force.
type span struct {
	at, end theory.Dur
	chord   theory.Chord // zero: none, or not readable
}

// lasting adds a chord: one that is named again goes on, and of two at one place the
// last counts.
func lasting(all []span, at, end theory.Dur, chord theory.Chord) []span {
	switch k := len(all); {
	case k > 0 && all[k-1].chord == chord:
		all[k-1].end = end
	case end > at:
		all = append(all, span{at, end, chord})
	}
	return all
}

func newEar(s score.Score, song leadsheet.Song) *ear {
	e := &ear{s: s, song: song, out: Heard{Of: map[string]int{}}, hands: map[score.Hand][]strike{}}
	tune := map[int]int{}
	for i, k := range audit.Tune(s, song) {
		if k >= 0 {
			tune[k] = i + 1
		}
	}
	for i, n := range s.Notes {
		if n.Grace > 0 || n.Dur == 0 {
			continue
		}
		e.long = max(e.long, n.Dur)
		e.notes = append(e.notes, note{n.At, n.End(), n.Pitch.MIDI(), n.Hand, tune[i] - 1, i})
	}
	slices.SortStableFunc(e.notes, func(a, b note) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.key, b.key)) })
	for _, n := range e.notes {
		if n.melody >= 0 {
			e.sung = append(e.sung, n)
		}
		list := e.hands[n.hand]
		if k := len(list); k == 0 || list[k-1].at != n.at {
			list = append(list, strike{at: n.at})
		}
		last := &list[len(list)-1]
		last.notes = append(last.notes, n)
		e.hands[n.hand] = list
	}
	for i, c := range s.Chords {
		to := s.End()
		if i+1 < len(s.Chords) {
			to = s.Chords[i+1].At
		}
		e.chords = lasting(e.chords, c.At, to, c.Chord)
	}
	for i, c := range song.Chords {
		to := song.End()
		if i+1 < len(song.Chords) {
			to = song.Chords[i+1].At
		}
		e.sheet = lasting(e.sheet, c.At, to, c.Chord)
	}
	return e
}

func (e *ear) of(code string, n int) { e.out.Of[code] += n }

func (e *ear) mark(code string, at theory.Dur, text string) {
	e.out.Marks = append(e.out.Marks, Mark{code, at, text})
}

// in returns the index of the span in force at a position; −1: none.
func in(spans []span, at theory.Dur) int {
	for i, s := range spans {
		if s.at <= at && at < s.end {
			return i
		}
	}
	return -1
}

func chordAt(spans []span, at theory.Dur) theory.Chord {
	if i := in(spans, at); i >= 0 {
		return spans[i].chord
	}
	return theory.Chord{}
}

// sounding lists what sounds at a position, lowest first.
func (e *ear) sounding(at theory.Dur) []note {
	var out []note
	from, _ := slices.BinarySearchFunc(e.notes, at-e.long, func(n note, at theory.Dur) int { return cmp.Compare(n.at, at) })
	for _, n := range e.notes[from:] {
		if n.at > at {
			break
		}
		if n.end > at {
			out = append(out, n)
		}
	}
	slices.SortStableFunc(out, func(a, b note) int { return cmp.Compare(a.key, b.key) })
	return out
}

// bar returns the bar of a position.
func (e *ear) bar(at theory.Dur) score.Bar { return e.s.Bars[max(0, e.s.BarAt(at))] }

// strength ranks a position in its bar as Meter.Strength does: 0 is the first beat.
func (e *ear) strength(at theory.Dur) int {
	b := e.bar(at)
	off := at - b.At
	if b.Pickup {
		off += b.Meter.Bar() - b.Dur
	}
	return b.Meter.Strength(off)
}

func (e *ear) name(n note) string { return e.s.Notes[n.score].Pitch.Pretty() }

func up(from, to int) int { return ((to-from)%12 + 12) % 12 }
