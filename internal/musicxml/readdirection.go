package musicxml

import (
	"encoding/xml"
	"regexp"
	"strings"

	"gradatim/internal/musicxml/markup"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// direction is a <direction>, with its <sound>, or a <sound> that stands alone.
type direction struct {
	line   int
	staff  int
	offset frac // divisions
	words  []string

	rehearsal string
	dynamics  []string
	pedal     string // "start", "stop", "change", "continue" …
	wedge     string // "crescendo", "diminuendo", "stop"
	wedgeName string // number that the stop has too
	shift     string // octave-shift: "up", "down", "stop"
	shiftSize int
	segno     bool
	coda      bool

	tempo leadsheet.Tempo // of a metronome mark
	swung bool            // a metronome equation that says swing
	sound sound
	guide guide // what all of it says about the order of playing
}

// sound is what a <sound> says for playing.
type sound struct {
	tempo            frac // quarters a minute; d == 0: none
	pedal            int  // how far the damper pedal is down, 0 to 127, and 1 more; 0: not said
	daCapo, dalSegno bool
	fine, toCoda     bool
	segno, coda      bool
	swing            bool
	straight         bool
	ratio            score.Ratio
	eighths          bool // the swing is of eighths (the usual), not of sixteenths
}

func (p *docParser) direction(e xml.StartElement) *direction {
	d := &direction{line: p.Line, staff: 1, offset: frac{0, 1}}
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "direction-type":
			p.Each(func(e xml.StartElement) { p.directionType(d, e) })
		case "offset":
			if f, ok := parseDecimal(p.Text()); ok {
				d.offset = f
			}
		case "staff":
			d.staff = p.staff()
		case "sound":
			p.sound(d, e)
		}
	})
	d.guide = d.guidance()
	return d
}

func (p *docParser) directionType(d *direction, e xml.StartElement) {
	switch e.Name.Local {
	case "words":
		if s := oneLine(tags.ReplaceAllString(p.Text(), " ")); s != "" && len(d.words) < 20 {
			d.words = append(d.words, clipTo(s, 200))
		}
	case "rehearsal":
		d.rehearsal = clipTo(oneLine(p.Text()), 40)
	case "segno":
		d.segno = true
	case "coda":
		d.coda = true
	case "dynamics":
		p.Each(func(e xml.StartElement) {
			s := e.Name.Local
			if s == "other-dynamics" {
				s = clipTo(oneLine(p.Text()), 40)
			}
			if s != "" && len(d.dynamics) < 8 {
				d.dynamics = append(d.dynamics, s)
			}
		})
	case "pedal":
		d.pedal = markup.Attr(e, "type")
	case "wedge":
		d.wedge, d.wedgeName = markup.Attr(e, "type"), markup.Attr(e, "number")
	case "octave-shift":
		d.shift, d.shiftSize = markup.Attr(e, "type"), 8
		if n, ok := markup.Integer(markup.Attr(e, "size")); ok {
			d.shiftSize = n
		}
	case "metronome":
		p.metronome(d)
	}
}

// tags are what some programs write into words.
var tags = regexp.MustCompile(`</?(?:b|i|u|sub|sup|font|sym)(?:\s[^<>]*)?/?>`)

func clipTo(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}

var firstNumber = regexp.MustCompile(`\d+`)

func (p *docParser) metronome(d *direction) {
	units := 0
	unit, dotted := theory.Dur(0), false
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "beat-unit":
			if units++; units == 1 {
				unit = beatUnit(p.Text())
			}
		case "beat-unit-dot":
			if units == 1 && !dotted {
				dotted = true
			}
		case "per-minute":
			n, ok := markup.Integer(firstNumber.FindString(p.Text()))
			if !ok || n < 1 || n > 1000 || units != 1 || unit == 0 {
				return
			}
			if dotted {
				unit += unit / 2
			}
			if t := (leadsheet.Tempo{Beat: unit, PerMinute: n}); t.QuartersPerMinute() >= leadsheet.MinQuarters && t.QuartersPerMinute() <= leadsheet.MaxQuarters {
				d.tempo = t
			}
		case "metronome-note":
			p.Each(func(e xml.StartElement) {
				if e.Name.Local == "metronome-tuplet" {
					d.swung = true // two eighths = quarter and eighth of a triplet
				}
			})
		}
	})
}

