package teach

import (
	"regexp"
	"slices"
	"strings"

	"gradatim/internal/notate"
	"gradatim/score"
)

// Sign is a sign of the pages or of the words, explained.
type Sign struct {
	Sign    string `json:"sign"`
	Meaning string `json:"meaning"`
}

// substitutes finds the numeral of a dominant a half step above its goal.
var substitutes = regexp.MustCompile(`♭II\d`)

// signs explains the signs that the lesson uses (common practice, no source).
func (w *writer) signs(levels []LevelLesson) []Sign {
	romans := ""
	for _, l := range levels {
		for _, c := range l.Chords {
			for _, u := range c.Uses {
				romans += u.Roman + " "
			}
		}
	}
	notes := func(is func(score.Note) bool) bool {
		for _, p := range w.pages {
			for _, n := range p.Score.Notes {
				if is(n) {
					return true
				}
			}
		}
		return false
	}
	has := func(m score.Marks) bool { return notes(func(n score.Note) bool { return n.Marks.Has(m) }) }
	drawn := func(o score.Ornament) bool { return notes(func(n score.Note) bool { return n.Ornament == o }) }
	out := []Sign{}
	for _, s := range []struct {
		used bool
		key  string
	}{
		{romans != "", "degree"},
		{strings.Contains(romans, "°"), "diminished"},
		{strings.Contains(romans, "ø"), "half-diminished"},
		{strings.Contains(romans, "+"), "augmented"},
		{strings.Contains(romans, "/"), "applied"},
		{substitutes.MatchString(romans), "substitute"},
		{strings.Contains(romans, "♭I") || strings.Contains(romans, "♭V") || strings.Contains(romans, "♭i") || strings.Contains(romans, "♭v"), "lowered"},
		{has(score.Ghost), "ghost"},
		{w.reminds(), "courtesy"},
		{has(score.Rolled), "rolled"},
		{notes(func(n score.Note) bool { return n.Hand == score.Right && n.Grace == 0 && isAdded(n) }), "added"},
		{has(score.Slashed), "crushed"},
		{has(score.Staccato), "staccato"},
		{has(score.Tenuto), "tenuto"},
		{has(score.Accent), "accent"},
		{has(score.Fermata), "fermata"},
		{w.grows(), "hairpins"},
		{w.pedals(), "pedal"},
		{drawn(score.Mordent) || drawn(score.UpperMordent), "mordent"},
		{drawn(score.Turn), "turn"},
		{drawn(score.Trill), "trill"},
		{drawn(score.Tremolo), "tremolo"},
	} {
		if s.used {
			out = append(out, Sign{w.say("sign." + s.key + ".sign"), w.say("sign." + s.key + ".meaning")})
		}
	}
	return out
}

// grows tells whether a page has hairpins.
func (w *writer) grows() bool {
	return slices.ContainsFunc(w.pages, func(p page) bool { return len(p.Score.Hairpins()) > 0 })
}

// pedals tells whether a page has the pedal written in.
func (w *writer) pedals() bool {
	return slices.ContainsFunc(w.pages, func(p page) bool {
		return slices.ContainsFunc(p.Score.Directions, func(d score.Direction) bool { return d.Kind == score.PedalDown })
	})
}

// reminds tells whether a page has an accidental in parentheses, which is known only once it
// is decided how the page is written.
func (w *writer) reminds() bool {
	for _, p := range w.pages {
		written, _ := notate.Of(p.Score)
		for _, b := range written.Bars {
			for _, v := range b.Voices {
				for _, e := range v.Events {
					if slices.ContainsFunc(e.Heads, func(h notate.Head) bool { return h.Accidental == notate.Courtesy }) {
						return true
					}
				}
			}
		}
	}
	return false
}

// isAdded tells whether a note adorns the tune.
func isAdded(n score.Note) bool {
	return n.Origin.Kind == score.Fill || n.Origin.Kind == score.Run || n.Origin.Kind == score.Ornamental
}
