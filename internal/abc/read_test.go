package abc

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// plainHead is the header of the small tunes below: 4/4 in quarters on C.
const plainHead = "X:1\nT:Probe\nM:4/4\nL:1/4\nK:C\n"

// told writes a melody as "pitch length", a rest as "z length" where notes leave a
// gap, "|" between bars.
func told(s leadsheet.Song) string {
	var out []string
	at := theory.Dur(0)
	bar := 0
	step := func(to theory.Dur) {
		for bar+1 < len(s.Bars) && s.Bars[bar+1].At <= to {
			out = append(out, "|")
			bar++
		}
	}
	for _, n := range s.Melody {
		if n.At > at {
			step(at)
			out = append(out, "z "+(n.At-at).String())
		}
		step(n.At)
		text := n.Pitch.String() + " " + n.Dur.String()
		if len(n.Graces) > 0 {
			text = fmt.Sprint(n.Graces) + text
		}
		out = append(out, text)
		at = n.End()
	}
	return strings.Join(out, " ")
}

// chordsOf writes chord marks as "bar.beat symbol".
func chordsOf(s leadsheet.Song) string {
	var out []string
	for _, c := range s.Chords {
		text := c.Chord.String()
		if c.Unknown {
			text = "?" + c.Text
		}
		if c.Optional {
			text = "(" + text + ")"
		}
		out = append(out, fmt.Sprintf("%d.%s %s", c.Pos.Bar, c.Pos.Beat, text))
	}
	return strings.Join(out, ", ")
}

// codes lists the codes of Problems in their order.
func codes(ps leadsheet.Problems) string {
	var out []string
	for _, p := range ps {
		out = append(out, p.Code)
	}
	return strings.Join(out, " ")
}

// pitches writes the melody as letters only, one word a bar.
func pitches(s leadsheet.Song) string {
	var b strings.Builder
	bar := 0
	for _, n := range s.Melody {
		for bar+1 < len(s.Bars) && s.Bars[bar+1].At <= n.At {
			b.WriteByte(' ')
			bar++
		}
		b.WriteString(n.Pitch.Name.String())
	}
	return b.String()
}

