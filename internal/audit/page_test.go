package audit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// sheet is a little score for a test: one line of text a voice.
//
// A voice is a list of tokens "C4:1" (pitch, quarters), "C3+E3+G3:2" (struck
// together), "r:1" (a rest). "~" before a chord rolls it, "(C3):0.5" is a ghost
// note, "^C#5" a grace note before what follows.
type sheet struct {
	meter  string // "4/4" by default
	key    string // "C" by default
	pickup float64
	bars   int // 0: as many as the right hand fills
	tempo  int // quarters a minute; 0: none printed
	swing  bool
	rh     []string
	lh     []string
	chords string // "C:4 F:2 G7:2"; "N.C.:4"
	pedal  string // "0-4 4-8", in quarters

	melody string             // the sheet's tune; empty: no sheet
	tune   string             // the sheet's chords; empty: the printed ones
	parts  map[int]string     // sections by bar index
	change func(*score.Score) // a last touch
}

func (s sheet) score(t testing.TB) (score.Score, Options) {
	t.Helper()
	if s.meter == "" {
		s.meter = "4/4"
	}
	if s.key == "" {
		s.key = "C"
	}
	var m leadsheet.Meter
	if _, err := fmt.Sscanf(s.meter, "%d/%d", &m.Beats, &m.Unit); err != nil {
		t.Fatal(err)
	}
	key, err := theory.ParseKey(s.key)
	if err != nil {
		t.Fatal(err)
	}
	var out score.Score
	var end theory.Dur
	for hand, voices := range map[score.Hand][]string{score.Right: s.rh, score.Left: s.lh} {
		for v, text := range voices {
			notes, to := readVoice(t, text, hand, uint8(v+1))
			out.Notes = append(out.Notes, notes...)
			end = max(end, to)
		}
	}
	pick := quarters(s.pickup)
	if s.bars > 0 {
		end = pick + theory.Dur(s.bars)*m.Bar()
	}
	at := theory.Dur(0)
	if pick > 0 {
		out.Bars = append(out.Bars, score.Bar{At: 0, Dur: pick, Meter: m, Key: key, Pickup: true})
		at = pick
	}
	for n := 1; at < end; n++ {
		out.Bars = append(out.Bars, score.Bar{At: at, Dur: m.Bar(), Meter: m, Key: key, Number: n})
		at += m.Bar()
	}
	for i, name := range s.parts {
		out.Bars[i].Section = name
	}
	if s.tempo > 0 {
		out.Tempo = leadsheet.Tempo{Beat: theory.Quarter, PerMinute: s.tempo}
	}
	if s.swing {
		out.Feel, out.Swing = leadsheet.Swing, score.Ratio{First: 2, Second: 1}
	}
	out.Chords = readChords(t, s.chords)
	for _, span := range strings.Fields(s.pedal) {
		from, to, _ := strings.Cut(span, "-")
		out.Directions = append(out.Directions,
			score.Direction{At: quarters(number(t, from)), Kind: score.PedalDown, Hand: score.Left},
			score.Direction{At: quarters(number(t, to)), Kind: score.PedalUp, Hand: score.Left})
	}
	out = out.Finish()
	var opt Options
	if s.melody != "" {
		song := leadsheet.Song{Key: key, Meter: m, Tempo: out.Tempo}
		for _, b := range out.Bars {
			song.Bars = append(song.Bars, leadsheet.Bar{At: b.At, Dur: b.Dur, Meter: m, Key: key, Number: b.Number, Pickup: b.Pickup, Section: b.Section})
		}
		notes, _ := readVoice(t, s.melody, score.Right, 1)
		var graces []theory.Pitch
		for _, n := range notes {
			if n.Grace > 0 {
				graces = append(graces, n.Pitch)
				continue
			}
			song.Melody = append(song.Melody, leadsheet.Note{At: n.At, Dur: n.Dur, Pitch: n.Pitch, Graces: graces})
			graces = nil
		}
		text := s.tune
		if text == "" {
			text = s.chords
		}
		for _, c := range readChords(t, text) {
			song.Chords = append(song.Chords, leadsheet.ChordMark{At: c.At, Chord: c.Chord, Text: c.Text})
		}
		opt.Song = &song
	}
	if s.change != nil {
		s.change(&out)
	}
	return out, opt
}

func quarters(q float64) theory.Dur { return theory.Dur(math.Round(q * float64(theory.Quarter))) }

func number(t testing.TB, s string) float64 {
	t.Helper()
	a, b, frac := strings.Cut(s, "/")
	x, err := strconv.ParseFloat(a, 64)
	if err != nil {
		t.Fatal(err)
	}
	if frac {
		y, err := strconv.ParseFloat(b, 64)
		if err != nil {
			t.Fatal(err)
		}
		x /= y
	}
	return x
}

func readVoice(t testing.TB, text string, hand score.Hand, voice uint8) ([]score.Note, theory.Dur) {
	t.Helper()
	var notes []score.Note
	var at theory.Dur
	var graces uint8
	for _, tok := range strings.Fields(text) {
		if g, ok := strings.CutPrefix(tok, "^"); ok {
			graces++
			notes = append(notes, score.Note{Hand: hand, Voice: voice, At: at, Pitch: pitch(t, g), Grace: graces})
			continue
		}
		graces = 0
		what, length, ok := strings.Cut(tok, ":")
		if !ok {
			t.Fatalf("%q has no length", tok)
		}
		dur := quarters(number(t, length))
		var marks score.Marks
		if w, ok := strings.CutPrefix(what, "~"); ok {
			what, marks = w, score.Rolled
		}
		if w, ok := strings.CutPrefix(what, "("); ok {
			what, marks = strings.TrimSuffix(w, ")"), marks|score.Ghost
		}
		if what != "r" {
			for _, n := range strings.Split(what, "+") {
				notes = append(notes, score.Note{Hand: hand, Voice: voice, At: at, Dur: dur, Pitch: pitch(t, n), Marks: marks})
			}
		}
		at += dur
	}
	return notes, at
}

func readChords(t testing.TB, text string) []score.Symbol {
	t.Helper()
	var out []score.Symbol
	var at theory.Dur
	for _, tok := range strings.Fields(text) {
		i := strings.LastIndexByte(tok, ':')
		sym, err := theory.ParseSymbol(tok[:i])
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, score.Symbol{At: at, Chord: sym.Chord, Text: tok[:i]})
		at += quarters(number(t, tok[i+1:]))
	}
	return out
}

func pitch(t testing.TB, s string) theory.Pitch {
	t.Helper()
	p, err := theory.ParsePitch(s)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func lines(vs []Violation) string {
	var b strings.Builder
	for _, v := range vs {
		b.WriteString("\n\t" + v.String())
	}
	return b.String()
}
