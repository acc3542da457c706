package gradatim

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/abc"
	"gradatim/internal/account"
	"gradatim/internal/harmonist"
	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/musicxml"
	"gradatim/internal/roadmap"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// ChordRhythm is how often the chords of a tune change. The zero ChordRhythm is found
// from the tune.
type ChordRhythm string

// How often chords change.
const (
	FoundRhythm ChordRhythm = ""
	SlowRhythm  ChordRhythm = "slow"  // less than two changes in three bars
	UsualRhythm ChordRhythm = "usual" // about one a bar
	QuickRhythm ChordRhythm = "quick" // more
)

// String returns the name, or "auto".
func (r ChordRhythm) String() string {
	if r == "" {
		return "auto"
	}
	return string(r)
}

// ParseChordRhythm reads what String writes.
func ParseChordRhythm(s string) (ChordRhythm, error) {
	if s == "auto" || s == "" {
		return FoundRhythm, nil
	}
	if _, ok := harmonist.ParseRhythm(s); !ok {
		return "", notOne(s, []string{"slow", "usual", "quick", "auto"})
	}
	return ChordRhythm(s), nil
}

// HarmonizeOptions say how a bare tune gets chords. The zero Options find all from the
// sheet and write its own format.
type HarmonizeOptions struct {
	Tune     int   // of a file of several; 0: the first
	Style    Style // kind of tune; empty: found
	Rhythm   ChordRhythm
	Replace  bool        // chords that are there are not looked at, and go
	Format   SheetFormat // 0: the sheet's own
	Language string
}

// Harmonized is a lead sheet with the chords that were found for it.
type Harmonized struct {
	Sheet    []byte             // in the format asked for: the same sheet, with chords
	Song     leadsheet.Song     // as Read would read it
	Text     string             // each chord with its reason, for a reader
	JSON     []byte             // docs/formats.md
	Problems leadsheet.Problems // of reading and writing
}

// Harmonize gives a bare melody chords and writes the sheet with them: the tune note for
// note as it was, repeats as they are written. Of a sheet that is rewritten in another
// format what it repeats is folded where it comes again. The error is the context's, or a
// leadsheet.Problems: a sheet that cannot be read, or that has chords and no Replace.
func Harmonize(ctx context.Context, sheet File, opt HarmonizeOptions) (Harmonized, error) {
	if err := context.Cause(ctx); err != nil {
		return Harmonized{}, err
	}
	w, err := words.In(opt.Language)
	if err != nil {
		return Harmonized{}, err
	}
	out, err := harmonize(sheet, opt, w)
	if err != nil {
		return Harmonized{}, w.Err(err)
	}
	out.Problems = w.Problems(out.Problems)
	return out, context.Cause(ctx)
}

func harmonize(sheet File, opt HarmonizeOptions, w *words.Words) (Harmonized, error) {
	song, err := readAsIs(sheet.Name, sheet.Data, opt.Tune)
	if err != nil {
		return Harmonized{}, err
	}
	if !opt.Replace && song.Harmonised() {
		return Harmonized{}, leadsheet.Problems{leadsheet.Tell(leadsheet.Error, song.PosAt(song.Chords[0].At), "chords-present")}
	}
	bare := song
	bare.Chords = nil
	kind, ok := idiom.Named(string(opt.Style), idiom.All())
	if !ok {
		kind = idiom.Recognise(bare, harmony.Analyse(bare), idiom.All()).Idiom
	}
	rhythm, _ := harmonist.ParseRhythm(string(opt.Rhythm))
	h, ok := harmonist.Of(bare, harmonist.Options{Group: harmonist.GroupOf(kind), Rhythm: rhythm})
	if !ok {
		return Harmonized{}, leadsheet.Problems{leadsheet.Tell(leadsheet.Error, leadsheet.Pos{File: sheet.Name}, "melody-missing.chords")}
	}
	out := Harmonized{Song: h.Song(), Problems: withoutChords(song.Problems), Text: harmonyText(h, w)}
	format := opt.Format
	own := SheetABC
	if musical(sheet.Data) {
		own = SheetMusicXML
	}
	if format == 0 {
		format = own
	}
	data, told, err := chorded(sheet, opt.Tune, own, format, h)
	if err != nil {
		return Harmonized{}, err
	}
	out.Sheet = data
	out.Problems = append(out.Problems, told...)
	out.Problems.Sort()
	data, err = account.Harmony(h, out.Problems, w)
	out.JSON = append(data, '\n')
	return out, err
}