var melodies = []struct{ name, music, want, problems string }{
	{"notes and rests", "C z E2|c C,2 G|", "C4 1/4 z 1/4 E4 1/2 | C5 1/4 C3 1/2 G4 1/4", ""},
	{"lengths", "C/D/ E3/2F/ G//A//B/4c/4 d|", "C4 1/8 D4 1/8 E4 3/8 F4 1/8 G4 1/16 A4 1/16 B4 1/16 C5 1/16 D5 1/4", "bar-long"},
	{"pick-up", "G|CDEF|G3|", "G4 1/4 | C4 1/4 D4 1/4 E4 1/4 F4 1/4 | G4 3/4", ""},
	{"tie across the bar", "C3D-|D2E2|", "C4 3/4 D4 3/4 | E4 1/2", ""},
	{"tie before the note", "C2 -C2|D4|", "C4 1 | D4 1", ""},
	{"tie over a chord symbol", `"C"C2-"F"C2|D4|`, "C4 1 | D4 1", ""},
	{"tie carries the accidental", "^F4-|FF2F|", "F#4 5/4 | F4 1/2 F4 1/4", ""},
	{"tie to another pitch", "C2-D2|", "C4 1/2 D4 1/2", "tie-loose"},
	{"tie from a rest", "z2-D2|", "z 1/2 D4 1/2", "tie-loose"},
	{"accidentals last for the bar", "^FF_BB|FB=FF|", "F#4 1/4 F#4 1/4 Bb4 1/4 Bb4 1/4 | F4 1/4 B4 1/4 F4 1/4 F4 1/4", ""},
	{"accidentals in all octaves", "^Ff F,2|", "F#4 1/4 F#5 1/4 F#3 1/2", "accidental-octave"},
	{"double accidentals", "^^F__B2=F|", "F##4 1/4 Bbb4 1/2 F4 1/4", ""},
	{"key change inside the bar", "F2[K:D]F2|C4|", "F4 1/2 F#4 1/2 | C#4 1", ""},
	{"triplet", "(3CDE F2 G|", "C4 1/6 D4 1/6 E4 1/6 F4 1/2 G4 1/4", "bar-long"},
	{"triplet of eighths", "(3C/D/E/ F2 G|", "C4 1/12 D4 1/12 E4 1/12 F4 1/2 G4 1/4", ""},
	{"four in the time of three", "[M:6/8](4C/D/E/F/ G3/2|", "C4 3/32 D4 3/32 E4 3/32 F4 3/32 G4 3/8", ""},
	{"five in the time of four", "(5:4C/D/E/F/G/ A2|", "C4 1/10 D4 1/10 E4 1/10 F4 1/10 G4 1/10 A4 1/2", ""},
	{"tuplet over four notes", "(3:2:4C/D/E/4F/4 A3|", "C4 1/12 D4 1/12 E4 1/24 F4 1/24 A4 3/4", ""},
	{"tuplet with a rest", "(3C/z/E/ F3|", "C4 1/12 z 1/12 E4 1/12 F4 3/4", ""},
	{"unfilled tuplet", "C3(3D/|", "C4 3/4 D4 1/12", "bar-short tuplet-open"},
	{"broken rhythm", "C>D E<F|C>>DE<<F|", "C4 3/8 D4 1/8 E4 1/8 F4 3/8 | C4 7/16 D4 1/16 E4 1/16 F4 7/16", ""},
	{"broken rhythm with spaces, a chord and a grace note", `C > "F"D E2|C>{A}D E2|`, "C4 3/8 D4 1/8 E4 1/2 | C4 3/8 [A4]D4 1/8 E4 1/2", ""},
	{"broken rhythm in a triplet", "(3C/>D/E/ F3|", "C4 1/8 D4 1/24 E4 1/12 F4 3/4", ""},
	{"broken rhythm without a note", ">C D3|", "C4 1/4 D4 3/4", "broken-rhythm"},
	{"notes struck together", "[CEG]2 [Ec]2|[c2E]z2|", "G4 1/2 C5 1/2 | C5 1/2", "chord-notes-dropped"},
	{"tie on a struck group", "[CE-]2[CE]2|", "E4 1", "chord-notes-dropped"},
	{"grace notes", "{cd}C2 {/e}D2|", "[C5 D5]C4 1/2 [E5]D4 1/2", ""},
	{"grace notes at the end", "C4{de}|", "C4 1", "graces-dropped"},
	{"overlay", "C2 D2 & E4|F4|", "C4 1/2 D4 1/2 | F4 1", "overlay-dropped"},
	{"bars of rest", "C4|Z2|D4|", "C4 1 | z 2 | | D4 1", ""},
	{"invisible rest and space", "C x y2 D2|", "C4 1/4 z 1/4 D4 1/2", ""},
	{"missing bar line", "CDEFGABc|", "C4 1/4 D4 1/4 E4 1/4 F4 1/4 | G4 1/4 A4 1/4 B4 1/4 C5 1/4", "bar-line-missing"},
	{"slurs and ornaments", "(C2 D2)|!trill!E2 ~F2|.G4|", "C4 1/2 D4 1/2 | E4 1/2 F4 1/2 | G4 1", "slur-dropped decoration-dropped decoration-dropped decoration-dropped"},
	{"user-defined sign", "[U:W=!nil!]WC4|kD4|", "C4 1 | D4 1", "sign-unknown"},
	{"old line breaks", "C4|!D4|$E4|", "C4 1 | D4 1 | E4 1", ""},
	{"comment and guarded sign", "C4|D4|% E4|\nF4|", "C4 1 | D4 1 | F4 1", ""},
	{"line goes on", "C4|\\\nK:D\nF4|", "C4 1 | F#4 1", ""},
	{"note before a repeat sign at the start of a line", "C2 E\\\nG:|", "C4 1/2 E4 1/4 G4 1/4 | C4 1/2 E4 1/4 G4 1/4", ""},
	{"unit changes", "C4|[L:1/8]C4 D4|", "C4 1 | C4 1/2 D4 1/2", ""},
	{"metre changes", "C4|[M:3/4]D3|\nM:2/4\nE2|", "C4 1 | D4 3/4 | E4 1/2", ""},
	{"metre changes inside a bar", "C2[M:3/4]D2|E3|", "C4 1/2 D4 1/2 | E4 3/4", "meter-inside-bar"},
	{"quarter tones", "^/C4|D4|", "C4 1 | D4 1", "sign-unknown"},
	{"unknown signs", "C4|# D4|", "C4 1 | D4 1", "sign-unknown"},
	{"lengths that cannot be held", "(11:8:11C/D/E/F/G/A/B/c/d/e/f/|G4|", "", "duration-rounded"},
	{"octave of the key field", "K:C octave=-1\nC4|", "C3 1", ""},
	{"voices", "V:1\nC4|\nV:2\nE4|\nV:1\nD4|\n[V:2]F4|[V:1]E4|", "C4 1 | D4 1 | E4 1", "voice-dropped"},
}

