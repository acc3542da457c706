package account

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/harmony"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Told are a song's Problems with those of its analysis, but for those that proof-reading
// has told already.
func Told(song leadsheet.Song) leadsheet.Problems { return told(song, harmony.Analyse(song)) }

func told(song leadsheet.Song, an harmony.Analysis) leadsheet.Problems {
	out := append(leadsheet.Problems{}, song.Problems...)
	for _, p := range an.Problems {
		if !slices.ContainsFunc(out, func(q leadsheet.Problem) bool { return q.Says == p.Says && q.Pos == p.Pos }) {
			out = append(out, p)
		}
	}
	out.Sort()
	return out
}

// Sheet is the JSON of what was understood of a lead sheet, in the shape of
// docs/formats.md. The error is the encoder's: nil for what Read returns.
func Sheet(song leadsheet.Song, w *words.Words) ([]byte, error) {
	an := harmony.Analyse(song)
	out := sheet{Version: FormatVersion, Title: song.Title, Rhythm: song.Rhythm, Form: song.Form, Order: orderOf(song), Feel: song.Feel.String(),
		Key:    sheetKey{Name: song.Key.String(), Declared: song.KeyDeclared, Estimate: an.Estimate.String()},
		Meter:  sheetMeter{Name: song.Meter.String(), Declared: song.MeterDeclared},
		Rights: sheetRights(song.Rights), Words: song.Words, Melody: []sheetNote{}, Chords: []sheetChord{}, Bars: []sheetBar{}, Phrases: []sheetPhrase{}, Gaps: []sheetGap{},
		Problems: w.Problems(told(song, an))}
	if song.Tempo.Set() {
		out.Tempo = &sheetTempo{Beat: song.Tempo.Beat.String(), PerMinute: song.Tempo.PerMinute, Words: song.Tempo.Words}
	}
	for _, b := range song.Bars {
		out.Bars = append(out.Bars, sheetBar{b.Number, b.Written + 1, b.Section, b.Dur.String(), b.Meter.String(), b.Key.String(), b.Pickup})
	}
	for i, n := range song.Melody {
		pos := song.PosAt(n.At)
		sn := sheetNote{Bar: pos.Bar, Beat: pos.Beat.String(), Pitch: n.Pitch.String(), Length: n.Dur.String(), Lyric: n.Lyric()}
		if i < len(an.Roles) {
			sn.Role = an.Roles[i].Kind.String()
		}
		for _, y := range n.Sung {
			if y.Verse > 1 && !y.Held {
				sn.Verses = append(sn.Verses, sheetVerse{y.Verse, y.String()})
			}
		}
		for _, g := range n.Graces {
			sn.Graces = append(sn.Graces, g.String())
		}
		out.Melody = append(out.Melody, sn)
	}
	for _, c := range song.Chords {
		pos := song.PosAt(c.At)
		sc := sheetChord{Bar: pos.Bar, Beat: pos.Beat.String(), Written: c.Text, Optional: c.Optional, Unknown: c.Unknown}
		if !c.Unknown {
			sc.Symbol = symbolText(c.Chord)
		}
		if sp, ok := an.SpanAt(c.At); ok && sp.Sounding() {
			sc.Roman, sc.Function = sp.Roman.String(), sp.Function.String()
		}
		out.Chords = append(out.Chords, sc)
	}
	for _, p := range an.Phrases {
		out.Phrases = append(out.Phrases, sheetPhrase{song.Bars[p.First].Number, song.Bars[p.Last].Number, p.Cadence.String(), p.Rhythm.String()})
	}
	for _, g := range an.Gaps {
		pos := song.PosAt(g.At)
		out.Gaps = append(out.Gaps, sheetGap{pos.Bar, pos.Beat.String(), (g.End - g.At).String(), g.Held})
	}
	return json.MarshalIndent(out, "", " ")
}

type sheet struct {
	Version  int                `json:"version"`
	Title    string             `json:"title"`
	Rhythm   string             `json:"rhythm,omitempty"`
	Key      sheetKey           `json:"key"`
	Meter    sheetMeter         `json:"meter"`
	Tempo    *sheetTempo        `json:"tempo"`
	Feel     string             `json:"feel"`
	Form     string             `json:"form"`
	Order    []sheetRun         `json:"order"`
	Rights   sheetOwner         `json:"rights"`
	Words    []string           `json:"words,omitempty"`
	Bars     []sheetBar         `json:"bars"`
	Melody   []sheetNote        `json:"melody"`
	Chords   []sheetChord       `json:"chords"`
	Phrases  []sheetPhrase      `json:"phrases"`
	Gaps     []sheetGap         `json:"gaps"`
	Problems leadsheet.Problems `json:"problems"`
}

type sheetKey struct {
	Name     string `json:"name"`
	Declared bool   `json:"declared"`
	Estimate string `json:"estimate"`
}

type sheetMeter struct {
	Name     string `json:"name"`
	Declared bool   `json:"declared"`
}

type sheetTempo struct {
	Beat      string `json:"beat"`
	PerMinute int    `json:"per_minute"`
	Words     string `json:"words,omitempty"`
}

type sheetBar struct {
	Number  int    `json:"number"`
	Written int    `json:"written"`
	Section string `json:"section,omitempty"`
	Length  string `json:"length"`
	Meter   string `json:"meter"`
	Key     string `json:"key"`
	Pickup  bool   `json:"pickup,omitempty"`
}

