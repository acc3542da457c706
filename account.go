package gradatim

import (
	"encoding/json"
	"fmt"

	"gradatim/internal/arrange"
	"gradatim/internal/idiom"
	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// FormatVersion is the version of every JSON shape of the command line, as
// documented in docs/formats.md.
const FormatVersion = 1

type accountNote struct {
	ID     string        `json:"id"`
	Origin accountOrigin `json:"origin"`
}

type accountOrigin struct {
	Kind      score.Kind `json:"kind"`
	Melody    *int       `json:"melody"`
	Technique string     `json:"technique"`
	Why       string     `json:"why"`
}

type accountChord struct {
	Bar     int              `json:"bar"`
	Beat    string           `json:"beat"`
	Sheet   string           `json:"sheet"`
	Device  string           `json:"device,omitempty"`
	Chords  []accountSymbol  `json:"chords"`
	Instead []accountInstead `json:"instead,omitempty"`
}

type accountSymbol struct {
	Bar    int    `json:"bar"`
	Beat   string `json:"beat"`
	Symbol string `json:"symbol"`
	Roman  string `json:"roman,omitempty"`
	Why    string `json:"why,omitempty"`
}

type accountInstead struct {
	Device string   `json:"device,omitempty"`
	Chords []string `json:"chords"`
	Extra  int      `json:"extra_cost"`
}

// Account is the JSON that explains every note and chord of a page; its shape is
// in docs/formats.md. The error is the encoder's: nil for what Ladder returns.
func Account(a Arrangement) ([]byte, error) {
	out := struct {
		Version int            `json:"version"`
		Title   string         `json:"title"`
		Level   int            `json:"level"`
		Name    string         `json:"name"`
		Key     string         `json:"key"`
		Notes   []accountNote  `json:"notes"`
		Harmony []accountChord `json:"harmony"`
	}{Version: FormatVersion, Title: a.Score.Title, Level: a.Level.Number, Name: a.Level.Hyphenated(), Key: a.Song.Key.String(),
		Notes: []accountNote{}, Harmony: []accountChord{}}
	w := words.Must(a.Language)
	for _, n := range a.Score.Notes {
		o := accountOrigin{Kind: n.Origin.Kind, Technique: n.Origin.Technique, Why: w.Reason(n.Origin.Why)}
		if i, ok := n.Origin.Event(); ok {
			o.Melody = &i
		}
		out.Notes = append(out.Notes, accountNote{n.ID, o})
	}
	for _, d := range a.Decisions {
		out.Harmony = append(out.Harmony, chordAccount(w, a, d))
	}
	return json.MarshalIndent(out, "", " ")
}

func chordAccount(w *words.Words, a Arrangement, d arrange.Decision) accountChord {
	pos := a.Score.PosAt(d.At)
	c := accountChord{Bar: pos.Bar, Beat: pos.Beat.String(), Sheet: d.Sheet.String(), Device: d.Device}
	for _, ch := range d.Chords {
		at := a.Score.PosAt(ch.At)
		s := accountSymbol{Bar: at.Bar, Beat: at.Beat.String(), Symbol: ch.Chord.String(), Why: w.Reason(ch.Why)}
		if k := a.keyAt(ch.At); k.Valid() && !ch.Chord.Silent() {
			s.Roman = k.Roman(ch.Chord).String()
		}
		c.Chords = append(c.Chords, s)
	}
	for _, o := range d.Others {
		in := accountInstead{Device: o.Device, Extra: o.Extra}
		for _, ch := range o.Chords {
			in.Chords = append(in.Chords, ch.Chord.String())
		}
		c.Instead = append(c.Instead, in)
	}
	return c
}

func (a Arrangement) keyAt(at theory.Dur) theory.Key {
	if i := a.Score.BarAt(at); i >= 0 {
		return a.Score.Bars[i].Key
	}
	return theory.Key{}
}

// Summary is the JSON of a whole ladder, in the shape of docs/formats.md. stem is
// what Files names the levels by, ps what was told when the sheet was read. The
// error is the encoder's: nil for what Ladder returns.
func Summary(stem string, as []Arrangement, ps leadsheet.Problems) ([]byte, error) {
	type use struct {
		Technique string `json:"technique"`
		Name      string `json:"name"`
		Bars      []int  `json:"bars"`
	}
	type level struct {
		Level    int                `json:"level"`
		Name     string             `json:"name"`
		Files    []string           `json:"files"`
		Bars     int                `json:"bars"`
		Key      string             `json:"key"`
		Meter    string             `json:"meter"`
		Feel     string             `json:"feel"`
		Idiom    summaryIdiom       `json:"idiom"`
		Manner   string             `json:"manner"`
		Tempo    int                `json:"tempo_quarters_per_minute"`
		Used     []use              `json:"techniques"`
		Caps     technique.CapsKept `json:"caps"`
		Problems leadsheet.Problems `json:"problems"`
	}
	out := struct {
		Version  int                `json:"version"`
		Title    string             `json:"title"`
		Levels   []level            `json:"levels"`
		Problems leadsheet.Problems `json:"problems"`
	}{Version: FormatVersion, Problems: orEmpty(ps)}
	for _, a := range as {
		out.Title = a.Score.Title
		l := level{Level: a.Level.Number, Name: a.Level.Hyphenated(), Bars: countBars(a.Song), Key: a.Song.Key.String(), Meter: a.Song.Meter.String(),
			Feel: a.Score.Feel.String(), Idiom: idiomSummary(words.Must(a.Language), a.Idiom), Manner: a.Kind.ID, Tempo: a.Score.Tempo.QuartersPerMinute(),
			Caps: technique.Measure(a.Score, a.Level.Caps), Problems: orEmpty(a.Problems), Used: []use{}, Files: []string{}}
		if !a.Failed {
			l.Files = Files(stem, a.Level.Number)
		}
		for _, u := range a.Used {
			l.Used = append(l.Used, use{u.Technique, words.Must(a.Language).Technique(u.Technique).Title(), u.Bars})
		}
		out.Levels = append(out.Levels, l)
	}
	return json.MarshalIndent(out, "", " ")
}

// summaryIdiom is which kind of tune the sheet was taken for.
type summaryIdiom struct {
	Kind   string   `json:"kind"`
	Sure   bool     `json:"sure"`
	Second string   `json:"second,omitempty"`
	Why    []string `json:"why"`
}

func idiomSummary(w *words.Words, g idiom.Guess) summaryIdiom {
	out := summaryIdiom{Kind: g.Idiom.ID, Sure: g.Sure, Second: g.Second.ID, Why: []string{}}
	for _, e := range g.Reasons {
		out.Why = append(out.Why, w.Reason(e.Why()))
	}
	return out
}

// Files names what a level is written to: its page, its MIDI file and its account.
func Files(stem string, level int) []string {
	base := fmt.Sprintf("%s.%d", stem, level)
	return []string{base + ".musicxml", base + ".mid", base + ".json"}
}

func orEmpty(ps leadsheet.Problems) leadsheet.Problems {
	if ps == nil {
		return leadsheet.Problems{}
	}
	return ps
}
