package musicxml

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// score turns a document into a piano page.
func (r *reader) score(doc *document) (score.Score, bool) {
	parts, ok := r.pianoParts(doc)
	if !ok {
		return score.Score{}, false
	}
	lanes, mains, ok := r.layPiano(doc, parts)
	if !ok {
		return score.Score{}, false
	}
	n := 0
	for _, l := range mains {
		n = max(n, len(l.bars))
	}
	for _, l := range mains { // a part that ends early is silent
		l.bars = append(l.bars, make([]laneBar, n-len(l.bars))...)
		for len(l.measures) < n {
			l.part.measures = append(l.part.measures, &measure{line: l.part.line})
		}
	}
	content := reach(lanes, n)
	turns := r.turns(lanes, content)
	bars, _ := r.bars(mains[0], content, turns, false)
	r.repeatsKept(turns)
	s := score.Score{
		Title: doc.title(), Rights: strings.Join(doc.rights, "; "), Level: doc.level, LevelName: doc.levelName,
	}
	for _, c := range doc.creators {
		switch c.role {
		case "composer":
			s.Composer = cmp.Or(s.Composer, c.name)
		case "arranger":
			s.Arranger = cmp.Or(s.Arranger, c.name)
		}
	}
	for _, c := range doc.credits {
		if c.kind == "subtitle" {
			s.Subtitle = cmp.Or(s.Subtitle, c.words)
		}
	}
	at := r.scoreBars(&s, bars, mains[0])
	voices := hands(mains)
	r.scoreNotes(&s, mains, voices, at)
	if len(s.Notes) == 0 {
		return score.Score{}, r.fail(leadsheet.Pos{Line: parts[0].line}, "no-notes", "the score has no notes", "")
	}
	r.scoreChords(&s, lanes, mains, bars, at)
	r.scoreDirections(&s, lanes, mains, at)
	r.names(&s)
	return s.Finish(), true
}

// staffCheck is what a part's staves are like.
type staffCheck struct {
	staves    int
	pitched   bool
	unpitched bool
	tab, drum map[int]bool
	first     string // sign of the first clef
}

func (p *part) check() staffCheck {
	c := staffCheck{staves: 1, tab: map[int]bool{}, drum: map[int]bool{}}
	for _, m := range p.measures {
		for _, it := range m.items {
			switch it := it.(type) {
			case *note:
				c.staves = max(c.staves, it.staff)
				c.pitched = c.pitched || it.pitched
				c.unpitched = c.unpitched || it.unpitched
			case *attributes:
				c.staves = max(c.staves, it.staves)
				for _, cl := range it.clefs {
					if c.first == "" {
						c.first = cl.sign
					}
					switch cl.sign {
					case "TAB":
						c.tab[max(cl.staff, 1)] = true
					case "percussion":
						c.drum[max(cl.staff, 1)] = true
					}
				}
			}
		}
	}
	return c
}

