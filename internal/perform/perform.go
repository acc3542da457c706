// Package perform reads a score as a pianist would and says when each key goes
// down and comes up, how hard, and when the pedal moves: in seconds, and in the
// ticks of a MIDI file. It is pure: the same score and options give the same
// performance. It knows no sound.
//
// The order of thought: one table maps positions of the score to seconds
// (tempo, swing, final ritardando; see [Timing]); every note gets a role (tune,
// bass, chord …) and from it a loudness; then its touch: how long it is held,
// rolled chords, grace notes, ornaments; then the pedal; then a little
// unevenness. Only then are hands left out, so that a hand alone sounds as it
// does in the whole. Where the score itself says how it is played, that holds: its
// tempi, its pedal, the loudness of a note; a live score is played as it was.
package perform

import (
	"cmp"
	"fmt"
	"slices"

	"gradatim/internal/sound/event"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Hands says who plays.
type Hands uint8

// Hands. The zero value is both.
const (
	Both Hands = iota
	RightAlone
	LeftAlone
	Melody      // the tune alone
	WithoutTune // all but the tune: to play it oneself
)

var handsNames = [...]string{"both", "right", "left", "melody", "without-tune"}

// String returns the name that ParseHands reads.
func (h Hands) String() string {
	if int(h) < len(handsNames) {
		return handsNames[h]
	}
	return fmt.Sprintf("Hands(%d)", h)
}

// ParseHands reads "both", "right", "left", "melody" or "without-tune".
func ParseHands(s string) (Hands, error) {
	if i := slices.Index(handsNames[:], s); i >= 0 {
		return Hands(i), nil
	}
	return 0, fmt.Errorf("%q is not one: say both, left, right, melody or without-tune", s)
}

// Options say what to play and how. The zero value is the whole score at its
// own tempo.
type Options struct {
	Hands     Hands
	Tempo     Tempo
	From, To  int // printed bar numbers, both included; 0, 0 is everything
	Loop      int // how many times; 0 means 1
	Transpose int // semitones
	CountIn   int // bars of clicks before the music
	Click     bool
	Even      bool   // no unevenness of a player
	Seed      uint64 // of the unevenness
}

// MaxLoop and MaxCountIn bound what can be asked for.
const (
	MaxLoop    = 100
	MaxCountIn = 8
)

// Lead is the silence before the first beat, in seconds.
const Lead = 0.1

// A Note is one key that goes down. Ornaments make several of one note of the
// score; they share its ID.
type Note struct {
	ID       string // of the score's note as it is printed
	Hand     score.Hand
	Melody   bool       // part of the tune
	At       theory.Dur // in the score as it is played, see score.Score.Played
	Pass     int        // of a loop, from 0
	Key      int        // MIDI
	Velocity int        // 1…127
	Start    float64
	End      float64 // seconds; the key comes up
	Shared   bool    // the other hand strikes the same key: shown, not sounded
}

// A Performance is one reading of a score.
type Performance struct {
	Notes    []Note        // by Start, then Key
	Pedals   []event.Pedal // by Time
	Ticks    []event.Tick  // the metronome
	Timing   Timing        // positions of the score in seconds
	Seconds  float64       // when the last key or pedal is up
	Problems leadsheet.Problems

	bars   []score.Bar // played, in one pass
	marks  []mark
	ticks0 int // MIDI ticks of the count-in
}

// Sequence returns what an instrument needs.
func (p Performance) Sequence() event.Sequence {
	s := event.Sequence{Pedals: p.Pedals, Ticks: p.Ticks, End: p.Seconds}
	for _, n := range p.Notes {
		if !n.Shared {
			s.Notes = append(s.Notes, event.Note{Start: n.Start, Dur: n.End - n.Start, Key: n.Key, Velocity: n.Velocity})
		}
	}
	return s
}

// Perform reads the score. The error, where there is one, is a
// leadsheet.Problems.
func Perform(s score.Score, o Options) (Performance, error) {
	var p Performance
	r, problems := newReading(s, o)
	p.Problems = problems
	if err := problems.Err(); err != nil {
		return p, err
	}
	p.Timing = r.timing
	p.bars = r.bars
	p.ticks0 = ticks(r.countInDur())
	p.marks = r.marks()

	var all []Note
	r.listen()
	for pass := range r.timing.Passes {
		strikes := r.touch(pass)
		r.unsettle(strikes)
		if r.rings() {
			r.ring(strikes)
		}
		for _, k := range strikes {
			if r.wanted(k) {
				all = append(all, k.note(o.Transpose))
			}
		}
		if o.Hands != Melody { // a hand alone sounds as it does in the whole
			p.Pedals = append(p.Pedals, r.pedal(pass)...)
		}
	}
	if r.rings() && o.Hands != Melody {
		p.Pedals = r.ringPedal(p.Pedals)
	}
	p.Notes = oneHandAKey(all)
	p.Ticks = r.clicks()
	p.Seconds = r.timing.End
	for _, n := range p.Notes {
		p.Seconds = max(p.Seconds, n.End)
	}
	for _, e := range p.Pedals {
		p.Seconds = max(p.Seconds, e.Time)
	}
	slices.SortStableFunc(p.Pedals, func(a, b event.Pedal) int { return cmp.Compare(a.Time, b.Time) })
	return p, nil
}

// oneHandAKey sorts the notes and sees to it that a key is down once: a key
// struck again comes up shortly before, and of two strikes at one moment the
// one of the tune, or else the louder, sounds.
func oneHandAKey(notes []Note) []Note {
	slices.SortStableFunc(notes, func(a, b Note) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.Key, b.Key), cmp.Compare(a.Hand, b.Hand), cmp.Compare(a.ID, b.ID))
	})
	const (
		together = 0.03 // seconds: nearer strikes are one
		lift     = 0.02 // a key needs that long to come up
	)
	down := map[int]int{} // key to the index of the note that holds it
	for i := range notes {
		n := &notes[i]
		j, held := down[n.Key]
		if held && notes[j].End > n.Start-lift {
			o := &notes[j]
			if n.Start-o.Start < together {
				// One strike: the tune's or the louder stays, as long as either.
				keep, drop := o, n
				if n.Melody && !o.Melody || n.Melody == o.Melody && n.Velocity > o.Velocity {
					keep, drop = n, o
					down[n.Key] = i
				}
				drop.Shared = true
				keep.End = max(keep.End, drop.End)
				continue
			}
			o.End = max(min(o.End, n.Start-lift), o.Start+0.01)
		}
		down[n.Key] = i
	}
	return notes
}

