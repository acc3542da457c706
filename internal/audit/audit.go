package audit

import (
	"cmp"
	"encoding/json"
	"slices"

	"gradatim/internal/hand"
	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Options say what a score is judged by.
type Options struct {
	Song *leadsheet.Song // the sheet, in the score's key; nil: the top line is the melody
	Hand hand.Profile    // the player; the zero Profile is the default one
	// Moves is by how much a note of the tune may come later than on the sheet, or earlier,
	// where the level has an easier rhythm; 0: not later, and earlier as an anticipation only.
	Moves theory.Dur
}

// Violation is one breach of a rule, placed by bar and beat, with a way out.
type Violation struct {
	leadsheet.Problem
	At    theory.Dur
	Notes []string // ids of the notes at fault
}

// MarshalJSON writes a Problem with the ids of the notes at fault as "notes".
func (v Violation) MarshalJSON() ([]byte, error) {
	b, err := json.Marshal(v.Problem)
	if err != nil || len(v.Notes) == 0 {
		return b, err
	}
	notes, err := json.Marshal(v.Notes)
	if err != nil {
		return nil, err
	}
	b = append(b[:len(b)-1], `,"notes":`...)
	return append(append(b, notes...), '}'), nil
}

// Problems returns the violations as placed Problems.
func Problems(vs []Violation) leadsheet.Problems {
	ps := make(leadsheet.Problems, len(vs))
	for i, v := range vs {
		ps[i] = v.Problem
	}
	return ps
}

// Check judges a score as it is played, by the sheet as it is played, however either is
// printed. It returns every violation, placed where it is printed and once, ordered by
// time, code and notes; none means that the score stands.
func Check(s score.Score, opt Options) []Violation { return check(s, opt, false) }

// CheckFingers is Check for the fingers alone, of a score that stands without them.
func CheckFingers(s score.Score, opt Options) []Violation { return check(s, opt, true) }

func check(s score.Score, opt Options, fingers bool) []Violation {
	played, order := s.Played()
	if opt.Song != nil {
		song := framed(roadmap.Unfold(*opt.Song), played)
		opt.Song = &song
		played.Bars = grouped(played.Bars, song.Bars)
	}
	p := newPage(played, opt)
	if fingers {
		p.group()
		p.findMelody()
		p.found = nil
	} else {
		p.bars()
		p.voices()
		p.group()
		p.findMelody()
		p.explain()
	}
	p.sweep(fingers)
	for i := range p.found {
		v := &p.found[i]
		if k := played.BarAt(v.At); k >= 0 {
			v.At += s.Bars[order[k]].At - played.Bars[k].At
		}
		for j, id := range v.Notes {
			v.Notes[j] = score.Printed(id)
		}
	}
	slices.SortStableFunc(p.found, func(a, b Violation) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Code, b.Code), slices.Compare(a.Notes, b.Notes), cmp.Compare(a.String(), b.String()))
	})
	return slices.CompactFunc(p.found, func(a, b Violation) bool {
		return a.At == b.At && a.String() == b.String() && slices.Equal(a.Notes, b.Notes)
	})
}

// grouped gives the bars of a score the groups that the sheet's have: a page prints them
// only where the sheet does, and of what is found from the notes it knows less. Bars that
// stand around the tune have those of the tune beside them.
func grouped(bars []score.Bar, sheet []leadsheet.Bar) []score.Bar {
	out := slices.Clone(bars)
	take := func(to *leadsheet.Meter, from leadsheet.Meter) {
		if to.Parts == "" && to.Beats == from.Beats && to.Unit == from.Unit {
			to.Parts = from.Parts
		}
	}
	for i, k := 0, 0; i < len(out); i++ {
		for k < len(sheet) && sheet[k].At < out[i].At {
			k++
		}
		if k < len(sheet) && sheet[k].At == out[i].At {
			take(&out[i].Meter, sheet[k].Meter)
		}
	}
	for i := len(out) - 2; i >= 0; i-- {
		if out[i].Part != score.Tune {
			take(&out[i].Meter, out[i+1].Meter)
		}
	}
	for i := 1; i < len(out); i++ {
		if out[i].Part != score.Tune {
			take(&out[i].Meter, out[i-1].Meter)
		}
	}
	return out
}

// framed gives a sheet that has its tune alone the bars that stand around it in a score,
// without a melody and over the chords that are printed there.
func framed(song leadsheet.Song, s score.Score) leadsheet.Song {
	first, last, ok := s.OfTune()
	if !ok || first == 0 && last == len(s.Bars)-1 || slices.ContainsFunc(song.Bars, func(b leadsheet.Bar) bool { return b.Part != leadsheet.Tune }) {
		return song
	}
	out := song
	out.Bars, out.Melody, out.Chords = nil, nil, nil
	empty := func(bars []score.Bar) {
		for _, b := range bars {
			for _, c := range s.Chords {
				if c.At >= b.At && c.At < b.End() {
					out.Chords = append(out.Chords, leadsheet.ChordMark{At: c.At, Chord: c.Chord})
				}
			}
			out.Bars = append(out.Bars, leadsheet.Bar{At: b.At, Dur: b.Dur, Meter: b.Meter, Key: b.Key, Number: b.Number, Part: b.Part, Pickup: b.Pickup})
		}
	}
	empty(s.Bars[:first])
	lead := s.Bars[first].At
	for _, b := range song.Bars {
		b.At += lead
		out.Bars = append(out.Bars, b)
	}
	for _, n := range song.Melody {
		n.At += lead
		out.Melody = append(out.Melody, n)
	}
	for _, c := range song.Chords {
		c.At += lead
		out.Chords = append(out.Chords, c)
	}
	empty(s.Bars[last+1:])
	return out
}

