package engrave

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"gradatim/leadsheet"
)

// bar is what the layout needs to know of a bar.
type bar struct {
	id      string  // of its element, unique
	number  string  // as the score numbers it
	hint    bool    // the score begins a system here
	section bool    // a part of the form begins here: rehearsal mark, double bar, repeat
	pickup  bool    // not a whole bar, and not counted
	width   float64 // estimated natural width, staff spaces
}

// late tells whether a bar is numbered as one that others went before.
func (b bar) late() bool {
	n, err := strconv.Atoi(b.number)
	return err == nil && n > 1
}

// prepared is a score ready for the engraver: a copy of its own, with what the
// engraver would print wrongly put right, and what is drawn here taken out.
type prepared struct {
	root     *element
	bars     []bar
	symbols  [][]symbol // chord symbols of each bar, in the order of the file
	words    map[string]string
	ids      map[string]bool // of the notes, rests and bars of the score
	single   bool            // one part
	staves   int             // of all parts
	swing    bool            // its eighths are swung
	lead     float64         // width of clef and key at the start of a system, staff spaces
	problems leadsheet.Problems
}

// Keys of prepared.words: what the file says of itself.
const (
	wordTitle    = "title"
	wordSubtitle = "subtitle"
	wordComposer = "composer"
	wordArranger = "arranger"
	wordRights   = "rights"
)

// prepare edits a checked score in place. Where the context ends it leaves off.
func prepare(ctx context.Context, root *element, l Layout) *prepared {
	p := &prepared{root: root, words: inscriptions(root)}
	var parts []*element
	root.drop(func(e *element) bool { return e.name == "credit" || e.name == "defaults" })
	for _, e := range root.kids {
		if e.name == "part" {
			parts = append(parts, e)
		}
	}
	p.single = len(parts) == 1
	list := completeList(root, parts)
	if p.single {
		blankNames(list)
	} else {
		pairGroups(list)
	}
	ids := &idKeeper{seen: map[string]bool{}}
	p.ids = ids.seen
	for i, part := range parts {
		part.drop(func(e *element) bool { return e.name != "measure" })
		if i == 0 {
			p.bars = make([]bar, len(part.kids))
			p.symbols = make([][]symbol, len(part.kids))
		}
		completeAttributes(part.kids[0])
		underWords(part)
		for j, m := range part.kids {
			if ctx.Err() != nil {
				return p
			}
			if i == 0 {
				p.bars[j] = firstLook(m, j, ids)
				switch {
				case j == 0:
				case j > 1 && p.bars[j-1].pickup && p.bars[j-1].section: // the section begins with its pick-up
					p.bars[j].section, p.bars[j].hint = false, false
				case endsSection(part.kids[j-1]) && !beginsEnding(m): // endings stand side by side
					p.bars[j].section = true
				}
			}
			p.measure(m, j, l, ids)
		}
		p.staves += stavesOf(part)
		p.swing = p.swing || swings(part.kids[0])
	}
	if l.Title.Tempo != "" && len(parts) > 0 {
		dropTempo(parts[0].kids[0])
	}
	p.chordDegrees(l)
	estimate(parts, p)
	return p
}

// inscriptions collects title and makers.
func inscriptions(root *element) map[string]string {
	w := map[string]string{wordTitle: root.value("movement-title")}
	if t := root.value("work", "work-title"); w[wordTitle] == "" {
		w[wordTitle] = t
	} else if t != w[wordTitle] { // a piece of a larger work
		w[wordSubtitle] = t
	}
	for _, c := range root.kids { // texts of the first page, by what they are
		typ := c.value("credit-type")
		if c.name == "credit" && (typ == wordSubtitle || typ == wordComposer || typ == wordArranger || typ == wordRights) && c.value("credit-words") != "" {
			w[typ] = c.value("credit-words")
		}
	}
	id := root.kid("identification")
	if id == nil {
		return w
	}
	for _, k := range id.kids {
		text := strings.TrimSpace(k.text)
		switch {
		case k.name == "creator" && (k.get("type") == wordComposer || k.get("type") == wordArranger):
			w[k.get("type")] = text
		case k.name == "rights" && w[wordRights] == "":
			w[wordRights] = text
		}
	}
	return w
}

