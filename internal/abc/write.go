package abc

import (
	"bytes"
	"fmt"
	"strings"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// barsPerLine is how many bars Write puts on a line of music.
const barsPerLine = 4

// Write writes a song as an ABC 2.1 tune, as it is played or, where its bars have signs,
// as its page has it: chord symbols in the house style, sections as parts. Reading it again gives the
// same bars, notes, chords and sections. What ABC has no place for (positions,
// numbers of written bars, the status of the rights) is left out.
func Write(s leadsheet.Song) []byte {
	w := &writer{song: s, key: s.Key, meter: s.Meter, words: make([][]string, s.Verses())}
	w.header()
	w.body()
	for _, line := range s.Words {
		fmt.Fprintf(&w.out, "W:%s\n", guarded(line))
	}
	return w.out.Bytes()
}

type writer struct {
	song  leadsheet.Song
	out   bytes.Buffer
	key   theory.Key
	meter leadsheet.Meter
	signs [7]sign // accidentals in force in the bar, as a reader keeps them

	note, chord int        // first of each not yet begun
	words       [][]string // of the line being written: for each verse what its notes have
	sung        int        // verses that have text in it
}

func (w *writer) field(letter byte, text string) {
	if text = guarded(text); text != "" {
		fmt.Fprintf(&w.out, "%c:%s\n", letter, text)
	}
}

func (w *writer) header() {
	s := w.song
	w.out.WriteString("%abc-2.1\n")
	fmt.Fprintf(&w.out, "X:%d\n", max(s.Number, 1))
	w.field('T', s.Title)
	for _, p := range s.Rights.Composers {
		w.field('C', credit(p))
	}
	for _, p := range s.Rights.Lyricists {
		w.field('C', "words by "+credit(p))
	}
	if s.Rights.Arranger != "" {
		w.field('C', "arr. "+s.Rights.Arranger)
	}
	w.field('S', s.Rights.Source)
	if s.Rights.Licence != "" {
		w.field('Z', "abc-copyright "+s.Rights.Licence)
	}
	w.field('R', s.Rhythm)
	feel := feelOf(s.Rhythm, true)
	for _, n := range s.Notes {
		w.field('N', n)
		if feel == leadsheet.Unstated {
			feel = feelOf(n, false)
		}
	}
	if s.Feel != leadsheet.Unstated && feel != s.Feel {
		w.field('N', map[leadsheet.Feel]string{leadsheet.Swing: "swing feel", leadsheet.Straight: "straight eighths"}[s.Feel])
	}
	fmt.Fprintf(&w.out, "M:%s\nL:1/8\n", meterText(s.Meter))
	w.tempo()
	fmt.Fprintf(&w.out, "K:%s\n", keyText(s.Key))
}

func credit(p leadsheet.Person) string {
	if p.Died == 0 {
		return p.Name
	}
	return fmt.Sprintf("%s (d. %d)", p.Name, p.Died)
}

func (w *writer) tempo() {
	t := w.song.Tempo
	var parts []string
	if t.Words != "" {
		parts = append(parts, quoted(t.Words))
	}
	if t.Set() {
		beat := t.Beat.String()
		if _, _, ok := parseFraction(beat); ok && t.PerMinute <= 1000 {
			parts = append(parts, fmt.Sprintf("%s=%d", beat, t.PerMinute))
		}
	}
	if len(parts) > 0 {
		fmt.Fprintf(&w.out, "Q:%s\n", strings.Join(parts, " "))
	}
}

func meterText(m leadsheet.Meter) string {
	switch {
	case m.Free():
		return "none"
	case m.Given():
		return fmt.Sprintf("(%s)/%d", m.Parts, m.Unit)
	}
	if p, _, ok := parseMeter(m.Symbol); ok && p == m {
		return m.Symbol
	}
	return m.String()
}

// keyText writes a key as a K: field takes it. Tonics with two signs, which it
// cannot take, are written as their enharmonic.
func keyText(k theory.Key) string {
	if !k.Valid() {
		return "none"
	}
	for k.Tonic.Alter > 1 {
		k = theory.KeyOf(k.Fifths()-12, k.Mode)
	}
	for k.Tonic.Alter < -1 {
		k = theory.KeyOf(k.Fifths()+12, k.Mode)
	}
	switch k.Mode {
	case theory.Major:
		return k.Tonic.String()
	case theory.Minor:
		return k.Tonic.String() + "m"
	}
	return k.Tonic.String() + " " + k.Mode.String()[:3]
}

func quoted(text string) string {
	return `"` + strings.ReplaceAll(guarded(text), `"`, "&quot;") + `"`
}

func (w *writer) body() {
	bars := w.song.Bars
	onLine := 0
	for i, b := range bars {
		label := len(b.Section) == 1 && b.Section[0] >= 'A' && b.Section[0] <= 'Z'
		if onLine == barsPerLine || label && onLine > 0 {
			w.endLine()
			onLine = 0
		}
		if label {
			fmt.Fprintf(&w.out, "P:%s\n", b.Section)
		}
		if onLine > 0 {
			w.out.WriteByte(' ')
		}
		w.before(b.Signs)
		w.bar(b)
		w.after(b.Signs, i+1 == len(bars))
		onLine++
	}
	if onLine > 0 {
		w.endLine()
	}
}

// before writes the signs that stand before a bar.
func (w *writer) before(s leadsheet.Signs) {
	if s.Start {
		w.out.WriteString("|: ")
	}
	if s.EndingOpens {
		fmt.Fprintf(&w.out, "[%s ", strings.ReplaceAll(s.Ending.String(), " ", ""))
	}
	if s.Segno {
		w.out.WriteString("!segno!")
	}
	if s.Coda {
		w.out.WriteString("!coda!")
	}
}

// after writes the bar line behind a bar, with its signs.
func (w *writer) after(s leadsheet.Signs, last bool) {
	for _, jump := range []struct {
		is   bool
		name string
	}{{s.ToCoda, "tocoda"}, {s.Fine, "fine"}, {s.DaCapo, "D.C."}, {s.DalSegno, "D.S."}} {
		if jump.is {
			fmt.Fprintf(&w.out, "!%s!", jump.name)
		}
	}
	switch {
	case s.Times > 1:
		w.out.WriteString(strings.Repeat(":", s.Times-1) + "|")
	case last:
		w.out.WriteString("|]")
	default:
		w.out.WriteString("|")
	}
}

// endLine ends a line of music and writes its words below.
func (w *writer) endLine() {
	w.out.WriteByte('\n')
	for v := range w.words {
		if v < w.sung { // verses count by their place: an empty one has its line
			line := w.words[v]
			for len(line) > 0 && line[len(line)-1] == "*" {
				line = line[:len(line)-1]
			}
			fmt.Fprintf(&w.out, "w:%s\n", strings.Join(line, " "))
		}
		w.words[v] = w.words[v][:0]
	}
	w.sung = 0
}

func (w *writer) bar(b leadsheet.Bar) {
	if b.Meter != w.meter {
		w.meter = b.Meter
		fmt.Fprintf(&w.out, "[M:%s]", meterText(b.Meter))
	}
	if b.Key != w.key {
		w.key = b.Key
		fmt.Fprintf(&w.out, "[K:%s]", keyText(b.Key))
	}
	w.signs = [7]sign{}
	s := w.song
	// The note that sounds on from the bar before comes first; every other begins
	// in this one. Each stretch runs to the next thing that begins or ends.
	for at := b.At; at < b.End(); {
		for w.chord < len(s.Chords) && s.Chords[w.chord].At <= at {
			w.symbol(s.Chords[w.chord])
			w.chord++
		}
		for w.note < len(s.Melody) && s.Melody[w.note].End() <= at {
			w.note++
		}
		next := b.End()
		if w.chord < len(s.Chords) {
			next = min(next, s.Chords[w.chord].At)
		}
		if w.note == len(s.Melody) || s.Melody[w.note].At > at {
			if w.note < len(s.Melody) {
				next = min(next, s.Melody[w.note].At)
			}
			for at < next {
				d := piece(next - at)
				fmt.Fprintf(&w.out, "z%s", lengthText(d))
				at += d
			}
			continue
		}
		n := s.Melody[w.note]
		end := n.End()
		if w.note+1 < len(s.Melody) {
			end = min(end, max(s.Melody[w.note+1].At, at))
		}
		next = min(next, end)
		if n.At == at {
			w.graces(n.Graces)
			w.syllables(n.Sung)
		} else {
			w.hold(n.Sung)
		}
		for first := true; at < next; first = false {
			d := piece(next - at)
			w.pitch(n.Pitch)
			w.out.WriteString(lengthText(d))
			at += d
			if at < end {
				w.out.WriteByte('-')
			}
			if !first {
				w.hold(n.Sung)
			}
		}
	}
}

// piece returns how much of a length one note may hold, so that its figures stay
// within what readers take.
func piece(d theory.Dur) theory.Dur {
	const unit = theory.Eighth
	switch {
	case d > 256*unit:
		return 256 * unit
	case d%unit != 0 && d > 8*unit:
		return d - d%unit
	}
	return d
}

// lengthText writes a length as a multiple of an eighth: "", "3", "/2", "3/2".
func lengthText(d theory.Dur) string {
	return multiple(reduce(int64(d), int64(theory.Eighth)))
}

func (w *writer) symbol(c leadsheet.ChordMark) {
	text := c.Chord.String()
	switch {
	case c.Unknown:
		text = c.Text
	case c.Optional:
		text = "(" + text + ")"
	}
	w.out.WriteString(quoted(text))
}

func (w *writer) graces(ps []theory.Pitch) {
	if len(ps) == 0 {
		return
	}
	w.out.WriteByte('{')
	for _, p := range ps {
		w.pitch(p)
	}
	w.out.WriteByte('}')
}

// pitch writes a note without its length. A sign is written wherever the reader
// (or a reader that keeps octaves apart) would understand another note.
func (w *writer) pitch(p theory.Pitch) {
	p = writable(p)
	var inKey int8
	if w.key.Valid() {
		inKey = w.key.Signature(p.Letter)
	}
	s := w.signs[p.Letter]
	now := inKey
	if s.set {
		now = s.alter
	}
	if p.Alter != now || s.set && s.octave != int(p.Octave) && (s.alter != inKey || p.Alter != inKey) {
		w.out.WriteString([...]string{"__", "_", "=", "^", "^^"}[p.Alter+2])
		w.signs[p.Letter] = sign{true, p.Alter, int(p.Octave)}
	}
	letter, octave := p.Letter.String(), int(p.Octave)
	if octave >= 5 {
		letter = strings.ToLower(letter)
		letter += strings.Repeat("'", octave-5)
	} else {
		letter += strings.Repeat(",", 4-octave)
	}
	w.out.WriteString(letter)
}

// writable respells a pitch with more than two signs, which ABC does not have.
func writable(p theory.Pitch) theory.Pitch {
	for p.Alter > 2 {
		p = p.Up(theory.Interval{Steps: 1, Semitones: 0})
	}
	for p.Alter < -2 {
		p = p.Up(theory.Interval{Steps: -1, Semitones: 0})
	}
	return p
}

// syllables adds what a note sings to the lines of words.
func (w *writer) syllables(sung []leadsheet.Syllable) {
	for v := range w.words {
		s, ok := leadsheet.In(sung, v+1)
		switch {
		case ok && s.Held:
			w.words[v] = append(w.words[v], "_")
		case strings.TrimSpace(s.Text) == "":
			w.words[v] = append(w.words[v], "*")
			continue
		default:
			text := strings.NewReplacer("-", `\-`, "*", `\*`, "_", `\_`, "|", `\|`, "~", `\~`, " ", "~").Replace(guarded(s.Text))
			if s.Hyphen {
				text += "-"
			}
			w.words[v] = append(w.words[v], text)
		}
		w.sung = max(w.sung, v+1)
	}
}

// hold adds another written note of the same sound.
func (w *writer) hold(sung []leadsheet.Syllable) {
	for v := range w.words {
		sign := "*"
		if s, ok := leadsheet.In(sung, v+1); ok && !s.Hyphen {
			sign = "_"
		}
		w.words[v] = append(w.words[v], sign)
	}
}