type sheetNote struct {
	Bar    int          `json:"bar"`
	Beat   string       `json:"beat"`
	Pitch  string       `json:"pitch"`
	Length string       `json:"length"`
	Role   string       `json:"role,omitempty"`
	Lyric  string       `json:"lyric,omitempty"`
	Verses []sheetVerse `json:"verses,omitempty"`
	Graces []string     `json:"graces,omitempty"`
}

type sheetVerse struct {
	Verse int    `json:"verse"`
	Lyric string `json:"lyric"`
}

type sheetChord struct {
	Bar      int    `json:"bar"`
	Beat     string `json:"beat"`
	Written  string `json:"written"`
	Symbol   string `json:"symbol,omitempty"`
	Roman    string `json:"roman,omitempty"`
	Function string `json:"function,omitempty"`
	Optional bool   `json:"optional,omitempty"`
	Unknown  bool   `json:"unknown,omitempty"`
}

type sheetPhrase struct {
	From    int    `json:"from_bar"`
	To      int    `json:"to_bar"`
	Cadence string `json:"cadence"`
	Rhythm  string `json:"harmonic_rhythm"`
}

type sheetGap struct {
	Bar    int    `json:"bar"`
	Beat   string `json:"beat"`
	Length string `json:"length"`
	Held   bool   `json:"held"`
}

type sheetOwner struct {
	Composers []string `json:"composers"`
	Lyricists []string `json:"lyricists,omitempty"`
	Arranger  string   `json:"arranger,omitempty"`
	Source    string   `json:"source,omitempty"`
	Year      int      `json:"year,omitempty"`
	Status    string   `json:"status"`
	Text      string   `json:"text,omitempty"`
}

func sheetRights(r leadsheet.Rights) sheetOwner {
	o := sheetOwner{Composers: people(r.Composers), Arranger: r.Arranger, Source: r.Source, Year: r.Year, Status: r.Status.String(), Text: r.Text}
	if len(r.Lyricists) > 0 {
		o.Lyricists = people(r.Lyricists)
	}
	return o
}

func people(ps []leadsheet.Person) []string {
	out := []string{}
	for _, p := range ps {
		if p.Died > 0 {
			out = append(out, fmt.Sprintf("%s (d. %d)", p.Name, p.Died))
		} else {
			out = append(out, p.Name)
		}
	}
	return out
}

func symbolText(c theory.Chord) string {
	if c.Silent() {
		return "N.C."
	}
	return c.String()
}

// SheetText is the same for a reader: a header, then each bar with its chords and
// its tune, in playing order.
func SheetText(song leadsheet.Song) string {
	an := harmony.Analyse(song)
	var b strings.Builder
	line := func(label, format string, args ...any) {
		fmt.Fprintf(&b, "%-9s%s\n", label, fmt.Sprintf(format, args...))
	}
	line("title", "%s", song.Title)
	owner := strings.Join(people(song.Rights.Composers), ", ")
	if owner == "" {
		owner = "composer not named"
	}
	line("rights", "%s; status %s", owner, song.Rights.Status)
	declared := func(yes bool) string {
		if yes {
			return ""
		}
		return " (not stated: a guess)"
	}
	line("key", "%s%s", song.Key.Pretty(), declared(song.KeyDeclared))
	if an.Estimate.Valid() && an.Estimate != song.Key {
		line("", "the notes themselves suggest %s", an.Estimate.Pretty())
	}
	line("metre", "%s%s", song.Meter, declared(song.MeterDeclared))
	if song.Tempo.Set() {
		line("tempo", "%s = %d", song.Tempo.Beat, song.Tempo.PerMinute)
	}
	if song.Feel != leadsheet.Unstated {
		line("feel", "%s", song.Feel)
	}
	form := song.Form
	if form == "" {
		form = "not told"
	}
	line("form", "%s, %d bars as played", form, countBars(song))
	if order := orderText(song); order != "" {
		line("played", "bars %s of the sheet", order)
	}
	b.WriteByte('\n')
	starts := map[int]bool{}
	for _, p := range an.Phrases {
		starts[p.First] = true
	}
	ni, ci := 0, 0
	for i, bar := range song.Bars {
		mark := " "
		if starts[i] {
			mark = "·"
		}
		var l strings.Builder
		fmt.Fprintf(&l, "%3d%s", bar.Number, mark)
		if bar.Section != "" {
			fmt.Fprintf(&l, "[%s] ", bar.Section)
		}
		for ; ci < len(song.Chords) && song.Chords[ci].At < bar.End(); ci++ {
			c := song.Chords[ci]
			text := "?" + c.Text
			if !c.Unknown {
				text = symbolText(c.Chord)
			}
			fmt.Fprintf(&l, "%s@%s ", text, song.PosAt(c.At).Beat)
		}
		l.WriteString("| ")
		for ; ni < len(song.Melody) && song.Melody[ni].At < bar.End(); ni++ {
			n := song.Melody[ni]
			fmt.Fprintf(&l, "%s@%s:%s ", n.Pitch, song.PosAt(n.At).Beat, n.Dur)
		}
		b.WriteString(strings.TrimRight(l.String(), " "))
		b.WriteByte('\n')
	}
	return b.String()
}

func countBars(s leadsheet.Song) int {
	n := 0
	for _, b := range s.Bars {
		if !b.Pickup {
			n++
		}
	}
	return n
}