// completeList makes sure that every part is in the list of parts, and returns
// the list: the library leaves out a part that is not in it.
func completeList(root *element, parts []*element) *element {
	list := root.kid("part-list")
	if list == nil {
		list = elem("part-list", "")
		root.kids = append([]*element{list}, root.kids...)
	}
	have := map[string]bool{}
	for _, e := range list.kids {
		if e.name == "score-part" {
			have[e.get("id")] = true
		}
	}
	for i, p := range parts {
		id := p.get("id")
		if id == "" || !have[id] {
			if id == "" {
				id = fmt.Sprintf("part-%d", i+1)
				p.set("id", id)
			}
			sp := elem("score-part", "", elem("part-name", ""))
			sp.set("id", id)
			list.kids = append(list.kids, sp)
			have[id] = true
		}
	}
	return list
}

// completeAttributes gives the first bar of a part attributes with divisions:
// the library leaves out a part without.
func completeAttributes(m *element) {
	a := m.kid("attributes")
	if a == nil {
		a = elem("attributes", "")
		m.kids = append([]*element{a}, m.kids...)
	}
	if a.kid("divisions") == nil {
		a.kids = append([]*element{elem("divisions", "1")}, a.kids...)
	}
}

// blankNames takes the names of the only part away: a piano score has no
// "Piano" before its first system.
func blankNames(list *element) {
	list.drop(func(e *element) bool { return e.name == "part-group" })
	for _, sp := range list.kids {
		if sp.name != "score-part" {
			continue
		}
		for _, n := range []string{"part-name", "part-abbreviation"} {
			if k := sp.kid(n); k != nil {
				k.text = ""
				k.kids = nil
			}
		}
		sp.drop(func(e *element) bool {
			return e.name == "part-name-display" || e.name == "part-abbreviation-display"
		})
	}
}

// pairGroups drops the ends of groups of parts that lack the other one.
func pairGroups(list *element) {
	open := map[string]*element{}
	whole := map[*element]bool{}
	for _, e := range list.kids {
		if e.name != "part-group" {
			continue
		}
		n := e.get("number")
		if e.get("type") == "start" {
			open[n] = e
		} else if from := open[n]; from != nil {
			whole[from], whole[e] = true, true
			delete(open, n)
		}
	}
	list.drop(func(e *element) bool { return e.name == "part-group" && !whole[e] })
}

// idKeeper makes ids unique and fit for XML. Ids that the engraver makes up
// start with a letter and have seven or eight letters and digits; ids made up
// here start with "bar-" and cannot be among them.
type idKeeper struct{ seen map[string]bool }

var reID = regexp.MustCompile(`^[\p{L}_][\p{L}\p{N}_.-]*$`)

// keep leaves an element its id if that is fit and new, and takes it away
// otherwise.
func (k *idKeeper) keep(e *element) {
	id := e.get("id")
	if id == "" {
		return
	}
	if k.seen[id] || !reID.MatchString(id) {
		e.unset("id")
		return
	}
	k.seen[id] = true
}

func firstLook(m *element, index int, ids *idKeeper) bar {
	ids.keep(m)
	if m.get("id") == "" {
		id := fmt.Sprintf("bar-%d", index+1)
		ids.seen[id] = true
		m.set("id", id)
	}
	b := bar{id: m.get("id"), number: m.get("number"), pickup: m.get("implicit") == "yes"}
	for _, e := range m.kids {
		switch e.name {
		case "print":
			b.hint = b.hint || e.get("new-system") == "yes" || e.get("new-page") == "yes"
		case "direction":
			for _, t := range e.kids {
				if t.kid("rehearsal") != nil {
					b.section = true
				}
			}
		case "barline":
			if r := e.kid("repeat"); r != nil && r.get("direction") == "forward" {
				b.section = true
			}
		}
	}
	return b
}

// beginsEnding tells whether a first, second … ending begins with a bar.
func beginsEnding(m *element) bool {
	for _, e := range m.kids {
		if x := e.kid("ending"); e.name == "barline" && x != nil && x.get("type") == "start" {
			return true
		}
	}
	return false
}

// endsSection tells whether a bar ends with a double bar or a repeat.
func endsSection(m *element) bool {
	for _, e := range m.kids {
		if e.name == "barline" && e.get("location") != "left" {
			switch e.value("bar-style") {
			case "light-light", "light-heavy", "heavy-light", "heavy-heavy":
				return true
			}
		}
	}
	return false
}