// Notes, rests, ties, tuplets and grace notes as ABC 2.1, sections 4.1 to 4.14, has them;
// the same tunes are compared with abc2midi.
func TestMelody(t *testing.T) {
	for _, tt := range melodies {
		t.Run(tt.name, func(t *testing.T) {
			s, err := Read([]byte(plainHead+tt.music+"\n"), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if got := told(s); tt.want != "" && got != tt.want {
				t.Errorf("%s\n got %s\nwant %s", tt.music, got, tt.want)
			}
			if got := codes(s.Problems); got != tt.problems {
				t.Errorf("%s: problems %q, want %q\n%v", tt.music, got, tt.problems, s.Problems)
			}
		})
	}
}

// The bar stays full where its lengths are rounded, and each onset is off by at
// most half of 1/20160.
func TestRoundedBarStaysFull(t *testing.T) {
	s, err := Read([]byte(plainHead+"(11:8:11C/D/E/F/G/A/B/c/d/e/f/|G4|\n"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Bars) != 2 || s.Bars[0].Dur != theory.Whole || s.Melody[11].At != theory.Whole {
		t.Errorf("bars %v", s.Bars)
	}
	for i := range 11 {
		if d := 11*int64(s.Melody[i].At) - int64(i)*int64(theory.Whole); d < -6 || d > 6 {
			t.Errorf("note %d begins at %d", i, s.Melody[i].At)
		}
	}
}

// Repeats and endings (ABC 2.1, sections 4.8 to 4.10) and orders of parts (3.1.9).
func TestOrder(t *testing.T) {
	for _, tt := range []struct{ name, fields, music, want, form, problems string }{
		{"repeat without an opening sign", "", "CDEF|GABc:|d4|", "CDEF GABC CDEF GABC D", "", ""},
		{"opening sign", "", "CDEF|:GABc:|", "CDEF GABC GABC", "", ""},
		{"double sign", "", "C4::D4:|", "C C D D", "", ""},
		{"three times", "", "|::C4::|D4|", "C C C D", "", ""},
		{"endings", "", "|:C4|1D4:|2E4|]F4|", "C D C E F", "", ""},
		{"bracketed endings", "", "|:C4|[1D4:|[2E4||F4|", "C D C E F", "", ""},
		{"third ending", "", "|:C4|[1D4:|[2E4:|[3F4|G4||", "C D C E C F G", "", ""},
		{"listed endings", "", "|:C4|[1,3D4:|[2,4E4:|G4|", "C D C E C D C E G", "", ""},
		{"a range of endings", "", "|:C4|[1-3D4:|[4E4|]", "C D C D C D C E", "AA", ""},
		{"ending inside a bar", "", "|:C4|D2[1E2:|[2F2|]G4|", "C DE C DF G", "", ""},
		{"repeat inside a bar", "", "G|:CDEF|C3:|D|EFGA|B4|]", "G CDEF C CDEF CD EFGA B", "", "bar-short"},
		{"pick-up comes back", "", "G|CDEF|C3:|", "G CDEF CG CDEF C", "", ""},
		{"pick-up takes its time from the bar before", "", "G|CDEF|C4:|D4|", "G CDEF CG CDEF C D", "", "pickup-room"},
		{"pick-up without room", "", "G2|CDEF|CDEF:|G4|", "G CDEF CDEF CDEF CDEF G", "", "pickup-left-out"},
		{"repeat after a double bar", "", "C4|D4||E4|F4:|", "C D E F C D E F", "AA", "repeat-start-guessed"},
		{"the pick-up says where it starts", "", "C4|D3||E|F4|G3:|", "C DE F GE F G", "", "bar-short repeat-start-guessed"},
		{"endings without a closing sign", "", "|:C4|[1D4|[2E4||F4|", "C D C E F", "", "repeat-end-missing repeat-open"},
		{"repeat never closed", "", "C4|:D4|]", "C D", "", "repeat-open"},
		{"nothing to repeat", "", ":|C4|", "C", "", "repeat-empty"},
		{"da capo", "", "C4|D4!fine!|E4!D.C.!|", "C D E C D", "", ""},
		{"da capo in words", "", `C4|D4"^Fine"|E4|"^D.C. al Fine"F4|`, "C D E F C D", "", ""},
		{"dal segno al coda", "", "C4|!segno!D4|E4!dacoda!|F4!D.S.!|!coda!G4|", "C D E F D E G", "", ""},
		{"two coda signs", "", "C4|!coda!D4|E4!D.C.!|!coda!F4|", "C D E C D F", "", ""},
		{"labels bound repeats", "", "P:A\nC4|D4|\nP:B\nE4|F4:|", "C D E F E F", "ABB", ""},
		{"order of parts", "P:ABA\n", "P:A\nC4|D4|\nP:B\nE4|F4|", "C D E F C D", "ABA", ""},
		{"nested order", "P:(A2B)2\n", "P:A\nC4|\nP:B\nD4|", "C C D C C D", "AABAAB", ""},
		{"repeats inside parts", "P:AB\n", "P:A\n|:C4|D4:|\nP:B\nE4|F4|", "C D C D E F", "AAB", ""},
		{"repeats counted by the order", "P:AAB\n", "P:A\nC4|D4:|\nP:B\nE4|", "C D C D E", "AAB", "repeats-counted"},
		{"repeats as the sheet asks", "%%gradatim-order literal\nP:AAB\n", "P:A\nC4|D4:|\nP:B\nE4|", "C D C D C D C D E", "AAAAB", ""},
		{"endings as the sheet asks", "I:gradatim-order literal\nP:AAB\n", "P:A\n|:C4|1D4:|2E4||\nP:B\nF4|", "C D C E C D C E F", "AAAAB", ""},
		{"neither", "%%gradatim-order twice\nP:AAB\n", "P:A\nC4|D4:|\nP:B\nE4|", "C D C D E", "AAB", "directive-unknown repeats-counted"},
		{"endings counted by the order", "P:AABA\n", "P:A\n|:C4|1D4:|2E4||\nP:B\nF4|", "C D C E F C E", "AABA", "repeats-counted"},
		{"music before the first label", "P:AA\n", "G4|\nP:A\nC4|", "G C C", "BAA", ""},
		{"part not played", "P:A\n", "P:A\nC4|\nP:B\nD4|", "C", "A", "part-unplayed"},
		{"part that is not there", "P:ABA\n", "P:A\nC4|", "C C", "AA", "part-missing"},
		{"order without parts", "P:AABA\n", "C4|D4|", "C D", "", "part-missing part-missing part-order"},
		{"second part of a name", "P:AB\n", "P:A\nC4|\nP:B\nD4|\nP:B\nE4|", "C D", "AB", "part-twice part-unplayed"},
		{"words in a P: field", "", "C4|\nP:pause\nD4|", "C D", "", "part-unknown"},
		{"another B", "", "P:A\nC4|\nP:B alt\nD4|", "C D", "AB", "part-name"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			in := strings.Replace(plainHead, "M:", tt.fields+"M:", 1) + tt.music + "\n"
			s, err := Read([]byte(in), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if got := pitches(s); got != tt.want {
				t.Errorf("%s\n got %s\nwant %s", in, got, tt.want)
			}
			if s.Form != tt.form {
				t.Errorf("%s: form %q, want %q", in, s.Form, tt.form)
			}
			if got := codes(s.Problems); got != tt.problems {
				t.Errorf("%s: problems %q, want %q\n%v", in, got, tt.problems, s.Problems)
			}
		})
	}
}

// Chord symbols in quotation marks, and what is an annotation there: ABC 2.1, sections
// 4.18 and 4.19. What is made of odd ones is ours.
func TestChords(t *testing.T) {
	for _, tt := range []struct{ name, music, want, problems string }{
		{"one a bar", `"C"C4|"G7"D4|`, "1.1 C, 2.1 G7", ""},
		{"inside the bar and over a rest", `"C"C2"Am"z2|`, "1.1 C, 1.3 Am", ""},
		{"inside a held note", `"C"C2-"F"C2|`, "1.1 C, 1.3 F", ""},
		{"slash chords", `"D/f+"C2"C/E"D2|`, "1.1 D/F#, 1.3 C/E", ""},
		{"bass notes", `"G"C"f#"D"e"E"d"F|`, "1.1 G, 1.2 G/F#, 1.3 G/E, 1.4 G/D", "chord-bass-note chord-bass-note chord-bass-note"},
		{"bass note of the root", `"G"C2"g"D2|`, "1.1 G, 1.3 G", "chord-bass-note"},
		{"bass note without a chord", `"f#"C4|`, "", "chord-bass-note"},
		{"unknown", `"Cmaj77"C4|"Xyz"D4|`, "1.1 ?Cmaj77", "chord-unknown annotation-dropped"},
		{"no chord and optional", `"N.C."C2"(Em7)"D2|`, "1.1 N.C., 1.3 (Em7)", ""},
		{"bar repeated", `"C"C2"F"D2|"\%"E4|`, "1.1 C, 1.3 F, 2.1 C, 2.3 F", ""},
		{"held chord repeated", `"C"C4|D2"F"D2|"\%"E4|`, "1.1 C, 2.3 F, 3.1 C, 3.3 F", ""},
		{"nothing to repeat", `"\%"E4|`, "", "chord-repeat"},
		{"alternatives by pass", `|:"C""Am"C2"F"" "D2|"G"E4:|`, "1.1 C, 1.3 F, 2.1 G, 3.1 Am, 4.1 G", "chord-alternatives"},
		{"alternatives by ending", `|:C4|1"C""Am"D4:|2"C""Am"E4|]`, "2.1 C, 4.1 Am", "chord-alternatives chord-unheard chord-unheard"},
		{"alternative never heard", `"C""Am"C4|`, "1.1 C", "chord-alternatives chord-unheard"},
		{"alternative for print", `"G(Em)"C4|`, "1.1 G", "chord-mended"},
		{"before the bar line", `C4"G"|D4|`, "2.1 G", ""},
		{"left behind at the bar line", `C4"G"|"C"D4|`, "2.1 C", "chord-dropped"},
		{"at the very end", `C4|D4"G"|`, "", "chord-dropped"},
		{"annotations", `"^slow"C"_low"D"<l"E"@1,2 free"F|"last time"G4|`, "", "annotation-dropped annotation-dropped annotation-dropped annotation-dropped annotation-dropped"},
		{"polychord", `"D over C7"C4|`, "1.1 D over C7", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := Read([]byte(plainHead+tt.music+"\n"), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if got := chordsOf(s); got != tt.want {
				t.Errorf("%s\n got %s\nwant %s", tt.music, got, tt.want)
			}
			if got := codes(s.Problems); got != tt.problems {
				t.Errorf("%s: problems %q, want %q\n%v", tt.music, got, tt.problems, s.Problems)
			}
		})
	}
}

func TestChordSuggestion(t *testing.T) {
	s, err := Read([]byte(plainHead+`"Bbm77"C4|`+"\n"), Options{File: "probe.abc"})
	if err != nil {
		t.Fatal(err)
	}
	p := words.Must("en").Problem(s.Problems[0])
	if p.Code != "chord-unknown" || p.Fix != `did you mean "Bbm7"?` || p.Pos.String() != "probe.abc:6:1: bar 1, beat 1" {
		t.Errorf("%v", p)
	}
}

// The plus sign means a sharp only in the collection that writes so.
func TestCollectionOfNottingham(t *testing.T) {
	in := strings.Replace(plainHead, "M:", "% Nottingham Music Database\nM:", 1) + `"F+7"C4|` + "\n"
	s, err := Read([]byte(in), Options{})
	if err != nil || chordsOf(s) != "1.1 F#7" || s.Rights.Source != "Nottingham Music Database" {
		t.Errorf("%s %q %v", chordsOf(s), s.Rights.Source, err)
	}
}

// The signs - _ * ~ | and the guarded hyphen under the notes: ABC 2.1, section 5.1; several
// verses: 5.2; accents in TeX's manner: 8.2.
func TestLyrics(t *testing.T) {
	for _, tt := range []struct{ name, music, want, problems string }{
		{"syllables", "C D E F|\nw:one two three four", "one two three four", ""},
		{"hyphens and holds", "C D E F|\nw:tu-lip _ gone", "tu- lip _ gone", ""},
		{"held within a word", "C D E F|\nw:tu- - lip_", "tu- . lip _", ""},
		{"held in the next line", "C D|\nw:a b\nE F|\nw:_ c", "a b _ c", ""},
		{"skipped note and blank", "C D E F|\nw:* of~the_ end", ". of the _ end", ""},
		{"guarded hyphen", "C D E F|\nw:up\\-on a hill", "up-on a hill .", ""},
		{"on to the next bar", "C D E F|G A B c|\nw:one|two", "one . . . two . . .", ""},
		{"blank syllables", "C D E F|\nw:~ a \x00- b", ". a . b", ""},
		{"accents", "C D E F|\nw:Fr\\`e-re", "Frè- re . .", ""},
		{"rests have none", "C z E F|\nw:a b c", "a b c", ""},
		{"second verse", "C D E F|\nw:a b_ d\nw:e f - g\\-h", "a/e b/f _/_ d/g-h", ""},
		{"a verse of the refrain alone", "C D|\nw:a b\nw:c d\nE F|\nw:e f", "a/c b/d e f", ""},
		{"too many", "C D E F|\nw:a b c d e", "a b c d", "words-loose"},
		{"lines joined", "C D E F|\\\nG A B c|\nw:a b c d e f g h", "a b c d e f g h", ""},
		{"each line its own", "C D E F|\nw:a b c d\nG A B c|\nw:e f g h", "a b c d e f g h", ""},
		{"no music above", "w:a\nC4|", ".", "words-loose"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := Read([]byte(plainHead+tt.music+"\n"), Options{})
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, n := range s.Melody {
				got = append(got, cmpOr(sung(n), "."))
			}
			if g := strings.Join(got, " "); g != tt.want {
				t.Errorf("got %s, want %s", g, tt.want)
			}
			if got := codes(s.Problems); got != tt.problems {
				t.Errorf("problems %q, want %q", got, tt.problems)
			}
		})
	}
}

// sung writes what the verses have on a note.
func sung(n leadsheet.Note) string {
	var out []string
	for _, y := range n.Sung {
		out = append(out, y.String())
	}
	return strings.Join(out, "/")
}

func cmpOr(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// Fields of the head: ABC 2.1, section 3.1.
func TestHeader(t *testing.T) {
	in := "X:3\nT:First Title\nT:Other Title\nC:Ada Muster (1850-1914); words by Bo Vers (d. 1930)\nC:arr. Cleo Satz\n" +
		"O:Nowhere, printed 1901\nS:an old book\nB:another book\nZ:Someone\nZ:abc-copyright free to copy\nN:medium swing, form ABAC\n" +
		"H:told by\nan aunt\nR:Waltz\nM:4/4\nM:3/4\nL:1/8\nQ:\"Gently\" 1/4=88\nK:F\n" + strings.Repeat("C6|", 16) + "\nW:Words of a verse\n"
	s, err := Read([]byte(in), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if s.Title != "First Title" || s.Rhythm != "waltz" || s.Key.String() != "F major" || s.Meter.String() != "3/4" ||
		s.Tempo != (leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 88, Words: "Gently"}) || s.Feel != leadsheet.Swing || s.Form != "ABAC" || s.Number != 0 {
		t.Errorf("%+v", s)
	}
	r := s.Rights
	if !slices.Equal(r.Composers, []leadsheet.Person{{Name: "Ada Muster", Died: 1914}}) ||
		!slices.Equal(r.Lyricists, []leadsheet.Person{{Name: "Bo Vers", Died: 1930}}) ||
		r.Arranger != "Cleo Satz" || r.Year != 1901 || r.Source != "an old book; another book" || r.Licence != "free to copy" || r.Status != leadsheet.Unknown {
		t.Errorf("%+v", r)
	}
	want := []string{"Title: Other Title", "Origin: Nowhere, printed 1901", "medium swing, form ABAC", "History: told by an aunt"}
	if !slices.Equal(s.Notes, want) || !slices.Equal(s.Words, []string{"Words of a verse"}) {
		t.Errorf("%q, %q", s.Notes, s.Words)
	}
}

func TestTraditionalIsNoStatus(t *testing.T) {
	s, err := Read([]byte(strings.Replace(plainHead, "M:", "C:trad.\nM:", 1)+"C4|\n"), Options{})
	if err != nil || s.Rights.Status != leadsheet.Unknown || len(s.Rights.Composers) != 0 || codes(s.Problems) != "rights-traditional" {
		t.Errorf("%+v %v %v", s.Rights, s.Problems, err)
	}
}

func TestPerson(t *testing.T) {
	for in, want := range map[string]leadsheet.Person{
		"Ada Muster":                {Name: "Ada Muster"},
		"Ada Muster (1850-1914)":    {Name: "Ada Muster", Died: 1914},
		"Ada Muster (1850–1914)":    {Name: "Ada Muster", Died: 1914},
		"Ada Muster (c. 1850-1914)": {Name: "Ada Muster", Died: 1914},
		"Ada Muster (-1914)":        {Name: "Ada Muster", Died: 1914},
		"Ada Muster (d. 1914)":      {Name: "Ada Muster", Died: 1914},
		"Ada Muster (1850-)":        {Name: "Ada Muster"},
		"Ada Muster (b. 1950)":      {Name: "Ada Muster"},
		"Ada Muster, 1850":          {Name: "Ada Muster, 1850"},
	} {
		if got := person(in); got != want {
			t.Errorf("%q is read as %+v", in, got)
		}
	}
}

func TestFeel(t *testing.T) {
	for _, tt := range []struct {
		words string
		style bool
		want  leadsheet.Feel
	}{
		{"swing", true, leadsheet.Swing}, {"Medium Swing", true, leadsheet.Swing}, {"jig", true, leadsheet.Unstated},
		{"swing your partner", false, leadsheet.Unstated}, {"medium swing or pop", false, leadsheet.Swing},
		{"straight eighths", false, leadsheet.Straight}, {"straight from the fiddler", false, leadsheet.Unstated}, {"not swung", false, leadsheet.Straight},
	} {
		if got := feelOf(tt.words, tt.style); got != tt.want {
			t.Errorf("%q: %s, want %s", tt.words, got, tt.want)
		}
	}
}

func TestMeterGuess(t *testing.T) {
	head := "X:1\nL:1/4\nK:C\n"
	s, err := Read([]byte(head+"G|CDE|FGA|BAG|CD|\n"), Options{})
	if err != nil || s.Meter.String() != "3/4" || s.MeterDeclared || !s.Bars[0].Pickup || codes(s.Problems) != "meter-guessed" {
		t.Errorf("%s %v %v %v", s.Meter, s.Bars, s.Problems, err)
	}
	for _, free := range []string{"M:none\n", ""} { // each bar is as long as its notes
		s, err = Read([]byte(head+free+"CDEFGAB|C|CDE|CDEFG|CD|\n"), Options{})
		if err != nil || codes(s.Problems) != "meter-free" || s.MeterDeclared {
			t.Fatalf("free metre: %v %v", s.Problems, err)
		}
		for _, b := range s.Bars {
			if !b.Meter.Free() || b.Dur != b.Meter.Bar() {
				t.Errorf("bar %d of %s is in %s", b.Number, b.Dur, b.Meter)
			}
		}
	}
}

func TestKeyGuess(t *testing.T) {
	for music, want := range map[string]string{"C4|G4|": "C major", "C4|A4|": "A minor", `"Am"C4|"Am"E4|`: "A minor"} {
		s, err := Read([]byte("X:1\nM:4/4\nL:1/4\nK:none\n"+music+"\n"), Options{})
		if err != nil || s.KeyDeclared || s.Key.String() != want || s.Bars[1].Key != s.Key || codes(s.Problems) != "key-guessed" {
			t.Errorf("%s: %s %v %v", music, s.Key, s.Problems, err)
		}
	}
}

const several = "M:3/4\nL:1/4\n\nX:4\nT:Four\nK:G\nGAB|\n\nfree text that is no music\n\nX:9\nT:Nine\nM:2/4\nK:D\nDE|FG|\n\nX:9\nT:Nine again\nK:C\nCDE|\n"

func TestTunes(t *testing.T) {
	got := Tunes([]byte(several))
	want := []Heading{{4, "Four", 4}, {9, "Nine", 11}, {9, "Nine again", 17}}
	if !slices.Equal(got, want) {
		t.Errorf("%+v", got)
	}
	for _, tt := range []struct {
		tune         int
		title, meter string
		number       int
		problems     string
	}{
		{0, "Four", "3/4", 4, "several-tunes"}, {4, "Four", "3/4", 4, ""}, {9, "Nine", "2/4", 9, "tune-twice"},
	} {
		s, err := Read([]byte(several), Options{Tune: tt.tune})
		if err != nil || s.Title != tt.title || s.Meter.String() != tt.meter || s.Number != tt.number {
			t.Errorf("tune %d: %q %s %d %v", tt.tune, s.Title, s.Meter, s.Number, err)
		}
		if got := codes(s.Problems); got != tt.problems {
			t.Errorf("tune %d: %s\n%v", tt.tune, got, s.Problems)
		}
	}
	var ps leadsheet.Problems
	if _, err := Read([]byte(several), Options{Tune: 5}); !errors.As(err, &ps) || codes(ps) != "tune-missing" || !strings.Contains(words.Must("en").Problem(ps[0]).Fix, "4, 9, 9") {
		t.Errorf("tune 5: %v", err)
	}
}

func TestLenient(t *testing.T) {
	for _, tt := range []struct{ name, in, want, problems string }{
		{"carriage returns", "X:1\rM:4/4\rL:1/4\rK:C\rCDEF|\r", "CDEF", ""},
		{"both line ends", "X:1\r\nM:4/4\r\nL:1/4\r\nK:C\r\nCDEF|\r\n", "CDEF", ""},
		{"byte order mark", "\xEF\xBB\xBFX:1\nM:4/4\nL:1/4\nK:C\nCDEF|\n", "CDEF", ""},
		{"no X:", "T:x\nM:4/4\nL:1/4\nK:C\nCDEF|\n", "CDEF", ""},
		{"no K:", "X:1\nM:4/4\nL:1/4\nCDEF|\n", "CDEF", "key-guessed key-missing"},
		{"no line end", "X:1\nM:4/4\nL:1/4\nK:C\nCDEF", "CDEF", ""},
		{"music after a blank line", plainHead + "CDEF|\n\nGABc|\n", "CDEF", "text-after-tune"},
		{"continued field", "X:1\nT:one\n+:two\nM:4/4\nL:1/4\nK:C\nCDEF|\n", "CDEF", ""},
		{"directives", "X:1\nM:4/4\nL:1/4\n%%titlefont Bold\nK:C\nCDEF|\n%%begintext\nG|A|\n%%endtext\nGABc|\n", "CDEF GABC", "directive-ignored directive-dropped"},
		{"accidentals by octave", "X:1\nM:4/4\nL:1/4\nI:propagate-accidentals octave\nK:C\n^Fff2|\n", "F#FF", ""},
		{"accidentals not at all", "X:1\nM:4/4\nL:1/4\n%%propagate-accidentals not\nK:C\n^FFF2|\n", "F#FF", ""},
		{"metre not read", "X:1\nM:4/4\nM:waltz\nL:1/4\nK:C\nCDEF|\n", "CDEF", "meter-unknown"},
		{"key not read", "X:1\nM:4/4\nL:1/4\nK:Quux\nCDEF|\n", "CDEF", "key-guessed key-unknown"},
		{"tempo changes", plainHead + "[Q:1/4=90]C4|[Q:1/4=120]D4|[Q:60]E4|\n", "C D E", "tempo-change"},
		{"pipes", "X:1\nM:4/4\nL:1/4\nK:HP\ncdef|\n", "C#DEF#", "key-pipes"},
		{"odd signature", "X:1\nM:4/4\nL:1/4\nK:D exp _b ^f\nFGAB|\n", "F#GABb", "key-accidentals"},
		{"macro and unknown field", "X:1\nM:4/4\nL:1/4\nm:~n=n\nE:x\nK:C\nCDEF|\n", "CDEF", "macro-dropped field-unknown"},
		{"field out of place", plainHead + "[T:x]CDEF|\n", "CDEF", "field-misplaced"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := Read([]byte(tt.in), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if got := pitches(s); got != tt.want {
				t.Errorf("got %s, want %s", got, tt.want)
			}
			if got := codes(s.Problems); got != tt.problems {
				t.Errorf("problems %q, want %q\n%v", got, tt.problems, s.Problems)
			}
		})
	}
}

// Files without a declared encoding: ABC 2.1, section 2.2, has UTF-8; that older ones
// are Latin-1 is common practice, no source.
func TestLatin1(t *testing.T) {
	for _, tt := range []struct{ in, problems string }{
		{"X:1\nT:Fr\xe8re\nM:4/4\nK:C\nC8|\n", "charset-guessed"},
		{"%%abc-charset iso-8859-1\nX:1\nT:Fr\xe8re\nM:4/4\nK:C\nC8|\n", ""},
		{"X:1\nT:Frère\nM:4/4\nK:C\nC8|\n", ""},
	} {
		s, err := Read([]byte(tt.in), Options{})
		if err != nil || s.Title != "Frère" || codes(s.Problems) != tt.problems {
			t.Errorf("%q: %q %v %v", tt.in, s.Title, s.Problems, err)
		}
	}
}

// Positions: file, line and column as written, bar and beat as played first.
func TestPositions(t *testing.T) {
	s, err := Read([]byte(plainHead+"G|\"C\"CDEF|\n\"Qq7\"C2 \"Cxx\"!turn!D|\n"), Options{File: "p.abc"})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, n := range s.Melody {
		got = append(got, n.Pos.String())
	}
	for _, p := range s.Problems {
		got = append(got, p.Pos.String()+" "+p.Code)
	}
	want := []string{
		"p.abc:6:1: bar 0, beat 4", "p.abc:6:6: bar 1, beat 1", "p.abc:6:7: bar 1, beat 2", "p.abc:6:8: bar 1, beat 3", "p.abc:6:9: bar 1, beat 4",
		"p.abc:7:6: bar 2, beat 1", "p.abc:7:20: bar 2, beat 3",
		"p.abc:7:1: bar 2, beat 1 annotation-dropped", "p.abc:7:9: bar 2, beat 3 chord-unknown", "p.abc:7:14: bar 2, beat 3 decoration-dropped",
	}
	if !slices.Equal(got, want) {
		t.Errorf("\n got %q\nwant %q", got, want)
	}
}
