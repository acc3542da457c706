package choice

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Bar is what a page has in one bar.
type Bar struct {
	At     theory.Dur // where the bar begins, in the order of playing
	Chords []Symbol   // the first is in force at its start
	Lines  []Line
	Pedal  [][2]theory.Dur // down, up
}

// Symbol is a chord at its place.
type Symbol struct {
	At    theory.Dur
	Chord theory.Chord // zero: none is meant
}

// Part is whose notes a Line has.
type Part uint8

// The parts, in the order in which they are written.
const (
	Tune Part = iota + 1
	RightHand
	LeftHand
)

var parts = [...]string{Tune: "tune", RightHand: "right", LeftHand: "left"}

// String returns "tune", "right" or "left".
func (p Part) String() string { return parts[p] }

// Line is what one technique has a part play in a bar.
type Line struct {
	Part  Part
	By    string // technique id; "": the tune as it is, or by hand
	Tones []Tone
}

// Unfingered returns the tones without their fingers.
func (l Line) Unfingered() []technique.Tone {
	out := make([]technique.Tone, len(l.Tones))
	for i, t := range l.Tones {
		out[i] = t.Tone
	}
	return out
}

// In returns the bar in another key.
func (b Bar) In(iv theory.Interval) Bar {
	b.Chords, b.Lines = slices.Clone(b.Chords), slices.Clone(b.Lines)
	for i := range b.Chords {
		b.Chords[i].Chord = b.Chords[i].Chord.Transpose(iv)
	}
	for i := range b.Lines {
		ts := slices.Clone(b.Lines[i].Tones)
		for k := range ts {
			ts[k].Pitch = ts[k].Pitch.Up(iv)
		}
		b.Lines[i].Tones = ts
	}
	return b
}

// BarOf takes one bar, by index, from a page of a song. Notes that begin in the bar
// belong to it, however long they are held. Of a page that does not say what its notes
// are for, as a file does not, the highest note of the right hand that the tune has
// there is the tune's.
func BarOf(song leadsheet.Song, s score.Score, i int) Bar {
	at, end := song.Bars[i].At, song.Bars[i].End()
	b := Bar{At: at}
	if sym, ok := s.ChordAt(at); ok {
		b.Chords = []Symbol{{at, sym.Chord}}
	}
	for _, c := range s.Chords {
		if c.At > at && c.At < end {
			b.Chords = append(b.Chords, Symbol{c.At, c.Chord})
		}
	}
	for k := range s.Notes {
		n := &s.Notes[k]
		if n.At < at || n.At >= end || n.Grace > 0 && n.Origin.Technique == "" && gracedBySheet(song, n.At) {
			continue
		}
		p := RightHand
		switch {
		case n.Origin.Kind == score.Melody || n.Origin.Kind == 0 && ofTune(song, s, n):
			p = Tune
		case n.Hand == score.Left:
			p = LeftHand
		}
		b.put(p, n)
	}
	slices.SortStableFunc(b.Lines, func(x, y Line) int { return int(x.Part) - int(y.Part) })
	down := theory.Dur(-1)
	for _, d := range s.Directions {
		switch {
		case d.Kind == score.PedalDown && d.At >= at && d.At < end:
			down = d.At
		case d.Kind == score.PedalUp && down >= 0 && d.At > down:
			b.Pedal = append(b.Pedal, [2]theory.Dur{down, min(d.At, end)})
			down = -1
		}
	}
	return b
}

// put adds a note to the line of its part and technique.
func (b *Bar) put(p Part, n *score.Note) {
	t := technique.Tone{At: n.At, Dur: n.Dur, Pitch: n.Pitch, Kind: n.Origin.Kind, Ornament: n.Ornament, Grace: n.Grace, Velocity: n.Velocity}
	for _, m := range marks {
		t.Marks |= n.Marks & m.mark
	}
	if p == Tune {
		t.Kind = 0
	}
	i := slices.IndexFunc(b.Lines, func(l Line) bool { return l.Part == p && l.By == n.Origin.Technique })
	if i < 0 {
		i = len(b.Lines)
		b.Lines = append(b.Lines, Line{Part: p, By: n.Origin.Technique})
	}
	b.Lines[i].Tones = append(b.Lines[i].Tones, Tone{t, n.Finger})
}

// Event finds the note of the tune that a page has at a moment: the one that is written
// there, or else, pushed early, within half a beat after it. −1: none.
func Event(song leadsheet.Song, at theory.Dur) int {
	i, found := slices.BinarySearchFunc(song.Melody, at, func(n leadsheet.Note, at theory.Dur) int {
		return int(max(-1, min(1, n.At-at)))
	})
	if found {
		return i
	}
	if i < len(song.Melody) && 2*(song.Melody[i].At-at) <= song.Bars[song.BarAt(at)].Meter.BeatDur() {
		return i
	}
	return -1
}

func gracedBySheet(song leadsheet.Song, at theory.Dur) bool {
	e := Event(song, at)
	return e >= 0 && len(song.Melody[e].Graces) > 0
}

// ofTune tells whether a note whose page does not say so is the tune's.
func ofTune(song leadsheet.Song, s score.Score, n *score.Note) bool {
	e := Event(song, n.At)
	if e < 0 || n.Grace > 0 || n.Hand == score.Left || n.Pitch.Class() != song.Melody[e].Pitch.Class() {
		return false
	}
	for i := range s.Notes {
		if m := &s.Notes[i]; m.At == n.At && m.Hand != score.Left && m.Grace == 0 && m.Pitch.MIDI() > n.Pitch.MIDI() {
			return false
		}
	}
	return true
}

