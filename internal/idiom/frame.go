package idiom

import (
	"strings"

	"gradatim/leadsheet"
)

// Frame is what tunes of a kind have before they begin, or after they end.
type Frame struct {
	// From is the built-in level from which pages have it unasked; 0: none have.
	From        int
	Usual       Length
	Short, Long Formula
}

// Length says how long an introduction or an ending is.
type Length uint8

// Lengths. LengthByKind leaves it to the kind and the level.
const (
	LengthByKind Length = iota
	NoLength
	ShortLength
	LongLength
	CloseLength // of an ending: a bar on the tonic, for a tune that would lead back
)

// Formula is how an introduction or a tag is made: from the tune's last phrase, or of
// chords over which nothing of the tune is heard.
type Formula struct {
	Phrase Phrase
	Chords [][]string // by bar, Roman numerals, equally long
}

// Phrase is what a formula takes from the tune.
type Phrase uint8

// Phrases.
const (
	NoPhrase   Phrase = iota
	LastPhrase        // its last bars, turning to the dominant before the tune begins
	LastLine          // its last bars as they are
)

// For returns the length of a frame at a built-in level, or at one like it.
func (f Frame) For(level int, asked Length) Length {
	switch {
	case asked != LengthByKind:
		return asked
	case f.From > 0 && level >= f.From:
		return f.Usual
	}
	return NoLength
}

// Of returns the formula of a length.
func (f Frame) Of(l Length) Formula {
	if l == LongLength {
		return f.Long
	}
	return f.Short
}

// frameFile is the TOML form of a frame.
type frameFile struct {
	From  int    `toml:"from"`
	Usual string `toml:"usual"`
	Short string `toml:"short"`
	Long  string `toml:"long"`
}

// parse reads a frame, called as is says; what its file does not say is as in plain.
func (f frameFile) parse(is leadsheet.Saying, plain frameFile, bad func(leadsheet.Saying, ...any)) Frame {
	frame := leadsheet.Tell(leadsheet.Info, leadsheet.Pos{}, is)
	if f.Short == "" {
		f.Short = plain.Short
	}
	if f.Long == "" {
		f.Long = plain.Long
	}
	out := Frame{From: f.From, Usual: ShortLength}
	switch f.Usual {
	case "", "short":
	case "long":
		out.Usual = LongLength
	default:
		bad("idiom-frame.usual", "Frame", frame, "Usual", leadsheet.Quoted(f.Usual))
	}
	if f.From < 0 {
		bad("idiom-frame.from", "Frame", frame, "From", f.From)
	}
	formula := func(text string) Formula {
		switch text {
		case "last-phrase":
			return Formula{Phrase: LastPhrase}
		case "last-line":
			return Formula{Phrase: LastLine}
		}
		var f Formula
		for bar := range strings.SplitSeq(text, "|") {
			chords := strings.Fields(bar)
			for _, c := range chords {
				if !Numeral(c) {
					bad("idiom-frame.chord", "Frame", frame, "Chord", leadsheet.Quoted(c))
				}
			}
			if len(chords) == 0 || len(chords) > 4 {
				bad("idiom-frame.chords", "Frame", frame, "Chords", len(chords))
			}
			f.Chords = append(f.Chords, chords)
		}
		if len(f.Chords) > 8 {
			bad("idiom-frame.bars", "Frame", frame, "Bars", len(f.Chords))
		}
		return f
	}
	out.Short, out.Long = formula(f.Short), formula(f.Long)
	return out
}

// Numeral tells whether a text names a chord by its degree: I to VII, large for major
// and small for minor, with nothing or a 7 after it.
func Numeral(s string) bool {
	switch strings.ToUpper(strings.TrimSuffix(s, "7")) {
	case "I", "II", "III", "IV", "V", "VI", "VII":
		body := strings.TrimSuffix(s, "7")
		return body == strings.ToUpper(body) || body == strings.ToLower(body)
	}
	return false
}
