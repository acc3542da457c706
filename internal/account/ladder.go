package account

import (
	"encoding/json"
	"fmt"

	"gradatim/internal/edition"
	"gradatim/internal/idiom"
	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// Summary is the JSON of a whole ladder, in the shape of docs/formats.md. stem is
// what Files names the levels by, ps what was told when the sheet was read, list what
// stands in the folder, where there is one. The error is the encoder's: nil for what
// edition.Make returns.
func Summary(stem string, as []edition.Page, ps leadsheet.Problems, list *List) ([]byte, error) {
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
		Folded   bool               `json:"folded"`
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
		Kind     string             `json:"kind"`
		Title    string             `json:"title"`
		Levels   []level            `json:"levels"`
		Problems leadsheet.Problems `json:"problems"`
		*List
	}{Version: FormatVersion, Kind: listKind, Problems: orEmpty(ps), List: list}
	for _, a := range as {
		out.Title = a.Score.Title
		w := words.Must(a.Language)
		l := level{Level: a.Level.Number, Name: a.Level.Hyphenated(), Bars: countBars(a.Song), Folded: a.Score.Repeats(), Key: a.Song.Key.String(), Meter: a.Song.Meter.String(),
			Feel: a.Score.Feel.String(), Idiom: idiomSummary(w, a.Idiom), Manner: a.Kind.ID, Tempo: a.Score.Tempo.QuartersPerMinute(),
			Caps: technique.Measure(a.Score, a.Level.Caps), Problems: orEmpty(a.Problems), Used: []use{}, Files: []string{}}
		if !a.Failed {
			l.Files = Files(stem, a.Level.Number)
		}
		for _, u := range a.Used {
			l.Used = append(l.Used, use{u.Technique, w.Technique(u.Technique).Title(), u.Bars})
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
