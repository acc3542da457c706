package musicxml

import (
	"encoding/xml"
	"strconv"
	"strings"

	"gradatim/internal/musicxml/markup"
	"gradatim/leadsheet"
	"gradatim/theory"
)

func (p *docParser) attributes() *attributes {
	a := &attributes{line: p.Line}
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "divisions":
			f, ok := parseDecimal(p.Text())
			if !ok || f.n <= 0 || f.n/f.d > maxDivisions {
				p.Fail("divisions-invalid", "Most", maxDivisions)
				return
			}
			a.divisions = f
		case "key":
			if len(a.keys) < 10 {
				a.keys = append(a.keys, p.key(e))
			}
		case "time":
			if len(a.times) < 10 {
				a.times = append(a.times, p.time(e))
			}
		case "staves":
			a.staves, _ = markup.Integer(p.Text())
		case "clef":
			c := clef{staff: staffAttr(e)}
			p.Each(func(e xml.StartElement) {
				switch e.Name.Local {
				case "sign":
					c.sign = p.Text()
				case "line":
					c.line, _ = markup.Integer(p.Text())
				}
			})
			if len(a.clefs) < 20 {
				a.clefs = append(a.clefs, c)
			}
		case "transpose":
			t := &transposition{staff: staffAttr(e)}
			p.Each(func(e xml.StartElement) {
				switch e.Name.Local {
				case "diatonic":
					t.diatonic, t.hasDiatonic = markup.Integer(p.Text())
				case "chromatic":
					if f, ok := parseDecimal(p.Text()); ok {
						t.chromatic = int(f.n / f.d)
					}
				case "octave-change":
					t.octaves, _ = markup.Integer(p.Text())
				}
			})
			if a.transpose == nil || a.transpose.staff > t.staff {
				a.transpose = t
			}
		case "measure-style":
			p.Each(func(e xml.StartElement) {
				switch e.Name.Local {
				case "measure-repeat", "beat-repeat":
					a.repeats = a.repeats || markup.Attr(e, "type") == "start"
				case "slash":
					a.slashes = a.slashes || markup.Attr(e, "type") == "start"
				}
			})
		}
	})
	return a
}

// staffAttr reads the number attribute of a key, time, clef or transposition; 0
// where it is for all staves.
func staffAttr(e xml.StartElement) int {
	n, _ := markup.Integer(markup.Attr(e, "number"))
	return max(n, 0)
}

func (p *docParser) key(e xml.StartElement) keySign {
	k := keySign{staff: staffAttr(e), odd: true}
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "fifths":
			n, ok := markup.Integer(p.Text())
			k.fifths, k.odd = n, !ok
		case "mode":
			k.mode = strings.ToLower(p.Text())
		}
	})
	return k
}

func (p *docParser) time(e xml.StartElement) timeSign {
	t := timeSign{staff: staffAttr(e)}
	switch markup.Attr(e, "symbol") {
	case "common":
		t.symbol = "C"
	case "cut":
		t.symbol = "C|"
	}
	beats := ""
	var parts []string
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "beats":
			beats = p.Text()
			parts = append(parts, beats+"/")
		case "beat-type":
			unit, _ := markup.Integer(p.Text())
			if len(parts) > 0 && len(parts) <= 16 {
				parts[len(parts)-1] += strconv.Itoa(unit)
			}
			n := 0
			var groups []int
			for _, s := range strings.FieldsFunc(beats, func(r rune) bool { return r == '+' || r == ' ' }) {
				b, ok := markup.Integer(s)
				if !ok || b < 1 || b > 1000 {
					n = -1 << 20
				}
				n += b
				groups = append(groups, b)
			}
			t.join(n, unit, groups)
		case "senza-misura":
			t.free = true
		}
	})
	t.text = strings.Join(parts, "+")
	return t
}

// join adds n/unit to the time signature: 3/8 + 2/4 is 7/8. What cannot be read
// makes it unreadable.
func (t *timeSign) join(n, unit int, groups []int) {
	if n <= 0 || unit <= 0 || unit > 64 || unit&(unit-1) != 0 || t.beats < 0 {
		t.beats, t.unit = -1, 0
		return
	}
	if t.unit == 0 {
		t.beats, t.unit, t.groups = n, unit, groups
		return
	}
	u := max(t.unit, unit)
	for i := range t.groups {
		t.groups[i] *= u / t.unit
	}
	for _, g := range groups {
		t.groups = append(t.groups, g*(u/unit))
	}
	t.beats, t.unit = t.beats*(u/t.unit)+n*(u/unit), u
}

func (t timeSign) meter() (leadsheet.Meter, bool) {
	m := leadsheet.Meter{Beats: t.beats, Unit: t.unit, Symbol: t.symbol}
	if len(t.groups) > 1 && len(t.groups) <= 16 {
		if grouped, ok := m.Grouped(t.groups...); ok {
			m = grouped
			m.Symbol = m.Parts
		}
	}
	return m, m.Valid()
}

// keyOf turns a key signature into a key. modal is false where the file names no
// mode; the key is then the major one.
func (k keySign) keyOf() (key theory.Key, modal, ok bool) {
	if k.odd || k.fifths < -12 || k.fifths > 12 {
		return theory.Key{}, false, false
	}
	mode := theory.Major
	switch k.mode {
	case "", "none":
	case "ionian":
		modal = true
	default:
		for m := theory.Major; m <= theory.Locrian; m++ {
			if m.String() == k.mode {
				mode, modal = m, true
			}
		}
	}
	return theory.KeyOf(k.fifths, mode), modal, true
}

// interval is what a written note is moved by to sound. Source: MusicXML 4.0
// XSD, group transpose: diatonic and chromatic say the interval without
// octaves, octave-change adds them. Files that leave diatonic out are given the
// commonest spelling.
func (t transposition) interval() theory.Interval {
	d := t.diatonic
	if !t.hasDiatonic {
		spelled := [12]int{0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6}
		c := ((t.chromatic % 12) + 12) % 12
		d = spelled[c] + 7*((t.chromatic-c)/12)
	}
	return theory.Interval{Steps: int8(d + 7*t.octaves), Semitones: int8(t.chromatic + 12*t.octaves)}
}

// valid tells whether the interval is one that instruments have.
func (t transposition) valid() bool {
	return t.diatonic >= -28 && t.diatonic <= 28 && t.chromatic >= -48 && t.chromatic <= 48 && t.octaves >= -4 && t.octaves <= 4
}