// pianoParts chooses what is read: the first part with two staves (a keyboard
// before others), or two parts
// of one staff each that belong to a keyboard or stand in treble and bass. What
// is no piano score is refused, with the reason.
func (r *reader) pianoParts(doc *document) ([]*part, bool) {
	var checks []staffCheck
	bars, pitched, unpitched := 0, 0, false
	for _, p := range doc.parts {
		c := p.check()
		checks = append(checks, c)
		bars += len(p.measures)
		if c.pitched {
			pitched++
		}
		unpitched = unpitched || c.unpitched
	}
	leftOut := func(chosen ...*part) {
		var others []string
		for i, p := range doc.parts {
			if !slices.Contains(chosen, p) && (checks[i].pitched || checks[i].unpitched) {
				others = append(others, p.label())
			}
		}
		if n := len(others); n > 0 {
			if n > 6 {
				others = append(others[:6:6], "…")
			}
			r.info(leadsheet.Pos{Line: chosen[0].line}, "parts-left-out",
				fmt.Sprintf("the piano is read from %s; left out: %s", chosen[0].label(), strings.Join(others, ", ")))
		}
	}
	var piano *part
	for i, p := range doc.parts {
		c := checks[i]
		if c.pitched && c.staves == 2 && len(c.tab) == 0 && len(c.drum) == 0 &&
			(piano == nil || p.keyboard() && !piano.keyboard()) { // rather than a harp
			piano = p
		}
	}
	if piano != nil {
		leftOut(piano)
		return []*part{piano}, true
	}
	for i := 0; i+1 < len(doc.parts); i++ {
		a, b := checks[i], checks[i+1]
		if !a.pitched || !b.pitched || a.staves != 1 || b.staves != 1 || len(a.tab)+len(b.tab)+len(a.drum)+len(b.drum) > 0 {
			continue
		}
		clefs := a.first == "G" && b.first == "F"
		if doc.parts[i].keyboard() && doc.parts[i+1].keyboard() || clefs && pitched == 2 {
			leftOut(doc.parts[i], doc.parts[i+1])
			r.info(leadsheet.Pos{Line: doc.parts[i].line}, "two-parts",
				fmt.Sprintf("two parts of one staff are read as the hands: %s right, %s left", doc.parts[i].label(), doc.parts[i+1].label()))
			return []*part{doc.parts[i], doc.parts[i+1]}, true
		}
	}
	where := leadsheet.Pos{Line: 1}
	if len(doc.parts) > 0 {
		where.Line = max(doc.parts[0].line, 1)
	}
	fix := "a piano score has one part with two staves"
	for i, c := range checks {
		switch {
		case len(c.tab) > 0 && c.pitched:
			where.Line = doc.parts[i].line
			return nil, r.fail(where, "score-tablature", fmt.Sprintf("%s is written in tablature, not on two piano staves", doc.parts[i].label()), fix)
		case c.staves > 2 && c.pitched:
			where.Line = doc.parts[i].line
			return nil, r.fail(where, "score-staves", fmt.Sprintf("%s has %d staves", doc.parts[i].label(), c.staves), fix)
		}
	}
	switch {
	case bars == 0:
		return nil, r.fail(where, "no-bars", "the score has no bars", "")
	case pitched == 0 && unpitched:
		return nil, r.fail(where, "no-pitch", "the score has only notes without a pitch (percussion)", fix)
	case pitched == 0:
		return nil, r.fail(where, "no-notes", "the score has no notes", "")
	case pitched == 1:
		return nil, r.fail(where, "score-one-staff", "the score has one staff only", fix+"; read it as a lead sheet instead")
	}
	return nil, r.fail(where, "score-no-piano", fmt.Sprintf("none of the %d parts has two staves", pitched), fix)
}

// keyboard tells whether the part calls itself a keyboard or one of its hands.
func (p *part) keyboard() bool {
	for _, s := range append([]string{p.name}, p.sounds...) {
		s = strings.ToLower(s)
		for _, w := range []string{"piano", "klavier", "clavier", "keyboard", "harpsichord", "cembalo", "right hand", "left hand", "rechte hand", "linke hand"} {
			if strings.Contains(s, w) {
				return true
			}
		}
		if s == "rh" || s == "lh" || s == "r.h." || s == "l.h." {
			return true
		}
	}
	return false
}

// layPiano lays out every part; mains are the chosen ones. Where two parts make
// the score, the second one's notes go to staff 2.
func (r *reader) layPiano(doc *document, parts []*part) (lanes, mains []*lane, ok bool) {
	mains = make([]*lane, len(parts))
	for _, p := range doc.parts {
		k := slices.Index(parts, p)
		l, ok := r.lay(p, k >= 0)
		if !ok {
			return nil, nil, false
		}
		lanes = append(lanes, l)
		if k < 0 {
			continue
		}
		mains[k] = l
		if len(parts) == 2 {
			l.ownStaff(k + 1)
		}
	}
	return lanes, mains, true
}

