package arrange

import (
	"slices"
	"sort"

	"gradatim/internal/ladder"
	"gradatim/internal/plan"
	"gradatim/internal/technique"
	"gradatim/reason"
	"gradatim/theory"
)

// slot is one chord of the page, as the harmony stage left it.
type slot struct {
	at, end  theory.Dur
	chord    theory.Chord
	added    theory.Degree
	device   string        // technique ids: what put the chord there
	paint    string        // and what coloured it
	why      reason.Reason // what the device says of it; nil where it left the chord alone
	tint     reason.Reason // and what the colour says
	leads    []technique.Lead
	decision int // index into decisions
	part     int // which of the decision's chords
	unknown  bool
}

// reason joins what is said of a chord.
func (s slot) reason() reason.Reason { return reason.Clauses(s.why, s.tint) }

// cell is a technique.Cell with the work of the search on it.
type cell struct {
	technique.Cell
	bar    int // index of its bar
	slot   int // index of its slot; −1: no chord
	phrase int
	wants
	left  *technique.Technique // the phrase's texture; nil: silence
	right *technique.Technique
	weave plan.Weave // what the plan has beside the tune
	habit uint64     // the rhythm that the left hand has in such cells of its texture; 0: none is kept
	place uint8      // the key on which its section has its bass note; 0: any
	joins bool       // the bass may lead from here to the next phrase
	grows bool       // it belongs to a section's last return: the fuller, the better

	leftOffers, rightOffers []offers
	deal                    *deal
	twin                    int // index of the cell of an earlier piece that asks for the same; −1: none

	chosenLeft  technique.Figure
	chosenRight technique.Figure
	leftBy      string // technique that made the chosen figure
	rightBy     string
}

// wants is what the hands have to do justice to in a cell.
type wants struct {
	sheet   theory.Chord // what the sheet has here
	half    theory.Dur   // middle of the chord's span, but not past this cell's end
	needed  uint16       // guide tones that the ear wants by then; 0 where the chord is not new
	tune    uint16       // pitch classes of the tune until then
	colour  uint16       // altered notes that the symbol promises
	natural uint16       // and its other colours
	tuneAll uint16       // pitch classes of the tune in the whole cell
	falls   bool         // the chord is a dominant whose root falls a fifth to the next
	before  int          // key that the tune lets go as the cell begins; 0: none
	after   int          // and that it strikes as the cell ends
	ground  int8         // pitch class that begins the cell as its lowest note, 1 to 12; 0: free
	lowest  bool         // …and nothing after it goes deeper
}

// cut divides the piece at every bar line and every change of chord. The last
// chord, held over bar lines or not, is one cell.
func (p *piece) cut() {
	p.cells = make([]cell, 0, len(p.song.Bars)+len(p.slots))
	p.shared = &technique.Setting{Tempo: p.quarters, Swing: p.swings(), Manner: p.level.Manner, Usage: p.kind.Usage,
		Caps: p.level.Caps, Hand: p.hand, High: p.level.High.MIDI()}
	round := map[string]int{}
	next := 0
	now := ""
	for bi, b := range p.song.Bars {
		if b.Section != "" {
			now = b.Section
			round[now]++
		}
		marks := []theory.Dur{b.At}
		for next < len(p.slots) && p.slots[next].at < b.End() {
			if p.slots[next].at > b.At {
				marks = append(marks, p.slots[next].at)
			}
			next++
		}
		// Where groups of beats differ, each is filled by itself, as if its chord were new.
		if m := b.Meter; m.Uneven() && !m.Quick() {
			for _, off := range m.Groups() {
				if at := b.At + off - b.Offset(b.At); at > b.At && at < b.End() {
					marks = append(marks, at)
				}
			}
			slices.Sort(marks)
			marks = slices.Compact(marks)
		}
		if p.home >= 0 && p.home < b.End() {
			marks = slices.DeleteFunc(marks, func(at theory.Dur) bool { return at >= p.home })
			marks = append(marks, p.home)
		}
		for i, at := range marks {
			end := b.End()
			switch {
			case i+1 < len(marks):
				end = marks[i+1]
			case at == p.home:
				end = p.close
			}
			p.cells = append(p.cells, p.newCell(bi, at, end, round[now] > 1))
		}
		if p.home >= 0 && p.home < b.End() {
			break
		}
	}
	for i := range p.cells {
		c := &p.cells[i]
		if i+1 < len(p.cells) {
			c.Next = p.cells[i+1].Chord
		}
		if i > 0 {
			c.Prev = p.cells[i-1].Chord
		}
		c.Opens = i == 0 || p.cells[i-1].phrase != c.phrase
		c.Closes = i+1 == len(p.cells) || p.cells[i+1].phrase != c.phrase
		c.Last = i+1 == len(p.cells)
		if third, ok := c.Chord.Third(); ok && c.Last && c.slot >= 0 { // no page ends on a bare fifth
			c.needed |= 1 << third.On(c.Chord.Root).Class()
		}
	}
}

