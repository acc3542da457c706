package ladder

import (
	"fmt"

	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Choice is what a teacher has fixed by hand at one level, from a moment of the
// song until another: a chord, a technique to use, or one to leave alone.
type Choice struct {
	Level     int
	At, Until theory.Dur // Until is exclusive
	Chord     theory.Chord
	HasChord  bool
	Technique string // id, of any stage; a texture is a left-hand technique
	Avoid     string // id
	Pos       leadsheet.Pos
}

// For tells whether the choice is one for a level.
func (c Choice) For(l Level) bool { return c.Level == l.Number }

type choicesFile struct {
	Choice []struct {
		Level     any     `toml:"level"`
		Bar       int     `toml:"bar"`
		Beat      float64 `toml:"beat"`
		Bars      int     `toml:"bars"`
		Beats     float64 `toml:"beats"`
		Chord     string  `toml:"chord"`
		Technique string  `toml:"technique"`
		Texture   string  `toml:"texture"`
		Avoid     string  `toml:"avoid"`
	} `toml:"choice"`
}

// ParseChoices reads a choices file (docs/formats.md) for a song. What cannot
// mean anything is reported, all of it, and stops the run: a choice is never
// dropped silently.
func ParseChoices(name string, data []byte, song leadsheet.Song, levels []Level) ([]Choice, error) {
	var f choicesFile
	ps, ok := decode(name, data, &f, "choice", "a choices file")
	if !ok {
		return nil, ps
	}
	var out []Choice
	for _, c := range f.Choice {
		pos := leadsheet.Pos{File: name, Bar: c.Bar, Beat: leadsheet.Beat(max(1, c.Beat) * float64(leadsheet.BeatUnit))}
		bad := func(code, text, fix string) { ps.Add(leadsheet.Error, pos, code, text, fix) }
		level, ok := levelNumber(c.Level, levels)
		if !ok {
			bad("choice-level", fmt.Sprintf("level %v is not there", c.Level), "the levels are "+names(levels))
			continue
		}
		at, until, ok := place(song, c.Bar, pos.Beat, c.Bars, c.Beats)
		if !ok {
			bad("choice-place", fmt.Sprintf("the tune has no bar %d, beat %s", c.Bar, pos.Beat), "bars are counted in playing order, as printed")
			continue
		}
		choice := Choice{Level: level, At: at, Until: until, Pos: pos}
		if c.Chord != "" {
			sym, err := theory.ParseSymbol(c.Chord)
			if err != nil || sym.Repeat {
				bad("choice-chord", fmt.Sprintf("the chord %q cannot be read", c.Chord), "write it as on a lead sheet")
				continue
			}
			choice.Chord, choice.HasChord = sym.Chord, true
		}
		if c.Texture != "" {
			t, ok := technique.ByID(c.Texture)
			if !ok || t.Stage != technique.LeftHand {
				bad("choice-texture", fmt.Sprintf("%q is no left-hand texture", c.Texture), "see docs/techniques.md")
				continue
			}
			choice.Technique = c.Texture
		}
		for _, id := range []string{c.Technique, c.Avoid} {
			if _, ok := technique.ByID(id); id != "" && !ok {
				bad("choice-technique", fmt.Sprintf("unknown technique %q", id), "see docs/techniques.md")
			}
		}
		if c.Technique != "" {
			choice.Technique = c.Technique
		}
		choice.Avoid = c.Avoid
		if !choice.HasChord && choice.Technique == "" && choice.Avoid == "" {
			bad("choice-empty", "the choice fixes nothing", "give it a chord, a technique, a texture or something to avoid")
			continue
		}
		for _, o := range out {
			if o.Level == level && o.HasChord && choice.HasChord && o.At < until && at < o.Until {
				bad("choice-overlap", "two chords are chosen for the same moment", "shorten one of them with beats = …")
			}
		}
		out = append(out, choice)
	}
	ps.Sort()
	return out, ps.Err()
}

func levelNumber(v any, levels []Level) (int, bool) {
	for _, l := range levels {
		switch v := v.(type) {
		case int64:
			if int(v) == l.Number {
				return l.Number, true
			}
		case string:
			if v == l.Name || v == l.Hyphenated() {
				return l.Number, true
			}
		}
	}
	return 0, false
}

// place turns a printed bar and a beat into positions. Without a length the
// choice holds to the end of its bar.
func place(song leadsheet.Song, bar int, beat leadsheet.Beat, bars int, beats float64) (at, until theory.Dur, ok bool) {
	for i, b := range song.Bars {
		if b.Number != bar {
			continue
		}
		unit := b.Meter.BeatDur()
		off := theory.Dur(beat-leadsheet.BeatUnit) * unit / theory.Dur(leadsheet.BeatUnit)
		if b.Pickup {
			off -= b.Meter.Bar() - b.Dur
		}
		if off < 0 || off >= b.Dur {
			return 0, 0, false
		}
		at = b.At + off
		until = b.End()
		if bars > 1 {
			until = song.Bars[min(len(song.Bars)-1, i+bars-1)].End()
		}
		if beats > 0 {
			until = min(song.End(), at+theory.Dur(beats*float64(unit)+0.5))
		}
		return at, until, until > at
	}
	return 0, 0, false
}