// ownStaff puts everything in the lane on one staff of the score.
func (l *lane) ownStaff(staff int) {
	for i := range l.bars {
		b := &l.bars[i]
		for k := range b.notes {
			b.notes[k].note.staff = staff
		}
		for k := range b.signs {
			b.signs[k].direction.staff = staff
		}
		for k := range b.clefs {
			b.clefs[k].staff = staff
		}
	}
}

// repeatsKept tells that signs for repeats are not followed.
func (r *reader) repeatsKept(turns []turn) {
	for i, t := range turns {
		if t.times > 0 || t.daCapo || t.dalSegno {
			r.infoAt(place{line: t.line, bar: i}, "repeats-written", "the score has repeats or jumps; its bars are read once each, as they are written", "")
			return
		}
	}
}

// scoreBars fills in the bars and returns where each written bar begins.
func (r *reader) scoreBars(s *score.Score, bars []writtenBar, l *lane) []theory.Dur {
	at := make([]theory.Dur, len(bars)+1)
	var now theory.Dur
	for i, b := range bars {
		at[i] = now
		part := b.dur / theory.Dur(b.parts)
		for p := range b.parts {
			bar := score.Bar{At: now, Dur: part, Meter: b.meter, Key: b.key, Number: b.number + p,
				Pickup: b.pickup || b.second || l.measures[i].implicit && b.dur < b.meter.Bar()}
			if p == 0 {
				bar.LineBreak = i > 0 && l.bars[i].newLine
			}
			s.Bars = append(s.Bars, bar)
			now += part
		}
	}
	at[len(bars)] = now
	return at
}

// voiceHand says which hand a voice is and its number there.
type voiceHand struct {
	hand   score.Hand // 0: that of each note's staff
	number uint8
}

type voiceKey struct {
	lane  int
	voice string
	hand  score.Hand // where one voice serves both staves
}

// hands finds out whose voice each voice is.
//
// Files number voices in three ways: 1 to 4 on the upper and 5 to 8 on the lower
// staff (then odd and even from 9); freely, each voice with a home staff that it
// sometimes leaves; or anew on each staff. The first is recognised by most notes
// of both staves keeping to it; a voice that has at least four notes in five on
// one staff is at home there, and what it writes on the other is cross-staff; the
// rest belongs to the hand of the staff it stands on.
func hands(mains []*lane) map[voiceKey]voiceHand {
	type count struct{ on [3]int }
	counts := map[voiceKey]*count{}
	kept, all := [3]int{}, [3]int{}
	var order []voiceKey
	for li, l := range mains {
		for i := range l.bars {
			for _, n := range l.bars[i].notes {
				if !n.pitched || n.staff > 2 {
					continue
				}
				k := voiceKey{lane: li, voice: n.voice}
				if counts[k] == nil {
					counts[k] = &count{}
					order = append(order, k)
				}
				counts[k].on[n.staff]++
				all[n.staff]++
				if h, _ := common(n.voice); int(h) == n.staff {
					kept[n.staff]++
				}
			}
		}
	}
	out := map[voiceKey]voiceHand{}
	if len(mains) == 1 && 3*kept[1] >= 2*all[1] && 3*kept[2] >= 2*all[2] {
		for _, k := range order {
			h, number := common(k.voice)
			if h == 0 {
				continue
			}
			out[k] = voiceHand{h, number}
		}
	}
	slices.SortStableFunc(order, func(a, b voiceKey) int {
		x, _ := integer(a.voice)
		y, _ := integer(b.voice)
		return cmp.Or(cmp.Compare(a.lane, b.lane), cmp.Compare(x, y), cmp.Compare(a.voice, b.voice))
	})
	next := [3]uint8{}
	for _, k := range order {
		if _, done := out[k]; done {
			continue
		}
		c := counts[k]
		total := c.on[1] + c.on[2]
		for st := 1; st <= 2; st++ {
			if 5*c.on[st] >= 4*total {
				next[st] = min(next[st]+1, 8)
				out[k] = voiceHand{score.Hand(st), next[st]}
			}
		}
		if _, done := out[k]; done {
			continue
		}
		out[k] = voiceHand{}
		for st := 1; st <= 2; st++ {
			next[st] = min(next[st]+1, 8)
			out[voiceKey{k.lane, k.voice, score.Hand(st)}] = voiceHand{score.Hand(st), next[st]}
		}
	}
	return out
}