func (p *piece) newCell(bi int, at, end theory.Dur, again bool) cell {
	b := p.song.Bars[bi]
	c := cell{bar: bi, slot: p.slotAt(at), phrase: p.an.PhraseAt(at)}
	c.Cell = technique.Cell{At: at, End: end, BarAt: b.At, Meter: b.Meter, Key: b.Key,
		Setting: p.shared, Low: p.level.Low.MIDI(), Again: again}
	if !c.Key.Valid() {
		c.Key = p.an.Key
	}
	if sp, ok := p.an.SpanAt(at); ok {
		c.sheet = sp.Chord
	}
	if b.Pickup { // a pick-up is the tune's alone
		c.slot = -1
	}
	if c.slot >= 0 {
		s := p.slots[c.slot]
		c.Chord, c.Added = s.chord, s.added
		c.NewChord, c.Held = s.at == at, at-s.at
		c.falls = p.fallsFifth(c.slot)
		if sp, ok := p.an.SpanAt(at); ok && !c.Chord.Silent() && (sp.Line && c.NewChord || p.level.Grounded && (c.NewChord || at == b.At) || at == p.home || p.level.Heard != ladder.HeardGuides && c.slot == p.openingSlot()) {
			c.ground = int8(c.Chord.Lowest().Class()) + 1
			c.lowest = sp.Line || at == p.home
		}
	}
	c.half = at + (end-at)/2
	if c.slot >= 0 && c.NewChord {
		s := p.slots[c.slot]
		c.half = min(end, at+(s.end-s.at)/2)
		switch p.level.Heard {
		case ladder.HeardThird:
			for d := range c.Chord.Tones.All() {
				if d.Number != 1 && d.Number != 5 && !(d.Number == 3 && (c.Displaced() || p.kind.Steady)) {
					c.colour |= 1 << d.On(c.Chord.Root).Class()
				}
			}
		case ladder.HeardGuides:
			c.needed = guideSet(c.Chord)
			c.colour, c.natural = colourSets(c.Chord)
		}
	}
	if p.kind.Steady { // what is struck at the middle is soon enough in a pattern
		c.half++
	}
	lo := sort.Search(len(p.line), func(i int) bool { return p.line[i].End > at })
	if lo > 0 && p.line[lo-1].End == at {
		c.before = p.line[lo-1].Pitch.MIDI()
	}
	if k := lo + sort.Search(len(p.line)-lo, func(i int) bool { return p.line[lo+i].At >= end }); k < len(p.line) && p.line[k].At == end {
		c.after = p.line[k].Pitch.MIDI()
	}
	for i := lo; i < len(p.line) && p.line[i].At < end; i++ {
		c.Melody = append(c.Melody, p.line[i])
		c.tuneAll |= 1 << p.line[i].Pitch.Class()
		if p.line[i].At < c.half {
			c.tune |= 1 << p.line[i].Pitch.Class()
		}
	}
	for d := range c.Chord.Tones.All() { // what the tune denies nobody waits for
		if n := d.On(c.Chord.Root); slices.ContainsFunc(c.Melody, func(m technique.MelodyNote) bool { return p.crosses(&c, n, &m) }) {
			class := uint16(1) << n.Class()
			c.needed, c.colour, c.natural = c.needed&^class, c.colour&^class, c.natural&^class
		}
	}
	if at == p.home || c.MelodyLow(at, end) < p.level.Room.MIDI() { // there is room only below
		c.Low -= 12
	}
	return c
}

// openingSlot is the first chord that sounds, which begins on its root at every level; −1: there
// is none.
func (p *piece) openingSlot() int {
	return slices.IndexFunc(p.slots, func(s slot) bool {
		return !s.unknown && !s.chord.Silent() && !p.song.Bars[max(0, p.song.BarAt(s.end-1))].Pickup
	})
}

// fallsFifth tells whether a slot's chord is a dominant and the next other chord
// stands a fifth below.
func (p *piece) fallsFifth(i int) bool {
	ch := p.slots[i].chord
	for _, next := range p.slots[i+1:] {
		if next.chord != ch {
			return ch.Dominant() && !next.unknown && !next.chord.Silent() && (next.chord.Root.Class()-ch.Root.Class()+12)%12 == 5
		}
	}
	return false
}

// colourSets are a chord's altered notes and its natural colours as pitch classes:
// what a reader expects to hear when he sees the symbol. A 9th below a 13th is only
// implied.
func colourSets(ch theory.Chord) (altered, natural uint16) {
	for d := range ch.Tones.All() {
		bit := uint16(1) << d.On(ch.Root).Class()
		switch {
		case d.Alter != 0 && (d.Number == 5 || d.Number > 7) && ch.Dominant():
			altered |= bit
		case d.Number > 7 && !(d == ninth && goesBeyond(ch)):
			natural |= bit
		}
	}
	return altered, natural
}

// guideSet is the set of a chord's guide tones as pitch classes.
func guideSet(ch theory.Chord) uint16 {
	var set uint16
	for _, g := range guides(ch) {
		if g >= 0 {
			set |= 1 << g
		}
	}
	return set
}

func (p *piece) slotAt(at theory.Dur) int {
	i := sort.Search(len(p.slots), func(i int) bool { return p.slots[i].end > at })
	if i == len(p.slots) || p.slots[i].at > at || p.slots[i].unknown {
		return -1
	}
	return i
}
