package musicxml

import (
	"encoding/xml"

	"gradatim/internal/musicxml/markup"
	"gradatim/internal/roadmap"
	"gradatim/score"
	"gradatim/theory"
)

// item is one thing in a measure, in written order: *note, *shift, *attributes,
// *direction, *harmony, *barline or *layout.
type item interface{ item() }

func (*note) item()       {}
func (*shift) item()      {}
func (*attributes) item() {}
func (*direction) item()  {}
func (*harmony) item()    {}
func (*barline) item()    {}
func (*layout) item()     {}

// note is a note or rest as written.
type note struct {
	line  int
	id    string
	voice string
	staff int

	pitch     theory.Pitch
	pitched   bool
	unpitched bool
	micro     bool // the alteration was no whole semitone
	faulty    bool // the pitch could not be read
	rest      bool
	whole     bool // a rest for the whole bar
	chord     bool
	grace     bool
	cue       bool
	slashHead bool // the note head says rhythm, not pitch

	duration frac // in divisions; d == 0: none written
	nominal  frac // as the note is drawn, in quarters; d == 0: not known

	tieFrom, tieTo bool
	sung           sung
	marks          score.Marks
	ornament       score.Ornament
	inverted       bool // an inverted turn, which the ornament does not tell
	finger         uint8
	fingerTo       uint8
	dynamics       frac // percent; d == 0: none
	role           score.Kind
	tuneNote       int // place in the melody, from 1; 0: none
	tremolo        tremolo
}

// tremolo tells the halves of a tremolo between two chords.
type tremolo uint8

const (
	noTremolo tremolo = iota
	tremoloFrom
	tremoloTo
)

// shift is <backup> (n negative) or <forward>, in divisions.
type shift struct {
	line int
	by   frac
}

// attributes is a change of key, time, divisions, staves, clef or transposition.
type attributes struct {
	line      int
	divisions frac // d == 0: unchanged
	keys      []keySign
	times     []timeSign
	staves    int
	clefs     []clef
	transpose *transposition
	repeats   bool // signs that a bar is to be repeated
	slashes   bool // slash notation begins
}

type keySign struct {
	staff  int // 0: all
	fifths int
	mode   string
	odd    bool // not traditional: single alterations
}

type timeSign struct {
	staff       int
	beats, unit int // 0: none that can be read
	symbol      string
	groups      []int // of its beats, where it writes several; in units of the lower number
	free        bool  // senza misura
	text        string
}

type clef struct {
	staff int
	sign  string
	line  int
}

type transposition struct {
	staff                        int
	diatonic, chromatic, octaves int
	hasDiatonic                  bool
}

// barline is what a bar line says.
type barline struct {
	line    int
	where   string // "left", "middle" or "right"
	style   string
	forward bool
	times   int // backward repeat: passes in all; 0 none
	ending  string
	numbers string
	segno   bool
	coda    bool
	fermata bool
}

// layout is what stands at a bar for those who divide the page: a <print> that
// begins a line, or the sign that a phrase begins.
type layout struct {
	system, phrase bool
	part           string // that begins
}

func (p *docParser) item(e xml.StartElement) item {
	switch e.Name.Local {
	case "note":
		return p.note(e)
	case "backup", "forward":
		s := &shift{line: p.Line, by: frac{0, 1}}
		p.Each(func(e xml.StartElement) {
			if e.Name.Local == "duration" {
				s.by = p.ticks()
			}
		})
		if e.Name.Local == "backup" {
			s.by.n = -s.by.n
		}
		return s
	case "attributes":
		return p.attributes()
	case "direction":
		return p.direction(e)
	case "sound":
		d := &direction{line: p.Line, staff: 1}
		p.sound(d, e)
		d.guide = d.guidance()
		return d
	case "harmony":
		return p.harmony(e)
	case "barline":
		return p.barline(e)
	case "grouping":
		var found layout
		p.Each(func(f xml.StartElement) {
			if f.Name.Local != "feature" {
				return
			}
			switch markup.Attr(f, "type") {
			case phraseFeature:
				found.phrase = true
			case partFeature:
				found.part = p.Text()
			}
		})
		if found != (layout{}) && markup.Attr(e, "type") == "start" {
			return &found
		}
	case "print":
		if markup.Attr(e, "new-system") == "yes" || markup.Attr(e, "new-page") == "yes" {
			return &layout{system: true}
		}
	}
	return nil
}

