package frame_test

import (
	"fmt"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/frame"
	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// kindOf is a kind whose introduction and ending are these.
func kindOf(t *testing.T, introduction, ending string) idiom.Idiom {
	t.Helper()
	k, err := idiom.Parse("mine.toml", []byte(fmt.Sprintf(
		"name = \"mine\"\nmanner = \"stay\"\n[dynamics]\nrest = \"mf\"\ncontrast = \"f\"\n[introduction]\nshort = %q\nlong = %q\n[ending]\nshort = %q\nlong = %q\n",
		introduction, introduction, ending, ending)))
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func sheet(t *testing.T, text string) leadsheet.Song {
	t.Helper()
	s, err := gradatim.Read("frame.abc", []byte("X:1\nT:Frame\nL:1/4\n"+text), 0)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

const tune = "M:4/4\nK:C\n" + `"C"CDEG|"F"AGFE|"G"DEFD|"C"E4|"C"CDEG|"F"AGFE|"G"DEFD|"C"C4|]` + "\n"

// show writes a song as its bars with chords and notes: "i1 C: C4 D4", lengths in
// quarters where they are none.
func show(s leadsheet.Song, first, last int) string {
	var out []string
	for _, b := range s.Bars[first : last+1] {
		w := fmt.Sprintf("%s%d", b.Part.String()[:1], b.Number)
		if b.Pickup {
			w += "p"
		}
		for _, c := range s.Chords {
			if c.At >= b.At && c.At < b.End() {
				w += fmt.Sprintf(" %s@%d", c.Chord, (c.At-b.At)/theory.Quarter+1)
			}
		}
		for _, n := range s.Melody {
			if n.At >= b.At && n.At < b.End() {
				w += " " + n.Pitch.String()
				if n.Dur != theory.Quarter {
					w += ":" + n.Dur.String()
				}
			}
		}
		out = append(out, w)
	}
	return strings.Join(out, " | ")
}

// What stands around a tune, worked out by hand after common practice (no source).
func TestAround(t *testing.T) {
	pickup := "M:3/4\nK:G\n" + `G|"G"B3|"C"c3|"D"A3|"G"B2 G|"G"B3|"C"c3|"D"A3|"G"G2|]` + "\n"
	minor := `"Dm"DFAF|"Gm"BAGF|"A7"EGEC|"Dm"D4|"Dm"DFAF|"Gm"BAGF|"A7"EGEC|"Dm"D4|]` + "\n"
	rests := `"C"CDEG|"F"AGFE|"G"DEFD|"C"E4|"C"CDEG|"F"AGFE|"G"DEFD|`
	for _, tt := range []struct {
		name, abc, introduction, ending string
		length                          idiom.Length
		before, after                   string
	}{
		{"the last phrase turns to the dominant", tune, "last-phrase", "last-line", idiom.ShortLength,
			"i1 G@1 D4 E4 F4 D4 | i2 C@1 G7@3 C4:1/2",
			"t1 G@1 D4 E4 F4 D4 | t2 C@1 C4:1"},
		{"or does not", tune, "last-line", "IV iv | I", idiom.LongLength,
			"i1 C@1 C4 D4 E4 G4 | i2 F@1 A4 G4 F4 E4 | i3 G@1 D4 E4 F4 D4 | i4 C@1 C4:1",
			"t1 F@1 Fm@3 C4:1/2 C4:1/2 | t2 C@1 C4:1"},
		{"chords", tune, "I vi | ii7 V7", "iii7 VI7 | ii7 V7 | I", idiom.ShortLength,
			"i1 C@1 Am@3 | i2 Dm7@1 G7@3",
			"t1 Em7@1 A7@3 B3:1/2 C#4:1/2 | t2 Dm7@1 G7@3 D4:1/2 D4:1/2 | t3 C@1 C4:1"},
		{"room for a pick-up, and a last bar that is filled up", pickup, "I vi | ii7 V7", "IV | I", idiom.ShortLength,
			"i1 G@1 Em@3 | i2 Am7@1 D7@2",
			"t0p | t1 C@1 G4:3/4 | t2 G@1 G4:3/4"},
		{"minor", "M:4/4\nK:Am\n" + strings.Replace(strings.Replace(tune[len("M:4/4\nK:C\n"):], `"C"`, `"Am"`, -1), `"G"`, `"E"`, -1), "I vi | ii7 V7", "IV | I", idiom.ShortLength,
			"i1 Am@1 F@3 | i2 Bm7b5@1 E7@3",
			"t1 Dm@1 D4:1 | t2 Am@1 C4:1"},
		{"a mode without a leading note", "M:4/4\nK:Gmix\n" + `"G"GABd|"F"cAFA|"G"GABd|"F"A4|"G"GABd|"F"cAFA|"F"fdcA|"G"G4|]` + "\n", "I | V7", "IV | I", idiom.ShortLength,
			"i1 G@1 | i2 F@1",
			"t1 C@1 G4:1 | t2 G@1 G4:1"},
		{"one signature for another key", "M:4/4\nK:F\n" + minor, "I | V7", "iv V7 | I", idiom.ShortLength,
			"i1 Dm@1 | i2 A7@1",
			"t1 Gm@1 A7@3 D4:1/2 C#4:1/2 | t2 Dm@1 D4:1"},
		{"it rests on another tonic than the sheet's", "M:4/4\nK:C\n" + rests + `"F"F4|]` + "\n", "I | V7", "V7 | I", idiom.ShortLength,
			"i1 C@1 | i2 G7@1",
			"t1 C7@1 E4:1 | t2 F@1 F4:1"},
		{"or runs on", "M:4/4\nK:C\n" + rests + `"F"FGA/G/F/F/|]` + "\n", "I | V7", "V7 | I", idiom.ShortLength,
			"i1 C@1 | i2 G7@1",
			"t1 G7@1 G4:1 | t2 C@1 G4:1"},
	} {
		song := sheet(t, tt.abc)
		f, ok := frame.Around(song, song, harmony.Analyse(song), kindOf(t, tt.introduction, tt.ending), tt.length, tt.length)
		if !ok {
			t.Errorf("%s: nothing is put around the tune", tt.name)
			continue
		}
		first := 0
		for f.Song.Bars[first].Part == leadsheet.Introduction {
			first++
		}
		last := first + len(song.Bars)
		if got := show(f.Song, 0, first-1); got != tt.before {
			t.Errorf("%s: before it\n%s, want\n%s", tt.name, got, tt.before)
		}
		if got := show(f.Song, last, len(f.Song.Bars)-1); got != tt.after {
			t.Errorf("%s: after it\n%s, want\n%s", tt.name, got, tt.after)
		}
		if got, want := show(f.Song, first, last-1), show(song, 0, len(song.Bars)-1); got != want {
			t.Errorf("%s: the tune became\n%s, was\n%s", tt.name, got, want)
		}
		if f.Song.Bars[first].At != f.Lead || f.Notes != len(song.Melody) || f.Song.Melody[f.Before].At != f.Lead+song.Melody[0].At {
			t.Errorf("%s: %+v", tt.name, f)
		}
		at := theory.Dur(0)
		for _, b := range f.Song.Bars {
			if b.At != at {
				t.Errorf("%s: a bar begins at %s, not at %s", tt.name, b.At, at)
			}
			at += b.Dur
		}
	}
}

// A page that prints once what is repeated is played in the same order with something
// around it: back to the tune's first bar, not to the introduction.
func TestAroundRepeats(t *testing.T) {
	for name, abc := range map[string]string{
		"a repeat":  "M:4/4\nK:C\n|:" + strings.TrimSuffix(tune[len("M:4/4\nK:C\n"):], "|]\n") + `:|"F"F4|"C"C4|]` + "\n",
		"a da capo": "M:4/4\nK:C\n" + strings.Repeat(`"C"CDEG|"F"AGFE|"G"DEFD|"C"E4|`, 4) + strings.Repeat(`"F"F4|"G"G4|`, 4) + strings.Repeat(`"C"CDEG|"F"AGFE|"G"DEFD|"C"E4|`, 4) + `"G"G4|"C"C4|]` + "\n",
	} {
		song := sheet(t, abc)
		f, ok := roadmap.Fold(song, 0)
		if !ok {
			t.Logf("%s: does not fold", name)
			continue
		}
		fr, ok := frame.Around(f.Song, song, harmony.Analyse(f.Song), kindOf(t, "I | V7", "IV | I"), idiom.ShortLength, idiom.ShortLength)
		if !ok {
			t.Errorf("%s: nothing is put around it", name)
			continue
		}
		played := roadmap.Unfold(fr.Song)
		var order []string
		for _, b := range played.Bars {
			order = append(order, b.Part.String()[:1])
		}
		want := "ii" + strings.Repeat("t", len(song.Bars)) + "tt"
		if got := strings.Join(order, ""); got != want {
			t.Errorf("%s: played in the order %s, want %s", name, got, want)
		}
		for i, n := range song.Melody {
			if m := played.Melody[i+fr.Before]; m.At != n.At+fr.Lead || m.Pitch != n.Pitch {
				t.Errorf("%s: note %d is %s at %s", name, i, m.Pitch, m.At)
			}
		}
	}
}

// A tune too short to quote gets chords; one without chords gets nothing.
func TestAroundLittle(t *testing.T) {
	little := sheet(t, "M:4/4\nK:C\n"+`"C"CDEG|"G"DEFD|"C"C4|]`+"\n")
	f, ok := frame.Around(little, little, harmony.Analyse(little), kindOf(t, "last-phrase", "last-line"), idiom.LongLength, idiom.LongLength)
	if got := show(f.Song, 0, 1); !ok || got != "i1 C@1 | i2 G7@1" || len(f.Song.Bars) != 5 {
		t.Errorf("around three bars: %s, %d bars", got, len(f.Song.Bars))
	}
	bare := sheet(t, "M:4/4\nK:C\nCDEG|C4|]\n")
	if _, ok := frame.Around(bare, bare, harmony.Analyse(bare), kindOf(t, "I | V7", "IV | I"), idiom.ShortLength, idiom.NoLength); ok {
		t.Error("a tune without chords got an introduction")
	}
	if _, ok := frame.Around(little, little, harmony.Analyse(little), kindOf(t, "I | V7", "IV | I"), idiom.NoLength, idiom.NoLength); ok {
		t.Error("something where nothing was asked for")
	}
}
