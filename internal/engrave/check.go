package engrave

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"gradatim/leadsheet"
)

// maxBars bounds the work that one score can ask for.
const maxBars = 5000

// check tells what keeps a score from being engraved; nil where nothing does.
func check(root *element) error {
	c := &checker{}
	c.score(root)
	c.problems.Sort()
	return c.problems.Err()
}

// checker looks for what the engraver cannot bear: it gives up in the middle
// of a call, or draws nonsense, where MusicXML's own schema is not kept. Only
// such things are looked at; a schema check of the whole file is not meant.
type checker struct {
	problems leadsheet.Problems
	bar      int
}

func (c *checker) fail(e *element, says leadsheet.Saying, parts ...any) {
	const enough = 50
	if len(c.problems) >= enough {
		return
	}
	pos := e.pos()
	pos.Bar = c.bar
	c.problems.Tell(leadsheet.Error, pos, says, parts...)
}

func (c *checker) score(root *element) {
	ids := map[string]bool{}
	if list := root.kid("part-list"); list != nil {
		for _, p := range list.kids {
			if p.name == "score-part" {
				ids[p.get("id")] = true
			}
		}
	}
	parts, bars := 0, -1
	for _, p := range root.kids {
		if p.name != "part" {
			continue
		}
		parts++
		n := 0
		c.bar = 0
		divisions := 1.0
		for _, m := range p.kids {
			if m.name != "measure" {
				continue
			}
			n++
			c.bar = n
			c.measure(m, &divisions)
		}
		c.bar = 0
		if n == 0 {
			c.fail(p, "musicxml-part-empty", "Part", leadsheet.Quoted(p.get("id")))
		}
		if n > maxBars {
			c.fail(p, "musicxml-size", "Bars", n, "Most", maxBars)
		}
		if bars >= 0 && n != bars {
			c.fail(p, "musicxml-parts-uneven", "Part", leadsheet.Quoted(p.get("id")), "Bars", n, "Before", bars)
		}
		bars = n
	}
	if parts == 0 {
		c.fail(root, "musicxml-part-missing")
	}
}

// measure checks one bar. divisions is the number of units of duration in a
// quarter, as it stands at the start of the bar and, afterwards, at its end.
func (c *checker) measure(m *element, divisions *float64) {
	alone := true // no note yet that a chord could be built on
	for _, e := range m.kids {
		switch e.name {
		case "attributes":
			c.attributes(e, divisions)
		case "note":
			if e.kid("chord") != nil && alone {
				c.fail(e, "musicxml-chord")
			}
			alone = false
			c.note(e)
			c.duration(e, *divisions)
		case "backup", "forward":
			c.duration(e, *divisions)
		case "direction", "sound":
			c.within(e, "musicxml-of.tempo", 0, 10000, "sound", "tempo")
		}
	}
}

// within checks that the number at a path, where there is one, is a number
// between two.
func (c *checker) within(e *element, of leadsheet.Saying, low, high float64, path ...string) {
	k := e.at(path...)
	if k == nil {
		return
	}
	s := strings.TrimSpace(k.text)
	v, err := strconv.ParseFloat(s, 64)
	what := leadsheet.Tell(leadsheet.Info, leadsheet.Pos{}, of)
	switch {
	case err != nil || math.IsNaN(v) || math.IsInf(v, 0):
		c.fail(k, "musicxml-number", "What", what, "Value", leadsheet.Quoted(short(s)))
	case v < low || v > high:
		c.fail(k, "musicxml-range", "What", what, "Value", short(s), "Least", low, "Most", high)
	}
}

func (c *checker) attributes(e *element, divisions *float64) {
	if k := e.kid("divisions"); k != nil {
		before := len(c.problems)
		c.within(e, "musicxml-of.divisions", 1, 1<<24, "divisions")
		if len(c.problems) == before {
			*divisions = e.number("divisions")
		}
	}
	c.within(e, "musicxml-of.staves", 1, 16, "staves")
	for _, k := range e.kids {
		switch k.name {
		case "key":
			c.within(k, "musicxml-of.key", -14, 14, "fifths")
		case "time":
			if k.kid("senza-misura") == nil && (k.kid("beats") == nil) != (k.kid("beat-type") == nil) {
				c.fail(k, "musicxml-meter.half")
			}
			for _, b := range k.kids {
				switch b.name {
				case "beats":
					for part := range strings.SplitSeq(b.text, "+") {
						if v, err := strconv.Atoi(strings.TrimSpace(part)); err != nil || v < 1 || v > 1000 {
							c.fail(b, "musicxml-meter.beats", "Beats", leadsheet.Quoted(short(b.text)))
							break
						}
					}
				case "beat-type":
					v, err := strconv.Atoi(strings.TrimSpace(b.text))
					if err != nil || v < 1 || v > 1024 || v&(v-1) != 0 {
						c.fail(b, "musicxml-meter.beat", "Beat", short(b.text))
					}
				}
			}
		case "clef":
			switch s := k.value("sign"); s {
			case "G", "F", "C", "percussion", "TAB", "jianpu", "none", "":
			default:
				c.fail(k, "musicxml-clef", "Clef", leadsheet.Quoted(short(s)))
			}
			c.within(k, "musicxml-of.clef-line", -20, 20, "line")
		case "staff-details":
			c.within(k, "musicxml-of.staff-lines", 0, 20, "staff-lines")
		case "transpose":
			c.within(k, "musicxml-of.transposition", -100, 100, "chromatic")
			c.within(k, "musicxml-of.transposition", -100, 100, "diatonic")
		}
	}
}

func (c *checker) note(e *element) {
	if p := e.kid("pitch"); p != nil {
		switch s := p.value("step"); s {
		case "A", "B", "C", "D", "E", "F", "G":
		default:
			c.fail(p, "musicxml-pitch.step", "Step", leadsheet.Quoted(short(s)))
		}
		if p.kid("octave") == nil {
			c.fail(p, "musicxml-pitch.octave")
		}
		c.within(p, "musicxml-of.octave", 0, 9, "octave")
		c.within(p, "musicxml-of.alteration", -3, 3, "alter")
	}
	if t := e.kid("type"); t != nil && !noteTypes[strings.TrimSpace(t.text)] {
		c.fail(t, "musicxml-type", "Value", leadsheet.Quoted(short(t.text)))
	}
	c.within(e, "musicxml-of.staff", 1, 16, "staff")
	if t := e.kid("time-modification"); t != nil {
		for _, n := range []string{"actual-notes", "normal-notes"} {
			if t.kid(n) == nil {
				c.fail(t, "musicxml-tuplet", "Element", n)
			}
			c.within(t, "musicxml-of.tuplet", 1, 1000, n)
		}
	}
}

var noteTypes = map[string]bool{"1024th": true, "512th": true, "256th": true, "128th": true, "64th": true,
	"32nd": true, "16th": true, "eighth": true, "quarter": true, "half": true, "whole": true, "breve": true,
	"long": true, "maxima": true}

func (c *checker) duration(e *element, divisions float64) {
	if e.kid("duration") == nil {
		if e.name != "note" {
			c.fail(e, "musicxml-duration", "Element", e.name)
		}
		return
	}
	// 64 quarters: two maxima; a longer note would make a bar wider than paper.
	c.within(e, "musicxml-of.duration", 0, 1024*divisions, "duration")
}

// short cuts a text from a file to the length that a message can hold.
func short(s string) string {
	s = strings.TrimSpace(s)
	const most = 30
	if r := []rune(s); len(r) > most {
		return fmt.Sprintf("%s…", string(r[:most]))
	}
	return s
}