// A reading is the work in progress: a score, what of it is played, and what
// the player has made up her mind about.
type reading struct {
	score  score.Score
	opt    Options
	bars   []score.Bar
	from   theory.Dur // of the score, first position played
	to     theory.Dur
	tempo  tempoAt
	timing Timing
	swing  score.Ratio
	paces  []pace // by place; the first is from the beginning
	steady bool   // the metronome rules: no breathing, no ritardando
	live   bool   // the score is of a playing, which is played as it was
	notes  []heard
	loud   [2]score.Loudness // right and left
	slurs  bool              // the score says which notes are joined
}

// newReading checks the wishes against the score and lays out time.
func newReading(s score.Score, o Options) (*reading, leadsheet.Problems) {
	var problems leadsheet.Problems
	wrong := func(says leadsheet.Saying, parts ...any) {
		problems.Tell(leadsheet.Error, leadsheet.Pos{}, says, parts...)
	}
	s, _ = s.Finish().Played() // in order, whoever made it
	r := &reading{score: s, opt: o, live: s.Live && !o.Even}
	if o.Transpose == 0 { // of a file from outside: what no piano has
		within := slices.DeleteFunc(slices.Clone(s.Notes), func(n score.Note) bool { return n.Pitch.MIDI() < lowestKey || n.Pitch.MIDI() > highestKey })
		if n := len(s.Notes) - len(within); n > 0 && len(within) > 0 {
			problems.Tell(leadsheet.Warning, leadsheet.Pos{}, "keys-outside", "n", n)
			s.Notes, r.score.Notes = within, within
		}
	}
	if len(s.Bars) == 0 || len(s.Notes) == 0 {
		wrong("score-empty.play")
		return r, problems
	}
	if o.Loop < 0 || o.Loop > MaxLoop {
		wrong("loop-range", "n", o.Loop, "Most", MaxLoop)
	}
	if o.CountIn < 0 || o.CountIn > MaxCountIn {
		wrong("count-in-range", "n", o.CountIn, "Most", MaxCountIn)
	}
	if err := r.selectBars(); err != nil {
		wrong("bars-range.play", "Error", err.Error())
	}
	for _, n := range s.Notes {
		if k := n.Pitch.MIDI() + o.Transpose; k < lowestKey || k > highestKey {
			wrong("transpose-range", "Note", n.Pitch, "Semitones", fmt.Sprintf("%+d", o.Transpose))
			break
		}
	}
	r.steady = o.Click || o.Loop > 1
	var assumed bool
	var err error
	if r.tempo, assumed, err = o.Tempo.of(s); err != nil {
		wrong("tempo-range", "Error", err.Error(), "Least", MinPercent, "Most", MaxPercent)
	} else if assumed {
		problems.Tell(leadsheet.Info, leadsheet.Pos{}, "tempo-assumed.played", "Tempo", fmt.Sprint(r.tempo))
	}
	if problems.Err() != nil {
		return r, problems
	}
	r.swing = feel(s, r.tempo)
	if r.live { // as it swung
		r.swing = score.Ratio{First: 1, Second: 1}
	}
	r.findPaces()
	r.lay()
	return r, problems
}

const (
	lowestKey  = 21
	highestKey = 108
)

// selectBars finds the bars that From and To ask for.
func (r *reading) selectBars() error {
	bars := r.score.Bars
	from, to := r.opt.From, r.opt.To
	if from == 0 && to == 0 {
		r.bars = bars
	} else {
		first, last, ok := r.score.Range(from, to)
		if !ok {
			return fmt.Errorf("bars %d-%d: the score has bars %d to %d", from, to, max(bars[0].Number, 1), bars[len(bars)-1].Number)
		}
		r.bars = bars[first : last+1]
	}
	r.from, r.to = r.bars[0].At, r.bars[len(r.bars)-1].End()
	if r.from >= r.to {
		return fmt.Errorf("bars %d-%d last no time", from, to)
	}
	return nil
}

// wanted tells whether a strike belongs to the hands asked for.
func (r *reading) wanted(k strike) bool {
	switch r.opt.Hands {
	case RightAlone:
		return k.of.note.Hand == score.Right
	case LeftAlone:
		return k.of.note.Hand == score.Left
	case Melody:
		return k.of.tune
	case WithoutTune:
		return !k.of.tune && k.of.role != score.Doubling
	default:
		return true
	}
}
