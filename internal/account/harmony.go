package account

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/harmonist"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Harmony is the JSON of the chords that a bare tune was given, in the shape of
// docs/formats.md. The error is the encoder's.
func Harmony(h harmonist.Harmony, ps leadsheet.Problems, w *words.Words) ([]byte, error) {
	out := harmonised{Version: FormatVersion, Key: harmonyKey{h.Key.Tonic.String(), h.Key.Mode.String()}, Rhythm: h.Rhythm.String(),
		Chords: []harmonyChord{}, Problems: w.Problems(append(leadsheet.Problems{}, ps...))}
	for _, c := range h.Chords {
		o := harmonyChord{Measure: c.Measure, Offset: quarters(c.Offset), Symbol: c.Chord.String(), Roman: c.Key.Roman(c.Chord).String(),
			Alternatives: []string{}, Why: Why(c, w)}
		for _, a := range holders(c) {
			o.Alternatives = append(o.Alternatives, a.Chord.String())
		}
		out.Chords = append(out.Chords, o)
	}
	return json.MarshalIndent(out, "", " ")
}

type harmonised struct {
	Version  int                `json:"version"`
	Key      harmonyKey         `json:"key"`
	Rhythm   string             `json:"rhythm"`
	Chords   []harmonyChord     `json:"chords"`
	Problems leadsheet.Problems `json:"problems"`
}

type harmonyKey struct {
	Tonic string `json:"tonic"`
	Mode  string `json:"mode"`
}

type harmonyChord struct {
	Measure      int      `json:"measure"`
	Offset       string   `json:"offset"`
	Symbol       string   `json:"symbol"`
	Roman        string   `json:"roman"`
	Alternatives []string `json:"alternatives"`
	Why          string   `json:"why"`
}

// quarters writes a length as a fraction of quarters: "0", "1", "3/2".
func quarters(d theory.Dur) string {
	n, q := int(d), int(theory.Quarter)
	for a, b := n, q; ; a, b = b, a%b {
		if b == 0 {
			if a == 0 {
				return "0"
			}
			n, q = n/a, q/a
			break
		}
	}
	if q == 1 {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%d/%d", n, q)
}

// Why says why a chord stands over a bare tune: what it does in the key, what of the tune
// it holds, and what the next likeliest would.
func Why(c harmonist.Chord, w *words.Words) string {
	parts := []string{doing(c, w), holding(c.Holds, c.Leaves, w)}
	if others := holders(c); len(others) > 0 {
		o := others[0]
		parts = append(parts, w.Say("harmonised.instead", "Chord", o.Chord, "Roman", c.Key.Roman(o.Chord), "Holds", holding(o.Holds, o.Leaves, w),
			"Sure", c.Sure, "Other", o.Sure))
	}
	return strings.Join(parts, "; ")
}

// holders are the chords that could stand in the place of one and hold something of the tune;
// where nothing holds any, all.
func holders(c harmonist.Chord) []harmonist.Other {
	held := slices.DeleteFunc(slices.Clone(c.Others), func(o harmonist.Other) bool { return len(o.Holds) == 0 })
	if len(held) == 0 && len(c.Holds) == 0 {
		return c.Others
	}
	return held
}

// doing says what a chord does in its key.
func doing(c harmonist.Chord, w *words.Words) string {
	r := c.Key.Roman(c.Chord)
	if goal, ok := c.Leads(); ok {
		if c.Next == (theory.Chord{}) || c.Next.Root.Class() != goal.Class() {
			return w.Say("harmonised.applied", "Roman", r, "Goal", r.Of)
		}
		return w.Say("harmonised.leads", "Roman", r, "Goal", r.Of, "Next", c.Next)
	}
	switch r.Kind {
	case theory.Borrowed:
		return w.Say("harmonised.borrowed", "Roman", r)
	case theory.Chromatic, theory.PassingDim, theory.Substitute:
		return w.Say("harmonised.passing", "Roman", r)
	}
	switch {
	case r.Degree == 7 && r.Alter == -1:
		return w.Say("harmonised.subtonic", "Roman", r)
	case r.Degree < 1 || r.Degree > 7:
		return w.Say("harmonised.passing", "Roman", r)
	}
	return w.Say(fmt.Sprintf("harmonised.degree-%d", r.Degree), "Roman", r)
}

// holding says which notes of the tune a chord has.
func holding(holds, leaves []theory.Name, w *words.Words) string {
	names := func(ns []theory.Name) string {
		var out []string
		for _, n := range ns {
			out = append(out, w.Name(n))
		}
		return w.List(out)
	}
	switch {
	case len(holds) == 0 && len(leaves) == 0:
		return w.Say("harmonised.rest")
	case len(holds) == 0:
		return w.Say("harmonised.none", "Leaves", names(leaves))
	case len(leaves) == 0:
		return w.Say("harmonised.all", "Holds", names(holds))
	}
	return w.Say("harmonised.some", "Holds", names(holds), "Leaves", names(leaves))
}