// Text writes the bar: a line for its number, one for its chords, one for each part and
// technique.
//
//	bar 5 pass 2
//	chords F@1 C7@3
//	tune C5@1:1/2:finger3 Bb4@3:1/2:finger2
//	left root-and-fifth: F2@1:1/2:bass:finger5 C3@3:1/2:bass:finger5
func (b Bar) Text(song leadsheet.Song) string {
	i := song.BarAt(b.At)
	bar := song.Bars[i]
	var w strings.Builder
	fmt.Fprintf(&w, "bar %d", bar.Sheet)
	if passes(song, bar.Sheet) > 1 {
		fmt.Fprintf(&w, " pass %d", bar.Pass)
	}
	w.WriteByte('\n')
	for k, c := range b.Chords {
		if k == 0 {
			w.WriteString("chords")
		}
		name := "N.C."
		if !c.Chord.Silent() {
			name = c.Chord.String()
		}
		fmt.Fprintf(&w, " %s@%s", name, beat(bar, c.At))
	}
	if len(b.Chords) > 0 {
		w.WriteByte('\n')
	}
	for _, l := range b.Lines {
		fmt.Fprintf(&w, "%s %s\n", l.Part, line(bar, l.By, l.Tones))
	}
	for _, p := range b.Pedal {
		fmt.Fprintf(&w, "pedal %s-%s\n", beat(bar, p[0]), beat(bar, p[1]))
	}
	return w.String()
}

// ParseBars reads what Text wrote, any number of bars. A bar without a pass stands for
// each time that it is played. fault is told what cannot be read, with the number of
// its line, from 1. A line that begins with # is a remark.
func ParseBars(song leadsheet.Song, text string, fault func(line int, what string)) []Bar {
	var out []Bar
	var now []int // indexes into out of the bars that a line belongs to
	for n, l := range strings.Split(text, "\n") {
		word, rest, _ := strings.Cut(strings.TrimSpace(l), " ")
		if word == "" || word[0] == '#' {
			continue
		}
		if word == "bar" {
			now = nil
			bars, err := parseHead(song, rest)
			if err != nil {
				fault(n+1, err.Error())
				continue
			}
			for _, i := range bars {
				now = append(now, len(out))
				out = append(out, Bar{At: song.Bars[i].At})
			}
			continue
		}
		if len(out) == 0 {
			fault(n+1, fmt.Sprintf("%q stands before the first bar", word))
			return nil
		}
		for _, k := range now {
			if err := out[k].take(song.Bars[song.BarAt(out[k].At)], word, rest); err != nil {
				fault(n+1, err.Error())
				break
			}
		}
	}
	for i, b := range out {
		if slices.ContainsFunc(out[:i], func(c Bar) bool { return c.At == b.At }) {
			fault(1, fmt.Sprintf("bar %d is there twice", song.Bars[song.BarAt(b.At)].Sheet))
		}
	}
	return out
}

// parseHead reads "5" or "5 pass 2".
func parseHead(song leadsheet.Song, text string) ([]int, error) {
	f := strings.Fields(text)
	nth := 0
	var err error
	if len(f) == 3 && f[1] == "pass" {
		if nth, err = strconv.Atoi(f[2]); err != nil || nth < 1 {
			return nil, fmt.Errorf("%q is no pass", f[2])
		}
		f = f[:1]
	}
	if len(f) != 1 {
		return nil, fmt.Errorf("%q is no bar: write bar 5, or bar 5 pass 2", text)
	}
	n, err := strconv.Atoi(f[0])
	if err != nil {
		return nil, fmt.Errorf("%q is no bar", f[0])
	}
	bars := played(song, n, nth)
	if len(bars) == 0 {
		return nil, fmt.Errorf("the sheet has no bar %s", text)
	}
	return bars, nil
}

// take reads a line of a bar.
func (b *Bar) take(bar leadsheet.Bar, word, rest string) error {
	switch word {
	case "chords":
		for _, f := range strings.Fields(rest) {
			k := strings.LastIndexByte(f, '@')
			if k < 0 {
				return fmt.Errorf("%q says no beat: write C7@3", f)
			}
			off, ok := offset(bar, f[k+1:])
			if !ok || off == bar.Dur {
				return fmt.Errorf("%q is no beat of the bar", f[k+1:])
			}
			sym, err := theory.ParseSymbol(f[:k])
			if err != nil || sym.Repeat {
				return fmt.Errorf("the chord %q cannot be read", f[:k])
			}
			b.Chords = append(b.Chords, Symbol{bar.At + off, sym.Chord})
		}
		slices.SortStableFunc(b.Chords, func(x, y Symbol) int { return int(x.At - y.At) })
		return nil
	case "pedal":
		from, to, _ := strings.Cut(rest, "-")
		down, ok1 := offset(bar, from)
		up, ok2 := offset(bar, to)
		if !ok1 || !ok2 || up <= down {
			return fmt.Errorf("%q is no stretch of the bar: write pedal 1-3", rest)
		}
		b.Pedal = append(b.Pedal, [2]theory.Dur{bar.At + down, bar.At + up})
		return nil
	}
	p := slices.Index(parts[:], word)
	if p < int(Tune) {
		return fmt.Errorf("%q begins no line of a bar: bar, chords, tune, right, left and pedal do", word)
	}
	by, ts, err := parseLine(bar, rest)
	if err != nil {
		return err
	}
	b.Lines = append(b.Lines, Line{Part: Part(p), By: by, Tones: ts})
	return nil
}