// common reads a voice number of the common scheme; hand 0 where it is none.
func common(voice string) (score.Hand, uint8) {
	v, ok := integer(voice)
	switch {
	case !ok || v < 1 || v > 64:
		return 0, 0
	case v <= 4:
		return score.Right, uint8(v)
	case v <= 8:
		return score.Left, uint8(v - 4)
	}
	n := (v + 1) / 2
	if n > 16 { // voices that only sound
		n -= 16
	}
	return score.Hand(2 - v%2), uint8(min(n, 8))
}

// scoreNotes turns placed notes into sounding ones: ties joined, grace notes
// before their main notes, signs of a chord on all of it.
func (r *reader) scoreNotes(s *score.Score, mains []*lane, voices map[voiceKey]voiceHand, at []theory.Dur) {
	j := &joiner{r: r, open: map[int][]int{}}
	graces := map[string][]graceNote{} // by voice, waiting for their main note
	for li, l := range mains {
		j.last = -1
		for i := range l.bars {
			notes := slices.Clone(l.bars[i].notes)
			slices.SortStableFunc(notes, func(a, b placed) int { return cmp.Compare(a.at, b.at) })
			for k := range notes {
				n := &notes[k]
				here := place{line: n.line, bar: i, at: n.at, timed: true}
				if n.rest || !r.usable(n, here) {
					continue
				}
				if n.staff > 2 {
					continue
				}
				v := voices[voiceKey{lane: li, voice: n.voice}]
				if v.hand == 0 {
					v = voices[voiceKey{li, n.voice, score.Hand(n.staff)}]
				}
				note := score.Note{ID: n.id, Hand: v.hand, Voice: v.number, At: at[i] + n.at, Dur: n.end - n.at, Pitch: n.pitch,
					Finger: n.finger, FingerTo: n.fingerTo, Marks: n.marks, Ornament: n.ornament, Velocity: n.velocity()}
				if int(v.hand) != n.staff {
					note.Staff = score.Hand(n.staff)
				}
				if n.inverted {
					r.warnAt(here, "turn-inverted", "an inverted turn is read as a turn", "")
				}
				if n.grace {
					if g := graces[n.voice]; len(g) < maxGraces {
						note.Dur, note.Grace = 0, 1
						if len(g) > 0 {
							note.Grace = g[len(g)-1].Grace
							if !n.chord {
								note.Grace++
							}
						}
						note.Marks &^= score.Rolled | score.Fermata
						graces[n.voice] = append(g, graceNote{note, n.tieFrom})
					}
					continue
				}
				if note.Dur <= 0 {
					r.warnAt(here, "note-without-length", "the note has no length; left out", "")
					continue
				}
				tied := n.tieTo
				for _, g := range graces[n.voice] {
					if g.tied && tied && g.Pitch.MIDI() == note.Pitch.MIDI() {
						tied = false // the main note itself, begun early
						continue
					}
					g.At = note.At
					if g.Hand != note.Hand || g.Voice != note.Voice {
						staff := cmp.Or(g.Staff, g.Hand)
						g.Hand, g.Voice, g.Staff = note.Hand, note.Voice, 0
						if staff != g.Hand {
							g.Staff = staff
						}
					}
					s.Notes = append(s.Notes, g.Note)
				}
				delete(graces, n.voice)
				j.add(s, note, n, tied, here)
			}
		}
		left := 0
		for _, g := range graces {
			left += len(g)
		}
		if left > 0 {
			r.warnAt(place{bar: len(l.bars) - 1, line: l.measures[len(l.bars)-1].line}, "grace-left-out", "a grace note after the last note is left out", "")
		}
		clear(graces)
	}
	j.finish(s)
}