func beatUnit(s string) theory.Dur {
	switch v := noteValues[s]; {
	case v < 0:
		return theory.Whole * theory.Dur(-v)
	case v > 0 && v <= 64:
		return theory.Whole / theory.Dur(v)
	}
	return 0
}

func (p *docParser) sound(d *direction, e xml.StartElement) {
	s := &d.sound
	if f, ok := parseDecimal(markup.Attr(e, "tempo")); ok && f.n > 0 {
		s.tempo = f
	}
	switch v := markup.Attr(e, "damper-pedal"); v { // yes, no, or percent
	case "":
	case "yes":
		s.pedal = 1 + 127
	case "no":
		s.pedal = 1
	default:
		if f, ok := parseDecimal(v); ok && f.n >= 0 && f.n <= 100*f.d {
			s.pedal = 1 + int((127*f.n+50*f.d)/(100*f.d))
		}
	}
	yes := func(name string) bool { return markup.Attr(e, name) == "yes" }
	_, s.dalSegno = markup.AttrSet(e, "dalsegno")
	_, s.toCoda = markup.AttrSet(e, "tocoda")
	_, s.segno = markup.AttrSet(e, "segno")
	_, s.coda = markup.AttrSet(e, "coda")
	fine, ok := markup.AttrSet(e, "fine")
	s.fine = ok && fine != "no"
	s.daCapo = yes("dacapo")
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "offset":
			if f, ok := parseDecimal(p.Text()); ok && d.offset.zero() {
				d.offset = f
			}
		case "swing":
			s.eighths = true
			p.Each(func(e xml.StartElement) {
				switch e.Name.Local {
				case "straight":
					s.straight = true
				case "first":
					s.ratio.First, _ = markup.Integer(p.Text())
				case "second":
					s.ratio.Second, _ = markup.Integer(p.Text())
				case "swing-type":
					s.eighths = p.Text() != "16th"
				}
			})
			s.swing = !s.straight && s.ratio.First > s.ratio.Second && s.ratio.Second > 0
		}
	})
}

// guide is what the words and signs of a direction say about the order of
// playing.
type guide struct {
	daCapo, dalSegno, alFine, alCoda bool
	fine, toCoda, segno, coda        bool
	times                            int // "3x", "play 4 times"; 0 not said
}

var (
	daCapoWords   = regexp.MustCompile(`\bd ?c\b|\bda capo\b`)
	dalSegnoWords = regexp.MustCompile(`\bd ?s\b|\bdal segno\b`)
	toCodaWords   = regexp.MustCompile(`\bto (?:the )?coda\b`)
	alCodaWords   = regexp.MustCompile(`\b(?:al|alla|e poi(?: la)?|to) coda\b`)
	fineWords     = regexp.MustCompile(`\bfine\b`)
	alFineWords   = regexp.MustCompile(`\bal fine\b`)
	timesWords    = regexp.MustCompile(`\b([2-9]|1[0-9]) ?(?:x\b|times\b|repeats\b)|\bx ?([2-9])\b`)
	notLetters    = regexp.MustCompile(`[^a-z0-9]+`)
)