// ticks reads a duration in divisions; what makes no sense is 0.
func (p *docParser) ticks() frac {
	f, ok := parseDecimal(p.Text())
	if !ok || f.n < 0 || f.n/f.d > maxBarLength*maxDivisions {
		return frac{0, 1}
	}
	return f
}

func (p *docParser) staff() int {
	if n, ok := markup.Integer(p.Text()); ok && n >= 1 && n <= 100 {
		return n
	}
	return 1
}

func (p *docParser) note(e xml.StartElement) *note {
	n := &note{line: p.Line, id: markup.Attr(e, "id"), voice: "1", staff: 1}
	if markup.Attr(e, "print-object") == "no" {
		n.marks |= score.Hidden
	}
	if f, ok := parseDecimal(markup.Attr(e, "dynamics")); ok {
		n.dynamics = f
	}
	var value int // of the note type: 4 a quarter
	var dots int  //
	ratio := frac{1, 1}
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "pitch":
			p.pitch(n)
		case "unpitched":
			n.unpitched = true
		case "rest":
			n.rest, n.whole = true, markup.Attr(e, "measure") == "yes"
		case "chord":
			n.chord = true
		case "grace":
			n.grace = true
			if markup.Attr(e, "slash") == "yes" {
				n.marks |= score.Slashed
			}
		case "cue":
			n.cue = true
		case "duration":
			n.duration = p.ticks()
		case "voice":
			n.voice = p.intern(p.Text())
		case "staff":
			n.staff = p.staff()
		case "type":
			value = noteValues[p.Text()]
		case "dot":
			dots = min(dots+1, 4)
		case "time-modification":
			ratio = p.ratio()
		case "accidental":
			if markup.Attr(e, "cautionary") == "yes" {
				n.marks |= score.Courtesy
			}
		case "notehead":
			if markup.Attr(e, "parentheses") == "yes" {
				n.marks |= score.Ghost
			}
			switch p.Text() {
			case "slash":
				n.slashHead = true
			case "none":
				n.marks |= score.Hidden
			}
		case "tie":
			n.tie(markup.Attr(e, "type"))
		case "notations":
			p.notations(n)
		case "play":
			p.play(n)
		case "lyric":
			p.lyric(e, &n.sung)
		}
	})
	if value != 0 {
		// 4/value quarters, longer by the dots, times the tuplet's ratio
		num, den := int64(4), int64(value)
		if value < 0 {
			num, den = 4*int64(-value), 1
		}
		num, den = num*int64(2<<dots-1), den*int64(1<<dots)
		n.nominal = reduced(num*ratio.n, den*ratio.d)
	}
	return n
}

// noteValues gives the denominator of each note type; negative: so many whole
// notes. Source: MusicXML 4.0 XSD, simple type note-type-value.
var noteValues = map[string]int{
	"maxima": -8, "long": -4, "breve": -2, "whole": 1, "half": 2, "quarter": 4, "eighth": 8,
	"16th": 16, "32nd": 32, "64th": 64, "128th": 128, "256th": 256, "512th": 512, "1024th": 1024,
}

func (p *docParser) intern(s string) string {
	if v, ok := p.voices[s]; ok {
		return v
	}
	if len(p.voices) < 1000 {
		p.voices[s] = s
	}
	return s
}

func (p *docParser) pitch(n *note) {
	step, octave, seen := "", 0, false
	alter := frac{0, 1}
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "step":
			step = p.Text()
		case "alter":
			var ok bool
			if alter, ok = parseDecimal(p.Text()); !ok {
				n.faulty = true
			}
		case "octave":
			octave, seen = markup.Integer(p.Text())
		}
	})
	name, err := theory.ParseName(step)
	if err != nil || name.Alter != 0 || !seen || octave < 0 || octave > 9 {
		n.faulty = true
		return
	}
	whole := alter.n / alter.d
	n.micro = whole*alter.d != alter.n
	if whole < -3 || whole > 3 {
		n.faulty = true
		return
	}
	name.Alter = int8(whole)
	n.pitch, n.pitched = name.At(octave), true
}

func (p *docParser) ratio() frac {
	actual, normal := 1, 1
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "actual-notes":
			actual, _ = markup.Integer(p.Text())
		case "normal-notes":
			normal, _ = markup.Integer(p.Text())
		}
	})
	if actual < 1 || normal < 1 || actual > 1000 || normal > 1000 {
		return frac{1, 1}
	}
	return reduced(int64(normal), int64(actual))
}

