package proof_test

import (
	. "gradatim/internal/proof"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/harmony"
	"gradatim/internal/roadmap"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/corpus"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// planted is a sheet with one error.
type planted struct {
	song leadsheet.Song // as it is read
	bar  int            // the written one in which the error is
	was  leadsheet.Song // the sheet without it, as it is read
}

// planter makes errors of a kind; ok is false where the sheet has no place for one.
type planter func(page leadsheet.Song, r *rand.Rand) (out leadsheet.Song, ok bool)

var planters = map[Kind]planter{
	Chord: plantChord, Held: plantHeld, Spelling: plantSpelling, LastChord: plantLast,
	Signature: plantSignature, Mode: plantMode, Length: plantLength, Ending: plantEnding, Pickup: plantPickup,
}

// plant writes a sheet as ABC with an error and reads it again.
func plant(s corpus.Sheet, k Kind, r *rand.Rand) (planted, bool) {
	page := s.Song
	if k != Held && k != LastChord { // of these it is another question which bar is the last
		page = roadmap.OnPage(s.Song)
	}
	was, err := abc.Read(abc.Write(page), abc.Options{File: "sheet"})
	if err != nil || len(was.Bars) != len(s.Song.Bars) || was.End() != s.Song.End() {
		page = s.Song
		if was, err = abc.Read(abc.Write(page), abc.Options{File: "sheet"}); err != nil {
			return planted{}, false
		}
	}
	out, ok := planters[k](page, r)
	if !ok {
		return planted{}, false
	}
	song, err := abc.Read(abc.Write(out), abc.Options{File: "sheet"})
	if err != nil {
		return planted{}, false
	}
	return planted{song, differs(was, song), was}, true
}

// differs is the written bar in which a song is first another one than it was.
func differs(was, is leadsheet.Song) int {
	at := is.End()
	for i, n := range is.Melody {
		if i >= len(was.Melody) || was.Melody[i].At != n.At || was.Melody[i].Dur != n.Dur || was.Melody[i].Pitch != n.Pitch {
			at = min(at, n.At)
			break
		}
	}
	for i, c := range is.Chords {
		if i >= len(was.Chords) || was.Chords[i].At != c.At || was.Chords[i].Chord != c.Chord {
			at = min(at, c.At)
			break
		}
	}
	return is.Bars[is.BarAt(at)].Written
}

// pick chooses one of a list.
func pick[T any](r *rand.Rand, list []T) (T, bool) {
	if len(list) == 0 {
		var none T
		return none, false
	}
	return list[r.IntN(len(list))], true
}

func beatAt(s leadsheet.Song, at theory.Dur) theory.Dur {
	return s.Bars[s.BarAt(at)].Meter.OrCommon().Pulse()
}

// heard are the notes that sound for a beat or more in a stretch.
func heard(s leadsheet.Song, from, to theory.Dur) []leadsheet.Note {
	var out []leadsheet.Note
	for _, n := range s.Melody {
		if d := min(n.End(), to) - max(n.At, from); d >= beatAt(s, from) {
			out = append(out, n)
		}
	}
	return out
}

// slipped are a chord's readings with another sign before its root.
func slipped(c theory.Chord) []theory.Chord {
	var out []theory.Chord
	for _, d := range []int8{-1, 1} {
		x := c
		x.Root.Alter += d
		switch x.Root.String() {
		case "Cb", "Fb", "E#", "B#":
			continue
		}
		if x.Root.Alter >= -1 && x.Root.Alter <= 1 {
			out = append(out, x)
		}
	}
	return out
}

// put writes a chord in place of the one of a span.
func put(s leadsheet.Song, span harmony.Span, c theory.Chord) leadsheet.Song {
	s.Chords = slices.Clone(s.Chords)
	for i := range s.Chords {
		if m := &s.Chords[i]; m.At >= span.At && m.At < span.End && m.Chord == span.Chord {
			m.Chord, m.Text = c, c.String()
		}
	}
	return s
}

// A chord a half step off, over a note of a beat or more that it does not hold.
func plantChord(s leadsheet.Song, r *rand.Rand) (leadsheet.Song, bool) {
	type choice struct {
		span harmony.Span
		c    theory.Chord
	}
	var all []choice
	a := harmony.Analyse(s)
	for i, p := range a.Spans {
		if !p.Sounding() || p.Mark < 0 || i == len(a.Spans)-1 || p.Dur() < beatAt(s, p.At) {
			continue
		}
		for _, c := range slipped(p.Chord) {
			for _, n := range heard(s, p.At, p.End) {
				if p.Chord.HasClass(n.Pitch.Class()) && !c.HasClass(n.Pitch.Class()) {
					all = append(all, choice{p, c})
					break
				}
			}
		}
	}
	x, ok := pick(r, all)
	if !ok {
		return s, false
	}
	return put(s, x.span, x.c), true
}

// The same under a note that is held into the chord; or a chord that is set too early, under
// the end of a note that it cannot hold.
func plantHeld(s leadsheet.Song, r *rand.Rand) (leadsheet.Song, bool) {
	type choice struct {
		span harmony.Span
		c    theory.Chord
		to   theory.Dur
	}
	var all []choice
	a := harmony.Analyse(s)
	for i, p := range a.Spans {
		if !p.Sounding() || p.Mark < 0 || i == 0 {
			continue
		}
		beat := beatAt(s, p.At)
		for k, n := range s.Melody {
			if n.At < p.At && n.End()-p.At >= beat && p.Chord.HasClass(n.Pitch.Class()) {
				for _, c := range slipped(p.Chord) {
					if !c.HasClass(n.Pitch.Class()) {
						all = append(all, choice{p, c, p.At})
					}
				}
			}
			early := n.End() - beat*max(1, n.Dur/beat/2)
			resolves := k+1 < len(s.Melody) && s.Melody[k+1].At == n.End() && s.Melody[k+1].Pitch.MIDI() < n.Pitch.MIDI() && s.Melody[k+1].Pitch.MIDI() >= n.Pitch.MIDI()-2
			if n.End() == p.At && early > n.At && early > a.Spans[i-1].At && !p.Chord.HasClass(n.Pitch.Class()) && !resolves &&
				a.Spans[i-1].Sounding() && a.Spans[i-1].Chord.HasClass(n.Pitch.Class()) &&
				p.Chord.HasClass(n.Pitch.Class()+11) {
				all = append(all, choice{p, p.Chord, early})
			}
		}
	}
	x, ok := pick(r, all)
	if !ok {
		return s, false
	}
	s = put(s, x.span, x.c)
	for i := range s.Chords {
		if s.Chords[i].At == x.span.At {
			s.Chords[i].At = x.to
		}
	}
	return s, true
}

// A root of the key under its other name.
func plantSpelling(s leadsheet.Song, r *rand.Rand) (leadsheet.Song, bool) {
	other := map[string]string{"Bb": "A#", "Eb": "D#", "Ab": "G#", "Db": "C#", "Gb": "F#", "F#": "Gb", "C#": "Db", "G#": "Ab", "D#": "Eb", "A#": "Bb"}
	a := harmony.Analyse(s)
	var all []harmony.Span
	for _, p := range a.Spans {
		if p.Sounding() && p.Mark >= 0 && other[p.Chord.Root.String()] != "" && p.Key.Contains(p.Chord.Root) && p.Chord.UpperTones.Empty() {
			all = append(all, p)
		}
	}
	x, ok := pick(r, all)
	if !ok {
		return s, false
	}
	c := x.Chord
	c.Root, _ = theory.ParseName(other[c.Root.String()])
	return put(s, x, c), true
}

// Another last chord than the tonic, under the tonic.
func plantLast(s leadsheet.Song, r *rand.Rand) (leadsheet.Song, bool) {
	if f := roadmap.Unfold(s); f.End() != s.End() { // which bar is last is another question
		s = f
	}
	a := harmony.Analyse(s)
	p := a.Spans[len(a.Spans)-1]
	last := s.Melody[len(s.Melody)-1]
	if !p.Sounding() || p.Mark < 0 || p.Chord.Root != a.Key.Tonic || last.Pitch.Class() != a.Key.Tonic.Class() || len(a.Spans) < 3 {
		return s, false
	}
	scale := a.Key.Scale()
	root, _ := pick(r, []theory.Name{scale[3], scale[4], scale[1], scale[5]})
	c, err := theory.ParseSymbol(root.String())
	if root != scale[3] && root != scale[4] || a.Key.Mode.Minorish() && root == scale[3] {
		c, err = theory.ParseSymbol(root.String() + "m")
	}
	if err != nil {
		return s, false
	}
	return put(s, p, c.Chord), true
}

// A signature that is one or two signs off. In MusicXML each note has its own pitch and
// stays; in ABC the notes go with the signature.
func plantSignature(s leadsheet.Song, r *rand.Rand) (leadsheet.Song, bool) {
	if !s.KeyDeclared || slices.ContainsFunc(s.Bars, func(b leadsheet.Bar) bool { return b.Key != s.Key }) {
		return s, false
	}
	a := harmony.Analyse(s)
	if a.Key.Fifths() != s.Key.Fifths() || a.Estimate.Fifths() != s.Key.Fifths() {
		return s, false
	}
	implied := r.IntN(2) == 0
	var all []theory.Key
	for _, d := range []int{-2, -1, 1, 2} {
		if f := s.Key.Fifths() + d; f >= -7 && f <= 7 {
			k := theory.KeyOf(f, s.Key.Mode)
			notes, chords := map[theory.Letter]int{}, map[theory.Letter]int{}
			for _, n := range s.Melody {
				if s.Key.Contains(n.Pitch.Name) {
					notes[n.Pitch.Letter]++
				}
			}
			for _, p := range a.Spans {
				if p.Sounding() {
					for _, n := range p.Chord.Spell() {
						if s.Key.Contains(n) {
							chords[n.Letter]++
						}
					}
				}
			}
			ok := true
			for l := theory.C; l <= theory.B; l++ {
				if k.Signature(l) != s.Key.Signature(l) && (notes[l] < 3 || implied && chords[l] < 2) {
					ok = false
				}
			}
			if ok {
				all = append(all, k)
			}
		}
	}
	k, ok := pick(r, all)
	if !ok {
		return s, false
	}
	old := s.Key
	s.Key = k
	s.Bars = slices.Clone(s.Bars)
	for i := range s.Bars {
		s.Bars[i].Key = k
	}
	if implied {
		s.Melody = slices.Clone(s.Melody)
		for i := range s.Melody {
			if p := &s.Melody[i].Pitch; p.Alter == old.Signature(p.Letter) {
				p.Alter = k.Signature(p.Letter)
			}
		}
	}
	return s, true
}

// The relative key in place of the key.
func plantMode(s leadsheet.Song, _ *rand.Rand) (leadsheet.Song, bool) {
	a := harmony.Analyse(s)
	if !s.KeyDeclared || len(a.Regions) != 1 || a.Estimate != s.Key || len(s.Bars) < 8 {
		return s, false
	}
	m := theory.Minor
	if s.Key.Mode.Minorish() {
		m = theory.Major
	}
	k := theory.KeyOf(s.Key.Fifths(), m)
	s.Key = k
	s.Bars = slices.Clone(s.Bars)
	for i := range s.Bars {
		s.Bars[i].Key = k
	}
	return s, true
}

// stretch gives a note another length, and its bar.
func stretch(s leadsheet.Song, note int, to theory.Dur) leadsheet.Song {
	s.Bars, s.Melody, s.Chords = slices.Clone(s.Bars), slices.Clone(s.Melody), slices.Clone(s.Chords)
	n := &s.Melody[note]
	by := to - n.Dur
	end := n.End()
	s.Bars[s.BarAt(n.At)].Dur += by
	n.Dur = to
	for i := range s.Melody {
		if s.Melody[i].At >= end {
			s.Melody[i].At += by
		}
	}
	for i := range s.Chords {
		if s.Chords[i].At >= end {
			s.Chords[i].At += by
		}
	}
	for i := range s.Bars {
		if s.Bars[i].At >= end {
			s.Bars[i].At += by
		}
	}
	return s
}

// stretchable are the notes of a bar that nothing is tied to and that can be written longer
// or shorter, with their lengths then.
func stretchable(s leadsheet.Song, bar int) (notes []int, to []theory.Dur) {
	b := s.Bars[bar]
	for i, n := range s.Melody {
		if n.At < b.At && n.End() > b.At || n.At < b.End() && n.End() > b.End() {
			if n.At < b.End() && n.End() > b.At {
				return nil, nil
			}
		}
		if n.At >= b.At && n.At < b.End() {
			for _, d := range []theory.Dur{2 * n.Dur, n.Dur / 2, n.Dur * 3 / 2} {
				if d%(theory.Whole/32) == 0 && d > 0 {
					notes, to = append(notes, i), append(to, d)
				}
			}
		}
	}
	return notes, to
}

// A value too long or too short in a bar.
func plantLength(s leadsheet.Song, r *rand.Rand) (leadsheet.Song, bool) {
	type choice struct {
		note int
		to   theory.Dur
	}
	var all []choice
	for i := 2; i+2 < len(s.Bars); i++ {
		if b := s.Bars[i]; b.Dur == b.Meter.Bar() {
			notes, to := stretchable(s, i)
			for k := range notes {
				if (b.Dur+to[k]-s.Melody[notes[k]].Dur)%b.Dur != 0 { // a bar twice as long lacks a bar line
					all = append(all, choice{notes[k], to[k]})
				}
			}
		}
	}
	x, ok := pick(r, all)
	if !ok {
		return s, false
	}
	return stretch(s, x.note, x.to), true
}

// The signs of endings are lost, not that of the repeat.
func plantEnding(s leadsheet.Song, r *rand.Rand) (leadsheet.Song, bool) {
	var all []int
	for i := 1; i < len(s.Bars); i++ {
		if s.Bars[i].Signs.EndingOpens && s.Bars[i].Signs.Ending == leadsheet.PassesOf(1) {
			for j := i + 1; j < len(s.Bars); j++ {
				if g := s.Bars[j].Signs; g.EndingOpens && g.Ending == leadsheet.PassesOf(2) && j-i <= 2 && s.Bars[j-1].Signs.Times == 2 {
					all = append(all, i)
				}
			}
		}
	}
	i, ok := pick(r, all)
	if !ok {
		return s, false
	}
	s.Bars = slices.Clone(s.Bars)
	for j, n := i, 0; j < len(s.Bars) && s.Bars[j].Signs.Ending != 0 && n <= 2; j++ {
		g := &s.Bars[j].Signs
		if g.EndingOpens {
			n++
		}
		if n <= 2 {
			g.Ending, g.EndingOpens = 0, false
		}
	}
	return s, true
}

// A pick-up that does not fit the last bar, or has no bar line.
func plantPickup(s leadsheet.Song, r *rand.Rand) (leadsheet.Song, bool) {
	first, last := s.Bars[0], s.Bars[len(s.Bars)-1]
	if !first.Pickup || len(s.Bars) < 6 || last.Dur+first.Dur != first.Meter.Bar() || s.Bars[1].Dur != s.Bars[1].Meter.Bar() {
		return s, false
	}
	notes, to := stretchable(s, 0)
	if s.Bars[1].Signs.Start {
		return s, false // the bar line is that of the repeat
	}
	if len(notes) == 0 || r.IntN(2) == 0 {
		s.Bars = slices.Clone(s.Bars)
		b := s.Bars[1]
		b.At, b.Dur, b.Signs.Start = first.At, first.Dur+b.Dur, first.Signs.Start || b.Signs.Start
		s.Bars = append([]leadsheet.Bar{b}, s.Bars[2:]...)
		return s, true
	}
	k := r.IntN(len(notes))
	if first.Dur+to[k]-s.Melody[notes[k]].Dur >= first.Meter.Bar() {
		return s, false
	}
	return stretch(s, notes[k], to[k]), true
}

// chordal are the kinds that tell of a chord.
func group(k Kind) Kind {
	switch k {
	case Held, Spelling, LastChord:
		return Chord
	case Mode:
		return Signature
	}
	return k
}

// found tells whether a suspicion is that of the error.
func found(p planted, k Kind) (Suspicion, bool) {
	for _, s := range Of(p.song, harmony.Analyse(p.song)) {
		if group(s.Kind) != group(k) && !(k == Pickup && s.Kind == Length) {
			continue
		}
		if k == Signature || k == Mode || k == Pickup || k == LastChord && s.Kind == LastChord {
			return s, true
		}
		bar := s.Pos.Bar
		for _, b := range p.song.Bars {
			if k == Ending { // one of the endings, of whichever time
				n, second := s.Parts[1].(int), s.Parts[5].(int)
				if b.Number >= second-n && b.Number < second+n && b.Written == p.bar {
					return s, true
				}
			}
			if b.Number == bar && b.Written == p.bar {
				return s, true
			}
		}
	}
	return Suspicion{}, false
}

// same tells whether two sheets are played the same, chord by chord and note by note, under
// the same signature.
func same(a, b leadsheet.Song) bool {
	other := 0 // what ABC writes without a sign under either signature, nobody can tell apart
	return a.Key.Fifths() == b.Key.Fifths() && a.Key.Mode.Minorish() == b.Key.Mode.Minorish() &&
		slices.EqualFunc(a.Melody, b.Melody, func(m, n leadsheet.Note) bool {
			if m.Pitch.MIDI() != n.Pitch.MIDI() {
				other++
			}
			return m.At == n.At && m.Dur == n.Dur
		}) && 20*other <= len(a.Melody) && slices.EqualFunc(harmony.Analyse(a).Spans, harmony.Analyse(b).Spans, func(m, n harmony.Span) bool {
		return m.At == n.At && m.Chord.Root == n.Chord.Root && m.Chord.MinorThird() == n.Chord.MinorThird()
	})
}

// TestPlanted plants an error of each kind in every shared sheet that has a place for it.
func TestPlanted(t *testing.T) {
	all := corpus.Sheets(t)
	least := 85 // percent of a sample
	if sharedtest.Every(6, 4) == 1 {
		least = 90
	}
	for _, k := range Kinds() {
		made, hit, sure, right := 0, 0, 0, 0
		for i, s := range all {
			if !sharedtest.Takes(s.Name+k.String(), 6, 4) {
				continue
			}
			p, ok := plant(s, k, rand.New(rand.NewPCG(uint64(i), uint64(k))))
			if !ok {
				continue
			}
			if _, had := found(planted{p.was, p.bar, p.was}, k); had {
				continue // the sheet says it of that place anyway
			}
			made++
			x, ok := found(p, k)
			if !ok {
				continue
			}
			hit++
			if x.Likely >= Sure {
				sure++
				is, _, _, _ := Mend(p.song, true)
				was, _, _, _ := Mend(p.was, true)
				if same(is, was) {
					right++
				}
			}
		}
		t.Logf("%-10s planted %3d found %3d (%d %%), sure %3d, of these right %3d", k, made, hit, 100*hit/max(1, made), sure, right)
		if made == 0 || made >= 10 && 100*hit < least*made {
			t.Errorf("%s: %d of %d are found", k, hit, made)
		}
	}
}

// mostFalse is how many of ten sheets may have a false alarm, in tenths.
const mostFalse = 10

// TestAlarms counts what is suspected of the sheets as they are: with reason, as
// testdata/alarms.tsv has it, or for nothing.
func TestAlarms(t *testing.T) {
	data, err := os.ReadFile("testdata/alarms.tsv")
	if err != nil {
		t.Fatal(err)
	}
	reasons := map[string]bool{}
	for line := range strings.Lines(string(data)) {
		if f := strings.Split(line, "\t"); len(f) == 3 {
			reasons[f[0]+" "+f[1]] = true
		}
	}
	labels := len(reasons)
	all := corpus.Sheets(t)
	suspected, wrong := 0, 0
	for _, s := range all {
		for _, x := range Of(s.Song, harmony.Analyse(s.Song)) {
			suspected++
			if key := s.Name + " " + x.ID; reasons[key] {
				delete(reasons, key)
			} else {
				wrong++
				t.Log("false alarm:", x.Problem())
			}
		}
	}
	t.Logf("%d sheets, %d suspicions, %d of them true, %d false", len(all), suspected, suspected-wrong, wrong)
	if wrong*100 > len(all)*mostFalse {
		t.Errorf("%d false alarms in %d sheets", wrong, len(all))
	}
	for key := range reasons {
		t.Errorf("no longer suspected, of %d: %s", labels, key)
	}
}
