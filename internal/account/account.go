package account

import (
	"encoding/json"

	"gradatim/internal/arrange"
	"gradatim/internal/edition"
	"gradatim/internal/harmony"
	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// FormatVersion is the version of every JSON shape of the command line, as
// documented in docs/formats.md.
const FormatVersion = 1

type note struct {
	ID     string `json:"id"`
	Origin origin `json:"origin"`
}

type origin struct {
	Kind      score.Kind `json:"kind"`
	Melody    *int       `json:"melody"`
	Technique string     `json:"technique"`
	Why       string     `json:"why"`
}

type span struct {
	Part    string    `json:"part,omitempty"`
	Bar     int       `json:"bar"`
	Beat    string    `json:"beat"`
	Sheet   string    `json:"sheet"`
	Device  string    `json:"device,omitempty"`
	Chords  []symbol  `json:"chords"`
	Instead []instead `json:"instead,omitempty"`
}

type symbol struct {
	Part   string `json:"part,omitempty"`
	Bar    int    `json:"bar"`
	Beat   string `json:"beat"`
	Symbol string `json:"symbol"`
	Roman  string `json:"roman,omitempty"`
	Why    string `json:"why,omitempty"`
}

type instead struct {
	Device string   `json:"device,omitempty"`
	Chords []string `json:"chords"`
	Extra  int      `json:"extra_cost"`
}

// Of is the JSON that explains every note and chord of a page; its shape is
// in docs/formats.md. The error is the encoder's: nil for what edition.Make returns.
func Of(a edition.Page) ([]byte, error) {
	out := struct {
		Version int                `json:"version"`
		Title   string             `json:"title"`
		Level   int                `json:"level"`
		Name    string             `json:"name"`
		Key     string             `json:"key"`
		Mended  leadsheet.Problems `json:"mended,omitempty"`
		Form    []section          `json:"form"`
		Climax  *growth            `json:"climax,omitempty"`
		Notes   []note             `json:"notes"`
		Harmony []span             `json:"harmony"`
	}{Version: FormatVersion, Title: a.Score.Title, Level: a.Level.Number, Name: a.Level.Hyphenated(), Key: a.Song.Key.String(),
		Notes: []note{}, Harmony: []span{}}
	out.Form, out.Climax = formOf(a)
	w := words.Must(a.Language)
	for _, p := range a.Song.Problems {
		if p.Code == "sheet-mended" {
			out.Mended = append(out.Mended, w.Problem(p))
		}
	}
	played, _, _ := a.Tune()
	melody := make(map[string]*int, len(played.Notes))
	for _, n := range played.Notes {
		if i, ok := n.Origin.Event(); ok {
			melody[n.ID] = &i
		}
	}
	for _, n := range a.Score.Notes {
		o := origin{Kind: n.Origin.Kind, Technique: n.Origin.Technique, Why: w.Reason(n.Origin.Why)}
		if _, ok := n.Origin.Event(); ok {
			o.Melody = melody[n.ID]
		}
		out.Notes = append(out.Notes, note{n.ID, o})
	}
	romans := romansOf(a)
	for _, d := range a.Decisions {
		out.Harmony = append(out.Harmony, spanOf(w, a, d, romans))
	}
	return json.MarshalIndent(out, "", " ")
}

// Origins reads the origins of notes, by id, out of what Of writes. Why a note is there
// stands in it as a sentence only, and is left out.
func Origins(data []byte) (map[string]score.Origin, error) {
	var in struct {
		Notes []note `json:"notes"`
	}
	if err := json.Unmarshal(data, &in); err != nil {
		return nil, err
	}
	out := make(map[string]score.Origin, len(in.Notes))
	for _, n := range in.Notes {
		o := score.Origin{Kind: n.Origin.Kind, Technique: n.Origin.Technique}
		if n.Origin.Melody != nil {
			o.Melody = *n.Origin.Melody + 1
		}
		out[n.ID] = o
	}
	return out, nil
}

// romansOf are the numerals of the chords that were taken, by their place. A chord is
// read between its neighbours, as on the page: a dominant belongs to what it leads to.
func romansOf(a edition.Page) map[theory.Dur]string {
	var all []technique.Chord
	for _, d := range a.Decisions {
		all = append(all, d.Chords...)
	}
	out := make(map[theory.Dur]string, len(all))
	for i, c := range all {
		k := keyAt(a, c.At)
		if !k.Valid() || c.Chord.Silent() {
			continue
		}
		var before, after theory.Chord
		if i > 0 {
			before = all[i-1].Chord
		}
		if i+1 < len(all) {
			after = all[i+1].Chord
		}
		out[c.At] = harmony.Read(k, before, c.Chord, after).Roman(k, c.Chord).String()
	}
	return out
}

func spanOf(w *words.Words, a edition.Page, d arrange.Decision, romans map[theory.Dur]string) span {
	pos := a.Score.PosAt(d.At)
	c := span{Part: partName(pos.Part), Bar: pos.Bar, Beat: pos.Beat.String(), Sheet: d.Sheet.String(), Device: d.Device}
	for _, ch := range d.Chords {
		at := a.Score.PosAt(ch.At)
		c.Chords = append(c.Chords, symbol{Part: partName(at.Part), Bar: at.Bar, Beat: at.Beat.String(), Symbol: ch.Chord.String(), Roman: romans[ch.At], Why: w.Reason(ch.Why)})
	}
	for _, o := range d.Others {
		in := instead{Device: o.Device, Extra: o.Extra}
		for _, ch := range o.Chords {
			in.Chords = append(in.Chords, ch.Chord.String())
		}
		c.Instead = append(c.Instead, in)
	}
	return c
}

// partName names a part of the page beside the tune; "": the tune.
func partName(p leadsheet.Part) string {
	if p == leadsheet.Tune {
		return ""
	}
	return p.String()
}

func keyAt(a edition.Page, at theory.Dur) theory.Key {
	if i := a.Score.BarAt(at); i >= 0 {
		return a.Score.Bars[i].Key
	}
	return theory.Key{}
}