// play reads what our own pages say of a note for its player.
func (p *docParser) play(n *note) {
	p.Each(func(e xml.StartElement) {
		if e.Name.Local != "other-play" {
			return
		}
		switch markup.Attr(e, "type") {
		case playRole:
			n.role.UnmarshalText([]byte(p.Text())) // another program's role is none of ours
		case playTune:
			if k, ok := markup.Integer(p.Text()); ok && k > 0 && k <= roadmap.MaxPlayedNotes {
				n.tuneNote = k
			}
		}
	})
}

func (n *note) tie(kind string) {
	switch kind {
	case "start":
		n.tieFrom = true
	case "stop":
		n.tieTo = true
	case "continue":
		n.tieFrom, n.tieTo = true, true
	}
}

func (p *docParser) notations(n *note) {
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "tied":
			n.tie(markup.Attr(e, "type"))
		case "slur":
			switch markup.Attr(e, "type") {
			case "start":
				n.marks |= score.SlurFrom
			case "stop":
				n.marks |= score.SlurTo
			}
		case "arpeggiate":
			n.marks |= score.Rolled
		case "fermata":
			n.marks |= score.Fermata
		case "articulations":
			p.Each(func(e xml.StartElement) {
				switch e.Name.Local {
				case "staccato", "staccatissimo", "spiccato":
					n.marks |= score.Staccato
				case "detached-legato":
					n.marks |= score.Staccato | score.Tenuto
				case "tenuto":
					n.marks |= score.Tenuto
				case "accent", "strong-accent":
					n.marks |= score.Accent
				}
			})
		case "ornaments":
			p.Each(func(e xml.StartElement) {
				switch e.Name.Local {
				case "mordent":
					n.ornament = score.Mordent
				case "inverted-mordent":
					n.ornament = score.UpperMordent
				case "turn", "delayed-turn", "vertical-turn":
					n.ornament = score.Turn
				case "inverted-turn", "delayed-inverted-turn", "inverted-vertical-turn":
					n.ornament, n.inverted = score.Turn, true
				case "trill-mark":
					n.ornament = score.Trill
				case "wavy-line":
					if n.ornament == score.NoOrnament && markup.Attr(e, "type") == "start" {
						n.ornament = score.Trill
					}
				case "tremolo":
					n.ornament = score.Tremolo
					switch markup.Attr(e, "type") {
					case "start":
						n.tremolo = tremoloFrom
					case "stop":
						n.tremolo = tremoloTo
					}
				}
			})
		case "technical":
			p.Each(func(e xml.StartElement) {
				if e.Name.Local == "fingering" && markup.Attr(e, "alternate") != "yes" {
					p.fingering(n, markup.Attr(e, "substitution") == "yes")
				}
			})
		}
	})
}

// fingering reads "3", a change of finger as a second element or as "3-1".
func (p *docParser) fingering(n *note, change bool) {
	var fingers []uint8
	for _, c := range p.Text() {
		if c >= '1' && c <= '5' {
			fingers = append(fingers, uint8(c-'0'))
		}
	}
	if len(fingers) == 0 {
		return
	}
	switch {
	case change && n.finger != 0:
		n.fingerTo = fingers[0]
	case n.finger == 0:
		n.finger = fingers[0]
		if len(fingers) == 2 {
			n.fingerTo = fingers[1]
		}
	}
}

func (p *docParser) barline(e xml.StartElement) *barline {
	b := &barline{line: p.Line, where: markup.Attr(e, "location")}
	if b.where == "" {
		b.where = "right"
	}
	_, b.segno = markup.AttrSet(e, "segno")
	_, b.coda = markup.AttrSet(e, "coda")
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "bar-style":
			b.style = p.Text()
		case "repeat":
			switch markup.Attr(e, "direction") {
			case "forward":
				b.forward = true
			case "backward":
				b.times = 2
				if n, ok := markup.Integer(markup.Attr(e, "times")); ok && n > 1 {
					b.times = n
				}
			}
		case "ending":
			b.ending, b.numbers = markup.Attr(e, "type"), markup.Attr(e, "number")
			if s := p.Text(); b.numbers == "" {
				b.numbers = s
			}
		case "segno":
			b.segno = true
		case "coda":
			b.coda = true
		case "fermata":
			b.fermata = true
		}
	})
	return b
}