// graceNote is a grace note that waits for its main note; tied to it, where that
// is the same note.
type graceNote struct {
	score.Note
	tied bool
}

// maxGraces is more grace notes than stand before one note.
const maxGraces = 32

// velocity is the loudness in percent of the note's surroundings, as far as a
// Velocity can hold it. A ghost note is soft by itself.
func (n *placed) velocity() int8 {
	if n.dynamics.d == 0 {
		return 0
	}
	p := n.dynamics.n / n.dynamics.d
	if n.marks.Has(score.Ghost) && p == 50 {
		return 0
	}
	return int8(min(max(p-100, -100), 100))
}

// joiner adds notes and joins ties. open holds, by key, the notes that wait for
// their continuation.
type joiner struct {
	r       *reader
	open    map[int][]int
	loose   []int // notes whose tie led nowhere
	places  map[int]place
	last    int // first note of the chord being read
	tremolo []int
}

const chordMarks = score.Staccato | score.Tenuto | score.Accent | score.Fermata

// add takes the next note; tied tells whether it continues another.
func (j *joiner) add(s *score.Score, note score.Note, n *placed, tied bool, here place) {
	midi := note.Pitch.MIDI()
	if tied {
		best := -1
		j.drop(s, midi, note.At-maxHeld)
		for k, i := range j.open[midi] {
			if s.Notes[i].End() > note.At {
				continue
			}
			if best < 0 || j.nearer(s, i, j.open[midi][best], note) {
				best = k
			}
		}
		if best >= 0 {
			i := j.open[midi][best]
			j.open[midi] = slices.Delete(j.open[midi], best, best+1)
			if s.Notes[i].End() < note.At {
				j.r.infoAt(here, "tie-held", "a tie reaches back over other notes; the first note is read as held", "")
			}
			s.Notes[i].Dur = note.End() - s.Notes[i].At
			s.Notes[i].Marks |= note.Marks & (score.Fermata | score.SlurTo | score.SlurFrom)
			if note.Ornament == score.Tremolo { // it may begin after a short note
				s.Notes[i].Ornament = score.Tremolo
			}
			j.last = i
			if n.tieFrom {
				j.wait(midi, i, here)
			}
			return
		}
		j.r.warnAt(here, "tie-open", "a tie comes from no note of the same pitch; left out", "")
	}
	i := len(s.Notes)
	s.Notes = append(s.Notes, note)
	if n.chord && j.last >= 0 && s.Notes[j.last].At == note.At && s.Notes[j.last].Hand == note.Hand {
		first := &s.Notes[j.last]
		s.Notes[i].Marks |= first.Marks & chordMarks
		switch {
		case first.Ornament == score.NoOrnament || note.Ornament != score.NoOrnament:
		case first.Ornament == score.Tremolo:
			s.Notes[i].Ornament = score.Tremolo
		default: // a sign over a chord is its top note's
			if theory.ComparePitch(first.Pitch, note.Pitch) < 0 {
				s.Notes[i].Ornament, first.Ornament = first.Ornament, score.NoOrnament
				j.last = i
			}
		}
	} else {
		j.last = i
	}
	if n.tieFrom {
		j.wait(midi, i, here)
	}
	if n.tremolo != noTremolo {
		if n.tremolo == tremoloTo {
			j.tremolo = append(j.tremolo, -i-1)
		} else {
			j.tremolo = append(j.tremolo, i)
		}
	}
}

