package gradatim

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// DescribeChords says what chord symbols are, each by itself, in one of Languages ("":
// English). The error is a leadsheet.Problems with all the symbols that cannot be read,
// each with the nearest that can; or the context's, or of the language.
func DescribeChords(ctx context.Context, language string, symbols ...string) (text string, data []byte, err error) {
	w, err := words.In(language)
	if err != nil {
		return "", nil, err
	}
	var ps leadsheet.Problems
	out := chordCards{Version: FormatVersion, Chords: []chordCard{}}
	var b strings.Builder
	for i, s := range symbols {
		sym, err := theory.ParseSymbol(s)
		var bad *theory.SymbolError
		switch {
		case errors.As(err, &bad) && bad.Suggestion != "":
			ps.Tell(leadsheet.Error, leadsheet.Pos{}, "chord-unknown.near", "Symbol", leadsheet.Quoted(bad.Text), "Near", leadsheet.Quoted(bad.Suggestion))
			continue
		case err != nil, sym.Repeat:
			ps.Tell(leadsheet.Error, leadsheet.Pos{}, "chord-unknown.rootless", "Symbol", leadsheet.Quoted(s))
			continue
		}
		card := cardOf(s, sym, w)
		out.Chords = append(out.Chords, card)
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(card.text(sym.Chord, w))
	}
	if err := ps.Err(); err != nil {
		return "", nil, w.Err(err)
	}
	data, err = json.MarshalIndent(out, "", " ")
	if err != nil {
		return "", nil, err
	}
	return b.String(), append(data, '\n'), context.Cause(ctx)
}

type chordCards struct {
	Version int         `json:"version"`
	Chords  []chordCard `json:"chords"`
}

type chordCard struct {
	Written  string       `json:"written"`
	Symbol   string       `json:"symbol"`
	Notes    []string     `json:"notes"`
	Degrees  []string     `json:"degrees"`
	Bass     string       `json:"bass,omitempty"`
	Levels   []chordLevel `json:"levels"`
	Cautions []string     `json:"cautions"`
}

type chordLevel struct {
	Level int    `json:"level"`
	Name  string `json:"name"`
	Plays string `json:"plays"`
	Known bool   `json:"known"`
}

func cardOf(written string, sym theory.Symbol, w *words.Words) chordCard {
	c := sym.Chord
	out := chordCard{Written: written, Symbol: c.String(), Notes: []string{}, Degrees: []string{}, Levels: []chordLevel{}, Cautions: []string{}}
	for _, n := range c.Spell() {
		out.Notes = append(out.Notes, n.String())
	}
	for d := range c.Tones.Normal().All() {
		out.Degrees = append(out.Degrees, d.String())
	}
	if c.Slash {
		out.Bass = c.Bass.String()
	}
	if !c.Silent() {
		for _, l := range ladder.Levels() {
			out.Levels = append(out.Levels, chordLevel{l.Number, strings.ReplaceAll(l.Name, " ", "-"), playedAt(c, l).String(), slices.Contains(l.Known, c.Tones)})
		}
	}
	for _, x := range sym.Cautions {
		out.Cautions = append(out.Cautions, w.Value(x))
	}
	return out
}

// playedAt is what a level may play of a chord by its techniques of harmony: its nearest
// triad, or its notes to the seventh, and what one of them adds.
func playedAt(c theory.Chord, l ladder.Level) theory.Chord {
	var devices []*technique.Technique
	for _, id := range l.Devices {
		if t, ok := technique.ByID(id); ok {
			devices = append(devices, t)
		}
	}
	out := theory.Chord{Root: c.Root, Bass: c.Bass, Slash: c.Slash}
	plain := slices.ContainsFunc(devices, func(t *technique.Technique) bool { return t.Plain })
	if plain {
		out.Tones = c.Triad().Tones
	}
	for d := range c.Tones.All() {
		adds := func(t *technique.Technique) bool { return t.Adds != nil && t.Adds(c, d) }
		if !plain && d.Number <= 7 || slices.ContainsFunc(devices, adds) {
			out.Tones = out.Tones.With(d)
		}
	}
	return out
}

// text is the card for a reader.
func (card chordCard) text(c theory.Chord, w *words.Words) string {
	var b strings.Builder
	if c.Silent() {
		fmt.Fprintf(&b, "%s\n", w.Say("chord-card.silent", "Symbol", c.Pretty()))
		return b.String()
	}
	var names, degrees []string
	for _, n := range c.Spell() {
		names = append(names, w.Name(n))
	}
	for d := range c.Tones.Normal().All() {
		degrees = append(degrees, d.Pretty())
	}
	fmt.Fprintf(&b, "%s\n", w.Say("chord-card.head", "Symbol", c.Pretty(), "Notes", strings.Join(names, " "), "Degrees", strings.Join(degrees, " ")))
	b.WriteString(keyboard(c))
	for i, l := range ladder.Levels() {
		form := "chord-card.plays"
		if card.Levels[i].Known {
			form = "chord-card.known"
		}
		fmt.Fprintf(&b, "%s\n", w.Say(form, "n", l.Number, "Name", w.LevelName(l.Name), "Plays", playedAt(c, l).Pretty()))
	}
	for _, x := range card.Cautions {
		fmt.Fprintf(&b, "%s\n", x)
	}
	return b.String()
}

// keyboard draws two octaves, or three where a tension needs them: white keys by their letters, black ones as blocks, and under
// those that the chord has its degrees, the first as low as it can be.
func keyboard(c theory.Chord) string {
	const keys = "C#D#EF#G#A#B"
	marks, n := map[int]string{}, 24
	for d := range c.Tones.Normal().All() {
		at := c.Root.Class() + int(d.Class())
		if d.Number >= 9 {
			at += 12
		}
		marks[at] = d.Pretty()
		n = max(n, at/12*12+12)
	}
	var top, low strings.Builder
	for k := range n {
		key := string(keys[k%12])
		if key == "#" {
			key = "▮"
		}
		fmt.Fprintf(&top, "%-3s", key)
		fmt.Fprintf(&low, "%-3s", marks[k])
	}
	return "  " + strings.TrimRight(top.String(), " ") + "\n  " + strings.TrimRight(low.String(), " ") + "\n"
}