// Tune finds the song's melody in the top line of a score, as Check does: for each
// note of the melody an index into s.Notes, −1 where the score has none. The notes
// are in the order of score.Compare.
func Tune(s score.Score, song leadsheet.Song) []int {
	p := newPage(s, Options{Song: &song})
	p.group()
	p.findMelody()
	return p.tune
}

// page is a score prepared for judging.
type page struct {
	s       score.Score
	song    *leadsheet.Song
	profile hand.Profile
	slack   theory.Dur // Options.Moves

	sounds []sound // notes with a length, by onset, hand and key
	graces []int   // indexes of grace notes in s.Notes
	onsets []onset // distinct onsets in order
	hands  [3][]group
	chords []harmony // printed, in order
	sheet  []harmony // of the song, in order

	tune  []int // index into s.Notes of each note of the song's melody; −1: none is
	found []Violation
}

// sound is one note that is struck and held.
type sound struct {
	at, end theory.Dur
	key     int
	hand    score.Hand
	note    int  // index into s.Notes
	group   int  // index into hands[hand]
	chord   int  // index into chords; −1: none in force
	melody  bool // it is the tune's
	rolled  bool
	ghost   bool
	reason  reason
}

func (s sound) class() int { return ((s.key % 12) + 12) % 12 }

// onset is a moment at which something is struck.
type onset struct {
	at          theory.Dur
	first, last int // sounds[first:last]
	top         int // the sound struck here that nothing sounds above; −1: none
	held        int // the highest key still held from before; −1: none
	bar         int
}

// group is what one hand strikes at one moment.
type group struct {
	at          theory.Dur
	first, last int // sounds[first:last], ascending by key
	onset       int
}

func newPage(s score.Score, opt Options) *page {
	p := &page{s: s, song: opt.Song, profile: opt.Hand, slack: opt.Moves}
	if !slices.IsSortedFunc(s.Notes, score.Compare) {
		p.s.Notes = slices.Clone(s.Notes)
		slices.SortStableFunc(p.s.Notes, score.Compare)
	}
	p.sounds = make([]sound, 0, len(p.s.Notes))
	for i := range p.s.Notes {
		n := &p.s.Notes[i]
		switch {
		case n.Grace > 0:
			p.graces = append(p.graces, i)
		case n.Dur > 0:
			h := n.Hand
			if h != score.Left {
				h = score.Right
			}
			p.sounds = append(p.sounds, sound{at: n.At, end: n.End(), key: n.Pitch.MIDI(), hand: h, note: i,
				chord: -1, rolled: n.Marks.Has(score.Rolled), ghost: n.Marks.Has(score.Ghost)})
		}
	}
	slices.SortStableFunc(p.sounds, func(a, b sound) int {
		return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.hand, b.hand), cmp.Compare(a.key, b.key))
	})
	return p
}

// report adds a violation of a rule: what it says of which notes, by index.
func (p *page) report(at theory.Dur, says leadsheet.Saying, notes []int, parts ...any) {
	ids := make([]string, 0, len(notes))
	for _, n := range notes {
		ids = append(ids, p.s.Notes[n].ID)
	}
	p.found = append(p.found, Violation{
		Problem: leadsheet.Tell(leadsheet.Error, p.s.PosAt(at), says, parts...),
		At:      at,
		Notes:   ids,
	})
}

// pitch is a note's as a player reads it.
func (p *page) pitch(s sound) theory.Pitch { return p.s.Notes[s.note].Pitch }

// most is the number of notes kept as sounding in one hand; hands hold five.
const most = 24

// group finds the onsets, what each hand strikes at each, and the top line.
func (p *page) group() {
	var held []sound // of both hands
	bar := 0
	for i := 0; i < len(p.sounds); {
		at := p.sounds[i].at
		held = slices.DeleteFunc(held, func(s sound) bool { return s.end <= at })
		for bar+1 < len(p.s.Bars) && p.s.Bars[bar+1].At <= at {
			bar++
		}
		o := onset{at: at, first: i, top: -1, bar: bar}
		highest := -1
		for _, h := range held {
			highest = max(highest, h.key)
		}
		o.held = highest
		for i < len(p.sounds) && p.sounds[i].at == at {
			h := p.sounds[i].hand
			g := group{at: at, first: i, onset: len(p.onsets)}
			for i < len(p.sounds) && p.sounds[i].at == at && p.sounds[i].hand == h {
				s := &p.sounds[i]
				s.group = len(p.hands[h])
				if s.key > highest {
					highest, o.top = s.key, i
				}
				if len(held) < 2*most {
					held = append(held, *s)
				}
				i++
			}
			g.last = i
			p.hands[h] = append(p.hands[h], g)
		}
		o.last = i
		p.onsets = append(p.onsets, o)
	}
}

// meter returns the metre at an onset.
func (p *page) meter(o *onset) leadsheet.Meter {
	if o.bar < len(p.s.Bars) {
		return p.s.Bars[o.bar].Meter.OrCommon()
	}
	return leadsheet.Meter{}.OrCommon()
}

// strength ranks an onset in its bar as Meter.Strength does.
func (p *page) strength(o *onset) int {
	if o.bar >= len(p.s.Bars) {
		return 0
	}
	return p.meter(o).Strength(p.s.Bars[o.bar].Offset(o.at))
}
