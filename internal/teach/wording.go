package teach

import (
	"strconv"
	"strings"

	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// say words a message of the lesson that claims nothing of notes; what does is said by
// claim.
func (w *writer) say(key string, parts ...any) string { return say(w.words, key, parts) }

func (p *page) say(key string, parts ...any) string { return say(p.words, key, parts) }

func say(w *words.Words, key string, parts []any) string {
	if _, claims := proofs[key]; claims {
		panic("teach: " + key + " has a proof and is said without it")
	}
	return w.Say("lesson."+key, parts...)
}

// tempoOf puts a metronome mark in words.
func tempoOf(w *words.Words, t leadsheet.Tempo) Tempo {
	return Tempo{Beat: w.Value(t.Beat), Value: t.Beat, PerMinute: t.PerMinute}
}

// barsOf are bars by their printed numbers, to be named.
func barsOf(numbers ...int) words.Bars { return words.Bars(numbers) }

// sentence closes a clause.
func sentence(s string) string {
	s = strings.TrimRight(strings.TrimSpace(s), ".;, ")
	if s == "" {
		return ""
	}
	return words.Upper(s) + "."
}

func wordCount(s string) int { return len(strings.Fields(s)) }

// toneOf is what a note is over a chord; ok is false where it is no tone of it.
func toneOf(c theory.Chord, n theory.Name) (words.Tone, bool) {
	d, ok := c.Degree(n)
	return words.Tone{Degree: d, Chord: c}, ok && !c.Silent()
}

// meterCount is what is said aloud in a bar, down to a note value.
func meterCount(w *words.Words, m leadsheet.Meter, shortest theory.Dur) string {
	var out []string
	switch {
	case m.Quick(): // each foot from one: 1 2 1 2 1 2 3
		for _, n := range m.Feet() {
			for i := range n {
				out = append(out, strconv.Itoa(i+1))
			}
		}
	case m.Compound():
		sub := m.BeatDur() / 3
		for i := range int(m.Bar() / sub) {
			out = append(out, strconv.Itoa(i+1))
		}
	default:
		and := w.Say("lesson.count.and")
		beat := m.BeatDur()
		for i := range m.BeatCount() {
			out = append(out, strconv.Itoa(i+1))
			switch {
			case shortest >= beat:
			case shortest >= beat/2:
				out = append(out, and)
			default:
				out = append(out, w.Say("lesson.count.e"), and, w.Say("lesson.count.a"))
			}
		}
	}
	return strings.Join(out, " ")
}

// beatOf is the place of a moment in its bar.
func beatOf(s score.Score, at theory.Dur) leadsheet.Beat { return s.PosAt(at).Beat }