// measure edits one bar of one part.
func (p *prepared) measure(m *element, index int, l Layout, ids *idKeeper) {
	pos := leadsheet.Pos{Bar: index + 1}
	out := m.kids[:0:0]
	for _, e := range m.kids {
		switch e.name {
		case "print":
			continue // systems and pages are planned here
		case "harmony":
			h := e.harmony
			silent := len(h.Chords) > 0 && h.Chords[0].Kind == "none"
			if words := len(out) - 1; silent && words >= 0 && saysNoChord(out[words]) {
				// Other readers get N.C. as words beside the symbol; here the
				// symbol itself is printed, in line with the others.
				out = out[:words]
				h.Hidden = false
			}
			if h.Hidden || l.HideChords {
				continue
			}
			s := symbolOf(h)
			if s.empty() {
				pos.Line, pos.Col = e.line, e.col
				p.problems.Tell(leadsheet.Warning, pos, "musicxml-harmony")
				continue
			}
			s.holder = e
			p.symbols[index] = append(p.symbols[index], s)
		case "direction":
			out = append(out, splitPedal(e)...)
			continue
		case "note":
			ids.keep(e)
			fingering(e, l.HideFingers)
			e.drop(func(k *element) bool { return k.name == "play" || k.name == "listen" })
		case "measure", "sound", "listening", "link", "bookmark", "grouping":
			if e.name != "sound" {
				continue
			}
		}
		out = append(out, e)
	}
	m.kids = out
	columnFingers(m)
}

// saysNoChord tells whether an element is a direction of the words "N.C.".
func saysNoChord(e *element) bool {
	return e.name == "direction" && len(e.kids) > 0 && isNoChord(e.value("direction-type", "words"))
}

// splitPedal replaces a change of pedal, which the engraver breaks on, by a
// stop and a start, and drops its other uncommon forms.
func splitPedal(dir *element) []*element {
	for _, t := range dir.kids {
		ped := t.kid("pedal")
		if t.name != "direction-type" || ped == nil {
			continue
		}
		switch ped.get("type") {
		case "start", "stop", "sostenuto":
			return []*element{dir}
		case "change":
			var two []*element
			for _, typ := range []string{"stop", "start"} {
				pd := &element{name: "pedal", attr: slices.Clone(ped.attr)}
				pd.set("type", typ)
				d := &element{name: "direction", attr: dir.attr, line: dir.line, col: dir.col,
					kids: []*element{elem("direction-type", "", pd)}}
				for _, k := range dir.kids {
					if k.name != "direction-type" {
						d.kids = append(d.kids, k)
					}
				}
				two = append(two, d)
			}
			return two
		}
		return nil
	}
	return []*element{dir}
}

// dropTempo takes the tempo out of the first bar.
func dropTempo(m *element) {
	m.drop(func(e *element) bool {
		if e.name != "direction" {
			return false
		}
		metronome := false
		for _, t := range e.kids {
			metronome = metronome || t.kid("metronome") != nil
		}
		return metronome || e.kid("sound") != nil && e.kid("sound").get("tempo") != ""
	})
}

func stavesOf(part *element) int {
	n := 1
	for _, m := range part.kids {
		for _, e := range m.kids {
			if e.name == "attributes" {
				n = max(n, int(e.number("staves")))
			}
		}
	}
	return n
}

// drawnAtOnce is how many systems the library draws as one page of its own, which is nothing
// but a sheet of systems to us. What it looks for, it looks for on the whole page: a page of
// all systems takes time with their square, and memory with their number.
const drawnAtOnce = 12

// encode writes the score with systems beginning at the given bars, which ascend.
func (p *prepared) encode(starts []int) string {
	first := true
	var b bytes.Buffer
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>`)
	for _, part := range p.root.kids {
		if part.name != "part" {
			continue
		}
		for j, m := range part.kids {
			m.drop(func(e *element) bool { return e.name == "print" })
			if k, ok := slices.BinarySearch(starts, j); first && ok && j > 0 {
				pr := &element{name: "print"}
				pr.set("new-system", "yes")
				if k%drawnAtOnce == 0 {
					pr.set("new-page", "yes")
				}
				m.kids = append([]*element{pr}, m.kids...)
			}
		}
		first = false
	}
	p.root.write(&b)
	return b.String()
}

// title returns the layout's title, filled up from the score.
func (p *prepared) title(t Title) Title {
	t.Title = cmp.Or(t.Title, p.words[wordTitle])
	t.Subtitle = cmp.Or(t.Subtitle, p.words[wordSubtitle])
	t.Composer = cmp.Or(t.Composer, p.words[wordComposer])
	t.Arranger = cmp.Or(t.Arranger, p.words[wordArranger])
	t.Rights = cmp.Or(t.Rights, p.words[wordRights])
	return t
}