// withoutChords leaves out what was told of the chords that go.
func withoutChords(ps leadsheet.Problems) leadsheet.Problems {
	return slices.DeleteFunc(slices.Clone(ps), func(p leadsheet.Problem) bool {
		return strings.HasPrefix(p.Code, "chord-") || strings.HasPrefix(p.Code, "chords-")
	})
}

// chorded writes the sheet with the chords: into its own text where that gives the same
// tune again, else anew.
func chorded(sheet File, tune int, own, format SheetFormat, h harmonist.Harmony) ([]byte, leadsheet.Problems, error) {
	song := h.Song()
	if own == format {
		var data []byte
		var told leadsheet.Problems
		var err error
		ok := true
		if own == SheetABC {
			data, told, err = abc.WithChords(sheet.Data, abc.Options{File: sheet.Name, Tune: tune}, h.Marks())
		} else {
			data, ok, err = musicxml.WithChords(sheet.Data, musicxml.Options{File: sheet.Name}, h.Marks())
		}
		if err != nil {
			return nil, nil, err
		}
		if again, err := readAsIs(sheet.Name, data, 0); ok && err == nil && same(song, again) {
			return data, told, nil
		}
	}
	written := roadmap.OnPage(song)
	told := leadsheet.Problems{leadsheet.Tell(leadsheet.Info, leadsheet.Pos{File: sheet.Name}, "sheet-rewritten")}
	if format == SheetABC {
		data := abc.Write(written)
		if again, err := abc.Read(data, abc.Options{File: sheet.Name}); err != nil || !same(song, again) {
			data = abc.Write(song)
		}
		return data, told, nil
	}
	data, err := musicxml.WriteSong(written)
	if again, e := musicxml.ReadSong(data, musicxml.Options{File: sheet.Name}); err == nil && (e != nil || !same(song, again)) {
		data, err = musicxml.WriteSong(song)
	}
	return data, told, err
}

// same tells whether two songs are played the same: the tune note for note, and the same
// chords in force.
func same(a, b leadsheet.Song) bool {
	return slices.EqualFunc(a.Melody, b.Melody, func(m, n leadsheet.Note) bool {
		return m.At == n.At && m.Dur == n.Dur && m.Pitch == n.Pitch
	}) && slices.EqualFunc(a.Bars, b.Bars, func(m, n leadsheet.Bar) bool { return m.At == n.At && m.Dur == n.Dur && m.Meter == n.Meter }) &&
		slices.EqualFunc(inForce(a), inForce(b), func(m, n leadsheet.ChordMark) bool { return m.At == n.At && m.Chord == n.Chord })
}

// inForce are the chords without those that say one again.
func inForce(s leadsheet.Song) []leadsheet.ChordMark {
	return slices.CompactFunc(slices.Clone(s.Chords), func(a, b leadsheet.ChordMark) bool { return a.Chord == b.Chord })
}

// harmonyText is each chord with its reason, a line each.
func harmonyText(h harmonist.Harmony, w *words.Words) string {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s\n", w.Say("harmonised.head", "Key", h.Key, "Rhythm", words.Tell("harmonised.rhythm-"+h.Rhythm.String())))
	for _, c := range h.Chords {
		pos := h.Page.PosAt(c.At)
		bar := h.Page.Bars[h.Page.BarAt(c.At)]
		fmt.Fprintf(&b, "%4d@%-5s %-8s %s\n", bar.Sheet, pos.Beat, c.Chord, account.Why(c, w))
	}
	return b.String()
}
