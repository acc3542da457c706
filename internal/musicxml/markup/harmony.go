package markup

import (
	"encoding/xml"
	"strconv"
	"strings"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Harmony is a <harmony> as it is written: one chord symbol, or several stacked,
// the first above the second.
type Harmony struct {
	Chords    []HarmonyChord
	Alternate bool   // another reading of the chord before
	Hidden    bool   // not to be printed
	Offset    string // in divisions, as written; may be empty
	Staff     string // as written; may be empty
}

// HarmonyChord is one group of root, kind, bass and degrees.
type HarmonyChord struct {
	Root     theory.Name
	RootText string // the letter as printed, where that is not the name's
	Rooted   bool
	Numeral  *Numeral // instead of a root
	Function string   // instead of a root, in the words of a school
	Kind     string
	Text     string // the kind as printed
	Texted   bool   // the text is given, though it may be empty
	Inverted int
	Bass     theory.Name
	BassText string
	Based    bool
	Degrees  []Degree
	Bad      leadsheet.Saying // what could not be read
}

// Numeral is a degree of a scale that stands for a root.
type Numeral struct {
	Degree, Alter int
	Keyed         bool // the numeral names its key
	Fifths        int
	Mode          string
}

// Degree is one <degree> of a chord: it changes the chord that the kind names.
type Degree struct {
	Value  int    // 1 to 13
	Alter  int    // semitones; what it is counted from depends on Type
	Type   string // "add", "alter" or "subtract"
	Hidden bool   // not to be printed
}

// What one symbol has at most.
const (
	maxStacked = 8
	maxDegrees = 20
)

// Harmony reads the <harmony> whose start tag was read last.
func (c *Cursor) Harmony(e xml.StartElement) Harmony {
	h := Harmony{Alternate: Attr(e, "type") == "alternate", Hidden: Attr(e, "print-object") == "no"}
	var cur *HarmonyChord
	begin := func() {
		if len(h.Chords) < maxStacked {
			h.Chords = append(h.Chords, HarmonyChord{})
		}
		cur = &h.Chords[len(h.Chords)-1]
	}
	c.Each(func(e xml.StartElement) {
		if cur == nil {
			switch e.Name.Local {
			case "kind", "inversion", "bass", "degree":
				begin() // a group without its root
			}
		}
		switch e.Name.Local {
		case "root":
			begin()
			cur.Root, cur.RootText, cur.Rooted = c.name("root-step", "root-alter")
			if !cur.Rooted {
				cur.Bad = "chord-unknown.root"
			}
		case "numeral":
			begin()
			cur.Numeral = c.numeral()
		case "function":
			begin()
			cur.Function = short(c.Text())
		case "kind":
			cur.Text, cur.Texted = AttrSet(e, "text")
			cur.Text = strings.Join(strings.Fields(cur.Text), " ")
			cur.Kind = short(c.Text())
		case "inversion":
			cur.Inverted, _ = Integer(c.Text())
		case "bass":
			cur.Bass, cur.BassText, cur.Based = c.name("bass-step", "bass-alter")
			if !cur.Based {
				cur.Bad = "chord-unknown.bass"
			}
		case "degree":
			if len(cur.Degrees) < maxDegrees {
				cur.Degrees = append(cur.Degrees, c.degree(e))
			}
		case "offset":
			h.Offset = c.Text()
		case "staff":
			h.Staff = c.Text()
		}
	})
	return h
}

// name reads a step, the text that it is printed by, and its alteration.
func (c *Cursor) name(stepTag, alterTag string) (n theory.Name, text string, ok bool) {
	altered := true
	c.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case stepTag:
			text = Attr(e, "text")
			var err error
			n, err = theory.ParseName(c.Text())
			ok = err == nil
		case alterTag:
			var alter int
			alter, altered = semitones(c.Text())
			altered = altered && alter >= -2 && alter <= 2
			n.Alter = int8(alter)
		}
	})
	return n, text, ok && altered
}

// semitones reads an alteration; what lies between two semitones counts as the
// one nearer to none.
func semitones(s string) (int, bool) {
	f, err := strconv.ParseFloat(s, 64)
	if err != nil || !(f > -100 && f < 100) {
		return 0, false
	}
	return int(f), true
}

func (c *Cursor) numeral() *Numeral {
	n := &Numeral{}
	c.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "numeral-root":
			n.Degree, _ = Integer(c.Text())
		case "numeral-alter":
			n.Alter, _ = Integer(c.Text())
		case "numeral-key":
			n.Keyed = true
			c.Each(func(e xml.StartElement) {
				switch e.Name.Local {
				case "numeral-fifths":
					n.Fifths, _ = Integer(c.Text())
				case "numeral-mode":
					n.Mode = c.Text()
				}
			})
			if n.Mode == "natural minor" || n.Mode == "harmonic minor" || n.Mode == "melodic minor" {
				n.Mode = "minor"
			}
		}
	})
	return n
}

func (c *Cursor) degree(e xml.StartElement) Degree {
	d := Degree{Type: "add", Hidden: Attr(e, "print-object") == "no"}
	c.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "degree-value":
			d.Value, _ = Integer(c.Text())
		case "degree-alter":
			d.Alter, _ = semitones(c.Text())
		case "degree-type":
			d.Type = short(c.Text())
		}
	})
	return d
}