// guidance reads the direction.
func (d *direction) guidance() guide {
	g := guide{
		daCapo: d.sound.daCapo, dalSegno: d.sound.dalSegno, fine: d.sound.fine,
		toCoda: d.sound.toCoda, segno: d.segno || d.sound.segno, coda: d.coda || d.sound.coda,
	}
	text := strings.ToLower(strings.Join(d.words, " "))
	text = strings.ReplaceAll(text, ".", " ")
	text = strings.TrimSpace(notLetters.ReplaceAllString(text, " "))
	if text == "" {
		return g
	}
	g.daCapo = g.daCapo || daCapoWords.MatchString(text)
	g.dalSegno = g.dalSegno || dalSegnoWords.MatchString(text)
	if g.daCapo || g.dalSegno {
		g.alFine = alFineWords.MatchString(text)
		g.alCoda = alCodaWords.MatchString(text)
	} else {
		g.fine = g.fine || fineWords.MatchString(text) && len(text) <= 12
		if toCodaWords.MatchString(text) {
			g.toCoda, g.coda = true, false
		} else if text == "coda" {
			g.coda = true
		}
		g.segno = g.segno || text == "segno"
	}
	if m := timesWords.FindStringSubmatch(text); m != nil {
		g.times, _ = markup.Integer(m[1] + m[2])
	}
	return g
}

// any tells whether the direction guides at all, so that its words are not
// taken for anything else.
func (g guide) any() bool { return g != guide{} }

// feel reads swing and straight from words.
func feelOf(words string) leadsheet.Feel {
	w := strings.ToLower(words)
	for _, s := range []string{"straight", "even eighths", "even 8", "not swung"} {
		if strings.Contains(w, s) {
			return leadsheet.Straight
		}
	}
	for _, s := range []string{"swing", "swung", "shuffle"} {
		if strings.Contains(w, s) {
			return leadsheet.Swing
		}
	}
	return leadsheet.Unstated
}

// tempoWords are parts of the words that stand for a tempo or its character;
// the list is common practice.
var tempoWords = regexp.MustCompile(`(?i)\b(?:grave|larg\w*|lent\w*|adagi\w*|andant\w*|moderat\w*|allegr\w*|vivac\w*|viv[oe]\b|prest\w*|tempo\b|alla \w+|con moto|mosso|maestoso|grazioso|slow\w*|fast\w*|quick\w*|live?ly|bright\w*|brisk\w*|gent\w*|easy|easily|medium|steady|steadily|up ?tempo|freely|rubato|ballad|langsam\w*|schnell\w*|lebhaft\w*|bewegt\w*|mäßig\w*|massig|ruhig\w*|ziemlich|modéré\w*|lentement|vif\w*|animé|gaiement|marcia|marche|march)\b`)

// dances are the styles that a sheet may name.
var dances = []string{"waltz", "march", "marche", "polka", "jig", "reel", "hornpipe", "mazurka", "minuet", "menuet",
	"tango", "bossa nova", "bossa", "samba", "rumba", "beguine", "cha cha", "bolero", "habanera", "foxtrot", "fox trot",
	"ragtime", "rag", "blues", "boogie", "shuffle", "swing", "ballad", "gospel", "hymn", "carol", "schottische", "strathspey",
	"barn dance", "siciliano", "gavotte", "sarabande", "latin", "valse", "tempo di valse", "tempo di marcia"}

// rhythmOf finds a dance in words that name little else.
func rhythmOf(words string) string {
	w := strings.Trim(strings.ToLower(words), " .,:;!()")
	best := ""
	for _, s := range dances {
		if i := strings.Index(w, s); i >= 0 && len(s) > len(best) && len(w) <= len(s)+16 &&
			boundary(w, i) && boundary(w, i+len(s)) {
			best = s
		}
	}
	return best
}

// boundary tells whether no letter touches another at place i.
func boundary(s string, i int) bool {
	letter := func(c byte) bool { return c >= 'a' && c <= 'z' || c >= 0x80 }
	return i == 0 || i == len(s) || !letter(s[i-1]) || !letter(s[i])
}

// sectionWords are names of sections that stand as words over a bar.
var sectionWords = regexp.MustCompile(`(?i)^\W*(intro(?:duction)?|verses?|chorus|refrain|bridge|interlude|solo|outro|ending|release|pre-?chorus|trio|tag|strophe|coro)\b\W*\d{0,2}\W*$`)

func sectionOf(words string) string {
	m := sectionWords.FindStringSubmatch(words)
	if m == nil {
		return ""
	}
	s := strings.ToLower(m[1])
	if s == "verses" {
		s = "verse"
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
