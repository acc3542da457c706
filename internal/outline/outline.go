package outline

import (
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/harmony"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// A tune in outline.
//
// Problem: a dance in running notes is no page for a first year, and the tune is law. So a
// teacher may ask for its outline in place of the tune: on each place of the beat the note
// that carries it. Source: time-span reduction (Lerdahl and Jackendoff, A Generative Theory
// of Tonal Music, 1983; from memory), of which this is the first step alone: a head for each
// span. Objective: chord tones before notes that pass, what stands on the place before what
// follows it, top and bottom of the bar kept, steps before leaps, no note struck again that
// the tune does not repeat. Every note that is left has its pitch and its order; one that
// stands for its place may begin there, half a place early at most (in threes
// none does). Notes that carry a
// syllable all stay. Method: dynamic programming over the places of one bar, at most as
// many states as a place has notes, so linear in the notes. A bar is read by itself, and one
// whose tune comes again, over other chords, too, has the outline that it had. Rejected: the deeper steps of the
// reduction (what is left is no longer sung as the tune), and doing it unasked.

const (
	moved    = 5  // a note that begins at its place, early
	foreign  = 18 // a note that goes on to one of the chord, or comes from it
	dwelt    = 6  // one that is dwelt on, or the next chord's
	held     = 40 // a note at its place left out for the one before, or a long note left out
	repeated = 6  // a pitch struck twice where the tune moves
	extreme  = 3  // the top or the bottom of the bar, of the chord
	leads    = 8  // the last note before a section, which leads there
	offPlace = 3  // a long note that comes between places
)

// few is the share of a tune's notes, one in so many, that is not worth leaving out.
const few = 10

// Of returns the song with its tune in outline, and the bars, by index, from which notes
// were left out. The places are the beats of the bar and, in threes, the last third of each;
// fine has one more between two of them. A song in free time is returned as it is, and one
// that would lose but a few notes.
func Of(song leadsheet.Song, roles []harmony.Role, fine bool) (leadsheet.Song, []int) {
	if len(roles) != len(song.Melody) {
		return song, nil
	}
	quick := quickNotes(song)
	var stay []kept
	var bars []int
	known := map[string][]kept{}
	for i, b := 0, 0; b < len(song.Bars); b++ {
		bar := song.Bars[b]
		j := i
		for j < len(song.Melody) && song.Melody[j].At < bar.End() {
			j++
		}
		closes := b+1 < len(song.Bars) && (song.Bars[b+1].Section != "" || song.Joint(b+1))
		line := tuneOf(bar, song.Melody[i:j], closes)
		left, ok := known[line]
		if !ok {
			left = carried(bar, song.Melody[i:j], roles[i:j], quick, fine, closes)
			known[line] = left
		}
		for _, k := range left {
			stay = append(stay, kept{k.note + i, k.at + bar.At})
		}
		if len(left) < j-i {
			bars = append(bars, b)
		}
		i = j
	}
	if few*(len(song.Melody)-len(stay)) < len(song.Melody) || len(bars) == 0 {
		return song, nil
	}
	out := make([]leadsheet.Note, len(stay))
	for k, at := range stay {
		n := song.Melody[at.note]
		next, before := song.End(), len(song.Melody)
		if k+1 < len(stay) {
			next, before = stay[k+1].at, stay[k+1].note
		}
		end, last := n.End(), at.note
		for last+1 < before && song.Melody[last+1].At <= end { // what is left out lengthens the note before it
			last++
			end = max(end, song.Melody[last].End())
		}
		if before < len(song.Melody) && end >= song.Melody[before].At {
			end = next
		}
		n.At, n.Dur = at.at, max(1, min(end, next)-at.at)
		if !fine {
			n.Graces = nil
		}
		out[k] = n
	}
	song.Melody = out
	return song, bars
}

// kept is a note that stays, and where it begins. What is said of one bar counts from it.
type kept struct {
	note int
	at   theory.Dur
}

// tuneOf writes down what the tune has in a bar, so that it is known where it comes again,
// over other chords, too.
func tuneOf(bar leadsheet.Bar, notes []leadsheet.Note, closes bool) string {
	var out strings.Builder
	fmt.Fprint(&out, bar.Meter, bar.Dur, bar.Pickup, closes)
	for _, n := range notes {
		fmt.Fprint(&out, " ", n.At-bar.At, n.Dur, n.Pitch, len(n.Sung) > 0)
	}
	return out.String()
}

// quickNotes tells whether sixteenths are what the tune runs in, an eighth of its notes or more.
func quickNotes(song leadsheet.Song) bool {
	n := 0
	for _, m := range song.Melody {
		if m.Dur < theory.Eighth {
			n++
		}
	}
	return 8*n >= len(song.Melody) && n > 0
}

// places are the places of a bar, ascending, and the end of the last one.
func places(bar leadsheet.Bar, quick, fine bool) []theory.Dur {
	m := bar.Meter
	if m.Free() || !m.Valid() {
		return nil
	}
	beat := m.BeatDur()
	var in []theory.Dur
	switch {
	case m.Compound() && fine:
		in = []theory.Dur{0, beat / 3, 2 * beat / 3}
	case m.Compound():
		in = []theory.Dur{0, 2 * beat / 3}
	default:
		beat = min(beat, theory.Quarter)
		if quick {
			beat = min(beat, theory.Eighth)
		}
		in = []theory.Dur{0}
		if fine {
			in = []theory.Dur{0, beat / 2}
		}
	}
	first := bar.Offset(bar.At)
	out := []theory.Dur{bar.At}
	for at := first - first%beat; at < first+bar.Dur; at += beat {
		for _, off := range in {
			if to := bar.At + at + off - first; to > bar.At && to < bar.End() {
				out = append(out, to)
			}
		}
	}
	return append(out, bar.End())
}

// carried chooses the notes of one bar that stay.
func carried(bar leadsheet.Bar, notes []leadsheet.Note, roles []harmony.Role, quick, fine, closes bool) []kept {
	all := make([]kept, len(notes))
	for i, n := range notes {
		all[i] = kept{i, n.At - bar.At}
	}
	at := places(bar, quick, fine)
	if len(at) == 0 || len(notes) == 0 {
		return all
	}
	top, bottom := notes[0].Pitch.MIDI(), notes[0].Pitch.MIDI()
	for _, n := range notes {
		top, bottom = max(top, n.Pitch.MIDI()), min(bottom, n.Pitch.MIDI())
	}
	type way struct {
		stay []kept // of this place
		last int    // note before the next place, −1: none yet
		cost int
		from int
	}
	before := []way{{last: -1, from: -1}}
	var layers [][]way
	i := 0
	for p := 0; p+1 < len(at); p++ {
		from, to := at[p], at[p+1]
		j := i
		for j < len(notes) && notes[j].At < to {
			j++
		}
		var layer []way
		for _, stay := range heads(notes, i, j, from, to, fine || !bar.Meter.Compound()) {
			cost := 0
			for k := i; k < j; k++ { // what is left out and is more than what runs
				if n := notes[k]; (n.At == from && len(stay) == 0 || n.Dur >= to-from) && !slices.ContainsFunc(stay, func(s kept) bool { return s.note == k }) {
					cost += held
				}
			}
			for _, k := range stay {
				n := notes[k.note]
				switch roles[k.note].Kind {
				case harmony.PassingTone, harmony.Neighbour, harmony.Escape, harmony.Free, harmony.Suspension, harmony.Appoggiatura:
					cost += foreign
				case harmony.TensionTone, harmony.Anticipation:
					cost += dwelt
				default:
					if p := n.Pitch.MIDI(); top > bottom && (p == top || p == bottom) {
						cost -= extreme
					}
				}
				if closes && k.note == len(notes)-1 {
					cost -= leads
				}
				if k.at != n.At {
					cost += moved
				} else if k.at != from {
					cost += offPlace
				}
			}
			best := way{stay: stay, from: -1}
			for f, b := range before {
				c, last := b.cost+cost, b.last
				for _, k := range stay {
					if last >= 0 {
						c += joined(notes, last, k.note)
					}
					last = k.note
				}
				if best.from < 0 || c < best.cost {
					best.cost, best.last, best.from = c, last, f
				}
			}
			layer = append(layer, best)
		}
		layers, before, i = append(layers, layer), layer, j
	}
	best := 0
	for k := range before {
		if before[k].cost < before[best].cost {
			best = k
		}
	}
	var out []kept
	for p := len(layers) - 1; p >= 0; p-- {
		w := layers[p][best]
		for _, k := range slices.Backward(w.stay) {
			out = append(out, kept{k.note, k.at - bar.At})
		}
		best = w.from
	}
	slices.Reverse(out)
	if len(out) == 0 {
		return all
	}
	return out
}

// heads are the ways to fill one place, from notes[i:j]: one note, none, or all that are sung.
// Where places are halved the second half may come early.
func heads(notes []leadsheet.Note, i, j int, from, to theory.Dur, halves bool) (out [][]kept) {
	var sung []kept
	for k := i; k < j; k++ {
		if len(notes[k].Sung) > 0 {
			sung = append(sung, kept{k, notes[k].At})
		}
	}
	if len(sung) > 0 {
		return [][]kept{sung}
	}
	for k := i; k < j; k++ {
		n := notes[k]
		switch early := n.At - from; {
		case early == 0:
			out = append(out, []kept{{k, n.At}})
		case n.Dur >= to-from:
			out = append(out, []kept{{k, n.At}})
			if notes[i].At == from {
				out = append(out, []kept{{i, from}, {k, n.At}})
			}
		case halves && 2*early == to-from:
			out = append(out, []kept{{k, from}})
		}
	}
	if len(out) == 0 || notes[i].At != from || i > 0 {
		out = append(out, nil)
	}
	return out
}

// joined prices one kept note after another.
func joined(notes []leadsheet.Note, a, b int) int {
	d := notes[b].Pitch.MIDI() - notes[a].Pitch.MIDI()
	if d < 0 {
		d = -d
	}
	if d == 0 {
		for k := a + 1; k <= b; k++ {
			if notes[k].Pitch.MIDI() != notes[a].Pitch.MIDI() && k < b {
				return repeated
			}
		}
		return 0
	}
	return max(0, d-5)
}