// maxHeld is how far a tie may reach over other notes: the notes of a broken
// chord that are held into the next bar are written so.
const maxHeld = theory.Whole

// nearer tells whether the open note a is a better start than b for the tie that
// ends in n: it touches n, else it is in n's voice, else it ends later.
func (j *joiner) nearer(s *score.Score, a, b int, n score.Note) bool {
	x, y := s.Notes[a], s.Notes[b]
	rank := func(o score.Note) (r theory.Dur) {
		if o.End() == n.At {
			r += 4 * maxHeld
		}
		if o.Hand == n.Hand && o.Voice == n.Voice {
			r += 2 * maxHeld
		}
		return r + maxHeld - (n.At - o.End())
	}
	return rank(x) > rank(y)
}

// maxOpen is more notes of one pitch than can wait for their ties at a time.
const maxOpen = 64

func (j *joiner) wait(midi, i int, here place) {
	if len(j.open[midi]) >= maxOpen {
		j.loose = append(j.loose, j.open[midi][0])
		j.open[midi] = slices.Delete(j.open[midi], 0, 1)
	}
	j.open[midi] = append(j.open[midi], i)
	if j.places == nil {
		j.places = map[int]place{}
	}
	j.places[i] = here
}

// drop gives up the notes that ended before a moment.
func (j *joiner) drop(s *score.Score, midi int, at theory.Dur) {
	j.open[midi] = slices.DeleteFunc(j.open[midi], func(i int) bool {
		past := s.Notes[i].End() < at
		if past {
			j.loose = append(j.loose, i)
		}
		return past
	})
}

// finish tells of ties that led nowhere and joins the halves of tremolos.
func (j *joiner) finish(s *score.Score) {
	for _, list := range j.open {
		j.loose = append(j.loose, list...)
	}
	slices.Sort(j.loose)
	for _, i := range j.loose {
		j.r.warnAt(j.places[i], "tie-open", "a tie leads to no note of the same pitch; left out", "")
	}
	for k := 1; k < len(j.tremolo); k++ {
		from, to := j.tremolo[k-1], -j.tremolo[k]-1
		if from < 0 || to < 0 {
			continue
		}
		a, b := s.Notes[from], s.Notes[to]
		if a.Hand != b.Hand || a.End() != b.At {
			continue
		}
		for i := max(0, from-nearby); i < min(len(s.Notes), to+nearby); i++ {
			n := &s.Notes[i]
			switch {
			case n.Hand != a.Hand || n.Voice != a.Voice || n.Grace > 0:
			case n.At == a.At && n.End() == b.At:
				n.Dur, n.Ornament = a.Dur+b.Dur, score.Tremolo
			case n.At == b.At && n.Dur == b.Dur:
				n.At, n.Dur, n.Ornament = a.At, a.Dur+b.Dur, score.Tremolo
			}
		}
	}
}

// nearby is more notes than stand between one of a chord and the others.
const nearby = 64

// names keeps the ids that can be kept and gives the other notes new ones.
func (r *reader) names(s *score.Score) {
	used := map[string]bool{}
	slices.SortStableFunc(s.Notes, score.Compare)
	for i := range s.Notes {
		id := s.Notes[i].ID
		if !validID(id) || used[id] {
			s.Notes[i].ID = ""
			continue
		}
		used[id] = true
	}
	next := 0
	for i := range s.Notes {
		for s.Notes[i].ID == "" {
			next++
			if id := fmt.Sprintf("n%d", next); !used[id] {
				s.Notes[i].ID = id
			}
		}
	}
}

// validID tells whether a text is a name of XML without a colon.
func validID(id string) bool {
	if id == "" || len(id) > 100 {
		return false
	}
	for i, c := range id {
		switch {
		case c == '_', unicode.IsLetter(c):
		case i > 0 && (c == '-' || c == '.' || unicode.IsDigit(c)):
		default:
			return false
		}
	}
	return true
}
